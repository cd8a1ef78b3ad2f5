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


@pytest.mark.parametrize("text", ["11/24/2026", "2 nov 2026", "24.13.2026", "25:00", "tomorrow", "yesterday noon"])
def test_refused_with_what_would_be_right(text):
    with pytest.raises(ValueError, match="write for example"):
        moment(text, NOW)
