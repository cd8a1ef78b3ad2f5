"""What the program advises at the turning points of the three stories."""

from __future__ import annotations

import pytest

from bathkeeper.advice.dosing import ShelfItem, dose
from bathkeeper.advice.replacing import replacing
from bathkeeper.catalogue.loader import load
from bathkeeper.estimate.usage import usage_of
from tests.stories.telling import Telling
from tests.stories.test_holiday import back
from tests.stories.test_holiday import told as holiday
from tests.stories.test_pickle import told as pickle

SHELF = [
    ShelfItem(load().reagent(n)) for n in ("zinc chloride", "nickel chloride hexahydrate", "potassium chloride", "boric acid")
]


def test_after_the_holiday_water_comes_first_and_zinc_is_34_then() -> None:
    """Level 38.3 L of 40, zinc read 35.6 g/L: water 1.7 L first, and zinc is 34.1 in the full tank; no zinc salt."""
    tale = back(holiday())
    plan = dose(tale.state("electrolyte"), load(), SHELF, at=tale.moment)
    assert plan.feasible
    first = plan.steps[0].step
    assert (first.action, first.reagent) == ("add", "water")
    assert plan.amounts["water"].amount == pytest.approx(1.7, abs=0.3)
    assert plan.after["zinc"].before.value == pytest.approx(35.6, abs=0.4)
    assert plan.after["zinc"].after.value == pytest.approx(34.1, abs=0.4)
    assert "zinc chloride" not in plan.amounts


def verdict(tale: Telling) -> str:
    usage = usage_of(tale.entries, "pickle", tale.moment, load())
    found = replacing(tale.state("pickle"), load(), tale.entries, usage, tale.moment)
    assert found is not None
    return found.verdict


def test_the_pickle_is_kept_until_half_its_acid_is_gone() -> None:
    """Run 60 of the story: half of the acid; the iron limit would come only at run 102."""
    assert verdict(pickle(40)) == "keep"
    assert verdict(pickle(55)) == "keep"
    assert verdict(pickle(63)) == "refresh"
