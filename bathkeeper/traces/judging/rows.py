"""What about the rows of a file cannot be read, and what was met on the way."""

from __future__ import annotations

from collections.abc import Iterator

from bathkeeper.traces.asking import NAMED, Answers, Choice, Question
from bathkeeper.traces.layout import Layout
from bathkeeper.traces.rows import Oddities
from bathkeeper.traces.sums import Sums
from bathkeeper.traces.zones import WallClock

MANY_BROKEN = 0.02


def questions_of_rows(layout: Layout, odd: Oddities, sums: Sums) -> Iterator[Question]:
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
            f"{broken} of {odd.rows + broken} rows cannot be read{such(odd, 'broken', 'no time')}; is this the right reading "
            "of its columns?",
            example=NAMED,
        )
    if odd.counts["another header"]:
        yield Question(
            "rows",
            f"another table begins in the middle{such(odd, 'another header')}: its columns or units may be others. Save each "
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


def such(odd: Oddities, *kinds: str) -> str:
    told = [e for kind in kinds for e in odd.examples.get(kind, ())][:2]
    return f" ({'; '.join(told)})" if told else ""


def oddities_told(odd: Oddities) -> Iterator[str]:
    said = {
        "note": ("line is no row and was passed over", "lines are no rows and were passed over"),
        "broken": ("row is broken and was left out", "rows are broken and were left out"),
        "no time": ("row has no time that can be read: left out", "rows have no time that can be read: left out"),
        "cut short": ("last line is cut short and was left out", "lines are cut short and were left out"),
        "header again": tuple(f"time{s} the header comes again: the logger was started anew there" for s in ("", "s")),
    }
    for kind, count in odd.counts.items():
        if not count:
            continue
        if kind in said:
            yield f"{count} {said[kind][count != 1]}{such(odd, kind)}"
        elif kind.startswith(("unreadable", "no ", "fault value")):
            yield f"{count} times {kind}: left out{such(odd, kind)}"


def questions_of_zone(answers: Answers, wall: WallClock) -> Iterator[Question]:
    if wall.never_were:
        yield Question(
            "offset",
            f"{wall.never_were} samples lie in an hour that the clocks of this zone jump over: the logger keeps another time",
            example="--offset +01:00",
        )
