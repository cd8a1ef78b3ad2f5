"""Blocks of lines to samples by a layout: regular ones many at once, the odd ones one by one, and a count of what was odd."""

from __future__ import annotations

import itertools
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from bathkeeper.refusals import shorten
from bathkeeper.traces import fast
from bathkeeper.traces.asking import QUANTITIES, DateOrder
from bathkeeper.traces.cells import BEYOND, SENTINELS, is_missing, number_of, split
from bathkeeper.traces.clocks import DAY_S, Clock, NoSuchDay, day_in, day_number, in_two_parts, read_clock
from bathkeeper.traces.layout import Layout, Source
from bathkeeper.traces.table import overlong
from bathkeeper.traces.words import FACTORS, ZEROS, meaning_of, unit_named

Floats = NDArray[np.float64]
MOST_DATES = 400
TOLD_AT_MOST = 3
LONGEST_NAME = 40  # of a column; what is longer is a sentence


@dataclass
class Oddities:
    """What was met on the way: counts, and the first few of each with their lines."""

    rows: int = 0
    counts: Counter[str] = field(default_factory=Counter)
    examples: dict[str, list[str]] = field(default_factory=dict)

    def note(self, what: str, line: int, text: str) -> None:
        """One more of a kind."""
        self.counts[what] += 1
        told = self.examples.setdefault(what, [])
        if len(told) < TOLD_AT_MOST:
            told.append(f"line {line}: `{shorten(text)}`")


@dataclass(frozen=True)
class Batch:
    """Samples of one block in file order. ``times``: seconds, counted as the layout says; ``values``: quantity to its fixed
    unit, nan where there is none; ``states``: (words, number of each row's word)."""

    times: Floats
    values: dict[str, Floats]
    states: tuple[list[str], NDArray[np.int64]] | None = None


