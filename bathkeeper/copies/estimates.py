"""What was in each tank over time, by the entries up to each moment, with the low and high end of the 95 % interval."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import datetime, time, timedelta
from typing import Any

from bathkeeper.catalogue.loader import load
from bathkeeper.copies.tables import Table
from bathkeeper.entries import AnyEntry, Unknown
from bathkeeper.estimate.fold import Fold, at_moment
from bathkeeper.estimate.view import TankView, tank_view
from bathkeeper.estimate.world import first_descriptions
from bathkeeper.findings import Estimate
from bathkeeper.workshop import NotFound, Workshop

MOST_MOMENTS = 20_000
DAY = timedelta(days=1)
COLUMNS = {
    "at": "the moment that is estimated, RFC 3339",
    "tank": "the tank",
    "life": "when this filling was made up, RFC 3339",
    "of": "what is estimated: volume, a species, a ratio, or an anode's mass",
    "kind": "volume, species, ratio or anode",
    "value": "the estimate, in unit",
    "low": "low end of its 95 % interval, in unit",
    "high": "high end of its 95 % interval, in unit",
    "unit": "L, g/L, mL/L, g, or none for a ratio",
}


class CopyError(ValueError):
    """Something that cannot be written out as asked: what was wrong, and what would be right."""


def moments(first: datetime, last: datetime, every: timedelta) -> list[datetime]:
    """From the first moment on, and the last one; steps of whole days stand at midnight, at the first moment's offset.

    Raises:
        CopyError: a step of nothing, or so short that the table would never end.
    """
    if every <= timedelta(0):
        raise CopyError("the step is nothing; write for example --every 1d or --every 6h")
    if first > last:
        return []
    if (last - first) / every > MOST_MOMENTS:
        raise CopyError(f"that is more than {MOST_MOMENTS} moments; take a longer step, for example --every 1d")
    start = first
    if every % DAY == timedelta(0):
        start = datetime.combine(first.date(), time(), tzinfo=first.tzinfo) + DAY
    found = []
    while start < last:
        found.append(start)
        start += every
    return [*found, last]


def estimates_table(
    workshop: Workshop,
    at: datetime,
    every: timedelta = DAY,
    tank: str | None = None,
    told: Callable[[int, int], None] | None = None,
) -> Table:
    """One row for each thing in each tank at each moment while there is a filling in it.

    Raises:
        NotFound: no tank of that name. CopyError: the step cannot be.
    """
    if tank is not None and tank not in workshop.world.tanks:
        raise NotFound(f"no tank is called `{tank}`; there are {', '.join(workshop.world.tanks) or 'none yet'}")
    entries = [e for e in reversed(workshop.entries()) if e.at <= at]
    rows: list[dict[str, Any]] = []
    if entries:
        first = min((e.at for e in entries if e.kind not in ("workshop", "tank", "definition")), default=at)
        times = moments(first, at, every)
        for number, (moment, views) in enumerate(_views(workshop, entries, times, tank), start=1):
            for view in views:
                rows += _rows(view, moment)
            if told is not None:
                told(number, len(times))
    return Table(COLUMNS, rows, "What was in each tank, by the entries up to each moment.")


def _views(
    workshop: Workshop, entries: list[AnyEntry | Unknown], times: list[datetime], tank: str | None
) -> Iterator[tuple[datetime, list[TankView]]]:
    """The tanks at each moment. One fold goes through the entries once: each moment goes on where the last one stood."""
    firsts = first_descriptions(list(reversed(workshop.entries())))
    fold, place = Fold(load()), 0
    for moment in times:
        while place < len(entries) and entries[place].at <= moment:
            place += 1
        world = at_moment(fold.take(entries[:place], firsts), moment)
        states = [s for n, s in world.tanks.items() if (tank is None or n == tank) and s.alive]
        yield moment, [tank_view(s, world.catalogue.metals) for s in states]


def _rows(view: TankView, at: datetime) -> Iterator[dict[str, Any]]:
    about = {"at": at, "tank": view.tank, "life": view.made_up}

    def row(of: str, kind: str, value: Estimate) -> dict[str, Any]:
        return {**about, "of": of, "kind": kind, "value": value.value, "low": value.low, "high": value.high, "unit": value.unit}

    yield row("volume", "volume", view.volume_l)
    for kind, contents in (("species", view.species), ("ratio", view.ratios)):
        for name, c in contents.items():
            yield row(name, kind, Estimate(c.value, c.low, c.high, "" if kind == "ratio" and c.unit == "1" else c.unit))
    for name, anode in view.anodes.items():
        if not anode.retired:
            yield row(name, "anode", Estimate(anode.mass_g.value, anode.mass_g.low, anode.mass_g.high, "g"))
