"""The live run's fold: times on one axis, charge in all its ways, and no sequence of acts that breaks it."""

from __future__ import annotations

import math
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from bathkeeper.catalogue.loader import load
from bathkeeper.entries import Charge, Run, parse
from bathkeeper.estimate.charges import read_charge
from bathkeeper.runs.live import (
    STATES,
    Abandoned,
    AnyEvent,
    Counted,
    CurrentSet,
    Entered,
    Finished,
    Left,
    LinePlan,
    LiveError,
    LiveRun,
    Noted,
    Paused,
    PlannedBake,
    PlannedBranch,
    PlannedStep,
    Repeated,
    Resumed,
    Samples,
    Skipped,
    Started,
    Temperature,
    Tick,
    Timed,
    Volts,
    fold_live,
    from_plain,
    to_plain,
)

START = datetime(2026, 5, 1, 8, 0, tzinfo=UTC)
PLAN = LinePlan(
    kind="plate",
    parts=({"description": "load", "area_dm2": 3.2},),
    steps=(
        PlannedStep(tank="pickle", role="pickle", minutes=5),
        PlannedStep(tank="rinse-2", role="rinse", minutes=1),
        PlannedStep(tank="electrolyte", role="plate", minutes=45, charged=True, current_a=6.5),
        PlannedStep(tank="rinse-3", role="rinse", minutes=1),
        PlannedStep(tank="passivate", role="passivate", minutes=1),
    ),
)
PLATE = 2


class Acts:
    """Acts with a running clock."""

    def __init__(self, plan: LinePlan = PLAN) -> None:
        self.at, self.mono, self.session = START, 50.0, "one"
        self.events: list[AnyEvent] = []
        self.do(Started, run="live-run-1", plan=plan)

    def do(self, kind: Any, **fields: Any) -> Acts:
        self.events.append(kind(at=self.at, mono=self.mono, session=self.session, **fields))
        return self

    def go(self, minutes: float) -> Acts:
        self.at += timedelta(minutes=minutes)
        self.mono += minutes * 60
        return self

    def restart(self, session: str, minutes: float = 0.0) -> Acts:
        """The program (or the machine) is started anew after so many minutes of the wall clock."""
        self.session, self.mono = session, 3.0
        self.at += timedelta(minutes=minutes)
        return self

    @property
    def now(self) -> Tick:
        return Tick(at=self.at, mono=self.mono, session=self.session)

    @property
    def run(self) -> LiveRun:
        found = fold_live(self.events)
        assert found is not None
        return found

    def done(self) -> Run:
        entry = parse(fold_live([*self.events, Finished(at=self.at, mono=self.mono, session=self.session)]).as_run())
        assert isinstance(entry, Run)
        return entry


def plated(acts: Acts) -> Any:
    return next(s for s in acts.done().steps if s.tank == "electrolyte")


def ah(charge: Charge, minutes: float | None) -> float:
    return read_charge(charge, minutes, load().spreads).charge_ah


# -- timers ------------------------------------------------------------------------------------------------------------


def test_states_by_word_and_time_left():
    acts = Acts()
    assert acts.run.state(acts.now) == "waiting" and acts.run.next_step.tank == "pickle"
    acts.do(Entered, step=0).go(2)
    run = acts.run
    assert (run.state(acts.now), run.elapsed_s(acts.now), run.left_s(acts.now)) == ("running", 120, 180)
    acts.go(3.5)
    assert (acts.run.state(acts.now), acts.run.left_s(acts.now)) == ("over time", -30)
    acts.do(Paused).go(60)
    assert (acts.run.state(acts.now), acts.run.elapsed_s(acts.now)) == ("paused", 330)
    acts.do(Resumed).do(Left).go(1)
    assert acts.run.state(acts.now) == "waiting" and acts.run.waiting_s(acts.now) == 60
    assert {"waiting", "running", "over time", "paused"} <= set(STATES)


def test_entering_the_next_leaves_the_one_before():
    acts = Acts().do(Entered, step=0).go(4).do(Entered, step=1).go(1)
    assert [s.visits for s in acts.run.stays] == [1, 1, 0, 0, 0]
    assert [(s.tank, s.minutes) for s in acts.done().steps] == [("pickle", 4.0), ("rinse-2", 1.0)]


