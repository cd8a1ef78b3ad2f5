"""The text protocol by which a logger's script tells current and voltage: one line a sample, on standard input or in a file.

    # anything behind a hash is a comment; blank lines are passed over
    time,current,voltage
    0,6.48,3.1
    10,6.50,3.1
    20.5,6.51

A line is ``time,current`` or ``time,current,voltage``, as many fields on every line, in UTF-8.

- ``time``: seconds on the logger's own clock (``0``, ``12.5``, ``1767225600.2``), or RFC 3339 with its offset
  (``2026-05-01T14:30:05.2+02:00``, ``...Z``), or the time of day ``HH:MM:SS`` with or without a fraction (midnight may pass
  once at a time). One way for the whole feed. Times may repeat; they never run back.
- ``current``: amperes, ``voltage``: volts; a plain number with a decimal point, no unit, no thousands separator.
- Fields are parted by commas. Where they are parted by semicolons or tabs instead, a number may have a decimal comma
  (``10;6,5``); with commas between the fields it cannot, since ``10,6,5`` is 6 A and 5 V.
- One header line may come first. It must name the columns in this order; ``mA`` or ``mV`` in it (``current_mA``) sets the unit.
  After a header that names other columns, or has a word or unit in it that is not known here, nothing is taken.

A line that cannot be read, or whose number cannot be, is named with what would be right, and left out; the time around it is
then only counted if the neighbours are close enough. Two samples further apart than the longest gap are not bridged: the charge
of the gap is told, and not counted. Charge is the area under straight lines between samples on their own times (trapezoids).
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Literal

from bathkeeper.findings import Problem
from bathkeeper.runs.live_charge import Row
from bathkeeper.units.numerals import figures

EXAMPLE = "12.5,6.48 or 12.5,6.48,3.1 (time in seconds, A, V)"
LONGEST_GAP_S = 60.0
"""Samples further apart than this are a gap, unless the keeper says otherwise [practice]."""
LARGEST_A, LARGEST_V = 10_000.0, 1_000.0  # beyond any bench supply
DAY_S = 86_400.0

Clocked = Literal["seconds", "RFC 3339", "time of day"]
_NUMBER = re.compile(r"[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]{1,3})?", re.ASCII)
_TIME_OF_DAY = re.compile(r"([0-9]{1,2}):([0-9]{2}):([0-9]{2}(?:\.[0-9]+)?)", re.ASCII)
_DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", re.ASCII)
_UNITS = {"a": 1.0, "ma": 1e-3, "v": 1.0, "mv": 1e-3}
_TIME = frozenset(
    {"time", "t", "s", "sec", "secs", "second", "seconds", "timestamp", "clock", "at", "date", "datetime", "when"}
)
_CURRENT = frozenset({"current", "i", "a", "ma", "amp", "amps", "ampere", "amperes"})
_VOLTAGE = frozenset({"voltage", "u", "v", "mv", "volt", "volts"})
_COLUMNS = (("time", _TIME), ("current", _CURRENT), ("voltage", _VOLTAGE))
_BESIDE = frozenset(
    {"measured", "actual", "cell", "bath", "tank", "supply", "psu", "output", "elapsed", "utc", "unix", "epoch", "of", "day"}
)
"""Words that may stand in a header beside those of its column; with any other, a number could be of another kind or unit."""


class FeedError(ValueError):
    """A line that cannot be used. ``what`` completes "line 7: ...", ``right`` says what would be right."""

    def __init__(self, what: str, right: str) -> None:
        super().__init__(f"{what}; {right}")
        self.what, self.right = what, right


@dataclass
class FeedReader:
    """Reads lines one by one: :meth:`take` gives a row, or nothing for a line that tells none; ``bad`` holds what was wrong."""

    bad: list[Problem] = field(default_factory=list)
    rows: int = 0
    _number: int = 0
    _clocked: Clocked | None = None
    _last_s: float | None = None
    _last_text: str = ""
    _midnights: int = 0
    _fields: int | None = None
    _separator: str | None = None
    _scale: tuple[float, float] = (1.0, 1.0)
    _header_allowed: bool = True
    _refused: bool = False

    def take(self, line: str) -> Row | None:
        """The row of one line; None for a comment, a blank line, the header, and a line that is bad."""
        self._number += 1
        text = line.lstrip("\ufeff").partition("#")[0].strip()
        if not text or self._refused:
            return None
        try:
            row = self._row(text)
        except FeedError as problem:
            # after a header that names something else, every number would be taken for what it is not
            so = "no line after it is taken" if self._refused else "it is left out"
            self.bad.append(Problem(what=f"line {self._number}: {problem.what}; {so}", right=problem.right, line=self._number))
            return None
        if row is not None:
            self.rows += 1
        return row

    def _row(self, text: str) -> Row | None:
        separator = self._separator or (";" if ";" in text else "\t" if "\t" in text else ",")
        fields = [f.strip() for f in text.split(separator)]
        header, self._header_allowed = self._header_allowed and _is_header(fields), False
        if header:
            self._refused = True
            self._scale = _scales(fields)
            self._refused = False
            self._separator, self._fields = separator, None
            return None
        if len(fields) not in (2, 3):
            raise FeedError(f"`{_short(text)}` has {len(fields)} field{'s' * (len(fields) != 1)}", f"a line is {EXAMPLE}")
        if self._fields is not None and len(fields) != self._fields:
            raise FeedError(
                f"`{_short(text)}` has {len(fields)} fields, the lines before it {self._fields}",
                "write as many on every line; a decimal comma needs semicolons between the fields",
            )
        comma = separator != ","
        time_s, clocked = self._time(fields[0], comma)
        current_a = _number(fields[1], "current", comma) * self._scale[0]
        volts = _number(fields[2], "voltage", comma) * self._scale[1] if len(fields) == 3 else None
        if abs(current_a) > LARGEST_A:
            raise FeedError(f"{figures(current_a)} A is no current of a bench", "a current is in A; name mA in the header")
        if volts is not None and abs(volts) > LARGEST_V:
            raise FeedError(f"{figures(volts)} V is no voltage of a bench", "a voltage is in V; name mV in the header")
        self._clocked, self._last_s, self._last_text = clocked, time_s, fields[0]
        self._separator, self._fields = separator, len(fields)
        return Row(time_s, current_a, volts)

    def _time(self, text: str, comma: bool) -> tuple[float, Clocked]:
        """(seconds, how they were told); time of day counts on over midnight."""
        seconds, clocked = _seconds(text, comma)
        if self._clocked is not None and clocked != self._clocked:
            raise FeedError(f"the time `{_short(text)}` is {clocked}, before it was {self._clocked}", "tell time one way only")
        if clocked == "time of day":
            seconds += self._midnights * DAY_S
            if self._last_s is not None and self._last_s - seconds > DAY_S / 2:
                self._midnights += 1
                seconds += DAY_S
        if self._last_s is not None and seconds < self._last_s:
            raise FeedError(
                f"the time `{_short(text)}` is before the last one, `{_short(self._last_text)}`", "lines come in order of time"
            )
        return seconds, clocked


def read_feed(lines: Iterable[str], reader: FeedReader | None = None) -> Iterator[Row]:
    """The rows of a feed, as its lines come; ``reader.bad`` holds what was wrong."""
    taker = reader if reader is not None else FeedReader()
    for line in lines:
        row = taker.take(line)
        if row is not None:
            yield row


def _seconds(text: str, comma: bool) -> tuple[float, Clocked]:
    plain = text.replace(",", ".") if comma else text
    if _NUMBER.fullmatch(plain):
        value = float(plain)
        if not math.isfinite(value) or abs(value) > 1e12:
            raise FeedError(f"{_short(text)} s is no time", "seconds count from the start of the log, or from 1970")
        return value, "seconds"
    clock = _TIME_OF_DAY.fullmatch(plain)
    if clock:
        hours, minutes, rest = int(clock[1]), int(clock[2]), float(clock[3])
        if hours > 23 or minutes > 59 or rest >= 60:
            raise FeedError(f"`{_short(text)}` is no time of day", "hours run from 0 to 23, minutes and seconds from 0 to 59")
        return hours * 3600 + minutes * 60 + rest, "time of day"
    if _DATE.match(plain):
        try:
            moment = datetime.fromisoformat(plain.upper())
        except ValueError:
            raise FeedError(f"`{_short(text)}` is no moment", "write it as 2026-05-01T14:30:05+02:00") from None
        if len(plain) < 16:
            raise FeedError(f"`{_short(text)}` is a day without a time", "write it as 2026-05-01T14:30:05+02:00")
        if moment.tzinfo is None:
            raise FeedError(f"`{_short(text)}` has no offset from UTC", f"write it as {_short(plain)}+02:00, or end it in Z")
        return moment.astimezone(UTC).timestamp(), "RFC 3339"
    raise FeedError(f"`{_short(text)}` is no time", "write seconds (12.5), HH:MM:SS or 2026-05-01T14:30:05+02:00")


def _number(text: str, what: str, comma: bool) -> float:
    plain = text.replace(",", ".") if comma and text.count(",") == 1 and "." not in text else text
    if not _NUMBER.fullmatch(plain):
        unit = "A" if what == "current" else "V"
        if not text:
            raise FeedError(f"the {what} is empty", f"a line is {EXAMPLE}")
        raise FeedError(f"the {what} `{_short(text)}` is not a plain number", f"write it in {unit} with a point, as in 6.48")
    value = float(plain)
    if not math.isfinite(value):
        raise FeedError(f"the {what} `{_short(text)}` is beyond all numbers", f"a line is {EXAMPLE}")
    return value


def _is_header(fields: list[str]) -> bool:
    """Whether every field is a word: none begins like a number or a moment."""
    return all(f and f[0].isalpha() for f in fields) and not any(f.casefold() in ("nan", "inf", "infinity") for f in fields)


def _scales(fields: list[str]) -> tuple[float, float]:
    """Factors to A and V that a header names.

    Raises:
        FeedError: it names other columns, or another order or time unit.
    """
    words = [re.findall(r"[^\W\d_]+", f.casefold()) for f in fields]
    order = "the columns are time,current[,voltage], in s, A or mA, V or mV"
    if len(fields) not in (2, 3):
        raise FeedError(f"the header names {len(fields)} columns", order)
    if any(w in words[0] for w in ("ms", "min", "minutes", "h", "hours", "milliseconds")):
        raise FeedError(f"the header counts time as `{_short(fields[0])}`", "time is in seconds, RFC 3339 or HH:MM:SS")
    scales = []
    for place, (told, (what, known)) in enumerate(zip(words, _COLUMNS, strict=False)):
        if not known & set(told):
            raise FeedError(f"the header's column {place + 1} is `{_short(fields[place])}`, where {what} belongs", order)
        strange = [w for w in told if w not in known | _BESIDE]
        if strange:
            raise FeedError(f"the header's `{_short(fields[place])}` has `{_short(strange[0])}` in it, not known here", order)
        scales.append(next((_UNITS[w] for w in told if w in ("ma", "mv")), 1.0))
    return scales[1], scales[2] if len(scales) == 3 else 1.0


def _short(text: str) -> str:
    shown = "".join(c if c.isprintable() else "?" for c in text)
    return shown if len(shown) <= 40 else shown[:39] + "…"
