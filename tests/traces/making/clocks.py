"""The part of the corpus that is about clocks: every way to write a time, and clocks that gap, repeat and go back."""

from __future__ import annotations

from datetime import datetime

from tests.traces.making.cases import START, Case, at, case, charge, iso, load, made, text, volts

HEAD = "Time,Current (A)"


def rows_as(form: str, start: datetime = START) -> list[str]:
    return [f"{at(t, form, start)},{i:.2f}" for t, i in load()]


@case
def microseconds() -> Case:
    s = [(t + 0.000123, i) for t, i in load()]
    rows = [f"{at(t, '%Y-%m-%dT%H:%M:%S.%f')},{i:.2f}" for t, i in s]
    return made("microseconds.csv", text(HEAD, rows), s)


@case
def month_first_open() -> Case:
    rows = rows_as("%m/%d/%Y %H:%M:%S", datetime(2026, 5, 6, 8, 30))
    return made("month_open.csv", text(HEAD, rows), load(), ask=("date order",), answers={"date_order": "mdy"},
                start="2026-05-06T08:30:00")  # fmt: skip


@case
def month_first_decided() -> Case:
    return made("month_first.csv", text(HEAD, rows_as("%m/%d/%Y %H:%M:%S")), load(), start="2026-05-13T08:30:00")


@case
def day_first_dots() -> Case:
    rows = [f"{at(t, '%d.%m.%Y %H:%M:%S')};{i:.2f}".replace(".", ",", 9).replace(",", ".", 2) for t, i in load()]
    return made("dots.csv", text("Zeit;Strom (A)", rows), load(), start="2026-05-13T08:30:00")


@case
def decided_late() -> Case:
    s = load(2 * 240, 270.0)
    rows = [f"{at(t, '%d/%m/%Y %H:%M:%S', datetime(2026, 5, 12, 0, 10))},{i:.2f}" for t, i in s]
    return made("late.csv", text(HEAD, rows), s, ah=charge(s, 3000), start="2026-05-12T00:10:00")


@case
def three_orders() -> Case:
    rows = rows_as("%d-%m-%y %H:%M:%S", datetime(2026, 5, 6, 8, 30))
    return made("three_orders.csv", text(HEAD, rows), load(), ask=("date order",), answers={"date_order": "dmy"},
                start="2026-05-06T08:30:00")  # fmt: skip


@case
def consecutive_days() -> Case:
    s = load(240, 300.0)
    rows = [f"{at(t, '%d/%m/%Y %H:%M:%S', datetime(2026, 5, 6, 20, 0))},{i:.2f}" for t, i in s]
    return made("two_days.csv", text(HEAD, rows), s, ah=charge(s, 3000), start="2026-05-06T20:00:00")


@case
def half_days() -> Case:
    rows = rows_as("%m/%d/%Y %I:%M:%S %p", datetime(2026, 5, 13, 11, 40))
    return made("half_days.csv", text(HEAD, rows), load(), start="2026-05-13T11:40:00")


@case
def month_named() -> Case:
    return made("named.csv", text(HEAD, rows_as("%d-%b-%Y %H:%M:%S")), load(), start="2026-05-13T08:30:00")


@case
def date_lines() -> Case:
    s = load()
    begun = datetime(2026, 5, 13, 23, 45)
    rows = ["2026-05-13"]
    for t, i in s:
        if t == 900.0:
            rows.append("2026-05-14")
        rows.append(f"{at(t, '%H:%M:%S', begun)};{i:.2f}")
    return made("date_lines.csv", text("Time;Current (A)", rows), s, start="2026-05-13T23:45:00")


@case
def over_midnight() -> Case:
    begun = datetime(2026, 5, 13, 23, 45)
    rows = [f"{at(t, '%H:%M:%S', begun)},{i:.2f}" for t, i in load()]
    return made("midnight_2026-05-13.csv", text(HEAD, rows), load(), start="2026-05-13T23:45:00", doubts=("file's name",))


@case
def solid_digits() -> Case:
    rows = [f"{at(t, '%Y%m%d,%H%M%S')},{i:.2f}" for t, i in load()]
    return made("solid.csv", text("Date,Time,Current (A)", rows), load(), start="2026-05-13T08:30:00")


@case
def date_and_time() -> Case:
    rows = [f"{at(t, '%d.%m.%Y;%H:%M:%S')};{i:.2f}" for t, i in load()]
    return made("apart.csv", text("Datum;Uhrzeit;Strom (A)", rows), load(), start="2026-05-13T08:30:00")


@case
def many_hours() -> Case:
    rows = [f"{144 + int(t) // 3600}:{int(t) // 60 % 60:02d}:{int(t) % 60:02d},{i:.2f}" for t, i in load()]
    return made("hours.csv", text("Total time,Current (A)", rows), load(), ask=("start",))


@case
def days_and_time() -> Case:
    rows = [f"1d {int(t) // 3600:02d}:{int(t) // 60 % 60:02d}:{t % 60 + 0.47:.2f},{i:.2f}" for t, i in load()]
    return made("days.csv", text("Run time,Current (A)", rows), load(), ask=("start",))


