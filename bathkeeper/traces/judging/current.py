"""What about the current is doubtful: its size, signs, gaps, spikes; whether it was measured at all."""

from __future__ import annotations

import numpy as np

from bathkeeper.traces.asking import NAMED, Answers, Bench, Choice, Question
from bathkeeper.traces.judging.counter import judge_counter
from bathkeeper.traces.judging.made import (
    LARGEST_A,
    LEAST_A,
    PART_SEEN,
    TIMES_SEEN,
    WORTH_ASKING,
    Judged,
    channels_of,
    no_charge,
    other_currents,
    other_times,
)
from bathkeeper.traces.layout import Layout
from bathkeeper.traces.stretches import usual_current, usual_top
from bathkeeper.traces.sums import Sums, Way
from bathkeeper.units.numerals import figures

BETWEEN_WORTH_ASKING = 0.02  # by so much of the charge it matters what the current did between two rows
FEW = 30  # rows: fewer, by whole minutes and unevenly apart, are what a person writes, not what a logger does
GAPS_WORTH_ASKING = 0.02
POWER_OFF = 0.1
REVERSE = 0.02
LAST_TIMES = 3.0  # the highest of the other rows [practice]
MANY_SPIKES = 0.05  # of the samples: no faults any more [practice]


def judge_current(made: Judged, layout: Layout, answers: Answers, bench: Bench, sums: Sums, said: Answers) -> None:
    """Asks and tells about the current, the worst first."""
    source = layout.sources["current"]
    way = sums.repeated if answers.back == "repeated" else sums.counted
    size = way.forward_ah + way.reverse_ah
    if sums.first_s is None:
        return
    if sums.samples < 2 or way.logged_s <= 0:
        made.questions.append(
            Question(
                "rows",
                f"column {source.title} has no two samples at different times close enough to count between them",
                (*_bridged(way), *other_times(layout)),
            )
        )
        return
    if sums.highest_a <= 0 and sums.lowest_a >= 0:
        made.questions.append(
            Question(
                "columns.current",
                f"the current in column {source.title} is 0 on every one of {sums.samples} rows; it was not "
                "logged, or is in another column",
                (*other_currents(layout), *no_charge(layout)),
                "" if other_currents(layout) or no_charge(layout) else NAMED,
            )
        )
        return
    if _size(made, layout, said, bench, sums):
        return
    _signs(made, layout, answers, sums, size)
    _set_value(made, layout, answers, sums)
    net = abs(way.net_ah)
    _gaps(made, answers, sums, way, size)
    _last_row(made, layout, answers, sums)
    if sums.spike_count:
        _spikes(made, layout, answers, sums, net)
    if not any(q.about == "spikes" for q in made.questions):  # first whose current it is, then what it did between rows
        _between(made, layout, answers, sums, way)
    _clipped(made, sums)
    judge_counter(made, layout, answers, sums, net)
    _power(made, layout, sums)
    _loads(made, answers)


def _size(made: Judged, layout: Layout, said: Answers, bench: Bench, sums: Sums) -> bool:
    """Whether the size of the current is such that nothing else about it matters."""
    source = layout.sources["current"]
    most = bench.reach_a if bench.reach_a is not None else LARGEST_A
    highest = max(sums.highest_a, -sums.lowest_a)
    usual = usual_current(sums) or highest
    if max(usual, highest / 4) > 1.5 * most:
        other = "," if layout.decimal == "." else "."
        whose = "its supply gives" if bench.reach_a is not None else "a bench supply gives"
        made.questions.append(
            Question(
                "unit.current",
                f"column {source.title} in {source.unit} comes to {figures(highest)} A, more than {whose} "
                f"({figures(most)} A): another unit, or another quantity",
                (
                    *((Choice("it is in mA", "--unit current=mA"),) if source.unit != "mA" else ()),
                    *((Choice("the decimal mark is the other one", f"--decimal {other}"),) if said.decimal is not None else ()),
                    *other_currents(layout),
                ),
            )
        )
    elif (
        "current" not in said.units
        and bench.seen_a is not None
        and not (PART_SEEN * bench.seen_a <= usual <= TIMES_SEEN * bench.seen_a)
    ):
        made.questions.append(
            Question(
                "unit.current",
                f"column {source.title} in {source.unit} stands at about {figures(usual)} A; the highest of any run so far was "
                f"{figures(bench.seen_a)} A. Is the unit right?",
                tuple(Choice(f"it is in {unit}", f"--unit current={unit}") for unit in ("A", "mA")),
            )
        )
    step = 10.0**-source.decimals * source.factor
    if 0 < highest <= 5 * step:
        made.questions.append(
            Question(
                "columns.current",
                f"the current in column {source.title} never exceeds {figures(highest)} A, "
                f"{highest / step:.0f} of its smallest steps: rounded away, it tells no charge",
                (*other_currents(layout), *no_charge(layout)),
                "" if other_currents(layout) or no_charge(layout) else NAMED,
            )
        )
        return True
    if "current" not in said.units and bench.seen_a is None and usual < LEAST_A:
        made.questions.append(
            Question(
                "unit.current",
                f"column {source.title} in {source.unit} stands at about {figures(usual * 1000)} mA, which plates nothing: is "
                "the unit right, and the decimal mark?",
                (
                    *(Choice(f"it is in {unit}", f"--unit current={unit}") for unit in ("A", "mA")),
                    Choice("its points part thousands", "--decimal ,"),
                ),
            )
        )
    return False


