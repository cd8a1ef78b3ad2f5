"""The wear terms and electrode reactions once more, for many possible tanks at a time: what a bit of use or of time moves.

The filter carries derivatives through one tank (``wear.py``, ``electrode.py``); a forecast needs thousands of tanks without
derivatives. Both must move the same grams: ``tests/estimate/test_forecast_rates.py`` holds them together on random states.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bathkeeper.catalogue.schema import Metal, Prior, Wear
from bathkeeper.chemistry.constants import MOL_PER_AH
from bathkeeper.chemistry.formulas import molar_mass
from bathkeeper.estimate.electrode import LOWEST_MODELLED_A_DM2
from bathkeeper.estimate.state import TankState
from bathkeeper.estimate.usage import BranchUse
from bathkeeper.estimate.wear import ANODE_AREA_DM2_PER_KG, BY_TIME, SPENT_G, is_drag_out

Array = NDArray[np.float64]
Moved = dict[str, Array]
"""What moved, by name as in the Gaussian (``volume`` in L, ``mass:X`` in g or mL, ``anode:X`` in g), one number a path."""

RICHEST_ALLOY = 0.9  # mass fraction of the alloy metal at most, as in electrode.py
LEAST_OF_TARGET = 1e-6  # a slowing species below this part of its target stops its term, as in wear.py


@dataclass
class Cloud:
    """Many possible states of one tank. ``amounts``: what moves, by name; ``natural``: parameters in their own units;
    ``gains``: true over read charge, by supply; ``area_factor``: true over guessed area. Arrays of shape (paths,)."""

    state: TankState
    amounts: Moved
    natural: dict[str, Array]
    gains: dict[str, Array]
    area_factor: Array
    metals: Mapping[str, Metal]

    def move(self, moved: Moved) -> None:
        """Applies what moved; nothing goes below zero."""
        for name, change in moved.items():
            if name in self.amounts:
                self.amounts[name] = np.maximum(self.amounts[name] + change, 0.0)

    def concentration(self, species: str) -> Array:
        return np.asarray(self.amounts[f"mass:{species}"] / np.maximum(self.amounts["volume"], 1e-9))


@dataclass(frozen=True)
class Use:
    """What is put through a tank: charge as read (Ah), area as guessed (dm2) and the number of runs, each (paths,) or plain;
    ``minutes``, ``heated_h`` and ``stripped_g`` of one run; current density in A/dm2 where known."""

    charge_ah: Array
    area_dm2: Array
    runs: Array
    minutes: float = 0.0
    heated_h: float = 0.0
    stripped_g: float = 0.0
    temperature_c: float | None = None
    density_a_dm2: float | None = None
    branches: tuple[BranchUse, ...] = ()


def natural_of(prior: Prior, x: Array) -> Array:
    """From the filter's scale to the parameter's own unit (``state.natural`` for arrays)."""
    if prior.scale == "log":
        return np.exp(x)
    if prior.scale == "logit":
        return np.asarray(1.0 / (1.0 + np.exp(-x)))
    return x


def plated(cloud: Cloud, use: Use) -> Moved:
    """What the charge of a use does: deposit, anodes, and the acid or alkali that the bath is counted by."""
    recipe = cloud.state.recipe
    moved: Moved = {}
    if recipe is None or recipe.electrode is None or not np.any(use.charge_ah > 0):
        return moved
    charge: Array = np.zeros_like(use.charge_ah)
    hydroxide: Array = np.zeros_like(use.charge_ah)
    for branch in use.branches:
        passed = cloud.gains[branch.supply] * use.charge_ah * branch.part
        charge = charge + passed
        for metal, share, names in _anode_shares(cloud, branch.anodes):
            m = cloud.metals[metal]
            g_per_ah = MOL_PER_AH * molar_mass(m.symbol) / m.electrons
            grams = passed * share * cloud.natural[f"anode_efficiency_{metal}"] * g_per_ah
            if names:
                taken = _off_anodes(cloud, names, grams)
                grams = sum(taken.values(), np.zeros_like(grams))
                for name, part in taken.items():
                    _add(moved, f"anode:{name}", -part)
            _add(moved, f"mass:{metal}", grams)
            hydroxide = hydroxide - grams / g_per_ah * MOL_PER_AH * _beyond_water(cloud.state, metal, m)
    if recipe.electrode.deposit:
        fractions = _fractions(cloud, use)
        electrons = sum(w * (cloud.metals[x].electrons / molar_mass(cloud.metals[x].symbol)) for x, w in fractions.items())
        deposit = cloud.natural["cathode_efficiency"] * MOL_PER_AH / electrons * charge
        for metal, w in fractions.items():
            m = cloud.metals[metal]
            laid_down = deposit * w
            _add(moved, f"mass:{metal}", -np.minimum(laid_down, cloud.amounts[f"mass:{metal}"]))
            hydroxide = hydroxide + laid_down * (m.electrons / molar_mass(m.symbol) * _beyond_water(cloud.state, metal, m))
        for name, species in recipe.species.items():
            if species.kind in ("acid", "alkali") and species.formula:
                sign = 1.0 if species.kind == "alkali" else -1.0
                _add(moved, f"mass:{name}", hydroxide * (sign * molar_mass(species.formula) / (species.equivalents or 1.0)))
    return moved


def worn(cloud: Cloud, use: Use) -> Moved:
    """What a use does by the recipe's own terms, drag-out included, time excluded."""
    assert cloud.state.recipe is not None
    moved: Moved = {}
    for term in cloud.state.recipe.wear:
        exposure = None if term.exposure in BY_TIME else _exposure(cloud, term, use)
        if exposure is not None:
            _effects(cloud, term, _extent(cloud, term, exposure, use.temperature_c), moved)
    return moved


