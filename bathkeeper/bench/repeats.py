"""A trace that is in the book already, perhaps from another file in another dialect: refused, or asked about."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime, timedelta
from typing import Any

import numpy as np
from numpy.typing import NDArray

from bathkeeper.bench.attaching import SHARED, Attached
from bathkeeper.entries import AnyEntry, Reading, Run, Trace, Unknown
from bathkeeper.headlines import SHORT_ID
from bathkeeper.refusals import shorten
from bathkeeper.showing import shown_moment
from bathkeeper.traces.asking import Choice, Question, TraceError
from bathkeeper.traces.reading import TraceReading
from bathkeeper.units.numerals import figures

Points = Sequence[tuple[float, float]]
SAME_CHARGE = 0.01
SAME_LENGTH = 0.02
SAME_SHAPE = 0.03  # of the highest current, on average along the way: rounding and thinning differ from dialect to dialect
SAME_START_S = 90.0
HALF_HOUR_S = 1800.0
ZONES_S = 14 * 3600.0


def refuse_repeated(
    entries: Iterable[AnyEntry | Unknown], reading: TraceReading, attached: Attached, new: bool
) -> list[Question]:
    """Questions about traces in the book that may be this one.

    Raises:
        TraceError: the same current at the same time is in the book, though from another file.
    """
    found = []
    for entry in entries:
        if not isinstance(entry, Run):
            continue
        for step in entry.steps:
            told = [(step.charge, step.supply), *((b.charge, b.supply) for b in step.branches)]
            for charge, supply in told:
                if charge is None or charge.trace is None:
                    continue
                found += _held_against(entry, step.tank, supply, charge.trace, reading, attached, new)
    return found[:1]


def _held_against(
    run: Run, tank: str, supply: str | None, trace: Trace, reading: TraceReading, attached: Attached, new: bool
) -> list[Question]:
    alike = _alike(trace, reading)
    who = f"run {run.id[-SHORT_ID:]} of {shown_moment(run.at)} has its charge from {shorten(trace.file)}"
    apart = _apart_s(trace, reading)
    another = Choice("it is another run all the same", f"--tank {tank} --new")
    if alike and apart is None:
        same = f"{who}, with the same current over the same {figures(reading.minutes)} min"
        return [] if new else [Question("repeated", same, (another,))]
    if alike and apart is not None and apart <= SAME_START_S:
        raise TraceError(f"{who}, and it is the same current at the same time: nothing to take in")
    same_place = attached.tank in (None, tank) and (attached.supply is None or supply is None or attached.supply == supply)
    shared = _overlap(trace, reading)
    if new or apart is None or not same_place:
        return []
    if alike and apart <= ZONES_S and min(apart % HALF_HOUR_S, -apart % HALF_HOUR_S) <= 5:
        return [
            Question(
                "repeated",
                f"{who}: the same current, {figures(apart / 3600)} h apart. Is it the same run on a clock of another zone?",
                (*_of_another_zone(trace, reading), another),
            )
        ]
    if alike and shared > 0:
        return [
            Question(
                "repeated",
                f"{who}: the same current, {figures(apart / 60)} min apart, and one bath has one current at a time. Is it the "
                "same run on a clock that is off? Then there is nothing to take in",
                (another,),
            )
        ]
    if attached.spot is not None or shared <= SHARED:
        return []
    if _within(reading, trace):
        raise TraceError(f"{who}, and this is a part of the same current: nothing to take in")
    if _within(trace, reading):
        return [
            Question(
                "repeated",
                f"{who}, which is a part of this current",
                (Choice("this one takes its place", f"--run {run.id[-SHORT_ID:]} --instead"), another),
            )
        ]
    return [
        Question(
            "repeated",
            f"{who} of the same time, with another current",
            (Choice("this one takes its place", f"--run {run.id[-SHORT_ID:]} --instead"), another),
            f"--tank {tank} --new --supply with the name of another supply of the same bath",
        )
    ]


def _of_another_zone(trace: Trace, reading: TraceReading) -> tuple[Choice, ...]:
    """The offset by which the file would tell the same moments as the trace that is there."""
    assert trace.start is not None and reading.start is not None
    used = reading.start.utcoffset() or timedelta()
    minutes = round((used + (reading.start - trace.start)).total_seconds() / 900) * 15
    if abs(minutes) > 14 * 60:
        return ()
    offset = f"{'-' if minutes < 0 else '+'}{abs(minutes) // 60:02d}:{abs(minutes) % 60:02d}"
    return (Choice(f"it is the same run, the file's clock is at UTC{offset}", f"--offset {offset}"),)


def _within(part: TraceReading | Trace, whole: TraceReading | Trace) -> bool:
    """Whether one current is a piece of another, at the same time."""
    if part.start is None or whole.start is None or not part.points or not whole.points or part.minutes is None:
        return False
    if whole.minutes is None or part.minutes > whole.minutes * (1 + SAME_LENGTH):
        return False
    later = (part.start - whole.start).total_seconds() / 60
    if later < -SAME_START_S / 60 or later + part.minutes > whole.minutes + SAME_START_S / 60:
        return False
    inner = np.linspace(0.0, part.minutes, 101)[2:-2]  # its ends may have been cut anywhere
    return _same_shape(part.points, whole.points, inner, later)


def _same_shape(first: Points, second: Points, at: NDArray[np.float64], later: float = 0.0) -> bool:
    """Whether two currents run alike at these minutes, where the second began ``later`` minutes sooner."""
    a, b = np.array(first), np.array(second)
    one, other = np.abs(np.interp(at, a[:, 0], a[:, 1])), np.abs(np.interp(at + later, b[:, 0], b[:, 1]))
    return float(np.mean(np.abs(one - other))) <= SAME_SHAPE * float(max(one.max(), other.max(), 1e-12))


def _alike(trace: Trace, reading: TraceReading) -> bool:
    """Whether two traces are the same current, however their files were written."""
    if trace.minutes is None or reading.charge_ah is None or not trace.points or not reading.points:
        return False
    if abs(trace.charge_ah - reading.charge_ah) > SAME_CHARGE * max(trace.charge_ah, reading.charge_ah):
        return False
    if abs(trace.minutes - reading.minutes) > max(SAME_LENGTH * reading.minutes, 1.0):
        return False
    return _same_shape(trace.points, reading.points, np.linspace(0.0, min(trace.minutes, reading.minutes), 101))


def _apart_s(trace: Trace, reading: TraceReading) -> float | None:
    if trace.start is None or reading.start is None:
        return None
    return abs((trace.start - reading.start).total_seconds())


def _overlap(trace: Trace, reading: TraceReading) -> float:
    if trace.start is None or reading.start is None or trace.minutes is None or reading.end is None:
        return 0.0
    end = trace.start + timedelta(minutes=trace.minutes)
    both = (min(end, reading.end) - max(trace.start, reading.start)).total_seconds()
    return max(0.0, both / max(1.0, min(trace.minutes, reading.minutes) * 60))


def repeated_readings(entries: Iterable[AnyEntry | Unknown], raw: Mapping[str, Any]) -> bool:
    """Whether a logger's reading of the same time and value is there already."""
    value = raw["values"][0]
    at: datetime = raw["at"]
    for entry in entries:
        if (
            not isinstance(entry, Reading)
            or not (entry.note or "").startswith("logger")
            or abs(entry.at - at) > timedelta(minutes=2)
        ):
            continue
        for told in entry.values:
            if (
                told.of == value["of"]
                and told.value is not None
                and abs(told.value - value["value"]) <= 0.02 * abs(told.value) + 0.02
            ):
                return True
    return False
