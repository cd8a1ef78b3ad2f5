"""The file's own counter of charge: held against the current, or all that tells the charge."""

from __future__ import annotations

import re

from bathkeeper.traces.asking import Answers, Bench, Choice, Question
from bathkeeper.traces.judging.made import COUNTER_OFF, LARGEST_A, LEAST_A, PART_SEEN, TIMES_SEEN, Judged
from bathkeeper.traces.layout import Layout
from bathkeeper.traces.stretches import Stretch
from bathkeeper.traces.sums import Sums
from bathkeeper.units.numerals import figures

COUNTER_FAR_OFF = 0.05
FALLS = 0.1  # of a counter's moves: more going back is none that runs on [practice]
_INTERVAL = re.compile(r"interval|delta|diff|increment|\bstep|Δ|per row", re.I)


def judge_counter(made: Judged, layout: Layout, answers: Answers, sums: Sums, net: float) -> None:
    counter = sums.counter
    if "counter" not in layout.sources or counter is None or not counter.moves:
        return
    counted = abs(counter.ah)
    source = layout.sources["counter"]
    off = abs(counted - net) / max(net, 1e-12)
    again = f" over {counter.resets} reset{'s' * (counter.resets != 1)}" if counter.resets else ""
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
                    Choice(f"the current is right: {figures(net)} Ah", "--columns counter=none"),
                    Choice(f"the counter is right: {figures(counted)} Ah", "--columns current=none"),
                ),
            )
        )
    elif off > COUNTER_OFF:
        made.doubts.append(text)


def _of_intervals(made: Judged, layout: Layout, sums: Sums, answers: Answers) -> bool:
    """Asks where a counter may tell the charge of each row's interval: it says so, or falls as often as it rises."""
    source, counter = layout.sources["counter"], sums.counter
    if counter is None or answers.counter is not None:
        return False
    says = _INTERVAL.search(source.title) is not None
    if not says and counter.falls + counter.resets <= max(2, FALLS * counter.moves):
        return False
    why = "says so in its heading" if says else f"goes back {counter.falls + counter.resets} times"
    made.questions.append(
        Question(
            "counter",
            f"column {source.title} {why}: does each row tell the charge of its own interval, or does the counter run on?",
            (
                Choice(f"of each interval: {figures(abs(counter.sum_ah))} Ah in all", "--counter interval"),
                Choice(f"it runs on: {figures(abs(counter.ah))} Ah", "--counter running"),
            ),
        )
    )
    return True


def judge_counter_alone(
    made: Judged, layout: Layout, bench: Bench, sums: Sums, said: Answers, answers: Answers
) -> None:
    """A counter of charge with no current beside it: what it went on by is the charge."""
    source, counter = layout.sources["counter"], sums.counter
    if counter is None or not counter.moves:
        made.questions.append(
            Question(
                "columns.counter",
                f"the counter in column {source.title} stands still: no charge passed, or it is not a counter",
                (Choice("book no charge", "--columns counter=none"),),
            )
        )
        return
    if _of_intervals(made, layout, sums, answers):
        return
    charge, seconds = abs(counter.ah), max(counter.last_s - counter.first_s, 1e-9)
    made.stretches = (Stretch(counter.first_s, counter.last_s, charge),)
    text = f"no current is told: the charge is what the counter {source.title} went on by, {figures(charge)} Ah"
    if counter.resets:
        text += f" over {counter.resets} reset{'s' * (counter.resets != 1)}"
    made.doubts.append(text)
    if counter.finest_ah > COUNTER_OFF * charge:
        made.doubts.append(f"the counter goes by steps of {figures(counter.finest_ah)} Ah; its ends are unsure by as much")
    mean = charge * 3600 / seconds
    most = bench.reach_a if bench.reach_a is not None else LARGEST_A
    known = bench.seen_a
    odd = mean > 1.5 * most or mean < LEAST_A or (known is not None and not PART_SEEN * known <= mean <= TIMES_SEEN * known)
    if odd and "counter" not in said.units:
        made.questions.append(
            Question(
                "unit.counter",
                f"the counter {source.title} in {source.unit} comes to a mean of {figures(mean)} A, which no run here had: is "
                "the unit right?",
                tuple(Choice(f"it is in {unit}", f"--unit counter={unit}") for unit in ("Ah", "mAh", "As")),
            )
        )