def _signs(made: Judged, layout: Layout, answers: Answers, sums: Sums, size: float) -> None:
    way = sums.repeated if answers.back == "repeated" else sums.counted
    low = min(way.forward_ah, way.reverse_ah)
    if size > 0 and low > REVERSE * size and answers.signs is None and answers.reverse is None:
        net = figures(abs(way.net_ah))
        made.questions.append(
            Question(
                "signs",
                f"current flows both ways: {figures(way.forward_ah)} Ah one way, {figures(way.reverse_ah)} Ah the other",
                (
                    Choice(f"reverse counts against: {net} Ah", "--signs net"),
                    Choice(f"the sign means nothing: {figures(size)} Ah", "--signs size"),
                ),
            )
        )
    elif low > 0 and answers.signs is None and answers.reverse is None:
        made.doubts.append(f"{figures(low)} Ah flowed the other way and count against")
    if way.net_ah < 0 and low <= REVERSE * size:
        made.doubts.append("the current is negative throughout: the meter is the other way round, taken without its sign")
    active = {w: ah for w, ah in sums.by_state.items() if ah > WORTH_ASKING * max(size, 1e-12)}
    if low <= 1e-9 * max(size, 1.0) and len(active) > 1 and answers.reverse is None and answers.signs is None:
        told = ", ".join(f"`{w}` {figures(ah)} Ah" for w, ah in active.items())
        made.questions.append(
            Question(
                "signs",
                f"the current has no sign, and the state beside it changes: {told}",
                (*(Choice(f"`{w}` counts against", f"--reverse {w}") for w in active), Choice("all count", "--signs size")),
            )
        )


def _set_value(made: Judged, layout: Layout, answers: Answers, sums: Sums) -> None:
    source = layout.sources["current"]
    if answers.measured or "current" in answers.columns:
        return
    why = ""
    if sums.samples >= 10 and sums.lowest_on_a == max(sums.highest_a, -sums.lowest_a) and source.decimals < 4:
        why = f"is {figures(sums.lowest_on_a)} A on every one of {sums.samples - sums.zeros} rows, to the last figure"
    elif sums.on_without_voltage > max(3, 0.05 * sums.on_with_voltage):
        why = f"shows current on {sums.on_without_voltage} rows that have no voltage"
    if why:
        made.questions.append(
            Question(
                "measured",
                f"column {source.title} {why}: a set value looks like that, not a reading",
                (
                    Choice("it was measured", "--measured"),
                    *other_currents(layout),
                    *no_charge(layout),
                ),
            )
        )


def _gaps(made: Judged, answers: Answers, sums: Sums, way: Way, size: float) -> None:
    """Rows that are missing for so long that nobody knows what flowed."""
    if way.gap_s > 0:
        share = abs(way.bridged_ah) / max(size, 1e-12)
        text = (
            f"{way.gap_count} gap{'s' * (way.gap_count != 1)} longer than {figures(sums.bound_s)} s, "
            f"{figures(way.gap_s / 60)} min in "
            f"all, not counted; a straight line over them would add {figures(abs(way.bridged_ah))} Ah"
        )
        if share > GAPS_WORTH_ASKING and answers.gap_s is None:
            made.questions.append(
                Question(
                    "gap",
                    f"{text}, {100 * share:.0f} % of the charge",
                    (
                        Choice("leave them out", f"--gap {figures(sums.bound_s)}"),
                        Choice("bridge them", f"--gap {figures(max((g.seconds for g in way.gaps), default=0.0) + 1)}"),
                    ),
                )
            )
        else:
            made.doubts.append(text)


def _bridged(way: Way) -> tuple[Choice, ...]:
    longest = max((g.seconds for g in way.gaps), default=0.0)
    if longest <= 0:
        return ()
    return (Choice(f"steps of {figures(longest / 60)} min may be bridged", f"--gap {figures(longest + 1)}"),)


def _between(made: Judged, layout: Layout, answers: Answers, sums: Sums, way: Way) -> None:
    """Whether it matters what the current did from one row to the next: a journal of settings holds them, samples do not."""
    if answers.between is not None:
        return
    held, straight = abs(way.held_ah), abs(way.straight_ah)
    timing = layout.timing
    assert timing is not None
    matters = abs(held - straight) > BETWEEN_WORTH_ASKING * max(straight, 1e-12)
    by_hand = sums.samples < FEW and timing.by_hand
    if not matters and not by_hand:
        return
    why = "" if matters else ", unevenly apart and by whole minutes, as one writes a journal by hand"
    made.questions.append(
        Question(
            "between",
            f"{sums.samples} rows{why}: did the current go straight from one to the next, or is each value a setting that "
            "stood until the next?",
            (
                Choice(f"straight from row to row: {figures(straight)} Ah", "--between straight"),
                Choice(f"each value stood until the next: {figures(held)} Ah", "--between hold"),
                *no_charge(layout),
            ),
        )
    )


