"""Tables on paper: columns as wide as they need, heads on every page, cells that wrap, rows that no page end can swallow.

A table that does not fit upright is set smaller, then turned, then smaller again, and at last its columns are shared among
parts one below the other, each with the first column; a number is never broken while one column has room beside the first.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal

from bathkeeper.reports.model import Column, Table
from bathkeeper.reports.pdf_page import FINE, GREY, PALE, SMALL, Sheets, Turn, runs_left
from bathkeeper.reports.words import cell_text, column_head, split_point, visible

GAP = 4.0  # mm between columns
PAD = 1.0  # mm above and below the lines of a row
TEXT = 30.0  # mm that a column of text keeps when it has so much to say
WORD = 26.0  # mm that a text column keeps for its longest word, however narrow the page
SIZES: tuple[tuple[Turn, float], ...] = (
    ("portrait", 9.0), ("portrait", 8.0), ("landscape", 9.0), ("landscape", 8.0), ("landscape", 7.0),
)

Row = list[str]


@dataclass
class _Plan:
    """How a table is set: the way of the page, the size of its letters in points, the widths of its columns in mm, and for
    columns of numbers the width that stands behind the decimal point."""

    turn: Turn
    size: float
    widths: list[float]
    behind: list[float]


def draw_table(sheets: Sheets, table: Table, lead: Callable[[], None], lead_height: float = 0.0) -> None:
    """The whole table; afterwards the page may be turned. ``lead`` writes what must stand right above it, on the same page,
    and takes ``lead_height`` mm."""
    ink = sheets.ink
    columns = table.columns
    heads = [ink.ready(visible(column_head(column))) for column in columns]
    rows = [[ink.ready(cell_text(cell, column)) for cell, column in zip(row, columns, strict=True)] for row in table.rows]
    total = None
    if table.total is not None:
        total = [ink.ready("" if c is None else cell_text(c, col)) for c, col in zip(table.total, columns, strict=True)]
    sheet = _Sheet(table.title, columns, heads, rows, total)
    plan = _plan(sheets, sheet)
    if plan is not None:
        _draw(sheets, sheet, plan, table.empty, lead, lead_height)
    else:
        parts = _parts(sheets, sheet)
        for number, part in enumerate(parts, start=1):
            sheets.gap(4 if number > 1 else 0)
            title = f"{table.title} (part {number} of {len(parts)})" if table.title else f"Part {number} of {len(parts)}"
            taken = _taken(sheet, part, title)
            _draw(sheets, taken, _plan(sheets, taken), table.empty, lead if number == 1 else None, lead_height)
    if table.caption:
        sheets.y += 1.5
        sheets.write(table.caption, FINE, grey=GREY)


@dataclass(frozen=True)
class _Sheet:
    """A table as texts that are ready to be drawn."""

    title: str
    columns: Sequence[Column]
    heads: Row
    rows: list[Row]
    total: Row | None


def _taken(sheet: _Sheet, part: list[int], title: str) -> _Sheet:
    """Some columns of a table."""
    total = None if sheet.total is None else [sheet.total[i] for i in part]
    rows = [[row[i] for i in part] for row in sheet.rows]
    return _Sheet(title, [sheet.columns[i] for i in part], [sheet.heads[i] for i in part], rows, total)


def _draw(
    sheets: Sheets, sheet: _Sheet, plan: _Plan | None, empty: str, lead: Callable[[], None] | None, lead_height: float
) -> None:
    setter = _Setter(sheets, sheet, plan or _squeezed(sheets, sheet))
    setter.begin(lead, lead_height if lead else 0.0)
    for row in sheet.rows:
        setter.row(row)
    if not sheet.rows:
        sheets.y += 1
        sheets.write(empty, SMALL, grey=GREY)
        sheets.y += 1
    if sheet.total is not None:
        setter.row(sheet.total, bold=True)
    setter.end()


def _plan(sheets: Sheets, sheet: _Sheet) -> _Plan | None:
    """The first of :data:`SIZES` that leaves numbers and heads whole."""
    for turn, size in SIZES:
        room = sheets.width_when(turn) - GAP * (len(sheet.columns) - 1)
        natural, least, behind = _measured(sheets, sheet, size)
        if sum(least) <= room:
            return _Plan(turn, size, _spread(natural, least, room), behind)
    return None


def _squeezed(sheets: Sheets, sheet: _Sheet) -> _Plan:
    """What is left when one column beside the first is too much: everything narrower, and broken where it must be."""
    turn, size = SIZES[-1]
    room = sheets.width_when(turn) - GAP * (len(sheet.columns) - 1)
    _, least, _ = _measured(sheets, sheet, size)
    return _Plan(turn, size, [width * room / sum(least) for width in least], [0.0] * len(least))


def _parts(sheets: Sheets, sheet: _Sheet) -> list[list[int]]:
    """The columns in parts that each fit a turned page, the first column in every one so that rows keep their name."""
    turn, size = SIZES[-2]
    room = sheets.width_when(turn)
    _, least, _ = _measured(sheets, sheet, size)
    parts: list[list[int]] = [[0]]
    used = least[0]
    for i in range(1, len(least)):
        if used + GAP + least[i] > room and len(parts[-1]) > 1:
            parts.append([0])
            used = least[0]
        parts[-1].append(i)
        used += GAP + least[i]
    return parts


def _measured(sheets: Sheets, sheet: _Sheet, size: float) -> tuple[list[float], list[float], list[float]]:
    """(width without wrapping, least width, width behind the point) of each column."""
    ink = sheets.ink
    columns, heads, rows, total = sheet.columns, sheet.heads, sheet.rows, sheet.total
    natural, least, behind = [], [], []
    for i, column in enumerate(columns):
        cells = [(row[i], False) for row in rows] + ([(total[i], True)] if total else [])
        head_word = max((ink.width(word, size, True) for word in heads[i].split()), default=0.0)
        tail = 0.0
        if column.numeric:
            parts = [(*split_point(text), bold) for text, bold in cells]
            tail = max((ink.width(rest, size, bold) for _, rest, bold in parts), default=0.0)
            whole = max((ink.width(text, size, bold) for text, _, bold in parts), default=0.0)
            wide = narrow = whole + tail
        else:
            wide = max((ink.width(text, size, bold) for text, bold in cells), default=0.0)
            if column.kind == "text":
                longest = max((ink.width(word, size, bold) for text, bold in cells for word in text.split()), default=0.0)
                narrow = max(min(longest, WORD), min(wide, TEXT))
            else:
                narrow = wide
        natural.append(max(wide, min(ink.width(heads[i], size, True), max(2 * head_word, wide))) + 0.2)
        least.append(max(narrow, min(head_word, WORD), 4.0) + 0.2)
        behind.append(tail)
    return natural, least, behind


def _spread(natural: list[float], least: list[float], room: float) -> list[float]:
    """Widths that fill the room: what is too wide gives way, the widest first; what is left over is shared."""
    widths = [max(n, m) for n, m in zip(natural, least, strict=True)]
    over = sum(widths) - room
    while over > 1e-6:
        able = [i for i in range(len(widths)) if widths[i] > least[i] + 1e-9]
        top = max(widths[i] for i in able)
        widest = [i for i in able if widths[i] > top - 1e-6]
        floor = max([widths[i] for i in able if i not in widest] + [least[i] for i in widest])
        step = min(over / len(widest), top - floor)
        for i in widest:
            widths[i] -= step
        over -= step * len(widest)
    if over < 0:
        share = -over / len(widths)
        widths = [width + share for width in widths]
    return widths


class _Setter:
    """Sets rows one after another, with the heads again on each new page."""

    def __init__(self, sheets: Sheets, table: _Sheet, plan: _Plan) -> None:
        self.sheets, self.table, self.plan = sheets, table, plan
        self.height = sheets.ink.height(plan.size)
        self.heads = [
            sheets.ink.wrapped(head, width, plan.size, bold=True) for head, width in zip(table.heads, plan.widths, strict=True)
        ]
        self.head_height = max(len(lines) for lines in self.heads) * self.height + 2 * PAD

    def begin(self, lead: Callable[[], None] | None, lead_height: float) -> None:
        """Title and heads, on a page with room for some rows."""
        sheets = self.sheets
        sheets.turned(self.plan.turn)
        sheets.need(lead_height + self.head_height + 4 * self.height + 10)
        if lead is not None:
            lead()
        if self.table.title:
            sheets.write(self.table.title, 10, bold=True)
            sheets.y += 1
        self._head()

    def row(self, row: Row, bold: bool = False) -> None:
        """One row, whole on a page if any page can hold it, else on as many as it takes."""
        size = self.plan.size
        cells = [self.sheets.ink.wrapped(text, w, size, bold) for text, w in zip(row, self.plan.widths, strict=True)]
        count = max(len(lines) for lines in cells)
        whole = count * self.height + 2 * PAD
        page = self.sheets.bottom - 24 - self.head_height
        if whole > self.sheets.room and whole <= page:
            self._next_page()
        if bold:
            self._rule(0.3, 0)
        done = 0
        while done < count:
            if self.sheets.room < self.height + 2 * PAD:
                self._next_page()
            fits = max(1, int((self.sheets.room - 2 * PAD + 1e-6) / self.height))
            self._lines([lines[done : done + fits] for lines in cells], bold)
            done += fits
        self._rule(0.1, PALE)

    def end(self) -> None:
        """The closing rule."""
        self._rule(0.3, 0)

    def _lines(self, cells: list[list[str]], bold: bool) -> None:
        sheets, plan = self.sheets, self.plan
        top = sheets.y + PAD
        x = sheets.left
        for column, lines, width, behind in zip(self.table.columns, cells, plan.widths, plan.behind, strict=True):
            for number, text in enumerate(lines):
                self._cell(column, text, x, top + number * self.height, width, behind, bold, alone=len(lines) == 1)
            x += width + GAP
        sheets.y = top + max(len(lines) for lines in cells) * self.height + PAD

    def _cell(
        self, column: Column, text: str, x: float, y: float, width: float, behind: float, bold: bool, *, alone: bool
    ) -> None:
        ink, size = self.sheets.ink, self.plan.size
        if column.numeric and column.align is None and alone and text[-1:].isalnum() | text.endswith((")", "%")):
            whole, rest = split_point(text)
            start = x + width - behind - ink.width(whole, size, bold)
            if start >= x - 0.1 and ink.width(rest, size, bold) <= behind + 0.1:
                ink.draw(start, y, text, size, bold=bold)
                return
        ink.draw(x, y, text, size, width=width, bold=bold, align=_align(column, text))

    def _head(self) -> None:
        sheets, size = self.sheets, self.plan.size
        x = sheets.left
        most = max(len(lines) for lines in self.heads)
        for column, lines, width in zip(self.table.columns, self.heads, self.plan.widths, strict=True):
            top = sheets.y + PAD + (most - len(lines)) * self.height
            for number, text in enumerate(lines):
                line_top = top + number * self.height
                sheets.ink.draw(x, line_top, text, size, width=width, bold=True, align=_align(column, text))
            x += width + GAP
        sheets.y += self.head_height
        self._rule(0.3, 0)

    def _next_page(self) -> None:
        self.sheets.page()
        if self.table.title:
            title = self.sheets.ink.ready(visible(self.table.title))
            room = self.sheets.width - 25
            said = f"{self.sheets.ink.fitted(title, room, SMALL)} (continued)"
            self.sheets.ink.draw(self.sheets.left, self.sheets.y, said, SMALL, grey=GREY)
            self.sheets.y += self.sheets.ink.height(SMALL)
        self._head()

    def _rule(self, width: float, grey: int) -> None:
        right = self.sheets.left + sum(self.plan.widths) + GAP * (len(self.plan.widths) - 1)
        self.sheets.line(self.sheets.left, self.sheets.y, right, self.sheets.y, width=width, grey=grey)


def _align(column: Column, text: str) -> Literal["L", "R", "C"]:
    if column.align is not None:
        named: dict[str, Literal["L", "R", "C"]] = {"left": "L", "right": "R", "centre": "C"}
        return named[column.align]
    if column.numeric:
        return "R"
    return "R" if runs_left(text) else "L"
