"""Keep, refresh or replace: the story of a dry-acid pickle, and every side tank of the catalogue."""

from __future__ import annotations

import pytest

from bathkeeper.advice.replacing import ROLES, Replacing, replacing
from bathkeeper.catalogue.loader import load
from bathkeeper.estimate.usage import usage_of
from tests.stories.telling import Telling
from tests.stories.test_pickle import told


def of(tale: Telling, tank: str) -> Replacing | None:
    catalogue = tale.world().catalogue
    usage = usage_of(tale.entries, tank, tale.moment, catalogue)
    return replacing(tale.state(tank), catalogue, tale.entries, usage, tale.moment)


def test_at_run_60_half_the_acid_is_gone_and_the_iron_is_not_there_yet() -> None:
    """The story's hand-worked figures: 50 % of the acid at run 60; 15 g/L iron would come only at run 102."""
    at_40, at_60 = of(told(40), "pickle"), of(told(60), "pickle")
    assert at_40 is not None and at_60 is not None
    assert at_40.verdict == "keep"
    assert at_60.deciding is not None and at_60.deciding.name == "free acid"
    assert at_60.deciding.left == pytest.approx(0.0, abs=0.06)
    iron = next(s for s in at_60.signs if s.name == "iron")
    assert iron.limit == 15
    assert 60 * 15 / iron.value.value == pytest.approx(102, abs=8)
    later = of(told(64), "pickle")
    assert later is not None and later.verdict == "refresh"
    assert "refresh, or replace" in later.why


def test_refreshing_brings_the_acid_back_and_says_what_stays() -> None:
    """20 L from about 47 to 100 g/L dry acid: some 1.06 kg, by the mass that is missing."""
    found = of(told(64), "pickle")
    assert found is not None and found.refresh is not None
    acid = next(s for s in found.signs if s.name == "free acid")
    assert found.refresh.reagent == "sodium bisulfate"
    assert found.refresh.unit == "g"
    assert found.refresh.amount == pytest.approx((100 - acid.value.value) * 20, rel=0.02)
    assert 0.2 < found.refresh.stays["iron"] < 0.5


def test_batches_left_are_told_with_their_spread() -> None:
    """From run 52 to the half-acid rule at run 60 without the rejects: hand-worked 10 more loads at the old pace."""
    found = of(told(52), "pickle")
    assert found is not None and found.batches_left is not None
    assert found.batches_left.low < 10 < found.batches_left.high
    assert found.by is not None and found.between is not None
    assert found.between[0] < found.by < found.between[1]


def test_the_keepers_rule_decides_where_there_is_one() -> None:
    tale = told(40)
    tale.log("definition", of="replacement rule", name="by iron", body={"tank": "pickle", "sign": "iron", "limit": 5.0})
    found = of(tale, "pickle")
    assert found is not None and found.deciding is not None
    assert (found.deciding.name, found.deciding.limit) == ("iron", 5.0)
    assert "keeper's rule" in found.rule
    assert found.verdict == "replace"


def test_longer_stays_are_a_sign_of_their_own() -> None:
    tale = Telling()
    tale.tank("pickle", "pickle", 1, "bisulfate-pickle", 20.0)
    tale.log("make_up", tank="pickle", volume_l=20.0, contents={"free acid": 100.0})
    for number in range(12):
        tale.day(number)
        part = {"description": "hinges", "area_dm2": 4.0}
        tale.log("run", parts=[part], steps=[{"tank": "pickle", "minutes": 5.0 + 0.6 * number}])
    found = of(tale, "pickle")
    assert found is not None
    dwell = next(s for s in found.signs if s.name == "dwell")
    assert dwell.value.value == pytest.approx(5.0 + 0.6 * 11, abs=0.01)
    assert dwell.left < 0


@pytest.mark.parametrize("name", [n for n, r in load().recipes.items() if r.role in ROLES])
def test_every_side_tank_has_signs_and_a_verdict(name: str) -> None:
    recipe = load().recipes[name]
    tale = Telling()
    tale.tank("bath", recipe.role, 1, name, 20.0)
    tale.log("make_up", tank="bath", volume_l=20.0)
    for number in range(10):
        tale.day(number)
        tale.log("run", parts=[{"description": "hinges", "area_dm2": 4.0}], steps=[{"tank": "bath", "minutes": 5.0}])
    found = of(tale, "bath")
    assert found is not None
    assert found.verdict in ("keep", "refresh", "replace")
    assert found.signs
    assert all(s.status for s in found.signs)
    assert found.because.sources


def test_a_plating_bath_is_mended_not_replaced() -> None:
    tale = Telling()
    tale.tank("electrolyte", "plate", 1, "zinc-nickel-chloride-potassium", 40.0)
    tale.log("make_up", tank="electrolyte", volume_l=40.0)
    assert of(tale, "electrolyte") is None