def film_l(cloud: Cloud, use: Use) -> Array:
    """Litres that the parts take out (and, of clean water, that they bring in)."""
    assert cloud.state.recipe is not None
    litres: Array = np.zeros_like(use.area_dm2)
    for term in cloud.state.recipe.wear:
        if is_drag_out(term):
            exposure = _exposure(cloud, term, use)
            if exposure is not None:
                extent = _extent(cloud, term, exposure, use.temperature_c)
                litres = litres - extent * sum(e.amount for e in term.effects)
    return litres


def passed_time(cloud: Cloud, days: float) -> Moved:
    """What time alone does: idle anodes, evaporation, carbonate, whatever the recipe counts by day."""
    assert cloud.state.recipe is not None
    moved: Moved = {}
    for term in cloud.state.recipe.wear:
        if term.exposure == "anode_dm2_day":
            _idle(cloud, term, days, moved)
        elif term.exposure in BY_TIME:
            surface = cloud.state.surface_dm2 if term.exposure == "surface_day" else 1.0
            _effects(cloud, term, cloud.natural[term.rate] * (surface * days), moved)
    return moved


def _add(moved: Moved, name: str, amount: Array) -> None:
    moved[name] = moved[name] + amount if name in moved else amount


def _fractions(cloud: Cloud, use: Use) -> dict[str, Array]:
    """Mass fractions of the deposit, the base metal taking what the others leave (``electrode.deposit_fractions``)."""
    assert cloud.state.recipe is not None and cloud.state.recipe.electrode is not None
    metals, reference = cloud.state.recipe.electrode.deposit, cloud.state.recipe.electrode.reference
    grams = {m: cloud.amounts[f"mass:{m}"] for m in metals}
    total = np.maximum(sum(grams.values()), 1e-9)
    fractions: dict[str, Array] = {}
    rest: Array = np.ones_like(total)
    for metal in metals[1:]:
        w = cloud.natural[f"deposit_{metal}"]
        if reference is not None:
            w = w * (np.maximum(grams[metal], 1e-9) / total / reference.ratio) ** cloud.natural["ratio_exponent"]
            if use.temperature_c is not None:
                w = w * np.exp(cloud.natural["per_degree"] * (use.temperature_c - reference.temperature_c))
            if use.density_a_dm2 is not None:
                j = max(use.density_a_dm2, LOWEST_MODELLED_A_DM2) / reference.density_a_dm2
                w = w * j ** cloud.natural["density_exponent"]
        w = np.where(grams[metal] > 1e-9, np.minimum(w, RICHEST_ALLOY), 0.0)
        fractions[metal] = w
        rest = rest - w
    fractions[metals[0]] = rest
    return fractions


def _anode_shares(cloud: Cloud, named: Sequence[str]) -> list[tuple[str, Array | float, tuple[str, ...]]]:
    """(metal, share of the branch's current, anodes), as ``electrode.py`` shares it out."""
    state = cloud.state
    assert state.recipe is not None and state.recipe.electrode is not None
    known = {n: a for n, a in state.anodes.items() if not a.retired and (not named or n in named)}
    by_metal: dict[str, tuple[str, ...]] = {}
    for metal in dict.fromkeys(a.metal for a in known.values()):
        of_metal = [n for n, a in known.items() if a.metal == metal]
        by_metal[metal] = tuple(n for n in of_metal if known[n].hung) or tuple(of_metal)
    if not by_metal:
        by_metal = dict.fromkeys(state.recipe.electrode.anodes, ())
    elif not named:
        ever = {a.metal for a in state.anodes.values()}
        by_metal = {**dict.fromkeys((m for m in state.recipe.electrode.anodes[:1] if m not in ever), ()), **by_metal}
    shares: dict[str, Array | float] = {}
    left: Array | float = 1.0
    for metal in by_metal:
        if len(by_metal) > 1 and f"anode_share_{metal}" in cloud.natural:
            shares[metal] = cloud.natural[f"anode_share_{metal}"]
            left = left - shares[metal]
    rest = [m for m in by_metal if m not in shares]
    shares |= {m: left / len(rest) for m in rest}
    return [(m, shares[m], names) for m, names in by_metal.items() if f"anode_efficiency_{m}" in cloud.natural]


