"""How a content went through the present life of a tank, with the readings and doses that shaped it."""

from __future__ import annotations

import math
from collections.abc import Iterable
from datetime import datetime

import msgspec

from bathkeeper.entries import Addition, AnyEntry, Reading, Unknown, tanks_of
from bathkeeper.estimate.state import Z95, Point, TankState


class TrendPoint(msgspec.Struct, frozen=True):
    """One moment of a trend: estimate with its 95 % band, by date and by charge since make-up."""

    at: datetime
    charge_ah: float
    value: float
    low: float
    high: float


class Trend(msgspec.Struct, frozen=True, kw_only=True):
    """A content over the bath's life, with the readings and doses that shaped it. ``readings``: (at, Ah, value, doubtful);
    ``doses``: (at, Ah, text)."""

    tank: str
    of: str
    unit: str
    window: dict[str, float]
    points: list[TrendPoint]
    readings: list[tuple[datetime, float, float, bool]]
    doses: list[tuple[datetime, float, str]]


def trend_of(state: TankState, of: str, entries: Iterable[AnyEntry | Unknown]) -> Trend:
    """The trend of a species that the tank tracks; ``state`` speaks of the last moment, ``entries`` are those in force."""
    species = state.species[of]
    place = list(state.species).index(of)
    points = [_point(p, place) for p in state.trail]
    if state.alive:
        value, sd = state.concentration(of)
        points.append(_banded(state.now, state.counters.charge_ah, value, sd))
    doubtful = {d.entry for d in state.doubts.values() if d.of == of}
    readings: list[tuple[datetime, float, float, bool]] = []
    doses: list[tuple[datetime, float, str]] = []
    for entry in entries:
        if state.made_up is None or not state.made_up <= entry.at <= state.now or state.name not in tanks_of(entry):
            continue
        charge = next((p.charge_ah for p in reversed(state.trail) if p.at <= entry.at), 0.0)
        if isinstance(entry, Reading):
            readings += [
                (entry.at, charge, v.value, entry.id in doubtful)
                for v in entry.values
                if v.of.replace("_", " ") == of and v.value is not None
            ]
        elif isinstance(entry, Addition):
            doses.append((entry.at, charge, ", ".join(f"{i.reagent} {i.amount:g} {i.unit}" for i in entry.items)))
    edges = {n: v for n in ("low", "target", "high") if (v := getattr(species, n)) is not None}
    return Trend(tank=state.name, of=of, unit=species.unit, window=edges, points=points, readings=readings, doses=doses)


def _point(point: Point, place: int) -> TrendPoint:
    return _banded(point.at, point.charge_ah, point.values[place], point.deviations[place])


def _banded(at: datetime, charge_ah: float, value: float, deviation: float) -> TrendPoint:
    half = Z95 * deviation
    return TrendPoint(at, charge_ah, value, max(value - half, 0.0) if math.isfinite(half) else 0.0, value + half)
