"""Anode advice on the story of a common bus: what the split costs, what would hold, how long the anodes last.

Figures worked out by hand from printed electrochemical equivalents (zinc 1.2197, nickel 1.0950 g/Ah) and IUPAC masses.
"""

from __future__ import annotations

import pytest

from bathkeeper.advice.anodes import AnodeAdvice, anode_advice, sentences
from bathkeeper.catalogue.loader import load
from bathkeeper.estimate.usage import usage_of
from tests.stories.telling import Telling
from tests.stories.test_common_bus import opened, week
from tests.stories.test_holiday import back, told

NICKEL_IN_SALT = 58.693 / 237.69  # NiCl2.6H2O


def advice_of(tale: Telling) -> AnodeAdvice:
    usage = usage_of(tale.entries, "electrolyte", tale.moment, load())
    advice = anode_advice(tale.state("electrolyte"), load(), usage, tale.moment)
    assert advice is not None
    return advice


@pytest.fixture(scope="module")
def week_8() -> AnodeAdvice:
    tale, bath = opened()
    for number in range(8):
        week(tale, bath, number, 0.03)
    tale.log("anode", tank="electrolyte", anode="nickel-1", action="weighed", mass_g=round(bath.nickel_anode), brushed=True)
    return advice_of(tale)


def test_the_salt_that_the_present_split_costs(week_8: AnodeAdvice) -> None:
    """By hand, 100 Ah at the start of the story: deposit 93 % x 100/(0.13/1.0950 + 0.87/1.2197) = 111.8 g, 14.5 g of it nickel;
    drag-out 100 x 0.86 x 1.5 mL = 129 mL at 23 g/L, 3.0 g; the anode gives 3.3 g. Missing 14.2 g, in salt 57 g."""
    nickel = next(s for s in week_8.splits if s.metal == "nickel")
    assert nickel.share.value == pytest.approx(0.030, abs=0.003)
    assert nickel.salt == "nickel chloride hexahydrate"
    assert nickel.salt_g == pytest.approx(57, abs=2)
    assert any("g nickel chloride hexahydrate per 100 Ah" in line for line in sentences(week_8))


def test_the_current_that_holds_nickel_and_that_both_cannot_hold_without_salts(week_8: AnodeAdvice) -> None:
    """15.9 % of 6.67 A is 1.06 A (engine figures: with 1.29 mL/Ah at 22.6 g/L)."""
    nickel = next(s for s in week_8.splits if s.metal == "nickel")
    assert nickel.current_a == pytest.approx(6.667, abs=0.01)
    assert nickel.amperes == pytest.approx(1.06, abs=0.03)
    assert week_8.sum_of_holding == pytest.approx(sum(s.holding.value for s in week_8.splits))
    assert "sum to" in week_8.verdict


def test_how_long_the_nickel_lasts(week_8: AnodeAdvice) -> None:
    life = next(a for a in week_8.lives if a.anode == "nickel-1")
    assert life.per_100_ah_g == pytest.approx(100 * 0.03 * 1.0950, rel=0.12)
    assert life.to_end_ah == pytest.approx(life.left.value / life.per_100_ah_g * 100)
    assert life.end_by is None or life.end_by > life.half_by  # at 30 Ah a week it outlasts every plan


def test_zinc_left_hanging_for_a_month() -> None:
    """28 days of 5 dm2: 44 g at 0.31 g/(dm2 day), at most 1.35 mol acid (111 mL of 37 % hydrochloric acid); nickel unseen."""
    idle = advice_of(back(told())).idle
    assert idle is not None
    month = 4.0
    assert month * idle.loss_g.value == pytest.approx(44, abs=4)
    assert idle.acid == "hydrochloric acid 37%"
    assert idle.acid_most_ml is not None
    assert month * idle.acid_most_ml == pytest.approx(111, rel=0.1)
    assert 2 < month * idle.cemented_g < 20
    assert advice_of(back(told(lift=True))).idle is None


def test_usage_is_told_by_the_last_weeks_or_by_the_keepers_plan() -> None:
    tale, bath = opened()
    for number in range(3):
        week(tale, bath, number, 0.03)
    usage = usage_of(tale.entries, "electrolyte", tale.moment, load())
    assert usage.source == "last weeks"
    assert usage.runs_per_week == pytest.approx(6.0, abs=0.6)
    assert usage.charge_ah == pytest.approx(5.0)
    assert usage.area_dm2_per_ah == pytest.approx(4.3 / 5.0)
    tale.log("definition", of="use plan", name="electrolyte", body={"runs_per_week": 2.0, "charge_ah_per_run": 8.0})
    planned = usage_of(tale.entries, "electrolyte", tale.moment, tale.world().catalogue)
    assert (planned.source, planned.runs_per_week, planned.charge_ah) == ("plan", 2.0, 8.0)
    assert planned.area_dm2 == pytest.approx(4.3)
    assert usage_of([], "electrolyte", tale.moment, load()).source == "nothing"
