"""Entries as tables: one row an entry, every field in a column of its own path (``values.1.of``)."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from bathkeeper.copies.tables import Table
from bathkeeper.entries import KINDS, AnyEntry, Unknown, plain
from bathkeeper.headlines import headline
from bathkeeper.workshop import Workshop

FIRST = {
    "id": "the entry's id",
    "at": "when it happened, RFC 3339",
    "kind": "kind of entry",
    "standing": "in force, corrected, withdrawn, or correction",
    "tank": "the tank that it is about",
    "what": "the entry in words; not read back",
}
UNITS = {
    "_l": "L", "_g": "g", "_dm2": "dm2", "_c": "degC", "_mpa": "MPa", "_ah": "Ah", "_a": "A", "minutes": "min", "_mm": "mm",
    "volts": "V",
}  # fmt: skip
"""Ending of a field's name -> its unit."""


def in_force_table(workshop: Workshop) -> Table:
    """Every entry that counts, as it counts: with its corrections in it, without what was withdrawn. This is the one to sum."""
    chosen = [e for e in workshop.entries() if e.kind != "correction"]
    return _table(workshop, chosen, "Entries as they count now, corrections applied; what was withdrawn is not among them.")


def entries_table(workshop: Workshop, kind: str | None = None) -> Table:
    """Every entry as logged, by time, corrections and unknown kinds too; of one kind if named."""
    chosen = [e for e in workshop.book.entries() if kind is None or e.kind == kind]
    about = "Entries as they were logged, oldest first." if kind is None else f"Every {kind} as logged."
    return _table(workshop, chosen, about)


def _table(workshop: Workshop, chosen: Iterable[AnyEntry | Unknown], about: str) -> Table:
    """One row an entry, with its standing and its headline."""
    effective = {e.id for e in workshop.entries()}
    corrected = workshop.corrected()
    rows: list[dict[str, Any]] = []
    columns: dict[str, str] = dict(FIRST)
    for entry in chosen:
        row = {**flat(plain(entry)), "standing": _standing(entry, effective, corrected), "what": _words(entry)}
        for name in row:
            if name not in columns:
                columns[name] = field_words(name)
        rows.append(row)
    return Table(columns, rows, about)


def _words(entry: AnyEntry | Unknown) -> str:
    return headline(entry) if not isinstance(entry, Unknown) else ""


def _standing(entry: AnyEntry | Unknown, effective: set[str], corrected: set[str]) -> str:
    if entry.kind == "correction":
        return "correction"
    if entry.id in corrected:
        return "corrected"
    return "in force" if entry.id in effective else "withdrawn"


def field_words(name: str) -> str:
    """What a column of a field's path holds: its unit where its name carries one."""
    last = name.rpartition(".")[2]
    unit = next((u for end, u in UNITS.items() if last.endswith(end)), "")
    if last in ("value", "spread", "amount") and name.count(".") == 2:
        return f"in the unit of {name.rpartition('.')[0]}.unit"
    return f"in {unit}" if unit else ""


def flat(value: Mapping[str, Any]) -> dict[str, Any]:
    """Nested values by path; lists count from 1. Lists and tables that are empty stand as ``[]`` and ``{}``."""
    found: dict[str, Any] = {}
    _flatten(value, "", found)
    return found


def _flatten(value: Any, path: str, found: dict[str, Any]) -> None:
    if isinstance(value, Mapping) and (value or not path):
        items: Iterable[tuple[str, Any]] = value.items()
    elif isinstance(value, (list, tuple)) and value:
        items = ((str(n), v) for n, v in enumerate(value, start=1))
    else:
        found[path] = value
        return
    for key, inner in items:
        name = str(key).replace("\\", "\\\\").replace(".", "\\.")
        _flatten(inner, f"{path}.{name}" if path else name, found)


def kinds_in(workshop: Workshop) -> list[str]:
    """The kinds of entry that a book holds, in the usual order, unknown ones last."""
    there = {e.kind for e in workshop.book.entries()}
    return [*(k for k in KINDS if k in there), *sorted(there - set(KINDS))]
