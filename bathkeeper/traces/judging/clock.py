"""What about a file's clock is doubtful: times out of line, steps back, channels that share their times."""

from __future__ import annotations

import numpy as np

from bathkeeper.traces.asking import NAMED, Answers, Choice, Question
from bathkeeper.traces.judging.made import WORTH_ASKING, Judged, channels_of, no_charge, other_currents, other_times
from bathkeeper.traces.layout import Layout
from bathkeeper.traces.sums import Sums
from bathkeeper.units.numerals import figures


def judge_clock(made: Judged, layout: Layout, answers: Answers, sums: Sums) -> None:
    """Asks and tells about the times of the rows."""
    if sums.out_of_line:
        text = f"{sums.out_of_line} rows have a time out of line with their neighbours and were left out"
        if sums.out_of_line > max(3, 0.01 * sums.samples):
            made.questions.append(
                Question(
                    "columns.time",
                    f"{text}; the rows of several loggers or channels may be mixed",
                    other_times(layout),
                    "" if other_times(layout) else NAMED,
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
                (*channels_of(layout), *other_currents(layout), Choice("they are one", "--measured"), *no_charge(layout)),
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
