"""The append-only file: reads lines as they come, writes them whole or not at all, and notices every kind of damage.

Three ways in which a file can be other than expected are told apart:

- *torn tail*: bytes after the last newline that do not verify. A write was cut off before it was acknowledged. The next
  writer moves them to ``<book>.torn-<time>`` and goes on; a reader only reports them;
- *no last newline*: the last line verifies. It is an entry; the next writer adds the newline;
- *damage*: a line with its newline that does not verify, a line that does not follow the line before, or a file shorter than,
  or other than, last seen. Nothing more is written; every line that verifies can still be read.

A write that was killed half-way can leave the first lines of several whole; none of them was acknowledged.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import stat
import threading
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, NoReturn

from tinydb.storages import Storage

from bathkeeper.findings import Problem
from bathkeeper.logbook import disk, lines, witness
from bathkeeper.logbook.errors import BookError, InsertOnly, NotABook, ReadOnlyBook, from_os
from bathkeeper.logbook.lines import Line, LineError
from bathkeeper.logbook.lock import BookLock

TABLE = "entries"
WAY_ON = "Every entry that verifies can be read and copied into a new book (salvage); keep this file as it is until then."


class Journal(Storage):
    """The lines of one book, in file order, kept up to date by :meth:`refresh`. Also TinyDB's storage for reading them.

    Attributes:
        path: the file itself, links resolved.
        good: lines that verify, one for each id (the first of it).
        number_of: line number for each id.
        damage: the first thing that makes the book read-only, or None.
        troubles: all that was found, damage included, in the order found.
    """

    def __init__(self, path: Path, *, create: bool = False, use_witness: bool = True) -> None:
        """Opens the file and reads it.

        Raises:
            BookError: it is missing, a folder, not allowed, or not a book.
        """
        self.path = Path(os.path.realpath(path))
        self.good: list[Line] = []
        self.number_of: dict[str, int] = {}
        self.damage: Problem | None = None
        self.troubles: list[Problem] = []
        self._count = 0
        self._end = 0
        self._last: str | None = ""
        self._first = ""
        self._open_ended = False
        self._torn = b""
        self._seen: tuple[int, int, int, int] | None = None
        self._digest = hashlib.blake2b()
        self._documents: dict[str, dict[str, Any]] = {}
        self._documents_lock = threading.Lock()
        self._use_witness = use_witness
        self._lock = BookLock(self.path)
        self._check_place(create)
        if create and not self.path.exists():
            self._create()
        with self._lock.if_possible() as held:
            remembered = witness.recall(self.path) if use_witness else None
            self._read_first(remembered)
            if held and not self.damage:
                self._remember(remembered)

    # -- state ---------------------------------------------------------------------------------------------------------

    @property
    def torn(self) -> Problem | None:
        """The unfinished last line, while it is still in the file."""
        if not self._torn:
            return None
        return Problem(
            what=f"line {self._count + 1} was never finished ({len(self._torn)} bytes): no entry, and never acknowledged",
            right="The next entry written sets it aside in a file beside the book.",
            line=self._count + 1,
        )

    def read(self) -> dict[str, dict[str, Any]]:
        """All lines as plain values under their line number, for TinyDB. Refreshes first."""
        self.refresh()
        with self._documents_lock:
            for line in self.good[len(self._documents) :]:
                self._documents[str(line.number)] = line.plain()
            # A copy of the outer level, for another thread may add to it while this one searches.
            return {TABLE: dict(self._documents)}

    def write(self, data: dict[str, dict[str, Any]]) -> NoReturn:
        """Refuses: writing whole tables is how entries get lost."""
        raise InsertOnly("Entries are never rewritten", "Append entries; to mend one, log a correction that names it.")

    # -- reading -------------------------------------------------------------------------------------------------------

    def refresh(self) -> list[Line]:
        """Takes up what was appended since; costs one stat when nothing was. Finding damage leaves it in ``damage``."""
        if self.damage:
            return []
        try:
            if _key(os.stat(self.path)) == self._seen:
                return []
        except OSError:
            pass
        with self._lock.if_possible():
            return self._sync()

    def _sync(self) -> list[Line]:
        known = len(self.good)
        try:
            fd = os.open(self.path, os.O_RDONLY | disk.BINARY | disk.CLOSE_ON_EXEC)
        except FileNotFoundError:
            self._hurt(f"the file is gone; it held {self._lines()} when last read", "Put it back, or open a copy of it.")
            return []
        except OSError as problem:
            raise from_os(problem, self.path, "reading") from None
        try:
            key = _key(os.fstat(fd))
            if key == self._seen:
                return []
            inode, size = key[:2], key[2]
            was = self._seen or key
            if size < self._end:
                self._hurt(
                    f"the file was shortened: it ends at byte {size}, but {self._lines()} up to byte {self._end} had been read",
                    "Put the longer file back. The entries read before are still here and can be exported.",
                )
                return []
            same_length = size == was[2]
            if (inode != was[:2] or same_length) and not self._begins_as_read(fd):
                self._hurt(
                    "the file was replaced or rewritten: its first lines are no longer those that were read",
                    "Put the former file back. The entries read before are still here and can be exported.",
                )
                return []
            self._consume(_read_from(fd, self._end))
            self._seen = key
        finally:
            os.close(fd)
        return self.good[known:]

    def _read_first(self, remembered: witness.Witness | None) -> None:
        try:
            fd = os.open(self.path, os.O_RDONLY | disk.BINARY | disk.CLOSE_ON_EXEC)
        except OSError as problem:
            raise _cannot_open(problem, self.path) from None
        try:
            key = _key(os.fstat(fd))
            data = _read_from(fd, 0)
        finally:
            os.close(fd)
        self._consume(data)
        self._seen = key
        if not self.good and data and not remembered and not lines.looks_like_ours(data.partition(b"\n")[0]):
            raise NotABook(
                "Not a book",
                f"{self.path} holds something else: no line of it is a line of a book. A book is made with `bathkeeper new`; "
                "rows from elsewhere are taken in with `bathkeeper import entries`.",
            )
        if remembered and remembered.lines:
            self._compare(remembered, data)

    def _compare(self, seen: witness.Witness, data: bytes) -> None:
        """Holds the file against what was last seen of it, here or by another program."""
        if self._last_byte() < seen.end:
            self._hurt(
                f"the file is shorter than when last seen: it holds {self._lines()}, it held {seen.lines}",
                "Put the longer file back. If an older copy was put here on purpose, accept it, and it counts as the book.",
                line=self._count + 1,
            )
        elif self._first != seen.first and not self.damage:
            self.troubles.append(
                Problem(
                    what=f"this is another book than the one last seen here, which held {seen.lines} lines",
                    right="Nothing, if it was put here on purpose; else look for the former file.",
                )
            )
        elif lines.stated_sum(data[max(0, seen.end - 64) : seen.end]) != seen.last and not self.damage:
            self._hurt(
                f"the file is not the one last seen: it parts from it before line {seen.lines} ends",
                "Merge both copies into a new book. If this one was put here on purpose, accept it, and it counts as the book.",
                line=seen.lines,
            )

    def _consume(self, data: bytes) -> None:
        """Takes up the bytes that follow ``_end``."""
        position = 0
        self._torn = b""
        if self._open_ended and data:
            if not data.startswith(b"\n"):
                self._hurt(f"line {self._count} goes on after its end", WAY_ON, line=self._count)
                return
            self._open_ended = False
            position = 1
        while (newline := data.find(b"\n", position)) >= 0:
            self._count += 1
            raw = data[position:newline]
            try:
                self._take(lines.decode(raw, self._count))
            except LineError as problem:
                self._hurt(f"line {self._count} {problem}", WAY_ON, line=self._count)
                self._last = lines.stated_sum(raw)
            position = newline + 1
        tail = data[position:]
        if tail:
            try:
                line = lines.decode(tail, self._count + 1)
            except LineError:
                self._torn = tail
            else:
                self._count += 1
                self._take(line)
                self._open_ended = True
                position = len(data)
        self._digest.update(data[:position])
        self._end += position

    def _take(self, line: Line) -> None:
        if self._last is not None and line.prev != self._last:
            self._hurt(
                f"line {line.number} does not follow the line before it: a line is missing, moved or was put in between",
                WAY_ON,
                line=line.number,
            )
        self._last = line.sum
        if line.id in self.number_of:
            first = self.number_of[line.id]
            self.troubles.append(
                Problem(
                    what=f"line {line.number} repeats the id of line {first}; it is kept and skipped",
                    right="Nothing: the first holds.",
                    entry=line.id,
                    line=line.number,
                )
            )
            return
        if not self.good:
            self._first = line.sum
        self.good.append(line)
        self.number_of[line.id] = line.number

    def _begins_as_read(self, fd: int) -> bool:
        digest = hashlib.blake2b()
        left = self._end
        os.lseek(fd, 0, os.SEEK_SET)
        while left and (chunk := os.read(fd, min(left, 1 << 20))):
            digest.update(chunk)
            left -= len(chunk)
        return left == 0 and digest.digest() == self._digest.digest()

    def _hurt(self, what: str, right: str, line: int | None = None) -> None:
        problem = Problem(what=what, right=right, line=line)
        self.troubles.append(problem)
        self.damage = self.damage or problem

    def _lines(self) -> str:
        return f"{self._count} line{'' if self._count == 1 else 's'}"

    # -- writing -------------------------------------------------------------------------------------------------------

    @contextmanager
    def writing(self) -> Iterator[None]:
        """Holds the lock with the file read up to its end; may be nested.

        Raises:
            ReadOnlyBook: the book is damaged, or may not be written.
            BookBusy: another program held it for too long.
        """
        with self._lock.exclusive():
            if not self.damage:
                self._sync()
            if self.damage:
                raise ReadOnlyBook(
                    "The book is damaged",
                    f"{self.path}: {self.damage.what}. It is open for reading only. {self.damage.right}",
                )
            yield

    def append(self, contents: Sequence[bytes]) -> list[Line]:
        """Writes contents as lines, all of them or none, and returns when they are on the disk. Only within :meth:`writing`.

        Raises:
            BookError: they could not be written; the file is as it was before.
        """
        if not contents:
            return []
        payload = bytearray(b"\n" if self._open_ended else b"")
        prev = self._last or ""
        for content in contents:
            line, prev = lines.encode(content, prev)
            payload += line + b"\n"
        known = len(self.good)
        try:
            fd = os.open(self.path, os.O_WRONLY | os.O_APPEND | disk.BINARY | disk.CLOSE_ON_EXEC)
            try:
                if self._seen is None or _key(os.fstat(fd))[:3] != self._seen[:3]:
                    raise BookError(
                        "The file was touched", f"Something else is writing {self.path}. Nothing was written; try again."
                    )
                if self._torn:
                    self._set_aside(fd)
                disk.append_or_cut_back(fd, bytes(payload), self._end)
                self._consume(bytes(payload))
                self._seen = _key(os.fstat(fd))
            finally:
                os.close(fd)
        except OSError as problem:
            self._seen = None if self._seen is None else (*self._seen[:3], -1)
            raise from_os(problem, self.path, "writing") from problem
        self._remember()
        return self.good[known:]

    def _set_aside(self, fd: int) -> None:
        """Moves the unfinished last line into a file of its own, then cuts it off."""
        stamp = datetime.now(UTC).strftime("%Y%m%dT%H%M%SZ")
        number = 1
        while True:
            place = self.path.with_name(f"{self.path.name}.torn-{stamp}" + (f"-{number}" if number > 1 else ""))
            try:
                disk.write_new(place, self._torn)
                break
            except FileExistsError:
                number += 1
        os.ftruncate(fd, self._end)
        disk.sync(fd)
        self.troubles.append(
            Problem(
                what=f"line {self._count + 1} was never finished; its {len(self._torn)} bytes were set aside in {place.name}",
                right="Look into it, and log again what is missing.",
                line=self._count + 1,
            )
        )
        self._torn = b""

    def _remember(self, known: witness.Witness | None = None) -> None:
        if self._use_witness:
            now = witness.Witness(lines=self._count, end=self._last_byte(), first=self._first, last=self._last or "")
            if now != known:
                witness.remember(self.path, now)

    def _last_byte(self) -> int:
        """Where the last line ends, its newline not counted."""
        return self._end if self._open_ended or not self._end else self._end - 1

    # -- the place -----------------------------------------------------------------------------------------------------

    def _check_place(self, create: bool) -> None:
        try:
            mode = os.stat(self.path).st_mode
        except FileNotFoundError:
            if not create:
                raise _missing(self.path) from None
            return
        except OSError as problem:
            raise _cannot_open(problem, self.path) from None
        if stat.S_ISDIR(mode):
            raise NotABook("Not a book", f"{self.path} is a folder. Name the file in it, such as workshop.logbook.jsonl.")
        if not stat.S_ISREG(mode):
            raise NotABook("Not a book", f"{self.path} is not a file. A book is a file named like workshop.logbook.jsonl.")

    def _create(self) -> None:
        try:
            self.path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
            with self._lock.exclusive(), contextlib.suppress(FileExistsError):
                disk.write_new(self.path, b"")
                if self._use_witness:
                    witness.forget(self.path)
        except OSError as problem:
            raise from_os(problem, self.path, "making") from None


def _key(status: os.stat_result) -> tuple[int, int, int, int]:
    return (status.st_dev, status.st_ino, status.st_size, status.st_mtime_ns)


def _read_from(fd: int, offset: int) -> bytes:
    os.lseek(fd, offset, os.SEEK_SET)
    chunks = []
    while chunk := os.read(fd, 1 << 22):
        chunks.append(chunk)
    return b"".join(chunks)


def _missing(path: Path) -> BookError:
    seen = witness.recall(path)
    lost = f" When last seen there was a book of {seen.lines} lines; look for it first." if seen and seen.lines else ""
    return BookError(
        "No book here", f"There is no file {path}.{lost} Make one with `bathkeeper new`, or name another with --book."
    )


def _cannot_open(problem: OSError, path: Path) -> BookError:
    if isinstance(problem, FileNotFoundError):
        return _missing(path)
    if isinstance(problem, PermissionError):
        return BookError("No permission", f"{path} may not be read. Ask its owner for permission, or use a copy of your own.")
    return BookError("The file failed", f"{problem.strerror or problem} while opening {path}. Name another book with --book.")
