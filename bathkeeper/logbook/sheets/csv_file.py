"""Delimited text as a grid: encodings, delimiters, quotes, and rows that cannot be trusted.

A row is never mended by guessing: where a quotation mark is left open, a delimiter stands in a cell without quotes or the file
ends in the middle of a row, the row says so and is not read.
"""

from __future__ import annotations

import codecs
import csv
import re
from collections import Counter
from collections.abc import Sequence

from bathkeeper.logbook.errors import BookError
from bathkeeper.logbook.sheets.grid import LONGEST_CELL, MOST_COLUMNS, MOST_ROWS, Cell, Grid, Line, grid_of

DELIMITERS = ("\t", ";", "|", ",")
_MARKS = (
    (codecs.BOM_UTF8, "utf-8-sig"), (codecs.BOM_UTF16_LE, "utf-16"), (codecs.BOM_UTF16_BE, "utf-16"),
)  # fmt: skip
_GBK_DEGREE = b"\xa1\xe6"  # the sign for degrees Celsius in GBK; in the Latin encodings two letters that never meet
_DOUBLED = 'write "" for one inside a text'
_QUOTED = re.compile(r'"(?:[^"]|"")*"')


def csv_grid(data: bytes, name: str, encoding: str | None = None, delimiter: str | None = None) -> Grid:
    """The grid of a file's bytes. ``encoding`` and ``delimiter`` are found out where they are not given.

    Raises:
        BookError: it is no text in that encoding, or far too long.
    """
    text, told, notes = _decoded(data, name, encoding)
    text, stated = _stated_delimiter(text.replace("\r\n", "\n").replace("\r", "\n").replace("\f", "\n"))
    delimiter = delimiter or stated or _delimiter(text)
    lines = _lines(text, delimiter, 2 if stated else 1)
    if len(lines) > MOST_ROWS:
        raise BookError("Too many rows", f"{name} has {len(lines)} rows; {MOST_ROWS} can be taken at once. Split the file.")
    lines = _not_trusted(lines, text)
    return grid_of(lines, name=name, notes=tuple(notes), encoding=told, delimiter=delimiter)


def _decoded(data: bytes, name: str, encoding: str | None) -> tuple[str, str, list[str]]:
    notes: list[str] = []
    if encoding is not None:
        try:
            text, told = data.decode(encoding), encoding
        except LookupError:
            raise BookError("No such encoding", f"`{encoding}` is not known here; utf-8 and cp1252 are common.") from None
        except UnicodeDecodeError as problem:
            raise BookError("Not in that encoding", f"{name} is not {encoding}: byte {problem.start} does not fit.") from None
    else:
        text, told = _tried(data)
        if told not in ("utf-8", "utf-8-sig"):
            notes.append(f"read as {told}; say another encoding if letters look wrong")
    if "\0" in text:
        notes.append(f"{text.count(chr(0))} NUL characters left out")
        text = text.replace("\0", "")
    return text.removeprefix("\ufeff"), told, notes


def _tried(data: bytes) -> tuple[str, str]:
    for mark, encoding in _MARKS:
        if data.startswith(mark):
            return data.decode(encoding, "replace"), encoding
    half = data[:2000]
    if half and half.count(b"\0") > len(half) // 3:  # UTF-16 without its mark: every other byte of plain letters is zero
        encoding = "utf-16-le" if half[1::2].count(0) >= half[::2].count(0) else "utf-16-be"
        return data.decode(encoding, "replace"), encoding
    guesses = ["utf-8", *(["gb18030"] if _GBK_DEGREE in data else []), "cp1252"]
    for encoding in guesses:
        try:
            return data.decode(encoding), encoding
        except UnicodeDecodeError:
            continue
    return data.decode("latin-1"), "latin-1"


def _stated_delimiter(text: str) -> tuple[str, str | None]:
    """A first line such as ``sep=;``, which some programs write and read."""
    first, _, rest = text.partition("\n")
    match = re.fullmatch(r'"?sep=(.)"?', first.strip("\ufeff "), re.IGNORECASE)
    return (rest, match[1]) if match else (text, None)


def _delimiter(text: str) -> str:
    """The sign that parts most lines into equally many cells; a comma last, since it may be a decimal mark."""
    sample = [line for line in text.split("\n")[:200] if line.strip()]
    best, most = ",", 0.0
    for sign in DELIMITERS:
        counts = Counter(_QUOTED.sub("", line).count(sign) for line in sample)
        usual, lines = max(((n, c) for n, c in counts.items() if n), key=lambda pair: (pair[1], pair[0]), default=(0, 0))
        share = lines / len(sample) if usual else 0.0
        if share > most + 0.15:
            best, most = sign, share
    return best


def _lines(text: str, delimiter: str, first: int) -> list[Line]:
    """Rows of cells. Row numbers count rows, as a spreadsheet does that opens the file; lines in one cell are one row."""
    physical = text.split("\n")
    if physical and not physical[-1]:
        physical.pop()
    try:
        rows = list(csv.reader([f"{line}\n" for line in physical], delimiter=delimiter, strict=True))
    except csv.Error:
        return [_alone(line, delimiter, number) for number, line in enumerate(physical, start=first)]
    return [_line(row, number) for number, row in enumerate(rows, start=first)]


def _alone(line: str, delimiter: str, number: int) -> Line:
    """A row of a file whose quotation marks do not match somewhere: each line for itself."""
    if line.count('"') % 2:
        return Line(number, _cells(line.split(delimiter)), f"a quotation mark in this row is never closed; {_DOUBLED}")
    try:
        rows = list(csv.reader([line], delimiter=delimiter, strict=True))
    except csv.Error:
        return Line(number, _cells(line.split(delimiter)), f"its quotation marks do not stand at the ends of cells; {_DOUBLED}")
    return _line(rows[0] if rows else [], number)


def _line(row: Sequence[str], number: int) -> Line:
    if len(row) > MOST_COLUMNS and any(c.strip() for c in row[MOST_COLUMNS:]):
        return Line(number, _cells(row[:MOST_COLUMNS]), f"it has {len(row)} cells; {MOST_COLUMNS} can be read")
    long = next((n for n, c in enumerate(row) if len(c) > LONGEST_CELL), None)
    trouble = "" if long is None else f"cell {long + 1} has {len(row[long])} signs; {LONGEST_CELL} can be read"
    return Line(number, _cells(row), trouble)


def _cells(row: Sequence[str]) -> tuple[Cell, ...]:
    return tuple(Cell(c[:LONGEST_CELL].strip()) for c in row[:MOST_COLUMNS])


def _not_trusted(lines: list[Line], text: str) -> list[Line]:
    """Marks a last row that the file breaks off in."""
    if len(lines) < 3 or text.endswith("\n"):
        return lines
    usual = Counter(len(line.cells) for line in lines).most_common(1)[0][0]
    last = lines[-1]
    if usual > 1 and len(last.cells) < usual and last.filled and not last.trouble:
        lines[-1] = Line(last.number, last.cells, "the file ends in the middle of this row; its last cell may be cut short")
    return lines
