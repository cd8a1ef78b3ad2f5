"""A small version of the calibration: ``python -m tests.truth.forecast 300`` is the real one."""

from __future__ import annotations

from tests.truth.forecast import outcomes, shares

RECIPES = ("zinc-nickel-chloride-potassium", "alkaline-zinc-nickel-zinc-anodes", "alkaline-zinc-nickel-generator")


def test_truth_lies_in_the_band_about_as_often_as_it_says() -> None:
    rows = [o for recipe in RECIPES for seed in range(3000, 3006) for o in outcomes(recipe, seed)]
    assert len(rows) >= 25
    for early, inside, late in shares(rows).values():
        assert inside >= 0.55  # 0.8, and three standard deviations of so few; the command has the upper bound
        assert early <= 0.3 and late <= 0.3
    # and the bands say something: half of them are narrower than one and a half times their middle
    widths = sorted((r.charge_ah[2] - r.charge_ah[0]) / r.charge_ah[1] for r in rows)
    assert widths[len(widths) // 2] < 1.5
