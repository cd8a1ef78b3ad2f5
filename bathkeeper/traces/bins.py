"""A series of any length in at most a few thousand bins of even width: sums, extremes, and where the charge passed."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
MOST = 4096
SUMMED = ("count", "sum", "square", "charge")


@dataclass
class Bins:
    """Bins of ``width_s`` from ``origin_s`` on; joined in pairs when the series outgrows them, so that memory stays flat."""

    width_s: float
    origin_s: float | None = None
    used: int = 0
    data: dict[str, Floats] = field(default_factory=dict)

    def add(self, times: Floats, values: Floats, charge: Floats | None = None) -> None:
        """Takes samples in; ``charge``: what passed from each one to the next, Ah."""
        if times.size == 0:
            return
        if self.origin_s is None:
            self.origin_s = float(times[0])
            self.data = {n: np.zeros(MOST) for n in SUMMED}
            self.data["low"], self.data["high"] = np.full(MOST, np.inf), np.full(MOST, -np.inf)
        last = float(times.max()) - self.origin_s
        while last / self.width_s >= MOST - 1:
            self._join()
        place = np.clip((times - self.origin_s) / self.width_s, 0, MOST - 1).astype(np.int64)
        if (np.diff(place) < 0).any():
            order = np.argsort(place, kind="stable")
            place, values, charge = place[order], values[order], charge[order] if charge is not None else None
        heads = np.flatnonzero(np.diff(place, prepend=-1))
        at = place[heads]
        d = self.data
        d["count"][at] += np.diff(np.append(heads, place.size))
        d["sum"][at] += np.add.reduceat(values, heads)
        d["square"][at] += np.add.reduceat(values * values, heads)
        if charge is not None:
            d["charge"][at] += np.add.reduceat(charge, heads)
        d["low"][at] = np.minimum(d["low"][at], np.minimum.reduceat(values, heads))
        d["high"][at] = np.maximum(d["high"][at], np.maximum.reduceat(values, heads))
        self.used = max(self.used, int(at[-1]) + 1)

    def _join(self) -> None:
        half = MOST // 2
        for name, column in self.data.items():
            pairs = column.reshape(half, 2)
            joined = pairs.min(1) if name == "low" else pairs.max(1) if name == "high" else pairs.sum(1)
            column[:half] = joined
            column[half:] = np.inf if name == "low" else -np.inf if name == "high" else 0.0
        self.width_s *= 2
        self.used = (self.used + 1) // 2

    @property
    def filled(self) -> NDArray[np.int64]:
        """The numbers of bins with samples in them."""
        return np.flatnonzero(self.data["count"][: self.used] > 0) if self.data else np.empty(0, np.int64)

    def times_s(self) -> Floats:
        """Where the filled bins begin."""
        found: Floats = (self.origin_s or 0.0) + self.filled.astype(float) * self.width_s
        return found

    def middle(self, start_s: float | None = None, end_s: float | None = None) -> tuple[float, float, int] | None:
        """(median, standard deviation, samples) within a span; None where there are none.

        The median is that of the bins' means, each as heavy as it has samples: exact where a bin holds one sample.
        """
        at = self.filled
        times = self.times_s()
        inside = np.ones(at.size, bool)
        if start_s is not None:
            inside &= times + self.width_s > start_s
        if end_s is not None:
            inside &= times <= end_s
        at = at[inside]
        if at.size == 0:
            return None
        count, total, square = (self.data[n][at] for n in ("count", "sum", "square"))
        means = total / count
        order = np.argsort(means)
        heavy = np.cumsum(count[order])
        median = float(means[order][np.searchsorted(heavy, heavy[-1] / 2)])
        n = float(count.sum())
        mean = float(total.sum()) / n
        variance = max(float(square.sum()) / n - mean * mean, 0.0)
        return median, variance**0.5, int(n)


def drawn(bins: Bins, most: int = 200) -> list[tuple[float, float]]:
    """(seconds from the origin, value) of at most ``most`` points that keep every high and low."""
    at = bins.filled
    if at.size == 0:
        return []
    low, high = bins.data["low"][at], bins.data["high"][at]
    if at.size <= most and np.all(low == high):
        return [(float(k * bins.width_s), float(v)) for k, v in zip(at, low, strict=True)]
    groups = np.array_split(np.arange(at.size), min(most // 2, at.size))
    points: list[tuple[float, float]] = []
    for group in groups:
        begin = float(at[group[0]] * bins.width_s)
        down, up = float(low[group].min()), float(high[group].max())
        first = float(bins.data["sum"][at[group[0]]] / bins.data["count"][at[group[0]]])
        pair = [down, up] if first - down <= up - first else [up, down]
        points.append((begin, pair[0]))
        if down != up:
            points.append((begin + max(float(at[group[-1]] - at[group[0]]), 0.5) * bins.width_s, pair[1]))
    return points
