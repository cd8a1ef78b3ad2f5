"""An allowance is watched: what is used of it, from when on there is room, what is asked, what a plan counts."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from bathkeeper.answers.allowing import allowance_doubts
from bathkeeper.catalogue.own_waste import WasteLimit
from bathkeeper.due.waste import waste_findings
from bathkeeper.entries import parse
from bathkeeper.estimate.fold import at_moment
from bathkeeper.ledger import Ledger
from bathkeeper.logbook.book import Book as Logbook
from bathkeeper.waste.allowing import Taken, concerns, months_for, use_of
from bathkeeper.workshop import Workshop
from tests.estimate.helpers import START, Book, take

DAY = timedelta(days=1)
NOW = datetime(2026, 3, 1, 9, 0, tzinfo=UTC)
FIVE = WasteLimit(what="allowance", volume_l=5.0, per_days=30.0, authority="Quayside council")


def went(days_ago: float, litres: float, to: str = "Quayside council", container: str = "drum-1", kg: float = 0.0) -> Taken:
    return Taken(at=NOW - days_ago * DAY, to=to, container=container, litres=litres, kg=kg)


@pytest.mark.parametrize(
    ("handed", "used", "next_in"),
    [
        ([], 0.0, None), ([(1, 2.0)], 2.0, None), ([(1, 5.0)], 5.0, 29), ([(1, 7.0), (0, 2.0)], 9.0, 29),
        ([(9, 2.0), (3, 4.0)], 6.0, 21), ([(9, 2.0), (3, 5.0)], 7.0, 27), ([(30, 7.0)], 0.0, None), ([(-1, 7.0)], 0.0, None),
    ],
)  # fmt: skip
def test_what_was_handed_over_counts_for_the_days_of_the_limit(handed, used: float, next_in: int | None):
    use = use_of("council", FIVE, [went(*h) for h in handed], NOW)
    assert use.used == pytest.approx(used) and use.left == pytest.approx(max(5.0 - used, 0.0))
    assert use.next_from == (NOW + next_in * DAY if next_in is not None else None)
    assert use.text.startswith(f"{used:g} of 5 L used in the last 30 days") and ("next from" in use.text) == use.full


def test_kilograms_count_for_a_limit_in_kilograms():
    limit = WasteLimit(what="allowance", mass_kg=20.0)
    assert use_of("x", limit, [went(1, 7.0, kg=8.4, to="anyone")], NOW).used == pytest.approx(8.4)


@pytest.mark.parametrize(
    ("authority", "to", "counts"),
    [
        ("Quayside council", "quayside Council", True), ("Quayside council", "Quayside council, east yard", True),
        ("Quayside council", "Quayside", True), ("Quayside council", "Hill carriers", False), ("", "anyone", True),
        ("Quayside council", "", False), ("Hill", "Hillside yard", False),
    ],
)  # fmt: skip
def test_an_authority_is_known_by_its_words(authority: str, to: str, counts: bool):
    limit = WasteLimit(what="allowance", volume_l=5.0, authority=authority)
    assert concerns(limit, to, "drum-1") == counts
    assert not concerns(WasteLimit(what="allowance", volume_l=5.0, containers=("drum-2",)), to, "drum-1")


@pytest.mark.parametrize(("used", "litres", "months"), [(0, 1, 1), (0, 5, 1), (0, 6, 2), (4, 1, 1), (4, 2, 2), (9, 1, 2)])
def test_months_count_what_is_used_up(used: float, litres: float, months: int):
    assert months_for(use_of("council", FIVE, [went(1, used)], NOW), litres) == months


def handed(first: float = 7.0, second: float = 2.0) -> Book:
    """10 L in a drum, of which some goes to the council on two days."""
    book = Book()
    book.log("workshop", name="Invented bench", country="England")
    body = {"what": "allowance", "volume_l": 5.0, "per_days": 30.0, "authority": "Quayside council"}
    book.log("definition", of="waste limit", name="council", body=body)
    book.tank("pickle", "pickle", 1, "bisulfate-pickle")
    book.make_up("pickle", 10.0, {"free acid": 100.0})
    book.log("removal", tank="pickle", all=True, to="drum-1")
    for day, litres in ((1, first), (2, second)):
        if litres:
            book.day(day)
            whom = {"to": "Quayside council", "reference": f"H-{day}"}
            book.log("container", container="drum-1", action="handed over", volume_l=litres, **whom)
    return book


def doubts(book: Book, day: float, **amount: object) -> list[str]:
    moment = START + timedelta(days=day)
    raw = {"kind": "container", "container": "drum-1", "action": "handed over", "to": "Quayside council", "reference": "H-9",
           "id": "invented-1", "at": moment, **amount}  # fmt: skip
    return allowance_doubts(parse(raw), at_moment(take(book.entries), moment))


def test_handing_over_beyond_it_is_asked_about():
    (first,) = doubts(handed(0, 0), 3, volume_l=7.0)
    assert "7 L in 30 days is more than the 5 L that Quayside council takes by your limit council" in first
    assert not doubts(handed(0, 0), 3, volume_l=5.0)
    (again,) = doubts(handed(), 3, all=True)
    assert "10 L in 30 days" in again and "next from 2026-02-05" in again
    assert not doubts(handed(), 33, all=True)
    assert not doubts(handed(), 3, all=True, to="Hill carriers")
    (kilograms,) = doubts(handed(0, 0), 3, mass_kg=9.0)
    assert "more than the 5 L" in kilograms


def test_due_says_from_when_on_and_only_while_there_is_waste():
    book = handed()
    now = START + timedelta(days=3)
    told = {f.id: f for f in waste_findings(at_moment(take(book.entries), now), now)}["workshop.allowance.council"]
    assert "before 2026-02-05" in told.what and "9 of 5 L used" in told.why
    book.log("container", container="drum-1", action="handed over", all=True, to="Hill carriers", reference="H-3")
    assert not [f for f in waste_findings(at_moment(take(book.entries), now), now) if ".allowance." in f.id]


def test_what_was_refused_counts_for_no_allowance():
    book = handed(0, 0)
    assert not doubts(book, 3, all=True, papers={"refused": "no room"})
    book.day(1)
    book.log("container", container="drum-1", action="handed over", all=True, to="Quayside council", reference="H-1")
    assert doubts(book, 3, volume_l=1.0)
    book.log("container", container="drum-1", action="handed over", reference="H-1", papers={"refused": "no room"})
    assert not doubts(book, 3, volume_l=5.0) and not doubts(book, 3, receipt="R-1", to=None)
    now = START + timedelta(days=3)
    assert not [f for f in waste_findings(at_moment(take(book.entries), now), now) if ".allowance." in f.id]


def test_status_and_plan_count_it(tmp_path: Path):
    path = tmp_path / "invented.logbook.jsonl"
    Logbook.open(path, create=True).append_many(handed().entries)
    ledger = Ledger(Workshop.open(path))
    now = START + timedelta(days=3)
    (use,) = ledger.status(now).allowances
    assert use.text == "9 of 5 L used in the last 30 days; next from 2026-02-05"
    plan = ledger.plan("drum-1", now)
    assert plan.months == 2
    assert ledger.plan("drum-1", START + timedelta(days=40)).months == 1


def test_from_when_there_is_room_for_so_much() -> None:
    limit = WasteLimit(what="allowance", volume_l=5.0, per_days=30.0)
    start = datetime(2026, 2, 1, 9, tzinfo=UTC)
    every = [
        Taken(at=start + timedelta(days=d), to="council", container="drum", litres=litres, kg=None)
        for d, litres in ((0, 2.0), (9, 2.0))
    ]
    use = use_of("council", limit, every, start + timedelta(days=12))
    assert (use.room_from(3.0), use.room_from(5.0)) == (start + timedelta(days=30), start + timedelta(days=39))
    assert use.room_from(6.0) is None
