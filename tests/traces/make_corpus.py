"""Writes the corpus of small logs and the table of what they come to: ``python -m tests.traces.make_corpus``.

Every file is ours: an invented load of forty minutes, told in one dialect or with one trait that logs in the wild have. The
right charge is reckoned here from the invented samples, by exact sums of trapezoids, never by the reader.
"""

from __future__ import annotations

import itertools
import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from fractions import Fraction
from pathlib import Path
from typing import Any

FOLDER = Path(__file__).parent / "corpus"
START = datetime(2026, 5, 13, 8, 30, 0)
Sample = tuple[float, float]  # seconds from the start, A


def load(n: int = 240, step: float = 10.0, top: float = 6.4) -> list[Sample]:
    """Ramps up, waves a little about its current, ramps down to nothing."""
    made = []
    for k in range(n):
        amps = top + 0.01 * ((k * 37) % 23)
        amps *= min(1.0, k / 6, (n - 1 - k) / 4)
        made.append((round(k * step, 6), round(amps, 2)))
    return made


def charge(samples: Sequence[Sample], longest: float = 60.0) -> float:
    """Exact trapezoids in Ah; steps longer than ``longest`` are left out."""
    total = Fraction(0)
    for (a, i), (b, j) in itertools.pairwise(samples):
        if 0 < b - a <= longest:
            total += (Fraction(str(i)) + Fraction(str(j))) / 2 * (Fraction(str(b)) - Fraction(str(a)))
    return float(total / 3600)


@dataclass(frozen=True)
class Case:
    """One file. ``ask``: what must be asked (names of questions) with no answers; ``answers`` then give ``ah``.

    ``rows``: how many lines of the file from ``body`` on are samples, in order, for the mutations (None: not mutated).
    """

    name: str
    data: bytes
    ah: float | None
    ask: tuple[str, ...] = ()
    answers: dict[str, Any] = field(default_factory=dict)
    start: str | None = None
    doubts: tuple[str, ...] = ()
    temperature: float | None = None
    samples: tuple[Sample, ...] | None = None


CASES: list[Callable[[], Case]] = []


def case(f: Callable[[], Case]) -> Callable[[], Case]:
    """Takes the case up."""
    CASES.append(f)
    return f


def at(seconds: float, form: str = "%Y-%m-%d %H:%M:%S", start: datetime = START) -> str:
    """The moment, written out."""
    return (start + timedelta(seconds=seconds)).strftime(form)


def volts(k: int) -> str:
    """A voltage that goes with it."""
    return f"{3.1 + 0.01 * (k % 5):.2f}"


def text(head: str, rows: Sequence[str], end: str = "\n") -> str:
    """Lines of a file."""
    return end.join([*([head] if head else []), *rows]) + end


def made(
    name: str,
    body: str | bytes,
    samples: Sequence[Sample] | None,
    *,
    encoding: str = "utf-8",
    ah: float | None = None,
    **more: Any,
) -> Case:
    """A case whose charge is that of its samples."""
    data = body.encode(encoding) if isinstance(body, str) else body
    if samples is not None and ah is None:
        ah = charge(samples)
    return Case(name, data, ah, samples=tuple(samples) if samples is not None else None, **more)


def iso(samples: Sequence[Sample], head: str = "Time,Current (A),Voltage (V)", sep: str = ",") -> list[str]:
    """The plainest dialect."""
    return [f"{at(t)}{sep}{i:.2f}{sep}{volts(k)}" for k, (t, i) in enumerate(samples)]


# -- encodings and lines ---------------------------------------------------------------------------------------------------


@case
def plain_iso() -> Case:
    s = load()
    return made("plain.csv", text("Time,Current (A),Voltage (V)", iso(s)), s, start="2026-05-13T08:30:00")


@case
def latin1() -> Case:
    s = load()
    rows = [f"{at(t)};{i:.2f};24,{k % 4}".replace(".", ",") for k, (t, i) in enumerate(s)]
    return made("latin1.csv", text("Zeit;Strom [A];Temperatur [°C]", rows), s, encoding="latin-1", temperature=24.1)


@case
def bom() -> Case:
    s = load()
    return made("bom.csv", text("Time;Current (A);Voltage (V)", iso(s, sep=";")), s, encoding="utf-8-sig")


