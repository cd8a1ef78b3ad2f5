"""Plated parts on the scale: what one load, or several weighed together, should have gained, and what that can tell.

Of several loads the deposits add up while the scale errs only twice, before and after; each run's own charge error adds in
squares, and an ammeter that reads wrong does so for all of them alike, which the state's gain of that supply carries.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from bathkeeper.catalogue.schema import Metal, Method
from bathkeeper.entries import Reading, Value
from bathkeeper.estimate.dual import Dual
from bathkeeper.estimate.measure import Expectation, RunRecord, deposit_mass
from bathkeeper.estimate.state import Z95, TankState
from bathkeeper.estimate.world import World

EFFICIENCY = "cathode_efficiency"
KITCHEN_SCALE = "kitchen scale"
MOST_LOADS = 200  # beyond, weighing more loads together is no advice


def records_of(world: World, entry: Reading) -> tuple[World, tuple[RunRecord, ...]]:
    """The plating of the runs that a reading speaks of, all in one tank; empty, with a problem, where that cannot be."""
    named = entry.runs or ((entry.run,) if entry.run is not None else ())
    missing = [r for r in named if r not in world.runs]
    if missing:
        what = f"the run {', '.join(missing)} is not on record as plated"
        return world.with_problem(what, "name a run's id, or the tank", entry.id), ()
    records = tuple(world.runs[r] for r in named)
    tanks = list(dict.fromkeys(r.tank for r in records))
    if len(tanks) > 1:
        what = f"loads of {' and '.join(tanks)} were read together"
        return world.with_problem(what, "read the loads of each tank by themselves", entry.id), ()
    return world, records


def faults_of(value: Value, records: Sequence[RunRecord]) -> tuple[str, str] | None:
    """(what, right) where a value cannot be read on these loads."""
    if len(records) > 1 and value.of != "deposit_mass":
        return f"{value.of} cannot be read on several loads together", "log it for each run (run=ID); only masses add up"
    if value.of == "deposit_mass" and value.unit != "g":
        return f"deposit_mass was read in {value.unit}", "give it in g"
    elsewhere = sorted({t for r in records for t in r.also})
    if value.of == "deposit_mass" and elsewhere:
        what = f"what these loads gained was laid down in {', '.join([*elsewhere, records[0].tank])} together"
        return what, "weigh between the two, or weigh loads that were plated in one tank only"
    return None


def scale_variance(world: World, method: Method, value: Value) -> float:
    """g2, of a gain: as stated, else two weighings on that scale (the workshop's own, where it says how fine it is)."""
    if value.spread is not None:
        return (value.spread / Z95) ** 2
    told = world.workshop.scale_resolution_g if world.workshop is not None and method.name == KITCHEN_SCALE else None
    one = math.hypot(told or method.absolute, method.relative * (value.value or 0.0))
    return 2 * (one / Z95) ** 2 if one > 0 else 1e-6


def weighed(state: TankState, records: Sequence[RunRecord], scale: float, metals: Mapping[str, Metal]) -> Expectation | None:
    """What loads should have gained together (g); None in a tank that lays nothing down. ``scale``: g2, of the gain."""
    if not records or not _lays_down(state):
        return None
    each = [deposit_mass(state, r, metals) for r in records]
    total = each[0]
    for one in each[1:]:
        total = total + one
    noise = scale + sum(m.value**2 * r.charge_variance for m, r in zip(each, records, strict=True))
    return Expectation(total, noise)


def spread_left(
    state: TankState, records: Sequence[RunRecord], scale: float, metals: Mapping[str, Metal], times: float = 1.0
) -> float:
    """Spread of the cathode efficiency after weighing such loads, ``times`` over, as a fraction of what it is now (0 to 1)."""
    found = weighed(state, records, scale, metals)
    place = state.gauss.index.get(f"theta:{EFFICIENCY}")
    if found is None or place is None:
        return 1.0
    h: Dual = found.h * times
    noise = scale + (found.noise - scale) * times
    return _left(state, h, noise, place)


def loads_needed(
    state: TankState, records: Sequence[RunRecord], scale: float, metals: Mapping[str, Metal], wanted: float
) -> int | None:
    """How many loads like these have to be weighed together until no more than ``wanted`` of the spread is left; None when the
    ammeter's own error would still hide it."""
    low, high = 1, MOST_LOADS
    of_one = 1.0 / max(len(records), 1)
    if spread_left(state, records, scale, metals, high * of_one) > wanted:
        return None
    while low < high:
        middle = (low + high) // 2
        if spread_left(state, records, scale, metals, middle * of_one) <= wanted:
            high = middle
        else:
            low = middle + 1
    return low


def _left(state: TankState, h: Dual, noise: float, place: int) -> float:
    cov = state.gauss.cov
    prior = float(cov[place, place])
    if prior <= 0:
        return 1.0
    with_h = float(cov[place] @ h.grad)
    left = prior - with_h**2 / (float(h.grad @ cov @ h.grad) + noise)
    return math.sqrt(max(left, 0.0) / prior)


def _lays_down(state: TankState) -> bool:
    return state.recipe is not None and state.recipe.electrode is not None and bool(state.recipe.electrode.deposit)
