"""The same current once more: a part of it, more of it, on another clock, by another logger of the same header."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from bathkeeper.bench.intake import TraceIntake, Wanted
from bathkeeper.entries import Run
from bathkeeper.traces.asking import Answers, TraceError
from bathkeeper.workshop import Workshop
from tests.traces.making import START, Sample, charge, load
from tests.traces.test_intake import PLAIN, shop

BATH = Wanted(tank="bath")


def log(folder: Path, name: str, samples: list[Sample], later_s: float = 0.0, head: str = "Time,Current (A)") -> Path:
    rows = [f"{START + timedelta(seconds=t + later_s):%Y-%m-%d %H:%M:%S},{i:.2f}" for t, i in samples]
    path = folder / name
    path.write_text("\n".join([head, *rows]) + "\n")
    return path


def booked(folder: Path, samples: list[Sample]) -> tuple[Workshop, TraceIntake]:
    workshop = shop(folder, run=False)
    intake = TraceIntake(workshop)
    intake.book(intake.propose(log(folder, "first.csv", samples), PLAIN, BATH))
    return workshop, intake


def the_run(workshop: Workshop) -> Run:
    (run,) = [e for e in workshop.entries() if isinstance(e, Run)]
    return run


def test_a_part_of_what_is_there_is_nothing_new(tmp_path: Path) -> None:
    _, intake = booked(tmp_path, load())
    for part in (load()[:120], load()[120:], load()[60:200]):
        with pytest.raises(TraceError, match="a part of the same current: nothing to take in"):
            intake.propose(log(tmp_path, "part.csv", part), PLAIN, BATH)


def test_more_of_it_takes_the_place_of_the_part(tmp_path: Path) -> None:
    workshop, intake = booked(tmp_path, load()[:120])
    whole = log(tmp_path, "whole.csv", load())
    asked = intake.propose(whole, PLAIN, BATH)
    (question,) = asked.questions
    assert "a part of this current" in question.text and "--instead" in question.choices[0].option
    with pytest.raises(TraceError, match="--instead"):
        intake.propose(whole, PLAIN, Wanted(run=the_run(workshop).id))
    intake.book(intake.propose(whole, PLAIN, Wanted(run=the_run(workshop).id, instead=True)))
    run = the_run(workshop)
    assert workshop.world.tanks["bath"].counters.charge_ah == pytest.approx(charge(load()), rel=1e-6)
    assert run.steps[0].minutes == pytest.approx(39.7, abs=0.5) and run.note == "from the logger's file whole.csv"
    assert abs(run.at - START.replace(tzinfo=UTC) - timedelta(minutes=39.8)) < timedelta(minutes=1)


@pytest.mark.parametrize("minutes", [2, 5, 10, 29])
def test_on_a_clock_that_is_off_it_is_asked_about(tmp_path: Path, minutes: int) -> None:
    _, intake = booked(tmp_path, load())
    (question,) = intake.propose(log(tmp_path, "off.csv", load(), 60.0 * minutes), PLAIN, BATH).questions
    assert question.about == "repeated" and f"{minutes} min apart" in question.text


def test_on_a_clock_of_another_zone_the_offset_is_offered(tmp_path: Path) -> None:
    _, intake = booked(tmp_path, load())
    path = log(tmp_path, "summer.csv", load(), 3600.0)
    (question,) = intake.propose(path, PLAIN, BATH).questions
    assert question.choices[0].option == "--offset +01:00"
    with pytest.raises(TraceError, match="the same current at the same time"):
        intake.propose(path, PLAIN, Wanted(tank="bath", zone="+01:00"))


def test_a_load_like_it_an_hour_and_a_bit_later_is_another(tmp_path: Path) -> None:
    workshop, intake = booked(tmp_path, load())
    intake.book(intake.propose(log(tmp_path, "next.csv", load(), 4000.0), PLAIN, BATH))
    assert workshop.world.tanks["bath"].counters.charge_ah == pytest.approx(2 * charge(load()), rel=1e-6)


def test_a_unit_that_was_kept_is_asked_about_where_it_no_longer_fits(tmp_path: Path) -> None:
    """Two loggers that both head their columns Time and Current: one in mA, the other in A."""
    intake = TraceIntake(shop(tmp_path, run=False))
    in_ma = log(tmp_path, "ma.csv", [(t, 1000 * i) for t, i in load()], head="Time,Current")
    intake.book(intake.propose(in_ma, Answers(zone=UTC, units={"current": "mA"}), BATH))
    other = intake.propose(log(tmp_path, "a.csv", load(), 86_400.0, head="Time,Current"), PLAIN, BATH)
    assert other.remembered and [q.about for q in other.questions] == ["unit.current"]
    next_day = log(tmp_path, "ma2.csv", [(t, 1000 * i) for t, i in load()], 86_400.0, head="Time,Current")
    again = intake.propose(next_day, PLAIN, BATH)
    assert again.remembered and not again.questions


def test_a_date_alone_leaves_the_time_to_the_file(tmp_path: Path) -> None:
    intake = TraceIntake(shop(tmp_path, run=False))
    path = tmp_path / "night.csv"
    rows = [f"{(datetime(2026, 1, 1, 23, 40) + timedelta(seconds=t)):%H:%M:%S},{i:.2f}" for t, i in load()]
    path.write_text("\n".join(["Time,Current (A)", *rows]) + "\n")
    told = intake.propose(path, Answers(zone=UTC, start_day=date(2026, 5, 13)), BATH)
    assert told.reading.start == datetime(2026, 5, 13, 23, 40, tzinfo=UTC) and not told.questions
    assert told.reading.end == datetime(2026, 5, 14, 0, 19, 50, tzinfo=UTC)
    other = intake.propose(path, Answers(zone=UTC, start=datetime(2026, 5, 13, 10, tzinfo=UTC)), BATH)
    assert any("its own clock begins at 23:40" in d for d in other.doubts)


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "is empty"),
        (b"\n\n \n", "is empty"),
        (b"PK\x03\x04" + bytes(200), "a workbook"),
        (b"\x89PNG\r\n" + bytes(99), "a picture"),
    ],
)
def test_what_is_no_text_is_named(tmp_path: Path, data: bytes, said: str) -> None:
    path = tmp_path / "log.csv"
    path.write_bytes(data)
    with pytest.raises(TraceError, match=said):
        TraceIntake(shop(tmp_path)).propose(path, PLAIN)
