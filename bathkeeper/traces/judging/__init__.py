"""What about a file's sums is doubtful, and what only the keeper can settle before any of it may be booked.

A question stands wherever a wrong number could come of going on; a doubt is told and may be accepted. All limits are practice.
"""

from __future__ import annotations

from bathkeeper.traces.asking import NO_ANSWERS, Answers, Bench, Choice, Question
from bathkeeper.traces.judging.clock import judge_clock
from bathkeeper.traces.judging.counter import judge_counter_alone
from bathkeeper.traces.judging.current import judge_current
from bathkeeper.traces.judging.made import Judged
from bathkeeper.traces.judging.rows import oddities_told, questions_of_rows, questions_of_zone
from bathkeeper.traces.layout import Layout
from bathkeeper.traces.rows import Oddities
from bathkeeper.traces.stretches import stretches_of
from bathkeeper.traces.sums import Sums
from bathkeeper.traces.zones import WallClock
from bathkeeper.units.numerals import figures

LIKELY = {"temperature": (5.0, 105.0), "ph": (0.0, 14.0), "conductivity": (0.0, 1500.0), "voltage": (-60.0, 60.0)}
"""Between these a bath or its supply lies; a column whose middle does not is of something else, or in another unit."""


def judged(
    layout: Layout, answers: Answers, bench: Bench, sums: Sums, odd: Oddities, wall: WallClock, said: Answers = NO_ANSWERS
) -> Judged:
    """Everything there is to ask and to tell. ``said``: of the answers those that were given for this file; what is remembered
    of another file of its kind is held against this one's values."""
    made = Judged()
    made.questions += questions_of_rows(layout, odd, sums)
    made.doubts += oddities_told(odd)
    made.questions += questions_of_zone(answers, wall)
    if "current" in layout.sources:
        made.stretches = stretches_of(sums, layout)
        judge_current(made, layout, answers, bench, sums, said)
        judge_clock(made, layout, answers, sums)
    elif "counter" in layout.sources:
        judge_counter_alone(made, layout, bench, sums, said, answers)
    elif "voltage" in layout.sources:
        made.doubts.append("no column tells a current or a charge, so no charge is booked")
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
