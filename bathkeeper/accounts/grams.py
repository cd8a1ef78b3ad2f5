"""Where every gram of a species went: in + dissolved = in tanks + in containers + laid down + handed over + ... + put right."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import msgspec

from bathkeeper.accounts.litres import NOT_SAID, ON_PARTS, RUN_OFF, WITHIN
from bathkeeper.estimate.missing import ADJUSTED, STOPPED
from bathkeeper.estimate.state import Flows
from bathkeeper.estimate.world import World

PUT_IN = ("make-up", "addition")
PUT_RIGHT = (ADJUSTED, STOPPED, "no longer tracked", "tracked from here on")
"""Causes under which the estimate changed and nothing moved."""


class Grams(msgspec.Struct, frozen=True, kw_only=True):
    """The account of one species over the book, in g (mL of an additive). What came in is above zero, what went out as well.

    ``worn_g``: what wear made of it (iron that dissolved, acid that was spent: below zero); ``treated_g``: what treatments of
    waste made of it. ``put_right_g``: what readings adjusted. ``untracked_g``: what reached a tank that does not count it.
    """

    species: str
    put_in_g: float
    from_anodes_g: float
    worn_g: float
    treated_g: float
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
    put_right_g: float

    @property
    def left_over_g(self) -> float:
        """What the account leaves over: nothing, to rounding."""
        came = self.put_in_g + self.from_anodes_g + self.worn_g + self.treated_g + self.put_right_g
        kept = self.in_tanks_g + self.in_containers_g + self.laid_down_g + self.on_parts_g + self.run_off_g
        gone = self.to_sewer_g + self.samples_g + self.handed_over_g + self.lost_g + self.not_said_g + self.untracked_g
        return came - kept - gone


def grams(world: World) -> dict[str, Grams]:
    """The account of every species that any tank or container holds or held, by name."""
    return {s: _account(world, s) for s in _species(world)}


def between(before: Mapping[str, Grams], after: Mapping[str, Grams]) -> dict[str, Grams]:
    """The accounts of a period: what moved in it; of tanks and containers what stands at its end less what stood at its
    beginning."""
    fields = [f for f in Grams.__struct_fields__ if f != "species"]
    made = {}
    for name, late in after.items():
        early = before.get(name)
        moved = {f: getattr(late, f) - (getattr(early, f) if early is not None else 0.0) for f in fields}
        made[name] = Grams(species=name, **moved)
    return made


def _species(world: World) -> list[str]:
    names = [n for t in world.tanks.values() for n in t.species]
    names += [n[5:] for c in world.containers.values() for n in c.gauss.names if n.startswith("mass:")]
    names += [n[5:] for c in world.containers.values() for f in c.flows.values() for n in f if n.startswith("mass:")]
    return list(dict.fromkeys(names))


def _account(world: World, species: str) -> Grams:
    name = f"mass:{species}"
    causes: dict[str, float] = {}
    for flows in _tank_flows(world):
        for cause, amounts in flows.items():
            causes[cause] = causes.get(cause, 0.0) + amounts.get(name, 0.0)
    waste = dict.fromkeys(("put in", "treated", ADJUSTED, "handed over"), 0.0)
    for state in world.containers.values():
        for cause in waste:
            waste[cause] += state.flows.get(cause, {}).get(name, 0.0)
    running = _running_terms(world)
    known = {*PUT_IN, *PUT_RIGHT, *WITHIN, "anodes dissolved", "deposit", *running}
    places = {p: a.get(name, 0.0) for p, a in world.places.items()}
    named = {*ON_PARTS, RUN_OFF, NOT_SAID, "sewer", "sample", "spill"}
    return Grams(
        species=species,
        put_in_g=sum(causes.get(c, 0.0) for c in PUT_IN) + waste["put in"],
        from_anodes_g=causes.get("anodes dissolved", 0.0),
        worn_g=sum(a for c, a in causes.items() if c not in known),
        treated_g=waste["treated"],
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
        put_right_g=sum(causes.get(c, 0.0) for c in PUT_RIGHT) + waste[ADJUSTED],
    )


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