@case
def utf16() -> Case:
    s = load()
    return made(
        "utf16.txt", b"\xff\xfe" + text("Time\tCurrent (A)\tVoltage (V)", iso(s, sep="\t"), "\r\n").encode("utf-16-le"), s
    )


@case
def utf16_bare() -> Case:
    s = load()
    return made("utf16_bare.txt", text("Time\tCurrent (A)\tVoltage (V)", iso(s, sep="\t")).encode("utf-16-be"), s)


@case
def gbk() -> Case:
    s = load()
    rows = [f"{at(t)},{i:.2f},24.{k % 4}" for k, (t, i) in enumerate(s)]
    return made("gbk.csv", text("时间,电流(A),温度(℃)", rows), s, encoding="gbk", temperature=24.1)


@case
def nul_bytes() -> Case:
    s = load()
    body = text("Time,Current (A),Voltage (V)", iso(s)).encode()
    return made("nul.csv", b"\0\0" + body[:900] + b"\0" * 7 + body[900:] + b"\0" * 64, s)


@case
def crlf_form_feed() -> Case:
    s = load()
    return made("crlf.csv", "\f" + text("Time,Current (A),Voltage (V)", iso(s), "\r\n") + "\f\r\n", s)


@case
def cr_only() -> Case:
    s = load()
    return made("cr.csv", text("Time,Current (A),Voltage (V)", iso(s), "\r"), s)


@case
def cut_short() -> Case:
    s = load()
    rows = [f"{at(t)},{volts(k)},{i:.2f}" for k, (t, i) in enumerate(s[:200])]
    body = text("Time,Voltage (V),Current (A)", rows)[:-3]
    return made("cut.csv", body, s[:199], ah=charge(s[:199]), doubts=("cut short",))


# -- delimiters and cells --------------------------------------------------------------------------------------------------


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


# -- numbers -----------------------------------------------------------------------------------------------------------------


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


# -- header and preamble -----------------------------------------------------------------------------------------------------


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


# -- set values, zeros, counters, states -------------------------------------------------------------------------------------


@case
def set_beside() -> Case:
    s = load()
    rows = [f"{at(t)},6.50,{i:.2f}" for t, i in s]
    return made("set_beside.csv", text("Time,Set current (A),Actual current (A)", rows), s)


@case
def set_only() -> Case:
    s = load()
    return made(
        "set_only.csv",
        text("Time,Set current (A)", [f"{at(t)},{i:.2f}" for t, i in s]),
        s,
        ask=("columns.current",),
        answers={"columns": {"current": "2"}},
    )


@case
def never_moves() -> Case:
    s = [(t, 6.5) for t, _ in load()]
    return made(
        "constant.csv",
        text("Time,Current (A)", [f"{at(t)},{i:.2f}" for t, i in s]),
        s,
        ask=("measured",),
        answers={"measured": True},
    )


@case
def without_voltage() -> Case:
    s = load()
    rows = [f"{at(t)},{i:.2f},{'0.00' if k > 100 else volts(k)}" for k, (t, i) in enumerate(s)]
    return made("off.csv", text("Time,Current (A),Voltage (V)", rows), s, ask=("measured",), answers={"measured": True})


@case
def journal() -> Case:
    s = [(0.0, 2.0), (240.0, 4.0), (900.0, 6.5), (2100.0, 6.2), (2580.0, 0.0)]
    return made("journal.csv", text("Time,Current (A)", [f"{at(t)},{i:.2f}" for t, i in s]), None, ask=("rows",))


@case
def zeros() -> Case:
    s = load()
    rows = [f"{at(t)},0.00,{volts(k)}" for k, (t, _) in enumerate(s)]
    return made("zeros.csv", text("Time,Current (A),Voltage (V)", rows), None, ask=("columns.current",))


@case
def rounded_away() -> Case:
    s = load()
    rows = [f"{at(t)},{0.01 * (k % 3 == 1):.2f}" for k, (t, _) in enumerate(s)]
    return made("rounded.csv", text("Time,Current (A)", rows), None, ask=("columns.current",))


