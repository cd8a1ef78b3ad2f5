"""The counsel of a workshop: plans from offer to last step, what no longer lands, reasons, what is due and put off."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from bathkeeper.counsel import Accepted, Counsel, CounselError
from bathkeeper.entries import Addition, MakeUp, Plan, Reading, Remark, Removal, Treatment
from bathkeeper.workshop import NotFound, Workshop

START = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
CONTENTS = {
    "zinc": 32.0, "nickel": 24.0, "chloride": 150.0, "potassium": 105.0, "boric acid": 25.0, "brightener": 1.0, "carrier": 30.0,
}  # fmt: skip


class Bench:
    """A small line with a clock; every act is a minute after the last."""

    def __init__(self, path: Path) -> None:
        self.workshop = Workshop.new(path, "Test Bench", at=START)
        self.counsel = Counsel(self.workshop)
        self.now = START

    def log(self, kind: str, **fields: Any) -> str:
        return self.workshop.log({"kind": kind, "at": self.tock(), **fields}).entry.id

    def tock(self, minutes: float = 1) -> datetime:
        self.now += timedelta(minutes=minutes)
        return self.now

    def tank(self, tank: str, role: str, order: int, recipe: str, volume_l: float) -> None:
        self.log("tank", tank=tank, role=role, order=order, recipe=recipe, working_volume_l=volume_l)

    def read(self, tank: str, **values: float) -> None:
        for _ in range(2):  # twice: a second that agrees is believed
            rows = [{"of": n, "value": v, "unit": "g/L"} for n, v in values.items()]
            self.log("reading", tank=tank, values=rows)

    def accept(self, tank: str, kind: Any = "dose", **how: Any) -> Accepted:
        return self.counsel.accept(self.counsel.plan(tank, kind, at=self.tock(), **how), at=self.tock())

    def tick_all(self, plan: str) -> None:
        """Every step that is left, as planned."""
        while (step := self.counsel.plan_of(plan).next) is not None:
            note = "not measured" if step.step.action == "measure" else None
            self.counsel.tick(plan, step.step.step, note=note, to="drum-1" if step.step.of is None else None, at=self.tock())


@pytest.fixture
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Bench:
    monkeypatch.setenv("BATHKEEPER_CACHE", str(tmp_path / "cache"))
    made = Bench(tmp_path / "a.logbook.jsonl")
    made.tank("electrolyte", "plate", 1, "zinc-nickel-chloride-potassium", 40.0)
    made.tank("rinse", "rinse", 2, "still-rinse", 20.0)
    made.log("make_up", tank="electrolyte", volume_l=40.0, contents=CONTENTS)
    return made


def low(bench: Bench) -> Bench:
    bench.now += timedelta(days=1)
    bench.read("electrolyte", nickel=16.0, zinc=27.0)
    return bench


# --- plans


def test_a_plan_that_is_done_as_planned_ends_what_was_due(bench: Bench) -> None:
    counsel = low(bench).counsel
    assert "electrolyte.low.nickel" in {f.id for f in counsel.due(bench.now)}
    plan = bench.accept("electrolyte").plan
    assert "electrolyte.plan.dose" in {f.id for f in counsel.due(bench.now)}
    assert counsel.recheck(plan.id, bench.now).lands
    bench.tick_all(plan.id)
    ids = {f.id for f in counsel.due(bench.now)}
    assert counsel.plan_of(plan.id).state == "done"
    assert not ids & {"electrolyte.plan.dose", "electrolyte.low.nickel", "electrolyte.low.zinc"}


def test_every_step_leads_to_entries_formula_and_source(bench: Bench) -> None:
    counsel = low(bench).counsel
    plan = bench.accept("electrolyte").plan
    readings = {e.id for e in bench.workshop.entries() if isinstance(e, Reading)}
    adds = [s.step for s in plan.steps if s.step.action == "add" and s.step.reagent != "water"]
    assert adds
    for step in adds:
        what, because = counsel.why(f"{plan.id[-8:]}.{step.step}")
        assert str(step.reagent) in what and because.formula and because.sources
        assert readings & set(because.entries) and plan.id in because.entries
    ticked = counsel.tick(plan.id, adds[0].step, at=bench.tock())
    assert ticked.entry.id in counsel.why(f"{plan.id}.{adds[0].step}")[1].entries


def test_what_was_really_weighed_replaces_the_plan_and_the_rest_is_looked_at_again(bench: Bench) -> None:
    counsel = low(bench).counsel
    plan = bench.accept("electrolyte").plan
    salt = next(s.step for s in plan.steps if s.step.reagent == "nickel chloride hexahydrate")
    weighed = round(1.03 * (salt.amount or 0.0))
    ticked = counsel.tick(plan.id, salt.step, amount=weighed, at=bench.tock())
    assert isinstance(ticked.entry, Addition) and ticked.entry.items[0].amount == weighed
    assert ticked.recheck is not None and ticked.recheck.lands
    assert any("in place of the plan's" in line for line in ticked.lines)
    again = next(s.step for s in plan.steps if s.step.action == "add" and s.step.step != salt.step and s.step.unit == "g")
    spoilt = counsel.tick(plan.id, again.step, amount=4000.0, at=bench.tock())  # ten times what was meant
    assert spoilt.recheck is not None and not spoilt.recheck.lands
    assert any("no longer lands" in line for line in spoilt.lines) and any("above" in x for x in spoilt.recheck.still_out)
    new = bench.accept("electrolyte")
    assert new.ended is not None and new.ended.id == plan.id and counsel.plan_of(plan.id).state == "superseded"


def test_a_reading_on_the_way_may_show_that_the_rest_is_not_wanted(bench: Bench) -> None:
    counsel = low(bench).counsel
    plan = bench.accept("electrolyte").plan
    number = next(s.step.step for s in plan.steps if s.step.action == "measure")
    with pytest.raises(CounselError, match="say what it read"):
        counsel.tick(plan.id, number, at=bench.tock())
    high = [{"of": "nickel", "value": 34.0, "unit": "g/L"}, {"of": "zinc", "value": 41.0, "unit": "g/L"}]
    bench.log("reading", tank="electrolyte", values=high)
    ticked = counsel.tick(plan.id, number, values=high, at=bench.tock())
    assert isinstance(ticked.entry, Reading) and (ticked.entry.plan, ticked.entry.step) == (plan.id, number)
    assert ticked.recheck is not None and any("above its high limit" in line for line in ticked.recheck.still_out)


def test_steps_are_refused_twice_and_out_of_range_and_on_ended_plans(bench: Bench) -> None:
    counsel = low(bench).counsel
    plan = bench.accept("electrolyte").plan
    number = next(s.step.step for s in plan.steps if s.step.action == "add")
    counsel.tick(plan.id, number, at=bench.tock())
    with pytest.raises(CounselError, match="done already"):
        counsel.tick(plan.id, number, at=bench.tock())
    with pytest.raises(NotFound, match="no step 99"):
        counsel.tick(plan.id, 99, at=bench.tock())
    with pytest.raises(CounselError, match="above 0"):
        left = next(s.step.step for s in counsel.plan_of(plan.id).left if s.step.action == "add")
        counsel.tick(plan.id, left, amount=-1.0, at=bench.tock())
    with pytest.raises(CounselError, match="why"):
        counsel.drop(plan.id, "  ", at=bench.tock())
    assert counsel.drop(plan.id, "parts came in", at=bench.tock()).state == "given up"
    with pytest.raises(CounselError, match="given up"):
        counsel.tick(plan.id, number + 1, at=bench.tock())
    with pytest.raises(NotFound, match="none is open"):
        counsel.plan_of("no-such-plan")


def test_a_bath_in_its_windows_has_no_plan_to_accept(bench: Bench) -> None:
    offer = bench.counsel.plan("electrolyte", at=bench.tock())
    assert offer.nothing_needed and offer.feasible
    with pytest.raises(CounselError, match="nothing is needed"):
        bench.counsel.accept(offer)
    assert not any(isinstance(e, Plan) for e in bench.workshop.entries())


def test_a_make_up_from_empty_is_filled_step_by_step(bench: Bench) -> None:
    bench.tank("pickle", "pickle", 3, "hydrochloric-pickle", 20.0)
    plan = bench.accept("pickle", "make up").plan
    with pytest.raises(CounselError, match="water of the plan goes in first"):
        last = [s.step.step for s in plan.steps if s.step.action == "add" and s.step.reagent != "water"][-1]
        bench.counsel.tick(plan.id, last, at=bench.tock())
    bench.tick_all(plan.id)
    made = [e for e in bench.workshop.entries("pickle") if isinstance(e, MakeUp)]
    state = bench.workshop.world.tanks["pickle"]
    assert len(made) == 1 and bench.counsel.plan_of(plan.id).state == "done" and not bench.workshop.problems
    assert state.volume_l == pytest.approx(20.0, rel=0.02)
    for name, species in state.species.items():
        if species.target and species.kind == "acid":
            assert state.concentration(name)[0] == pytest.approx(species.target, rel=0.05)


@pytest.mark.parametrize(
    ("kind", "how", "called"),
    [
        ("peroxide", {"peroxide": "hydrogen peroxide 12%"}, "peroxide"),
        ("carbon", {}, "carbon"),
        ("dummy", {"cathode_dm2": 4.0}, "dummy"),
    ],
)
def test_a_treatment_is_written_as_what_it_is(bench: Bench, kind: str, how: dict[str, Any], called: str) -> None:
    plan = bench.accept("electrolyte", kind, **how).plan
    bench.tick_all(plan.id)
    treated = [e for e in bench.workshop.entries() if isinstance(e, Treatment)]
    assert treated and {e.what for e in treated} == {called} and all(e.plan == plan.id for e in treated)
    if kind == "dummy":
        planned = sum(s.step.amount or 0.0 for s in plan.steps if s.step.unit == "Ah")
        assert bench.workshop.tank("electrolyte", bench.now).charge_ah["dummy"] == pytest.approx(planned)
    for state in plan.steps:
        assert bench.counsel.why_step(plan.id, state.step.step)[1].text


def test_water_from_the_still_rinse_leaves_the_rinse(bench: Bench) -> None:
    bench.log("make_up", tank="rinse", volume_l=20.0, reagents=[{"reagent": "water", "amount": 20.0, "unit": "L"}])
    bench.read("rinse", zinc=3.0, nickel=2.2)
    bench.log("removal", tank="electrolyte", volume_l=4.0, to="drum-1")
    offer = bench.counsel.plan("electrolyte", at=bench.tock())
    poured = [s.step for s in offer.steps if s.step.action == "remove" and s.step.of == "rinse"]
    assert poured, [s.step for s in offer.steps]
    plan = bench.counsel.accept(offer, at=bench.tock()).plan
    ticked = bench.counsel.tick(plan.id, poured[0].step, at=bench.tock())
    assert isinstance(ticked.entry, Removal) and (ticked.entry.tank, ticked.entry.to) == ("rinse", "electrolyte")
    assert bench.workshop.world.tanks["rinse"].volume_l == pytest.approx(20.0 - (poured[0].amount or 0.0), rel=0.02)
    without = bench.counsel.plan("electrolyte", rinse=False, at=START + timedelta(minutes=9))
    assert not any(s.step.of == "rinse" for s in without.steps)


def test_only_what_is_on_the_shelf_goes_into_a_plan_once_stock_is_kept(bench: Bench) -> None:
    low(bench)
    assert any("no stock is on record" in hint for hint in bench.counsel.plan("electrolyte", at=bench.now).hints)
    salt = {"reagent": "zinc chloride", "action": "bought", "amount": 2000.0, "unit": "g", "price": 30.0}
    bench.log("stock", **salt)
    offer = bench.counsel.plan("electrolyte", at=bench.tock())
    assert not offer.feasible and not offer.hints and any("nickel" in line for line in (*offer.conflict, *offer.advice.lines))
    with pytest.raises(CounselError, match="no plan meets every limit"):
        bench.counsel.accept(offer)


def test_kinds_and_tanks_that_are_none(bench: Bench) -> None:
    with pytest.raises(CounselError, match="no plan is called `magic`"):
        bench.counsel.plan("electrolyte", "magic")  # type: ignore[arg-type]
    with pytest.raises(NotFound, match="electrolyte, rinse"):
        bench.counsel.plan("elektrolyte")
    with pytest.raises(CounselError, match="how many days"):
        bench.counsel.plan("electrolyte", "lay up")


def test_a_lay_up_becomes_a_plan(bench: Bench) -> None:
    bench.log("anode", tank="electrolyte", anode="zinc-1", action="hung", metal="zinc", mass_g=2000.0, area_dm2=2.0)
    plan = bench.accept("electrolyte", "lay up", days=28).plan
    assert plan.purpose == "lay up" and any("zinc" in s.step.why for s in plan.steps)
    assert bench.counsel.recheck(plan.id, bench.now).plan.id == plan.id
    ticked = bench.counsel.tick(plan.id, 1, at=bench.tock(), note="done")
    assert isinstance(ticked.entry, (Remark, Reading)) and ticked.recheck is None


# --- due


def test_status_and_due_call_the_same_thing_by_the_same_id(bench: Bench) -> None:
    low(bench)
    short = [f.id for f in bench.workshop.status(bench.now).due]
    long = [f.id for f in bench.counsel.due(bench.now)]
    assert short and set(short) <= set(long) and len(long) == len(set(long))
    assert {f.split(".")[1] for f in set(long) - set(short)} <= {"forecast_low", "forecast_high"}


def test_what_is_put_off_speaks_again_after_its_time(bench: Bench) -> None:
    counsel = low(bench).counsel
    until = bench.now + timedelta(days=3)
    counsel.snooze("electrolyte.low.nickel", until, "salt is on order", at=bench.tock())
    ids = [f.id for f in counsel.due(bench.now)]
    assert "electrolyte.low.nickel" not in ids and "electrolyte.low.nickel@" not in counsel.calendar_text(bench.now)
    (off,) = counsel.snoozed(bench.now)
    assert (off.finding.id, off.reason, off.until) == ("electrolyte.low.nickel", "salt is on order", until)
    later = until + timedelta(seconds=1)
    assert "electrolyte.low.nickel" in {f.id for f in counsel.due(later)} and not counsel.snoozed(later)
    counsel.snooze("electrolyte.low.nickel", bench.now + timedelta(hours=1), "arrives today after all", at=bench.tock())
    assert "electrolyte.low.nickel" in {f.id for f in counsel.due(bench.now + timedelta(hours=2))}  # the latest word counts
    with pytest.raises(NotFound, match="nothing is due that is called"):
        counsel.snooze("electrolyte.low.gold", until, "x", at=bench.now)
    with pytest.raises(CounselError, match="why"):
        counsel.snooze("electrolyte.low.nickel_of_metal", until, " ", at=bench.now)


def test_everything_due_has_a_reason_with_a_formula_or_a_source(bench: Bench) -> None:
    low(bench)
    bench.accept("electrolyte")
    for finding in bench.counsel.due(bench.now):
        what, because = bench.counsel.why(finding.id, bench.now)
        assert what == finding.what and because.text and (because.formula or because.sources), finding.id


def test_nothing_asked_writes_anything(bench: Bench) -> None:
    counsel = low(bench).counsel
    before = len(bench.workshop.book.entries())
    counsel.plan("electrolyte", at=bench.now)
    counsel.due(bench.now), counsel.calendar_text(bench.now), counsel.forecast("electrolyte", bench.now)
    counsel.anodes("electrolyte", bench.now), counsel.acid("electrolyte", bench.now), counsel.signs("rinse", bench.now)
    counsel.lay_up(10, bench.now), counsel.wake_up(bench.now), counsel.causes("dull", at=bench.now)
    counsel.reorder(bench.now), counsel.cost(until=bench.now)
    assert len(bench.workshop.book.entries()) == before
