"""A file of samples from its first byte to what it comes to: looked at, read through once, judged.

    look at the head ──► layout ──► rows ──► sums ──► what is doubtful, what must be asked

:func:`read_trace` takes a way to open the file's bytes anew (it reads twice only where the order of its dates, or one of
several stretches, shows late), and never opens anything itself.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable, Iterator
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta, tzinfo

import numpy as np
from numpy.typing import NDArray

from bathkeeper.traces.asking import NAMED, NO_ANSWERS, Answers, Bench, Choice, DateOrder, Question, TraceError
from bathkeeper.traces.bins import drawn
from bathkeeper.traces.clocks import DAY_S, EPOCH, day_in, orders_of
from bathkeeper.traces.encodings import blocks, what_else
from bathkeeper.traces.judging import judged
from bathkeeper.traces.layout import HEAD, Layout, look
from bathkeeper.traces.offsets import NOT_TOLD
from bathkeeper.traces.rows import Batch, Oddities, RowReader
from bathkeeper.traces.stretches import Stretch, stretches_of
from bathkeeper.traces.sums import Sums
from bathkeeper.traces.zones import WallClock, moment_of, offset_at

SHORTEST_BOUND_S = 60.0  # samples further apart are a gap, unless the logger itself writes more rarely than that [practice]
NEVER_SET_S = (date(1990, 1, 1).toordinal() - EPOCH) * DAY_S  # no logger of today was set before
CLOCKS_APART_S = 600.0
STEPS = 3.0  # a logger's own steps that a gap is longer than [practice]
ORDER_WORDS = {"dmy": "day first", "mdy": "month first", "ymd": "year first"}
ORDER_OPTIONS = {"dmy": "--day-first", "mdy": "--month-first", "ymd": "--year-first"}
Opened = Callable[[], Iterable[bytes]]


@dataclass(frozen=True)
class Middle:
    """One quantity's middle over a span, in its fixed unit: median, standard deviation, how many samples."""

    quantity: str
    start: datetime | None
    end: datetime | None
    median: float
    deviation: float
    samples: int


@dataclass(frozen=True)
class TraceReading:
    """What a file comes to. While there are ``questions`` nothing of it may be booked.

    ``start`` and ``end`` are None where the file does not tell its day. ``charge_ah`` is None where there is no current to
    take. ``points``: (minutes from the start, A). ``oddities``: what was met on the way, in words.
    """

    layout: Layout
    rows: int
    samples: int
    start: datetime | None
    end: datetime | None
    minutes: float
    on_minutes: float
    charge_ah: float | None
    gap_minutes: float
    gap_charge_ah: float
    gap_count: int
    gap_bound_s: float
    order: DateOrder | None
    stretches: tuple[Stretch, ...]
    middles: tuple[Middle, ...]
    points: tuple[tuple[float, float], ...]
    questions: tuple[Question, ...]
    doubts: tuple[str, ...]
    zone: tzinfo | None
    sums: Sums | None = None


NO_BENCH = Bench()  # nothing is known of the bench


def read_trace(
    opened: Opened,
    answers: Answers = NO_ANSWERS,
    *,
    file_name: str = "",
    bench: Bench = NO_BENCH,
    remembered: Callable[[str], Answers | None] | None = None,
    careful: bool = False,
) -> TraceReading:
    """Reads a file through.

    Args:
        opened: gives the file's bytes from the beginning, in chunks; called two or three times.
        remembered: what was answered for files with this header before.
        careful: every row one by one (slower; for tests).

    Raises:
        TraceError: there is no table in the file, or an answer cannot be.
    """
    head, whole = _head(opened())
    if (other := what_else(head)) is not None:
        raise TraceError(f"{file_name or 'the file'} is {other}; a log is a text file with a row for every sample")
    layout = look(head, answers, file_name, whole=whole)
    said = answers
    if remembered is not None and layout.fingerprint and (before := remembered(layout.fingerprint)) is not None:
        answers = answers.over(before)
        layout = look(head, answers, file_name, whole=whole)
    if answers.zone is None and layout.offset.zone is not None:
        answers = replace(answers, zone=layout.offset.zone)
    if layout.timing is None or not layout.sources:
        questions = layout.questions or (
            Question(
                "columns",
                "no column of current, voltage, temperature, pH or conductivity",
                example=NAMED,
            ),
        )
        return _nothing(layout, replace_questions=questions, answers=answers)
    order, unclear = _order(layout.timing.groups, answers)
    passed = _pass(opened, layout, answers, order, careful)
    decided, unclear = _order(frozenset(passed.reader.dates) | layout.timing.groups, answers)
    if decided != order:
        passed = _pass(opened, layout, answers, decided, careful)
    if answers.stretch:
        found = stretches_of(passed.sums, layout)
        if answers.stretch <= len(found):
            chosen = found[answers.stretch - 1]
            passed = _pass(opened, layout, answers, decided, careful, window=(chosen.start_s, chosen.end_s))
    return _settled(layout, answers, bench, decided, unclear, passed, said)


