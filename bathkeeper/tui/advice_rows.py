"""Rows of advice: a sign, words that wrap with a hanging indent, what they rest on, and where Enter leads."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from textual.content import Content
from textual.widgets import OptionList
from textual.widgets.option_list import Option

from bathkeeper.findings import Because
from bathkeeper.tui.plain import clean, join

MUTED, WARN, BAD, GOOD = "$foreground-muted", "$text-warning", "$text-error bold", "$text-success"
INDENT = 3


@dataclass(frozen=True)
class Row:
    """One row. ``more``: (text, style) below it, further in; ``why``: (what, because) that w or Enter shows; ``leads``: what
    Enter does in place of that; ``heading``: it cannot be chosen."""

    text: str
    style: str = ""
    sign: str = ""
    more: tuple[tuple[str, str], ...] = ()
    why: tuple[str, Because] | None = None
    leads: tuple[str, str] | None = None
    heading: bool = False


def heading(text: str) -> Row:
    """A row that names those below it."""
    return Row(text, "bold underline", heading=True)


def wrapped(text: str, width: int, first: str, rest: str) -> str:
    """Cleaned text in lines of at most ``width`` signs, with a first and a hanging indent."""
    lines = textwrap.wrap(clean(text), max(width, 20), initial_indent=first, subsequent_indent=rest)
    return "\n".join(lines) or first


def content_of(row: Row, width: int) -> Content:
    """A row as it is drawn."""
    if row.heading:
        return join([(clean(row.text), row.style)])
    indent = " " * INDENT
    parts: list[tuple[object, str]] = [(wrapped(row.text, width, f"{row.sign:<2} ", indent), row.style)]
    parts += [("\n" + wrapped(text, width, indent, indent), style) for text, style in row.more if text]
    return join(parts)


def options_of_rows(rows: Iterable[Row], width: int) -> list[Option]:
    """Rows as the lines of a list."""
    return [Option(content_of(row, width), disabled=row.heading) for row in rows]


def row_at(where: OptionList, rows: Sequence[Row]) -> Row | None:
    """The row under the cursor."""
    place = where.highlighted
    return rows[place] if place is not None and place < len(rows) else None