@case
def late_zero() -> Case:
    rows = [f"{300 + t:g},{i:.2f}" for t, i in load()]
    return made("late_zero.csv", text("Time (s),Current (A)", rows), load(), ask=("start",))


@case
def milliseconds() -> Case:
    rows = [f"{1000 * t:.0f},{i:.2f}" for t, i in load()]
    return made("millis.csv", text("Time (ms),Current (A)", rows), load(), ask=("start",))


@case
def unit_of_time_absent() -> Case:
    rows = [f"{t / 60:.4f},{i:.2f}" for t, i in load()]
    s = [(round(round(t / 60, 4) * 60, 6), i) for t, i in load()]
    return made(
        "minutes.csv", text("Time,Current (A)", rows), s, ask=("start", "unit.time"), answers={"units": {"time": "min"}}
    )


@case
def seconds_that_are_not() -> Case:
    rows = [f"{at(t)},{1000 * t:.0f},{i:.2f}" for t, i in load()]
    return made("disagree.csv", text("Clock,Time (s),Current (A)", rows), load(), ask=("columns.time",),
                answers={"columns": {"time": "1"}})  # fmt: skip


@case
def spreadsheet_days() -> Case:
    base = (START - datetime(1899, 12, 30)).total_seconds() / 86400
    rows = [f"{base + t / 86400:.9f},{i:.2f}" for t, i in load()]
    return made("spreadsheet.csv", text(HEAD, rows), load(), start="2026-05-13T08:30:00")


@case
def epoch() -> Case:
    zero = (START - datetime(1970, 1, 1)).total_seconds()
    rows = [f"{zero + t:.0f},{i:.2f}" for t, i in load()]
    return made("epoch.csv", text("Timestamp,Current (A)", rows), load(), start="2026-05-13T08:30:00")


@case
def day_in_the_name() -> Case:
    rows = [f"{at(t, '%H:%M:%S')},{i:.2f}" for t, i in load()]
    return made("shed_20260513.csv", text(HEAD, rows), load(), start="2026-05-13T08:30:00", doubts=("file's name",))


@case
def day_nowhere() -> Case:
    rows = [f"{at(t, '%H:%M:%S')},{i:.2f}" for t, i in load()]
    return made("no_day.csv", text(HEAD, rows), load(), ask=("start",))


@case
def fixed_offset() -> Case:
    rows = [f"{at(t, '%Y-%m-%dT%H:%M:%S+02:00')},{i:.2f}" for t, i in load()]
    return made("offset.csv", text(HEAD, rows), load(), start="2026-05-13T06:30:00")


@case
def repeated_stamps() -> Case:
    s = load(1200, 0.25)
    rows = [f"{at(int(t))},{i:.2f}" for t, i in s]
    seen = [(float(int(t)), i) for t, i in s]
    return made("repeated.csv", text(HEAD, rows), seen)


@case
def irregular() -> Case:
    t, s = 0.0, []
    for k, (_, i) in enumerate(load()):
        s.append((t, i))
        t = round(t + (1.0, 17.0, 4.0, 0.5, 30.0)[k % 5], 3)
    rows = [f"{at(t, '%Y-%m-%d %H:%M:%S.%f')},{i:.2f}" for t, i in s]
    return made("irregular.csv", text(HEAD, rows), s)


@case
def gap() -> Case:
    s = [x for x in load() if not 1000 < x[0] < 1500]
    return made("gap.csv", text("Time,Current (A),Voltage (V)", iso(s)), s, ask=("gap",), answers={"gap_s": 60.0})


@case
def set_back() -> Case:
    s = load()
    rows = [f"{at(t - (700 if k >= 120 else 0))},{i:.2f}" for k, (t, i) in enumerate(s)]
    return made("set_back.csv", text(HEAD, rows), None, ah=charge(s[:120]) + charge(s[120:]), ask=("back",),
                answers={"back": "counted"})  # fmt: skip


@case
def rows_twice() -> Case:
    s = load()
    rows = iso(s[:150]) + iso(s)[60:]
    return made("twice.csv", text("Time,Current (A),Voltage (V)", rows), None, ah=charge(s), ask=("back",),
                answers={"back": "repeated"})  # fmt: skip


@case
def several_clocks() -> Case:
    rows = [f"{t % 100:g},{t:g},{at(t, '%Y-%m-%d %H:%M')},{i:.2f}" for t, i in load()]
    head = "Step time (s),Total time (s),Clock,Current (A)"
    return made("clocks.csv", text(head, rows), load(), start="2026-05-13T08:30:00")


@case
def newest_first() -> Case:
    rows = [f"{at(t)},{i:.2f}" for t, i in load()][::-1]
    return made("newest.csv", text(HEAD, rows), load(), start="2026-05-13T08:30:00")


