"""Which columns tell the time of a sample, how they count, and where they start from."""

from __future__ import annotations

import itertools
import re
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Literal

from bathkeeper.refusals import shorten
from bathkeeper.traces.asking import Answers, Choice, Question, TraceError
from bathkeeper.traces.cells import number_of
from bathkeeper.traces.choices import time_columns
from bathkeeper.traces.clocks import (
    DAY_S,
    SECONDS_IN,
    Clock,
    NoSuchDay,
    TwoParts,
    day_number,
    in_two_parts,
    number_kind,
    read_clock,
)
from bathkeeper.traces.table import Table, asked_column, column_title
from bathkeeper.traces.words import Meaning, is_scaled, scaled_unit

How = Literal["cells", "number"]
_TWO_PARTS = ("hh:mm", "mm:ss")
_HOURS, _MINUTES = re.compile(r"\bh{1,2}:m{1,2}\b", re.I), re.compile(r"\bm{1,2}:s{1,2}\b|\bmin:sec?\b", re.I)
DISAGREE = 0.02  # two time columns whose spans differ by more tell different times


@dataclass(frozen=True)
class Timing:
    """How the time of a row is told.

    ``how``: by clock ``cells`` (one column, or date and time in two), or by a plain ``number`` times ``factor`` seconds, plus
    ``zero`` where that is since 1970. ``counts``: what the seconds count from: ``moment`` (1970), ``time of day``, ``elapsed``.
    ``solid``: digits without signs are HHMMSS. ``start_day`` and ``start_s``: from the lines before the table, the file's
    name or a clock column beside; ``start_groups`` while the order of that date is open. ``finest_s``: smallest step that the
    clock shows. ``step_s``: median step in the head; ``regular``: nine in ten steps are hardly longer; ``by_hand``: all are
    whole minutes and some differ, as a person notes them. ``parts``: what two numbers such as 09:30 are.
    """

    columns: tuple[int, ...]
    how: How
    counts: Literal["moment", "time of day", "elapsed"]
    factor: float = 1.0
    zero: float = 0.0
    elapsed: bool = False
    solid: bool = False
    start_day: int | None = None
    start_s: float | None = None
    start_groups: tuple[int, int, int] | None = None
    start_from: str = ""
    title: str = ""
    groups: frozenset[tuple[int, int, int]] = frozenset()
    finest_s: float = 1.0
    newest_first: bool = False
    step_s: float = 1.0
    regular: bool = True
    by_hand: bool = False
    parts: TwoParts | None = None


@dataclass(frozen=True)
class _Candidate:
    timing: Timing
    seconds: list[float | None]
    rank: float
    of_step: bool = False
    first: Clock | None = None
    question: Question | None = None
    steps: list[float] = field(default_factory=list)


def find_timing(
    table: Table,
    meanings: Sequence[Meaning],
    decimal: str,
    answers: Answers,
    file_name: str,
    questions: list[Question],
    doubts: list[str],
) -> Timing | None:
    """How rows tell their time; None (and a question) where not clear. Raises TraceError for an answer that cannot be."""
    asked = answers.columns.get("time")
    if asked is not None:
        candidates = [_asked(table, meanings, decimal, answers, asked, answers.columns.get("date"))]
    else:
        candidates = _candidates(table, meanings, decimal, answers)
    if not candidates:
        questions.append(
            Question(
                "columns.time",
                "no column was recognised as the time of its row",
                time_columns(table, ()),
                "--columns time=N, with the column's number, and --unit time=s where it counts",
            )
        )
        return None
    best = max(candidates, key=lambda c: c.rank)
    if best.question is not None:
        questions.append(best.question)
    if best.of_step:
        doubts.append(f"column {best.timing.title} may start anew with each step; no other column tells the time of a row")
    _compare(best, candidates, questions)
    return _started(best, candidates, table, file_name, doubts)


