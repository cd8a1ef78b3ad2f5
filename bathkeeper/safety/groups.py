"""What this workshop holds, as far as its entries tell: vessels and reagents with the hazard groups they belong to."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import Literal

import msgspec

from bathkeeper.catalogue.loader import Catalogue, CatalogueError, plain_name
from bathkeeper.catalogue.schema import Reagent, Recipe, Species
from bathkeeper.entries import (
    Addition,
    Anode,
    AnyEntry,
    Charge,
    Item,
    MakeUp,
    Part,
    Removal,
    Run,
    Step,
    Tank,
    Treatment,
    Unknown,
)
from bathkeeper.safety.loader import SafetyData, load
from bathkeeper.safety.schema import Member

Groups = dict[str, float | None]
"""Group -> mass fraction of the substance, None where it is not known."""


class Vessel(msgspec.Struct, frozen=True, kw_only=True):
    """Something that holds a hazard: a tank, a container, or a reagent on the shelf. ``entries`` put it on record."""

    name: str
    kind: Literal["tank", "reagent", "container"]
    groups: Groups
    entries: tuple[str, ...] = ()


class Hung(msgspec.Struct, frozen=True, kw_only=True):
    """An anode that hangs in a tank."""

    anode: str
    metal: str
    entry: str


class Place(msgspec.Struct, frozen=True, kw_only=True):
    """A tank in service with what is in it; ``peak_a``: the greatest current on record, A."""

    vessel: Vessel
    role: str
    order: int
    recipe: Recipe | None
    anodes: tuple[Hung, ...] = ()
    peak_a: float | None = None

    @property
    def name(self) -> str:
        return self.vessel.name

    @property
    def groups(self) -> Groups:
        return self.vessel.groups


class Load(msgspec.Struct, frozen=True, kw_only=True):
    """A run as hazards see it: its parts, the tanks it went through, in order."""

    entry: str
    tanks: tuple[str, ...]
    parts: tuple[Part, ...]


class Shop(msgspec.Struct, frozen=True, kw_only=True):
    """The workshop: tanks in line order, reagents on record, loads; ``added``: (entry, tank, reagent) of additions to the
    present bath."""

    places: tuple[Place, ...]
    reagents: tuple[Vessel, ...]
    loads: tuple[Load, ...]
    added: tuple[tuple[str, str, str], ...] = ()

    def place(self, tank: str) -> Place | None:
        return next((p for p in self.places if p.name == tank), None)

    @property
    def vessels(self) -> tuple[Vessel, ...]:
        return (*(p.vessel for p in self.places), *self.reagents)


def shop_of(entries: Iterable[AnyEntry | Unknown], catalogue: Catalogue, on_shelf: Iterable[str] = ()) -> Shop:
    """What the entries in force (corrections applied, none later than the moment asked about) say of hazards.

    Args:
        on_shelf: further reagents by name, such as those in stock.
    """
    known = sorted((e for e in entries if not isinstance(e, Unknown)), key=lambda e: e.order)
    tanks = {e.tank: e for e in known if isinstance(e, Tank)}
    fills, added = _baths(known)
    hung = _hung(known)
    runs = [e for e in known if isinstance(e, Run)]
    places = [
        _place(t, catalogue, fills.get(t.tank), [a for a in added if a[1] == t.tank], hung.get(t.tank, ()), runs)
        for t in tanks.values()
        if t.in_service
    ]
    return Shop(
        places=tuple(sorted(places, key=lambda p: (p.order, p.name))),
        reagents=_reagents(known, catalogue, on_shelf),
        loads=tuple(Load(entry=r.id, tanks=tuple(s.tank for s in r.steps), parts=r.parts) for r in runs),
        added=tuple(added),
    )


def reagent_groups(name: str, catalogue: Catalogue) -> Groups:
    """The groups of a reagent by its formula, name and aliases; one that the catalogue does not know goes by its name."""
    try:
        reagent = catalogue.reagent(name)
    except CatalogueError:
        return dict.fromkeys(_members(load(), names=[name]), None)
    names = [reagent.name, reagent.title, *reagent.aliases]
    found = _members(load(), names=names, formula=reagent.formula if reagent.form != "additive" else "")
    if reagent.acid_equivalents > 0:
        found["acid"] = None
    if reagent.form == "additive":
        found["organics"] = None
    return dict.fromkeys(found, _strength(reagent))


def recipe_groups(recipe: Recipe) -> Groups:
    """The groups of a bath by its recipe's own species (not its contaminants), with fractions from their targets."""
    made: Groups = {}
    for name, species in recipe.species.items():
        if species.kind == "contaminant":
            continue
        fraction = species.target / 1000 if species.target is not None and species.unit == "g/L" else None
        for group in species_groups(name, species):
            made[group] = max(filter(None, (made.get(group), fraction)), default=None)
    if recipe.electrode is not None and recipe.electrode.deposit:
        made["plating bath"] = None
    return made


