"""Dates and clocks of a sheet: what a cell says, in which order its day and month stand, and whether that can be told at all.

Dates with dots are taken day first, as everywhere in this program; with slashes or hyphens the order has to be known. Years of
two digits are of this century. Months in words are read in English.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, timezone
from typing import Literal

from bathkeeper.logbook.sheets import Cell
from bathkeeper.refusals import shorten
from bathkeeper.sheets.cells import CellError

Order = Literal["ymd", "dmy", "mdy"]
EXAMPLE = "2026-05-01 or 2026-05-01 14:30"
_MONTHS = {
    m: n for n, m in enumerate(["jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"], start=1)
}
_WEEKDAY = re.compile(r"^(?:mon|tue|wed|thu|fri|sat|sun)[a-z]*[,.]?\s+", re.IGNORECASE)
_CLOCK = re.compile(r"([0-9]{1,2}):([0-9]{2})(?::([0-9]{2})(?:[.,][0-9]+)?)?\s*(?:([ap])\.?m\.?)?", re.IGNORECASE)
_OFFSET = re.compile(r"(Z|[+-][0-9]{2}:?[0-9]{2})$")
_YEAR_FIRST = re.compile(r"([0-9]{4})([-/.])([0-9]{1,2})\2([0-9]{1,2})")
_NUMERIC = re.compile(r"([0-9]{1,2})([-/.])([0-9]{1,2})\2([0-9]{4}|[0-9]{2})\.?")
_COMPACT = re.compile(r"(19|20)([0-9]{2})([0-9]{2})([0-9]{2})")
_WORDS = re.compile(r"([0-9]{1,2})(?:st|nd|rd|th)?[ .-]*([A-Za-z]{3,9})\.?[ ,.-]*([0-9]{4}|[0-9]{2})")
_WORD_FIRST = re.compile(r"([A-Za-z]{3,9})\.? ?([0-9]{1,2})(?:st|nd|rd|th)?,? ?([0-9]{4})")
_DAY_NUMBER = re.compile(r"([2-7][0-9]{4})(?:\.([0-9]+))?")
ZERO = {"1900": date(1899, 12, 30), "1904": date(1904, 1, 1)}
"""Day 0 of bare day numbers; the first is shifted by the leap day that 1900 did not have, as spreadsheets count."""


@dataclass(frozen=True)
class When:
    """A day, its clock where the cell has one, and its offset from UTC where the cell says it."""

    day: date
    clock: time | None = None
    offset: timezone | None = None


def when(cell: Cell, order: Order | None, day_zero: str = "1900") -> When:
    """What a date cell says.

    Raises:
        CellError: no date, no such day, or day and month could be either way round.
    """
    if cell.kind == "trouble":
        raise CellError(f"the cell {cell.text}")
    if cell.kind == "day":
        return When(date.fromisoformat(cell.text))
    if cell.kind == "moment":
        moment = datetime.fromisoformat(cell.text)
        return When(moment.date(), moment.time())
    text = _WEEKDAY.sub("", " ".join(cell.text.split()))
    if cell.kind == "clock" or len(text) > 60:
        raise CellError(f"`{shorten(cell.text)}` is no date", f"Write for example {EXAMPLE}.")
    if number := _DAY_NUMBER.fullmatch(text):
        return _from_number(float(text), day_zero, bool(number[2]))
    if cell.kind == "number" and not _COMPACT.fullmatch(text):
        raise CellError(f"{text} is no date", f"Write for example {EXAMPLE}; bare day numbers are 20000 to 79999.")
    day_text, clock, offset = _parted(text)
    return When(_day(day_text, order, cell.text), clock, offset)


def _from_number(number: float, day_zero: str, has_part: bool) -> When:
    day = ZERO[day_zero] + timedelta(days=int(number))
    if not has_part:
        return When(day)
    seconds = round((number - int(number)) * 86_400)
    moment = datetime.combine(day, time()) + timedelta(seconds=seconds)
    return When(moment.date(), moment.time())


def _parted(text: str) -> tuple[str, time | None, timezone | None]:
    """Day, clock and offset of a text such as ``1/5/2026 2:30 PM``."""
    found = re.search(r"[T ,]\s*([0-9]{1,2}:[0-9]{2}.*)$", text)
    if found is None:
        return text.removesuffix("T00").strip(), None, None
    rest = found[1].strip()
    offset = None
    if mark := _OFFSET.search(rest):
        offset = _offset(mark[1])
        rest = rest[: mark.start()].strip()
    return text[: found.start()].strip(), _clock(rest), offset


def _offset(text: str) -> timezone:
    if text == "Z":
        return UTC
    minutes = int(text[1:3]) * 60 + int(text[-2:])
    if minutes >= 24 * 60:
        raise CellError(f"`{shorten(text)}` is no offset from UTC", "Write for example +02:00.")
    return timezone(timedelta(minutes=-minutes if text[0] == "-" else minutes))


def offset_of(text: str | None) -> timezone | None:
    """A mapping's offset; None for local time."""
    return None if text is None else _offset(text)


