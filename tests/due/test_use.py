"""Chores, instruments, heater, stock, idle anodes, spent side tanks, open plans and forecasts as due items; books are told."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from bathkeeper.catalogue.chores import load_chores, read_chores
from bathkeeper.catalogue.loader import CatalogueError
from bathkeeper.due.forecasts import forecast_findings
from bathkeeper.due.gathering import advised
from bathkeeper.due.ranking import due
from bathkeeper.due.snoozed import put_off
from bathkeeper.estimate.forecast import forecasts
from bathkeeper.estimate.view import tank_view
from bathkeeper.findings import Finding
from bathkeeper.units.numerals import Preferences
from tests.due.test_rules import CONTENTS
from tests.stories.telling import Telling


def line() -> Telling:
    tale = Telling()
    tale.log("workshop", name="Slipway bench")
    tale.tank("electrolyte", "plate", 1, "zinc-nickel-chloride-potassium", 40.0, surface_dm2=12.0)
    tale.log("make_up", tank="electrolyte", volume_l=40.0, contents=CONTENTS)
    return tale


def findings(tale: Telling) -> dict[str, Finding]:
    world = tale.world()
    views = [tank_view(s, world.catalogue.metals) for s in world.tanks.values()]
    return {f.id: f for f in advised(world, views, tale.entries, tale.moment)}


def run(tale: Telling, **fields: Any) -> str:
    step = {"tank": "electrolyte", "minutes": 45.0, "charge": {"charge_ah": fields.pop("charge_ah", 5.0)}}
    return tale.log("run", parts=[{"description": "brackets", "area_dm2": 4.0}], steps=[step], **fields)


def test_a_fresh_line_has_no_chores():
    assert findings(line()) == {}


def test_a_filter_comes_due_by_days_and_by_charge_and_ends_with_its_entry():
    tale = line()
    filter_chore = load_chores().chores["filter"]
    assert filter_chore.days is not None and filter_chore.charge_ah is not None
    assert "electrolyte.chore.filter" not in findings(tale.day(filter_chore.days - 1))
    late = findings(tale.day(filter_chore.days + 1))["electrolyte.chore.filter"]
    assert late.level == "later" and "practice" in late.because.sources[0] and "not on record" in late.why
    done = tale.log("treatment", tank="electrolyte", what="Filter change")
    assert "electrolyte.chore.filter" not in findings(tale)
    for _ in range(9):
        run(tale, charge_ah=filter_chore.charge_ah / 8)
    again = findings(tale)["electrolyte.chore.filter"]
    assert again.because.entries == (done,) and "450 Ah since" in again.what  # nine eighths of 400


def test_a_panel_is_asked_for_by_charge_and_bags_only_where_anodes_hang():
    tale = line().day(20)
    for _ in range(21):
        run(tale)
    assert "electrolyte.chore.panel" in findings(tale)
    tale.log("reading", tank="electrolyte", values=[{"of": "panel", "word": "good", "unit": "verdict"}])
    assert "electrolyte.chore.panel" not in findings(tale)
    assert "electrolyte.chore.anode bags" not in findings(tale.day(140))
    tale.log("anode", tank="electrolyte", anode="zinc-1", action="hung", metal="zinc", mass_g=2000.0, area_dm2=2.0)
    assert "electrolyte.chore.anode bags" in findings(tale)


def test_a_recipes_own_reading_goes_before_the_chore():
    assert not any(".chore.ph" in id for id in findings(line().day(100)))  # the recipe has its own days for pH


def test_a_ph_meter_in_use_is_compared_with_buffers():
    tale = line()
    for day in (0, 20, 40):
        tale.day(day).read("electrolyte", unit="pH", method="pH meter", ph=5.4)
    late = findings(tale)["workshop.chore.pH meter"]
    assert late.tank == "workshop" and "never on record" in late.why
    tale.log("calibration", what="meter", name="pocket", against="buffers 4 and 7", result=1.0)
    assert "workshop.chore.pH meter" not in findings(tale)
    assert "workshop.chore.pH meter" not in findings(tale.day(200))  # not used for months: nothing rests on it


def test_a_heater_at_low_level_is_now():
    tale = Telling()
    tale.tank("degreaser", "degrease", 1, "alkaline-degreaser", 20.0)
    tale.log("make_up", tank="degreaser", volume_l=18.5)
    assert "degreaser.heater.level" not in findings(tale)
    tale.log("removal", tank="degreaser", volume_l=2.0, to="drum-1")
    told = findings(tale)["degreaser.heater.level"]
    assert told.level == "now" and "overheats" in told.why


def test_stock_is_bought_before_it_runs_out():
    tale = line()
    tale.log("stock", reagent="zinc chloride", action="bought", amount=700.0, unit="g")
    for week in range(1, 7):
        tale.day(7 * week).add("electrolyte", "zinc chloride", 100.0)
    told = findings(tale)["workshop.reorder.zinc chloride"]
    assert told.level == "soon" and "100 g left" in told.what and told.because.entries and told.because.formula
    tale.log("stock", reagent="zinc chloride", action="bought", amount=5000.0, unit="g")
    assert "workshop.reorder.zinc chloride" not in findings(tale)


def test_zinc_left_hanging_on_a_line_that_rests_is_lifted():
    tale = line()
    tale.log("anode", tank="electrolyte", anode="zinc-1", action="hung", metal="zinc", mass_g=4000.0, area_dm2=5.0)
    last = run(tale)
    assert "electrolyte.idle.zinc" not in findings(tale.day(2))
    told = findings(tale.day(5))["electrolyte.idle.zinc"]
    assert last in told.because.entries and "a week" in told.why
    tale.log("anode", tank="electrolyte", anode="zinc-1", action="lifted")
    assert "electrolyte.idle.zinc" not in findings(tale)


def test_a_spent_pickle_is_renewed_by_the_sign_that_decides():
    tale = Telling()
    tale.tank("pickle", "pickle", 1, "bisulfate-pickle", 20.0)
    tale.log("make_up", tank="pickle", volume_l=20.0, contents={"free acid": 100.0, "iron": 0.0})
    assert not any(".spent." in id for id in findings(tale.day(1)))
    for _ in range(2):
        tale.read("pickle", free_acid=45.0)
    told = findings(tale)["pickle.spent.free acid"]
    assert told.level in ("soon", "now") and told.because.entries and told.because.sources


def test_an_open_plan_names_its_next_step_and_grows_stale():
    tale = line()
    steps = [{"step": 1, "action": "add", "reagent": "zinc chloride", "amount": 120.0, "unit": "g"}]
    plan = tale.log("plan", tank="electrolyte", purpose="dose", steps=steps)
    told = findings(tale)["electrolyte.plan.dose"]
    assert "add 120 g zinc chloride" in told.what and told.because.entries == (plan,)
    assert "moved on" in findings(tale.day(9))["electrolyte.plan.dose"].why
    salt = [{"reagent": "zinc chloride", "amount": 120.0, "unit": "g"}]
    tale.log("addition", tank="electrolyte", items=salt, plan=plan, step=1)
    assert "electrolyte.plan.dose" not in findings(tale)


def test_a_limit_that_comes_within_the_month_is_forecast_until_it_is_passed():
    tale = line()
    for day in range(1, 29):
        run(tale.day(day), charge_ah=8.0)
        tale.log("addition", tank="electrolyte", items=[{"reagent": "water", "amount": 0.2, "unit": "L"}])
    for _ in range(2):
        tale.read("electrolyte", nickel=20.9, zinc=32.0)
    world = tale.world()
    told = forecasts(world, tale.entries, tale.moment, "electrolyte")["electrolyte"]
    seen = {f.id: f for f in forecast_findings(told, Preferences())}
    ahead = seen["electrolyte.forecast_low.nickel_of_metal"]
    assert ahead.by is not None and tale.moment < ahead.by < tale.moment + timedelta(days=30)
    assert ahead.because.entries and ahead.because.formula and "chance" in ahead.why
    passed = ahead.id.replace("forecast_low", "low")
    already = [Finding(id=passed, tank="electrolyte", what="", why="", level="now", because=ahead.because)]
    ranked = due([], {}, [], already, tale.moment, [ahead])
    assert [f.id for f in ranked] == [passed]  # told once, as what it is
    assert [f.id for f in due([], {}, [], [], tale.moment, [ahead])] == [ahead.id]


def test_the_latest_word_on_a_finding_counts():
    tale = line()
    first = tale.moment + timedelta(days=9)
    tale.log("snooze", finding="a.b.c", until=first, reason="x")
    assert put_off(tale.entries, tale.moment)["a.b.c"].until == first
    tale.log("snooze", finding="a.b.c", until=tale.moment + timedelta(days=1), reason="y")
    assert put_off(tale.entries, tale.moment + timedelta(days=2)) == {}
    world = line().world()
    views = [tank_view(s, world.catalogue.metals) for s in world.tanks.values()]
    empty = due(views, {}, [], [], tale.moment, put_off=["electrolyte.low.level"])
    assert "electrolyte.low.level" not in [f.id for f in empty]


@pytest.mark.parametrize(
    ("body", "names"),
    [
        ("[chores.x]\n", "chores"),
        ('[chore.x]\ntitle="x"\nwhat="x"\nwhy="x"\nstatus="practice"\nreading="ph"\n', "days"),
        ('[chore.x]\ntitle="x"\nwhat="x"\nwhy="x"\nstatus="practice"\ndays=3\n', "done by one of"),
        ('[chore.x]\ntitle="x"\nwhat="x"\nwhy="x"\nstatus="seen"\ndays=3\nreading="ph"\n', "source"),
        ("", "heater"),
    ],
)
def test_a_file_of_chores_that_does_not_hold_names_what_is_wrong(tmp_path: Path, body: str, names: str):
    heater = '[heater]\nbelow=0.9\nwarm_c=28\nwhat="x"\nwhy="x"\nstatus="practice"\n' if body else ""
    file = tmp_path / "chores.toml"
    file.write_text(body + heater)
    with pytest.raises(CatalogueError, match=names):
        read_chores(file)
