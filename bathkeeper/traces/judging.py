"""What about a file's sums is doubtful, and what only the keeper can settle before any of it may be booked.

A question stands wherever a wrong number could come of going on; a doubt is told and may be accepted. All limits are practice.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np

from bathkeeper.traces.asking import NO_ANSWERS, Answers, Bench, Choice, Question
from bathkeeper.traces.choices import other_columns, time_columns
from bathkeeper.traces.layout import Layout
from bathkeeper.traces.rows import Oddities
from bathkeeper.traces.sums import Sums, Way
from bathkeeper.traces.zones import WallClock
from bathkeeper.units.numerals import figures

BETWEEN_WORTH_ASKING = 0.02  # by so much of the charge it matters what the current did between two rows
FEW = 30  # rows: fewer, by whole minutes and unevenly apart, are what a person writes, not what a logger does
WORTH_ASKING = 0.01  # of the charge: what is unclear by less is told, not asked
GAPS_WORTH_ASKING = 0.02
COUNTER_OFF, COUNTER_FAR_OFF = 0.02, 0.05
POWER_OFF = 0.1
REVERSE = 0.02
LARGEST_A = 1000.0  # for a small workshop; beyond it mA were taken for A
LEAST_A = 0.02  # below it no hardware is plated: a mark that parts thousands was taken for the decimal one [practice]
TIMES_SEEN, PART_SEEN = 5.0, 0.01  # of the highest current of any run so far [practice]
MANY_SPIKES = 0.05  # of the samples: no faults any more [practice]
IDLE = 0.01  # of the highest current
BETWEEN_LOADS_S = 300.0
LONG_GAP_S = 1800.0
LEAST_STRETCH = 0.02  # of the charge
MANY_BROKEN = 0.02
NAMED = "--columns time=1,current=2"
NO_CHARGE = Choice("book no charge", "--columns current=none")
LIKELY = {"temperature": (5.0, 105.0), "ph": (0.0, 14.0), "conductivity": (0.0, 1500.0), "voltage": (-60.0, 60.0)}
"""Between these a bath or its supply lies; a column whose middle does not is of something else, or in another unit."""


@dataclass(frozen=True)
class Stretch:
    """Current that flowed without a break of minutes: from, to (seconds as the file counts), charge in Ah."""

    start_s: float
    end_s: float
    charge_ah: float


@dataclass
class Judged:
    """Questions, doubts, stretches of current."""

    questions: list[Question] = field(default_factory=list)
    doubts: list[str] = field(default_factory=list)
    stretches: tuple[Stretch, ...] = ()


def judged(
    layout: Layout, answers: Answers, bench: Bench, sums: Sums, odd: Oddities, wall: WallClock, said: Answers = NO_ANSWERS
) -> Judged:
    """Everything there is to ask and to tell. ``said``: of the answers those that were given for this file; what is remembered
    of another file of its kind is held against this one's values."""
    made = Judged()
    made.questions += _rows(layout, odd, sums)
    made.doubts += _met(odd)
    made.questions += _zone(answers, wall)
    if "current" in layout.sources:
        made.stretches = stretches_of(sums, layout)
        _current(made, layout, answers, bench, sums, said)
        _clock(made, layout, answers, sums)
    for quantity, (low, high) in LIKELY.items():
        bins = sums.series.get(quantity)
        middle = bins.middle() if bins is not None else None
        if middle is not None and not low <= middle[0] <= high:
            source = layout.sources[quantity]
            made.questions.append(
                Question(
                    f"columns.{quantity}",
                    f"column {source.title} taken as {quantity} in {source.unit} stands at about {figures(middle[0])}, "
                    f"which no "
                    "bath shows: the header names something else, or the unit is another",
                    (
                        Choice("leave it out", f"--columns {quantity}=none"),
                        *((Choice("it is in mV", "--unit voltage=mV"),) if quantity == "voltage" else ()),
                    ),
                )
            )
    return made


