"""What samples come to, taken in as they pass: charge on their own times, gaps, clocks that go back, lone spikes.

Between two samples the current is a straight line, or holds at the earlier one where the keeper says so.

Nothing is kept but sums, the last three samples and a few thousand bins, so that memory does not grow with the file.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from bathkeeper.traces.asking import Between
from bathkeeper.traces.bins import Bins
from bathkeeper.traces.counters import Counter

Floats = NDArray[np.float64]
SPIKE = 0.5  # of the neighbours' size: a lone sample further off is a spike [practice]
ALIKE = 0.2  # neighbours of a spike differ by no more than this part of their size
TOWERS = 2.0  # or it stands this many times their size off the nearer one, however they differ, as on a ramp [practice]
MOST_LISTED = 20
HELD = 3


@dataclass(frozen=True)
class Gap:
    """Samples further apart than the bound: from when (s), how long (s), what a straight line between them would add (Ah)."""

    at_s: float
    seconds: float
    bridged_ah: float


@dataclass
class Way:
    """One way to count: every step forward, or only the times that were not there before. ``held_ah``: what it comes to with
    every value held until the next, whichever of the two is taken."""

    net_ah: float = 0.0
    held_ah: float = 0.0
    straight_ah: float = 0.0
    forward_ah: float = 0.0
    reverse_ah: float = 0.0
    logged_s: float = 0.0
    gap_s: float = 0.0
    bridged_ah: float = 0.0
    gap_count: int = 0
    gaps: list[Gap] = field(default_factory=list)

    def add(self, times: Floats, amps: Floats, bound_s: float, between: Between = "straight", turn: float = 1.0) -> Floats:
        """Steps between neighbours; the charge of each (0 over gaps and where the clock goes back), Ah. ``turn`` below 0: the
        later sample of a step comes first."""
        step = np.diff(times)
        held = (amps[:-1] if turn > 0 else amps[1:]) * step / 3600.0
        straight = (amps[1:] + amps[:-1]) / 2 * step / 3600.0
        charge = held if between == "hold" else straight
        gap = step > bound_s
        counts = (step > 0) & ~gap
        self.held_ah += float(held[counts].sum())
        self.straight_ah += float(straight[counts].sum())
        if gap.any():
            where = np.flatnonzero(gap)
            self.gap_count += where.size
            self.gap_s += float(step[where].sum())
            self.bridged_ah += float(charge[where].sum())
            for k in where[: MOST_LISTED - len(self.gaps)]:
                self.gaps.append(Gap(float(times[k]), float(step[k]), float(charge[k])))
        charge = np.where(counts, charge, 0.0)
        self.net_ah += float(charge.sum())
        self.forward_ah += float(charge[charge > 0].sum())
        self.reverse_ah -= float(charge[charge < 0].sum())
        self.logged_s += float(step[counts].sum())
        return charge


@dataclass
class Sums:
    """Takes batches of samples in order of the file (or, of a file with the newest row first, in that order)."""

    bound_s: float
    width_s: float
    turn: float = 1.0
    between: Between = "straight"
    of_intervals: bool = False
    counted: Way = field(default_factory=Way)
    repeated: Way = field(default_factory=Way)
    samples: int = 0
    first_s: float | None = None
    last_s: float | None = None
    earliest_s: float = np.inf
    latest_s: float = -np.inf
    backs: list[tuple[float, float]] = field(default_factory=list)
    back_count: int = 0
    out_of_line: int = 0
    same_stamp: int = 0
    spike_count: int = 0
    spike_ah: float = 0.0
    spike_size_ah: float = 0.0  # the same without signs
    spikes: list[tuple[float, float, float]] = field(default_factory=list)
    highest_a: float = -np.inf
    lowest_a: float = np.inf
    lowest_on_a: float = np.inf
    at_highest: int = 0
    zeros: int = 0
    series: dict[str, Bins] = field(default_factory=dict)
    counter: Counter | None = None
    power_ws: float = 0.0
    product_ws: float = 0.0
    on_without_voltage: int = 0
    on_with_voltage: int = 0
    by_state: dict[str, float] = field(default_factory=dict)
    _held: dict[str, Floats] = field(default_factory=dict)
    _newest: float = -np.inf
    _last_kept: tuple[float, float] | None = None

    def take(self, times: Floats, values: dict[str, Floats], states: tuple[list[str], NDArray[np.int64]] | None = None) -> None:
        """The next samples."""
        if times.size == 0:
            return
        for name in ("temperature", "ph", "conductivity", "voltage"):
            if name in values:
                told = np.isfinite(values[name])
                self._bins(name).add(self.turn * times[told], values[name][told])
        if "counter" in values:
            if self.counter is None:
                self.counter = Counter(self.width_s, self.turn, interval=self.of_intervals)
            self.counter.take(times, values["counter"])
        if self.first_s is None:
            self.first_s = float(times[0])
        self.last_s = float(times[-1])
        self.earliest_s, self.latest_s = min(self.earliest_s, float(times.min())), max(self.latest_s, float(times.max()))
        if "current" not in values:
            self.samples += times.size
            return
        told = np.isfinite(values["current"])
        amps = values["current"][told]
        self._beside(values, told)
        if states is not None:
            self._by_state(times[told], amps, (states[0], states[1][told]))
        self.samples += amps.size
        if amps.size:
            self._extremes(amps)
        self._flow(self.turn * times[told], amps, final=False)

    def finish(self) -> None:
        """Counts what was held back for its neighbours."""
        self._flow(np.empty(0), np.empty(0), final=True)
        self._held = {}

    def _bins(self, name: str) -> Bins:
        return self.series.setdefault(name, Bins(self.width_s))

    # -- the current ---------------------------------------------------------------------------------------------------

    def _flow(self, times: Floats, amps: Floats, *, final: bool) -> None:
        held = self._held
        t = np.concatenate((held.get("t", np.empty(0)), times))
        i = np.concatenate((held.get("i", np.empty(0)), amps))
        begun = bool(held.get("begun", np.zeros(1))[0])
        if t.size:
            t, i = self._in_line(t, i, 1 if begun else 0, final)
        end = t.size if final else max(0, t.size - (HELD - 1))
        if end < 2 and not (final and end):
            self._held = {"t": t, "i": i, "begun": np.array([float(begun)])}
            return
        done_t, done_i = t[:end], i[:end]
        charge = self.counted.add(done_t, done_i, self.bound_s, self.between, self.turn)
        step = np.diff(done_t)
        back = np.flatnonzero(step < 0)
        self.back_count += back.size
        for k in back[: MOST_LISTED - len(self.backs)]:
            self.backs.append((float(done_t[k]), float(step[k])))
        self.same_stamp += int((step == 0).sum())
        fresh = slice(1 if begun else 0, None)
        self._again(done_t[fresh], done_i[fresh])
        self._spiky(t, i, end)
        laid = charge if begun else np.append(0.0, charge)  # a step's charge is laid on the sample that ends it
        self._bins("current").add(done_t[fresh], done_i[fresh], laid)
        keep = slice(max(0, end - 1), None)
        self._held = {"t": t[keep], "i": i[keep], "begun": np.ones(1)}

    def _in_line(self, t: Floats, i: Floats, fixed: int, final: bool) -> tuple[Floats, Floats]:
        """Without single samples whose stamp is out of line while their neighbours' are in order."""
        drop: list[int] = []
        for k in np.flatnonzero(np.diff(t) < 0):
            if k in drop or k + 1 in drop:
                continue
            if k + 2 >= t.size and not final:
                continue  # its neighbours are still to come
            before = t[k - 1] if k >= 1 else -np.inf
            after = t[k + 2] if k + 2 < t.size else np.inf
            if k >= fixed and after > t[k + 1] >= before and t[k] > after:
                drop.append(int(k))  # one stamp too late
            elif after >= t[k]:
                drop.append(int(k) + 1)  # one stamp too early, or two rows that changed places
        if not drop:
            return t, i
        self.out_of_line += len(drop)
        keep = np.ones(t.size, bool)
        keep[drop] = False
        return t[keep], i[keep]

    def _again(self, t: Floats, i: Floats) -> None:
        """The other way to count: rows whose times were there before are passed over."""
        if t.size == 0:
            return
        before = np.maximum.accumulate(np.concatenate(([self._newest], t)))[:-1]
        new = t >= before
        kept_t, kept_i = t[new], i[new]
        if self._last_kept is not None:
            kept_t, kept_i = np.concatenate(([self._last_kept[0]], kept_t)), np.concatenate(([self._last_kept[1]], kept_i))
        if kept_t.size > 1:
            self.repeated.add(kept_t, kept_i, self.bound_s, self.between, self.turn)
        if kept_t.size:
            self._last_kept = (float(kept_t[-1]), float(kept_i[-1]))
        self._newest = max(self._newest, float(t.max()))

    def _spiky(self, t: Floats, i: Floats, end: int) -> None:
        """Lone samples far off both neighbours, where these are alike or it towers; judged once, when both are known."""
        last = min(end, t.size - 1)
        if last < 2:
            return
        left, mid, right = i[: last - 1], i[1:last], i[2 : last + 1]
        width = t[2 : last + 1] - t[: last - 1]
        size = np.maximum(np.abs(left), np.abs(right))
        even = (left + right) / 2
        off = mid - even
        among_alike = (np.abs(off) > SPIKE * size) & (np.abs(left - right) <= ALIKE * size)
        towers = np.maximum(mid - np.maximum(left, right), np.minimum(left, right) - mid) > TOWERS * size
        spike = (among_alike | towers) & (np.abs(off) > 1e-9) & (width > 0) & (width <= 2 * self.bound_s)
        at = np.flatnonzero(spike)
        weight = width / 2
        if self.between == "hold":  # without it the sample before holds on; a file from newest to oldest has that one behind it
            off = mid - (left if self.turn > 0 else right)
            weight = t[2 : last + 1] - t[1:last] if self.turn > 0 else t[1:last] - t[: last - 1]
        charge = off[at] * weight[at] / 3600
        self.spike_count += at.size
        self.spike_ah += float(charge.sum())
        self.spike_size_ah += float(np.abs(charge).sum())
        for k in at[: MOST_LISTED - len(self.spikes)]:
            self.spikes.append((float(t[k + 1]), float(mid[k]), float(even[k])))

    def _extremes(self, amps: Floats) -> None:
        high = float(amps.max())
        if high > self.highest_a:
            self.highest_a, self.at_highest = high, 0
        if high == self.highest_a:
            self.at_highest += int((amps == high).sum())
        self.lowest_a = min(self.lowest_a, float(amps.min()))
        on = np.abs(amps[amps != 0])
        self.zeros += amps.size - on.size
        if on.size:
            self.lowest_on_a = min(self.lowest_on_a, float(on.min()))

    # -- what else the file says ---------------------------------------------------------------------------------------

    def _beside(self, values: dict[str, Floats], told: NDArray[np.bool_]) -> None:
        """Current held against voltage and power of the same rows."""
        if "voltage" not in values:
            return
        amps, volts = values["current"][told], values["voltage"][told]
        both = np.isfinite(volts) & (amps != 0)
        self.on_with_voltage += int(both.sum())
        self.on_without_voltage += int((np.abs(volts[both]) < 0.02).sum())
        if "power" in values:
            watts = values["power"][told]
            each = both & np.isfinite(watts)
            self.power_ws += float(np.abs(watts[each]).sum())
            self.product_ws += float(np.abs(volts[each] * amps[each]).sum())

    def _by_state(self, times: Floats, amps: Floats, states: tuple[list[str], NDArray[np.int64]]) -> None:
        words, number = states
        if times.size < 2:
            return
        step = np.clip(np.diff(times) * self.turn, 0.0, self.bound_s)
        size = np.abs(amps[:-1]) * step / 3600
        for k in np.unique(number[:-1]):
            word = words[k].strip()
            if len(self.by_state) < 50 or word in self.by_state:
                self.by_state[word] = self.by_state.get(word, 0.0) + float(size[number[:-1] == k].sum())