def _head(chunks: Iterable[bytes]) -> tuple[bytes, bool]:
    head = b""
    for chunk in chunks:
        head += chunk
        if len(head) > HEAD:
            return head[:HEAD], False
    return head, True


def _order(groups: frozenset[tuple[int, int, int]], answers: Answers) -> tuple[DateOrder | None, tuple[DateOrder, ...]]:
    """(the order to read dates in, those that are still possible where rows do not decide it)."""
    if not groups:
        return answers.date_order, ()
    if answers.date_order is not None:
        return answers.date_order, ()
    every: tuple[DateOrder, ...] = ("dmy", "mdy", "ymd")
    possible = [o for o in every if all(o in orders_of(g) for g in groups)]
    if not possible:  # one broken date must not decide; most of them do
        votes = {o: sum(o in orders_of(g) for g in groups) for o in every}
        return max(every, key=lambda o: votes[o]), tuple(o for o in every if votes[o])
    if len(possible) > 1 and len(groups) > 1:
        # days of one log follow one another: an order in which they do, where in the others they lie a month apart
        close = [o for o in possible if _follow(groups, o)]
        if len(close) == 1:
            return close[0], ()
    return possible[0], tuple(possible) if len(possible) > 1 else ()


def _follow(groups: frozenset[tuple[int, int, int]], order: DateOrder) -> bool:
    days = sorted(d for g in groups if (d := day_in(g, order)) is not None)
    return len(days) == len(groups) and all(b - a == 1 for a, b in itertools.pairwise(days))


@dataclass
class _Passed:
    reader: RowReader
    sums: Sums
    wall: WallClock


def _pass(
    opened: Opened,
    layout: Layout,
    answers: Answers,
    order: DateOrder | None,
    careful: bool,
    window: tuple[float, float] | None = None,
) -> _Passed:
    """Once through the file."""
    timing = layout.timing
    assert timing is not None
    reader = RowReader(layout, order, careful)
    bound = answers.gap_s if answers.gap_s is not None else usual_bound_s(layout)
    turn, intervals = -1.0 if timing.newest_first else 1.0, answers.counter == "interval"
    sums = Sums(bound, max(timing.step_s, 1e-6), turn, answers.between or "straight", intervals)
    wall = WallClock(answers.zone)
    by_wall = timing.how == "cells" or timing.factor == DAY_S  # a spreadsheet counts days of the wall clock, 1970 counts in UTC
    walled = by_wall and (timing.counts == "moment" or (timing.counts == "time of day" and timing.start_day))
    for batch in _batches(blocks(opened(), layout.encoding), reader):
        times = batch.times
        if walled and not reader.has_offset:
            times = wall.utc(times)
        values = batch.values
        if answers.only is not None and batch.states is not None:
            inside = _is_word(batch.states, answers.only[1])
            times, values, batch = times[inside], {q: v[inside] for q, v in values.items()}, replace(batch, states=None)
        if answers.reverse is not None and batch.states is not None and "current" in values:
            against = _is_word(batch.states, answers.reverse)
            values = {**values, "current": np.where(against, -values["current"], values["current"])}
        states = batch.states
        if window is not None:
            inside = (times >= window[0]) & (times <= window[1])
            times, values = times[inside], {q: v[inside] for q, v in values.items()}
            states = (states[0], states[1][inside]) if states is not None else None
        sums.take(times, values, states)
    sums.finish()
    return _Passed(reader, sums, wall)


