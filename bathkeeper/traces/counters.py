"""A logger's own counter of charge: what it went on by, over resets, and when it moved."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from bathkeeper.traces.bins import Bins

Floats = NDArray[np.float64]
RESET = 0.5  # a counter that falls below this part of itself began anew [practice]
MOST_POINTS = 100


@dataclass
class Counter:
    """Takes a counter's values in order of the file. ``turn`` below 0: the newest row comes first.

    ``ah``: what it went on by, Ah. ``first_s``, ``last_s``: the times between which it moved. ``finest_ah``: its smallest
    step. ``falls``: steps back that are no reset; ``sum_ah``: all values together, the charge where each row has that of its
    ``interval``.
    """

    width_s: float
    turn: float = 1.0
    ah: float = 0.0
    resets: int = 0
    moves: int = 0
    first_s: float = np.inf
    last_s: float = -np.inf
    finest_ah: float = np.inf
    falls: int = 0
    sum_ah: float = 0.0
    interval: bool = False
    passed: Bins = field(init=False)
    _last: tuple[float, float] | None = None

    def __post_init__(self) -> None:
        self.passed = Bins(self.width_s)

    def take(self, times: Floats, told: Floats) -> None:
        """The next samples, nan where there is none."""
        there = np.isfinite(told)
        at, told = times[there], told[there]
        self.sum_ah += float(told.sum())
        if self.interval:
            self._of_intervals(at, told)
            return
        if self._last is not None:
            at, told = np.concatenate(([self._last[0]], at)), np.concatenate(([self._last[1]], told))
        if told.size:
            self._last = (float(at[-1]), float(told[-1]))
        if told.size < 2:
            return
        before, after = (told[:-1], told[1:]) if self.turn > 0 else (told[1:], told[:-1])
        step = after - before
        reset = (step < 0) & (np.abs(after) < RESET * np.abs(before))
        step = np.where(reset, after, step)
        self.resets += int(reset.sum())
        self.falls += int(((step < 0) & ~reset).sum())
        self.ah += float(step.sum())
        moved = np.flatnonzero(step)
        self.passed.add(self.turn * at[1:], np.abs(step), step)
        if moved.size == 0:
            return
        self.moves += moved.size
        self.finest_ah = min(self.finest_ah, float(np.abs(step[moved]).min()))
        ends = np.concatenate((at[moved], at[moved + 1]))
        self.first_s, self.last_s = min(self.first_s, float(ends.min())), max(self.last_s, float(ends.max()))

    def _of_intervals(self, at: Floats, told: Floats) -> None:
        moved = np.flatnonzero(told)
        self.moves += moved.size
        self.ah = self.sum_ah
        self.passed.add(self.turn * at, np.abs(told), told)
        if moved.size:
            self.finest_ah = min(self.finest_ah, float(np.abs(told[moved]).min()))
            self.first_s, self.last_s = min(self.first_s, float(at[moved].min())), max(self.last_s, float(at[moved].max()))

    def points(self) -> tuple[tuple[float, float], ...]:
        """(minutes from the start, A): the mean current by the counter over at most :data:`MOST_POINTS` spans."""
        at = self.passed.filled
        if at.size == 0:
            return ()
        width = self.passed.width_s
        made = []
        for group in np.array_split(at, min(MOST_POINTS, at.size)):
            hours = float(group[-1] - group[0] + 1) * width / 3600
            mean = float(self.passed.data["charge"][group].sum()) / hours
            made.append((round(float(group[0] * width) / 60, 4), round(mean, 4)))
        return tuple(made)
