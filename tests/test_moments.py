"""Moments as typed."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from bathkeeper.moments import moment

NOW = datetime(2026, 6, 20, 12, 0, tzinfo=UTC)


def test_nothing_and_today_are_now_and_another_day_is_its_noon() -> None:
    assert moment("", NOW) == moment(" NOW ", NOW) == moment("2026-06-20", NOW) == NOW
    assert moment("2026-06-19T08:30+00:00", NOW) == NOW - timedelta(days=1, hours=3, minutes=30)
    assert moment("2026-06-18", NOW).hour == 12
    assert moment("2026-06-18 07:05", NOW).hour == 7


def test_the_end_of_a_day_is_before_the_next() -> None:
    end = moment("2026-06-18", NOW, end_of_day=True)
    assert end < moment("2026-06-19T00:00", NOW) and end > moment("2026-06-18T23:59:59", NOW)


@pytest.mark.parametrize(
    "wrong", ["yesterday", "20/06/2026", "2026-13-01", "12:30", "2026-06-18x", "\x1b[2J", "2026-06-20T25:00"]
)
def test_anything_else_is_refused_with_what_would_be_right(wrong: str) -> None:
    with pytest.raises(ValueError, match="write for example"):
        moment(wrong, NOW)
