"""Small entries and small books to test with."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from itertools import count
from pathlib import Path
from typing import Any

from bathkeeper.entries import AnyEntry, Correction, Reading, Remark, Unknown, Value
from bathkeeper.logbook.book import Book

START = datetime(2026, 5, 1, 8, 0, tzinfo=UTC)
_NUMBERS = count(1)


def moment(minutes: float) -> datetime:
    return START + timedelta(minutes=minutes)


def some_id() -> str:
    """Ids that rise in the order of asking, so that entries of one moment have an order to expect."""
    return f"test-{next(_NUMBERS):08d}"


def remark(text: str, minutes: float = 0, id: str | None = None, **more: Any) -> Remark:
    return Remark(id=id or some_id(), at=moment(minutes), text=text, **more)


def reading(zinc_g_l: float, minutes: float = 0, tank: str = "electrolyte") -> Reading:
    return Reading(id=some_id(), at=moment(minutes), tank=tank, values=(Value(of="zinc", value=zinc_g_l, unit="g/L"),))


def correction(
    corrects: str, minutes: float, replacement: dict[str, Any] | None = None, *, id: str | None = None, **fields: Any
) -> Correction:
    """A replacement by the dictionary or the fields given; without any of them a withdrawal."""
    whole = None if replacement is None and not fields else {**(replacement or {}), **fields}
    return Correction(
        id=id or some_id(),
        at=moment(minutes),
        corrects=corrects,
        reason="misread",
        withdraw=whole is None,
        replacement=whole,
    )


def unknown(id: str = "from-the-future-1", minutes: float = 0, **more: Any) -> Unknown:
    raw = {"kind": "hologram", "schema": 7, "id": id, "at": moment(minutes).isoformat(), **more}
    return Unknown(id=id, at=moment(minutes), kind="hologram", schema=7, raw=raw)


def book_of(place: Path, *entries: AnyEntry | Unknown) -> Book:
    book = Book.open(place, create=True)
    book.append_many(entries)
    return book


def texts(book: Book) -> list[str]:
    return [entry.text for entry in book.entries() if isinstance(entry, Remark)]
