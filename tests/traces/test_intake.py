"""From a file to entries: onto the run it belongs to, into a run of its own, never twice, and nothing by halves."""

from __future__ import annotations

from datetime import UTC, timedelta
from pathlib import Path
from typing import Any

import pytest

from bathkeeper.bench.intake import TraceIntake, Wanted
from bathkeeper.entries import Correction, Definition, Reading, Run
from bathkeeper.traces.asking import Answers, TraceError
from bathkeeper.traces.zones import zone_named
from bathkeeper.workshop import NotFound, Workshop
from tests.traces.making import FOLDER, START, charge, every, load

PLAIN = Answers(zone=zone_named("UTC"))
RIGHT_AH = charge(load())


def shop(folder: Path, *, run: bool = True) -> Workshop:
    """A bath that has been plated in at the time of the corpus; the run's charge was typed by hand from memory."""
    at = START.replace(tzinfo=UTC)
    workshop = Workshop.open(folder / "shop.logbook.jsonl", create=True)
    raws: list[dict[str, Any]] = [
        {"kind": "workshop", "at": at - timedelta(days=2), "name": "Invented bench"},
        {"kind": "tank", "at": at - timedelta(days=2), "tank": "bath", "role": "plate", "order": 1,
         "recipe": "zinc-nickel-chloride-potassium", "working_volume_l": 40.0},
        {"kind": "make_up", "at": at - timedelta(days=1), "tank": "bath", "volume_l": 40.0},
    ]  # fmt: skip
    if run:
        step = {"tank": "bath", "minutes": 40.0, "charge": {"current_a": 6.5}}
        parts = [{"description": "hinges", "area_dm2": 4.3}]
        raws.append({"kind": "run", "at": at + timedelta(minutes=41), "steps": [step], "parts": parts})
    workshop.log_all(raws)
    return workshop


def file(name: str) -> Path:
    return FOLDER / name


def test_a_trace_goes_onto_the_run_of_its_time(tmp_path: Path):
    workshop = shop(tmp_path)
    intake = TraceIntake(workshop)
    proposal = intake.propose(file("plain.csv"), PLAIN)
    assert not proposal.questions and proposal.attached.spot is not None
    made = intake.book(proposal)
    assert isinstance(made[0], Correction)
    run = next(e for e in workshop.entries() if isinstance(e, Run))
    trace = run.steps[0].charge.trace if run.steps[0].charge is not None else None
    assert trace is not None and trace.charge_ah == pytest.approx(RIGHT_AH, rel=1e-6)
    assert trace.file == "plain.csv" and len(trace.sha256) == 64
    assert run.parts[0].description == "hinges"  # the rest of the run stays
    assert 2 < len(trace.points) <= 200
    assert workshop.world.tanks["bath"].counters.charge_ah == pytest.approx(RIGHT_AH, rel=1e-6)


def test_the_same_file_again_is_refused(tmp_path: Path):
    intake = TraceIntake(shop(tmp_path))
    intake.book(intake.propose(file("plain.csv"), PLAIN))
    with pytest.raises(TraceError, match="in the book already, byte for byte"):
        intake.propose(file("plain.csv"), PLAIN)


@pytest.mark.parametrize("other", ["utf16.txt", "apart.csv", "millis.csv", "padded.csv"])
def test_the_same_run_in_another_dialect_is_not_booked_again(tmp_path: Path, other: str):
    case = next(c for c in every() if c.name == other)
    workshop = shop(tmp_path)
    intake = TraceIntake(workshop)
    intake.book(intake.propose(file("plain.csv"), PLAIN))
    before = workshop.book.path.read_bytes()
    told = {**case.answers, "zone": zone_named("UTC")}
    try:
        proposal = intake.propose(file(other), Answers(**told))
    except TraceError as problem:
        assert "same current" in str(problem)
    else:
        assert proposal.questions, other
    assert workshop.book.path.read_bytes() == before


def test_without_a_run_near_it_is_asked_where_it_belongs(tmp_path: Path):
    workshop = shop(tmp_path, run=False)
    intake = TraceIntake(workshop)
    asked = intake.propose(file("plain.csv"), PLAIN)
    assert [q.about for q in asked.questions] == ["run"] and asked.raws == ()
    with pytest.raises(TraceError, match="has to be answered first"):
        intake.book(asked)
    made = intake.book(intake.propose(file("plain.csv"), PLAIN, Wanted(tank="bath")))
    assert isinstance(made[0], Run) and made[0].steps[0].tank == "bath"
    assert workshop.world.tanks["bath"].counters.charge_ah == pytest.approx(RIGHT_AH, rel=1e-6)


def test_a_charge_far_from_the_typed_one_is_asked_about(tmp_path: Path):
    workshop = shop(tmp_path, run=False)
    step = {"tank": "bath", "minutes": 40.0, "charge": {"charge_ah": 19.0}}
    workshop.log({"kind": "run", "at": START.replace(tzinfo=UTC) + timedelta(minutes=41), "steps": [step]})
    proposal = TraceIntake(workshop).propose(file("plain.csv"), PLAIN)
    assert proposal.questions and "19" in proposal.questions[0].text


@pytest.mark.parametrize("name", ["set_only.csv", "zeros.csv", "wrong_name.csv"])
def test_set_values_zeros_and_wrong_names_are_asked_about_and_not_booked(tmp_path: Path, name: str):
    proposal = TraceIntake(shop(tmp_path)).propose(file(name), PLAIN)
    assert proposal.questions and proposal.raws == ()
    assert all(q.choices for q in proposal.questions)


def test_a_logger_is_remembered_and_asks_no_second_time(tmp_path: Path):
    """Its file does not say mA or A: once told, the next file of the same header needs no answer."""
    case = next(c for c in every() if c.name == "unit_absent.csv")
    workshop = shop(tmp_path)
    intake = TraceIntake(workshop)
    assert intake.propose(file(case.name), PLAIN).questions
    made = intake.book(intake.propose(file(case.name), Answers(**{**case.answers, "zone": zone_named("UTC")})))
    assert any(isinstance(e, Definition) and e.of == "trace source" for e in made)
    later = tmp_path / "later.csv"
    later.write_bytes(case.data.replace(b"2026-05-13", b"2026-05-20"))
    second = intake.propose(later, PLAIN, Wanted(tank="bath"))
    assert second.remembered and not second.questions
    assert second.reading.charge_ah == pytest.approx(case.ah, rel=1e-6)


def test_temperatures_become_readings_with_how_many_samples(tmp_path: Path):
    workshop = shop(tmp_path)
    intake = TraceIntake(workshop)
    made = intake.book(intake.propose(file("warm.csv"), PLAIN, Wanted(tank="bath")))
    readings = [e for e in made if isinstance(e, Reading)]
    assert readings and readings[0].values[0].of == "temperature" and "samples" in (readings[0].note or "")


def test_interrupting_leaves_the_book_as_it_was(tmp_path: Path):
    workshop = shop(tmp_path)
    before = workshop.book.path.read_bytes()

    def stop(_: int) -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        TraceIntake(workshop).propose(file("plain.csv"), PLAIN, seen=stop)
    assert workshop.book.path.read_bytes() == before


def test_names_that_are_not_there(tmp_path: Path):
    intake = TraceIntake(shop(tmp_path))
    with pytest.raises(NotFound, match="no tank is called `bat`"):
        intake.propose(file("plain.csv"), PLAIN, Wanted(tank="bat"))
    with pytest.raises(NotFound):
        intake.propose(file("plain.csv"), PLAIN, Wanted(run="nosuchrun"))
