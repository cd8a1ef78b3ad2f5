"""Where every litre went: in = in tanks + in containers + evaporated + on parts + handed over + ... + unaccounted for.

The account runs over the whole book up to a moment; that of a period is the difference of two. Nothing is left over: what no
entry and no evaporation explains is named as unaccounted, with its spread and the tank or container in which it arose.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from datetime import datetime

import msgspec

from bathkeeper.entries import RESERVED_PLACES
from bathkeeper.estimate.containers import ContainerState
from bathkeeper.estimate.missing import ADJUSTED, STOPPED, evaporated, evaporation_terms, unaccounted
from bathkeeper.estimate.put_right import in_container
from bathkeeper.estimate.solutions import REPLACED
from bathkeeper.estimate.state import Z95, Flows, Missing, TankState
from bathkeeper.estimate.world import World
from bathkeeper.findings import Estimate

PUT_IN = ("make-up", "addition", "clean water dragged in")
WITHIN = ("drag-in", "drag-out", "poured in", "removal", "emptied", "filled", "moved in", "moved out", "handed over")
"""Causes that only carry litres from one vessel to another, or out of it to a place that has its own line."""
ON_PARTS = ("on parts", "rinsed away")
RUN_OFF = "run off with rinse water"
NOT_SAID = "not said"
WORTH_TELLING_L = 0.05


class Found(msgspec.Struct, frozen=True, kw_only=True):
    """What one entry found missing."""

    at: datetime
    entry: str
    litres: float


class Arose(msgspec.Struct, frozen=True, kw_only=True):
    """Litres unaccounted for in one vessel (below zero: more than the entries tell); ``found``: the readings that found it."""

    vessel: str
    litres: Estimate
    found: tuple[Found, ...] = ()


class Litres(msgspec.Struct, frozen=True, kw_only=True):
    """The account, all in litres. ``unaccounted_l`` has its 95 % interval; ``arose`` names where, the most first."""

    into_tanks_l: float
    into_containers_l: float
    run_through_l: float
    in_tanks_l: float
    in_containers_l: float
    evaporated_l: float
    on_parts_l: float
    run_off_l: float
    to_sewer_l: float
    samples_l: float
    handed_over_l: float
    lost_l: float
    not_said_l: float
    other_l: float
    unaccounted_l: Estimate
    arose: tuple[Arose, ...] = ()

    @property
    def put_in_l(self) -> float:
        """Everything that came in."""
        return self.into_tanks_l + self.into_containers_l + self.run_through_l


def litres(world: World) -> Litres:
    """The account of a workshop brought to a moment (``at_moment``), from the first entry on."""
    into = sum(_sum(f, PUT_IN) for f in _all_flows(world))
    put_in = sum(_sum(c.flows, ("put in", "treated")) for c in world.containers.values())
    off = _placed(world, RUN_OFF)
    run_through = off + sum(_net_run_through(t) for t in world.tanks.values())
    arose = [*_of_tanks(world), *_of_containers(world)]
    parts = sum(_placed(world, p) for p in ON_PARTS)
    told = {*ON_PARTS, RUN_OFF, NOT_SAID, *RESERVED_PLACES, *(f"{REPLACED}{t}" for t in world.tanks)}
    belief = sum(a.get("volume", 0.0) for p, a in world.places.items() if p not in told)
    # What one tank's drag-out and the next one's drag-in disagree on, and what was poured where nothing was known, is nobody's.
    missing = sum(a.litres.value for a in arose) + belief
    half = math.sqrt(sum(a.litres.spread**2 for a in arose))
    return Litres(
        into_tanks_l=into,
        into_containers_l=put_in,
        run_through_l=run_through,
        in_tanks_l=sum(t.volume_l for t in world.tanks.values()),
        in_containers_l=sum(c.volume_l for c in world.containers.values()),
        evaporated_l=sum(_evaporated(t) for t in world.tanks.values()) + sum(_driven_off(c) for c in world.containers.values()),
        on_parts_l=parts,
        run_off_l=off,
        to_sewer_l=_placed(world, "sewer"),
        samples_l=_placed(world, "sample"),
        handed_over_l=sum(-_sum(c.flows, ("handed over",)) for c in world.containers.values()),
        lost_l=_placed(world, "spill"),
        not_said_l=_placed(world, NOT_SAID),
        other_l=sum(-_other(t) for t in world.tanks.values()) + 0.0,
        unaccounted_l=Estimate(missing, missing - half, missing + half, "L"),
        arose=tuple(sorted((a for a in arose if _worth_telling(a)), key=lambda a: -abs(a.litres.value))),
    )


def between(before: Litres, after: Litres, since: datetime | None = None) -> Litres:
    """The account of a period: what moved in it, with what stands at its end in tanks and containers less what stood there at
    its beginning. ``arose``: what came to be unaccounted in it, found by readings after ``since``."""
    moved = {
        f: getattr(after, f) - getattr(before, f) for f in Litres.__struct_fields__ if f not in ("unaccounted_l", "arose")
    }
    a, b = before.unaccounted_l, after.unaccounted_l
    value, half = b.value - a.value, math.sqrt(max(b.spread**2 - a.spread**2, 0.0)) if b.spread > a.spread else b.spread
    earlier = {x.vessel: x.litres.value for x in before.arose}
    arose = tuple(
        Arose(
            vessel=x.vessel,
            litres=_shifted(x.litres, -earlier.get(x.vessel, 0.0)),
            found=tuple(
                f
                for f in x.found
                if (since is None or f.at > since) and all(f != g for y in before.arose for g in y.found)
            ),
        )
        for x in after.arose
    )
    told = tuple(x for x in arose if _worth_telling(x))
    return Litres(**moved, unaccounted_l=Estimate(value, value - half, value + half, "L"), arose=told)


def unaccounted_in(state: TankState) -> Arose:
    """What is unaccounted in a tank over all its lives, in litres."""
    parts = [(life.unaccounted, life.missing) for life in state.lives]
    if state.alive:
        parts.append((unaccounted(state), state.missing))
    return _arose(state.name, [p[0] for p in parts], [m for p in parts for m in p[1]])


def unaccounted_now(state: TankState) -> Arose:
    """What is unaccounted in the present life of a tank."""
    return _arose(state.name, [unaccounted(state)], list(state.missing))


def _of_tanks(world: World) -> Iterator[Arose]:
    for state in world.tanks.values():
        arose = unaccounted_in(state)
        replaced = _placed(world, f"{REPLACED}{state.name}")  # where such a bath went nobody said
        yield Arose(vessel=arose.vessel, litres=_shifted(arose.litres, replaced), found=arose.found)


def _of_containers(world: World) -> Iterator[Arose]:
    for state in world.containers.values():
        found = in_container(state, "volume")
        if found.touched:
            yield _arose(state.name, [(found.missing, found.readings + found.present)], [])


def _arose(vessel: str, parts: list[tuple[float, float]], missing: list[Missing]) -> Arose:
    value, half = sum(p[0] for p in parts), Z95 * math.sqrt(sum(p[1] for p in parts))
    found = tuple(Found(at=m.at, entry=m.entry, litres=m.litres) for m in missing)
    return Arose(vessel=vessel, litres=Estimate(value, value - half, value + half, "L"), found=found)


def _worth_telling(arose: Arose) -> bool:
    return abs(arose.litres.value) >= WORTH_TELLING_L


def _shifted(estimate: Estimate, by: float) -> Estimate:
    return Estimate(estimate.value + by, estimate.low + by, estimate.high + by, estimate.unit)


def _lives(state: TankState) -> list[Flows]:
    return [*(life.flows for life in state.lives), state.flows]


def _all_flows(world: World) -> Iterator[Flows]:
    for state in world.tanks.values():
        yield from _lives(state)


def _sum(flows: Flows, causes: tuple[str, ...]) -> float:
    return sum(flows.get(c, {}).get("volume", 0.0) for c in causes)


def _placed(world: World, place: str) -> float:
    return world.places.get(place, {}).get("volume", 0.0)


def _evaporated(state: TankState) -> float:
    return sum(life.evaporated[0] for life in state.lives) + (evaporated(state)[0] if state.alive else 0.0)


def _driven_off(state: ContainerState) -> float:
    return -_sum(state.flows, ("driven off",))


def _running(state: TankState) -> set[str]:
    """The wear terms by which water runs through a rinse."""
    if state.recipe is None:
        return set()
    return {t.name for t in state.recipe.wear if {e.to for e in t.effects} == {"water", "solution"}}


def _net_run_through(state: TankState) -> float:
    terms = _running(state)
    return sum(a.get("volume", 0.0) for flows in _lives(state) for c, a in flows.items() if c in terms)


def _other(state: TankState) -> float:
    """Litres that moved under a cause of none of the kinds above (a keeper's own wear term)."""
    known = {*PUT_IN, *WITHIN, ADJUSTED, STOPPED, *evaporation_terms(state), *_running(state)}
    return sum(a.get("volume", 0.0) for flows in _lives(state) for c, a in flows.items() if c not in known)


def balance_l(account: Litres) -> float:
    """What the account leaves over; nothing, to rounding, whatever the book says."""
    out: Mapping[str, float] = {
        f: getattr(account, f)
        for f in (
            "in_tanks_l", "in_containers_l", "evaporated_l", "on_parts_l", "run_off_l", "to_sewer_l", "samples_l",
            "handed_over_l", "lost_l", "not_said_l", "other_l",
        )
    }  # fmt: skip
    return account.put_in_l - sum(out.values()) - account.unaccounted_l.value
