"""What reagents bring: litres, grams of what a vessel tracks, and acid or base."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from bathkeeper.catalogue.loader import CatalogueError
from bathkeeper.catalogue.schema import Reagent, Species
from bathkeeper.chemistry.formulas import mass_fraction, molar_mass
from bathkeeper.entries import Item
from bathkeeper.estimate.containers import Named
from bathkeeper.estimate.state import Z95, TankState
from bathkeeper.estimate.world import World


def brought(
    world: World, state: TankState, items: Sequence[Item], entry: str
) -> tuple[dict[str, tuple[float, float]], float, float, World]:
    """(amount and variance by species, mol of acid, litres, world with problems) of reagents put in."""
    spreads = world.catalogue.spreads
    weighed, measured, purity = spreads["amount weighed"], spreads["amount measured"], spreads["amount purity"]
    amounts: dict[str, tuple[float, float]] = {}
    acid = litres = 0.0
    for item in items:
        try:
            reagent = world.catalogue.reagent(item.reagent)
        except CatalogueError as problem:
            world = world.with_problem(str(problem), "define the reagent, or correct the entry", entry)
            continue
        millilitres = item.amount * (1000 if item.unit == "L" else 1)
        if reagent.form == "water":
            litres += millilitres / 1000
            continue
        if reagent.form == "additive":
            litres += millilitres / 1000 if item.unit != "g" else 0.0
            if reagent.additive is not None and reagent.additive in state.species:
                sd = (measured.relative * millilitres + measured.absolute) / Z95
                amounts[reagent.additive] = _plus(amounts.get(reagent.additive), millilitres, sd)
            continue
        how = weighed if item.unit == "g" else measured
        if item.unit == "g":
            grams = item.amount
            litres += grams / (reagent.density_g_ml or math.inf) / 1000
        elif reagent.density_g_ml is not None:
            grams = millilitres * reagent.density_g_ml
            litres += millilitres / 1000
        else:
            world = world.with_problem(f"{reagent.title} is a solid and was entered by volume", "give its mass in g", entry)
            continue
        told = item.amount if item.unit == "g" else millilitres
        relative = (how.relative + purity.relative + how.absolute / max(told, how.absolute)) / Z95
        pure = grams * reagent.purity
        for species, group in reagent.brings.items():
            if species in state.species:
                share = pure * mass_fraction(reagent.formula, group)
                amounts[species] = _plus(amounts.get(species), share, relative * share)
        if reagent.acid_equivalents or _bound(state, world, reagent, pure):
            equivalents = reagent.acid_equivalents * pure / molar_mass(reagent.formula)
            acid += _acid(state, amounts, equivalents + _bound(state, world, reagent, pure), reagent.weak_base, relative)
    return amounts, acid, litres, world


def _bound(state: TankState, world: World, reagent: Reagent, pure_g: float) -> float:
    """Hydroxide (mol) that the reagent's metals bind in an alkaline bath: it counts like acid put in."""
    mol = 0.0
    for name, group in reagent.brings.items():
        species = state.species.get(name)
        if species is not None and species.hydroxide_held and name in world.catalogue.metals:
            grams = pure_g * mass_fraction(reagent.formula, group)
            mol += species.hydroxide_held * grams / molar_mass(world.catalogue.metals[name].symbol)
    return mol


def _plus(before: tuple[float, float] | None, amount: float, sd: float) -> tuple[float, float]:
    value, variance = before or (0.0, 0.0)
    return value + amount, variance + sd**2


def _acid(
    state: TankState, amounts: dict[str, tuple[float, float]], equivalents: float, weak: bool, relative: float
) -> float:
    """Puts acid (or, below zero, base) equivalents on what the tank counts acid and alkali by, and returns what is left for the
    acid balance, in mol. A weak base (a carbonate) counts only where the titration goes on to a low pH (total alkali)."""
    counted = False
    for name, species in state.species.items():
        if species.kind not in ("acid", "alkali") or not species.formula:
            continue
        counted = True
        if weak and not species.counts_weak:
            continue
        sign = 1.0 if species.kind == "acid" else -1.0
        grams = sign * equivalents * molar_mass(species.formula) / (species.equivalents or 1.0)
        amounts[name] = _plus(amounts.get(name), grams, relative * abs(grams))
    return 0.0 if counted else equivalents


@dataclass(frozen=True)
class PutIn:
    """What reagents bring to a container of waste. ``amounts``: (value, variance) of ``volume`` L and ``mass:SPECIES`` g;
    ``base_mol`` below zero of acid; ``weight_kg`` of all of it; ``gas_mol``: carbon dioxide that its carbonates hold."""

    amounts: dict[str, tuple[float, float]]
    base_mol: float
    weight_kg: float
    gas_mol: float