def _rows(layout: Layout, odd: Oddities, sums: Sums) -> Iterator[Question]:
    if sums.first_s is None:
        yield Question(
            "rows",
            "no row could be read with its time and values; the time column, its order or the decimal mark may be others",
            (Choice("the decimal mark is a comma", "--decimal ,"), Choice("the decimal mark is a point", "--decimal .")),
            example=NAMED,
        )
        return
    broken = odd.counts["broken"] + odd.counts["no time"] + sum(n for w, n in odd.counts.items() if w.startswith("unreadable"))
    if broken > max(3, MANY_BROKEN * odd.rows):
        yield Question(
            "rows",
            f"{broken} of {odd.rows + broken} rows cannot be read{_such(odd, 'broken', 'no time')}; is this the right reading "
            "of its columns?",
            example=NAMED,
        )
    if odd.counts["another header"]:
        yield Question(
            "rows",
            f"another table begins in the middle{_such(odd, 'another header')}: its columns or units may be others. Save each "
            "part as a file of its own",
        )
    for quantity, source in layout.sources.items():
        other = odd.counts[f"other unit of {quantity}"] + odd.counts[f"{quantity} without its unit"]
        if other:
            yield Question(
                f"unit.{quantity}",
                f"{other} values of column {source.title} carry another unit than the rest, or none",
                (Choice(f"all are in {source.unit}", f"--unit {quantity}={source.unit}"),),
            )


def _other_currents(layout: Layout) -> tuple[Choice, ...]:
    return other_columns(layout.table, "current", _taken(layout))


def _other_times(layout: Layout) -> tuple[Choice, ...]:
    return time_columns(layout.table, _taken(layout))


def _taken(layout: Layout) -> set[int]:
    return {s.index for s in layout.sources.values()} | set(layout.timing.columns if layout.timing is not None else ())


def _bridged(way: Way) -> tuple[Choice, ...]:
    longest = max((g.seconds for g in way.gaps), default=0.0)
    if longest <= 0:
        return ()
    return (Choice(f"steps of {figures(longest / 60)} min may be bridged", f"--gap {figures(longest + 1)}"),)


def _such(odd: Oddities, *kinds: str) -> str:
    told = [e for kind in kinds for e in odd.examples.get(kind, ())][:2]
    return f" ({'; '.join(told)})" if told else ""


def _met(odd: Oddities) -> Iterator[str]:
    said = {
        "note": "lines are no rows and were passed over",
        "broken": "rows are broken and were left out",
        "no time": "rows have no time that can be read and were left out",
        "cut short": "last line is cut short and was left out",
        "header again": "times the header comes again: the logger was started anew there",
    }
    for kind, count in odd.counts.items():
        if not count:
            continue
        if kind in said:
            yield f"{count} {said[kind]}{_such(odd, kind)}"
        elif kind.startswith(("unreadable", "no ", "fault value")):
            yield f"{count} times {kind}: left out{_such(odd, kind)}"


def _zone(answers: Answers, wall: WallClock) -> Iterator[Question]:
    if wall.never_were:
        yield Question(
            "offset",
            f"{wall.never_were} samples lie in an hour that the clocks of this zone jump over: the logger keeps another time",
            example="--offset +01:00",
        )


# -- the current -------------------------------------------------------------------------------------------------------