def _candidates(table: Table, meanings: Sequence[Meaning], decimal: str, answers: Answers) -> list[_Candidate]:
    found: list[_Candidate] = []
    dates, times, twos = [], [], []
    for j in range(table.width):
        if table.kinds[j] == "clock":
            clocks = _clocks(table, (j,), elapsed=_says_elapsed(table.names[j]))
            kinds = {c.kind for c in clocks if c is not None}
            if _in_two(table, j):
                twos.append(j)
            elif kinds == {"date"}:
                dates.append(j)
            elif kinds <= {"time of day"}:
                times.append(j)
            elif kinds:
                found.append(_of_cells(table, (j,), clocks, meanings[j]))
        elif table.kinds[j] == "number" and meanings[j].quantity == "time" and not meanings[j].is_set:
            solid = _solid(table, j)
            if solid == "date":
                dates.append(j)
            elif solid == "moment":
                found.append(_of_cells(table, (j,), _clocks(table, (j,), solid=True), meanings[j]))
            elif solid == "time" and not meanings[j].unit:
                times.append(j)
            else:
                found.append(_of_numbers(table, j, meanings[j], decimal, answers))
    for j in twos:
        if dates:
            times.append(j)  # with a date beside them they are hours and minutes
        elif meanings[j].quantity in ("time", "") and not meanings[j].is_set:
            found.append(_of_two(table, j, meanings[j], answers))
    for j in times:
        beside = [d for d in dates if abs(d - j) == 1] or dates
        columns = (beside[0], j) if beside else (j,)
        clocks = _clocks(table, columns, elapsed=_says_elapsed(table.names[j]), solid=True)
        if any(c is not None for c in clocks):
            found.append(_of_cells(table, columns, clocks, meanings[j]))
    return found


def _asked(
    table: Table, meanings: Sequence[Meaning], decimal: str, answers: Answers, text: str, date_text: str | None
) -> _Candidate:
    parts = [p for p in re.split(r"\+", text) if p.strip()]
    columns = [c for p in ([date_text] if date_text else []) + parts if (c := asked_column(table, p, "time")) is not None]
    if not columns:
        raise TraceError("--columns time=: every row needs its time; name the column by number, or two as 1+2")
    if len(columns) == 1 and table.kinds[columns[0]] == "number" and _solid(table, columns[0]) is None:
        return _of_numbers(table, columns[0], meanings[columns[0]], decimal, answers)
    if len(columns) == 1 and _in_two(table, columns[0]):
        return _of_two(table, columns[0], meanings[columns[0]], answers)
    clocks = _clocks(table, tuple(columns), elapsed=_says_elapsed(table.names[columns[-1]]), solid=True)
    if not any(c is not None for c in clocks):
        raise TraceError(
            f"--columns time={shorten(text)}: the values there are no times, such as `{shorten(_cell(table, columns[-1]))}`"
        )
    return _of_cells(table, tuple(columns), clocks, meanings[columns[-1]])


def _cell(table: Table, index: int) -> str:
    return table.rows[0][index] if table.rows and index < len(table.rows[0]) else ""


def _says_elapsed(name: str) -> bool:
    return bool(re.search(r"elapsed|total|duration|run ?time|dauer|laufzeit|since|relative|test", name, re.I))


def _in_two(table: Table, index: int) -> bool:
    cells = [r[index] for r in table.rows if index < len(r) and r[index]]
    return bool(cells) and sum(in_two_parts(c) for c in cells) >= 0.9 * len(cells)


