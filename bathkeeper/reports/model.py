"""What a report is made of: frozen pieces with numbers that stay numbers. Every renderer can do every piece.

Nothing here knows how a piece looks. A unit stands in the column or beside the value, never inside the text, so that CSV and
JSON carry plain numbers and the page shows them rounded to what is known. Moments carry their offset from UTC.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import date, datetime
from typing import Literal

import msgspec

from bathkeeper.findings import Estimate
from bathkeeper.refusals import shorten

Cell = str | int | float | date | datetime | Estimate | None
"""What stands in a table or beside a label; None is what nobody knows or nobody wrote."""

Kind = Literal["text", "number", "estimate", "date", "moment"]
Align = Literal["left", "right", "centre"]
State = Literal["done", "not", "unknown"]
EventKind = Literal["addition", "new life", "other"]

LARGEST_COUNT = 10**15

_NAME = re.compile(r"[a-z][a-z0-9_]{0,39}")
_FITS: dict[Kind, tuple[type, ...]] = {
    "text": (str,), "number": (int, float), "estimate": (Estimate,), "date": (date,), "moment": (datetime,),
}


class ReportError(ValueError):
    """A piece that cannot be what it says; names the piece and what would be right."""


class Heading(msgspec.Struct, frozen=True, tag="heading"):
    """``level`` 1 opens a part of the report, 2 a part of that."""

    text: str
    level: Literal[1, 2] = 1


class Paragraph(msgspec.Struct, frozen=True, tag="paragraph"):
    """Plain words; a line end in the text is a line end on the page."""

    text: str


class Fact(msgspec.Struct, frozen=True):
    """One label and its value. ``unit`` goes with a number or an estimate (whose own unit is used when this one is empty);
    ``decimals`` fixes how many are shown, else as many as are known."""

    label: str
    value: Cell
    unit: str = ""
    decimals: int | None = None

    def __post_init__(self) -> None:
        _check_cell(self.value, None, f"the fact `{shorten(self.label)}`")


class Facts(msgspec.Struct, frozen=True, tag="facts"):
    """Labels and values, one under the other."""

    pairs: tuple[Fact, ...]
    title: str = ""


class Column(msgspec.Struct, frozen=True):
    """One column of a table.

    ``key``: a short lower-case name for CSV and JSON. ``kind``: what its cells are; every kind may have None. Without
    ``align`` numbers stand at the right, with their decimal points under one another, and everything else at the left.
    ``decimals``: how many are shown; without it as many as are known (by an estimate's spread, else four figures).
    """

    key: str
    title: str
    unit: str = ""
    kind: Kind = "text"
    align: Align | None = None
    decimals: int | None = None

    def __post_init__(self) -> None:
        _check_name(self.key, "a column's key")
        if self.kind not in _FITS:
            raise ReportError(f"column `{self.key}` has the kind {self.kind!r}; there are {', '.join(_FITS)}")

    @property
    def numeric(self) -> bool:
        """Whether its cells are numbers, with or without an interval."""
        return self.kind in ("number", "estimate")


class Table(msgspec.Struct, frozen=True, tag="table", kw_only=True):
    """Rows under columns. ``name`` calls it in CSV and on the command line; ``total`` is a last row of the same columns,
    whose cells may also be text (``Total``); ``empty`` is said when there are no rows.

    Raises:
        ReportError: a row of another length, a cell of another kind than its column, two columns of one key.
    """

    name: str
    title: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]
    total: tuple[Cell, ...] | None = None
    caption: str = ""
    empty: str = "Nothing to list."

    def __post_init__(self) -> None:
        _check_name(self.name, "a table's name")
        keys = [column.key for column in self.columns]
        if not keys:
            raise ReportError(f"table `{self.name}` has no columns; give it at least one")
        if len(set(keys)) < len(keys):
            raise ReportError(f"table `{self.name}` has two columns of one key; there are {', '.join(keys)}")
        for number, row in enumerate(self.rows, start=1):
            _check_row(row, self.columns, f"row {number} of table `{self.name}`", also_text=False)
        if self.total is not None:
            _check_row(self.total, self.columns, f"the total of table `{self.name}`", also_text=True)


class BandPoint(msgspec.Struct, frozen=True):
    """What was believed at a moment, with its 95 % interval, in the chart's unit."""

    when: datetime
    value: float
    low: float
    high: float


class Reading(msgspec.Struct, frozen=True):
    """What was measured. ``spread``: its 95 % half-width; ``doubtful``: it was set aside and moved nothing."""

    when: datetime
    value: float
    spread: float | None = None
    doubtful: bool = False
    note: str = ""


class Event(msgspec.Struct, frozen=True):
    """Something done to the bath that the curve answers to."""

    when: datetime
    kind: EventKind
    text: str


class Chart(msgspec.Struct, frozen=True, tag="chart", kw_only=True):
    """A control chart of one content: belief with its band, readings, the window, the lines at which one gives up, events.

    All values in ``unit``. A renderer that cannot draw shows the same points as a table.
    """

    name: str
    title: str
    unit: str
    estimate: tuple[BandPoint, ...] = ()
    readings: tuple[Reading, ...] = ()
    low: float | None = None
    target: float | None = None
    high: float | None = None
    give_up_low: float | None = None
    give_up_high: float | None = None
    events: tuple[Event, ...] = ()
    caption: str = ""

    def __post_init__(self) -> None:
        _check_name(self.name, "a chart's name")
        for moment in self.moments:
            _check_moment(moment, f"chart `{self.name}`")

    @property
    def moments(self) -> list[datetime]:
        """Every moment that the chart shows, in time's order."""
        return sorted([*(p.when for p in self.estimate), *(r.when for r in self.readings), *(e.when for e in self.events)])


class Check(msgspec.Struct, frozen=True):
    """One point of a checklist; ``note`` says when, by whom or why not."""

    text: str
    state: State = "unknown"
    note: str = ""


class Checklist(msgspec.Struct, frozen=True, tag="checklist"):
    """Points that are done, not done, or of which nobody knows."""

    items: tuple[Check, ...]
    title: str = ""


class Caution(msgspec.Struct, frozen=True, tag="caution"):
    """What can hurt; ``source`` says where that is from, or that it is common practice."""

    text: str
    source: str = ""


class Corrected(msgspec.Struct, frozen=True, tag="corrected", kw_only=True):
    """An entry as it was logged, shown struck through, and what stands now; ``stands`` None: it was withdrawn.

    ``entry``: its id. ``at``: the moment it was logged for. ``corrected_at``: when it was set right. A correction is always
    shown, never instead of the first writing.
    """

    entry: str
    at: datetime
    logged: str
    stands: str | None
    corrected_at: datetime
    by: str = ""
    reason: str = ""

    def __post_init__(self) -> None:
        for moment in (self.at, self.corrected_at):
            _check_moment(moment, f"the correction of `{shorten(self.entry)}`")


class SignatureLine(msgspec.Struct, frozen=True, tag="signature"):
    """A line to sign on: in what part somebody signs, and a name if it is known; the date is left to fill in."""

    role: str
    name: str = ""


Piece = Heading | Paragraph | Facts | Table | Chart | Checklist | Caution | Corrected | SignatureLine


class Report(msgspec.Struct, frozen=True, kw_only=True):
    """A report as it goes out.

    ``period``: (since, until) of what it covers. ``as_of``: the moment whose state it shows; ``made_at``: when it was made,
    which is also the date inside a PDF. ``notes``: what a reader must know, printed at the end. ``rule_set``: name and date
    of the rules that were applied, where any were.
    """

    title: str
    subtitle: str = ""
    workshop: str = ""
    period: tuple[datetime, datetime] | None = None
    made_at: datetime
    as_of: datetime
    sections: tuple[Piece, ...] = ()
    notes: tuple[str, ...] = ()
    rule_set: str | None = None

    def __post_init__(self) -> None:
        for moment in (self.made_at, self.as_of, *(self.period or ())):
            _check_moment(moment, "the report")
        if self.period is not None and self.period[0] > self.period[1]:
            raise ReportError("the report's period ends before it begins; give (since, until)")
        names = [piece.name for piece in self.sections if isinstance(piece, Table | Chart)]
        twice = {name for name in names if names.count(name) > 1}
        if twice:
            raise ReportError(f"two tables or charts are called `{min(twice)}`; give each a name of its own")

    @property
    def tables(self) -> list[Table]:
        """Its tables, in order."""
        return [piece for piece in self.sections if isinstance(piece, Table)]


def _check_name(name: str, what: str) -> None:
    if not _NAME.fullmatch(name):
        raise ReportError(
            f"{what} is `{shorten(name)}`; write up to 40 lower-case letters, digits and _, beginning with a letter"
        )


def _check_row(row: Iterable[Cell], columns: tuple[Column, ...], what: str, *, also_text: bool) -> None:
    cells = tuple(row)
    if len(cells) != len(columns):
        raise ReportError(f"{what} has {len(cells)} cells for {len(columns)} columns; give one for each")
    for cell, column in zip(cells, columns, strict=True):
        if not (also_text and isinstance(cell, str)):
            _check_cell(cell, column, what)


def _check_cell(cell: Cell, column: Column | None, what: str) -> None:
    if isinstance(cell, datetime):
        _check_moment(cell, what)
    if isinstance(cell, int) and abs(cell) > LARGEST_COUNT:
        raise ReportError(f"{what} has a whole number beyond {LARGEST_COUNT:.0e}; nothing in a workshop is counted there")
    if cell is None or column is None:
        return
    wrong = isinstance(cell, bool) or not isinstance(cell, _FITS[column.kind])
    if wrong or (column.kind == "date" and isinstance(cell, datetime)):
        raise ReportError(f"{what}: the cell of `{column.key}` is a {type(cell).__name__}; the column holds {column.kind}")


def _check_moment(moment: datetime, what: str) -> None:
    if moment.tzinfo is None:
        raise ReportError(f"{what} has the moment {moment} without an offset from UTC; give it one")
