"""The book as a TinyDB table: search as in any TinyDB, insert only, and results that are copies."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Any, NoReturn

from tinydb.table import Document, Table

from bathkeeper.logbook.errors import InsertOnly
from bathkeeper.logbook.journal import TABLE, Journal


class EntryDocument(Document):
    """A found entry as plain values, copied to the bottom so that changing it changes nothing else. ``doc_id``: its line."""

    def __init__(self, value: Mapping[str, Any], doc_id: int) -> None:
        super().__init__({key: _copy(item) for key, item in value.items()}, doc_id)


class EntryTable(Table):
    """All entries as they were logged, corrections not yet applied; each under its line number."""

    document_class = EntryDocument
    # Results kept from an earlier search would hide what another program has logged since.
    default_query_cache_capacity = 0

    def __init__(self, journal: Journal, log: Callable[[list[Mapping[str, Any]]], list[int]]) -> None:
        super().__init__(journal, TABLE, cache_size=0)
        self._log = log

    def insert(self, document: Mapping[str, Any]) -> int:
        """Logs an entry given as plain values; returns its line number. Errors are those of ``Book.append``."""
        return self._log([document])[0]

    def insert_multiple(self, documents: Iterable[Mapping[str, Any]]) -> list[int]:
        """Logs several entries, all or none; returns their line numbers."""
        return self._log(list(documents))

    def update(self, *args: Any, **kwargs: Any) -> NoReturn:
        """Refuses."""
        raise _refusal("changed", "log a correction that names it and holds the replacement")

    def update_multiple(self, *args: Any, **kwargs: Any) -> NoReturn:
        """Refuses."""
        raise _refusal("changed", "log a correction for each, with its replacement")

    def upsert(self, *args: Any, **kwargs: Any) -> NoReturn:
        """Refuses."""
        raise _refusal("changed", "insert a new entry, or log a correction that names the old one")

    def remove(self, *args: Any, **kwargs: Any) -> NoReturn:
        """Refuses."""
        raise _refusal("removed", "log a correction that names it and withdraws it")

    def truncate(self) -> NoReturn:
        """Refuses."""
        raise _refusal("removed", "start a new book in another file; this one stays as it is")


def _refusal(done: str, instead: str) -> InsertOnly:
    return InsertOnly(f"Entries are never {done}", f"What was logged stays as it was logged. Instead, {instead}.")


def _copy(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _copy(item) for key, item in value.items()}
    if isinstance(value, list):
        return [_copy(item) for item in value]
    return value