def _current(made: Judged, layout: Layout, answers: Answers, bench: Bench, sums: Sums, said: Answers) -> None:
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
                (*_bridged(way), *_other_times(layout)),
            )
        )
        return
    if sums.highest_a <= 0 and sums.lowest_a >= 0:
        made.questions.append(
            Question(
                "columns.current",
                f"the current in column {source.title} is 0 on every one of {sums.samples} rows; it was not "
                "logged, or is in another column",
                (*_other_currents(layout), NO_CHARGE),
            )
        )
        return
    if _size(made, layout, said, bench, sums):
        return
    _signs(made, layout, answers, sums, size)
    _set_value(made, layout, answers, sums)
    net = abs(way.net_ah)
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
    _between(made, layout, answers, sums, way)
    if sums.spike_count:
        _spikes(made, layout, answers, sums, net)
    _clipped(made, sums)
    _counter(made, layout, answers, sums, net)
    if sums.power_ws > 0 and abs(sums.product_ws / sums.power_ws - 1) > POWER_OFF:
        made.questions.append(
            Question(
                "power",
                f"current times voltage comes to {figures(sums.product_ws / sums.power_ws)} times the power that the file "
                "tells itself: a column or a unit is not what its header says",
                (Choice("the power is of something else", "--columns power=none"), *_other_currents(layout)),
            )
        )
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
                    (Choice("pulses of one supply", "--spikes keep"), *_other_currents(layout), NO_CHARGE),
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


def _size(made: Judged, layout: Layout, said: Answers, bench: Bench, sums: Sums) -> bool:
    """Whether the size of the current is such that nothing else about it matters."""
    source = layout.sources["current"]
    most = bench.reach_a if bench.reach_a is not None else LARGEST_A
    highest = max(sums.highest_a, -sums.lowest_a)
    bins = sums.series["current"]
    middle = bins.middle()
    usual = abs(middle[0]) if middle is not None else highest
    if max(usual, highest / 4) > 1.5 * most:
        whose = "its supply gives" if bench.reach_a is not None else "a bench supply gives"
        made.questions.append(
            Question(
                "unit.current",
                f"column {source.title} in {source.unit} comes to {figures(highest)} A, more than {whose} "
                f"({figures(most)} A): another unit, or another quantity",
                (Choice("it is in mA", "--unit current=mA"), *_other_currents(layout)),
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
                (*_other_currents(layout), NO_CHARGE),
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
                    *_other_currents(layout),
                    NO_CHARGE,
                ),
            )
        )


def _between(made: Judged, layout: Layout, answers: Answers, sums: Sums, way: Way) -> None:
    """Whether it matters what the current did from one row to the next: a journal of settings holds them, samples do not."""
    if answers.between is not None:
        return
    held, straight = abs(way.held_ah), abs(way.straight_ah)
    timing = layout.timing
    assert timing is not None
    matters = abs(held - straight) > BETWEEN_WORTH_ASKING * max(straight, 1e-12)
    by_hand = not timing.regular and sums.samples < FEW and timing.by_minutes
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
                NO_CHARGE,
            ),
        )
    )


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


def _counter(made: Judged, layout: Layout, answers: Answers, sums: Sums, net: float) -> None:
    if "counter" not in layout.sources or not sums.counter_moved:
        return
    counted = abs(sums.counter_ah)
    source = layout.sources["counter"]
    off = abs(counted - net) / max(net, 1e-12)
    again = f" over {sums.counter_resets} reset{'s' * (sums.counter_resets != 1)}" if sums.counter_resets else ""
    text = (
        f"the file's own counter {source.title} goes on by {figures(counted)} Ah{again}, the current comes to {figures(net)} Ah"
    )
    way = sums.counted
    explained = way.gap_s > 0 and abs(counted - net) <= 1.5 * abs(way.bridged_ah) + COUNTER_OFF * net
    if off > COUNTER_FAR_OFF and not explained and "counter" not in answers.columns:
        made.questions.append(
            Question(
                "counter",
                f"{text}: one of them is wrong, or its unit is",
                (
                    Choice("the current is right", "--columns counter=none"),
                    Choice("the current's unit is another", "--unit current=mA"),
                ),
            )
        )
    elif off > COUNTER_OFF:
        made.doubts.append(text)


# -- the clock ---------------------------------------------------------------------------------------------------------


