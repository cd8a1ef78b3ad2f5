"""An entry told to a person: in a sentence with its moment, and in full with what became of it."""

from __future__ import annotations

from bathkeeper.entries import AnyEntry, Correction, Unknown, plain
from bathkeeper.headlines import NO_HABITS, leaves, standing
from bathkeeper.headlines import sentence as said
from bathkeeper.units.numerals import Preferences
from bathkeeper.workshop import NotFound, Workshop


def sentence(entry: AnyEntry | Unknown, prefs: Preferences = NO_HABITS) -> str:
    """When, what kind, where and what, in one line as long as it needs to be."""
    return f"{entry.at:%d %b %Y %H:%M}  {said(entry, prefs)}"


def by_id(workshop: Workshop, id: str) -> str:
    """An entry in force by its id, in a sentence."""
    try:
        return sentence(workshop.entry(id), workshop.preferences)
    except NotFound:
        return f"entry {id}, not in force any more"


def in_full(workshop: Workshop, id: str) -> tuple[str, str, str, str | None]:
    """(title, every field as it holds, the corrections and how it was logged; kind and tank of what can be corrected) of an
    entry. Raises NotFound."""
    history, prefs = workshop.history(id), workshop.preferences
    logged, holds = history.logged, history.in_force
    state = standing(logged, history.corrections, holds)
    shown = holds if holds is not None else logged
    lines = [f"line {history.line} of {workshop.book.path}", "", *_fields(shown)]
    if history.corrections:
        lines += ["", "Corrections", *(f"  {sentence(c, prefs)}" for c in history.corrections)]
        if state == "corrected":
            lines += ["", "As it was logged", *_fields(logged)]
    title = sentence(shown, prefs) + (f", {state}" if state else "")
    kind = logged.kind if holds is not None and not isinstance(holds, (Correction, Unknown)) else ""
    return title, "\n".join(lines), kind, getattr(holds, "tank", None)


def _fields(entry: AnyEntry | Unknown) -> list[str]:
    rows = leaves(plain(entry))
    width = min(max(len(name) for name, _ in rows), 24)
    return [f"{name:<{width}}  {text}" for name, text in rows]
