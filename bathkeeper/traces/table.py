"""The table in a file's head: which delimiter, where its rows begin, what stands over its columns, what stands before it."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from bathkeeper.refusals import shorten
from bathkeeper.traces.asking import TraceError
from bathkeeper.traces.cells import DELIMITERS, Delimiter, is_missing, labelled, number_of, split
from bathkeeper.traces.clocks import NoSuchDay, in_two_parts, read_clock
from bathkeeper.traces.words import meaning_of, unit_named

BODY = 400
"""Lines of the head by which the delimiter is found."""
ROWS = 600
"""Rows of the head by which columns, units, clocks and the decimal mark are found."""
LEVELS = 3
CellKind = Literal["number", "clock", "missing", "text"]


@dataclass(frozen=True)
class Table:
    """A table as found. ``width``: cells of most rows; ``least``: cells that no whole row has fewer of. ``first``: index of the
    first row of data among the lines; ``names`` and ``units``: of each column, empty where there are none; ``header``: lines
    that name columns, which may come again. ``titled``: whether the header names as many columns as there are."""

    delimiter: Delimiter
    width: int
    least: int
    first: int
    names: tuple[str, ...]
    units: tuple[str, ...]
    header: tuple[str, ...]
    titled: bool
    preamble: tuple[tuple[str, str], ...]
    kinds: tuple[CellKind, ...]
    rows: tuple[tuple[str, ...], ...]


@lru_cache(maxsize=20_000)
def kind_of(text: str) -> CellKind:
    """What sort of thing a cell is."""
    if is_missing(text):
        return "missing"
    if number_of(text, ".") is not None or number_of(text, ",") is not None:
        return "number"
    try:
        if in_two_parts(text) or read_clock(text) is not None:
            return "clock"
    except NoSuchDay:
        return "clock"
    return "text"


def find_table(lines: Sequence[str]) -> Table:
    """The table in the lines of a head.

    Raises:
        TraceError: there is none: no run of lines with two or more columns of numbers or times.
    """
    sample = [(n, line) for n, line in enumerate(lines) if line.strip()]
    body = [line for _, line in (sample[40 : 40 + BODY] if len(sample) > 60 else sample[-max(2, len(sample) * 4 // 5) :])]
    best, best_score = None, 0.0
    for delimiter in DELIMITERS:
        score = _score(body, delimiter)
        if score > best_score * 1.02:
            best, best_score = delimiter, score
    if best is None or best_score < 0.2:
        raise TraceError(
            "no table of times and values was found in this file; a log has a row for every sample, such as "
            "2026-05-01 14:30:05;6.48;3.1"
        )
    return _described(lines, best, body)


def _score(body: Sequence[str], delimiter: Delimiter) -> float:
    """How well the lines fall into columns of numbers and times."""
    rows = [split(line, delimiter) for line in body]
    counts = Counter(len(r) for r in rows if len(r) > 1)
    if not counts:
        return 0.0
    width, often = counts.most_common(1)[0]
    share = often / len(rows)
    kinds = Counter(kind_of(c) for r in rows if len(r) == width for c in r)
    told = kinds["number"] + kinds["clock"] + 0.5 * kinds["missing"]
    # a clock cut in two by a space is still columns of numbers; the split that leaves clocks whole is the better one
    return share * (told + 0.2 * kinds["clock"]) / max(sum(kinds.values()), 1)


def _described(lines: Sequence[str], delimiter: Delimiter, body: Sequence[str]) -> Table:
    rows = [split(line, delimiter) for line in body]
    width = Counter(len(r) for r in rows if len(r) > 1).most_common(1)[0][0]
    whole = [r for r in rows if len(r) == width]
    kinds = tuple(_column_kind([r[j] for r in whole]) for j in range(width))
    filled = [j for j in range(width) if sum(bool(r[j]) for r in whole) >= 0.95 * len(whole)]
    least = max(filled, default=width - 1) + 1
    first = next((n for n, line in enumerate(lines) if _is_data(split(line, delimiter), kinds, least, width)), None)
    if first is None:
        raise TraceError("no row of this file has as many values as the others; it cannot be read as a table")
    if delimiter == "label":
        names = tuple(name for name, _ in labelled(lines[first]))
        names = (*names, *("",) * (width - len(names)))[:width]
        found: Header = names, ("",) * width, (), True, first
    else:
        found = _header(lines, first, delimiter, width)
    names, units, header, titled, _top = found
    data: list[tuple[str, ...]] = []
    for line in lines[first:]:
        row = split(line, delimiter)
        if _is_data(row, kinds, least, width):
            data.append(tuple(row))
            if len(data) == ROWS:
                break
    return Table(
        delimiter=delimiter,
        width=width,
        least=least,
        first=first,
        names=names,
        units=units,
        header=header,
        titled=titled,
        preamble=_preamble([line for line in lines[:first] if line.strip() not in header]),
        kinds=kinds,
        rows=tuple(data),
    )


def _column_kind(cells: Sequence[str]) -> CellKind:
    kinds = Counter(kind_of(c) for c in cells)
    there = len(cells) - kinds["missing"]
    if there == 0:
        return "missing"
    for kind in ("clock", "number"):
        if kinds[kind] >= 0.7 * there:
            return kind
    return "text"


def overlong(row: Sequence[str], width: int) -> bool:
    """Whether a row has more values than there are columns. Words behind the last one are a note; a number there may be the
    decimals of the one before it."""
    return any(kind_of(c) in ("number", "clock") for c in row[width:] if c)


def _is_data(row: Sequence[str], kinds: Sequence[CellKind], least: int, width: int) -> bool:
    if len(row) < least or overlong(row, width):
        return False
    right = wrong = 0
    for cell, kind in zip(row, kinds, strict=False):
        if kind in ("number", "clock"):
            told = kind_of(cell)
            right += told == kind or (told == "number" and kind == "clock")
            wrong += told == "text"
    return right >= 1 and right + 1 >= wrong and (right > wrong)


Header = tuple[tuple[str, ...], tuple[str, ...], tuple[str, ...], bool, int]


def _header(lines: Sequence[str], first: int, delimiter: Delimiter, width: int) -> Header:
    """(names, units, header lines, whether they fit the columns, index of the topmost header line)."""
    units: list[str] = []
    levels: list[list[str]] = []
    used: list[str] = []
    top, n = first, first - 1
    while n >= 0 and len(levels) < LEVELS and first - n < 8:
        line = lines[n]
        n -= 1
        if not line.strip() or not line.strip("-=+|# \t"):
            continue
        cells = _head_cells(line, delimiter)
        if line.count('"') % 2 and n >= 0 and lines[n].count('"') % 2:
            cells = _head_cells(f"{lines[n]} {line}", delimiter)  # a quoted name that was written over two lines
            n -= 1
        while len(cells) > width and not cells[-1]:
            cells.pop()
        told = [c for c in cells if c]
        if len(told) == 1 and not levels and kind_of(told[0]) == "clock":
            continue  # a day on a line of its own, before its rows
        if len(told) < 2 or any(kind_of(c) in ("clock",) for c in told) or abs(len(cells) - width) > max(2, width // 2):
            break
        if sum(kind_of(c) == "number" for c in told) > len(told) // 2:
            break
        under_heads = n >= 0 and len([c for c in _head_cells(lines[n], delimiter) if c]) >= 2
        all_units = all(unit_named(c) is not None or c in ("-", "%", "Ohm") for c in told)
        if not levels and not units and under_heads and all_units:
            units = cells
            used.append(line.strip())
            top = n + 1
            continue
        if levels:
            grouped = len(cells) == width and (len(told) < len(cells) or any(meaning_of(c).quantity for c in told))
            if width == 2 or not grouped or any(kind_of(c) == "number" for c in told):
                break
            cells = _filled(cells)
        levels.append(cells)
        used.append(line.strip())
        top = n + 1
        if not grouped_above(levels[-1], lines, n, delimiter, width):
            break
    titled = bool(levels) and _fits(levels[0], width)
    names = tuple(
        " ".join(dict.fromkeys(level[j] for level in reversed(levels) if j < len(level) and level[j])) for j in range(width)
    )
    below = tuple(units[j] if j < len(units) else "" for j in range(width))
    return names, below, tuple(used), titled, top


def grouped_above(level: Sequence[str], lines: Sequence[str], n: int, delimiter: Delimiter, width: int) -> bool:
    """Whether the line above could be a further level of the header: as many cells, and not a note before the table."""
    above = next((line for line in reversed(lines[max(n - 1, 0) : n + 1]) if line.strip()), "")
    return len(_head_cells(above, delimiter)) == width


def _head_cells(line: str, delimiter: Delimiter) -> list[str]:
    return split(line.strip().lstrip("#%").strip() if line.lstrip()[:1] in "#%" else line, delimiter)


def _filled(cells: Sequence[str]) -> list[str]:
    """A level whose names stand over several columns: each goes on until the next."""
    last, made = "", []
    for cell in cells:
        last = cell or last
        made.append(last)
    return made


def _fits(cells: Sequence[str], width: int) -> bool:
    """Whether a header names as many columns as the rows have; names of notes may be left over at its end."""
    if len(cells) < width:
        return False
    return all(meaning_of(c).quantity in ("", "state", "other") for c in cells[width:])


def _preamble(lines: Sequence[str]) -> tuple[tuple[str, str], ...]:
    """(label, value) of the lines before the table; the label is empty where a line has none."""
    found = []
    for line in lines[-200:]:
        plain = line.strip().strip("#%\"'").strip().rstrip(",;\t ")
        if not plain:
            continue
        match = re.match(r"([^\d:=,;\t][^:=,;\t]{0,60}?)\s*[:=,;\t]+\s*(.+)", plain)
        found.append((match[1].strip('" '), match[2].strip('" ')) if match is not None else ("", plain))
    return tuple(found)


def column_title(table: Table, index: int) -> str:
    """``3 `Current (A)```, or the number alone where the column has no name."""
    name = table.names[index] if index < len(table.names) else ""
    below = table.units[index] if index < len(table.units) else ""
    shown = shorten(f"{name} {below}".strip())
    return f"{index + 1} `{shown}`" if shown else str(index + 1)


def asked_column(table: Table, text: str, quantity: str) -> int | None:
    """The column that an answer names, by number or header; None for ``none``. Raises TraceError."""
    plain = text.strip()
    if plain.casefold() in ("none", "no", "-"):
        return None
    if plain.isdigit():
        if not 1 <= int(plain) <= table.width:
            raise TraceError(f"--columns {quantity}={plain}: the table has {table.width} columns, counted from 1")
        return int(plain) - 1
    same = [j for j, n in enumerate(table.names) if n.casefold() == plain.casefold()]
    if len(same) != 1:
        there = ", ".join(column_title(table, j) for j in range(table.width))
        count = "no column is" if not same else f"{len(same)} columns are"
        raise TraceError(f"--columns {quantity}={shorten(plain)}: {count} called that; there are {there}; a number will do")
    return same[0]