def clock(cell: Cell) -> time:
    """What a cell of a time column says. Raises CellError."""
    text = " ".join(cell.text.split())
    if cell.kind == "trouble":
        raise CellError(f"the cell {text}")
    if cell.kind == "moment":
        return datetime.fromisoformat(text).time()
    if cell.kind == "number" and 0 <= float(text) < 1 and ("." in text or "e" in text or float(text) == 0):
        return (datetime(2000, 1, 1) + timedelta(seconds=round(float(text) * 86_400))).time()
    if re.fullmatch(r"[0-9]{4}", text):
        text = f"{text[:2]}:{text[2:]}"
    return _clock(re.sub(r"\s*(?:h|hrs?|o'clock|uhr)\.?$", "", text, flags=re.IGNORECASE))


def _clock(text: str) -> time:
    match = _CLOCK.fullmatch(text)
    if match is None:
        raise CellError(f"`{shorten(text)}` is no time of day", "Write for example 14:30 or 2:30 PM.")
    hour, minute, second = int(match[1]), int(match[2]), int(match[3] or 0)
    if match[4]:
        if not 1 <= hour <= 12:
            raise CellError(f"`{shorten(text)}` is no time of day", "With AM or PM the hour is 1 to 12.")
        hour = hour % 12 + (12 if match[4].casefold() == "p" else 0)
    if hour > 23 or minute > 59 or second > 59:
        raise CellError(f"`{shorten(text)}` is no time of day", "Write for example 14:30.")
    return time(hour, minute, second)


def _day(text: str, order: Order | None, shown: str) -> date:
    if match := _YEAR_FIRST.fullmatch(text):
        return _made(int(match[1]), int(match[3]), int(match[4]), shown)
    if match := _COMPACT.fullmatch(text):
        return _made(int(match[1] + match[2]), int(match[3]), int(match[4]), shown)
    for pattern, places in ((_WORDS, (3, 2, 1)), (_WORD_FIRST, (3, 1, 2))):
        if (match := pattern.fullmatch(text)) and (month := _MONTHS.get(match[places[1]][:3].casefold())):
            return _made(_year(match[places[0]]), month, int(match[places[2]]), shown)
    if match := _NUMERIC.fullmatch(text):
        return _numeric(match, order, shown)
    raise CellError(f"`{shorten(shown)}` is no date", f"Write for example {EXAMPLE}.")


def _numeric(match: re.Match[str], order: Order | None, shown: str) -> date:
    ways = _ways(match)
    dotted = match[2] == "."
    if dotted and order in (None, "dmy"):
        ways = {o: d for o, d in ways.items() if o == "dmy"}
    if not ways:
        raise CellError(f"`{shorten(shown)}` is no day that there is", f"Write for example {EXAMPLE}.")
    if dotted and order in ("mdy", "ymd") and "dmy" in ways and ways.get(order) not in (None, ways["dmy"]):
        raise CellError(
            f"`{shorten(shown)}` has dots, which stand day first here, and this sheet's dates are said to be {order}",
            f"Write {ways['dmy'].isoformat()} or {ways[order].isoformat()}, whichever it is.",
        )
    if order is not None and order in ways:
        return ways[order]
    if dotted and "dmy" in ways:
        return ways["dmy"]
    days = dict.fromkeys(ways.values())
    if order is None and len(days) == 1:
        return next(iter(days))
    if order is None:
        said = " or ".join(f"{d.day} {d:%B %Y}" for d in days)
        raise CellError(f"`{shorten(shown)}` could be {said}", "Say how this sheet writes its dates: dmy, mdy or ymd.")
    raise CellError(
        f"`{shorten(shown)}` is no day when read {' '.join({'d': 'day', 'm': 'month', 'y': 'year'}[c] for c in order)}",
        f"Write for example {EXAMPLE}.",
    )


def _ways(match: re.Match[str]) -> dict[Order, date]:
    first, second, third = match[1], match[3], match[4]
    tried: dict[Order, tuple[int, int, int]] = {"dmy": (_year(third), int(second), int(first))}
    tried["mdy"] = (_year(third), int(first), int(second))
    if len(third) == 2 and len(first) == 2:
        tried["ymd"] = (_year(first), int(second), int(third))
    found: dict[Order, date] = {}
    for order, (year, month, day) in tried.items():
        try:
            found[order] = date(year, month, day)
        except ValueError:
            continue
    return found


def orders(cell: Cell) -> set[Order] | None:
    """The orders in which a cell can be read where that matters; None for what is read in one way only, or not at all."""
    if cell.kind != "text":
        return None
    text = _WEEKDAY.sub("", " ".join(cell.text.split()))
    match = _NUMERIC.fullmatch(re.split(r"[T ,]\s*[0-9]{1,2}:", text)[0].strip())
    if match is None or match[2] == ".":
        return None
    ways = _ways(match)
    return set(ways) if len(ways) == 1 or len(set(ways.values())) > 1 else None


def is_date(cell: Cell) -> bool:
    """Whether a cell can be a date in some order."""
    if cell.kind in ("day", "moment"):
        return True
    for order in ("dmy", "mdy", "ymd"):
        try:
            when(cell, order)
            return True
        except CellError:
            continue
    return False


def _year(text: str) -> int:
    return int(text) if len(text) == 4 else 2000 + int(text)


def _made(year: int, month: int, day: int, shown: str) -> date:
    try:
        return date(year, month, day)
    except ValueError:
        raise CellError(f"`{shorten(shown)}` is no day that there is", f"Write for example {EXAMPLE}.") from None