def test_skipped_steps_are_not_in_the_entry_and_the_next_one_is_shown():
    acts = Acts().do(Skipped, step=0)
    assert acts.run.next_step.tank == "rinse-2"
    acts.do(Entered, step=1).go(1).do(Skipped, step=2)
    assert acts.run.next_step.tank == "rinse-3"
    assert [s.tank for s in acts.done().steps] == ["rinse-2"]


def test_a_repeated_step_adds_minutes_and_charge_and_its_timer_begins_anew():
    acts = Acts().do(Entered, step=PLATE).go(20).do(Left).go(3).do(Repeated, step=PLATE).go(10)
    assert acts.run.elapsed_s(acts.now) == 600
    step = plated(acts)
    assert step.minutes == 30 and ah(step.charge, step.minutes) == pytest.approx(6.5 / 2)
    acts.do(CurrentSet, step=PLATE, current_a=4.0).go(5)
    step = plated(acts)
    assert [(s.current_a, s.minutes) for s in step.charge.stretches] == [(6.5, 30), (4.0, 5)]


def test_going_back_goes_on_from_there():
    acts = Acts().do(Entered, step=0).go(2).do(Entered, step=1).go(1).do(Entered, step=0).go(3)
    assert acts.run.next_step.tank == "rinse-2"
    assert [(s.tank, s.minutes) for s in acts.done().steps] == [("pickle", 5.0), ("rinse-2", 1.0)]


# -- clocks ------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("moved", [-300.0, -3.0, 61.0, 60 * 24 * 400.0])
def test_a_changed_wall_clock_changes_no_time_within_a_session(moved):
    acts = Acts().do(Entered, step=PLATE).go(15)
    acts.at += timedelta(minutes=moved)
    acts.go(5)
    assert acts.run.elapsed_s(acts.now) == 20 * 60
    acts.do(Left)
    assert plated(acts).minutes == 20
    assert any("wall clock was moved" in p.what for p in acts.run.problems)


def test_a_laptop_closed_over_midnight_counts_by_the_wall_clock():
    acts = Acts()
    acts.at = datetime(2026, 5, 1, 23, 50, tzinfo=UTC)
    acts.events.clear()
    acts.do(Started, run="live-run-1", plan=PLAN).do(Entered, step=PLATE).go(5).restart("two", 60).go(10).do(Left)
    assert plated(acts).minutes == 75
    assert not acts.run.problems


def test_days_between_two_sessions_are_counted_but_asked_about():
    acts = Acts().do(Entered, step=PLATE).go(5).restart("two", 60 * 24 * 365).do(Left)
    assert plated(acts).minutes == 5 + 60 * 24 * 365
    assert any("closed for 8760" in p.what and "electrolyte" in p.what for p in acts.run.problems)


def test_the_night_when_clocks_change_is_an_hour_like_any_other():
    summer, winter = (datetime.fromisoformat(t) for t in ("2026-10-25T02:45:00+02:00", "2026-10-25T02:15:00+01:00"))
    acts = Acts()
    acts.at = summer
    acts.events.clear()
    acts.do(Started, run="live-run-1", plan=PLAN).do(Entered, step=PLATE).restart("two")
    acts.at = winter  # half an hour later, though the hands stand before
    acts.do(Left)
    assert plated(acts).minutes == 30
    assert acts.run.problems == ()


def test_a_clock_set_back_while_the_program_was_closed_is_told_and_never_negative():
    acts = Acts().do(Entered, step=PLATE).go(15).restart("two", -120)
    acts.do(Noted, text="on again")
    assert acts.run.elapsed_s(acts.now) == 0  # nothing was on record since the entering but the clock that went back
    assert [p for p in acts.run.problems if "set back" in p.what and "electrolyte" in p.what and "true minutes" in p.right]
    acts.go(5).do(Left)
    assert plated(acts).minutes == 5
    acts.do(Timed, step=PLATE, minutes=47)
    step = plated(acts)
    assert (step.minutes, step.charge.current_a) == (47, 6.5)
    assert "set back" in acts.done().note


def test_sessions_may_alternate_between_two_windows():
    acts = Acts().do(Entered, step=PLATE)
    one = (acts.mono, acts.session)
    for minute in range(1, 7):  # a second window with a counter of its own, in turns
        acts.at += timedelta(minutes=1)
        if minute % 2:
            acts.mono, acts.session = 1e6 + 60 * minute, "other"
        else:
            acts.mono, acts.session = one[0] + 60 * minute, one[1]
        acts.do(Noted, text=f"minute {minute}")
    acts.do(Left)
    assert plated(acts).minutes == 6 and not acts.run.problems