def _off_anodes(cloud: Cloud, names: Sequence[str], grams: Array) -> dict[str, Array]:
    """How much each anode gives: by area, and what a spent one cannot give comes off the others while they last."""
    areas = {n: cloud.state.anodes[n].area_dm2 for n in names}
    weights = {n: a if a is not None and all(areas.values()) else 1.0 for n, a in areas.items()}
    total = sum(weights.values())
    given = {n: np.minimum(grams * (weights[n] / total), cloud.amounts[f"anode:{n}"]) for n in names}
    missing = grams - sum(given.values())
    if len(names) > 1 and np.any(missing > 0):
        left = {n: cloud.amounts[f"anode:{n}"] - given[n] for n in names}
        all_left = sum(left.values())
        part = np.minimum(missing, all_left) / np.maximum(all_left, 1e-9)
        given = {n: g + np.maximum(part, 0.0) * left[n] for n, g in given.items()}
    return given


def _beyond_water(state: TankState, metal: str, m: Metal) -> float:
    species = state.species.get(metal)
    return (species.hydroxide_held if species is not None else 0.0) / m.electrons - 1.0


def _exposure(cloud: Cloud, term: Wear, use: Use) -> Array | None:
    area = cloud.area_factor * use.area_dm2
    if term.exposure == "dm2":
        return area
    if term.exposure == "dm2_min":
        return area * use.minutes if use.minutes > 0 else None
    if term.exposure == "ah":
        supply = use.branches[0].supply if use.branches else None
        return use.charge_ah * cloud.gains[supply] if supply is not None else None
    each = {
        "run": 1.0,
        "heated_h": use.heated_h,
        "surface_heated_h": use.heated_h * cloud.state.surface_dm2,
        "g_stripped": use.stripped_g,
    }[term.exposure]
    return use.runs * each if each > 0 else None


def _extent(cloud: Cloud, term: Wear, exposure: Array, temperature_c: float | None) -> Array:
    assert cloud.state.recipe is not None
    extent = cloud.natural[term.rate] * exposure
    if term.slowed_by is not None:
        part = cloud.concentration(term.slowed_by) / (cloud.state.recipe.species[term.slowed_by].target or 1.0)
        exponent = cloud.natural[term.power] if term.power else 1.0
        extent = np.where(part < LEAST_OF_TARGET, 0.0, extent * np.maximum(part, LEAST_OF_TARGET) ** exponent)
    if term.per_degree is not None and temperature_c is not None:
        window = cloud.state.recipe.indicators.get("temperature")
        usual = window.target if window is not None and window.target is not None else 20.0
        extent = extent * np.exp(cloud.natural[term.per_degree] * (temperature_c - usual))
    return extent


def _effects(cloud: Cloud, term: Wear, extent: Array, moved: Moved) -> None:
    for effect in term.effects:
        amount = extent * effect.amount
        if effect.parameter is not None:
            amount = amount * cloud.natural[effect.parameter]
        if effect.to == "solution":
            kept = np.exp(amount / np.maximum(cloud.amounts["volume"], 1e-9)) - 1.0
            for species in cloud.state.species:
                _add(moved, f"mass:{species}", cloud.amounts[f"mass:{species}"] * kept)
            _add(moved, "volume", amount)
        elif effect.to == "water":
            _add(moved, "volume", amount)
        elif effect.to != "acid" and not effect.to.startswith("anode:"):
            _add(moved, f"mass:{effect.to}", amount)


def _idle(cloud: Cloud, term: Wear, days: float, moved: Moved) -> None:
    """Hung metal that dissolves without current, bar by bar, none giving more than it has."""
    per_dm2 = sum(-e.amount for e in term.effects if e.to.startswith("anode:"))
    total: Array | None = None
    for name, info in cloud.state.anodes.items():
        if info.metal != term.anode_metal or not info.hung or info.retired:
            continue
        mass = cloud.amounts[f"anode:{name}"]
        dm2 = info.area_dm2 or ANODE_AREA_DM2_PER_KG * max(info.start_mass_g, 1.0) / 1000
        extent = np.where(mass > SPENT_G, cloud.natural[term.rate] * (dm2 * days), 0.0)
        if per_dm2 > 0:
            extent = np.minimum(extent, mass / per_dm2)
            _add(moved, f"anode:{name}", -extent * per_dm2)
        total = extent if total is None else total + extent
    if total is not None:
        _effects(cloud, term, total, moved)