@case
def two_loads() -> Case:
    s = load(120) + [(1200.0 + 10 * k, 0.0) for k in range(60)] + [(1800.0 + t, i) for t, i in load(100)]
    return made("two_loads.csv", text(HEAD, [f"{at(t)},{i:.2f}" for t, i in s]), s, ask=("stretch",), answers={"stretch": 0})


@case
def hour_twice() -> Case:
    """A logger that follows the clocks: in this zone 2026-10-25 03:00 summer time is followed by 02:00."""
    s = load()
    rows = []
    for t, i in s:
        wall = t - 3600 if t >= 1200 else t  # begins 02:40 summer time
        rows.append(f"{at(wall, start=datetime(2026, 10, 25, 2, 40))},{i:.2f}")
    return made("hour_twice.csv", text(HEAD, rows), s, answers={"zone": "Europe/Vienna"}, start="2026-10-25T00:40:00",
                ask=("back",))  # fmt: skip


@case
def warm_only() -> Case:
    rows = [f"{at(60.0 * k)};{24 + 0.1 * (k % 7):.1f};{5.4 + 0.01 * (k % 3):.2f};{180 + k % 5}" for k in range(120)]
    return made("warm.csv", text("Time;Temperature (°C);pH;Conductivity (mS/cm)", rows), None, temperature=24.3)


assert volts(0) == "3.10"


@case
def offset_in_the_header() -> Case:
    rows = rows_as("%Y-%m-%d %H:%M:%S")
    return made("head_offset.csv", text("Time (GMT+02:00),Current (A)", rows), load(), answers={"zone": None},
                start="2026-05-13T06:30:00")  # fmt: skip


@case
def offset_quoted_in_the_header() -> Case:
    rows = rows_as("%Y-%m-%d %H:%M:%S")
    return made("head_quoted.csv", text('"Date Time, GMT-05:00",Current (A)', rows), load(), answers={"zone": None},
                start="2026-05-13T13:30:00")  # fmt: skip


@case
def offset_before_the_table() -> Case:
    rows = rows_as("%Y-%m-%d %H:%M:%S")
    return made("zone_before.csv", text("Logger: shed 2\nUTC offset: +2\n" + HEAD, rows), load(), answers={"zone": None},
                start="2026-05-13T06:30:00")  # fmt: skip


@case
def zone_that_nobody_knows() -> Case:
    rows = rows_as("%Y-%m-%d %H:%M:%S")
    return made("zone_name.csv", text("Time zone: XYZT\n" + HEAD, rows), load(), ask=("offset",), answers={"zone": "+01:00"},
                start="2026-05-13T07:30:00")  # fmt: skip


@case
def two_parts() -> Case:
    s = load(60, 60.0)
    rows = [f"{at(t, '%H:%M')},{i:.2f}" for t, i in s]
    return made("hours_minutes.csv", text(HEAD, rows), s, ask=("start", "unit.time"), answers={"units": {"time": "hh:mm"}},
                doubts=("to the minute",))  # fmt: skip


@case
def two_parts_named() -> Case:
    s = load(390, 10.0)  # past the hour, where such clocks go on as h:mm:ss
    clock = [f"{int(t) // 60}:{int(t) % 60:02d}" if t < 3600 else f"1:{int(t) // 60 - 60:02d}:{int(t) % 60:02d}" for t, _ in s]
    rows = [f"{c},{i:.2f}" for c, (_, i) in zip(clock, s, strict=True)]
    return made("minutes_seconds.csv", text("Elapsed (mm:ss),Current (A)", rows), s, ask=("start",))


@case
def two_parts_beside_a_date() -> Case:
    s = load(60, 60.0)
    rows = [f"{at(t, '%d.%m.%Y;%H:%M')};{i:.2f}" for t, i in s]
    return made("date_beside.csv", text("Datum;Uhrzeit;Strom (A)", rows), s, start="2026-05-13T08:30:00")


@case
def never_set() -> Case:
    rows = rows_as("%Y-%m-%d %H:%M:%S", datetime(1970, 1, 1))
    return made("never_set.csv", text(HEAD, rows), load(), ask=("start",), doubts=("never set",))


@case
def epoch_in_milliseconds() -> Case:
    zero = (START - datetime(1970, 1, 1)).total_seconds()
    rows = [f"{1000 * (zero + t):.0f},{i:.2f}" for t, i in load()]
    return made("epoch_ms.csv", text("ts,Current (A)", rows), load(), start="2026-05-13T08:30:00")


@case
def compact_stamps() -> Case:
    rows = [f"{at(t, '%Y%m%d%H%M%S')},{i:.2f}" for t, i in load()]
    return made("compact.csv", text("Timestamp,Current (A)", rows), load(), start="2026-05-13T08:30:00")


@case
def ten_seconds_each() -> Case:
    rows = [f"{t / 10:g},{i:.2f}" for t, i in load()]
    return made("tens.csv", text("t/10 s,Current (A)", rows), load(), ask=("start", "unit.time"),
                answers={"units": {"time": "10s"}})  # fmt: skip