def test_an_act_dated_back_is_told_and_counts_at_once():
    acts = Acts().do(Entered, step=PLATE).go(10).do(Noted, text="looks well").go(-4).do(Left)
    assert plated(acts).minutes == 10
    assert any("before the one before it" in p.what for p in acts.run.problems)


# -- charge ------------------------------------------------------------------------------------------------------------


def test_the_planned_current_counts_unless_another_is_told():
    acts = Acts().do(Entered, step=PLATE).go(45).do(Left)
    assert (plated(acts).charge.current_a, plated(acts).minutes) == (6.5, 45)
    acts = Acts().do(Entered, step=PLATE).go(0.5).do(CurrentSet, step=PLATE, current_a=6.2).go(44.5).do(Left)
    assert plated(acts).charge.current_a == 6.2  # told within the first minute: so it was from the start
    acts = Acts().do(CurrentSet, step=PLATE, current_a=7.0).do(Entered, step=PLATE).go(45).do(Left)
    assert plated(acts).charge.current_a == 7.0  # set before the parts went in


def test_changes_of_current_become_stretches():
    acts = Acts().do(Entered, step=PLATE).go(10).do(CurrentSet, step=PLATE, current_a=5.0).go(20)
    acts.do(CurrentSet, step=PLATE, current_a=2.0).go(5).do(Left)
    assert [(s.current_a, s.minutes) for s in plated(acts).charge.stretches] == [(6.5, 10), (5.0, 20), (2.0, 5)]
    assert acts.run.charge_ah(acts.now) == pytest.approx((65 + 100 + 10) / 60)


def test_a_pause_stops_clock_and_charge():
    acts = Acts().do(Entered, step=PLATE).go(10).do(Paused).go(30).do(CurrentSet, step=PLATE, current_a=5.0).go(1)
    assert acts.run.charge_ah(acts.now) == pytest.approx(6.5 * 10 / 60)
    acts.do(Resumed).go(10).do(Left)
    assert [(s.current_a, s.minutes) for s in plated(acts).charge.stretches] == [(6.5, 10), (5.0, 10)]


def test_a_ramp():
    """"240 to 210 mA over 8 h" is 1.8 Ah: mean of the ends times the time."""
    plan = LinePlan(kind="dummy", steps=(PlannedStep(tank="electrolyte", role="plate", charged=True, dummy=True),))
    for told_at in (480.0, 479.0):  # on the way out, or just before
        acts = Acts(plan).do(CurrentSet, step=0, current_a=0.24).do(Entered, step=0).go(told_at)
        acts.do(CurrentSet, step=0, current_a=0.21, drifted=True).go(480 - told_at).do(Left)
        step = plated(acts)
        assert (step.charge.ramp.from_a, step.charge.ramp.to_a, step.charge.ramp.minutes) == (0.24, 0.21, 480)
        assert ah(step.charge, step.minutes) == pytest.approx(1.8) and step.dummy


def test_a_ramp_on_the_way_keeps_its_charge_as_a_stretch():
    acts = Acts().do(Entered, step=PLATE).go(10).do(CurrentSet, step=PLATE, current_a=4.5, drifted=True).go(30).do(Left)
    assert [(s.current_a, s.minutes) for s in plated(acts).charge.stretches] == [(5.5, 10), (4.5, 30)]


def test_a_counter_read_before_and_after():
    acts = Acts().do(Counted, step=PLATE, ah=12.4, when="start").do(Entered, step=PLATE).go(45).do(Left)
    acts.do(Counted, step=PLATE, ah=17.3, when="end")
    charge = plated(acts).charge
    assert (charge.counter.start_ah, charge.counter.end_ah) == (12.4, 17.3)
    assert acts.run.charge_ah(acts.now) == pytest.approx(4.9)
    assert acts.done().note is None


def test_a_counter_reset_on_the_way_counts_what_it_showed_since():
    acts = Acts().do(Counted, step=PLATE, ah=12.4, when="start").do(Entered, step=PLATE).go(20)
    acts.do(Counted, step=PLATE, ah=14.5, when="middle").go(15).do(Counted, step=PLATE, ah=1.5, when="middle").go(10)
    acts.do(Left).do(Counted, step=PLATE, ah=2.5, when="end")
    charge = plated(acts).charge
    assert charge.charge_ah == pytest.approx(2.1 + 1.5 + 1.0) and charge.spread == pytest.approx(4.6 / 4)
    assert "taken as reset" in acts.done().note


