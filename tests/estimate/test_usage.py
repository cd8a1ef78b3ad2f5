"""How a tank is used, from its entries and from the keeper's own plan."""

from __future__ import annotations

import pytest

from bathkeeper.catalogue.loader import load
from bathkeeper.estimate.usage import TOP_UP_DAYS, BranchUse, Usage, usage_of
from tests.estimate.helpers import Book


def used(book: Book, tank: str = "bath") -> Usage:
    return usage_of(book.ordered(), tank, book.moment, book.world().catalogue)


def test_a_regular_habit_is_told_as_it_is() -> None:
    book = Book()
    book.bath()
    for day in range(1, 29, 2):
        book.day(day).plate(5.0 if day % 4 == 1 else 7.0, 4.0)
        if day % 14 == 1:
            book.add("bath", "water", 1.0, "L")
    usage = used(book)
    assert usage.runs == 14
    assert usage.runs_per_week == pytest.approx(14 / (26 / 7), rel=0.01)
    assert usage.charge_ah == pytest.approx(6.0)
    assert usage.charge_sd_ah == pytest.approx(1.04, abs=0.01)
    assert usage.gap_cv2 == pytest.approx(3 / 16, abs=0.01)  # no scatter in 13 gaps, chance counting as three
    assert usage.branches == (BranchUse("main", 1.0),)
    assert usage.source == "last weeks"
    assert usage.top_up_days == TOP_UP_DAYS  # one gap is no habit
    assert usage.watered is not None


def test_the_wiring_of_the_latest_run_counts() -> None:
    book = Book()
    book.bath()
    book.day(1).plate()
    for day, nickel in ((2, 0.5), (3, 1.0)):
        branches = [
            {"supply": "main", "anodes": ["zinc-1"], "charge": {"charge_ah": 4.0}},
            {"supply": "second", "anodes": ["nickel-1"], "charge": {"charge_ah": nickel}},
        ]
        book.day(day).log("run", steps=[{"tank": "bath", "minutes": 45.0, "branches": branches, "temperature_c": 30.0 + day}])
    usage = used(book)
    assert [(b.supply, b.anodes) for b in usage.branches] == [("main", ("zinc-1",)), ("second", ("nickel-1",))]
    assert usage.branches[1].part == pytest.approx(1.5 / 9.5)
    assert usage.temperature_c == pytest.approx(32.5)


def test_dummy_charge_and_old_runs_are_not_use() -> None:
    book = Book()
    book.bath()
    book.day(1).plate()
    step = {"tank": "bath", "minutes": 60.0, "charge": {"charge_ah": 3.0}, "supply": "main", "dummy": True}
    book.day(80).log("run", steps=[step])
    usage = used(book)
    assert usage.source == "nothing" and usage.runs == 0 and usage.runs_per_week == 0


def test_a_plan_of_the_keeper_goes_before_the_entries() -> None:
    book = Book()
    book.bath()
    for day in range(1, 10):
        book.day(day).plate(5.0, 4.0)
    book.log("definition", of="use plan", name="bath", body={"runs_per_week": 2.0, "charge_ah_per_run": 12.0})
    usage = used(book)
    assert (usage.source, usage.runs_per_week, usage.charge_ah) == ("plan", 2.0, 12.0)
    assert usage.area_dm2 == pytest.approx(4.0)
    assert usage.branches == (BranchUse("main", 1.0),)


def test_a_tank_without_runs_is_not_used() -> None:
    book = Book()
    book.bath()
    assert usage_of(book.ordered(), "bath", book.moment, load()).source == "nothing"
