"""The whole book as a folder of plain files, with a README that says what every column is."""

from __future__ import annotations

import io
from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path

from bathkeeper.copies.entries import entries_table, in_force_table, kinds_in
from bathkeeper.copies.estimates import DAY, estimates_table
from bathkeeper.copies.rest import learned_table, runs_table, stock_table
from bathkeeper.copies.tables import FORMATS, Table
from bathkeeper.logbook.exchange import export_entries
from bathkeeper.logbook.folder import write_folder
from bathkeeper.workshop import Workshop

ENTRIES = "entries.jsonl"
README = "README.txt"


def copy_book(
    workshop: Workshop, to: Path, at: datetime, every: timedelta = DAY, told: Callable[[int, int], None] | None = None
) -> list[str]:
    """Writes the folder; returns the names of its files.

    Raises:
        BookError: there is something at that place already, or it cannot be written. CopyError: the step cannot be.
    """
    kinds = _file_names(kinds_in(workshop))
    tables = {
        "estimates": estimates_table(workshop, at, every, told=told),
        "learned": learned_table(workshop, at),
        "runs": runs_table(workshop, at),
        "stock": stock_table(workshop, at),
        "in-force": in_force_table(workshop),
        **{name: entries_table(workshop, kind) for name, kind in kinds.items()},
    }
    whole = io.BytesIO()
    export_entries(workshop.book, whole)
    files = {README: _readme(workshop, tables, at).encode("utf-8", "replace"), ENTRIES: whole.getvalue()}
    for name, table in tables.items():
        for format in FORMATS:
            files[f"{name}.{format}"] = table.as_bytes(format, mark=True)
    for name, kind in kinds.items():  # as they stand in the book, so that they can be taken in again
        files[f"{name}.jsonl"] = _of_kind(workshop, kind)
    write_folder(to, files)
    return list(files)


def _file_names(kinds: list[str]) -> dict[str, str]:
    """Name of a file -> kind of entry. An unknown kind may be any text, so two may come to the same name."""
    found: dict[str, str] = {}
    for kind in kinds:
        plain = "".join(c if c.isascii() and (c.isalnum() or c in "-_") else "-" for c in kind)[:60].casefold() or "other"
        name = next(n for n in (f"entries-{plain}{'-' * bool(k)}{k or ''}" for k in range(10_000)) if n not in found)
        found[name] = kind
    return found


def _of_kind(workshop: Workshop, kind: str) -> bytes:
    contents = dict(workshop.book.contents())
    return b"".join(contents[e.id] + b"\n" for e in workshop.book.entries() if e.kind == kind)


def _readme(workshop: Workshop, tables: dict[str, Table], at: datetime) -> str:
    name = " ".join("".join(c if c.isprintable() else " " for c in workshop.name).split())
    lines = [
        f"A copy of the book of {name}, as of {at.isoformat(timespec='seconds')}, written by bathkeeper.",
        "",
        f"{ENTRIES} is the book itself, one entry a line; `bathkeeper import entries {ENTRIES}` takes it all in again.",
        "in-force holds what counts now, corrections applied: sum over that one. entries-… hold what was logged, corrected or",
        "not.",
        "Every other table is there twice, as CSV and as JSON Lines. CSV is UTF-8 with commas and points; an empty cell",
        "is a value that is not there. An apostrophe stands before texts that begin with = + - @ or an apostrophe, so that no",
        "program runs them. Estimates are what the entries make likely, with their 95 % interval; they are no measurements.",
        "What becomes of spent solutions is for the local authority or a licensed contractor to say.",
    ]
    for title, table in tables.items():
        lines += ["", f"{title}.csv, {title}.jsonl: {table.about}"]
        lines += [f"  {column}{': ' + about if about else ''}" for column, about in table.columns.items()]
    return "\n".join("".join(c if c.isprintable() else " " for c in line) for line in lines) + "\n"