def _clock(made: Judged, layout: Layout, answers: Answers, sums: Sums) -> None:
    if sums.out_of_line:
        text = f"{sums.out_of_line} rows have a time out of line with their neighbours and were left out"
        if sums.out_of_line > max(3, 0.01 * sums.samples):
            made.questions.append(
                Question(
                    "columns.time",
                    f"{text}; the rows of several loggers or channels may be mixed",
                    _other_times(layout),
                    "" if _other_times(layout) else NAMED,
                )
            )
        else:
            made.doubts.append(text)
    if sums.back_count:
        _back(made, answers, sums)
    still = sums.same_stamp / max(sums.samples, 1)
    if still > 0.9 and sums.samples > 20:
        made.doubts.append("most rows share their time with the row before; only steps between different times are counted")
    timing = layout.timing
    assert timing is not None
    if timing.finest_s >= 60 and sums.counted.logged_s < 120 * 60:
        minutes = figures(sums.counted.logged_s / 60)
        made.doubts.append(f"times are told to the minute only; the ends of {minutes} min are unsure by as much")
    if still > 0.4 and layout.table.kinds.count("text") and sums.samples > 20 and _paired(sums):
        made.questions.append(
            Question(
                "columns.current",
                "each time comes several times with different values: several channels seem to share a column",
                (*_other_currents(layout), Choice("they are one", "--measured"), NO_CHARGE),
            )
        )


def _paired(sums: Sums) -> bool:
    """Whether the current jumps about within its bins far more than from one to the next, as two channels in turn do."""
    bins = sums.series["current"]
    at = bins.filled
    if at.size < 5:
        return False
    within = float(np.median(bins.data["high"][at] - bins.data["low"][at]))
    means = bins.data["sum"][at] / bins.data["count"][at]
    return within > 4 * float(np.median(np.abs(np.diff(means)))) + 0.05 * float(np.median(np.abs(means)))


def _back(made: Judged, answers: Answers, sums: Sums) -> None:
    step = -sums.backs[0][1] if sums.backs else 0.0
    text = f"the clock goes back {sums.back_count} time{'s' * (sums.back_count != 1)}, first by {figures(step)} s"
    counted, repeated = abs(sums.counted.net_ah), abs(sums.repeated.net_ah)
    if abs(counted - repeated) > 0.5 * WORTH_ASKING * max(counted, 1e-12) and answers.back is None:
        made.questions.append(
            Question(
                "back",
                f"{text}: was it set back, or are rows there twice?",
                (
                    Choice(f"it was set back: {figures(counted)} Ah", "--back counted"),
                    Choice(f"rows are there twice: {figures(repeated)} Ah", "--back repeated"),
                ),
            )
        )
    else:
        made.doubts.append(f"{text}; the step over it is not counted")


def stretches_of(sums: Sums, layout: Layout) -> tuple[Stretch, ...]:
    """Stretches of current with at least minutes of none between them, in order of time."""
    bins = sums.series.get("current")
    if bins is None or bins.origin_s is None:
        return ()
    at = bins.filled
    times = bins.times_s()
    size = np.maximum(np.abs(bins.data["low"][at]), np.abs(bins.data["high"][at]))
    top = float(size.max(initial=0.0))
    on = np.flatnonzero(size > max(IDLE * top, 1e-12))
    if on.size == 0:
        return ()
    pause = np.diff(times[on])
    # rows that are missing are no sign that the current stopped, unless they are missing for long
    stopped = (np.diff(on) > 1) | (pause > LONG_GAP_S)
    apart = np.flatnonzero((pause > max(BETWEEN_LOADS_S, 2.5 * bins.width_s)) & stopped)
    made = []
    total = float(np.abs(bins.data["charge"][at]).sum())
    for part in np.split(on, apart + 1):
        a, b = part[0], part[-1]
        passed = abs(float(bins.data["charge"][at][a : b + 1].sum()))
        low, high = float(times[a]) - bins.width_s, float(times[b]) + bins.width_s * 2
        low, high = (-high, -low) if sums.turn < 0 else (low, high)
        if passed > LEAST_STRETCH * total:
            made.append(Stretch(max(low, sums.earliest_s), min(high, sums.latest_s), passed))
    return tuple(sorted(made, key=lambda s: s.start_s))
