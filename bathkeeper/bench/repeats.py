"""A trace that is in the book already, perhaps from another file in another dialect: refused, or asked about."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime, timedelta
from typing import Any

import numpy as np

from bathkeeper.bench.attaching import Attached
from bathkeeper.entries import AnyEntry, Reading, Run, Trace, Unknown
from bathkeeper.headlines import SHORT_ID
from bathkeeper.refusals import shorten
from bathkeeper.showing import shown_moment
from bathkeeper.traces.asking import Choice, Question, TraceError
from bathkeeper.traces.reading import TraceReading
from bathkeeper.units.numerals import figures

SAME_CHARGE = 0.01
SAME_LENGTH = 0.02
SAME_SHAPE = 0.03  # of the highest current, on average along the way: rounding and thinning differ from dialect to dialect
SAME_START_S = 90.0
HALF_HOUR_S = 1800.0


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
    if alike and (apart is None or apart <= SAME_START_S):
        if apart is None and new:
            return []
        if apart is None:
            return [
                Question(
                    "repeated",
                    f"{who}, with the same current over the same {figures(reading.minutes)} min",
                    (Choice("it is another run all the same", f"--tank {tank} --new"),),
                )
            ]
        raise TraceError(f"{who}, and it is the same current at the same time: nothing to take in")
    if alike and apart is not None and apart <= 14 * 3600 and min(apart % HALF_HOUR_S, -apart % HALF_HOUR_S) <= 5 and not new:
        return [
            Question(
                "repeated",
                f"{who}: the same current, {figures(apart / 3600)} h apart. Is it the same run on a clock of another zone?",
                (Choice("it is another run", f"--tank {tank} --new"),),
                "--offset +02:00, if its clock is of another zone",
            )
        ]
    same_place = attached.tank in (None, tank) and (attached.supply is None or supply is None or attached.supply == supply)
    if not alike and same_place and not new and attached.spot is None and _overlap(trace, reading) > 0.3:
        return [
            Question(
                "repeated",
                f"{who} of the same time, with another current",
                (Choice("another run", f"--tank {tank} --new"),),
                "--supply with the name of another supply of the same bath, and --new",
            )
        ]
    return []


def _alike(trace: Trace, reading: TraceReading) -> bool:
    """Whether two traces are the same current, however their files were written."""
    if trace.minutes is None or reading.charge_ah is None or not trace.points or not reading.points:
        return False
    if abs(trace.charge_ah - reading.charge_ah) > SAME_CHARGE * max(trace.charge_ah, reading.charge_ah):
        return False
    if abs(trace.minutes - reading.minutes) > max(SAME_LENGTH * reading.minutes, 1.0):
        return False
    a, b = np.array(trace.points), np.array(reading.points)
    at = np.linspace(0.0, min(trace.minutes, reading.minutes), 101)
    first, second = np.abs(np.interp(at, a[:, 0], a[:, 1])), np.abs(np.interp(at, b[:, 0], b[:, 1]))
    return float(np.mean(np.abs(first - second))) <= SAME_SHAPE * float(max(first.max(), second.max(), 1e-12))


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
