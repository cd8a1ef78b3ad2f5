"""Forms for entries, made from the entry types."""

from __future__ import annotations

from textual.screen import Screen


class EntryForm(Screen[None]):
    """One entry."""

    def __init__(self, kind: str, tank: str | None) -> None:
        super().__init__()