def _is_word(states: tuple[list[str], NDArray[np.int64]], word: str) -> NDArray[np.bool_]:
    """Which rows have that word in the state column."""
    words, number = states
    return np.array([w.strip().casefold() == word.strip().casefold() for w in words])[number]


def _batches(lines: Iterator[bytes], reader: RowReader) -> Iterator[Batch]:
    waiting = next(lines, None)
    while waiting is not None:
        after = next(lines, None)
        yield reader.take(waiting, last=after is None)
        waiting = after


def usual_bound_s(layout: Layout) -> float:
    """The longest step that is bridged when nobody says otherwise, s."""
    timing = layout.timing
    if timing is None or not timing.regular:
        return SHORTEST_BOUND_S
    return max(SHORTEST_BOUND_S, STEPS * timing.step_s)


def _settled(
    layout: Layout, answers: Answers, bench: Bench, order: DateOrder | None, unclear: tuple[DateOrder, ...], passed: _Passed,
    said: Answers,
) -> TraceReading:  # fmt: skip
    if passed.reader.has_offset:  # rows that tell their own offset need none from elsewhere
        layout = replace(layout, offset=NOT_TOLD)
    timing, sums = layout.timing, passed.sums
    assert timing is not None
    questions, doubts = list(layout.questions), list(layout.doubts)
    if unclear:
        dates = [*passed.reader.dates] or [*timing.groups]
        shown = "/".join(str(x) for x in dates[0])
        questions.append(
            Question(
                "date order",
                f"the date {shown} could be read in more than one order, and no row decides it",
                tuple(Choice(ORDER_WORDS[o], ORDER_OPTIONS[o]) for o in unclear),
            )
        )
    doubts += _clock_doubts(layout, answers, sums)
    told = judged(layout, answers, bench, sums, passed.reader.odd, passed.wall, said)
    asked = {q.about for q in questions if q.about.startswith("unit.")}
    questions += [q for q in told.questions if q.about not in asked]  # with its unit open, a size says nothing
    doubts += told.doubts
    way = sums.repeated if answers.back == "repeated" else sums.counted
    charge = None
    if "current" in layout.sources and sums.samples > 1:
        charge = way.net_ah - (sums.spike_ah if answers.spikes == "drop" else 0.0)
        charge = way.forward_ah + way.reverse_ah if answers.signs == "size" else abs(charge)
    counter = sums.counter if "current" not in layout.sources else None
    if counter is not None and counter.moves:
        charge = abs(counter.ah)
    anchor = _anchor(layout, answers, order, sums, passed.reader.has_offset)
    begin, finish = (sums.earliest_s, sums.latest_s) if sums.first_s is not None else (0.0, 0.0)
    zone = answers.zone
    start = moment_of(begin + anchor, zone) if anchor is not None and sums.first_s is not None else None
    end = moment_of(finish + anchor, zone) if anchor is not None and sums.first_s is not None else None
    points = (
        tuple((round(s / 60, 4), round(v, 4)) for s, v in drawn(sums.series["current"])) if "current" in sums.series else ()
    )
    if counter is not None:
        points = counter.points()
    if timing.newest_first and points:
        points = tuple((round((finish - begin) / 60 - m, 4), v) for m, v in reversed(points))
    return TraceReading(
        layout=layout,
        rows=passed.reader.odd.rows,
        samples=sums.samples,
        start=start,
        end=end,
        minutes=(finish - begin) / 60,
        on_minutes=sum(s.end_s - s.start_s for s in told.stretches) / 60,
        charge_ah=charge,
        gap_minutes=way.gap_s / 60,
        gap_charge_ah=abs(way.bridged_ah),
        gap_count=way.gap_count,
        gap_bound_s=sums.bound_s,
        order=order if timing.groups or passed.reader.dates else None,
        stretches=told.stretches,
        middles=tuple(_middles(layout, sums, told.stretches, anchor, zone)),
        points=points,
        questions=tuple(questions),
        doubts=tuple(doubts),
        zone=zone,
        sums=sums,
    )


