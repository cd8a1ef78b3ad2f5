"""What one unit of each means does to a bath (a reagent, water, a drag-out rinse), and which reagents belong in it at all.

Counts as estimate/solutions.py does when an addition is logged: a solid takes no room, a liquid its own; acids and bases go to
what the bath titrates as acid or alkali, a weak base only where the titration goes on to a low pH; a metal that holds hydroxide
takes it out of the free alkali.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal

from bathkeeper.catalogue.loader import Catalogue
from bathkeeper.catalogue.schema import Metal, Reagent, Recipe, Species
from bathkeeper.chemistry.formulas import mass_fraction, molar_mass

LITRES_FINE, LITRES_COARSE = 0.01, 0.1  # what is told of water and of what is taken out, below and above LARGE_L [practice]
LARGE_L, SMALL_L = 100.0, 2.0
ML_FINE, ML_COARSE = 0.1, 1.0  # a pipette for small tanks, a measuring cylinder for the others [practice]
CYLINDER_FROM_L = 20.0
ELEMENT = re.compile("[A-Z][a-z]?")
COMPANIONS = frozenset({"sodium", "potassium"})  # of lye: at home in every alkaline bath


@dataclass(frozen=True)
class ShelfItem:
    """A reagent that may be used. ``available`` in g (solids) or mL (liquids, additives); None where nobody counted: taken as
    enough, and said so. ``price_per_unit`` for one g or mL."""

    reagent: Reagent
    available: float | None = None
    price_per_unit: float | None = None
    lot: str | None = None


@dataclass(frozen=True)
class DragOutRinse:
    """Water with something in it: ``contents`` in g/L (mL/L of additives), up to ``volume_l`` of it."""

    tank: str
    volume_l: float
    contents: Mapping[str, float]


@dataclass(frozen=True)
class Means:
    """Something that can be put in. ``per_unit``: g (mL of additives) of each species that one ``unit`` brings, below zero
    where it takes; ``litres``: room that one unit takes; ``grid``: what it is weighed or measured to; ``most``: how much there
    is; ``native``: the bath is made up with it."""

    name: str
    kind: Literal["reagent", "water", "rinse"]
    unit: Literal["g", "mL", "L"]
    per_unit: Mapping[str, float]
    litres: float
    grid: float
    most: float | None = None
    price: float | None = None
    reagent: Reagent | None = None
    lot: str | None = None
    native: bool = True
    sources: tuple[str, ...] = field(default=())


def litre_grid(level_l: float) -> float:
    """What litres are told to."""
    if level_l >= LARGE_L:
        return LITRES_COARSE
    return LITRES_FINE if level_l >= SMALL_L else LITRES_FINE / 10


def means_of(
    recipe: Recipe,
    species: Mapping[str, Species],
    catalogue: Catalogue,
    shelf: Sequence[ShelfItem],
    *,
    scale_g: float,
    level_l: float,
    rinse: DragOutRinse | None,
) -> tuple[list[Means], list[tuple[Reagent | None, str]]]:
    """(what may be put in, what was left out and why). The first is always water; no reagent stands for the rinse."""
    grid_l = litre_grid(level_l)
    found = [Means("water", "water", "L", {}, 1.0, grid_l)]
    left_out: list[tuple[Reagent | None, str]] = []
    if rinse is not None and rinse.volume_l > 0:
        strange = [n for n, c in rinse.contents.items() if c > 0 and n not in species]
        if strange:
            told = f"{rinse.tank} is not used as water: it holds {', '.join(strange)}, which this bath does not track"
            left_out.append((None, told))
        else:
            whole = rinse.volume_l // grid_l * grid_l
            found.append(Means(rinse.tank, "rinse", "L", dict(rinse.contents), 1.0, grid_l, most=whole))
    grid_ml = ML_COARSE if level_l >= CYLINDER_FROM_L else ML_FINE
    seen: set[str] = set()
    for item in shelf:
        reagent = item.reagent
        if reagent.name in seen or reagent.form == "water":
            continue
        why = unfit(reagent, recipe, catalogue)
        if why is not None:
            if why:
                left_out.append((reagent, f"{reagent.title or reagent.name} is left out: {why}"))
            continue
        per_unit = brought(reagent, species, catalogue.metals)
        if not any(per_unit.values()):
            continue
        seen.add(reagent.name)
        solid = reagent.form == "solid"
        found.append(
            Means(
                name=reagent.name,
                kind="reagent",
                unit="g" if solid else "mL",
                per_unit=per_unit,
                litres=0.0 if solid and not reagent.density_g_ml else 0.001 / (reagent.density_g_ml or 1.0 if solid else 1.0),
                grid=scale_g if solid else grid_ml,
                most=item.available,
                price=item.price_per_unit,
                reagent=reagent,
                lot=item.lot,
                native=_native(reagent, recipe, catalogue),
                sources=(f"{reagent.title or reagent.name}: {reagent.status}, {reagent.source or 'no source'}",),
            )
        )
    return found, left_out


def brought(reagent: Reagent, species: Mapping[str, Species], metals: Mapping[str, Metal]) -> dict[str, float]:
    """Species brought (below zero: taken) by one g of a solid or one mL of a liquid or additive, in g (mL of additives)."""
    if reagent.form == "additive":
        return {reagent.additive: 1.0} if reagent.additive in species and reagent.additive else {}
    if not reagent.formula:
        return {}
    pure = reagent.purity * (1.0 if reagent.form == "solid" else reagent.density_g_ml or 1.0)
    amounts = {s: pure * mass_fraction(reagent.formula, group) for s, group in reagent.brings.items() if s in species}
    held = 0.0
    for name, grams in amounts.items():
        if species[name].hydroxide_held and name in metals:
            held += species[name].hydroxide_held * grams / molar_mass(metals[name].symbol)
    equivalents = reagent.acid_equivalents * pure / molar_mass(reagent.formula) + held
    if equivalents:
        for name, own in species.items():
            if own.kind not in ("acid", "alkali") or not own.formula or (reagent.weak_base and not own.counts_weak):
                continue
            sign = 1.0 if own.kind == "acid" else -1.0
            grams = sign * equivalents * molar_mass(own.formula) / (own.equivalents or 1.0)
            amounts[name] = amounts.get(name, 0.0) + grams
    return amounts


def unfit(reagent: Reagent, recipe: Recipe, catalogue: Catalogue) -> str | None:
    """None where a reagent belongs in the bath; else why not, empty where that goes without saying (another bath's reagent)."""
    if reagent.name in {m.what for m in recipe.must_not_meet}:
        return "it must not meet this bath"
    native = [s.reagent for s in recipe.make_up]
    if _native(reagent, recipe, catalogue):
        return None
    if reagent.form == "additive":
        return None if reagent.additive in recipe.species else ""
    if not reagent.brings or not reagent.formula:
        return ""
    if _element(reagent):
        return "" if not set(reagent.brings) & set(recipe.species) else "metal as powder is a treatment, not a feed"
    if _untold(reagent):
        return ""
    kinds = {s.kind for s in recipe.species.values()}
    strangers = set(reagent.brings) - set(recipe.species) - _ions(native, catalogue)
    if "alkali" in kinds:
        strangers -= COMPANIONS
    if strangers:
        return ""
    if reagent.acid_equivalents > 0 and "acid" not in kinds:
        return "acid moves the pH, and that is dosed from a jar test only" if "alkali" not in kinds else "acid into lye spits"
    if reagent.acid_equivalents < 0 and "alkali" not in kinds:
        return "a base moves the pH, and that is dosed from a jar test only" if "acid" not in kinds else "it uses up the acid"
    return None


def _native(reagent: Reagent, recipe: Recipe, catalogue: Catalogue) -> bool:
    """One of its own make-up, or the same in another strength."""
    own = [catalogue.reagents[s.reagent] for s in recipe.make_up if s.reagent in catalogue.reagents]
    return any(
        reagent.name == o.name
        or (o.form not in ("additive", "water") and reagent.formula == o.formula and reagent.brings == o.brings)
        for o in own
    )


def _untold(reagent: Reagent) -> set[str]:
    """Elements that come with a reagent and that nothing it ``brings`` accounts for (the nitrogen of a sulfamate)."""
    if "whole" in reagent.brings.values():
        return set()
    told = {e for group in reagent.brings.values() for e in ELEMENT.findall(group)}
    return set(ELEMENT.findall(reagent.formula)) - told - {"H", "O"}


def _element(reagent: Reagent) -> bool:
    """Metal as it is: one letter or two, nothing else in the formula."""
    return (
        len(reagent.formula) <= 2 and reagent.formula.isalpha() and reagent.formula[1:].islower() | (len(reagent.formula) == 1)
    )


def _ions(names: Sequence[str], catalogue: Catalogue) -> set[str]:
    """What the bath's own make-up brings, tracked or not: more of it is no stranger."""
    return {s for n in names if n in catalogue.reagents for s in catalogue.reagents[n].brings}
