"""Spreadsheets as files: what a person kept before the book, as a grid of cells. Nothing here knows what a cell means."""

from __future__ import annotations

from pathlib import Path

from bathkeeper.logbook.errors import BookError
from bathkeeper.logbook.sheets.csv_file import csv_grid
from bathkeeper.logbook.sheets.grid import EMPTY, Cell, Grid, Line

__all__ = ["EMPTY", "ENDINGS", "Cell", "Grid", "Line", "read_grid", "read_text"]

ENDINGS = (".csv", ".tsv", ".txt", ".xlsx", ".xlsm")
MOST_BYTES = 100_000_000


def read_grid(path: Path, sheet: str | None = None, encoding: str | None = None, delimiter: str | None = None) -> Grid:
    """A CSV file or a sheet of a workbook as a grid. The bytes tell which it is, not the file's name.

    Raises:
        BookError: the file cannot be read, or is neither.
    """
    place = Path(path).expanduser()
    data = _bytes(place)
    if data.startswith((b"PK\x03\x04", b"\xd0\xcf\x11\xe0")):
        from bathkeeper.logbook.sheets.xlsx_file import xlsx_grid

        return xlsx_grid(data, place.name, sheet)
    if place.suffix.casefold() in (".xlsx", ".xlsm", ".xls"):
        raise BookError("Not a workbook", f"{place} does not begin as a workbook does; it may be cut short. Save it anew.")
    if sheet is not None:
        raise BookError("No sheets in it", f"{place} is text and holds one table; leave --sheet out.")
    return csv_grid(data, place.name, encoding, delimiter)


def read_text(path: Path) -> str:
    """A short text file, such as a mapping. Raises BookError."""
    place = Path(path).expanduser()
    data = _bytes(place)
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise BookError("Not text", f"{place} is not text in UTF-8.") from None


def _bytes(place: Path) -> bytes:
    try:
        if place.stat().st_size > MOST_BYTES:
            raise BookError("The file is too large", f"{place} has more than {MOST_BYTES // 1_000_000} MB; split it.")
        return place.read_bytes()
    except FileNotFoundError:
        raise BookError("No such file", f"There is no file {place} to import.") from None
    except (IsADirectoryError, PermissionError) as problem:
        if place.is_dir():
            raise BookError("Not a file", f"{place} is a folder. Name a file in it.") from None
        raise BookError("The file cannot be read", f"{place}: {problem.strerror}.") from None
    except (OSError, ValueError) as problem:
        raise BookError("The file cannot be read", f"{place}: {getattr(problem, 'strerror', None) or problem}.") from None