def test_a_counter_not_read_at_the_end_is_filled_up_from_the_current():
    acts = Acts().do(Counted, step=PLATE, ah=0.0, when="start").do(Entered, step=PLATE).go(30)
    acts.do(Counted, step=PLATE, ah=3.2, when="middle").go(15).do(Left)
    assert plated(acts).charge.charge_ah == pytest.approx(3.2 + 6.5 * 15 / 60)
    assert "not read at the end" in acts.done().note


def test_a_counter_read_once_counts_by_the_current_and_says_so():
    acts = Acts().do(Entered, step=PLATE).go(45).do(Left).do(Counted, step=PLATE, ah=17.3, when="end")
    assert plated(acts).charge.current_a == 6.5
    assert "read once only" in acts.done().note


def test_counter_and_current_that_differ_are_told():
    acts = Acts().do(Counted, step=PLATE, ah=0.0, when="start").do(Entered, step=PLATE).go(60).do(Left)
    acts.do(Counted, step=PLATE, ah=3.0, when="end")
    assert "one is wrong" in acts.done().note and plated(acts).charge.counter.end_ah == 3.0


def test_a_counter_over_two_stays_leaves_out_what_ran_between():
    acts = Acts().do(Counted, step=PLATE, ah=1.0, when="start").do(Entered, step=PLATE).go(20).do(Left)
    acts.do(Counted, step=PLATE, ah=3.2, when="end").go(5).do(Counted, step=PLATE, ah=9.0, when="start")
    acts.do(Repeated, step=PLATE).go(10).do(Left).do(Counted, step=PLATE, ah=10.1, when="end")
    assert plated(acts).charge.charge_ah == pytest.approx(2.2 + 1.1)


def test_each_supply_keeps_its_own_charge_and_volts():
    branches = (
        PlannedBranch(supply="zinc", anodes=("zinc-1", "zinc-2"), current_a=5.6),
        PlannedBranch(supply="nickel", anodes=("nickel-1",), current_a=0.95),
    )
    steps = (PlannedStep(tank="electrolyte", role="plate", charged=True, branches=branches),)
    acts = Acts(LinePlan(kind="plate", steps=steps)).do(Entered, step=0).go(20)
    acts.do(Volts, step=0, supply="zinc", volts=3.1).do(CurrentSet, step=0, supply="nickel", current_a=0.8).go(25).do(Left)
    zinc, nickel = plated(acts).branches
    assert (zinc.supply, zinc.anodes, zinc.charge.current_a, zinc.volts) == ("zinc", ("zinc-1", "zinc-2"), 5.6, 3.1)
    assert [(s.current_a, s.minutes) for s in nickel.charge.stretches] == [(0.95, 20), (0.8, 25)]
    assert acts.run.charge_ah(acts.now, supply="nickel") == pytest.approx((0.95 * 20 + 0.8 * 25) / 60)
    acts.do(CurrentSet, step=0, current_a=1.0)  # of which?
    assert any("which supply" in p.what for p in acts.run.problems)


def test_a_second_supply_that_is_named_later_is_a_branch_of_its_own():
    acts = Acts().do(Entered, step=PLATE).do(CurrentSet, step=PLATE, supply="bench-1", current_a=6.0).go(1)
    acts.do(CurrentSet, step=PLATE, supply="bench-2", current_a=1.0).go(44).do(Left)
    assert [(b.supply, b.charge.current_a) for b in plated(acts).branches] == [("bench-1", 6.0), ("bench-2", 1.0)]


def test_a_step_without_any_current_told_says_so():
    plan = LinePlan(kind="plate", steps=(PlannedStep(tank="electrolyte", role="plate", charged=True),))
    acts = Acts(plan).do(Entered, step=0).go(45).do(Left)
    assert plated(acts).charge is None and acts.run.charge_ah(acts.now) is None
    assert "electrolyte: no current was told" in acts.done().note
    acts.do(CurrentSet, step=0, current_a=6.5)  # remembered afterwards
    assert plated(acts).charge.current_a == 6.5 and "taken from the start" in acts.done().note


