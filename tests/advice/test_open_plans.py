"""How far a plan is, read from small books: what did a step, what was really weighed, what ended a plan."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bathkeeper.advice.open_plans import OpenPlan, plan_named, plans_of, rest_done
from bathkeeper.entries import Addition, Item, Removal
from bathkeeper.estimate.solutions import addition, removal
from tests.stories.telling import Telling

STEPS: list[dict[str, Any]] = [
    {"step": 1, "action": "remove", "amount": 2.0, "unit": "L"},
    {"step": 2, "action": "add", "reagent": "water", "amount": 3.0, "unit": "L"},
    {"step": 3, "action": "add", "reagent": "zinc chloride", "amount": 120.0, "unit": "g"},
    {"step": 4, "action": "measure", "of": "zinc"},
    {"step": 5, "action": "add", "reagent": "zinc chloride", "amount": 120.0, "unit": "g"},
]


def tale() -> Telling:
    made = Telling()
    made.tank("electrolyte", "plate", 1, "zinc-nickel-chloride-potassium", 40.0)
    made.log("make_up", tank="electrolyte", volume_l=39.0, contents={"zinc": 26.0, "nickel": 24.0})
    return made


def accepted(made: Telling, **fields: Any) -> str:
    return made.log("plan", **{"tank": "electrolyte", "purpose": "dose", "steps": STEPS, **fields})


def only(made: Telling) -> OpenPlan:
    (plan,) = [p for p in plans_of(made.entries) if p.entry.steps]
    return plan


def test_a_plan_begins_open_and_ends_when_its_last_step_is_done():
    made = tale()
    plan = accepted(made)
    assert only(made).is_open and only(made).next == only(made).steps[0]
    made.log("removal", tank="electrolyte", volume_l=2.0, to="drum-1", plan=plan, step=1)
    made.log("addition", tank="electrolyte", items=[{"reagent": "water", "amount": 3.0, "unit": "L"}], plan=plan, step=2)
    salt = [{"reagent": "zinc chloride", "amount": 118.0, "unit": "g"}]
    made.log("addition", tank="electrolyte", items=salt, plan=plan, step=3)
    made.log("remark", tank="electrolyte", text="no time to titrate", plan=plan, step=4)
    found = only(made)
    assert (found.done, found.state) == (4, "open") and found.next is not None and found.next.step.step == 5
    assert found.steps[2].really == 118.0 and not found.steps[2].as_planned
    assert found.steps[0].really == 2.0 and found.steps[0].as_planned and found.steps[3].really is None
    made.log("addition", tank="electrolyte", items=salt, plan=plan[-8:], step=5)  # the short id that lists print
    assert only(made).state == "done" and only(made).next is None
    assert {e.id for e in made.entries if getattr(e, "plan", None)} <= set(only(made).because.entries)


def test_a_moment_in_between_knows_only_what_was_done_by_then():
    made = tale()
    plan = accepted(made)
    before = made.moment
    made.day(3).log("removal", tank="electrolyte", volume_l=2.0, plan=plan, step=1)
    assert plans_of(made.entries, before)[0].done == 0 and plans_of(made.entries)[0].done == 1


def test_an_addition_that_names_only_the_plan_does_the_first_open_step_of_its_reagent():
    made = tale()
    plan = accepted(made)
    for _ in range(2):
        made.log(
            "addition", tank="electrolyte", items=[{"reagent": "zinc chloride", "amount": 120.0, "unit": "g"}], plan=plan
        )
    assert [s.step.step for s in only(made).steps if s.done] == [3, 5]


def test_amounts_of_another_unit_are_told_in_the_steps_own():
    made = tale()
    plan = accepted(made)
    made.log("addition", tank="electrolyte", items=[{"reagent": "water", "amount": 2900.0, "unit": "mL"}], plan=plan, step=2)
    assert only(made).steps[1].really == pytest.approx(2.9)


def test_given_up_and_superseded():
    made = tale()
    first = accepted(made)
    second = accepted(made, dropped=first)
    made.log("plan", tank="electrolyte", purpose="dose", dropped=second, note="parts came in")
    old, new = plans_of(made.entries)
    assert (old.state, old.ended_by) == ("superseded", second) and (new.state, new.next) == ("given up", None)


def test_a_plan_that_is_done_cannot_be_given_up_afterwards():
    made = tale()
    plan = accepted(made, steps=STEPS[:1])
    made.log("removal", tank="electrolyte", volume_l=2.0, plan=plan, step=1)
    made.log("plan", tank="electrolyte", purpose="dose", dropped=plan)
    assert only(made).state == "done"


def test_steps_that_no_plan_has_and_plans_that_nobody_knows_do_nothing():
    made = tale()
    plan = accepted(made)
    made.log("remark", tank="electrolyte", text="x", plan=plan, step=9)
    made.log("remark", tank="electrolyte", text="x", plan="another-book-1", step=1)
    assert only(made).done == 0


def test_a_make_up_does_the_steps_whose_reagents_it_holds():
    made = Telling()
    made.tank("pickle", "pickle", 1, "hydrochloric-pickle", 20.0)
    steps = [
        {"step": 1, "action": "add", "reagent": "water", "amount": 12.0, "unit": "L"},
        {"step": 2, "action": "add", "reagent": "hydrochloric acid 37%", "amount": 8000.0, "unit": "mL"},
    ]
    accepted(made, tank="pickle", purpose="make up", steps=steps)
    made.log("make_up", tank="pickle", volume_l=12.0, reagents=[{"reagent": "water", "amount": 12.0, "unit": "L"}])
    assert [s.done for s in only(made).steps] == [True, False] and only(made).steps[0].really == 12.0
    made.log("make_up", tank="pickle", volume_l=20.0, contents={"free acid": 100.0})  # told by what it holds
    assert only(made).state == "done"


def test_names():
    made = tale()
    first, second = accepted(made), accepted(made, purpose="refresh")
    plans = plans_of(made.entries)
    assert plan_named(first, plans) is plans[0] and plan_named(second[-6:], plans) is plans[1]
    assert plan_named("story-", plans) is None and plan_named(first[-3:], plans) is None


def test_the_rest_of_a_plan_moves_the_tank_as_its_entries_would():
    made = tale()
    accepted(made)
    world, at = made.world(), made.moment
    after = rest_done(world, only(made), at).tanks["electrolyte"]
    by_hand = removal(world, Removal(id="by-hand-1", at=at, tank="electrolyte", volume_l=2.0))
    for name, amount, unit in (("water", 3.0, "L"), ("zinc chloride", 240.0, "g")):
        item = Item(reagent=name, amount=amount, unit=unit)  # type: ignore[arg-type]
        by_hand = addition(by_hand, Addition(id="by-hand-2", at=at, tank="electrolyte", items=(item,)))
    expected = by_hand.tanks["electrolyte"]
    assert after.volume_l == pytest.approx(expected.volume_l) == pytest.approx(40.0, abs=0.2)
    assert after.concentration("zinc")[0] == pytest.approx(expected.concentration("zinc")[0])


@given(order=st.permutations(range(1, 6)), kept=st.integers(0, 5))
def test_any_order_of_ticking_gives_the_same_state(order: list[int], kept: int):
    made = tale()
    plan = accepted(made)
    for number in order[:kept]:
        made.log("remark", tank="electrolyte", text="done", plan=plan, step=number)
    found = only(made)
    assert {s.step.step for s in found.steps if s.done} == set(order[:kept])
    assert found.state == ("done" if kept == 5 else "open")
    if kept < 5:
        assert found.next is not None and found.next.step.step == min(set(range(1, 6)) - set(order[:kept]))
