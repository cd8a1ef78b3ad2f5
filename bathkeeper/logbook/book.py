"""The book: entries in, entries out, and what is wrong with it."""

from __future__ import annotations

import os
import threading
from bisect import insort
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import msgspec
import platformdirs
from tinydb.queries import QueryLike

from bathkeeper.entries import SCHEMA, AnyEntry, EntryError, Unknown, recognise, to_plain
from bathkeeper.findings import Problem
from bathkeeper.logbook import lines, witness
from bathkeeper.logbook.errors import BookError, DuplicateEntry, EntryRefused, ReadOnlyBook
from bathkeeper.logbook.journal import Journal
from bathkeeper.logbook.lines import Line, LineError
from bathkeeper.logbook.table import EntryTable

__all__ = ["Book", "BookError", "ReadOnlyBook", "accept", "default_path", "dropped", "salvage"]

FILE_NAME = "workshop.logbook.jsonl"


def default_path() -> Path:
    """Where the book is when nobody says otherwise: ``BATHKEEPER_BOOK``, else the platform's data folder."""
    chosen = os.environ.get("BATHKEEPER_BOOK")
    if chosen:
        return Path(chosen).expanduser()
    return platformdirs.user_data_path("bathkeeper", appauthor=False) / FILE_NAME


class Book:
    """One book, open. No file is held open and no lock is kept between calls, so there is nothing to close.

    Attributes:
        path: the file, as an absolute path.
        table: the TinyDB table of all entries as logged.
    """

    def __init__(self, path: Path, journal: Journal) -> None:
        self.path = path
        self.table = EntryTable(journal, self._log)
        self._journal = journal
        self._sorted: list[AnyEntry | Unknown] = []
        self._fresh: list[AnyEntry | Unknown] = []
        self._skipped: list[Problem] = []
        self._taken = 0
        self._news = False
        self._threads = threading.Lock()
        self._take_up()
        self._told = self.damage is not None

    @classmethod
    def open(cls, path: Path, *, create: bool = False) -> Book:
        """Opens the book at ``path``; with ``create``, makes an empty one where there is no file.

        A damaged book opens too: see ``damage`` and ``read_only``.

        Raises:
            BookError: no file, a folder, no permission, or not a book.
        """
        place = Path(os.path.abspath(Path(path).expanduser()))
        return cls(place, Journal(place, create=create))

    # -- state ---------------------------------------------------------------------------------------------------------

    @property
    def damage(self) -> Problem | None:
        """What makes the book untrustworthy as a whole, with its line; None for a sound book."""
        return self._journal.damage

    @property
    def read_only(self) -> bool:
        """Whether nothing can be logged: the book is damaged, or the file or its folder may not be written."""
        if self.damage or not os.access(self._journal.path, os.W_OK):
            return True
        lock = self._journal.path.with_name(self._journal.path.name + ".lock")
        return not os.access(lock if lock.exists() else lock.parent, os.W_OK)

    @property
    def problems(self) -> list[Problem]:
        """Everything found in the file: damage, an unfinished last line, entries kept but skipped."""
        torn = self._journal.torn
        return [*self._journal.troubles, *([torn] if torn else []), *self._skipped]

    # -- reading -------------------------------------------------------------------------------------------------------

    def entries(self) -> list[AnyEntry | Unknown]:
        """Every entry that can be read, by (at, id); corrections not yet applied. A list of one's own."""
        with self._threads:
            if len(self._fresh) > 20:
                self._sorted.extend(self._fresh)
                self._sorted.sort(key=_order)
            else:
                for entry in self._fresh:
                    insort(self._sorted, entry, key=_order)
            self._fresh.clear()
            return list(self._sorted)

    def refresh(self) -> bool:
        """Takes up what this or another program has appended; one stat when nothing was.

        Returns:
            Whether there is something new to show: entries, or damage that was not known before.
        """
        self._journal.refresh()
        new = self._take_up() or self._news
        self._news = False
        if self.damage and not self._told:
            self._told = new = True
        return new

    def search(self, cond: QueryLike) -> list[dict[str, Any]]:
        """Entries as plain values that meet a TinyDB query, in file order; copies."""
        return list(self.table.search(cond))

    def line_of(self, id: str) -> int | None:
        """The line that holds an entry, counted from 1."""
        return self._journal.number_of.get(id)

    def __contains__(self, id: object) -> bool:
        return id in self._journal.number_of

    def contents(self) -> Iterator[tuple[str, bytes]]:
        """Id and verbatim content (see ``lines.py``) of every line that verifies, in file order, unreadable kinds included."""
        for line in self._journal.good:
            yield line.id, line.content

    def _take_up(self) -> bool:
        """Makes entries of the lines that the journal has read since; whether there were any."""
        with self._threads:
            new = self._journal.good[self._taken :]
            self._taken += len(new)
            for line in new:
                self._recognise(line)
            return bool(new)

    def _recognise(self, line: Line) -> None:
        try:
            entry = recognise(line.plain())
        except EntryError as problem:
            self._skip(line, f"cannot be read as an entry ({problem})", "If no newer bathkeeper knows it, log it again.")
            return
        if isinstance(entry, Unknown):
            what = f"kind `{entry.kind}`" if entry.schema <= SCHEMA else f"schema {entry.schema} of `{entry.kind}`"
            self._skip(line, f"is of {what}, which this version does not know", "Read it with the bathkeeper that wrote it.")
        self._fresh.append(entry)

    def _skip(self, line: Line, why: str, right: str) -> None:
        what = f"line {line.number} {why}; it is kept and skipped"
        self._skipped.append(Problem(what=what, right=right, entry=line.id, line=line.number))

    # -- writing -------------------------------------------------------------------------------------------------------

    def append(self, entry: AnyEntry | Unknown) -> None:
        """Logs an entry. When this returns, it is on the disk.

        Raises:
            EntryRefused: it is impossible, cannot be encoded, or its id is already there (``DuplicateEntry``).
            ReadOnlyBook: the book is damaged or may not be written.
            BookError: the disk is full, the book is busy. Nothing was written.
        """
        self.append_many([entry])

    def append_many(self, entries: Iterable[AnyEntry | Unknown]) -> None:
        """Logs several entries with one sync, all or none; raises as :meth:`append`."""
        self.append_contents([encode(entry) for entry in entries])

    @contextmanager
    def writing(self) -> Iterator[None]:
        """Holds the book for itself, read up to its end, so that what is looked up stays true until it is written."""
        if self.read_only:
            self.refresh()
        if self.read_only and not self.damage:
            raise ReadOnlyBook(
                "The book is read-only",
                f"{self.path} or its folder may not be written. Ask its owner, or use a copy of your own.",
            )
        with self._journal.writing():
            # What others logged is news to whoever asks by refresh(), even though it is taken up here.
            self._news |= self._take_up()
            yield

    def append_contents(self, contents: Sequence[bytes]) -> list[int]:
        """Logs entries given as content, verbatim; returns their line numbers. Raises as :meth:`append`."""
        try:
            ids = [str(lines.plain(content)["id"]) for content in contents]
        except LineError as problem:
            raise EntryRefused("Not an entry", f"Nothing was written: the entry {problem}.") from None
        with self.writing():
            taken: set[str] = set()
            for id in ids:
                if id in self or id in taken:
                    where = f"is already on line {self.line_of(id)} of {self.path}" if id in self else "was given twice"
                    raise DuplicateEntry(
                        "Already in the book", f"The id {id} {where}. Nothing was written. A new entry needs an id of its own."
                    )
                taken.add(id)
            try:
                written = self._journal.append(contents)
            finally:
                self._take_up()
            return [line.number for line in written]

    def _log(self, documents: list[Mapping[str, Any]]) -> list[int]:
        return self.append_contents([_encode_plain(dict(document)) for document in documents])