def _of_two(table: Table, index: int, meaning: Meaning, answers: Answers) -> _Candidate:
    """A column such as 09:30: hours and minutes, or minutes and seconds, as its header says or as is answered."""
    said = f"{table.names[index]} {table.units[index]}"
    told: TwoParts | None = "hh:mm" if _HOURS.search(said) else "mm:ss" if _MINUTES.search(said) else None
    asked = answers.units.get("time")
    if asked is not None:
        if asked not in _TWO_PARTS:
            raise TraceError(f"--unit time={shorten(asked)}: column {_title(table, (index,))} is in {' or '.join(_TWO_PARTS)}")
        told = "mm:ss" if asked == "mm:ss" else "hh:mm"
    elapsed = _says_elapsed(table.names[index])
    clocks = _clocks(table, (index,), elapsed=elapsed, parts=told or "hh:mm")
    made = _of_cells(table, (index,), clocks, meaning)
    question = None
    if told is None:
        example = next((r[index] for r in table.rows if index < len(r) and r[index]), "")
        question = Question(
            "unit.time",
            f"column {_title(table, (index,))} says `{shorten(example)}`: hours and minutes, or minutes and seconds?",
            (Choice("hours and minutes", "--unit time=hh:mm"), Choice("minutes and seconds", "--unit time=mm:ss")),
        )
    timing = replace(made.timing, parts=told or "hh:mm")
    return replace(made, timing=timing, rank=made.rank - (1.0 if question is not None else 0.0), question=question)


def _solid(table: Table, index: int) -> Literal["date", "time", "moment"] | None:
    """Whether a column of plain digits is YYYYMMDD, HHMMSS or both in one throughout."""
    cells = [r[index] for r in table.rows if index < len(r) and r[index]]
    if cells and all(re.fullmatch(r"20\d{6}", c) for c in cells):
        return "date"
    six = [c for c in cells if re.fullmatch(r"([01]\d|2[0-3])[0-5]\d[0-5]\d(\.\d+)?", c)]
    if cells and all(re.fullmatch(r"20\d{2}[01]\d[0-3]\d[0-2]\d[0-5]\d[0-5]\d", c) for c in cells):
        return "moment"
    return "time" if cells and len(six) == len(cells) else None


def _clocks(
    table: Table, columns: tuple[int, ...], *, elapsed: bool = False, solid: bool = False, parts: TwoParts | None = None
) -> list[Clock | None]:
    made = []
    for row in table.rows:
        text = " ".join(row[j] for j in columns if j < len(row))
        try:
            made.append(read_clock(text, None, elapsed=elapsed, solid=solid, parts=parts))
        except NoSuchDay:
            made.append(None)
    return made


def _of_cells(table: Table, columns: tuple[int, ...], clocks: list[Clock | None], meaning: Meaning) -> _Candidate:
    told = [c for c in clocks if c is not None and c.kind != "date"]
    counts = told[0].kind if told else "time of day"
    elapsed = _says_elapsed(table.names[columns[-1]])
    if counts == "time of day" and told and (any(c.kind == "elapsed" for c in told) or told[0].seconds < 60):
        # a log of an hour that begins at 00:00:0x counts from its own start
        counts, elapsed = "elapsed", True
    groups = frozenset(c.date_groups for c in told if c.date_groups is not None)
    base: dict[tuple[int, int, int] | None, float] = {}
    seconds: list[float | None] = []
    for clock in clocks:
        if clock is None or clock.kind == "date":
            seconds.append(None)
            continue
        if clock.day is not None:
            seconds.append(clock.day * DAY_S + clock.seconds)
        else:
            # days in an open order: the head is only compared within itself, so each new day counts as the next
            seconds.append(base.setdefault(clock.date_groups, len(base) * DAY_S) + clock.seconds)
    finest = 60.0 if told and all(c.to_minute for c in told) else 10.0 ** -max((c.fraction for c in told), default=0)
    timing = Timing(
        columns,
        "cells",
        counts if counts in ("moment", "elapsed") else "time of day",
        elapsed=elapsed,
        solid=any(not re.search(r"[:.]", _cell(table, j)) for j in columns),
        groups=groups,
        title=_title(table, columns),
        finest_s=finest,
    )
    rank = {"moment": 4.0, "elapsed": 3.0}.get(counts, 2.0) - (2.5 if finest >= 60 else 0) - (2.0 if meaning.of_step else 0)
    return _candidate(timing, seconds, rank, meaning.of_step, told[0] if told else None)


