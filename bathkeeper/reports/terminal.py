"""A report as text for a terminal: any width from 40 cells, nothing cut off, and nothing said by colour alone.

Where a table is too wide for its numbers to stay whole, each row becomes a block of labels and values.
"""

from __future__ import annotations

import io
from typing import Literal

from rich.cells import cell_len
from rich.console import Console, Group, RenderableType
from rich.rule import Rule
from rich.table import Table as Grid
from rich.text import Text

from bathkeeper.reports.model import (
    Align,
    Caution,
    Cell,
    Chart,
    Checklist,
    Column,
    Corrected,
    Facts,
    Heading,
    Paragraph,
    Piece,
    Report,
    SignatureLine,
    Table,
)
from bathkeeper.reports.terminal_chart import chart_lines, legend_lines
from bathkeeper.reports.words import (
    BOXES,
    STATES,
    cell_text,
    column_head,
    corrected_lines,
    event_text,
    fact_value,
    moment_text,
    number_text,
    signature_text,
    split_point,
    under_head,
    unit_text,
    visible,
)

NARROWEST = 40
TEXT_LEAST = 12  # cells that a column of text keeps
JUSTIFY: dict[Align, Literal["left", "right", "center"]] = {"left": "left", "right": "right", "centre": "center"}


def terminal_text(report: Report, *, width: int = 80, colour: bool = False) -> str:
    """The report in lines of at most ``width`` cells (never less than 40). ``colour``: with a terminal's own styles."""
    to = io.StringIO()
    console = Console(
        file=to, width=max(width, NARROWEST), force_terminal=colour, color_system="standard" if colour else None,
        no_color=not colour, markup=False, emoji=False, highlight=False, legacy_windows=False, _environ={},
    )
    console.print(terminal(report, console.width))
    lines = to.getvalue().split("\n")
    return "\n".join(line.rstrip() for line in lines).rstrip("\n") + "\n"


def terminal(report: Report, width: int) -> RenderableType:
    """The report as something that rich prints, made for a console of ``width`` cells."""
    parts: list[RenderableType] = [Text(visible(report.title), "bold")]
    if report.subtitle:
        parts.append(Text(visible(report.subtitle)))
    parts += [Text(line, "dim") for line in under_head(report)]
    parts.append(Rule(style="dim"))
    for piece in report.sections:
        parts += [Text(), *_piece(piece, width)]
    if report.notes:
        parts += [Text(), Text("Notes", "bold"), *(_folded(visible(note, lines=True)) for note in report.notes)]
    return Group(*parts)


def _piece(piece: Piece, width: int) -> list[RenderableType]:
    if isinstance(piece, Heading):
        text = visible(piece.text)
        bar = ("═" if piece.level == 1 else "─") * min(cell_len(text), width)
        return [_folded(text, "bold"), Text(bar, "dim")]
    if isinstance(piece, Paragraph):
        return [_folded(visible(piece.text, lines=True))]
    if isinstance(piece, Facts):
        return [*_title(piece.title), _pairs([(visible(f.label), fact_value(f)) for f in piece.pairs], width)]
    if isinstance(piece, Table):
        return _table(piece, width)
    if isinstance(piece, Chart):
        return _chart(piece, width)
    if isinstance(piece, Checklist):
        return [*_title(piece.title), *_checks(piece)]
    if isinstance(piece, Caution):
        lines = [_folded(f"CAUTION  {visible(piece.text, lines=True)}", "bold")]
        return [*lines, *([_folded(f"Source: {visible(piece.source)}", "dim")] if piece.source else [])]
    if isinstance(piece, Corrected):
        logged, stands, told = corrected_lines(piece)
        return [_folded(told, "dim"), _pairs([("as logged", logged), ("now stands", stands)], width, struck=0)]
    return _signature(piece)


def _signature(piece: SignatureLine) -> list[RenderableType]:
    return [_folded(signature_text(piece)), Text(), _folded("signature __________________  date __________")]


def _checks(piece: Checklist) -> list[RenderableType]:
    made: list[RenderableType] = []
    for item in piece.items:
        note = f" – {visible(item.note)}" if item.note else ""
        line = Grid.grid(padding=(0, 1))
        line.add_column(no_wrap=True)
        line.add_column(overflow="fold")
        line.add_row(Text(BOXES[item.state]), Text(f"{visible(item.text)} ({STATES[item.state]}{note})"))
        made.append(line)
    return made