def encode(entry: AnyEntry | Unknown) -> bytes:
    """The content that an entry is stored as.

    Raises:
        EntryRefused: it is impossible or has no place in JSON.
    """
    if isinstance(entry, Unknown):
        return _encode_plain(entry.raw)
    try:
        return _encode_plain(to_plain(entry))
    except (TypeError, ValueError, RecursionError, msgspec.MsgspecError) as problem:
        raise EntryRefused("Not an entry", f"Nothing was written: the {entry.kind} {entry.id!r} {problem}.") from None


def salvage(path: Path, to: Path) -> int:
    """Copies every entry that verifies from a damaged book into a new one at ``to``; returns how many.

    Raises:
        BookError: ``path`` is not a book, ``to`` exists already, or it cannot be written.
    """
    source = Journal(Path(path).expanduser(), use_witness=False)
    if Path(to).expanduser().exists():
        raise BookError("The new book exists already", f"{to} is left alone. Name a file that does not exist yet.")
    Book.open(to, create=True).append_contents([line.content for line in source.good])
    return len(source.good)


def dropped(path: Path) -> list[tuple[int, str]]:
    """(line number, text as far as it can be read) of every line that does not verify, which :func:`salvage` leaves out."""
    place = Path(path).expanduser()
    kept = {line.number for line in Journal(place, use_witness=False).good}
    lines = place.read_bytes().split(b"\n")
    return [(n, line.decode("utf-8", "replace")) for n, line in enumerate(lines, start=1) if n not in kept and line.strip()]


def accept(path: Path) -> None:
    """Makes the file as it is now count as the book, after it was shortened or replaced on purpose. Lines that do not verify
    stay damage."""
    witness.forget(Path(path).expanduser())


def _encode_plain(plain: dict[str, Any]) -> bytes:
    try:
        recognise(plain)
        return lines.encode_content(plain)
    except (EntryError, LineError) as problem:
        raise EntryRefused("Not an entry", f"Nothing was written: the entry {problem}.") from None


def _order(entry: AnyEntry | Unknown) -> tuple[Any, str]:
    return (entry.at, entry.id)
