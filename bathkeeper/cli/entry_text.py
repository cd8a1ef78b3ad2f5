"""Entries as text: a list of them, or one with all its fields and what became of it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from bathkeeper.cli.plain import clean
from bathkeeper.cli.tables import Cell, Column, styled, table
from bathkeeper.entries import AnyEntry, Unknown, plain, tanks_of
from bathkeeper.headlines import SHORT_ID, leaves, sentence, standing, what
from bathkeeper.showing import shown_moment
from bathkeeper.units.numerals import Preferences
from bathkeeper.workshop import History


def list_text(entries: Sequence[AnyEntry | Unknown], prefs: Preferences, *, tank_too: bool) -> list[str]:
    """A row for each entry."""
    rows: list[list[Cell | str]] = []
    for entry in entries:
        tanks = tanks_of(entry)
        where = next(iter(tanks)) if len(tanks) == 1 else ""
        said = f"{where}: " if tank_too and where else ""
        told = clean(said + what(entry, prefs), lines=False)
        rows.append([shown_moment(entry.at), entry.kind, told, entry.id[-SHORT_ID:]])
    columns = [Column("when"), Column("kind"), Column("what", wraps=True), Column("id")]
    return table(columns, rows) if rows else []


def short(entry: AnyEntry | Unknown, prefs: Preferences) -> str:
    """One line of an entry with its moment and id."""
    return clean(f"{shown_moment(entry.at)}  {sentence(entry, prefs)}  [{entry.id[-SHORT_ID:]}]", lines=False)


def history_text(history: History, about: Sequence[AnyEntry | Unknown], prefs: Preferences) -> list[str]:
    """An entry in full: as it holds now, as it was logged where that differs, corrections, and readings taken on it."""
    logged, holds = history.logged, history.in_force
    state = standing(logged, history.corrections, holds)
    title = f"{logged.kind} of {shown_moment(logged.at)}" + (f", {state}" if state else "")
    lines = [styled(title, "warn" if state else "head"), *_fields(plain(holds if holds is not None else logged))]
    if history.line is not None:
        lines.append(f"on line {history.line} of the book")
    if history.corrections:
        lines += ["", styled("corrections", "head"), *(short(c, prefs) for c in history.corrections)]
        if holds is not None and holds != logged:
            lines += ["", styled("as it was logged", "head"), *_fields(plain(logged))]
    if about:
        lines += ["", styled("taken on it", "head"), *(short(e, prefs) for e in about)]
    return lines


def _fields(raw: dict[str, Any]) -> list[str]:
    return table([Column(""), Column("", wraps=True)], [[k, v] for k, v in leaves(raw)])
