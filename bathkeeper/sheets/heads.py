"""Where a sheet's headings are, what its columns are called, and the fingerprint by which its layout is known again.

Headings may have several levels: a merged cell over its columns, a row of units below. A column's name is its levels joined by
`` / ``; columns without a heading are called by their letter, and of two with the same name the second is numbered.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Sequence
from dataclasses import dataclass

from bathkeeper.logbook.sheets import Cell, Grid, Line
from bathkeeper.sheets.dates import is_date
from bathkeeper.sheets.guess_units import is_unit

MOST_PREAMBLE = 40  # rows that may stand before the first row of notes
LOOK_AHEAD = 8
MOST_LEVELS = 3
LONGEST_NAME = 120


@dataclass(frozen=True)
class Heads:
    """``rows`` and ``first_row`` count from 1; ``names`` by place of column; ``levels``: the text of each header
    row by column; ``units``: the last of them says the units."""

    rows: tuple[int, ...]
    first_row: int
    names: tuple[str, ...]
    levels: tuple[tuple[str, ...], ...]
    units: bool = False

    def place(self, name: str) -> int | None:
        """The place of a column by its name; spaces and case do not matter where that leaves only one."""
        if name in self.names:
            return self.names.index(name)
        found = [n for n, known in enumerate(self.names) if _plain(known) == _plain(name)]
        return found[0] if len(found) == 1 else None

    @property
    def fingerprint(self) -> str:
        """Of the names in their order, without case and spaces."""
        said = "\n".join(_plain(n) for n in self.names)
        return hashlib.blake2b(said.encode("utf-8", "replace"), digest_size=12).hexdigest()


def find_heads(grid: Grid) -> Heads | None:
    """The headings as they look: the rows of words above the first of several rows that hold a date in the same column.

    None where there is no column of dates.
    """
    lines = grid.lines[: MOST_PREAMBLE + LOOK_AHEAD + 400]
    for place, line in enumerate(lines[: MOST_PREAMBLE + 1]):
        dated = [n for n, cell in enumerate(line.cells) if cell.filled and is_date(cell)]
        following = lines[place + 1 : place + 1 + LOOK_AHEAD]
        for column in dated:
            others = [f.cell(column) for f in following]
            again = sum(1 for c in others if c.filled and is_date(c))
            if (
                place > 0
                and _heads_above(lines, place)
                and (not following or again * 3 >= len([c for c in others if c.filled]))
            ):
                rows = _head_rows(grid, lines, place)
                return heads_at(grid, rows, line.number)
    return None


def _heads_above(lines: Sequence[Line], place: int) -> bool:
    """Whether the row above is one of headings, or one of a few units below such a row."""
    if _is_head(lines[place - 1]):
        return True
    few = [c for c in lines[place - 1].cells if c.filled]
    units = all(c.kind == "text" and len(c.text) <= 12 and not re.match(r"[-+0-9]", c.text) for c in few)
    return units and place > 1 and _is_head(lines[place - 2])


def _is_head(line: Line) -> bool:
    filled = [c for c in line.cells if c.filled]
    if any(c.text.endswith(":") for c in filled):
        return False  # `Keeper:` and its like stand above a table, not in it
    words = [c for c in filled if c.kind == "text" and not is_date(c) and not re.fullmatch(r"[-+0-9.,\s]+", c.text)]
    return len(filled) >= 2 and len(words) * 2 > len(filled)


def _head_rows(grid: Grid, lines: Sequence[Line], first: int) -> tuple[int, ...]:
    """Rows of words that stand directly above one another and above the first row of notes."""
    rows = [lines[first - 1].number]
    for line in reversed(lines[: first - 1]):
        if len(rows) == MOST_LEVELS or line.number != rows[0] - 1 or not _goes_over(grid, line):
            break
        rows.insert(0, line.number)
    return tuple(rows)


def _goes_over(grid: Grid, line: Line) -> bool:
    """Whether a row above the headings is a level of them: several words, or merged over some but not all of its columns."""
    if _is_head(line):
        return grid.workbook or not any(re.search(r"\d[./-]\d", c.text) for c in line.cells)  # `made up,1/2/2026` is no heading
    widths = [last - first + 1 for top, first, _, last in grid.merged if top == line.number and line.cell(first).filled]
    widest = max((len(other.cells) for other in grid.lines), default=0)
    return any(1 < width < widest for width in widths)


def heads_at(grid: Grid, rows: Sequence[int], first_row: int) -> Heads:
    """The headings in the rows named, as far as there are any."""
    width = max((len(line.cells) for line in grid.lines if line.number in rows or line.number >= first_row), default=0)
    units = len(rows) > 1 and _is_unit_row(grid.line(rows[-1]))
    lowest = rows[-2] if units else rows[-1]
    spread = [_spread(grid, number, width, lowest=number >= lowest) for number in rows]
    levels = list(zip(*spread, strict=True)) if width else []
    names: list[str] = []
    for place, texts in enumerate(levels):
        said = " / ".join(dict.fromkeys(t for t in texts if t))[:LONGEST_NAME].strip()
        names.append(_unlike(said or f"column {letters(place)}", names))
    return Heads(tuple(rows), first_row, tuple(names), tuple(levels), units)


def _is_unit_row(line: Line) -> bool:
    filled = [c.text.strip("()[] ") for c in line.cells if c.filled]
    return sum(1 for text in filled if is_unit(text)) * 2 >= max(len(filled), 1)


def _spread(grid: Grid, number: int, width: int, lowest: bool) -> list[str]:
    """The texts of a level by column: a merged cell's over all of its columns. Where a file keeps no merged cells, as text
    files do not, a word stands for the columns to its right that have none, except in the lowest level."""
    line = grid.line(number)
    texts = [_one_line(line.cell(n)) for n in range(width)]
    ranges = [(first, last) for top, first, bottom, last in grid.merged if top <= number <= bottom]
    for first, last in ranges:
        top = next(r[0] for r in grid.merged if r[0] <= number <= r[2] and (r[1], r[3]) == (first, last))
        said = _one_line(grid.line(top).cell(first))
        for place in range(first, min(last + 1, width)):
            texts[place] = said
    if not lowest and not grid.workbook:
        for place in range(1, width):
            texts[place] = texts[place] or texts[place - 1]
    return texts


def _one_line(cell: Cell) -> str:
    text = "" if cell.kind == "trouble" else cell.text
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())[:LONGEST_NAME]


def _unlike(name: str, before: Sequence[str]) -> str:
    return name if name not in before else next(f"{name} ({n})" for n in range(2, 10_000) if f"{name} ({n})" not in before)


def letters(place: int) -> str:
    """A column as spreadsheets call it: A, B … Z, AA."""
    said, number = "", place + 1
    while number:
        number, rest = divmod(number - 1, 26)
        said = chr(65 + rest) + said
    return said


def _plain(name: str) -> str:
    return " ".join(name.casefold().split())
