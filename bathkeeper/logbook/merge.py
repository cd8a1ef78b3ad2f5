"""Two copies of a book become one: the union of their entries by id."""

from __future__ import annotations

from pathlib import Path

import msgspec

from bathkeeper.findings import Problem
from bathkeeper.logbook import lines
from bathkeeper.logbook.book import Book
from bathkeeper.logbook.errors import MergeConflict, ReadOnlyBook

_SHOWN = 5


class Merged(msgspec.Struct, frozen=True, kw_only=True):
    """What a merge did: ``added`` entries came in, ``same`` were in both already; ``problems`` of the other book."""

    added: int
    same: int
    problems: tuple[Problem, ...] = ()


def merge(into: Book, other: Path) -> Merged:
    """Takes the entries of the book at ``other`` that are not in ``into`` yet, verbatim; only the chain is made anew.

    Entries of kinds that this version does not know come along. As sets of entries the order of merging is nothing, and merging
    again adds none.

    Raises:
        MergeConflict: an id is in both with different content; both are shown and nothing is written.
        ReadOnlyBook: either book is damaged, or ``into`` may not be written.
        BookError: ``other`` is missing or not a book.
    """
    source = Book.open(other)
    if source.damage:
        raise ReadOnlyBook(
            "The other book is damaged",
            f"{source.path}: {source.damage.what}. Nothing was merged. Salvage it into a new book first and merge that.",
        )
    with into.writing():
        here = dict(into.contents())
        new: list[bytes] = []
        same = 0
        conflicts: list[tuple[str, str, str]] = []
        for id, content in source.contents():
            if id not in here:
                new.append(content)
            elif lines.same_content(here[id], content):
                same += 1
            else:
                conflicts.append((id, here[id].decode(), content.decode()))
        if conflicts:
            raise _conflict(into, source, conflicts)
        into.append_contents(new)
    return Merged(added=len(new), same=same, problems=tuple(source.problems))


def _conflict(into: Book, source: Book, conflicts: list[tuple[str, str, str]]) -> MergeConflict:
    parts = [
        f"{id}\n  {into.path}, line {into.line_of(id)}:\n    {here}\n  {source.path}, line {source.line_of(id)}:\n    {there}"
        for id, here, there in conflicts[:_SHOWN]
    ]
    if len(conflicts) > _SHOWN:
        parts.append(f"and {len(conflicts) - _SHOWN} more")
    count = "An id stands" if len(conflicts) == 1 else f"{len(conflicts)} ids stand"
    return MergeConflict(
        "The books disagree",
        f"{count} for different entries in the two books; nothing was merged.\n"
        + "\n".join(parts)
        + "\nOne of the files was edited by hand, or is no copy of this book. Keep the right one; mend it by a correction.",
        tuple(conflicts),
    )
