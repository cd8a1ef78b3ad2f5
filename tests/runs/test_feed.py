"""The text protocol: what is taken, and that no line gives a wrong number in silence."""

from __future__ import annotations

from datetime import UTC, datetime

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bathkeeper.runs import feed
from bathkeeper.runs.feed import FeedReader, read_feed
from bathkeeper.runs.live_charge import Channel, Row, tell

trapezoids = getattr(np, "trapezoid", None) or np.trapz  # renamed in numpy 2


def rows(text: str) -> tuple[list[Row], FeedReader]:
    reader = FeedReader()
    return list(read_feed(text.splitlines(), reader)), reader


def ah(text: str, longest_gap_s: float = 60.0) -> float:
    found, reader = rows(text)
    assert not reader.bad
    told = tell(Channel("s").fed("f", "log", longest_gap_s, tuple(found)), 60.0, 1.0, "electrolyte")
    return told.ah


def test_the_example_of_the_docstring_is_read():
    block = [line[4:] for line in (feed.__doc__ or "").splitlines() if line.startswith("    ")]
    found, reader = rows("\n".join(block))
    assert [r.current_a for r in found] == [6.48, 6.50] and found[0].volts == 3.1
    assert len(reader.bad) == 1 and "2 fields" in reader.bad[0].what  # its last line leaves the voltage out, and is named


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("0,6.5\n10,6.4", [(0.0, 6.5, None), (10.0, 6.4, None)]),
        ("0, 6.5 , 3.1\n\n# pause\n10,6.4,3.0 # still well", [(0.0, 6.5, 3.1), (10.0, 6.4, 3.0)]),
        ("time,current\n0,6.5", [(0.0, 6.5, None)]),
        ("time_s,current_mA,voltage_mV\n0,6500,3100", [(0.0, 6.5, 3.1)]),
        ("t;I (mA);U (V)\n0;240,5;3,1", [(0.0, 0.2405, 3.1)]),
        ("\ufefftime\tcurrent\n0,5\t6,5", [(0.5, 6.5, None)]),
        ("1970-01-01T00:00:10Z,6\n1970-01-01T02:00:20.5+02:00,6", [(10.0, 6.0, None), (20.5, 6.0, None)]),
        ("23:59:50,6\n00:00:10,6\n00:00:20.5,6", [(86390.0, 6.0, None), (86410.0, 6.0, None), (86420.5, 6.0, None)]),
        ("-5,1e-1\n+5,.5\n5,0", [(-5.0, 0.1, None), (5.0, 0.5, None), (5.0, 0.0, None)]),
        ("0,-0.01\n1,6", [(0.0, -0.01, None), (1.0, 6.0, None)]),
    ],
)
def test_taken(text, expected):
    found, reader = rows(text)
    assert not reader.bad
    assert [(r.time_s, pytest.approx(r.current_a), r.volts if r.volts is None else pytest.approx(r.volts)) for r in found] == [
        (t, a, v) for t, a, v in expected
    ]


@pytest.mark.parametrize(
    ("text", "line", "what", "right"),
    [
        ("0,6.5\n10", 2, "has 1 field", "12.5,6.48"),
        ("0,6.5\n10,6.4,3.1,9", 2, "4 fields", "12.5,6.48"),
        ("0,6\n10,6,5", 2, "3 fields, the lines before it 2", "decimal comma needs semicolons"),
        ("0,6.5A", 1, "current `6.5A` is not a plain number", "in A with a point"),
        ("0,1_5", 1, "`1_5`", "in A"),
        ("0,６.5", 1, "not a plain number", "in A"),
        ("0,nan", 1, "not a plain number", "in A"),
        ("0,inf", 1, "not a plain number", "in A"),
        ("0,1e999", 1, "beyond all numbers", "time in seconds"),
        ("0,", 1, "the current is empty", "12.5,6.48"),
        ("0,6500000", 1, "no current of a bench", "mA in the header"),
        ("0,6,31000", 1, "no voltage of a bench", "mV in the header"),
        ("soon,6.5", 1, "`soon` is no time", "HH:MM:SS"),
        ("25:00:00,6.5", 1, "no time of day", "0 to 23"),
        ("2026-05-01T14:30:00,6.5", 1, "no offset", "end it in Z"),
        ("2026-05-32T14:30:00Z,6.5", 1, "no moment", "2026-05-01T14:30:05+02:00"),
        ("10,6\n5,6", 2, "before the last one, `10`", "in order of time"),
        ("10:00:00,6\n09:59:00,6", 2, "before the last one", "in order of time"),
        ("10,6\n10:00:00,6", 2, "is time of day, before it was seconds", "one way only"),
        ("time,voltage,current\n0,3,6", 1, "where current belongs", "time,current[,voltage]"),
        ("time_min,current\n0,6", 1, "counts time as", "seconds"),
        ("current,voltage\n0,6", 1, "column 1 is `current`, where time belongs", "time,current"),
        ("time,current_uA\n0,6", 1, "has `ua` in it, not known here", "A or mA"),
        ("time (s),I (µA)\n0,6", 1, "not known here", "A or mA"),
        ("time_us,current\n0,6", 1, "has `us` in it", "in s"),
        ("t,current density A/dm2\n0,6", 1, "has `density` in it", "A or mA"),
        ("time,set current\n0,6", 1, "has `set` in it", "time,current"),
        ("time,current,voltage (A)\n0,6,3", 1, "has `a` in it", "V or mV"),
        ("2026-05-01,6.5", 1, "a day without a time", "2026-05-01T14:30:05+02:00"),
        ("0,6\ntime,current", 2, "`time` is no time", "write seconds"),
        ("0;1.500,5", 1, "not a plain number", "in A"),
    ],
)
def test_every_bad_line_is_named_with_what_would_be_right(text, line, what, right):
    found, reader = rows(text)
    assert len(reader.bad) >= 1
    assert (reader.bad[0].line, what in reader.bad[0].what, right in reader.bad[0].right) == (line, True, True), reader.bad[0]
    assert len(found) + len(reader.bad) <= len(text.splitlines())