@dataclass
class RowReader:
    """Reads blocks in order: :meth:`take` for each."""

    layout: Layout
    order: DateOrder | None = None
    careful: bool = False
    odd: Oddities = field(default_factory=Oddities)
    dates: dict[tuple[int, int, int], None] = field(default_factory=dict)
    has_offset: bool = False
    _line: int = 0
    _day_base: float = 0.0
    _last_clock: float | None = None
    _began: bool = False

    def __post_init__(self) -> None:
        assert self.layout.timing is not None
        self._timing = self.layout.timing
        self._by_index = {s.index: s for s in self.layout.sources.values()}
        self._header = {_plain_head(line) for line in self.layout.table.header}
        self._point = ord(self.layout.decimal)

    def take(self, block: bytes, *, last: bool = False) -> Batch:
        """The samples of the next whole lines. ``last``: the file ends with them."""
        buf = np.frombuffer(block, np.uint8)
        breaks = np.flatnonzero(buf == 10)
        starts = np.concatenate(([0], breaks + 1)).astype(np.int64)
        ends = np.concatenate((breaks, [buf.size])).astype(np.int64)
        torn = last and buf.size > 0 and buf[-1] != 10
        if starts[-1] >= buf.size:
            starts, ends = starts[:-1], ends[:-1]
        number = self._line + 1 + np.arange(starts.size)
        self._line += starts.size
        skip = max(0, min(starts.size, self.layout.table.first - int(number[0]) + 1)) if starts.size else 0
        starts, ends, number = starts[skip:], ends[skip:], number[skip:]
        if starts.size == 0:
            return Batch(np.empty(0), {q: np.empty(0) for q in self.layout.sources})
        ends = ends - (buf[np.maximum(ends - 1, 0)] == 13) * (ends > starts)
        return self._batch(block, buf, starts, ends, number, torn)

    # -- many at once --------------------------------------------------------------------------------------------------

    def _batch(self, block: bytes, buf: fast.Bytes, starts: fast.Ints, ends: fast.Ints, number: fast.Ints, torn: bool) -> Batch:
        table = self.layout.table
        n = starts.size
        times, days = np.full(n, np.nan), np.full(n, -1, np.int64)
        values = {q: np.full(n, np.nan) for q in self.layout.sources}
        words: list[str] = [""]
        states = np.zeros(n, np.int64)
        done = np.zeros(n, bool)
        if not self.careful and len(table.delimiter) == 1:
            done = self._regular(buf, starts, ends, times, days, values)
            if torn:
                done[-1] = False
        if self.layout.state is not None and done.any():
            rows = np.flatnonzero(done)
            cells = fast.trimmed(buf, *self._cell(buf, starts[rows], ends[rows], self.layout.state))
            found, which = fast.texts(buf, *cells)
            words += found
            states[rows] = which + 1
        marks: list[tuple[int, float]] = []
        kept = done.copy()
        for row in np.flatnonzero(~done):
            text = block[starts[row] : ends[row]].decode("utf-8", "replace").strip("\ufeff\f\v\x1a \r")
            told = self._one(text, int(number[row]), torn and row == n - 1)
            if isinstance(told, float):
                marks.append((int(row), told))
            elif told is not None:
                times[row], days[row], found_values, word = told
                for quantity, value in found_values.items():
                    values[quantity][row] = value
                if word:
                    words.append(word)
                    states[row] = len(words) - 1
                kept[row] = True
        rows = np.flatnonzero(kept)
        self.odd.rows += rows.size
        if rows.size == 0:
            return Batch(np.empty(0), {q: np.empty(0) for q in values})
        at = self._counted(times[rows], days[rows], [(int(np.searchsorted(rows, r)), day) for r, day in marks])
        taken = {q: self._without_faults(q, v[rows], number[rows]) for q, v in values.items()}
        return Batch(at, taken, (words, states[rows]) if self.layout.state is not None else None)

    def _cell(self, buf: fast.Bytes, starts: fast.Ints, ends: fast.Ints, index: int) -> tuple[fast.Ints, fast.Ints]:
        """One column's cells of regular rows."""
        marks, first, count = self._marks(buf, starts, ends)
        size = max(marks.size - 1, 0)
        begin = starts if index == 0 else marks[np.minimum(first + index - 1, size)] + 1
        stop = np.where(index < count, marks[np.minimum(first + index, size)], ends) if marks.size else ends
        gone = index > count
        return np.where(gone, ends, begin), np.where(gone, ends, stop)

    def _marks(self, buf: fast.Bytes, starts: fast.Ints, ends: fast.Ints) -> tuple[fast.Ints, fast.Ints, fast.Ints]:
        marks = np.flatnonzero(buf == ord(self.layout.table.delimiter)).astype(np.int64)
        first = np.searchsorted(marks, starts)
        return marks, first, np.searchsorted(marks, ends) - first

    def _regular(
        self, buf: fast.Bytes, starts: fast.Ints, ends: fast.Ints, times: Floats, days: fast.Ints, values: dict[str, Floats]
    ) -> fast.Bools:
        """Fills in the rows that are as they should be; which those are."""
        table, timing = self.layout.table, self._timing
        marks, first, count = self._marks(buf, starts, ends)
        fits = (count + 1 <= table.width) & (count + 1 >= table.least)
        if (buf == 34).any():
            quotes = np.searchsorted(np.flatnonzero(buf == 34), np.stack((starts, ends)))
            fits &= (quotes[0] == quotes[1]) | (count + 1 == table.width)
        rows = np.flatnonzero(fits)
        if rows.size == 0:
            return fits
        if rows.size == starts.size:
            a, b, first, count = starts, ends, first, count
        else:
            a, b, first, count = starts[rows], ends[rows], first[rows], count[rows]
        size = max(marks.size - 1, 0)

        def cell(index: int) -> tuple[fast.Ints, fast.Ints]:
            begin = a if index == 0 else marks[np.minimum(first + index - 1, size)] + 1
            stop = np.where(index < count, marks[np.minimum(first + index, size)], b) if marks.size else b
            gone = index > count
            return fast.trimmed(buf, np.where(gone, b, begin), np.where(gone, b, stop))

        good = np.ones(rows.size, bool)
        if timing.how == "number":
            seconds, known = fast.numbers(buf, *cell(timing.columns[0]), self._point)
            good &= known
            times[rows] = seconds * timing.factor + timing.zero
        else:
            day, total = np.full(rows.size, -1, np.int64), np.zeros(rows.size)
            for column in timing.columns:
                part = len(timing.columns) > 1
                read = fast.clocks(buf, *cell(column), lambda t, p=part: self._by_shape(t, part=p), self._day_of)  # type: ignore[misc]
                good &= read.known
                day = np.where(read.day > 0, read.day, day)
                total += read.seconds / 60 if timing.parts == "mm:ss" else read.seconds
            if timing.counts == "time of day":
                good &= total < DAY_S
            times[rows], days[rows] = total, day
            if timing.counts == "moment":
                good &= day >= 0
        for source in self.layout.sources.values():
            begin, stop = cell(source.index)
            empty = stop <= begin
            if source.suffix:
                begin, stop, carried = _without_suffix(buf, begin, stop, source.suffix)
                good &= carried | empty
            number, known = fast.numbers(buf, begin, stop, self._point)
            good &= known | empty
            values[source.quantity][rows] = np.where(known, number * source.factor + source.zero, np.nan)
            if empty.any():
                self.odd.counts[f"no {source.quantity}"] += int((empty & good).sum())
        done = np.zeros(starts.size, bool)
        done[rows] = good
        for name in values:
            values[name][~done] = np.nan
        return done

    # -- one by one ----------------------------------------------------------------------------------------------------

    def _one(self, text: str, line: int, torn: bool) -> tuple[float, int, dict[str, float], str] | float | None:
        """One line: a sample, a day (in days since 1970, as a float) that holds from here on, or nothing."""
        table, timing = self.layout.table, self._timing
        if not text or _plain_head(text) in self._header:
            self.odd.counts["header again"] += bool(text)
            return None
        cells = split(text, table.delimiter)
        if len(cells) < table.least or overlong(cells, table.width):
            if timing.counts == "time of day" and (day := self._bare_day(text)) is not None:
                return day
            begun = timing.columns[0] < len(cells) and self._time_in(cells) is not None
            if not begun and _names_columns(cells):
                self.odd.note("another header", line, text)
                return None
            self.odd.note("cut short" if torn else "broken" if begun else "note", line, text)
            return None
        when = self._time_in(cells)
        if when is None:
            if _names_columns(cells):
                self.odd.note("another header", line, text)
                return None
            numbers = sum(number_of(c, self.layout.decimal) is not None for c in cells)
            if timing.counts == "time of day" and not numbers and (day := self._bare_day(text)) is not None:
                return day
            self.odd.note("no time" if numbers > 1 else "note", line, text)
            return None
        values: dict[str, float] = {}
        for index, source in self._by_index.items():
            cell = cells[index] if index < len(cells) else ""
            if torn and index == len(cells) - 1 and self._cut(cell, source):
                self.odd.note("cut short", line, text)
                return None
            values[source.quantity] = self._value(cell, source, line, text)
        state = cells[self.layout.state] if self.layout.state is not None and self.layout.state < len(cells) else ""
        return when[0], when[1], values, state

    def _cut(self, cell: str, source: Source) -> bool:
        """Whether the last cell of a file without a line end looks cut: fewer decimals, or fewer digits than most others."""
        if source.decimals:
            return len(cell.rpartition(self.layout.decimal)[2]) < source.decimals
        digits = Counter(len(row[source.index]) for row in self.layout.table.rows if source.index < len(row))
        return cell.isdigit() and cell != "0" and bool(digits) and len(cell) < digits.most_common(1)[0][0]

    def _value(self, cell: str, source: Source, line: int, text: str) -> float:
        if is_missing(cell):
            self.odd.note(f"no {source.quantity}", line, text) if cell else self.odd.counts.update([f"no {source.quantity}"])
            return float("nan")
        number = number_of(cell, self.layout.decimal)
        if number is None:
            self.odd.note(f"unreadable {source.quantity}", line, text)
            return float("nan")
        factor, zero = source.factor, source.zero
        if number.unit and number.unit != source.suffix:
            found = unit_named(number.unit, source.quantity)
            if found is None:
                self.odd.note(f"unreadable {source.quantity}", line, text)
                return float("nan")
            factor, zero = FACTORS[found[1]], ZEROS.get(found[1], 0.0)
            if not source.own_units and found[1] != source.unit:
                self.odd.note(f"other unit of {source.quantity}", line, text)
        elif source.own_units and not number.unit:
            self.odd.note(f"{source.quantity} without its unit", line, text)
        return number.value * factor + zero

    def _time_in(self, cells: list[str]) -> tuple[float, int] | None:
        """(seconds, day or -1) of a row."""
        timing = self._timing
        if any(c >= len(cells) for c in timing.columns):
            return None
        if timing.how == "number":
            number = number_of(cells[timing.columns[0]], self.layout.decimal)
            if number is None or (number.unit and unit_named(number.unit, "time") is None):
                return None
            return number.value * timing.factor + timing.zero, -1
        clock = self._clock(" ".join(cells[c] for c in timing.columns))
        if clock is None:
            return None
        return clock.seconds - (clock.offset_s or 0.0), self._day(clock)

    def _clock(self, text: str, *, part: bool = False) -> Clock | None:
        """A cell as a clock, where it is of the kind that this file's rows have; ``part``: half of one, date or time."""
        timing = self._timing
        try:
            clock = read_clock(text, self.order, elapsed=timing.elapsed, solid=timing.solid, parts=timing.parts)
        except NoSuchDay:
            open_day = read_clock(text, None, elapsed=timing.elapsed, solid=timing.solid)
            if open_day is not None and open_day.date_groups is not None:
                self._day_of(open_day.date_groups)  # it speaks against this order
            return None
        if clock is None:
            return None
        if part:
            self.has_offset |= clock.offset_s is not None
            return clock
        fits = {"moment": ("moment", "date"), "time of day": ("time of day",), "elapsed": ("elapsed",)}[timing.counts]
        if clock.kind not in fits:
            return None
        self.has_offset |= clock.offset_s is not None
        return clock

    def _by_shape(self, text: str, *, part: bool) -> Clock | None:
        """A cell as the fast way reads it, by its shape: two numbers are hours and minutes there."""
        if self._timing.parts == "mm:ss":
            return read_clock(text, elapsed=True, parts="hh:mm") if in_two_parts(text) else None
        return self._clock(text, part=part)

    def _day(self, clock: Clock) -> int:
        if clock.date_groups is not None:
            found = self._day_of(clock.date_groups)
            return found if found is not None else -1
        return clock.day if clock.day is not None else -1

    def _day_of(self, groups: tuple[int, int, int]) -> int | None:
        """The day of three numbers: year first, or in the order that is taken (the first day stands in for an open)."""
        if groups[0] > 99:
            return day_number(*groups)
        if len(self.dates) < MOST_DATES:
            self.dates.setdefault(groups)
        return day_in(groups, self.order) if self.order is not None else None

    def _bare_day(self, text: str) -> float | None:
        """The day of a line that holds nothing but a date."""
        try:
            clock = read_clock(text.strip(' -=*#,;\t"').removeprefix("Date").strip(" :=,;\t"), self.order, solid=True)
        except NoSuchDay:
            return None
        if clock is None or clock.kind != "date":
            return None
        day = self._day(clock)
        return float(day) if day >= 0 else None

    # -- times and faults ----------------------------------------------------------------------------------------------

    def _counted(self, seconds: Floats, days: fast.Ints, marks: list[tuple[int, float]]) -> Floats:
        """Seconds in one count: moments since 1970, times of day over midnights."""
        if self._timing.counts == "moment":
            return seconds + np.where(days >= 0, days, 0) * DAY_S if self._timing.how == "cells" else seconds
        if self._timing.counts == "elapsed":
            return seconds
        if not self._began:
            self._began = True
            self._day_base = (self._timing.start_day or 0) * DAY_S
        made = np.empty_like(seconds)
        cuts = [0, *(place for place, _ in marks), seconds.size]
        for number, (a, b) in enumerate(itertools.pairwise(cuts)):
            if number > 0:
                self._day_base, self._last_clock = marks[number - 1][1] * DAY_S, None
            if b <= a:
                continue
            part = seconds[a:b]
            before = np.concatenate(([self._last_clock if self._last_clock is not None else part[0]], part[:-1]))
            turn = -1.0 if self._timing.newest_first else 1.0
            midnights = np.cumsum((part - before) * turn < -DAY_S / 2) * turn
            made[a:b] = self._day_base + midnights * DAY_S + part
            self._day_base += float(midnights[-1]) * DAY_S
            self._last_clock = float(part[-1])
        return made

    def _without_faults(self, quantity: str, values: Floats, number: fast.Ints) -> Floats:
        """Values with nan for what instruments write where they have none."""
        source = self.layout.sources[quantity]
        with np.errstate(invalid="ignore"):
            raw = (values - source.zero) / source.factor
            far = np.abs(raw) >= BEYOND
            suspects = np.isin(np.round(raw, 6), _SENTINELS)
        if suspects.any():
            others = raw[~suspects & ~far & np.isfinite(raw)]
            low, high = (float(others.min()), float(others.max())) if others.size else (0.0, 0.0)
            room = 2 * max(high - low, abs(high), abs(low), 1e-9)
            far |= suspects & ((raw > high + room) | (raw < low - room))
        if far.any():
            rows = np.flatnonzero(far)
            self.odd.counts[f"fault value of {quantity}"] += rows.size
            told = self.odd.examples.setdefault(f"fault value of {quantity}", [])
            told += [f"line {number[r]}: {raw[r]:g}" for r in rows[: TOLD_AT_MOST - len(told)]]
            values = np.where(far, np.nan, values)
        return values


def _plain_head(line: str) -> str:
    """A header line, however it is quoted and spaced."""
    return "".join(line.casefold().replace('"', "").split())


def _names_columns(cells: Sequence[str]) -> bool:
    """Whether a line names the columns of a table: its time, and something that is measured."""
    if not 2 <= len(cells) <= 100 or any(len(c) > LONGEST_NAME for c in cells):
        return False
    named = [meaning_of(c).quantity for c in cells if c and not c[0].isdigit()]
    return "time" in named and any(q in named for q in (*QUANTITIES, "counter", "power"))


_SENTINELS = np.array(sorted(SENTINELS))


def _without_suffix(
    buf: fast.Bytes, starts: fast.Ints, ends: fast.Ints, suffix: str
) -> tuple[fast.Ints, fast.Ints, fast.Bools]:
    """Cells without the unit behind them, and which carried it."""
    told = np.frombuffer(suffix.encode(), np.uint8)
    carried = ends - starts > told.size
    for k, char in enumerate(told):
        carried &= buf[np.maximum(ends - told.size + k, 0)] == char
    begin, stop = fast.trimmed(buf, starts, ends - told.size * carried)
    return begin, stop, carried
