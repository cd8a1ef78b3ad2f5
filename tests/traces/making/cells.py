"""Delimiters, quotes, ragged rows; and numbers in every spelling."""

from __future__ import annotations

from tests.traces.making.cases import Case, at, case, iso, load, made, text, volts


@case
def trailing_delimiters() -> Case:
    s = load()
    return made("trailing.csv", text("Time;Current (A);Voltage (V);;", [f"{r};;" for r in iso(s, sep=";")]), s)


@case
def shorter_longer() -> Case:
    s = load()
    rows = [r + (",rinsed" if k % 9 == 0 else "," if k % 2 else "") for k, r in enumerate(iso(s))]
    return made("ragged.csv", text("Time,Current (A),Voltage (V),Note", rows), s)


@case
def quoted_header() -> Case:
    s = load()
    return made("quoted.csv", text('"Time, local","Current, output (A)","Voltage, cell (V)"', iso(s)), s)


@case
def quoted_cells() -> Case:
    s = load()
    rows = [f'"{at(t)}","{i:.2f}","{volts(k)}"'.replace(".", ",") for k, (t, i) in enumerate(s)]
    return made("quoted_cells.csv", text('"Time","Current (A)","Voltage (V)"', rows), s)


@case
def unclosed_quote() -> Case:
    s = load()
    rows = iso(s)
    rows[40] = rows[40] + ',"stirred'
    return made(
        "unclosed.csv", text("Time,Current (A),Voltage (V),Note", [r if r.count(",") == 3 else r + "," for r in rows]), s
    )


@case
def bars() -> Case:
    s = load()
    return made("bars.txt", text("Time | Current (A) | Voltage (V)", [r.replace(",", " | ") for r in iso(s)]), s)


@case
def fixed_width() -> Case:
    s = load()
    rows = [f"{at(t)}   {i:6.2f}   {volts(k):>6}" for k, (t, i) in enumerate(s)]
    return made("fixed.txt", text("Time                  Current(A)  Voltage(V)", rows), s)


@case
def single_spaces() -> Case:
    s = load()
    return made(
        "spaces.dat", text("# time_s I/A U/V", [f"{t:g} {i:.2f} {volts(k)}" for k, (t, i) in enumerate(s)]), s, ask=("start",)
    )


@case
def labels() -> Case:
    s = load()
    rows = [f"{at(t)} U: {volts(k)} V I: {i:.2f} A" for k, (t, i) in enumerate(s)]
    return made("labels.log", text("", rows), s, start="2026-05-13T08:30:00")


@case
def instrument_lines() -> Case:
    s = load()
    rows = [f"{at(t)} CURR:DC {i:+.4E}" for t, i in s]
    return made("instrument.log", text("", rows), s, ask=("unit.current",), answers={"units": {"current": "A"}})


@case
def padded() -> Case:
    s = load()
    rows = [f"{at(t)} , {i:8.2f} , {volts(k):>8}" for k, (t, i) in enumerate(s)]
    return made("padded.csv", text("Time , Current (A) , Voltage (V)", rows), s)


@case
def thousands() -> Case:
    s = load()
    rows = [f"{at(t)};{1000 * i:,.1f}".replace(",", "_").replace(".", ",").replace("_", ".") for t, i in s]
    return made("thousands.csv", text("Zeit;Strom (mA)", rows), s)


@case
def bare_points() -> Case:
    s = [(t, round(i / 10, 3)) for t, i in load()]
    rows = [f"{at(t)},{(f'{i:.3f}').removeprefix('0') if i else '-0.000'}" for t, i in s]
    return made("points.csv", text("Time,Current (A)", rows), s)


@case
def exponents() -> Case:
    s = load()
    return made("exponents.csv", text("Time,Current (A)", [f"{at(t)},{i:+.6E}" for t, i in s]), s)


@case
def decimal_unclear() -> Case:
    s = load()
    rows = [f"{at(t)};{i:.3f}".replace(".", ",") for t, i in s if i >= 1]
    kept = [x for x in s if x[1] >= 1]
    return made("unclear.csv", text("Zeit;Strom (A)", rows), kept, ask=("decimal",), answers={"decimal": ","})


@case
def iso_time_and_semicolons() -> Case:
    s = load()
    rows = [f"{at(t, '%Y-%m-%dT%H:%M:%S')};{1000 * i:.0f};{volts(k)}".replace(".", ",") for k, (t, i) in enumerate(s)]
    return made("iso_semicolon.csv", text("Timestamp;I (mA);U (V)", rows), s, start="2026-05-13T08:30:00")


@case
def rows_longer_than_the_header() -> Case:
    s = load()
    rows = [r + (",rinsed" if k % 3 == 0 else "") for k, r in enumerate(iso(s))]
    return made("longer.csv", text("Time,Current (A),Voltage (V)", rows), s)