def _of_numbers(table: Table, index: int, meaning: Meaning, decimal: str, answers: Answers) -> _Candidate:
    values = [n.value if (n := number_of(r[index], decimal)) is not None else None for r in table.rows if index < len(r)]
    told = [v for v in values if v is not None] or [0.0]
    asked = answers.units.get("time")
    unit: str | None = meaning.unit or None
    times = 1.0
    if asked is not None:
        named = scaled_unit(asked, "time")
        if named is None:
            raise TraceError(f"--unit time={shorten(asked)}: a time is in {', '.join(SECONDS_IN)}, or in so many of it (10s)")
        unit, times = named
    kind = number_kind(min(told), max(told), unit)
    question = None
    if kind is None:
        question = Question(
            "unit.time",
            f"column {_title(table, (index,))} counts {told[0]:g}, {told[min(1, len(told) - 1)]:g} ... and does not say "
            f"in what",
            tuple(
                Choice(f"in {u}", f"--unit time={u}")
                for u in ("s", "ms", "us", "min", "h")
                if number_kind(min(told), max(told), u) is not None and (u != "us" or max(told) > 1e6)
            ),
        )
        kind = ("elapsed", 1.0, float("nan"))
    what, factor, zero = kind
    factor *= times
    if asked is None and question is None and is_scaled(table.names[index], table.units[index]) and what == "elapsed":
        question = Question(
            "unit.time",
            f"column {_title(table, (index,))} tells of a factor beside its unit: how long is a step of 1 in it?",
            (Choice(f"1 {unit}, as it stands", f"--unit time={unit}"),),
            f"--unit time=10{unit}, where a 1 means 10 {unit}",
        )
    counts: Literal["moment", "elapsed"] = "elapsed" if what == "elapsed" else "moment"
    timing = Timing(
        (index,),
        "number",
        counts,
        factor,
        0.0 if counts == "elapsed" else zero,
        elapsed=counts == "elapsed",
        title=_title(table, (index,)),
        finest_s=min(factor, 1.0) * 1e-3,
    )
    seconds = [None if v is None else v * factor + timing.zero for v in values]
    rank = (3.9 if counts == "moment" else 3.0) - (1.0 if question is not None else 0) - (2.0 if meaning.of_step else 0)
    return _candidate(timing, seconds, rank, meaning.of_step, None, question)


