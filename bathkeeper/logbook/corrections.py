"""What the book says once its corrections are taken into account: pure, and the order of arrival does not matter."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from bathkeeper.entries import AnyEntry, Correction, EntryError, Unknown, recognise
from bathkeeper.findings import Problem


def resolve(entries: Iterable[AnyEntry | Unknown]) -> tuple[list[AnyEntry | Unknown], list[Problem]]:
    """The entries that hold, by (at, id), without corrections; and the corrections that could not act.

    A replacement takes the place of the whole entry and keeps its id, and its ``at`` and ``kind`` unless it states them
    (another kind is a problem). Of several corrections of one entry the latest by (at, id) that can act wins. A correction
    can be withdrawn or replaced like any entry, save that it goes on correcting the same entry. One that cannot act leaves
    things as they would be without it.
    """
    by_id = {entry.id: entry for entry in entries}
    corrections = {id: entry for id, entry in by_id.items() if isinstance(entry, Correction)}
    problems: list[Problem] = []
    aimed_at: dict[str, list[str]] = {}
    for id, correction in corrections.items():
        aimed_at.setdefault(correction.corrects, []).append(id)

    # Each correction names one entry, so they form chains; those that nothing corrects come first. Who is never reached
    # stands in a ring.
    waiting = {id: len(aimed_at.get(id, [])) for id in corrections}
    ready = sorted(id for id, count in waiting.items() if not count)
    standing: dict[str, Correction] = {}
    while ready:
        id = ready.pop()
        del waiting[id]
        held = _held(corrections[id], _standing(aimed_at, standing, id), problems)
        if isinstance(held, Correction):
            standing[id] = held
        target = corrections[id].corrects
        if target in waiting:
            waiting[target] -= 1
            if not waiting[target]:
                ready.append(target)
    for ring in sorted({_ring(id, corrections) for id in waiting}):
        problems.append(
            Problem(
                what=f"corrections {', '.join(ring)} correct one another in a ring; none of them acts",
                right="Log a new correction of the entry itself.",
                entry=ring[0],
            )
        )

    effective: list[AnyEntry | Unknown] = []
    for id, entry in by_id.items():
        if isinstance(entry, Correction):
            continue
        held_entry = _held(entry, _standing(aimed_at, standing, id), problems)
        if held_entry is not None:
            effective.append(held_entry)
    for id, correction in standing.items():
        if correction.corrects not in by_id:
            problems.append(
                Problem(
                    what=f"the entry {correction.corrects} that a correction names is not in this book; the correction waits",
                    right="Merge the book that holds it, or withdraw the correction.",
                    entry=id,
                )
            )
    effective.sort(key=lambda entry: (entry.at, entry.id))
    problems.sort(key=lambda problem: (problem.entry or "", problem.what))
    return effective, problems


def _standing(aimed_at: dict[str, list[str]], standing: dict[str, Correction], id: str) -> list[Correction]:
    """The corrections of an entry that stand, latest first."""
    found = [standing[c] for c in aimed_at.get(id, ()) if c in standing]
    return sorted(found, key=lambda correction: (correction.at, correction.id), reverse=True)


def _held(entry: Any, latest_first: list[Correction], problems: list[Problem]) -> Any:
    """The entry as the latest correction that can act leaves it; None when it is withdrawn."""
    for correction in latest_first:
        if correction.withdraw:
            return None
        try:
            return _replaced(entry, correction.replacement or {})
        except EntryError as problem:
            problems.append(
                Problem(
                    what=f"the replacement for entry {entry.id} cannot take its place: {problem}; the correction does not act",
                    right="Log another correction whose replacement is a whole entry of the same kind.",
                    entry=correction.id,
                )
            )
    return entry


def _replaced(entry: Any, replacement: dict[str, Any]) -> AnyEntry | Unknown:
    fields = {"kind": entry.kind, "at": entry.at, **replacement}
    if fields.setdefault("id", entry.id) != entry.id:
        raise EntryError(f"it has the id {fields['id']!r}; leave the id out, the entry keeps its own")
    if fields["kind"] != entry.kind:
        raise EntryError(f"it is of kind `{fields['kind']}`, the entry is of kind `{entry.kind}`")
    if isinstance(entry, Unknown):
        fields.setdefault("schema", entry.schema)
    if isinstance(entry, Correction) and fields.setdefault("corrects", entry.corrects) != entry.corrects:
        raise EntryError("it corrects another entry; withdraw the correction and log a new one instead")
    replaced = recognise(fields)
    if isinstance(entry, Correction) and not isinstance(replaced, Correction):
        raise EntryError("this version does not know its schema")
    return replaced


def _ring(id: str, corrections: dict[str, Correction]) -> tuple[str, ...]:
    """The ids of the ring that a correction stands in."""
    ring = {id}
    while (id := corrections[id].corrects) not in ring:
        ring.add(id)
    return tuple(sorted(ring))
