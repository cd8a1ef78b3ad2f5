"""What stands over the table: headers of several levels, units and where they are told, preambles."""

from __future__ import annotations

from tests.traces.making.cases import Case, at, case, iso, load, made, text, volts


@case
def long_preamble() -> Case:
    s = load()
    lines = [f"Setting {k}: {k * 3}" for k in range(28)]
    lines += ["Logger: shed 2", "Start: 2026-05-13 08:30:00", "Operator: nobody", ""]
    rows = [f"{t:g},{i:.2f}" for t, i in s]
    return made("preamble.csv", text("\n".join([*lines, "Elapsed (s),Current (A)"]), rows), s, start="2026-05-13T08:30:00")


@case
def unit_row() -> Case:
    s = load()
    rows = [f"{at(t)};{1000 * i:.0f};{volts(k)}" for k, (t, i) in enumerate(s)]
    return made("unit_row.csv", text("Time;Current;Voltage\n;mA;V", rows), s)


@case
def three_levels() -> Case:
    s = load()
    rows = [f"{at(t)},{i:.2f},{volts(k)},24.{k % 4}" for k, (t, i) in enumerate(s)]
    head = "Clock,Supply,,Bath\nTime,Current,Voltage,Temp\n,A,V,°C"
    return made("levels.csv", text(head, rows), s, temperature=24.1)


@case
def notes_between() -> Case:
    s = load()
    rows = iso(s)
    rows[60:60] = ["# stirred", "operator: moved the anode a little, then went on"]
    rows[130:130] = ["", "Time,Current (A),Voltage (V)"]
    return made("notes.csv", text("Time,Current (A),Voltage (V)", rows), s, doubts=("header comes again", "no rows"))


@case
def unit_in_preamble() -> Case:
    s = load()
    rows = [f"{at(t)};{1000 * i:.0f}" for t, i in s]
    return made("unit_before.csv", text("Current unit: mA\nTime;Current", rows), s)


@case
def unit_in_value() -> Case:
    s = load()
    rows = [f"{at(t)};{i:.2f}A;{volts(k)}V".replace(".", ",") for k, (t, i) in enumerate(s)]
    return made("unit_value.csv", text("Time;Current;Voltage", rows), s)


@case
def units_mixed() -> Case:
    s = load()
    rows = [f"{at(t)};" + (f"{i:.2f} A" if i >= 1 else f"{1000 * i:.0f} mA") for t, i in s]
    return made("units_mixed.csv", text("Time;Current", rows), s)


@case
def unit_absent() -> Case:
    s = load()
    return made(
        "unit_absent.csv",
        text("Time,Current", [f"{at(t)},{i:.2f}" for t, i in s]),
        s,
        ask=("unit.current",),
        answers={"units": {"current": "A"}},
    )


@case
def microamperes() -> Case:
    s = load()
    return made("micro.csv", text("Time,Current (µA)", [f"{at(t)},{1e6 * i:.0f}" for t, i in s]), s, encoding="latin-1")


@case
def unit_of_another() -> Case:
    s = load()
    return made(
        "clash.csv",
        text("Time,Current (V)", [f"{at(t)},{i:.2f}" for t, i in s]),
        s,
        ask=("unit.current",),
        answers={"units": {"current": "A"}},
    )


@case
def volts_are_millivolts() -> Case:
    s = load()
    rows = [f"{at(t)},{i:.2f},{3100 + k % 5}" for k, (t, i) in enumerate(s)]
    return made(
        "millivolts.csv",
        text("Time,Current (A),Volts", rows),
        s,
        ask=("columns.voltage",),
        answers={"units": {"voltage": "mV"}},
    )


@case
def wrong_name() -> Case:
    s = load()
    rows = [f"{at(t)},{i:.2f},24.{k % 4}" for k, (t, i) in enumerate(s)]
    return made(
        "wrong_name.csv", text("Time,Current (A),pH", rows), s, ask=("columns.ph",), answers={"columns": {"ph": "none"}}
    )


@case
def no_header() -> Case:
    s = load()
    return made(
        "bare.csv",
        text("", iso(s)),
        s,
        ask=("columns",),
        answers={"columns": {"time": "1", "current": "2"}, "units": {"current": "A"}},
    )


@case
def two_currents() -> Case:
    s = load()
    rows = [f"{at(t)},{i:.2f},{i / 3:.2f}" for t, i in s]
    return made(
        "two.csv",
        text("Time,Zinc current (A),Nickel current (A)", rows),
        s,
        ask=("columns.current",),
        answers={"columns": {"current": "2"}},
    )


@case
def another_table_in_the_middle() -> Case:
    s = load()
    rows = [f"{at(t)},{i:.2f}" for t, i in s[:120]] + ["Time,Current (mA)"] + [f"{at(t)},{1000 * i:.0f}" for t, i in s[120:]]
    return made("two_tables.csv", text("Time,Current (A)", rows), None, ask=("rows", "unit.current"))


@case
def columns_change_places() -> Case:
    s = load()
    rows = iso(s[:120]) + ["Time,Voltage (V),Current (A)"] + [f"{at(t)},{volts(k)},{i:.2f}" for k, (t, i) in enumerate(s[120:])]
    return made("swapped_late.csv", text("Time,Current (A),Voltage (V)", rows), None, ask=("rows",))