def species_groups(name: str, species: Species | None = None) -> tuple[str, ...]:
    """The groups that one species of a bath (or of what was dumped of it) puts it into, by its name, formula and kind."""
    found = _members(load(), species=name, formula=species.formula if species is not None else "")
    if species is not None and species.kind in ("acid", "alkali"):
        found[species.kind] = None
    return tuple(found)


def role_groups(role: str) -> tuple[str, ...]:
    """What a tank is taken for by its role alone, when neither recipe nor make-up tells."""
    return load().roles.get(role, ())


def _strength(reagent: Reagent) -> float | None:
    return None if reagent.form == "additive" else reagent.purity


def _members(data: SafetyData, *, names: Iterable[str] = (), formula: str = "", species: str = "") -> dict[str, float | None]:
    words = [f" {re.sub('[^a-z0-9]+', ' ', plain_name(n))} " for n in names]
    anhydrous = formula.split(".")[0].split("·")[0].strip()
    found: dict[str, float | None] = {}
    for member in data.members:
        if _by_formula(member, anhydrous) or _by_word(member, words) or (species and plain_name(species) in member.species):
            found.update(dict.fromkeys(member.groups))
    return found


def _by_formula(member: Member, formula: str) -> bool:
    if not formula:
        return False
    if formula in member.formulas:
        return True
    symbols = set(re.findall("[A-Z][a-z]?", formula))
    if any(w in symbols or (len(w) > 2 and w in formula) for w in member.without):
        return False
    return bool(symbols.intersection(member.elements)) or any(c in formula for c in member.contains)


def _by_word(member: Member, words: list[str]) -> bool:
    return any(f" {w} " in text for text in words for w in member.words)


def _baths(known: list[AnyEntry]) -> tuple[dict[str, MakeUp], list[tuple[str, str, str]]]:
    """By tank its last make-up, and what was added since."""
    fills: dict[str, MakeUp] = {}
    added: list[tuple[str, str, str]] = []
    for entry in known:
        if isinstance(entry, MakeUp):
            fills[entry.tank] = entry
            added = [a for a in added if a[1] != entry.tank]
        elif isinstance(entry, (Addition, Treatment)) and entry.tank is not None:
            added += [(entry.id, entry.tank, i.reagent) for i in entry.items]
        elif isinstance(entry, Removal) and entry.all:
            fills.pop(entry.tank, None)
            added = [a for a in added if a[1] != entry.tank]
    return fills, added


def _hung(known: list[AnyEntry]) -> dict[str, tuple[Hung, ...]]:
    metals: dict[tuple[str, str], str] = {}
    inside: dict[str, dict[str, Hung]] = {}
    for entry in known:
        if not isinstance(entry, Anode):
            continue
        key = (entry.tank, entry.anode)
        if entry.metal is not None:
            metals[key] = entry.metal
        if entry.action in ("lifted", "retired"):
            inside.get(entry.tank, {}).pop(entry.anode, None)
        elif entry.action == "hung":
            hung = Hung(anode=entry.anode, metal=metals.get(key, ""), entry=entry.id)
            inside.setdefault(entry.tank, {})[entry.anode] = hung
    return {tank: tuple(anodes.values()) for tank, anodes in inside.items()}


