"""Tables as plain lines: widths by content, text wraps where it must, numbers never do. Works on any terminal and in a pipe."""

from __future__ import annotations

import shutil
from collections.abc import Sequence
from dataclasses import dataclass

import click

from bathkeeper.cli.plain import clean, width, wrapped

GAP = 2
NARROWEST, LONGEST_WORD = 8, 16  # cells that a wrapping column keeps for its longest word, however narrow the terminal

STYLES: dict[str, dict[str, object]] = {
    "": {}, "head": {"bold": True}, "bad": {"fg": "red", "bold": True}, "warn": {"fg": "yellow"}, "good": {"fg": "green"},
    "faint": {"dim": True},
}


@dataclass(frozen=True)
class Column:
    """``right``: numbers stand at the right edge. ``wraps``: may be narrowed and broken into lines; numbers may not."""

    head: str
    right: bool = False
    wraps: bool = False


@dataclass(frozen=True)
class Cell:
    """A text and what it means, which a terminal may show as a colour; the word must say it too."""

    text: str
    style: str = ""


def table(columns: Sequence[Column], rows: Sequence[Sequence[Cell | str]], cells: int | None = None) -> list[str]:
    """The lines of a table, head first, styled for a terminal (``click.echo`` takes the style off elsewhere)."""
    body = [[c if isinstance(c, Cell) else Cell(c) for c in row] for row in rows]
    body = [[Cell(clean(c.text), c.style) for c in row] for row in body]
    widths = _widths(columns, body, cells or screen_cells())
    heads = [Cell(c.head, "head") for c in columns] if any(c.head for c in columns) else []
    return [line for row in ([heads] if heads else []) + body for line in _row(columns, row, widths)]


def styled(text: str, style: str) -> str:
    """Clean text in a style of :data:`STYLES`."""
    return click.style(text, **STYLES[style]) if STYLES[style] and text else text  # type: ignore[arg-type]


def screen_cells() -> int:
    """How wide the terminal is, in cells; 80 where there is none."""
    return max(40, shutil.get_terminal_size((80, 24)).columns)


def _widths(columns: Sequence[Column], rows: Sequence[Sequence[Cell]], cells: int) -> list[int]:
    natural = [
        max([width(column.head), *(width(line) for row in rows for line in row[i].text.split("\n"))])
        for i, column in enumerate(columns)
    ]
    words = [[word for row in rows for word in row[i].text.split()] for i in range(len(columns))]
    least = [max([NARROWEST, *(min(width(word), LONGEST_WORD) for word in column)]) for column in words]
    over = sum(natural) + GAP * (len(columns) - 1) - cells
    while over > 0:
        candidates = [i for i, column in enumerate(columns) if column.wraps and natural[i] > least[i]]
        if not candidates:
            break
        widest = max(candidates, key=lambda i: natural[i])
        next_widest = max([natural[i] for i in candidates if natural[i] < natural[widest]], default=0)
        less = max(1, min(over, natural[widest] - max(next_widest, least[widest])))
        natural[widest] -= less
        over -= less
    return natural


def _row(columns: Sequence[Column], row: Sequence[Cell], widths: Sequence[int]) -> list[str]:
    parts = [
        wrapped(cell.text, w) if column.wraps else cell.text.split("\n")
        for column, cell, w in zip(columns, row, widths, strict=True)
    ]
    lines = []
    for number in range(max(len(p) for p in parts)):
        line, waiting = "", 0
        for column, cell, part, w in zip(columns, row, parts, widths, strict=True):
            text = part[number] if number < len(part) else ""
            pad = w - width(text)
            before, after = (pad, 0) if column.right else (0, pad)
            if text:
                line += " " * (waiting + before) + styled(text, cell.style)
                waiting = after + GAP
            else:
                waiting += w + GAP
        lines.append(line)
    return lines