def test_lines_of_a_logger_count_before_all_else_and_gaps_are_told_not_bridged():
    rows = tuple((float(t), 6.0, 3.0) for t in range(0, 1201, 60)) + tuple((float(t), 6.0, 3.2) for t in range(1800, 2401, 60))
    acts = Acts().do(Entered, step=PLATE)
    acts.do(Samples, step=PLATE, feed="f1", source="log.csv", longest_gap_s=90.0, rows=rows[:7]).go(40)
    acts.do(Samples, step=PLATE, feed="f1", source="log.csv", longest_gap_s=90.0, rows=rows[7:]).do(Left)
    (branch,) = plated(acts).branches
    trace = branch.charge.trace
    assert trace.charge_ah == pytest.approx(6.0 * (1200 + 600) / 3600)
    assert (trace.gap_minutes, trace.gap_charge_ah) == (10.0, pytest.approx(1.0))
    assert branch.volts == pytest.approx(3.07, abs=0.01)
    assert "silent for 10 min" in acts.done().note


def test_a_logger_with_reversed_leads_is_not_counted():
    rows = tuple((float(t), -6.0, None) for t in range(0, 61, 10))
    acts = Acts().do(Entered, step=PLATE).go(1)
    acts.do(Samples, step=PLATE, feed="f1", source="x", longest_gap_s=60.0, rows=rows).do(Left)
    assert plated(acts).charge.current_a == 6.5 and "reversed" in acts.done().note


def logged(*feeds: list[tuple[float, float, None]], minutes: float = 45.0) -> tuple[Charge, str]:
    """(charge, note) of a stay in the plating tank that a logger told of in so many feeds."""
    acts = Acts().do(Entered, step=PLATE).go(minutes)
    for number, rows in enumerate(feeds):
        acts.do(Samples, step=PLATE, feed=f"f{number}", source="log.csv", longest_gap_s=60.0, rows=tuple(rows))
    acts.do(Left)
    return plated(acts).charge, acts.done().note or ""


def steady(first_s: float, last_s: float, amperes: float = 6.5) -> list[tuple[float, float, None]]:
    return [(first_s + 10 * n, amperes, None) for n in range(int((last_s - first_s) / 10) + 1)]


UNIX_S = 1_777_622_400.0  # 2026-05-01 08:00 UTC


@pytest.mark.parametrize(
    ("feeds", "told"),
    [
        ([steady(0, 2700)], False),
        ([steady(0, 2700), steady(0, 2700)], True),
        ([steady(0, 900), steady(0, 2700)], True),
        ([steady(0, 2700), steady(0, 900)], True),
        ([steady(UNIX_S, UNIX_S + 2700), steady(UNIX_S + 900, UNIX_S + 2700)], True),
        ([steady(UNIX_S + 1210, UNIX_S + 2700), steady(UNIX_S, UNIX_S + 1200)], False),  # one log in two pieces
    ],
)
def test_lines_that_come_twice_count_once(feeds, told):
    charge, note = logged(*feeds)
    assert charge.trace.charge_ah == pytest.approx(6.5 * 45 / 60)
    assert ("came twice" in note) == told and "pieces" not in note


def test_a_log_that_tells_of_less_or_more_than_the_stay_says_so():
    charge, note = logged(steady(0, 900))
    assert charge.trace.charge_ah == pytest.approx(6.5 * 15 / 60) and "tell of 15 of 45 min; the rest is not counted" in note
    charge, note = logged(steady(0, 5400))
    assert charge.trace.charge_ah == pytest.approx(6.5 * 90 / 60) and "current for 90 min, parts were in for 45" in note
    assert logged([*steady(0, 2700), *steady(2710, 5400, 0.0)])[1] == ""  # the supply was off for the rest


def test_a_log_in_another_unit_than_its_header_says_is_told():
    """6500 for 6.5 A: mA without a word of it."""
    charge, note = logged(steady(0, 2700, 6500.0))
    assert "logger tells 4875 Ah, the current as set 4.875 Ah: one is wrong" in note and charge.trace.charge_ah == 4875.0
    assert logged(steady(0, 2700, 6.0))[1] == ""


# -- after plating -----------------------------------------------------------------------------------------------------


