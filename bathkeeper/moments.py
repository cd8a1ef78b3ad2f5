"""Moments as typed: ISO dates and date-times, today and yesterday, and nothing that could be read in two ways."""

from __future__ import annotations

import re
from datetime import date, datetime, time, timedelta

EXAMPLES = "2026-05-01, 2026-05-01T14:30, yesterday, yesterday 16:00 or 16:00"
_TIME = re.compile(r"\d{1,2}:\d{2}(:\d{2})?")
_DOTTED = re.compile(r"(\d{1,2})\.(\d{1,2})\.(\d{4})")
_DAY = re.compile(r"\d{4}-\d{2}-\d{2}")


def moment(text: str, now: datetime, *, end_of_day: bool = False) -> datetime:
    """The moment that was typed; without an offset it is local time, and nothing (or ``now``) is now.

    A day alone is its noon, or now when that day is today; with ``end_of_day`` its last microsecond.

    Raises:
        ValueError: it is no ISO date or date-time; says how one is written.
    """
    plain = _spelled_out(" ".join(text.split()), now)
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
        raise ValueError(f"`{plain[:40]}` is no moment known here; write for example {EXAMPLES}") from None


def _spelled_out(text: str, now: datetime) -> str:
    """``yesterday``, ``today 16:00``, ``16:00`` and ``24.11.2026`` (day first, as dots are written) as ISO."""
    word, _, rest = text.partition(" ")
    if word.casefold() in ("today", "yesterday"):
        day = now.date() - timedelta(days=word.casefold() == "yesterday")
        text = f"{day.isoformat()} {rest}".strip()
    elif _TIME.fullmatch(text):
        text = f"{now.date().isoformat()} {text}"
    elif dotted := _DOTTED.fullmatch(word):
        text = f"{dotted[3]}-{int(dotted[2]):02d}-{int(dotted[1]):02d} {rest}".strip()
    day_part, _, clock = text.partition(" ")
    return f"{day_part} {clock.zfill(5)}" if _TIME.fullmatch(clock) else text


def _of_day(day: date, now: datetime, end_of_day: bool) -> datetime:
    if end_of_day:
        return datetime.combine(day, time.max).astimezone()
    return now if day == now.date() else datetime.combine(day, time(12)).astimezone()
