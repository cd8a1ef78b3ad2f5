"""A clock's cell to days and seconds: dates in every order, time of day, AM/PM, elapsed time, epochs, spreadsheet days.

A cell is taken as groups of digits with signs between them. :func:`read_clock` reads any one cell carefully; the fast way then
reads all cells of the same shape by those roles.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date
from typing import Literal

from bathkeeper.traces.asking import DateOrder

Kind = Literal["moment", "date", "time of day", "elapsed", "number"]
TwoParts = Literal["hh:mm", "mm:ss"]
DAY_S = 86_400.0
EPOCH = date(1970, 1, 1).toordinal()
SPREADSHEET_EPOCH = date(1899, 12, 30).toordinal() - EPOCH
"""Day 0 of spreadsheet day numbers, in days since 1970 [derived: day 25569 is 1970-01-01]."""
MONTHS = {m: n for n, ms in enumerate(
    ("jan", "feb", "mar mär mrz", "apr", "may mai", "jun", "jul", "aug", "sep", "oct okt", "nov", "dec dez"), 1
) for m in ms.split()}  # fmt: skip

_YMD = re.compile(r"(\d{4})([-/.])(\d{1,2})\2(\d{1,2})(?!\d)")
_ANY = re.compile(r"(\d{1,2})([-/.])(\d{1,2})\2(\d{4}|\d{2})(?!\d)")
_HAN = re.compile(r"(\d{4})年(\d{1,2})月(\d{1,2})日")
_SOLID = re.compile(r"(20\d{2})(\d{2})(\d{2})(?=$|[ T_-]?\d{6}$|[ T_]\d{1,2}:)")
_DMY_NAMED = re.compile(r"(\d{1,2})[-. /]([A-Za-zä]{3,9})\.?[-. /,]+(\d{4}|\d{2})(?!\d)")
_MDY_NAMED = re.compile(r"([A-Za-zä]{3,9})\.? (\d{1,2}),? (\d{4})(?!\d)")
_HMS = re.compile(r"(\d{1,4}):(\d{2}):(\d{2})(?:[.,:](\d{1,9}))?")
_HM = re.compile(r"(\d{1,2}):(\d{2})(?![\d:])")
_TWO = re.compile(r"(\d{1,3}):([0-5]\d)")
_MS = re.compile(r"(\d{1,3}):(\d{2})[.,](\d{1,6})")
_DOTTED = re.compile(r"(\d{2})\.(\d{2})\.(\d{2})(?!\d)")
_SOLID_HMS = re.compile(r"(\d{2})(\d{2})(\d{2})(?:\.(\d{1,6}))?$")
_DAYS = re.compile(r"(\d{1,4}) ?(?:d|days?|T)[ ,:]*(\d{1,2}):(\d{1,2}):(\d{1,2})(?:[.,](\d{1,9}))?", re.I)
_NET_DAYS = re.compile(r"(\d{1,4})\.(\d{2}):(\d{2}):(\d{2})(?:\.(\d{1,9}))?$")
_PARTS = re.compile(r"(?:(\d+) ?h(?:ours?|rs?)?)? ?(?:(\d+) ?m(?:in)?(?:utes?)?)? ?(\d+(?:\.\d+)?) ?s(?:ec(?:onds?)?)?$", re.I)
_MERIDIEM = re.compile(r" ?([ap])\.?m\.?$", re.I)
_OFFSET = re.compile(r" ?(?:(Z|UTC|GMT)$|(?:UTC|GMT)?([+-])(\d{1,2}):?(\d{2})?$)")


@dataclass(frozen=True)
class Clock:
    """What one cell says. ``day``: days since 1970, in its own order or the one asked for; ``seconds``: of that day, or
    elapsed.

    ``date_groups``: the three numbers of a date that could be read in more than one order, as they stand. ``offset_s``: where
    the cell tells its offset from UTC. ``fraction``: how many digits of a second it has; ``to_minute``: it has no seconds.
    """

    kind: Kind
    day: int | None = None
    seconds: float = 0.0
    date_groups: tuple[int, int, int] | None = None
    offset_s: float | None = None
    fraction: int = 0
    to_minute: bool = False


class NoSuchDay(ValueError):
    """A date that cannot be in the order asked for."""


def in_two_parts(text: str) -> bool:
    """Whether a cell is two numbers such as 09:30, which may be hours and minutes, or minutes and seconds."""
    return _TWO.fullmatch(text.strip()) is not None


def read_clock(
    text: str, order: DateOrder | None = None, *, elapsed: bool = False, solid: bool = False, parts: TwoParts | None = None
) -> Clock | None:
    """What a cell says as a clock; None where it is none. A plain number is not one (see :func:`number_kind`).

    ``elapsed``: h:mm:ss counts from the start of the log. ``solid``: six digits are HHMMSS, eight a date. ``parts``: what two
    numbers alone are. Raises NoSuchDay where a date cannot be in ``order``; with no order the day of an ambiguous date stays
    None.
    """
    plain = " ".join(text.replace("\u00a0", " ").replace("\u202f", " ").split())
    if not plain or len(plain) > 60 or not any(c.isdigit() for c in plain):
        return None
    rest, day, groups, found = plain, None, None, False
    for pattern in (_YMD, _HAN, _ANY, _DMY_NAMED, _MDY_NAMED, *((_SOLID,) if solid or "T" in plain else ())):
        match = pattern.match(re.sub(r"^[A-Za-z]{2,3}[a-z]*,? (?=\d)", "", plain) if pattern is not _MDY_NAMED else plain)
        if match is None:
            continue
        day, groups = _day_of(match, pattern, order)
        if day is None and groups is None:
            continue
        found, rest = True, plain[plain.index(match[0]) + len(match[0]) :].lstrip(" ,T_-")
        if not rest:
            return Clock("date", day, 0.0, groups)
        break
    if not found:
        counted = _elapsed(rest) or (_two(rest, parts, elapsed) if parts is not None else None)
        if counted is not None:
            return counted
    offset = None
    zone = _OFFSET.search(rest)
    if zone is not None and found and ":" in rest[: zone.start()]:
        if zone[1] is None and int(zone[3]) > 14:
            return None
        offset = 0.0 if zone[1] else (int(zone[3]) * 3600 + int(zone[4] or 0) * 60) * (-1.0 if zone[2] == "-" else 1.0)
        rest = rest[: zone.start()]
    half = _MERIDIEM.search(rest)
    rest = rest[: half.start()] if half is not None else rest
    told = _time_of_day(rest, half[1].lower() if half is not None else "", found, solid)
    if told is None:
        return None
    hours, minutes, seconds, fraction, to_minute = told
    total = hours * 3600 + minutes * 60 + seconds
    if minutes > 59 or seconds >= 61:
        return None
    if found:
        return None if total >= DAY_S + 1 else Clock("moment", day, total, groups, offset, fraction, to_minute)
    if elapsed or hours > 23:
        return Clock("elapsed", None, total, fraction=fraction)
    return Clock("time of day", None, total, fraction=fraction, to_minute=to_minute)


def _two(text: str, parts: TwoParts, elapsed: bool) -> Clock | None:
    match = _TWO.fullmatch(text)
    if match is None:
        return None
    seconds = 60.0 * int(match[1]) + int(match[2])
    if parts == "mm:ss":
        return Clock("elapsed", None, seconds)
    counts: Kind = "elapsed" if elapsed or int(match[1]) > 23 else "time of day"
    return Clock(counts, None, 60.0 * seconds, to_minute=True)


def _day_of(
    match: re.Match[str], pattern: re.Pattern[str], order: DateOrder | None
) -> tuple[int | None, tuple[int, int, int] | None]:
    """(day, groups where the order is open)."""
    if pattern in (_YMD, _HAN, _SOLID):
        g = [x for x in match.groups() if x.isdigit()]
        return day_number(int(g[0]), int(g[1]), int(g[2])), None
    if pattern in (_DMY_NAMED, _MDY_NAMED):
        named = match[2] if pattern is _DMY_NAMED else match[1]
        month = MONTHS.get(named[:3].casefold())
        if month is None:
            return None, None
        return day_number(_year(match[3]), month, int(match[1] if pattern is _DMY_NAMED else match[2])), None
    a, b, c = int(match[1]), int(match[3]), int(match[4])
    groups = (a, b, c)
    if order is None:
        return None, groups
    day = day_in(groups, order)
    if day is None:
        raise NoSuchDay(f"`{match[0]}` is no date in the order {order}")
    return day, groups


def day_in(groups: tuple[int, int, int], order: DateOrder) -> int | None:
    """Days since 1970 of three numbers in an order; None where there is no such day."""
    a, b, c = groups
    if order == "ymd":
        return None if c > 31 else day_number(_year(f"{a:02d}"), b, c)
    d, m = (a, b) if order == "dmy" else (b, a)
    return day_number(c if c > 99 else _year(f"{c:02d}"), m, d)


def orders_of(groups: tuple[int, int, int]) -> set[DateOrder]:
    """The orders in which three numbers are a date."""
    return {o for o in ("ymd", "dmy", "mdy") if day_in(groups, o) is not None and not (o == "ymd" and groups[2] > 31)}


def day_number(year: int, month: int, day: int) -> int | None:
    """Days since 1970; None where there is no such day, or it lies outside 1970 (a clock that was never set) to 2099."""
    try:
        return date(year, month, day).toordinal() - EPOCH if 1970 <= year <= 2099 else None
    except ValueError:
        return None


def _year(text: str) -> int:
    return int(text) + (2000 if len(text) <= 2 else 0)


def _elapsed(text: str) -> Clock | None:
    match = _DAYS.match(text) or _NET_DAYS.match(text)
    if match is not None and match.end() == len(text) and int(match[2]) < 24 and int(match[3]) < 60 and int(match[4]) < 60:
        part = match[5] or ""
        seconds = int(match[1]) * DAY_S + int(match[2]) * 3600 + int(match[3]) * 60 + float(f"{match[4]}.{part or 0}")
        return Clock("elapsed", None, seconds, fraction=len(part))
    match = _MS.fullmatch(text)
    if match is not None and int(match[2]) < 60:
        return Clock("elapsed", None, int(match[1]) * 60 + float(f"{match[2]}.{match[3]}"), fraction=len(match[3]))
    match = _PARTS.fullmatch(text)
    if match is not None and (match[1] or match[2]):
        return Clock("elapsed", None, int(match[1] or 0) * 3600 + int(match[2] or 0) * 60 + float(match[3]))
    return None


def _time_of_day(text: str, half: str, dated: bool, solid: bool) -> tuple[int, int, float, int, bool] | None:
    """(hours, minutes, seconds, digits of the fraction, whether it stops at minutes)."""
    plain = text.strip()
    match = _HMS.fullmatch(plain)
    if match is not None:
        h, m, s = int(match[1]), int(match[2]), float(f"{match[3]}.{match[4] or 0}")
    elif (match := _HM.fullmatch(plain)) is not None and (dated or half):
        h, m, s = int(match[1]), int(match[2]), 0.0
    elif (match := _DOTTED.fullmatch(plain)) is not None and dated:
        h, m, s = int(match[1]), int(match[2]), float(match[3])
    elif (match := _SOLID_HMS.fullmatch(plain)) is not None and (solid or dated):
        h, m, s = int(match[1]), int(match[2]), float(f"{match[3]}.{match[4] or 0}")
    else:
        return None
    if half:
        if not 1 <= h <= 12:
            return None
        h = h % 12 + (12 if half == "p" else 0)
    if dated and h > 24:
        return None
    digits = len(match[match.re.groups] or "") if match.re in (_HMS, _SOLID_HMS) else 0
    return h, m, s, digits, match.re is _HM


def number_kind(low: float, high: float, unit: str | None) -> tuple[str, float, float] | None:
    """How plain numbers tell time: (what, seconds in one, seconds since 1970 of zero or nan); None where only the keeper knows.

    ``low`` and ``high``: the smallest and largest in the file's head. ``unit``: as the header names it.
    """
    if unit in SECONDS_IN:
        if SECONDS_IN[unit] * high > 9e8 and unit in ("s", "ms", "us"):
            return ("epoch", SECONDS_IN[unit], 0.0) if SECONDS_IN[unit] * high < LATEST_S else None
        if SECONDS_IN[unit] * high > LATEST_S:
            return None
        return "elapsed", SECONDS_IN[unit], float("nan")
    if unit is not None:
        return None
    if 9.4e8 < low <= high < 2.6e9:
        return "epoch", 1.0, 0.0
    if 9.4e11 < low <= high < 2.6e12:
        return "epoch", 1e-3, 0.0
    if 9.4e14 < low <= high < 2.6e15:
        return "epoch", 1e-6, 0.0
    if 40_000 < low <= high < 60_000 and high - low < 400 and low != int(low):
        return "spreadsheet day", DAY_S, SPREADSHEET_EPOCH * DAY_S
    return None


LATEST_S = 4.1e9  # seconds since 1970 of the year 2099
SECONDS_IN = {"s": 1.0, "ms": 1e-3, "us": 1e-6, "min": 60.0, "h": 3600.0, "d": DAY_S}