def _last_row(made: Judged, layout: Layout, answers: Answers, sums: Sums) -> None:
    """A row at the end that stands far above all others may be one of sums or means."""
    bins = sums.series["current"]
    at = bins.filled
    if at.size < 5:
        return
    size = np.maximum(np.abs(bins.data["low"][at]), np.abs(bins.data["high"][at]))
    top, last = usual_top(size[:-1]), float(size[-1])
    if top <= 0 or last <= LAST_TIMES * top:
        return
    net = abs(float(bins.data["charge"][at].sum()))
    text = f"the row at the end stands at {figures(last)} A, those before it at most at {figures(top)} A: is it one of sums?"
    if abs(float(bins.data["charge"][at[-1]])) > WORTH_ASKING * net and answers.spikes is None:
        choices = (Choice("it was measured", "--spikes keep"),)
        made.questions.append(Question("spikes", f"{text} If so, take it out of the file", choices))
    else:
        made.doubts.append(text)


def _spikes(made: Judged, layout: Layout, answers: Answers, sums: Sums, net: float) -> None:
    """Lone values far off their neighbours: faults, pulses, or two channels in one column."""
    several = "s" * (sums.spike_count != 1)
    at = f", such as {figures(sums.spikes[0][1])} A between two of about {figures(sums.spikes[0][2])} A"
    text = f"{sums.spike_count} lone value{several} far off both neighbours{at}"
    if sums.spike_count > max(1, MANY_SPIKES * sums.samples):
        if answers.spikes is None:
            made.questions.append(
                Question(
                    "spikes",
                    f"{text}: column {layout.sources['current'].title} pulses, or several channels share it",
                    (
                        *channels_of(layout),
                        Choice("pulses of one supply", "--spikes keep"),
                        *_not_channels(layout),
                        *no_charge(layout),
                    ),
                )
            )
    elif sums.spike_size_ah > 0.5 * WORTH_ASKING * max(net, 1e-12) and answers.spikes is None:
        made.questions.append(
            Question(
                "spikes",
                f"{text}; counted they change the charge by {figures(sums.spike_ah)} Ah",
                (Choice("they are real", "--spikes keep"), Choice("they are faults", "--spikes drop")),
            )
        )
    else:
        made.doubts.append(text)


def _not_channels(layout: Layout) -> tuple[Choice, ...]:
    """Other columns for the current, but for those that only tell channels apart."""
    apart = {c.option.split("=")[0].removeprefix("--only ").strip("'") for c in channels_of(layout)}
    return tuple(c for c in other_currents(layout) if c.option.rpartition("=")[2] not in apart)


def _clipped(made: Judged, sums: Sums) -> None:
    bins = sums.series["current"]
    at = bins.filled
    means = bins.data["sum"][at] / bins.data["count"][at]
    on = float(bins.data["count"][at][means > 0.5 * sums.highest_a].sum())
    if sums.at_highest >= 10 and on and sums.at_highest > 0.3 * on and sums.lowest_on_a < sums.highest_a:
        made.doubts.append(
            f"the current stands at its highest, {figures(sums.highest_a)} A, on {sums.at_highest} rows: as set, or the "
            f"end of a "
            "meter's range (then more flowed than is counted)"
        )


def _power(made: Judged, layout: Layout, sums: Sums) -> None:
    """Current times voltage against the power that the file tells itself."""
    if sums.power_ws > 0 and abs(sums.product_ws / sums.power_ws - 1) > POWER_OFF:
        made.questions.append(
            Question(
                "power",
                f"current times voltage comes to {figures(sums.product_ws / sums.power_ws)} times the power that the file "
                "tells itself: a column or a unit is not what its header says",
                (Choice("the power is of something else", "--columns power=none"), *other_currents(layout)),
            )
        )


def _loads(made: Judged, answers: Answers) -> None:
    """Several stretches of current in one file may be several loads."""
    if len(made.stretches) > 1 and answers.stretch is None:
        told = "; ".join(
            f"{k}: {figures((s.end_s - s.start_s) / 60)} min, {figures(s.charge_ah)} Ah"
            for k, s in enumerate(made.stretches[:8], 1)
        )
        made.questions.append(
            Question(
                "stretch",
                f"the current stops for minutes and comes back, so this may be {len(made.stretches)} loads ({told})",
                (
                    *(Choice(f"the load is number {k}", f"--stretch {k}") for k in range(1, min(len(made.stretches), 8) + 1)),
                    Choice("all of it is one", "--stretch all"),
                ),
            )
        )
    elif answers.stretch and answers.stretch > len(made.stretches) and len(made.stretches) != 1:
        made.questions.append(Question("stretch", f"there are only {len(made.stretches)} stretches of current"))