def test_the_clock_to_the_oven_runs_from_leaving_the_electrolyte():
    bake = PlannedBake(needed="yes", what="bake 8 h", hours=8, start_within_h=4)
    plan = LinePlan(kind="plate", steps=PLAN.steps, bake=bake)
    acts = Acts(plan).do(Entered, step=PLATE).go(45)
    assert acts.run.to_oven(acts.now) is None and acts.run.oven(acts.now) is None
    left = acts.at
    acts.do(Entered, step=3).go(30)
    oven = acts.run.oven(acts.now)
    assert acts.run.to_oven(acts.now) == 1800
    assert (oven.deadline, oven.left_s) == (left + timedelta(hours=4), 3.5 * 3600)
    acts.go(240)
    assert acts.run.oven(acts.now).left_s == -1800
    assert acts.done().at == left  # from which the bake is counted in the book too
    acts.do(Entered, step=PLATE)
    assert acts.run.to_oven(acts.now) is None


# -- the end -----------------------------------------------------------------------------------------------------------


def test_nothing_done_makes_no_entry():
    with pytest.raises(LiveError, match="nothing is done yet"):
        Acts().run.as_run()


def test_what_is_said_at_the_end_is_in_the_entry():
    acts = Acts().do(Entered, step=PLATE).do(Temperature, step=PLATE, temperature_c=34.0).go(30)
    acts.do(Temperature, step=PLATE, temperature_c=35.0).do(Noted, text="new hooks").go(15)
    end = {"result": "burnt edges", "defect": "burning", "rejects": 2, "photos": ("a.jpg",), "mass_before_g": 400.0}
    acts.do(Finished, **end, mass_after_g=404.0, note="two on the outside")
    entry = parse(acts.run.as_run())
    assert (entry.result, entry.defect, entry.rejects, entry.photos) == ("burnt edges", "burning", 2, ("a.jpg",))
    assert (entry.mass_before_g, entry.mass_after_g, entry.note) == (400.0, 404.0, "new hooks; two on the outside")
    assert entry.steps[0].temperature_c == 34.5 and entry.id == "live-run-1"
    assert acts.run.state(acts.now) == "finished" and acts.run.next_step is None


def test_abandoning_keeps_what_was_done_and_why():
    acts = Acts().do(Entered, step=0).go(5).do(Entered, step=1).go(1).do(Abandoned, reason="power cut")
    entry = parse(acts.run.as_run())
    assert [s.tank for s in entry.steps] == ["pickle", "rinse-2"] and entry.note == "abandoned: power cut"


def test_acts_after_the_end_are_passed_over_and_told():
    acts = Acts().do(Entered, step=0).go(5).do(Finished).go(5).do(Entered, step=1).go(5)
    assert [s.tank for s in parse(acts.run.as_run()).steps] == ["pickle"]
    assert any("after the run was over" in p.what for p in acts.run.problems)


# -- laws --------------------------------------------------------------------------------------------------------------

numbers = st.one_of(st.floats(0, 50), st.sampled_from([math.nan, math.inf, -1.0, 1e300]))
steps = st.integers(0, 7)
supplies = st.sampled_from([None, "zinc", "nickel"])
some_acts = st.one_of(
    st.tuples(st.just(Entered), st.fixed_dictionaries({"step": steps})),
    st.tuples(st.just(Repeated), st.fixed_dictionaries({"step": steps})),
    st.tuples(st.just(Skipped), st.fixed_dictionaries({"step": steps})),
    st.tuples(st.sampled_from([Left, Paused, Resumed]), st.just({})),
    st.tuples(st.just(CurrentSet), st.fixed_dictionaries(
        {"step": steps, "supply": supplies, "current_a": numbers, "drifted": st.booleans()})),
    st.tuples(st.just(Counted), st.fixed_dictionaries(
        {"step": steps, "supply": supplies, "ah": numbers, "when": st.sampled_from(["start", "middle", "end"])})),
    st.tuples(st.just(Volts), st.fixed_dictionaries({"step": steps, "supply": supplies, "volts": numbers})),
    st.tuples(st.just(Temperature), st.fixed_dictionaries({"step": steps, "temperature_c": st.floats(0, 90)})),
    st.tuples(st.just(Timed), st.fixed_dictionaries({"step": steps, "minutes": st.floats(0, 900)})),
    st.tuples(st.just(Samples), st.fixed_dictionaries({
        "step": steps, "supply": supplies, "feed": st.sampled_from(["a", "b"]), "source": st.just("x"),
        "longest_gap_s": st.just(60.0),
        "rows": st.lists(st.tuples(st.floats(0, 1e4), st.floats(-5, 50), st.none() | st.floats(0, 9)), max_size=5).map(tuple),
    })),
    st.tuples(st.sampled_from([Finished, Abandoned]), st.just({})),
)  # fmt: skip
moments = st.tuples(st.floats(-1e5, 1e5), st.floats(-1e5, 1e5), st.sampled_from(["one", "two", "three"]))


