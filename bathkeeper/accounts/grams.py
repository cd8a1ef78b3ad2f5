"""Where every gram went: in + dissolved = in tanks + in containers + laid down + handed over + ... + unaccounted for.

What readings put right is named as unaccounted for, with its spread and the tank or container in which it arose, so that
nothing is left over. The spread is that of what the entries tell and of what is believed to be there: what a reading taught
of the bath's rates is within it, a bail-out that nobody wrote down is not.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from datetime import datetime

import msgspec

from bathkeeper.accounts.litres import NOT_SAID, ON_PARTS, RUN_OFF, WITHIN
from bathkeeper.estimate.missing import ADJUSTED, STOPPED
from bathkeeper.estimate.put_right import PutRight, in_container, in_tank
from bathkeeper.estimate.solutions import REPLACED
from bathkeeper.estimate.state import Z95, Flows, TankState
from bathkeeper.estimate.world import World
from bathkeeper.findings import Estimate

PUT_IN = ("make-up", "addition")
RECOUNTED = ("no longer tracked", "tracked from here on")
"""Causes under which a tank came to be counted otherwise and nothing moved."""
WORTH_TELLING_G = 0.05


class FoundGrams(msgspec.Struct, frozen=True, kw_only=True):
    """What one entry found missing of a species, in g (mL of an additive); below zero more than was expected."""

    at: datetime
    entry: str
    grams: float


class AroseGrams(msgspec.Struct, frozen=True, kw_only=True):
    """Grams (mL) of a species unaccounted for in one vessel (below zero: more than the entries tell).

    ``readings_spread_g``: the part of the interval's half that readings found out; the rest is that of what is there now.
    """

    vessel: str
    grams: Estimate
    readings_spread_g: float
    found: tuple[FoundGrams, ...] = ()

    @property
    def worth_telling(self) -> bool:
        """Whether it is more than rounding."""
        return abs(self.grams.value) >= WORTH_TELLING_G

    @property
    def beyond_spread(self) -> bool:
        """Whether more is missing, or there, than the spread explains."""
        return beyond(self.grams)


class Grams(msgspec.Struct, frozen=True, kw_only=True):
    """The account of one species over the book, in g (mL of an additive). What came in is above zero, what went out as well.

    ``worn_g``: what wear made of it (iron that dissolved, acid that was spent: below zero); ``treated_g``: what treatments of
    waste made of it. ``recounted_g``: what a tank described anew came to count, or counts no more. ``untracked_g``: what
    reached a tank that does not count it. ``unaccounted_g`` has its 95 % interval, of which ``readings_spread_g`` is the part
    that readings found out; ``arose`` names the vessels that readings put right, the most first.
    """

    species: str
    put_in_g: float
    from_anodes_g: float
    worn_g: float
    treated_g: float
    recounted_g: float
    laid_down_g: float
    in_tanks_g: float
    in_containers_g: float
    on_parts_g: float
    run_off_g: float
    to_sewer_g: float
    samples_g: float
    handed_over_g: float
    lost_g: float
    not_said_g: float
    untracked_g: float
    unaccounted_g: Estimate
    readings_spread_g: float
    arose: tuple[AroseGrams, ...] = ()

    @property
    def left_over_g(self) -> float:
        """What the account leaves over: nothing, to rounding."""
        came = self.put_in_g + self.from_anodes_g + self.worn_g + self.treated_g + self.recounted_g
        kept = self.in_tanks_g + self.in_containers_g + self.laid_down_g + self.on_parts_g + self.run_off_g
        gone = self.to_sewer_g + self.samples_g + self.handed_over_g + self.lost_g + self.not_said_g + self.untracked_g
        return came - kept - gone - self.unaccounted_g.value


MOVED = tuple(n for n in Grams.__struct_fields__ if n.endswith("_g") and n not in ("unaccounted_g", "readings_spread_g"))
"""The fields that are plain sums."""


def grams(world: World) -> dict[str, Grams]:
    """The account of every species that any tank or container holds or held, by name."""
    return {s: _account(world, s) for s in _species(world)}


def between(before: Mapping[str, Grams], after: Mapping[str, Grams]) -> dict[str, Grams]:
    """The accounts of a period: what moved in it; of tanks and containers what stands at its end less what stood at its
    beginning. ``arose``: what came to be unaccounted for in it."""
    return {name: _between(before[name], late) if name in before else late for name, late in after.items()}


def beyond(missing: Estimate) -> bool:
    """Whether an interval lies wholly on one side of nothing."""
    return missing.low > 0 or missing.high < 0


def _between(early: Grams, late: Grams) -> Grams:
    moved = {f: getattr(late, f) - getattr(early, f) for f in MOVED}
    known = {a.vessel: a for a in early.arose}
    arose = []
    for one in late.arose:
        was = known.get(one.vessel)
        if was is None:
            arose.append(one)
            continue
        found = tuple(f for f in one.found if f not in was.found)
        missing, spread = _later(was.grams, was.readings_spread_g, one.grams, one.readings_spread_g)
        if found or missing.value:
            arose.append(AroseGrams(vessel=one.vessel, grams=missing, readings_spread_g=spread, found=found))
    missing, spread = _later(early.unaccounted_g, early.readings_spread_g, late.unaccounted_g, late.readings_spread_g)
    return Grams(
        species=late.species, **moved, unaccounted_g=missing, readings_spread_g=spread, arose=tuple(_most_first(arose))
    )


def _later(was: Estimate, was_spread: float, now: Estimate, now_spread: float) -> tuple[Estimate, float]:
    """What came to be missing since: what readings had found out before then tells of the time before."""
    value = now.value - was.value
    half = math.sqrt(max(now.spread**2 - was_spread**2, 0.0))
    estimate = Estimate(value, value - half, value + half, now.unit)
    return estimate, math.sqrt(max(now_spread**2 - was_spread**2, 0.0))


def _most_first(arose: list[AroseGrams]) -> list[AroseGrams]:
    return sorted(arose, key=lambda a: -abs(a.grams.value))


def _species(world: World) -> list[str]:
    names = [n for t in world.tanks.values() for n in t.species]
    kept = [n for c in world.containers.values() for n in c.gauss.names]
    # A drum that was handed over holds nothing any more, and a tank described anew may count something else.
    moved = [n for f in (*_tank_flows(world), *(c.flows for c in world.containers.values())) for a in f.values() for n in a]
    names += [n[5:] for n in (*kept, *moved) if n.startswith("mass:")]
    return list(dict.fromkeys(names))


def _account(world: World, species: str) -> Grams:
    name = f"mass:{species}"
    causes: dict[str, float] = {}
    for flows in _tank_flows(world):
        for cause, amounts in flows.items():
            causes[cause] = causes.get(cause, 0.0) + amounts.get(name, 0.0)
    waste = dict.fromkeys(("put in", "treated", "handed over"), 0.0)
    for state in world.containers.values():
        for cause in waste:
            waste[cause] += state.flows.get(cause, {}).get(name, 0.0)
    running = _running_terms(world)
    known = {*PUT_IN, ADJUSTED, STOPPED, *RECOUNTED, *WITHIN, "anodes dissolved", "deposit", *running}
    places = {p: a.get(name, 0.0) for p, a in world.places.items()}
    replaced = {f"{REPLACED}{t}" for t in world.tanks}
    named = {*ON_PARTS, RUN_OFF, NOT_SAID, "sewer", "sample", "spill", *replaced}
    missing, spread, arose = _unaccounted(world, species)
    return Grams(
        species=species,
        put_in_g=sum(causes.get(c, 0.0) for c in PUT_IN) + waste["put in"],
        from_anodes_g=causes.get("anodes dissolved", 0.0),
        worn_g=sum(a for c, a in causes.items() if c not in known),
        treated_g=waste["treated"],
        recounted_g=sum(causes.get(c, 0.0) for c in RECOUNTED),
        laid_down_g=0.0 - causes.get("deposit", 0.0),
        in_tanks_g=sum(t.gauss.value(name) for t in world.tanks.values() if name in t.gauss),
        in_containers_g=sum(c.gauss.value(name) for c in world.containers.values() if name in c.gauss),
        on_parts_g=sum(places.get(p, 0.0) for p in ON_PARTS),
        run_off_g=places.get(RUN_OFF, 0.0),
        to_sewer_g=places.get("sewer", 0.0),
        samples_g=places.get("sample", 0.0),
        handed_over_g=0.0 - waste["handed over"],
        lost_g=places.get("spill", 0.0),
        not_said_g=places.get(NOT_SAID, 0.0),
        untracked_g=sum(a for p, a in places.items() if p not in named),
        unaccounted_g=missing,
        readings_spread_g=spread,
        arose=tuple(_most_first(arose)),
    )


def _unaccounted(world: World, species: str) -> tuple[Estimate, float, list[AroseGrams]]:
    """What is missing in all, how much of its spread readings found out, and where it arose."""
    name, unit = f"mass:{species}", _unit(world, species)
    arose: list[AroseGrams] = []
    value = readings = present = 0.0
    for tank in world.tanks.values():
        found = in_tank(tank, name)
        gone = world.places.get(f"{REPLACED}{tank.name}", {}).get(name, 0.0)  # where such a bath went nobody said
        value, readings, present = value + found.missing + gone, readings + found.readings, present + found.present
        if found.touched or gone:
            arose.append(_arose(tank.name, found, gone, unit, _found(tank, species)))
    for container in world.containers.values():
        found = in_container(container, name)
        if found.touched:
            value, readings, present = value + found.missing, readings + found.readings, present + found.present
            arose.append(_arose(container.name, found, 0.0, unit, ()))
    half = Z95 * math.sqrt(readings + present)
    return Estimate(value, value - half, value + half, unit), Z95 * math.sqrt(readings), arose


def _arose(vessel: str, found: PutRight, gone: float, unit: str, by: tuple[FoundGrams, ...]) -> AroseGrams:
    value, half = found.missing + gone, Z95 * math.sqrt(found.readings + found.present)
    grams = Estimate(value, value - half, value + half, unit)
    return AroseGrams(vessel=vessel, grams=grams, readings_spread_g=Z95 * math.sqrt(found.readings), found=by)


def _found(state: TankState, species: str) -> tuple[FoundGrams, ...]:
    every = [*(m for life in state.lives for m in life.missing_g), *state.missing_g]
    return tuple(FoundGrams(at=m.at, entry=m.entry, grams=m.grams) for m in every if m.species == species)


def _unit(world: World, species: str) -> str:
    """g, or mL of what is counted in mL/L."""
    vessels = [t.species for t in world.tanks.values()] + [c.species for c in world.containers.values()]
    vessels += [r.species for r in world.catalogue.recipes.values()]  # of what no vessel holds any more
    known = [held[species] for held in vessels if species in held]
    return "mL" if known and known[0].unit == "mL/L" else "g"


def _tank_flows(world: World) -> Iterator[Flows]:
    for state in world.tanks.values():
        yield from (life.flows for life in state.lives)
        yield state.flows


def _running_terms(world: World) -> set[str]:
    """Wear terms by which a rinse runs over: what they take has its own place."""
    found = set()
    for state in world.tanks.values():
        for term in state.recipe.wear if state.recipe is not None else ():
            if {e.to for e in term.effects} == {"water", "solution"}:
                found.add(term.name)
    return found
