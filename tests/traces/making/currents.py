"""What a current may be: set values, zeros, counters, states, signs, faults."""

from __future__ import annotations

from tests.traces.making.cases import Case, at, case, charge, held, load, made, text, volts


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


@case
def journal_of_few() -> Case:
    """What somebody wrote down when he turned the knob: each value stood until the next."""
    s = [(0.0, 2.0), (900.0, 6.5), (2100.0, 6.2), (2580.0, 0.0)]
    return made("journal_few.csv", text("Time,Current (A)", [f"{at(t)},{i:.2f}" for t, i in s]), None, ah=held(s),
                ask=("between",), answers={"between": "hold"})  # fmt: skip


@case
def journal_of_steps() -> Case:
    s = [(0.0, 1.0), (60.0, 3.0), (180.0, 4.5), (600.0, 6.5), (1320.0, 6.4), (1800.0, 6.0), (2520.0, 5.0), (2640.0, 0.0)]
    rows = [f"{at(t, '%Y-%m-%d %H:%M')},{i:g}" for t, i in s]
    return made("journal_steps.csv", text("Time,Current (A)", rows), None, ah=held(s), ask=("between", "gap"),
                answers={"between": "hold", "gap_s": 900.0}, doubts=("to the minute",))  # fmt: skip


@case
def on_change() -> Case:
    """A logger that writes a row when the current changes, and what it was just before."""
    s = [(0.0, 0.0), (0.5, 8.0), (40.0, 8.0), (40.5, 2.0), (90.0, 2.0), (90.5, 0.0)]
    rows = [f"{t:g},{i:.2f}" for t, i in s]
    return made("on_change.csv", text("Time (s),Current (A)", rows), s, ask=("start",))


@case
def points_part_thousands() -> Case:
    s = load()
    rows = [f"{at(t)};{1000 * i:,.0f}".replace(",", ".") for t, i in s]
    return made("points_thousands.csv", text("Zeit;Strom (mA)", rows), s, ask=("decimal", "unit.current"),
                answers={"decimal": ","})  # fmt: skip


@case
def counter_alone() -> Case:
    s = load()
    rows, passed = [], 0.0
    for k, (t, i) in enumerate(s):
        passed += (i + s[k - 1][1]) / 2 * 10 / 3600 if k else 0.0
        rows.append(f"{at(t)},{1000 * passed:.3f}")
    return made("counter_alone.csv", text("Time,Capacity (mAh)", rows), None, ah=round(passed, 6), doubts=("counter",))


@case
def counter_alone_reset() -> Case:
    s = load()
    rows, passed, before = [], 0.0, 0.0
    for k, (t, i) in enumerate(s):
        step = (i + s[k - 1][1]) / 2 * 10 / 3600 if k else 0.0
        passed, before = (step, before + passed) if k == 120 else (passed + step, before)  # it begins anew with that step
        rows.append(f"{passed:.6f},{at(t)}")
    return made("counter_reset.csv", text("Charge (Ah),Time", rows[::-1]), None, ah=round(before + passed, 5),
                doubts=("1 reset",))  # fmt: skip


@case
def sums_at_the_end() -> Case:
    s = load()
    rows = [f"{at(t)},{i:.2f}" for t, i in s] + [f"{at(s[-1][0])},{sum(i for _, i in s):.2f}"]
    return made("sums.csv", text("Time,Current (A)", rows), s, doubts=("one of sums",))


@case
def channels_in_one_column() -> Case:
    s = load()
    rows = [f"{at(t)},{c},{i / c:.2f}" for t, i in s for c in (1, 2)]
    return made("channels.csv", text("Time,Channel,Current (A)", rows), s, ask=("spikes",), answers={"only": ["2", "1"]})


@case
def open_thermocouple() -> Case:
    s = load()
    rows = [f"{at(t)},{i:.2f},{'-2501' if k % 40 == 3 else f'24.{k % 4}'}" for k, (t, i) in enumerate(s)]
    return made("thermocouple.csv", text("Time,Current (A),Bath temp (°C)", rows), s, temperature=24.1,
                doubts=("fault value of temperature",))  # fmt: skip


@case
def clipped() -> Case:
    s = [(t, min(i, 6.5)) for t, i in load()]
    rows = [f"{at(t)},{i:.2f}" for t, i in s]
    return made("clipped.csv", text("Time,Current (A)", rows), s, doubts=("end of a meter's range",))


@case
def share_of_the_full_range() -> Case:
    rows = [f"{at(t)},{10 * i:.1f},24.{k % 4}" for k, (t, i) in enumerate(load())]
    return made("percent.csv", text("Time,Current (%),Bath temp (°C)", rows), None, temperature=24.1)


@case
def factor_beside_the_unit() -> Case:
    s = load()
    rows = [f"{at(t)},{100 * i:.0f}" for t, i in s]
    return made("factor.csv", text("Time,Current/10mA", rows), s, ask=("unit.current",), answers={"units": {"current": "10mA"}})


@case
def factor_behind_the_unit() -> Case:
    s = load()
    rows = [f"{at(t)},{i / 10:.3f}" for t, i in s]
    return made("times_ten.csv", text("Time,Current [A] x10", rows), s, ask=("unit.current",),
                answers={"units": {"current": "10A"}})  # fmt: skip


@case
def charge_of_each_interval() -> Case:
    s = load()
    parts = [0.0, *((i + s[k][1]) / 2 * 10 for k, (_, i) in enumerate(s[1:]))]
    rows = [f"{at(t)},{part:.2f}" for (t, _), part in zip(s, parts, strict=True)]
    return made("intervals.csv", text("Time,Charge in interval (As)", rows), None, ah=sum(round(p, 2) for p in parts) / 3600,
                ask=("counter",), answers={"counter": "interval"})  # fmt: skip
