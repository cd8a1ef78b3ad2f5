"""Ten loads weighed together teach as much as theory allows; one load on a 1 g scale does not, and says so."""

from __future__ import annotations

import pytest

from tests.truth.weighings import bound, row


def test_ten_loads_together_calibrate_as_well_as_theory_allows():
    r = row(10, range(250))
    assert r.error / r.best == pytest.approx(1.0, abs=0.10)
    assert r.error / r.bound == pytest.approx(1.0, abs=0.10)
    assert r.stated / r.bound == pytest.approx(1.0, abs=0.10)
    assert 0.92 <= r.inside <= 0.98
    assert r.told < 0.8, "no longer shown as assumed"
    assert r.said == 0.0


def test_one_load_on_a_gram_scale_proves_little_and_says_so():
    r = row(1, range(60))
    assert bound(1) > 0.9
    assert r.told > 0.9
    assert r.said == 1.0


def test_more_loads_never_teach_less_and_the_ammeter_sets_the_floor():
    bounds = [bound(n) for n in (1, 2, 5, 10, 50, 500)]
    assert bounds == sorted(bounds, reverse=True)
    assert bounds[-1] > 0.6, "a supply that may be 4 % off hides the rest, however many loads are weighed"
