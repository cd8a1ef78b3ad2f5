"""What a current may be: set values, zeros, counters, states, signs, faults."""

from __future__ import annotations

from tests.traces.making.cases import Case, at, case, charge, load, made, text, volts


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
