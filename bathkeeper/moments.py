"""Moments as typed: ISO dates and date-times, today and yesterday, and nothing that could be read in two ways."""

from __future__ import annotations

import re
from datetime import date, datetime, time, timedelta

EXAMPLES = "2026-05-01, 2026-05-01T14:30, yesterday, yesterday 16:00 or 16:00"
_TIME = re.compile(r"\d{1,2}:\d{2}(:\d{2})?")
_DOTTED = re.compile(r"(\d{1,2})\.(\d{1,2})\.(\d{4})")
_SLASHED = re.compile(r"(\d{1,2})/(\d{1,2})/(\d{4})(?!\d)")
_DAY = re.compile(r"\d{4}-\d{2}-\d{2}")


def moment(text: str, now: datetime, *, end_of_day: bool = False, order: str | None = None) -> datetime:
    """The moment that was typed; without an offset it is local time, and nothing (or ``now``) is now.

    A day alone is its noon, or now when that day is today; with ``end_of_day`` its last microsecond. ``order``: the workshop's
    ``date_order``, by which slashes are read; without it only where one of the two numbers can be no month.

    Raises:
        ValueError: it is no ISO date or date-time, or a date that could be two days; says how one is written.
    """
    plain = _spelled_out(_unslashed(" ".join(text.split()), order), now)
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


def slashed(text: str) -> bool:
    """Whether a date is written with slashes, so that a workshop's order of dates may be needed to read it."""
    return _SLASHED.match(text.strip()) is not None


def _unslashed(text: str, order: str | None) -> str:
    """``15/11/2026 14:30`` as ISO."""
    found = _SLASHED.match(text)
    if found is None:
        return text
    first, second = int(found[1]), int(found[2])
    if order not in ("dmy", "mdy"):
        if first <= 12 and second <= 12 and first != second:
            raise ValueError(
                f"`{text[:40]}` could be two days; write for example {EXAMPLES}, or say how dates are read here "
                "(settings date_order=dmy or mdy)"
            )
        order = "dmy" if first > 12 else "mdy"
    day, month = (first, second) if order == "dmy" else (second, first)
    return f"{found[3]}-{month:02d}-{day:02d}{text[found.end():]}"


def _of_day(day: date, now: datetime, end_of_day: bool) -> datetime:
    if end_of_day:
        return datetime.combine(day, time.max).astimezone()
    return now if day == now.date() else datetime.combine(day, time(12)).astimezone()