def _clock_doubts(layout: Layout, answers: Answers, sums: Sums) -> Iterator[str]:
    """What the file's own clock says against what the keeper said, or that it was never set."""
    timing, first = layout.timing, sums.earliest_s
    assert timing is not None
    if sums.first_s is None:
        return
    if timing.counts == "moment":
        own = moment_of(first, answers.zone)
        if first <= NEVER_SET_S:
            yield f"its clock begins at {own:%Y-%m-%d %H:%M}: it was never set"
        elif answers.start is not None and abs(answers.start.timestamp() - first) > CLOCKS_APART_S:
            yield f"its own clock begins at {own:%Y-%m-%d %H:%M}; {answers.start:%Y-%m-%d %H:%M} is taken, as you say"
    elif timing.counts == "time of day" and answers.start is not None:
        told = answers.start.astimezone(answers.zone) if answers.zone is not None else answers.start.astimezone()
        off = (told.hour * 3600 + told.minute * 60 + told.second - first) % DAY_S
        if min(off, DAY_S - off) > CLOCKS_APART_S:
            yield (
                f"its own clock begins at {int(first % DAY_S) // 3600:02d}:{int(first % 3600) // 60:02d}; {told:%H:%M} is "
                "taken, as you say (a date alone leaves the time to the file)"
            )


def _anchor(layout: Layout, answers: Answers, order: DateOrder | None, sums: Sums, has_offset: bool) -> float | None:
    """What to add to a file's seconds to come to seconds since 1970; None where its day is not known."""
    timing = layout.timing
    assert timing is not None
    first = sums.earliest_s
    if answers.start is not None:
        return answers.start.timestamp() - first
    if timing.counts == "moment":
        return 0.0 if first > NEVER_SET_S else None
    if timing.counts == "time of day" and answers.start_day is not None:
        wall = (answers.start_day.toordinal() - EPOCH) * DAY_S + first % DAY_S
        return wall - offset_at(wall, answers.zone) - first
    if timing.counts == "time of day":
        if timing.start_day is not None:
            return 0.0
        if timing.start_groups is not None and order is not None and (day := day_in(timing.start_groups, order)) is not None:
            wall = day * DAY_S + first
            return wall - offset_at(wall, answers.zone) - first
        return None if first < DAY_S * 300 else -offset_at(first, answers.zone)
    day = timing.start_day
    if day is None and timing.start_groups is not None and order is not None:
        day = day_in(timing.start_groups, order)
    if day is None or timing.start_s is None:
        return None
    wall = day * DAY_S + timing.start_s
    beside = timing.start_from.startswith("column")
    return wall - offset_at(wall, answers.zone) - (first if beside else 0.0)


def _middles(
    layout: Layout, sums: Sums, stretches: tuple[Stretch, ...], anchor: float | None, zone: tzinfo | None
) -> Iterator[Middle]:
    """The middle of every other quantity: while current flowed, else over the log, by the day where it is longer than one."""
    for quantity, bins in sums.series.items():
        if quantity == "current" or bins.origin_s is None:
            continue
        if stretches and quantity in ("voltage", "temperature", "ph", "conductivity"):
            spans = [(stretches[0].start_s, stretches[-1].end_s)]
        elif quantity == "voltage" and "current" in layout.sources:
            continue
        else:
            low, high = sums.earliest_s, sums.latest_s
            count = min(400, max(1, int((high - low) // DAY_S) + 1))
            spans = [(low + k * DAY_S, min(low + (k + 1) * DAY_S, high)) for k in range(count)]
        for low, high in spans:
            told = bins.middle(*((-high, -low) if sums.turn < 0 else (low, high)))
            if told is None:
                continue
            ends: list[datetime | None] = [None, None]
            if anchor is not None:
                with suppress(OverflowError, ValueError):
                    ends = [moment_of(low + anchor, zone), moment_of(high + anchor, zone)]
            yield Middle(quantity, ends[0], ends[1], *told)


def _nothing(layout: Layout, replace_questions: tuple[Question, ...], answers: Answers) -> TraceReading:
    return TraceReading(
        layout=replace(layout, questions=replace_questions),
        rows=0,
        samples=0,
        start=None,
        end=None,
        minutes=0.0,
        on_minutes=0.0,
        charge_ah=None,
        gap_minutes=0.0,
        gap_charge_ah=0.0,
        gap_count=0,
        gap_bound_s=0.0,
        order=None,
        stretches=(),
        middles=(),
        points=(),
        questions=replace_questions,
        doubts=layout.doubts,
        zone=answers.zone,
    )


__all__ = ["Middle", "Oddities", "TraceReading", "read_trace", "timedelta", "usual_bound_s"]
