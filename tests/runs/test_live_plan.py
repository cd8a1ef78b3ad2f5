"""The plan of a run: which steps, from where their minutes and currents come, and what is said on the way."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest

from bathkeeper.entries import Part
from bathkeeper.runs.line_plan import DWELL_MINUTES
from bathkeeper.runs.live import LiveError, PlannedBranch
from bathkeeper.workshop import NotFound

from .live_bench import START, bench, workshop

BEFORE = START - timedelta(days=2)


@pytest.fixture
def place(tmp_path: Path) -> Path:
    return tmp_path / "shed.logbook.jsonl"


def log_run(shop, *steps, at=BEFORE, **fields):
    return shop.log({"kind": "run", "at": at, "steps": list(steps), **fields}).entry


def test_a_first_run_takes_the_whole_line_and_practice(place):
    plan = bench(place)[0].line_plan(area_dm2=3.2, current_a=6.5, minutes=45)
    assert [s.tank for s in plan.steps] == [
        "degreaser", "rust-removal", "rinse-1", "pickle", "rinse-2",
        "electrolyte", "rinse-3", "acid-dip", "passivate", "rinse-4",
    ]  # fmt: skip
    by_tank = {s.tank: s for s in plan.steps}
    assert (by_tank["electrolyte"].minutes, by_tank["electrolyte"].current_a) == (45, 6.5)
    assert (by_tank["pickle"].minutes, by_tank["pickle"].minutes_from) == (DWELL_MINUTES["pickle"], "practice")
    assert {s.tank for s in plan.steps if s.charged} == {"rust-removal", "electrolyte"}
    assert {s.tank for s in plan.steps if s.optional} == {"rust-removal", "acid-dip"}
    assert plan.parts == ({"description": "load", "area_dm2": 3.2},)


def test_rinse_reminders_and_the_recipes_cautions(place):
    by_tank = {s.tank: s for s in bench(place)[0].line_plan(area_dm2=3.2).steps}
    assert "drip off over electrolyte" in by_tank["rinse-3"].hint
    assert "no rinse stands between acid-dip and passivate" in by_tank["passivate"].hint
    assert "no rinse" not in by_tank["pickle"].hint
    recipe = workshop(place.with_name("other.logbook.jsonl")).recipe("electrolyte")
    assert by_tank["electrolyte"].cautions == tuple(c.text for c in recipe.cautions if c.when == "run") != ()


def test_minutes_come_from_the_last_run_through_the_tank(place):
    shop, _ = bench(place)
    first = ({"tank": "pickle", "minutes": 8.0}, {"tank": "rinse-2", "minutes": 2.0})
    log_run(shop.workshop, *first, at=BEFORE - timedelta(days=1))
    log_run(shop.workshop, {"tank": "pickle", "minutes": 12.0})
    by_tank = {s.tank: s for s in shop.line_plan(area_dm2=3.2).steps}
    assert (by_tank["pickle"].minutes, by_tank["pickle"].minutes_from) == (12.0, "run of 2026-04-29")
    assert (by_tank["rinse-2"].minutes, by_tank["rinse-1"].minutes) == (2.0, 1.0)


def test_like_the_last_run_with_another_area_keeps_the_density(place):
    shop, _ = bench(place)
    steps = [
        {"tank": "pickle", "minutes": 8.0},
        {"tank": "rinse-2", "minutes": 1.0},
        {"tank": "electrolyte", "minutes": 40.0, "charge": {"current_a": 6.4}, "supply": "bench-1"},
    ]
    parts = [{"description": "hinges", "count": 4, "area_dm2": 3.2, "coating_stripped_g": 2.0}]
    run = log_run(shop.workshop, *steps, parts=parts)
    again = shop.line_plan(like="last")
    assert again.like == run.id and again.parts == ({"description": "hinges", "count": 4, "area_dm2": 3.2},)
    assert [s.tank for s in again.steps] == ["pickle", "rinse-2", "electrolyte"]
    assert (again.steps[-1].current_a, again.steps[-1].supply, again.steps[-1].minutes) == (6.4, "bench-1", 40)
    other = shop.line_plan(like=run.id, area_dm2=1.6)
    assert other.steps[-1].current_a == 3.2 and "density" in other.steps[-1].current_from
    assert other.parts == ({"description": "hinges", "area_dm2": 1.6},)


def test_a_run_told_without_rinses_gets_its_rinses_back_as_optional(place):
    shop, _ = bench(place)
    log_run(shop.workshop, {"tank": "pickle", "minutes": 8.0}, {"tank": "electrolyte", "minutes": 40.0})
    plan = shop.line_plan(like="last")
    assert [(s.tank, s.optional) for s in plan.steps] == [
        ("pickle", False), ("rinse-2", True), ("electrolyte", False), ("rinse-3", True),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("charge", "amperes"),
    [
        ({"ramp": {"from_a": 0.24, "to_a": 0.21, "minutes": 480.0}}, 0.225),
        ({"stretches": [{"current_a": 6.0, "minutes": 10.0}, {"current_a": 3.0, "minutes": 20.0}]}, 4.0),
        ({"counter": {"start_ah": 12.4, "end_ah": 14.4}}, 4.0),
        ({"charge_ah": 2.0}, 4.0),
        ({"trace": {"file": "x", "sha256": "0", "charge_ah": 2.0}}, 4.0),
    ],
)
def test_a_charge_told_in_any_way_gives_a_current_to_do_again(place, charge, amperes):
    shop, _ = bench(place)
    log_run(shop.workshop, {"tank": "electrolyte", "minutes": 30.0, "charge": charge})
    assert shop.line_plan(like="last").steps[0].current_a == pytest.approx(amperes)


def test_branches_are_done_again_each_at_its_density(place):
    shop, _ = bench(place)
    branches = [
        {"supply": "zinc", "anodes": ["zinc-1"], "charge": {"current_a": 5.6}},
        {"supply": "nickel", "anodes": ["nickel-1"], "charge": {"current_a": 0.8}},
    ]
    step = {"tank": "electrolyte", "minutes": 45.0, "branches": branches}
    log_run(shop.workshop, step, parts=[{"description": "load", "area_dm2": 3.2}])
    plan = shop.line_plan(like="last", area_dm2=6.4)
    assert plan.steps[0].branches == (
        PlannedBranch(supply="zinc", anodes=("zinc-1",), current_a=11.2),
        PlannedBranch(supply="nickel", anodes=("nickel-1",), current_a=1.6),
    )


def test_rust_removal_is_a_line_of_two(place):
    plan = bench(place)[0].line_plan("rust removal", area_dm2=5.0, current_a=6.0, minutes=40)
    assert [(s.tank, s.charged, s.minutes) for s in plan.steps] == [("rust-removal", True, 40), ("rinse-1", False, 1.0)]
    assert "current off before the clips" in plan.steps[0].hint
    assert any("high-strength" in c or "hardened" in c for c in plan.steps[0].cautions)


def test_dummy_has_no_parts(place):
    plan = bench(place)[0].line_plan("dummy", current_a=0.4, minutes=480)
    (step,) = plan.steps
    assert (step.tank, step.dummy, step.current_a, plan.parts, plan.bake) == ("electrolyte", True, 0.4, (), None)


def test_high_strength_parts_bring_the_rules_bake(place):
    def planned(name, rule):
        shop, _ = bench(place.with_name(f"{name}.logbook.jsonl"), rule=rule)
        part = {"description": "bolts", "area_dm2": 3.2, "strength_mpa": 1300.0}
        log_run(shop.workshop, {"tank": "electrolyte", "minutes": 40.0}, {"tank": "passivate", "minutes": 1.0}, parts=[part])
        return shop.line_plan(like="last")

    plan = planned("named", "ASTM B850")
    assert (plan.bake.needed, plan.bake.rule[:9]) == ("yes", "ASTM B850") and plan.bake.hours > 0
    assert "bake first" in next(s for s in plan.steps if s.tank == "passivate").hint
    assert planned("nameless", None).bake.needed == "rule not named"


def test_soft_parts_bring_none(place):
    shop, _ = bench(place, rule="ASTM B850")
    part = {"description": "bolts", "area_dm2": 3.2, "property_class": "8.8"}
    log_run(shop.workshop, {"tank": "electrolyte", "minutes": 40.0}, parts=[part])
    assert shop.line_plan(like="last").bake is None
    assert Part(description="x").strength_mpa is None


@pytest.mark.parametrize(
    ("asked", "refusal"),
    [
        ({"kind": "polish"}, "rust removal"),
        ({"tank": "electrolite"}, "there are degreaser"),
        ({"minutes": -1.0}, "from 0 up"),
        ({"area_dm2": 0.0}, "above zero"),
        ({"area_dm2": 3.0, "parts": "plate 10x10x1 mm"}, "not both"),
    ],
)
def test_refusals_say_what_would_be_right(place, asked, refusal):
    with pytest.raises(LiveError, match=refusal):
        bench(place)[0].line_plan(**asked)


def test_nothing_to_be_like(place):
    shop, _ = bench(place)
    with pytest.raises(NotFound, match="no run in the book yet"):
        shop.line_plan(like="last")
    reading = shop.workshop.log({"kind": "remark", "at": BEFORE, "tank": "pickle", "text": "weak"}).entry
    with pytest.raises(NotFound, match="is a remark, not a run"):
        shop.line_plan(like=reading.id)
    log_run(shop.workshop, {"tank": "pickle", "minutes": 8.0})
    shop.workshop.log({"kind": "tank", "at": BEFORE, "tank": "pickle", "role": "pickle", "in_service": False})
    with pytest.raises(LiveError, match="no tank that is in service"):
        shop.line_plan(like="last")


def test_no_line_at_all(tmp_path):
    from bathkeeper.bench import Bench
    from bathkeeper.workshop import Workshop

    shop = Bench(Workshop.new(tmp_path / "empty.logbook.jsonl", "Shed", at=START))
    for kind in ("plate", "rust removal", "dummy"):
        with pytest.raises(LiveError, match="no tank"):
            shop.line_plan(kind)
