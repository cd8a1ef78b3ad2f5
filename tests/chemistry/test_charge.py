"""Charge from what was written down or logged."""

from __future__ import annotations

import numpy as np
import pytest

from bathkeeper.chemistry import charge

from .printed import printed


def test_constant_and_stretches() -> None:
    assert charge.constant(10, 15.74) == printed("2.623")  # the 15.74 min zinc-nickel load, computed apart
    assert charge.stretches([(2.0, 30), (1.0, 60)]) == pytest.approx(2.0)


def test_ramp_as_people_tell_it() -> None:
    # "from 240 to 210 mA over 8 h"
    assert charge.ramp(0.240, 0.210, 8 * 60) == pytest.approx(1.8)


def test_counter_and_its_reset() -> None:
    assert charge.counter(102.5, 107.5) == charge.CounterCharge(5.0, False)
    assert charge.counter(102.5, 4.2) == charge.CounterCharge(4.2, True)
    assert charge.counter(3.0, 3.0) == charge.CounterCharge(0.0, False)


def test_trace_on_its_own_time_stamps() -> None:
    # 2 A for 30 min then down to 0 over 30 min = 1.5 Ah, sampled unevenly
    trace = charge.trapezoid([0, 100, 1800, 2000, 3600], [2, 2, 2, 2 * 1600 / 1800, 0], 3600)
    assert trace.charge_ah == pytest.approx(1.5)
    assert (trace.gap_s, trace.bridged_ah, trace.gaps) == (0, 0, ())


def test_a_fixed_step_would_be_wrong() -> None:
    rng = np.random.default_rng(7)
    steps = rng.choice([1.0, 1.0, 1.0, 3.0], size=2000)
    times = np.concatenate([[0], np.cumsum(steps)])
    currents = 5 + 2 * np.sin(times / 500)
    exact = (5 * times[-1] + 2 * 500 * (1 - np.cos(times[-1] / 500))) / 3600
    assert charge.trapezoid(times, currents, 10).charge_ah == pytest.approx(exact, rel=1e-5)


def test_gaps_are_told_not_bridged() -> None:
    trace = charge.trapezoid([0, 60, 120, 1920, 1980], [6, 6, 6, 4, 4], 120)
    assert trace.charge_ah == pytest.approx((6 * 120 + 4 * 60) / 3600)
    assert trace.gap_s == 1800
    assert trace.bridged_ah == pytest.approx(5 * 1800 / 3600)
    assert trace.gaps == ((120.0, 1920.0),)
    assert trace.logged_s == 180


def test_a_step_of_exactly_the_bound_is_no_gap() -> None:
    assert charge.trapezoid([0, 120, 241], [3, 3, 3], 120).gaps == ((120.0, 241.0),)


def test_repeated_stamps_add_nothing_and_reverse_pulses_count_back() -> None:
    assert charge.trapezoid([0, 0, 3600, 3600], [9, 1, 1, 9], 4000).charge_ah == pytest.approx(1)
    assert charge.trapezoid([0, 3600, 3600, 5400], [1, 1, -1, -1], 4000).charge_ah == pytest.approx(0.5)


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: charge.trapezoid([0, 2, 1], [1, 1, 1], 10), "clock of the trace runs back at sample 3"),
        (lambda: charge.trapezoid([0, 1], [1, float("nan")], 10), "sample 2 of the trace has no current"),
        (lambda: charge.trapezoid([float("inf"), 1], [1, 1], 10), "sample 1 of the trace has no time"),
        (lambda: charge.trapezoid([0], [1], 10), "two or more times"),
        (lambda: charge.trapezoid([0, 1, 2], [1, 1], 10), r"got shapes \(3,\) and \(2,\)"),
        (lambda: charge.trapezoid([0, 1], [1, 1], 0), "longest bridged gap"),
        (lambda: charge.counter(-1, 2), "counter at the start"),
        (lambda: charge.stretches([]), "at least one stretch"),
        (lambda: charge.constant(-2, 5), "current in A must be a number of 0 or more"),
        (lambda: charge.ramp(1, 1, -5), "minutes"),
    ],
)
def test_bad_values_are_refused(call: object, said: str) -> None:
    with pytest.raises(ValueError, match=said):
        call()  # type: ignore[operator]
