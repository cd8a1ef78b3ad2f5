"""Charge from what a person or a supply recorded, in Ah: constant current, stretches, a ramp, a counter, a logged trace."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from bathkeeper.chemistry._checks import not_negative, positive

SECONDS_PER_HOUR = 3600.0


@dataclass(frozen=True)
class CounterCharge:
    """Charge between two readings of a supply's counter. ``was_reset``: it ran back, so it was taken to have started from 0."""

    charge_ah: float
    was_reset: bool


@dataclass(frozen=True)
class TraceCharge:
    """Charge of a logged trace. ``charge_ah`` leaves gaps out; bridging them with straight lines would add ``bridged_ah``."""

    charge_ah: float
    gap_s: float
    bridged_ah: float
    gaps: tuple[tuple[float, float], ...]
    logged_s: float


def constant(current_a: float, minutes: float) -> float:
    """Charge of a constant current, Ah."""
    return not_negative("current in A", current_a) * not_negative("minutes", minutes) / 60.0


def stretches(current_a_and_minutes: Sequence[tuple[float, float]]) -> float:
    """Charge of a list of (current in A, minutes), Ah."""
    if not current_a_and_minutes:
        raise ValueError("at least one stretch of (current in A, minutes) is wanted, got none")
    return sum(constant(current_a, minutes) for current_a, minutes in current_a_and_minutes)


def ramp(start_a: float, end_a: float, minutes: float) -> float:
    """Charge of a current that drifted evenly from one value to another, Ah ("from 240 to 210 mA over 8 h" is 1.8)."""
    mean_a = (not_negative("current at the start in A", start_a) + not_negative("current at the end in A", end_a)) / 2.0
    return constant(mean_a, minutes)


def counter(start_ah: float, end_ah: float) -> CounterCharge:
    """Charge between two counter readings. An end below the start means the counter was reset to 0 at the start of the run.

    A reset in the middle of a run loses what came before it, and no reading can tell: the charge is then a lower bound.
    """
    start = not_negative("counter at the start in Ah", start_ah)
    end = not_negative("counter at the end in Ah", end_ah)
    was_reset = end < start
    return CounterCharge(charge_ah=end if was_reset else end - start, was_reset=was_reset)


def trapezoid(times_s: ArrayLike, currents_a: ArrayLike, max_gap_s: float) -> TraceCharge:
    """Charge of a logged trace by trapezoids on its own time stamps.

    ``times_s`` and ``currents_a``: shape (n,), n >= 2, times in order (repeated stamps add nothing). Two neighbours further
    apart than ``max_gap_s`` are a gap. Currents may be negative (reverse pulses): the charge is the net one. Raises
    ValueError for shapes that differ, values that are no numbers, and times that run back, naming the sample.
    """
    times = np.asarray(times_s, dtype=float)
    currents = np.asarray(currents_a, dtype=float)
    if times.ndim != 1 or times.shape != currents.shape or times.size < 2:
        raise ValueError(
            f"a trace needs two or more times and as many currents, got shapes {times.shape} and {currents.shape}"
        )
    for name, values in (("time", times), ("current", currents)):
        bad = np.flatnonzero(~np.isfinite(values))
        if bad.size:
            raise ValueError(f"sample {bad[0] + 1} of the trace has no {name}: leave such samples out, the gap is then seen")
    steps_s = np.diff(times)
    backward = np.flatnonzero(steps_s < 0)
    if backward.size:
        raise ValueError(f"the clock of the trace runs back at sample {backward[0] + 2}: sort it or cut it there first")
    bound = positive("longest bridged gap in s", max_gap_s)
    pieces_ah = (currents[1:] + currents[:-1]) / 2.0 * steps_s / SECONDS_PER_HOUR
    is_gap = steps_s > bound
    where = np.flatnonzero(is_gap)
    return TraceCharge(
        charge_ah=float(pieces_ah[~is_gap].sum()),
        gap_s=float(steps_s[is_gap].sum()),
        bridged_ah=float(pieces_ah[is_gap].sum()),
        gaps=tuple((float(times[i]), float(times[i + 1])) for i in where),
        logged_s=float(steps_s[~is_gap].sum()),
    )
