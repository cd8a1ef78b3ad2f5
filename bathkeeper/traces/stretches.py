"""Stretches of current in a file, with minutes of none between them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bathkeeper.traces.layout import Layout
from bathkeeper.traces.sums import Sums

IDLE = 0.01  # of the highest current
BETWEEN_LOADS_S = 300.0
LONG_GAP_S = 1800.0
LEAST_STRETCH = 0.02  # of the charge


@dataclass(frozen=True)
class Stretch:
    """Current that flowed without a break of minutes: from, to (seconds as the file counts), charge in Ah."""

    start_s: float
    end_s: float
    charge_ah: float


def stretches_of(sums: Sums, layout: Layout) -> tuple[Stretch, ...]:
    """Stretches of current with at least minutes of none between them, in order of time."""
    bins = sums.series.get("current")
    if bins is None or bins.origin_s is None:
        return ()
    at = bins.filled
    times = bins.times_s()
    size = np.maximum(np.abs(bins.data["low"][at]), np.abs(bins.data["high"][at]))
    top = usual_top(size)
    on = np.flatnonzero(size > max(IDLE * top, 1e-12))
    if on.size == 0:
        return ()
    pause = np.diff(times[on])
    # rows that are missing are no sign that the current stopped, unless they are missing for long
    stopped = (np.diff(on) > 1) | (pause > LONG_GAP_S)
    apart = np.flatnonzero((pause > max(BETWEEN_LOADS_S, 2.5 * bins.width_s)) & stopped)
    made = []
    total = float(np.abs(bins.data["charge"][at]).sum())
    for part in np.split(on, apart + 1):
        a, b = part[0], part[-1]
        passed = abs(float(bins.data["charge"][at][a : b + 1].sum()))
        low, high = float(times[a]) - bins.width_s, float(times[b]) + bins.width_s * 2
        low, high = (-high, -low) if sums.turn < 0 else (low, high)
        if passed > LEAST_STRETCH * total:
            made.append(Stretch(max(low, sums.earliest_s), min(high, sums.latest_s), passed))
    return tuple(sorted(made, key=lambda s: s.start_s))


def usual_current(sums: Sums) -> float:
    """The median size of the current while any flows, A."""
    bins = sums.series["current"]
    at = bins.filled
    if at.size == 0:
        return 0.0
    size = np.abs(bins.data["sum"][at] / bins.data["count"][at])
    on = size[size > max(IDLE * usual_top(size), 1e-12)]
    return float(np.median(on)) if on.size else 0.0


def usual_top(size: NDArray[np.float64]) -> float:
    """The highest current but for the few bins that stand above all others: one fault must not make the rest look like none."""
    if size.size == 0:
        return 0.0
    aside = size.size // 50 + 1 if size.size >= 20 else 0
    return float(np.sort(size)[-1 - aside])
