"""A spreadsheet as it was found: rows of cells, each with its text and what it is, before anybody says what it means.

Everything about file formats ends here: what a reader makes of a CSV file and of a workbook is the same kind of grid.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

CellKind = Literal["text", "number", "day", "moment", "clock", "trouble"]
LONGEST_CELL = 32_767  # what a cell of a workbook can hold
MOST_ROWS, MOST_COLUMNS = 200_000, 400


@dataclass(frozen=True, slots=True)
class Cell:
    """``text`` is the cell in one plain spelling: a number with a decimal point, a day as 2026-05-01, a moment as
    2026-05-01T14:30:00, a clock as 14:30:00; text as it stands. ``unit`` is what a workbook's number format adds to a number;
    ``trouble`` cells hold no value, and their text says why."""

    text: str
    kind: CellKind = "text"
    unit: str = ""

    @property
    def filled(self) -> bool:
        return bool(self.text.strip())


EMPTY = Cell("")


@dataclass(frozen=True, slots=True)
class Line:
    """One row, by the number that a spreadsheet shows beside it. ``trouble``: why the row as a whole cannot be trusted."""

    number: int
    cells: tuple[Cell, ...]
    trouble: str = ""

    @property
    def filled(self) -> bool:
        return bool(self.trouble) or any(c.filled for c in self.cells)

    def cell(self, place: int) -> Cell:
        """The cell at a place, counted from 0; an empty one beyond the last."""
        return self.cells[place] if place < len(self.cells) else EMPTY


@dataclass(frozen=True)
class Grid:
    """A sheet. ``merged``: ranges that were one cell, as (first row, first column, last row, last column), rows from 1 and
    columns from 0; ``sheets``: the names of all in the file; ``notes``: what was found out about the file on the way."""

    lines: tuple[Line, ...]
    name: str = ""
    sheets: tuple[str, ...] = ()
    merged: tuple[tuple[int, int, int, int], ...] = ()
    notes: tuple[str, ...] = ()
    workbook: bool = False
    day_zero: Literal["1900", "1904"] = "1900"
    encoding: str = ""
    delimiter: str = ""
    by_number: dict[int, Line] = field(default_factory=dict)

    def line(self, number: int) -> Line:
        """A row by its number; an empty one where there is none."""
        return self.by_number.get(number, Line(number, ()))


def grid_of(lines: list[Line], **about: object) -> Grid:
    """A grid without the empty rows at its end and the empty cells at the ends of its rows."""
    kept = [line for line in lines if line.filled]
    trimmed = [Line(line.number, _trimmed(line.cells), line.trouble) for line in kept]
    return Grid(tuple(trimmed), by_number={line.number: line for line in trimmed}, **about)  # type: ignore[arg-type]


def _trimmed(cells: tuple[Cell, ...]) -> tuple[Cell, ...]:
    last = max((n for n, c in enumerate(cells) if c.filled), default=-1)
    return cells[: last + 1]