def _candidate(
    timing: Timing,
    seconds: list[float | None],
    rank: float,
    of_step: bool,
    first: Clock | None,
    question: Question | None = None,
) -> _Candidate:
    told = [s for s in seconds if s is not None]
    steps = [b - a for a, b in itertools.pairwise(told)]
    if steps:
        sizes = sorted(abs(s) for s in steps if s) or [timing.finest_s]
        median, wide = sizes[len(sizes) // 2], sizes[min(len(sizes) - 1, len(sizes) * 9 // 10)]
        newest_first = sum(s < 0 for s in steps) > 0.9 * len(steps) and len(steps) > 3
        timing = replace(
            timing,
            newest_first=newest_first,
            step_s=median,
            regular=wide <= 1.5 * median + timing.finest_s,
            by_hand=all(s % 60 == 0 for s in steps) and any(abs(s - median) > 0.1 * median for s in sizes),
        )
        still = sum(s == 0 for s in steps) / len(steps)
        back = sum(s < 0 for s in steps) / len(steps)
        # many rows on one stamp: a finer clock beside it knows better; a clock that starts over again and again is one of steps
        rank -= 1.5 * (still > 0.3) + 1.5 * (0.01 < back < 0.9)
    return _Candidate(timing, seconds, rank, of_step, first, question, steps)


def _title(table: Table, columns: tuple[int, ...]) -> str:
    return " and ".join(column_title(table, j) for j in columns)


def _compare(best: _Candidate, candidates: Sequence[_Candidate], questions: list[Question]) -> None:
    """Asks where two columns tell spans that cannot both be."""
    for other in candidates:
        if other is best or other.of_step or other.question is not None:
            continue
        pairs = [(a, b) for a, b in zip(best.seconds, other.seconds, strict=False) if a is not None and b is not None]
        if len(pairs) < 5:
            continue
        spans = [pairs[-1][0] - pairs[0][0], pairs[-1][1] - pairs[0][1]]
        slack = 3 * max(best.timing.finest_s, other.timing.finest_s, 1.0)
        if min(spans) >= 0 and abs(spans[0] - spans[1]) > max(DISAGREE * max(spans), slack):
            questions.append(
                Question(
                    "columns.time",
                    f"over the same rows column {best.timing.title} goes on by {spans[0]:.6g} s and column "
                    f"{other.timing.title} "
                    f"by {spans[1]:.6g} s; which one is right?",
                    tuple(
                        Choice(f"column {c.timing.title}", f"--columns time={'+'.join(str(j + 1) for j in c.timing.columns)}")
                        for c in (best, other)
                    ),
                )
            )
            return


def _started(best: _Candidate, candidates: Sequence[_Candidate], table: Table, file_name: str, doubts: list[str]) -> Timing:
    """With the moment that the file counts from, where the rows themselves do not tell it."""
    timing = best.timing
    if timing.counts == "moment":
        return timing
    beside = next((c for c in candidates if c is not best and c.timing.counts == "moment"), None)
    if beside is not None:
        first = next((s for s in beside.seconds if s is not None), None)
        groups = beside.first.date_groups if beside.first is not None else None
        if first is not None and (groups is None or beside.first is None):
            return replace(
                timing, start_day=int(first // DAY_S), start_s=first % DAY_S, start_from=f"column {beside.timing.title}"
            )
        if beside.first is not None:
            return replace(
                timing,
                start_groups=groups,
                start_s=beside.first.seconds,
                start_from=f"column {beside.timing.title}",
                groups=timing.groups | beside.timing.groups,
            )
    day, clock = _in_preamble(table, timing.counts)
    if day is not None:
        return replace(
            timing,
            start_day=day.day,
            start_groups=day.date_groups,
            start_from="the lines before the table",
            groups=timing.groups | ({day.date_groups} if day.date_groups is not None else set()),
            start_s=clock.seconds if clock is not None else None,
        )
    return _by_file_name(timing, file_name, doubts)


def _in_preamble(table: Table, counts: str) -> tuple[Clock | None, Clock | None]:
    """(day, time of day) that the lines before the table tell: of several moments the one that is called a start."""
    days: list[tuple[bool, Clock]] = []
    times: list[tuple[bool, Clock]] = []
    for label, value in table.preamble:
        starts = bool(re.search(r"start|begin|beginn|début|inicio|开始", label, re.I))
        if re.search(r"export|print|calib|install|manufact|firmware|version|end|stop|serial", label, re.I):
            continue
        clock = read_clock(value) or read_clock(f"{label} {value}".strip())
        if clock is None or clock.kind in ("elapsed", "number"):
            continue
        if clock.kind in ("moment", "date"):
            days.append((starts, clock))
        if clock.kind in ("moment", "time of day"):
            times.append((starts, clock))
    pick = next((c for s, c in days if s), days[0][1] if len(days) == 1 else None)
    time = pick if pick is not None and pick.kind == "moment" else next((c for s, c in times if s), None)
    time = time or (times[0][1] if len(times) == 1 else None)
    return pick, time


def _by_file_name(timing: Timing, file_name: str, doubts: list[str]) -> Timing:
    match = re.search(
        r"(?<!\d)(20\d{2})[-_.]?(\d{2})[-_.]?(\d{2})(?:[-_T ]*(\d{2})[-_.]?(\d{2})(?:[-_.]?(\d{2}))?)?(?!\d)", file_name
    )
    if match is None:
        return timing
    day = day_number(int(match[1]), int(match[2]), int(match[3]))
    if day is None:
        return timing
    start = None
    if match[4] and int(match[4]) < 24 and int(match[5]) < 60:
        start = int(match[4]) * 3600.0 + int(match[5]) * 60 + int(match[6] or 0)
    doubts.append(f"the day {match[1]}-{match[2]}-{match[3]} is taken from the file's name")
    return replace(timing, start_day=day, start_s=start, start_from="the file's name")