@settings(max_examples=150, deadline=None)
@example([
    ((0.0, 0.0, "one"), (Entered, {"step": 0})),
    ((0.0, 0.0, "one"), (CurrentSet, {"step": 0, "supply": None, "current_a": 1e300, "drifted": False})),
])
@given(st.lists(st.tuples(moments, some_acts), max_size=25))
def test_any_sequence_of_acts_folds_and_times_never_run_back(sequence):
    events: list[AnyEvent] = [Started(at=START, mono=0.0, session="one", run="live-run-1", plan=PLAN)]
    clock = 0.0
    for (wall_s, mono, session), (kind, fields) in sequence:
        events.append(kind(at=START + timedelta(seconds=wall_s), mono=mono, session=session, **fields))
        run = fold_live(events)
        assert run._t >= clock and run.sequence == len(events)
        clock = run._t
        now = Tick(at=START + timedelta(seconds=wall_s - 9e4), mono=mono - 9e4, session=session)
        assert run.elapsed_s(now) >= 0 and run.state(now) in STATES
        assert all(s.clock_s >= 0 for s in run.stays)
        run.charge_ah(now), run.oven(now), run.left_s(now)
    if run_ := [s for s in fold_live(events).stays if s.visits]:
        entry = parse(fold_live(events).as_run())  # whatever happened, it can be logged
        assert {s.tank for s in entry.steps} == {s.tank for s in run_}


@settings(max_examples=150, deadline=None)
@given(
    st.lists(
        st.one_of(
            st.tuples(st.just("go"), st.floats(0.2, 30.0)),
            st.tuples(st.just("current"), st.floats(0.0, 20.0)),
            st.tuples(st.sampled_from(["pause", "resume", "out", "again", "restart", "wall"]), st.floats(1, 60)),
        ),
        max_size=20,
    )
)
def test_minutes_and_charge_are_conserved_pauses_left_out(sequence):
    """Against a plain sum over the time in the tank, whatever restarts and clock settings come between."""
    acts = Acts().do(CurrentSet, step=PLATE, current_a=6.0).do(Entered, step=PLATE)
    running, inside, current, minutes, charge_ah, turns = True, True, 6.0, 0.0, 0.0, 1
    for word, value in sequence:
        if word in ("go", "restart"):
            if running:
                minutes, charge_ah = minutes + value, charge_ah + current * value / 60
            if word == "go":
                acts.go(value)
            else:
                acts.do(Noted, text="last words").restart(f"session {len(acts.events)}", value).do(Noted, text="on again")
        elif word == "wall":
            acts.at += timedelta(minutes=value)  # somebody sets the clock while the program runs
            acts.do(Noted, text="clock set")
        elif word == "current":
            current = value
            acts.do(CurrentSet, step=PLATE, current_a=value)
            turns += 1
        elif word == "pause" and inside:
            running = False
            acts.do(Paused)
        elif word == "resume" and inside:
            running = True
            acts.do(Resumed)
        elif word == "out":
            running = inside = False
            acts.do(Left)
        elif word == "again":
            running = inside = True
            acts.do(Repeated, step=PLATE)
    assert acts.run.minutes(acts.run.stays[PLATE], acts.now) == pytest.approx(minutes, abs=1e-6)
    step = plated(acts)
    assert step.minutes == pytest.approx(minutes, abs=0.051)
    assert acts.run.charge_ah(acts.now) == pytest.approx(charge_ah, abs=1e-6)
    told = ah(step.charge, step.minutes)
    assert told == pytest.approx(charge_ah, abs=(turns + 1) * 20 * 0.1 / 60)  # a tenth of a minute for each change


@settings(max_examples=100, deadline=None)
@given(st.lists(st.tuples(moments, some_acts), max_size=12))
def test_every_act_survives_its_file(sequence):
    for (wall_s, mono, session), (kind, fields) in sequence:
        event = kind(at=START + timedelta(seconds=wall_s), mono=mono, session=session, **fields)
        if any(isinstance(v, float) and not 0 <= v <= 1e9 for v in fields.values()):
            with pytest.raises((LiveError, ValueError)):
                from_plain(to_plain(event))
        else:
            assert from_plain({**to_plain(event), "id": "act-000001"}) == event
