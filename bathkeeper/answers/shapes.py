"""What the workshop's answers come in: the status, what was logged, an entry with what became of it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

import msgspec

from bathkeeper.entries import AnyEntry, Correction, Unknown
from bathkeeper.estimate.view import TankView
from bathkeeper.findings import Finding, Problem


class NotFound(LookupError):
    """Something asked for by a name that nothing has; the message says what there is."""


def by_id(id: str, entries: Sequence[AnyEntry | Unknown]) -> AnyEntry | Unknown:
    """An entry by its id, or by an unambiguous beginning or end of it (six signs or more). Raises NotFound."""
    whole = [e for e in entries if e.id == id]
    found = whole or [e for e in entries if len(id) >= 6 and (e.id.startswith(id) or e.id.endswith(id))]
    if len(found) != 1:
        right = "give more of the id" if found else "an id is at least six signs, from its beginning or its end"
        raise NotFound(f"{len(found) or 'no'} {'entries have' if found else 'entry has'} the id `{id}`; {right}")
    return found[0]


class Status(msgspec.Struct, frozen=True, kw_only=True):
    """Everything at one moment, in the shape of ``status --json``."""

    book: str
    workshop: str
    as_of: datetime
    tanks: list[TankView]
    due: list[Finding]
    problems: list[Problem]


class Logged(msgspec.Struct, frozen=True, kw_only=True):
    """An entry that is in the book, and what it changed in the estimate."""

    entry: AnyEntry
    changes: list[str]


class History(msgspec.Struct, frozen=True, kw_only=True):
    """An entry as it was logged, with the line of the book that holds it, every correction that names it (by time and id), and
    what is in force: the entry itself, its replacement, or None when it is withdrawn."""

    logged: AnyEntry | Unknown
    line: int | None
    corrections: tuple[Correction, ...]
    in_force: AnyEntry | Unknown | None