def brought_to_waste(
    world: World, species: Mapping[str, Species], items: Sequence[Item], entry: str
) -> tuple[PutIn, World]:
    """What was put into a container whose contents have these species, and the world with problems."""
    spreads = world.catalogue.spreads
    found: dict[str, tuple[float, float]] = {}
    base = weight = gas = 0.0
    for item in items:
        try:
            reagent = world.catalogue.reagent(item.reagent)
        except CatalogueError as problem:
            world = world.with_problem(str(problem), "define the reagent, or correct the entry", entry)
            continue
        litres, grams = _litres_and_grams(reagent, item)
        how = spreads["amount water" if reagent.form == "water" else "amount measured"]
        if litres:
            found["volume"] = _plus(found.get("volume"), litres, (how.relative * litres + how.absolute / 1000) / Z95)
        weight += grams / 1000 if grams is not None else litres  # taken for as heavy as water where no density is known
        pure = (grams or 0.0) * reagent.purity
        if not pure or not reagent.formula:
            continue
        relative = (spreads["amount weighed"].relative + spreads["amount purity"].relative) / Z95
        for name, group in reagent.brings.items():
            if name in species:
                share = pure * mass_fraction(reagent.formula, group)
                found[f"mass:{name}"] = _plus(found.get(f"mass:{name}"), share, relative * share)
        mol = pure / molar_mass(reagent.formula)
        base -= reagent.acid_equivalents * mol
        if "CO3" in reagent.formula:
            gas += mol
    return PutIn(found, base, weight, gas), world


def _litres_and_grams(reagent: Reagent, item: Item) -> tuple[float, float | None]:
    """(litres it adds, grams of it; None where they cannot be known)."""
    if item.unit == "g":
        return (item.amount / reagent.density_g_ml / 1000 if reagent.density_g_ml else 0.0), item.amount
    millilitres = item.amount * (1000 if item.unit == "L" else 1)
    return millilitres / 1000, millilitres * reagent.density_g_ml if reagent.density_g_ml else None


STRENGTH = re.compile(r"\s+[0-9.,]+\s*%$")
Kind = Literal["metal", "salt", "acid", "alkali", "additive"]
OF_THE_NAME = "counted as the reagent itself, by its formula"


def left_over(world: World, items: Sequence[Item], entry: str) -> tuple[list[Named], World]:
    """Chemicals that went into a container by name: what the catalogue knows with what it holds, anything else by its name."""
    found = []
    for item in items:
        litres_told = item.amount * (1.0 if item.unit == "L" else 0.001) if item.unit != "g" else 0.0
        try:
            reagent = world.catalogue.reagent(item.reagent)
        except CatalogueError:
            solid = item.amount / 1000 if item.unit == "g" else 0.0
            found.append(Named(item.reagent, litres_told, solid, {}, {}, False, solid + litres_told))
            continue
        litres, grams = _litres_and_grams(reagent, item)
        solid = (grams or 0.0) / 1000 if not litres else 0.0
        known = reagent.form == "water" or (grams is not None and bool(reagent.formula) and reagent.form != "additive")
        amounts, species = ({}, {}) if reagent.form == "water" else _held_by(world, reagent, grams, litres)
        weighs = grams / 1000 if grams is not None else litres  # as heavy as water where no density is known
        found.append(Named(reagent.name, litres, solid, amounts, species, known, weighs))
    return found, world


def _held_by(
    world: World, reagent: Reagent, grams: float | None, litres: float
) -> tuple[dict[str, tuple[float, float]], dict[str, Species]]:
    """Grams (mL of an additive) with their variance, and what they are: a metal's salt by its ions, anything else whole."""
    spreads = world.catalogue.spreads
    relative = (spreads["amount measured"].relative + spreads["amount purity"].relative) / Z95
    if reagent.form == "additive":
        millilitres = litres * 1000
        told = {f"mass:{reagent.name}": (millilitres, (relative * millilitres) ** 2)} if millilitres else {}
        return told, {reagent.name: _species("additive", "", None, "mL/L")}
    pure = (grams or 0.0) * reagent.purity
    if not pure or not reagent.formula:
        return {}, {}
    if any(n in world.catalogue.metals for n in reagent.brings):
        shares = {n: pure * mass_fraction(reagent.formula, g) for n, g in reagent.brings.items()}
        kinds: dict[str, Kind] = {n: "metal" if n in world.catalogue.metals else "salt" for n in reagent.brings}
        species = {n: _species(kinds[n], g if g != "whole" else reagent.formula) for n, g in reagent.brings.items()}
    else:
        name = STRENGTH.sub("", reagent.name)
        equivalents = reagent.acid_equivalents
        kind: Kind = "acid" if equivalents > 0 else "alkali" if equivalents < 0 else "salt"
        shares, species = {name: pure}, {name: _species(kind, reagent.formula, abs(equivalents) or None)}
    return {f"mass:{n}": (g, (relative * g) ** 2) for n, g in shares.items()}, species


def _species(kind: Kind, formula: str, equivalents: float | None = None, unit: str = "g/L") -> Species:
    return Species(
        kind=kind, formula=formula, equivalents=equivalents, unit=unit, target=0.0, status="derived", source=OF_THE_NAME
    )
