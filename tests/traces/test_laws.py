"""Laws of the sums: whatever the steps, whatever the blocks, the charge is that of scipy's trapezoid on the same samples."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import trapezoid

from bathkeeper.traces.asking import Answers
from bathkeeper.traces.bins import MOST, Bins, drawn
from bathkeeper.traces.fast import numbers
from bathkeeper.traces.reading import read_trace
from bathkeeper.traces.sums import Sums
from bathkeeper.traces.zones import WallClock, zone_named

SETTINGS = settings(derandomize=True, deadline=None, max_examples=60)
STEPS = st.lists(st.sampled_from([0.0, 0.1, 1.0, 7.5, 59.0, 60.0]), min_size=2, max_size=80)


def cut(values: np.ndarray, places: list[int]) -> list[np.ndarray]:
    return np.split(values, sorted({p % (values.size + 1) for p in places}))


@SETTINGS
@given(STEPS, st.lists(st.integers(-3000, 9000), min_size=80, max_size=80), st.lists(st.integers(0, 200), max_size=6))
def test_charge_is_the_trapezoid_however_the_samples_come(steps: list[float], milli: list[int], places: list[int]) -> None:
    times = np.cumsum([0.0, *steps]) + 1.7e9
    amps = np.array(milli[:1] + milli[: len(steps)], float)[: times.size] / 1000
    sums = Sums(60.0, 1.0)
    for t, i in zip(cut(times, places), cut(amps, places), strict=True):
        sums.take(t, {"current": i})
    sums.finish()
    assert sums.counted.net_ah == pytest.approx(trapezoid(amps, times) / 3600, abs=1e-9)
    assert sums.counted.net_ah == pytest.approx(sums.repeated.net_ah, abs=1e-9)
    assert sums.counted.net_ah == pytest.approx(sums.counted.forward_ah - sums.counted.reverse_ah, abs=1e-9)
    assert float(sums.series["current"].data["charge"].sum()) == pytest.approx(sums.counted.net_ah, abs=1e-9)
    assert not sums.back_count and not sums.out_of_line and sums.counted.gap_s == 0


@SETTINGS
@given(st.lists(st.sampled_from([1.0, 30.0, 61.0, 500.0]), min_size=2, max_size=60), st.lists(st.integers(0, 200), max_size=5))
def test_gaps_are_left_out_and_what_they_would_add_is_told(steps: list[float], places: list[int]) -> None:
    times = np.cumsum([0.0, *steps])
    amps = 5 + np.sin(times)
    sums = Sums(60.0, 1.0)
    for t, i in zip(cut(times, places), cut(amps, places), strict=True):
        sums.take(t, {"current": i})
    sums.finish()
    whole = trapezoid(amps, times) / 3600
    assert sums.counted.net_ah + sums.counted.bridged_ah == pytest.approx(whole, rel=1e-9)
    assert sums.counted.gap_s == sum(s for s in steps if s > 60)
    assert sums.counted.gap_count == sum(s > 60 for s in steps)


@SETTINGS
@given(st.lists(st.tuples(st.integers(0, 10**9), st.integers(0, 9), st.sampled_from(["", "-", "+"])), min_size=1, max_size=60))
def test_numbers_read_many_at_once_are_those_read_one_by_one(parts: list[tuple[int, int, str]]) -> None:
    cells = [f"{sign}{whole:d}.{frac}" if frac else f"{sign}{whole}" for whole, frac, sign in parts]
    text = ";".join(cells).encode()
    buf = np.frombuffer(text, np.uint8)
    marks = np.flatnonzero(buf == ord(";"))
    starts, ends = np.concatenate(([0], marks + 1)), np.concatenate((marks, [buf.size]))
    values, known = numbers(buf, starts, ends, ord("."))
    assert known.all() and values.tolist() == [float(c) for c in cells]


def test_odd_cells_are_declined_not_guessed() -> None:
    odd = ["", "-", "1.2.3", "1,5", "6.48A", "1e", "1ee3", "0x10", "--1", "1-", "nan", "1234567890123456", "٣", " "]
    text = "\n".join(odd).encode()
    buf = np.frombuffer(text, np.uint8)
    marks = np.flatnonzero(buf == 10)
    starts, ends = np.concatenate(([0], marks + 1)), np.concatenate((marks, [buf.size]))
    assert not numbers(buf, starts, ends, ord("."))[1].any()


@SETTINGS
@given(st.integers(2, 20_000), st.floats(0.001, 50.0))
def test_points_keep_the_highs_and_lows(count: int, step: float) -> None:
    times = np.arange(count) * step
    values = np.sin(times / 7) * 3 + 4
    values[count // 2] = 99.0
    bins = Bins(step)
    for part in np.array_split(np.arange(count), 7):
        bins.add(times[part], values[part])
    points = drawn(bins)
    assert 1 <= len(points) <= 200 and bins.used <= MOST
    assert max(v for _, v in points) == 99.0 and min(v for _, v in points) == values.min()
    assert [t for t, _ in points] == sorted(t for t, _ in points)
    told = bins.middle()
    assert told is not None and told[2] == count and bins.data["count"].sum() == count


def test_median_is_exact_where_a_bin_holds_one_sample() -> None:
    values = np.array([24.1, 24.9, 24.3, 30.0, 24.2])
    bins = Bins(1.0)
    bins.add(np.arange(5.0), values)
    told = bins.middle()
    assert told is not None
    assert told[0] == 24.3 and told[1] == pytest.approx(values.std())


def test_an_hour_that_comes_twice_and_one_that_never_was() -> None:
    """Vienna: clocks back on 2026-10-25 at 03:00, forward on 2026-03-29 at 02:00 (EU Directive 2000/84/EC)."""
    zone = zone_named("Europe/Vienna")
    twice = 1792897200.0 + np.array([0, 1200, 2400, 0, 1200, 2400, 3600.0])  # 2026-10-25 03:00 wall, less what follows
    wall = WallClock(zone)
    utc = wall.utc(twice - 3600)
    assert np.diff(utc).tolist() == [1200.0] * 6 and not wall.never_were
    gone = WallClock(zone)
    gone.utc(np.array([1774749600.0 - 600, 1774749600.0 + 600]))  # 2026-03-29 02:00 wall and 10 min around it
    assert gone.never_were == 1


@pytest.mark.parametrize("rows", [30, 5_000])
def test_blocks_of_any_size_come_to_the_same(rows: int) -> None:
    lines = [f"2026-05-13 {8 + n // 3600:02d}:{n // 60 % 60:02d}:{n % 60:02d},{6 + n % 7 / 10:.1f}" for n in range(rows)]
    data = ("Time,Current (A)\n" + "\n".join(lines) + "\n").encode()
    whole = read_trace(lambda: iter([data]), Answers(zone=zone_named("UTC")))
    crumbs = read_trace(lambda: (data[k : k + 37] for k in range(0, len(data), 37)), Answers(zone=zone_named("UTC")))
    assert whole.charge_ah == crumbs.charge_ah and whole.points == crumbs.points
    expected = trapezoid([6 + n % 7 / 10 for n in range(rows)], dx=1.0) / 3600
    assert whole.charge_ah == pytest.approx(expected, rel=1e-12)
