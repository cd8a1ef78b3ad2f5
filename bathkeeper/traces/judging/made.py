"""What a judge finds: questions, doubts, stretches of current; and the limits that several judges share."""

from __future__ import annotations

from dataclasses import dataclass, field

from bathkeeper.traces.asking import Choice, Question
from bathkeeper.traces.choices import channels, other_columns, time_columns
from bathkeeper.traces.layout import Layout
from bathkeeper.traces.stretches import Stretch

WORTH_ASKING = 0.01  # of the charge: what is unclear by less is told, not asked
COUNTER_OFF = 0.02
LARGEST_A = 1000.0  # for a small workshop; beyond it mA were taken for A
LEAST_A = 0.02  # below it no hardware is plated: a mark that parts thousands was taken for the decimal one [practice]
TIMES_SEEN, PART_SEEN = 5.0, 0.01  # of the highest current of any run so far [practice]
NO_CHARGE = Choice("book no charge", "--columns current=none")


@dataclass
class Judged:
    """Questions, doubts, stretches of current."""

    questions: list[Question] = field(default_factory=list)
    doubts: list[str] = field(default_factory=list)
    stretches: tuple[Stretch, ...] = ()


def no_charge(layout: Layout) -> tuple[Choice, ...]:
    """The charge left out, where something else in the file is worth taking in."""
    return (NO_CHARGE,) if any(q not in ("current", "counter", "power") for q in layout.sources) else ()


def other_currents(layout: Layout) -> tuple[Choice, ...]:
    """The columns that could tell the current instead."""
    return other_columns(layout.table, "current", _taken(layout))


def channels_of(layout: Layout) -> tuple[Choice, ...]:
    """Of several channels in one column each one alone."""
    return channels(layout.table, _taken(layout))


def other_times(layout: Layout) -> tuple[Choice, ...]:
    """The columns that could tell the time instead."""
    return time_columns(layout.table, _taken(layout))


def _taken(layout: Layout) -> set[int]:
    return {s.index for s in layout.sources.values()} | set(layout.timing.columns if layout.timing is not None else ())
