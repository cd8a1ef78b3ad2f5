"""The stated interval is true and the estimate beats both rivals, on simulated half-years with hidden parameters."""

from __future__ import annotations

import numpy as np
import pytest

from tests.truth.compare import HalfYear, half_years, ratios, share_errors


@pytest.fixture(scope="module")
def results() -> list[HalfYear]:
    return half_years(range(40))


def test_error_before_each_analysis_against_both_rivals(results):
    held, book, _ = ratios(row for half in results for row in half.rows)
    assert held <= 0.65
    assert book <= 0.65


def test_the_interval_covers(results):
    _, _, inside = ratios(row for half in results for row in half.rows)
    assert 0.91 <= inside <= 0.98


def test_nickel_share_is_learned(results):
    assert np.median(share_errors(results)) <= 0.15
    assert np.median([half.told["anode_share_nickel"] for half in results]) < 0.8


def test_what_these_readings_cannot_tell_stays_assumed(results):
    for name in ("deposit_nickel", "ratio_exponent", "per_degree", "density_exponent", "drag_out"):
        assert np.median([half.told[name] for half in results]) > 0.8, name
