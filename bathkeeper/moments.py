"""Moments as typed: ISO dates and date-times, and nothing that could be read in two ways."""

from __future__ import annotations

import re
from datetime import date, datetime, time

EXAMPLES = "2026-05-01, 2026-05-01T14:30 or 2026-05-01T14:30+02:00"
_DAY = re.compile(r"\d{4}-\d{2}-\d{2}")


def moment(text: str, now: datetime, *, end_of_day: bool = False) -> datetime:
    """The moment that was typed; without an offset it is local time, and nothing (or ``now``) is now.

    A day alone is its noon, or now when that day is today; with ``end_of_day`` its last microsecond.

    Raises:
        ValueError: it is no ISO date or date-time; says how one is written.
    """
    plain = text.strip()
    if not plain or plain.casefold() == "now":
        return now
    try:
        if _DAY.fullmatch(plain):
            return _of_day(date.fromisoformat(plain), now, end_of_day)
        if not re.match(r"\d{4}-\d{2}-\d{2}[T ]", plain):
            raise ValueError
        found = datetime.fromisoformat(plain)
        return found if found.tzinfo is not None else found.astimezone()
    except (ValueError, OverflowError):
        raise ValueError(f"`{plain[:40]}` is no ISO date or date-time; write for example {EXAMPLES}") from None


def _of_day(day: date, now: datetime, end_of_day: bool) -> datetime:
    if end_of_day:
        return datetime.combine(day, time.max).astimezone()
    return now if day == now.date() else datetime.combine(day, time(12)).astimezone()
