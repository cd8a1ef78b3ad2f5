"""What a weighing told of the cathode efficiency, or that it told next to nothing and how many loads would."""

from __future__ import annotations

import math

from bathkeeper.catalogue.loader import CatalogueError
from bathkeeper.catalogue.schema import Method
from bathkeeper.entries import AnyEntry, Reading, Run, Unknown, Value
from bathkeeper.estimate.learned import STILL_ASSUMED, learned
from bathkeeper.estimate.state import TankState
from bathkeeper.estimate.weighings import EFFICIENCY, KITCHEN_SCALE, loads_needed, records_of, scale_variance
from bathkeeper.estimate.world import World
from bathkeeper.units.numerals import figures

HARDLY = 0.95  # of the spread left after a weighing: more is not worth calling learned [practice]


def weighing_words(before: World, after: World, entry: AnyEntry | Unknown) -> list[str]:
    """A line on what an entry's weighed parts told, from the workshop before and after it; nothing of any other entry."""
    told = _weighing(entry)
    if told is None or isinstance(entry, Unknown):
        return []
    _, records = records_of(after, told)
    if not records:
        return []
    tank = records[0].tank
    old, new = before.tanks.get(tank), after.tanks.get(tank)
    if old is None or new is None or any(d.entry == entry.id and d.of == "deposit_mass" for d in new.doubts.values()):
        return []
    place = f"theta:{EFFICIENCY}"
    if place not in old.gauss or place not in new.gauss or new.seen.get("deposit_mass") is None:
        return []
    if new.seen["deposit_mass"].entry != entry.id:
        return []  # it could not be used; the problem says why
    left = math.sqrt(max(new.gauss.variance(place), 0.0) / max(old.gauss.variance(place), 1e-30))
    now = _percent(new)
    if left <= HARDLY:
        return [f"{tank}: cathode efficiency {_percent(old)} -> {now}, its spread {left:.0%} of what it was"]
    if learned(new)[EFFICIENCY].told <= STILL_ASSUMED:
        return [f"{tank}: this weighing hardly moves the cathode efficiency, which is known to {now} already"]
    value = told.values[0]
    needed = loads_needed(
        new, records, scale_variance(after, _method(after, value), value), after.catalogue.metals, STILL_ASSUMED
    )
    proved = "one load proves little" if len(records) == 1 else f"{len(records)} loads prove little here"
    advice = (
        f"weigh {needed} loads like {'this' if len(records) == 1 else 'these'} together"
        if needed is not None
        else "however many are weighed, the ammeter's own error would hide it: calibrate the supply first"
    )
    return [
        f"{tank}: this weighing hardly moves the cathode efficiency ({now}; its spread is {left:.0%} of what it was): "
        f"{proved}; {advice}"
    ]


def _weighing(entry: AnyEntry | Unknown) -> Reading | None:
    """The entry as the reading of a gain that it is or holds."""
    if isinstance(entry, Run) and entry.mass_before_g is not None and entry.mass_after_g is not None:
        gained = entry.mass_after_g - entry.mass_before_g
        if gained > 0:
            value = Value(of="deposit_mass", value=gained, unit="g", method=KITCHEN_SCALE)
            return Reading(id=entry.id, at=entry.at, run=entry.id, values=(value,))
    if isinstance(entry, Reading) and (entry.run is not None or entry.runs):
        weighed = tuple(v for v in entry.values if v.of == "deposit_mass" and v.value is not None)
        if weighed:
            return Reading(id=entry.id, at=entry.at, run=entry.run, runs=entry.runs, values=weighed)
    return None


def _method(world: World, value: Value) -> Method:
    try:
        return world.catalogue.method(value.method) if value.method is not None else world.catalogue.default_method(value.of)
    except CatalogueError:
        return world.catalogue.default_method(value.of)


def _percent(state: TankState) -> str:
    item = learned(state)[EFFICIENCY]
    half = (item.high - item.low) / 2
    return f"{figures(item.value * 100, half * 100)} ± {figures(half * 100, half * 100)} %"
