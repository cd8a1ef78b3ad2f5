"""The sample book: where it lies, and a copy of it dated so that it ends today."""

from __future__ import annotations

import sys
from collections.abc import Iterable
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from bathkeeper.entries import AnyEntry, EntryError, Unknown, recognise
from bathkeeper.logbook import Book, BookError
from bathkeeper.logbook.lines import LineError, decode

PACKAGE = Path(__file__).resolve().parent
PLACES = (PACKAGE.parent / "sample_data", Path(sys.prefix) / "share" / "bathkeeper")  # in a source checkout; as installed
PATTERN = "*.logbook.jsonl"


def sample_path(places: Iterable[Path] = PLACES) -> Path:
    """The sample book that came with the program.

    Raises:
        BookError: there is none.
    """
    searched = list(places)
    for place in searched:
        for path in sorted(place.glob(PATTERN)):
            return path
    raise BookError(
        "No sample book",
        f"There is no {PATTERN} in {' or '.join(str(p) for p in searched)}. Install the program again, or start with "
        "`bathkeeper new`.",
    )


def copy_dated(source: Path, to: Path, now: datetime) -> int:
    """A new book at ``to`` with the entries of ``source``, moved by whole days so that the last one is the latest it can be
    without lying after ``now``; returns the days. The time of day stays, ids and corrections hold, notes are as they were.

    The source is only read: nothing is written beside it, since an installed program's folder may not be its keeper's.

    Raises:
        BookError: ``to`` exists already or cannot be written, or ``source`` is no sound book.
    """
    if to.exists():
        raise BookError("There is a file already", f"{to} is left alone. Name one that does not exist yet.")
    rows = _rows(source)
    last = max((_at(row) for row in rows), default=now)
    shift = timedelta(days=(now - last) // timedelta(days=1))
    try:
        entries = [moved(row, shift) for row in rows]
    except EntryError as problem:
        raise BookError("The sample book is of no use", f"{source}: {problem}. Install the program again.") from None
    Book.open(to, create=True).append_many(entries)
    return shift.days


def moved(row: dict[str, Any], shift: timedelta) -> AnyEntry | Unknown:
    """An entry given as plain values, at another time; with it the time that a correction puts it at. Raises EntryError."""
    later = {**row, "at": _text(_at(row) + shift)}
    replacement = row.get("replacement")
    if isinstance(replacement, dict) and "at" in replacement:
        later["replacement"] = {**replacement, "at": _text(_at(replacement) + shift)}
    return recognise(later)


def _rows(source: Path) -> list[dict[str, Any]]:
    try:
        lines = source.read_bytes().splitlines()
        return [decode(line, number).plain() for number, line in enumerate(lines, start=1)]
    except OSError as problem:
        raise BookError("The sample book cannot be read", f"{source}: {problem.strerror or problem}.") from None
    except LineError as problem:
        raise BookError("The sample book is damaged", f"{source}: a line {problem}. Install the program again.") from None


def _at(row: dict[str, Any]) -> datetime:
    return datetime.fromisoformat(str(row["at"]))


def _text(moment: datetime) -> str:
    return moment.isoformat().replace("+00:00", "Z")