@case
def counter_agrees() -> Case:
    s = load()
    rows, passed = [], 0.0
    for k, (t, i) in enumerate(s):
        passed += (i + s[k - 1][1]) / 2 * 10 / 3600 if k else 0.0
        if k == 120:
            passed = 0.0  # the supply was switched off and on
        rows.append(f"{at(t)},{i:.2f},{1000 * passed:.1f}")
    return made("counter.csv", text("Time,Current (A),Capacity (mAh)", rows), s)


@case
def counter_disagrees() -> Case:
    s = load()
    rows, passed = [], 0.0
    for k, (t, i) in enumerate(s):
        passed += (i + s[k - 1][1]) / 2 * 10 / 3600 * 1.3 if k else 0.0
        rows.append(f"{at(t)},{i:.2f},{passed:.4f}")
    return made(
        "counter_off.csv",
        text("Time,Current (A),Charge (Ah)", rows),
        s,
        ask=("counter",),
        answers={"columns": {"counter": "none"}},
    )


@case
def power_disagrees() -> Case:
    s = load()
    rows = [f"{at(t)},{i:.2f},{volts(k)},{i * float(volts(k)) * 1000:.1f}" for k, (t, i) in enumerate(s)]
    return made(
        "power.csv",
        text("Time,Current (A),Voltage (V),Power (W)", rows),
        s,
        ask=("power",),
        answers={"columns": {"power": "none"}},
    )


@case
def state_letter() -> Case:
    s = load()
    rows = [f"{at(t)},{i:.2f},{'D' if 100 <= k < 160 else 'C'}" for k, (t, i) in enumerate(s)]
    signed = [(t, -i if 100 <= k < 160 else i) for k, (t, i) in enumerate(s)]
    return made(
        "state.csv", text("Time,Current (A),State", rows), None, ah=charge(signed), ask=("signs",), answers={"reverse": "D"}
    )


@case
def negative() -> Case:
    s = load()
    return made(
        "negative.csv", text("Time,Current (A)", [f"{at(t)},{-i:.2f}" for t, i in s]), s, doubts=("negative throughout",)
    )


@case
def both_ways() -> Case:
    s = [(t, round(i if k % 60 < 45 else -i, 2)) for k, (t, i) in enumerate(load())]
    return made(
        "both_ways.csv",
        text("Time,Current (A)", [f"{at(t)},{i:.2f}" for t, i in s]),
        s,
        ask=("signs",),
        answers={"signs": "net"},
    )


@case
def faults() -> Case:
    s = load()
    bad = {20: "N/A", 40: "NaN", 60: "Inf", 80: "-1E+10", 100: "-999.99", 120: ""}
    rows = [f"{at(t)},{bad.get(k, f'{i:.2f}')},{'2288.9' if k % 50 == 7 else f'24.{k % 4}'}" for k, (t, i) in enumerate(s)]
    kept = [x for k, x in enumerate(s) if k not in bad]
    return made(
        "faults.csv",
        text("Time,Current (A),Bath temp (°C)", rows),
        kept,
        temperature=24.1,
        doubts=("no current", "fault value of current", "fault value of temperature"),
    )


@case
def spike() -> Case:
    s = load()
    s[90] = (s[90][0], 648.0)
    true = [x for k, x in enumerate(s) if k != 90]
    return made(
        "spike.csv",
        text("Time,Current (A)", [f"{at(t)},{i:.2f}" for t, i in s]),
        None,
        ah=charge(true),
        ask=("spikes",),
        answers={"spikes": "drop"},
    )


def every() -> list[Case]:
    """All cases."""
    from tests.traces import make_corpus_clocks  # noqa: F401  (its cases add themselves)
    from tests.traces.make_corpus import CASES as TAKEN  # this module may run as __main__

    return [f() for f in TAKEN]


def main() -> None:
    """Writes the files and their table."""
    FOLDER.mkdir(exist_ok=True)
    table = {}
    for c in every():
        (FOLDER / c.name).write_bytes(c.data)
        table[c.name] = {
            "ah": c.ah,
            "ask": c.ask,
            "answers": c.answers,
            "start": c.start,
            "doubts": c.doubts,
            "temperature": c.temperature,
        }
    (FOLDER / "table.json").write_text(json.dumps(table, indent=1, ensure_ascii=False) + "\n")


if __name__ == "__main__":
    main()
