"""The charge of a file against scipy.integrate.trapezoid on the same samples, whatever their times."""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import pytest
from scipy.integrate import trapezoid

from bathkeeper.traces.asking import Answers
from bathkeeper.traces.reading import read_trace
from bathkeeper.traces.zones import zone_named
from tests.traces.making import START

UTC = Answers(zone=zone_named("UTC"))


def written(seconds: np.ndarray, amps: np.ndarray, delimiter: str, decimal: str) -> bytes:
    """A plain log of these samples."""
    rows = [f"Time{delimiter}Current (A)"]
    for t, i in zip(seconds, amps, strict=True):
        moment = (START + timedelta(seconds=float(t))).isoformat(sep=" ", timespec="milliseconds")
        rows.append(f"{moment}{delimiter}{i:.4f}".replace(".", decimal) if decimal == "," else f"{moment}{delimiter}{i:.4f}")
    return ("\n".join(rows) + "\n").encode()


@pytest.mark.parametrize("seed", range(12))
def test_irregular_steps_are_integrated_on_their_own_times(seed: int):
    """A fixed step instead would be percents off: the steps go from 0.5 to 40 s."""
    rng = np.random.default_rng(seed)
    n = int(rng.integers(200, 3000))
    seconds = np.round(np.cumsum(rng.uniform(0.5, 40.0, n)), 3)
    amps = np.round(6.0 + 1.5 * np.sin(seconds / 300.0) + rng.normal(0.0, 0.05, n), 4)
    data = written(seconds, amps, ";", "." if seed % 2 else ",")
    cut = int(rng.integers(1, len(data)))
    got = read_trace(lambda: iter([data[:cut], data[cut:]]), UTC)
    assert not got.questions, [q.text for q in got.questions]
    assert got.charge_ah == pytest.approx(float(trapezoid(amps, seconds)) / 3600, rel=1e-9)
    assert got.gap_count == 0
    fixed = float(trapezoid(amps, dx=float(np.median(np.diff(seconds))))) / 3600
    assert abs(fixed / got.charge_ah - 1) > 1e-4


def test_gaps_are_left_out_and_told():
    rng = np.random.default_rng(5)
    seconds = np.cumsum(np.where(np.arange(400) == 200, 1800.0, 10.0))
    amps = np.round(6.5 + rng.normal(0.0, 0.02, 400), 3)
    data = written(seconds, amps, ",", ".")
    got = read_trace(lambda: iter([data]), UTC)
    outside = float(trapezoid(amps[:200], seconds[:200]) + trapezoid(amps[200:], seconds[200:])) / 3600
    assert got.charge_ah == pytest.approx(outside, rel=1e-9)
    assert got.gap_minutes == pytest.approx(30.0, rel=1e-6)
    assert got.gap_charge_ah == pytest.approx((amps[199] + amps[200]) / 2 * 0.5, rel=1e-6)
    assert got.questions[0].about == "gap" and "30 min" in got.questions[0].text  # 45 % of the charge: asked, not passed over