def test_after_a_header_of_other_columns_nothing_is_taken():
    found, reader = rows("time,voltage,current\n0,3,6\n10,3,6")
    assert found == [] and len(reader.bad) == 1 and "no line after it is taken" in reader.bad[0].what


def test_a_bad_line_leaves_its_neighbours_to_count_on_their_own_times():
    text = "0,6\n10,6\n20,oops\n30,6"
    found, reader = rows(text)
    assert [r.time_s for r in found] == [0, 10, 30] and reader.rows == 3 and len(reader.bad) == 1


def test_trapezoids_on_true_times():
    """Against numpy's own trapezoid rule on unevenly spaced times."""
    rng = np.random.default_rng(4)
    times = np.cumsum(rng.uniform(0.1, 20.0, 400))
    amps = 6 + np.sin(times / 90) + rng.normal(0, 0.1, 400)
    text = "\n".join(f"{t!r},{a!r}" for t, a in zip(times.tolist(), amps.tolist(), strict=True))
    assert ah(text) == pytest.approx(trapezoids(amps, times) / 3600, rel=1e-9)


def test_a_day_log_by_the_clock_equals_one_by_seconds():
    start = datetime(2026, 5, 1, 22, 0, tzinfo=UTC)
    seconds = range(0, 4 * 3600 + 1, 30)
    amps = [6 + s / 1e4 for s in seconds]
    by_s = "\n".join(f"{s},{a}" for s, a in zip(seconds, amps, strict=True))
    moments = [datetime.fromtimestamp(start.timestamp() + s, UTC) for s in seconds]
    by_day = "\n".join(f"{m:%H:%M:%S},{a}" for m, a in zip(moments, amps, strict=True))
    by_date = "\n".join(f"{m.isoformat()},{a}" for m, a in zip(moments, amps, strict=True))
    assert ah(by_s) == pytest.approx(ah(by_day)) == pytest.approx(ah(by_date))


@settings(max_examples=200, deadline=None)
@given(st.lists(st.text(max_size=30), max_size=8))
def test_whatever_comes_is_a_row_a_comment_a_header_or_named(lines):
    reader = FeedReader()
    for number, line in enumerate(lines, start=1):
        before = len(reader.bad)
        row = reader.take(line)
        if row is None and len(reader.bad) == before:
            bare = line.lstrip("\ufeff").partition("#")[0].strip()
            assert not bare or (bare[0].isalpha() and reader.rows == 0) or any("no line after" in b.what for b in reader.bad)
        if len(reader.bad) > before:
            assert reader.bad[-1].line == number and reader.bad[-1].right


@settings(max_examples=200, deadline=None)
@given(
    st.lists(st.tuples(st.floats(0, 100), st.floats(-100, 100), st.floats(0, 60)), min_size=1, max_size=20),
    st.booleans(),
)
def test_numbers_come_back_as_written(samples, with_volts):
    clock, lines, wanted = 0.0, [], []
    for step, amps, volts in samples:
        clock += step
        wanted.append((clock, amps, volts if with_volts else None))
        lines.append(f"{clock!r},{amps!r}" + (f",{volts!r}" if with_volts else ""))
    reader = FeedReader()
    assert [tuple(r) for r in read_feed(lines, reader)] == wanted and not reader.bad
