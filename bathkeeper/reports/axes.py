"""Ticks that people would have chosen, for values and for days; shared by everything that draws a chart."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from bathkeeper.reports.model import BandPoint, Chart, Reading
from bathkeeper.reports.words import LARGEST, local, window_texts

DAY_STEPS = (1, 2, 7, 14, 28, 56, 91, 182, 365, 730, 1826, 3652, 18262)


@dataclass(frozen=True)
class Axes:
    """What a chart spans: ``since`` to ``until`` and ``low`` to ``high``; the points are those with plain numbers."""

    since: datetime
    until: datetime
    low: float
    high: float
    points: tuple[BandPoint, ...]
    readings: tuple[Reading, ...]

    def across(self, moment: datetime) -> float:
        """Where a moment stands, 0 at the left edge and 1 at the right."""
        return (moment - self.since) / (self.until - self.since)

    def up(self, value: float) -> float:
        """Where a value stands, 0 at the lower edge and 1 at the upper."""
        return (value - self.low) / (self.high - self.low)


def axes(chart: Chart) -> Axes | None:
    """The span of a chart; nothing when it holds neither belief nor reading."""
    points = sorted((p for p in chart.estimate if _plain(p.value, p.low, p.high)), key=lambda p: p.when)
    readings = [r for r in chart.readings if _plain(r.value, r.spread or 0.0)]
    moments = chart.moments
    if not points and not readings:
        return None
    values = [v for p in points for v in (p.low, p.high, p.value)]
    values += [v for r in readings for v in (r.value - (r.spread or 0.0), r.value + (r.spread or 0.0))]
    values += [v for _, v in window_texts(chart)]
    low, high = min(values), max(values)
    room = 0.06 * (high - low) or 0.1 * abs(high) or 1.0
    since, until = moments[0], moments[-1]
    if until - since < timedelta(hours=1):
        since, until = _moved(since, -12), _moved(until, 12)
    bottom = 0.0 if 0 <= low < room else low - room
    return Axes(since, until, bottom, high + room, tuple(points), tuple(readings))


def value_ticks(low: float, high: float, most: int = 9) -> list[float]:
    """Round values within a span: 1, 2 or 5 times a power of ten apart."""
    rough = (high - low) / most
    power = 10.0 ** math.floor(math.log10(rough))
    step = next(m * power for m in (1, 2, 5, 10) if m * power >= rough * (1 - 1e-9))
    first = math.ceil(low / step - 1e-9)
    last = math.floor(high / step + 1e-9)
    return [round(k * step, 12 - math.floor(math.log10(step))) for k in range(first, last + 1)]


def day_ticks(since: datetime, until: datetime, most: int = 7) -> list[tuple[datetime, str]]:
    """Midnights (local) within a span, evenly apart, with how they are written; hours when the span is short."""
    start, end = local(since), local(until)
    days = (end - start) / timedelta(days=1)
    if days < 2:
        return _hour_ticks(start, end, most)
    step = next((s for s in DAY_STEPS if days / s <= most), math.ceil(days / most))
    day = start.replace(hour=0, minute=0, second=0, microsecond=0)
    ticks: list[tuple[datetime, str]] = []
    if day < start:
        day = _moved(day, 24)
    while day <= end and (not ticks or day > ticks[-1][0]):
        ticks.append((day, day.date().isoformat()))
        day = _moved(day, 24 * step)
    return ticks


def _hour_ticks(start: datetime, end: datetime, most: int) -> list[tuple[datetime, str]]:
    hours = max((end - start) / timedelta(hours=1), 0.1)
    step = next((s for s in (1, 2, 3, 6, 12) if hours / s <= most), 12)
    tick = _moved(start.replace(minute=0, second=0, microsecond=0), 1)
    tick = _moved(tick, -tick.hour % step)
    ticks: list[tuple[datetime, str]] = []
    while tick <= end and (not ticks or tick > ticks[-1][0]):
        ticks.append((tick, f"{tick:%m-%d %H:%M}"))
        tick = _moved(tick, step)
    return ticks


def _moved(moment: datetime, hours: int) -> datetime:
    """Some hours on, or the same moment where the calendar ends."""
    try:
        return moment + timedelta(hours=hours)
    except OverflowError:
        return moment


def spaced(positions: Sequence[float], least: float, end: float) -> list[float]:
    """Positions moved apart so that none is nearer to the next than ``least``, in the same order, none beyond ``end``."""
    order = sorted(range(len(positions)), key=lambda i: positions[i])
    placed = [0.0] * len(positions)
    last = -math.inf
    for i in order:
        last = max(positions[i], last + least)
        placed[i] = last
    for i in reversed(order):
        placed[i] = end = min(placed[i], end)
        end -= least
    return placed


def _plain(*values: float) -> bool:
    return all(abs(v) < LARGEST for v in values)