def _chart(chart: Chart, width: int) -> list[RenderableType]:
    unit = visible(unit_text(chart.unit))
    made: list[RenderableType] = [*_title(f"{visible(chart.title)}{f', {unit}' if unit else ''}")]
    made += [Text(line, no_wrap=True, overflow="crop") for line in chart_lines(chart, width)]
    made += [_folded(line) for line in legend_lines(chart, width)]
    made += [_folded(f"{number}  {event_text(event)}") for number, event in enumerate(chart.events, start=1)]
    for r in chart.readings:
        if r.doubtful or r.note:
            said = "set aside as doubtful" if r.doubtful else "reading"
            note = f": {visible(r.note)}" if r.note else ""
            made.append(_folded(f"{moment_text(r.when)} {said}, {number_text(r.value)} {unit}{note}"))
    return [*made, *([_folded(visible(chart.caption, lines=True), "dim")] if chart.caption else [])]


def _table(table: Table, width: int) -> list[RenderableType]:
    columns = table.columns
    heads = [visible(column_head(column)) for column in columns]
    rows = [[cell_text(cell, column) for cell, column in zip(row, columns, strict=True)] for row in table.rows]
    total = None
    if table.total is not None:
        total = [_total_text(cell, column) for cell, column in zip(table.total, columns, strict=True)]
    made = list(_title(visible(table.title)))
    if not rows:
        made.append(_folded(visible(table.empty), "dim"))
    body = rows + ([total] if total is not None else [])
    if body:
        shown = _aligned(columns, body)
        least = [_least(column, [row[i] for row in shown], heads[i]) for i, column in enumerate(columns)]
        if sum(least) + 2 * (len(columns) - 1) <= width:
            made.append(_grid(columns, heads, shown, least, total is not None))
        else:
            made += _blocks(heads, body, width, total is not None)
    return [*made, *([_folded(visible(table.caption, lines=True), "dim")] if table.caption else [])]


def _grid(columns: tuple[Column, ...], heads: list[str], rows: list[list[str]], least: list[int], total: bool) -> Grid:
    grid = Grid(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold", collapse_padding=False)
    for column, head, cells in zip(columns, heads, least, strict=True):
        placed = column.numeric and column.align is None  # its blanks stand in the text already
        side = JUSTIFY[column.align or "left"]
        grid.add_column(
            Text(head, justify="right" if placed else side), justify=side, no_wrap=column.kind != "text", min_width=cells,
            overflow="fold",
        )
    for number, row in enumerate(rows):
        last = total and number == len(rows) - 1
        if last:
            grid.add_row(*(Text("─" * cells, "dim") for cells in least))
        grid.add_row(*(Text(text) for text in row), style="bold" if last else "")
    return grid


def _blocks(heads: list[str], rows: list[list[str]], width: int, total: bool) -> list[RenderableType]:
    made: list[RenderableType] = []
    for number, row in enumerate(rows, start=1):
        said = "total" if total and number == len(rows) else f"{number}"
        made.append(Text(f"── {said} " + "─" * max(width - 5 - len(said), 0), "dim"))
        pairs = list(zip(heads, row, strict=True))
        made.append(_pairs([pair for pair in pairs if pair[1]] if said == "total" else pairs, width))
    return made


def _pairs(pairs: list[tuple[str, str]], width: int, struck: int | None = None) -> Grid:
    grid = Grid.grid(padding=(0, 2, 0, 0))
    widest = max((cell_len(label) for label, _ in pairs), default=0)
    grid.add_column(overflow="fold", min_width=min(widest, width // 3), max_width=width // 3, style="dim")
    grid.add_column(overflow="fold")
    for number, (label, value) in enumerate(pairs):
        grid.add_row(Text(label), Text(value, "strike" if number == struck else ""))
    return grid


def _aligned(columns: tuple[Column, ...], rows: list[list[str]]) -> list[list[str]]:
    """Numbers with blanks before them, so that their points stand under one another."""
    made = [list(row) for row in rows]
    for i, column in enumerate(columns):
        if column.numeric and column.align is None:
            parts = [split_point(row[i]) for row in rows]
            whole, tail = (max(cell_len(part[k]) for part in parts) for k in (0, 1))
            width = max(whole + tail, max((cell_len(word) for word in column_head(column).split()), default=0))
            for row, part in zip(made, parts, strict=True):
                row[i] = " " * (width - tail - cell_len(part[0])) + row[i]
    return made


def _least(column: Column, cells: list[str], head: str) -> int:
    widest = max((cell_len(text) for text in cells), default=0)
    word = max((cell_len(w) for w in head.split()), default=0)
    return max(widest if column.kind != "text" else min(widest, TEXT_LEAST), word)


def _total_text(cell: Cell, column: Column) -> str:
    return "" if cell is None else cell_text(cell, column)


def _title(text: str) -> list[RenderableType]:
    return [_folded(visible(text), "bold")] if text else []


def _folded(text: str, style: str = "") -> Text:
    return Text(text, style, overflow="fold")
