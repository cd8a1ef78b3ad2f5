"""Moments as people type them."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from bathkeeper.moments import moment

NOW = datetime(2026, 11, 25, 14, 30, tzinfo=UTC).astimezone()


@pytest.mark.parametrize(
    ("text", "day", "clock"),
    [
        ("", (11, 25), NOW.strftime("%H:%M")),
        ("now", (11, 25), NOW.strftime("%H:%M")),
        ("yesterday", (11, 24), "12:00"),
        ("yesterday 16:00", (11, 24), "16:00"),
        ("today 9:05", (11, 25), "09:05"),
        ("16:00", (11, 25), "16:00"),
        ("24.11.2026", (11, 24), "12:00"),
        ("3.2.2026 7:30", (2, 3), "07:30"),
        ("2026-11-02", (11, 2), "12:00"),
        ("2026-11-02T08:15", (11, 2), "08:15"),
    ],
)
def test_understood(text, day, clock):
    found = moment(text, NOW)
    assert (found.month, found.day) == day
    assert found.strftime("%H:%M") == clock
    assert found.tzinfo is not None


@pytest.mark.parametrize("text", ["11/4/2026", "11/31/2026", "2 nov 2026", "24.13.2026", "25:00", "tomorrow", "yesterday noon"])
def test_refused_with_what_would_be_right(text):
    with pytest.raises(ValueError, match="write for example"):
        moment(text, NOW)


@pytest.mark.parametrize(
    ("text", "order", "day"),
    [
        ("15/11/2026", "dmy", (11, 15)), ("3/4/2026", "dmy", (4, 3)), ("3/4/2026", "mdy", (3, 4)),
        ("15/11/2026", None, (11, 15)),
        ("11/15/2026", None, (11, 15)), ("4/4/2026", None, (4, 4)),
        ("11/15/2026", "mdy", (11, 15)), ("15/11/2026", "ymd", (11, 15)),
    ],
)  # fmt: skip
def test_slashes_go_by_the_workshops_order(text, order, day):
    found = moment(f"{text} 16:30", NOW, order=order)
    assert (found.month, found.day, found.hour) == (*day, 16)
    assert moment(text, NOW, order=order).hour == 12


@pytest.mark.parametrize(
    ("text", "order"), [("3/4/2026", None), ("3/4/2026", "ymd"), ("15/11/2026", "mdy"), ("11/15/2026", "dmy")]
)
def test_slashes_that_could_be_two_days_or_none_are_refused(text, order):
    with pytest.raises(ValueError, match="write for example"):
        moment(text, NOW, order=order)
