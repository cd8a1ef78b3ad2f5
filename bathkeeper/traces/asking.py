"""What a file of samples leaves open, and what the keeper said to it: questions, answers, the limits of this bench."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime, tzinfo
from typing import Literal

DateOrder = Literal["ymd", "dmy", "mdy"]
Between = Literal["straight", "hold"]
Counting = Literal["running", "interval"]
QUANTITIES = ("current", "voltage", "temperature", "ph", "conductivity")
"""What is read out of a file; the counter, the power and the state beside them only check it."""
NAMED = "--columns time=N,current=M --unit current=A, with the columns' numbers"
"""How columns are named, as an example that cannot be taken for an answer."""
UNITS = {"current": "A", "voltage": "V", "temperature": "degC", "ph": "pH", "conductivity": "mS/cm"}
"""The fixed unit that each quantity is kept in."""


class TraceError(ValueError):
    """A file or an answer that cannot be used: what was wrong, and what would be right."""


@dataclass(frozen=True)
class Choice:
    """One way to answer a question: ``label`` for a person, ``option`` as the command line takes it."""

    label: str
    option: str


@dataclass(frozen=True)
class Question:
    """What only the keeper can know. ``about`` names it for a program; ``text`` says what is unclear and why;
    ``example``: options that show how an answer is written, where no choice can be offered."""

    about: str
    text: str
    choices: tuple[Choice, ...] = ()
    example: str = ""


@dataclass(frozen=True)
class Answers:
    """What was said about a file; whatever is None is left to the file.

    Attributes:
        columns: quantity (or ``time``, ``date``) to a column's number counted from 1, its header, or ``none``.
        units: quantity (or ``time``) to unit.
        zone: of the file's clock. start: moment of the first sample, where the file has no date or a wrong one; start_day: its
            day alone, where the file tells the time of day.
        gap_s: two samples further apart are not bridged.
        signs: ``net`` (reverse counts against) or ``size`` (a meter that lost the sign).
        back: what it means that the clock goes back: ``counted`` (it was set back) or ``repeated`` (rows are there twice).
        spikes: lone samples far off their neighbours: ``keep`` or ``drop``.
        between: what the current did between two rows: ``straight`` from one to the next, or ``hold`` at the earlier.
        counter: what a counter of charge tells: it is ``running`` on, or each row has that of its ``interval``.
        stretch: which stretch of current, from 1; 0 for all of them.
        reverse: word of the state column whose rows count against.
        only: (column, word): of several channels in one column the rows that count.
        measured: the current column holds what was measured, although it looks like a set value.
    """

    columns: Mapping[str, str] = field(default_factory=dict)
    units: Mapping[str, str] = field(default_factory=dict)
    date_order: DateOrder | None = None
    decimal: Literal[".", ","] | None = None
    zone: tzinfo | None = None
    start: datetime | None = None
    start_day: date | None = None
    gap_s: float | None = None
    signs: Literal["net", "size"] | None = None
    back: Literal["counted", "repeated"] | None = None
    spikes: Literal["keep", "drop"] | None = None
    between: Between | None = None
    counter: Counting | None = None
    stretch: int | None = None
    reverse: str | None = None
    only: tuple[str, str] | None = None
    measured: bool = False

    def over(self, remembered: Answers) -> Answers:
        """These answers, and where nothing was said those that are remembered."""
        kept = {
            n: getattr(remembered, n) for n in self.__dataclass_fields__
            if n not in ("columns", "units") and getattr(self, n) in (None, False)
        }  # fmt: skip
        return replace(self, **kept, columns={**remembered.columns, **self.columns}, units={**remembered.units, **self.units})


NO_ANSWERS = Answers()
"""Everything is left to the file."""


@dataclass(frozen=True)
class Bench:
    """What is known of this bench that a file can be held against. ``reach_a``: the most that its supply gives, ``seen_a``:
    the highest current of any run so far, A."""

    reach_a: float | None = None
    seen_a: float | None = None