def _place(
    tank: Tank,
    catalogue: Catalogue,
    fill: MakeUp | None,
    added: list[tuple[str, str, str]],
    hung: tuple[Hung, ...],
    runs: list[Run],
) -> Place:
    recipe = catalogue.recipes.get(tank.recipe) if tank.recipe is not None else None
    groups: Groups = recipe_groups(recipe) if recipe is not None else {}
    if fill is not None:
        for item in fill.reagents:
            _take(groups, reagent_groups(item.reagent, catalogue), _share(item, fill, catalogue), lasting_only=False)
    for _, _, reagent in added:
        _take(groups, reagent_groups(reagent, catalogue), None, lasting_only=True)
    if not groups and recipe is None:
        groups = dict.fromkeys(role_groups(tank.role))
    if groups and tank.role == "plate":
        groups.setdefault("plating bath", None)
    entries = tuple(dict.fromkeys(e for e in (tank.id, fill.id if fill is not None else "", *(a[0] for a in added)) if e))
    currents = [a for r in runs for s in r.steps if s.tank == tank.tank for a in _amperes(s)]
    return Place(
        vessel=Vessel(name=tank.tank, kind="tank", groups=groups, entries=entries),
        role=tank.role,
        order=tank.place,
        recipe=recipe,
        anodes=hung,
        peak_a=max(currents, default=None),
    )


def _take(groups: Groups, more: Mapping[str, float | None], share: float | None, *, lasting_only: bool) -> None:
    for group in more:
        if not lasting_only or load().groups[group].lasting:
            groups[group] = max(filter(None, (groups.get(group), share)), default=None)


def _share(item: Item, fill: MakeUp, catalogue: Catalogue) -> float | None:
    """Mass fraction of a weighed-in reagent in the fresh bath, taking the bath for as heavy as water."""
    try:
        reagent = catalogue.reagent(item.reagent)
    except CatalogueError:
        return None
    factor = {"g": 1.0, "mL": reagent.density_g_ml, "L": reagent.density_g_ml and reagent.density_g_ml * 1000}[item.unit]
    return None if factor is None else min(item.amount * factor * reagent.purity / (fill.volume_l * 1000), 1.0)


def _amperes(step: Step) -> list[float]:
    """The currents of a step, A, those of its branches together; a charge over its minutes where no current was told."""
    charges = [step.charge] if step.charge is not None else [b.charge for b in step.branches]
    each = [_peak(c, step.minutes) for c in charges]
    told = [a for a in each if a is not None]
    return [sum(told)] if told else []


def _peak(charge: Charge, minutes: float | None) -> float | None:
    if charge.current_a is not None:
        return charge.current_a
    if charge.stretches is not None:
        return max(s.current_a for s in charge.stretches)
    if charge.ramp is not None:
        return max(charge.ramp.from_a, charge.ramp.to_a)
    if not minutes:
        return None
    if charge.charge_ah is not None:
        return charge.charge_ah * 60 / minutes
    if charge.trace is not None:
        return charge.trace.charge_ah * 60 / minutes
    return None


def _reagents(known: list[AnyEntry], catalogue: Catalogue, on_shelf: Iterable[str]) -> tuple[Vessel, ...]:
    """Every reagent on record that belongs to a group, under the catalogue's name, with the entries that name it."""
    entries: dict[str, list[str]] = {}
    for entry in known:
        items = entry.reagents if isinstance(entry, MakeUp) else ()
        if isinstance(entry, (Addition, Treatment)):
            items = entry.items
        for item in items:
            entries.setdefault(_canonical(item.reagent, catalogue), []).append(entry.id)
    for name in on_shelf:
        entries.setdefault(_canonical(name, catalogue), [])
    made = [
        Vessel(name=name, kind="reagent", groups=reagent_groups(name, catalogue), entries=tuple(dict.fromkeys(ids)))
        for name, ids in entries.items()
    ]
    return tuple(v for v in made if v.groups)


def _canonical(name: str, catalogue: Catalogue) -> str:
    try:
        return catalogue.reagent(name).name
    except CatalogueError:
        return name
