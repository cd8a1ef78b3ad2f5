"""The bench's other use cases: parts in words, a setting that becomes a plan, runs done again, what became of them."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest

from bathkeeper.entries import parse
from bathkeeper.runs.live import LiveError
from bathkeeper.workshop import NotFound

from .live_bench import START, bench

BEFORE = START - timedelta(days=1)


@pytest.fixture
def place(tmp_path: Path) -> Path:
    return tmp_path / "shed.logbook.jsonl"


def log_run(shop, at=BEFORE, amperes=6.4, **fields):
    step = {"tank": "electrolyte", "minutes": 40.0, "charge": {"current_a": amperes}}
    part = {"description": "hinges", "count": 4, "area_dm2": 3.2}
    return shop.workshop.log({"kind": "run", "at": at, "parts": [part], "steps": [step], **fields}).entry


def test_parts_in_words_become_the_entrys_parts(place):
    shop, clock = bench(place)
    (plate,) = shop.parts("2x plate 100x60x2 mm")
    assert plate.area_dm2 == pytest.approx(2 * 2 * (60 + 2 + 1.2) / 100, rel=0.01)  # six faces of 100 x 60 x 2, in cm2
    shop.start(shop.line_plan(parts="2x plate 100x60x2 mm", current_a=0.5))
    shop.enter("electrolyte")
    clock.go(40)
    (part,) = shop.finish().entry.parts
    assert (part.count, part.area_dm2) == (2, pytest.approx(plate.area_dm2)) and part.spread == pytest.approx(plate.half_dm2)


def test_what_was_plated_before_is_known_by_name(place):
    shop, _ = bench(place)
    log_run(shop)
    assert shop.known_parts()["hinges"].area_dm2 == pytest.approx(0.8)
    assert shop.line_plan(parts="8x hinges").area_dm2 == pytest.approx(6.4)


def test_a_setting_becomes_the_plan(place):
    shop, _ = bench(place)
    setting = shop.setting(area_dm2=3.2, thickness_um=8)
    plan = shop.line_plan(area_dm2=3.2, setting=setting)
    step = next(s for s in plan.steps if s.tank == "electrolyte")
    assert step.current_a == pytest.approx(setting.current_a.value, rel=0.01) and step.current_from == "set for this load"
    assert step.minutes == pytest.approx(setting.minutes.value, rel=0.01)


def test_without_a_run_or_a_word_the_current_is_that_of_the_window(place):
    shop, _ = bench(place)
    step = next(s for s in shop.line_plan(area_dm2=3.2).steps if s.tank == "electrolyte")
    assert step.current_a == pytest.approx(shop.setting(area_dm2=3.2).current_a.value, rel=0.01)
    log_run(shop)
    step = next(s for s in shop.line_plan(area_dm2=1.6).steps if s.tank == "electrolyte")
    assert step.current_a == 3.2 and "density" in step.current_from  # what this line did comes before the window


def test_two_supplies_asked_for_become_branches(place):
    shop, _ = bench(place)
    setting = shop.setting(area_dm2=3.2, supplies=("bench-1=zinc", "bench-2=nickel"))
    step = next(s for s in shop.line_plan(area_dm2=3.2, setting=setting).steps if s.tank == "electrolyte")
    assert [(b.supply, b.anodes) for b in step.branches] == [("bench-1", ("zinc-1", "zinc-2")), ("bench-2", ("nickel-1",))]
    assert sum(b.current_a for b in step.branches) == pytest.approx(setting.current_a.value, rel=0.01)


def test_a_setting_needs_a_tank_that_is_there(place):
    shop, _ = bench(place)
    with pytest.raises(NotFound, match="there are degreaser"):
        shop.setting("electrolite", area_dm2=3.2)
    with pytest.raises(LiveError, match="not both"):
        shop.setting(area_dm2=3.2, parts="plate 10x10x1 mm")


def test_runs_again_outcomes_and_comparison(place):
    shop, _ = bench(place)
    first = log_run(shop)
    second = log_run(shop, at=BEFORE + timedelta(hours=2), amperes=9.0)
    shop.note_outcome(first.id, result="good")
    logged = shop.note_outcome(second.id, defect="burning", rejects=2, photos=("edge.jpg",))
    assert logged.entry.text == "defect burning, rejects 2, photos edge.jpg"
    assert [r.id for r in shop.runs(result="bad")] == [second.id] and shop.outcome(first.id).good is True
    again = shop.repeat_run("last", START, area_dm2=1.6)
    assert parse({"id": "x" * 8, **again.raw}).steps[0].charge.current_a == pytest.approx(4.5)
    assert shop.repeat_run(first.id, START, parts="2x hinges").raw["parts"][0]["area_dm2"] == pytest.approx(1.6)
    assert shop.compare().tank == "electrolyte" and shop.compare(of="burning").bad == (second.id,)
    with pytest.raises(LiveError, match="nothing was said"):
        shop.note_outcome(first.id)
    with pytest.raises(NotFound, match="no entry has the id"):
        shop.outcome("nowhere-at-all")


def test_the_last_run_is_the_last_that_was_plated(place):
    shop, _ = bench(place)
    plated = log_run(shop)
    rust = {"tank": "rust-removal", "minutes": 30.0, "charge": {"current_a": 6.0}}
    shop.workshop.log({"kind": "run", "at": BEFORE + timedelta(hours=3), "steps": [rust]})
    dummy = {"tank": "electrolyte", "minutes": 480.0, "charge": {"current_a": 0.3}, "dummy": True}
    shop.workshop.log({"kind": "run", "at": BEFORE + timedelta(hours=4), "steps": [dummy]})
    assert shop.line_plan(like="last").like == plated.id
