"""Following the plan beats dosing by the book: a few half-years of `tests.truth.rivals`, whose command lives many."""

from __future__ import annotations

from tests.truth.rivals import POLICIES, live, summed


def test_the_plan_keeps_the_windows_best_with_no_more_salt_or_waste() -> None:
    by = {p: summed([live(seed, p) for seed in (2, 3, 5)]) for p in POLICIES}
    ours, rivals = by["plan"], [by["amp-hours"], by["analysis"]]
    assert ours.in_window > 0.9
    for rival in rivals:
        assert ours.in_window >= rival.in_window
        assert ours.salts_per_day <= rival.salts_per_day
        assert ours.waste_per_day <= rival.waste_per_day + 1e-9
    assert min(r.in_window for r in rivals) < ours.in_window, "these seeds must be able to tell them apart"
