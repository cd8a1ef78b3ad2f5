"""What an entry changed, in words: a make-up of long ago says what is left of it."""

from __future__ import annotations

from datetime import timedelta

from bathkeeper.answers.differences import changes
from tests.estimate.helpers import Book, take


def told(days: float) -> str:
    book = Book()
    book.tank("pickle", "pickle", 1, "bisulfate-pickle")
    before = take(book.entries)
    book.make_up("pickle", 20.0, {"free acid": 100.0})
    (line,) = [c for c in changes(before, take(book.entries), book.moment + timedelta(days=days)) if "made up" in c]
    return line


def test_a_make_up_of_today_says_its_litres_alone():
    assert told(0) == "pickle: made up, 20 L"


def test_a_make_up_of_long_ago_says_what_evaporated_since():
    line = told(3000)
    assert line.startswith("pickle: made up, 20 L, of which about ") and "evaporated since" in line
    assert line.endswith("L are there now by the book")
