"""The live run's own file beside the book: one act a line, on the disk before it counts, one window at a time.

``<book>.live.jsonl`` holds lines like the book's (see ``lines.py``): each act as JSON with the sum of the line before and its
own. When the run's entry is in the book, the file is put away as ``<book>.live.last.jsonl``, over the one before.
"""

from __future__ import annotations

import itertools
import os
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from bathkeeper.findings import Problem
from bathkeeper.logbook import disk, lines
from bathkeeper.logbook.errors import BookError, ReadOnlyBook, from_os
from bathkeeper.logbook.lines import LineError
from bathkeeper.logbook.lock import BookLock


class MovedOn(BookError):
    """Another window moved the run on meanwhile; nothing was written."""


def live_path(book: Path) -> Path:
    """The live run's file of a book."""
    return book.with_name(book.name + ".live.jsonl")


def last_path(book: Path) -> Path:
    """Where the file of the last run that is over is kept."""
    return book.with_name(book.name + ".live.last.jsonl")


class LiveFile:
    """The file of the live run. It is held open and locked only within a call.

    Attributes:
        acts: every act on record as plain values, in order; empty when there is no live run.
        damage: a line that does not verify, or does not follow the one before: nothing more is written.
        generation: rises when ``acts`` begin anew; else they only grow.
    """

    def __init__(self, book: Path) -> None:
        self.path = live_path(book)
        self.acts: list[dict[str, Any]] = []
        self.damage: Problem | None = None
        self._last_path = last_path(book)
        self._lock = BookLock(self.path)
        self.generation = 0
        self._held = 0
        self._seen: tuple[int, int, int, int] | None = None
        self._whole = b""  # the bytes of all lines taken up so far
        self._last = ""
        self._torn = b""
        self._open_ended = False
        self.refresh()

    @property
    def torn(self) -> Problem | None:
        """An unfinished last line: an act that was never acknowledged."""
        if not self._torn:
            return None
        return Problem(
            what=f"the last act of the live run was never finished ({len(self._torn)} bytes) and does not count",
            right="Do it again, if it was done. The next act sets it aside in a file beside the book.",
            line=len(self.acts) + 1,
        )

    @property
    def problems(self) -> list[Problem]:
        return [*([self.damage] if self.damage else []), *([self.torn] if self.torn else [])]

    def refresh(self) -> bool:
        """Takes up what was written since, here or elsewhere; whether there is anything new. One stat when there is not.

        Raises:
            BookError: the file cannot be read.
        """
        try:
            fd = os.open(self.path, os.O_RDONLY | disk.BINARY | disk.CLOSE_ON_EXEC)
        except FileNotFoundError:
            had = bool(self.acts or self._torn or self.damage)
            self._forget()
            return had
        except OSError as problem:
            raise from_os(problem, self.path, "reading") from None
        try:
            status = os.fstat(fd)
            seen = (status.st_dev, status.st_ino, status.st_size, status.st_mtime_ns)
            if seen == self._seen:
                return False
            data = _read(fd)
        except OSError as problem:
            raise from_os(problem, self.path, "reading") from None
        finally:
            os.close(fd)
        if not data.startswith(self._whole) or self._open_ended:
            self._forget()
        self._seen = seen
        self._consume(data)
        return True

    @contextmanager
    def writing(self) -> Iterator[None]:
        """Holds the live run for itself, read up to its end; may be nested.

        Raises:
            BookBusy: another program held it for too long. BookError: it cannot be read.
        """
        with self._lock.exclusive():
            self.refresh()
            self._held += 1
            try:
                yield
            finally:
                self._held -= 1

    def append(self, acts: Sequence[Mapping[str, Any]]) -> None:
        """Writes acts (each with ``kind``), all or none, and returns when they are on the disk. Only within :meth:`writing`.

        Raises:
            ReadOnlyBook: the file is damaged. BookError: it cannot be written; nothing was.
        """
        assert self._held
        if self.damage:
            raise ReadOnlyBook(
                "The live run's file is damaged",
                f"{self.path}: {self.damage.what}. {self.damage.right}",
            )
        payload = bytearray(b"\n" if self._open_ended else b"")
        prev = self._last
        for number, act in enumerate(acts, start=len(self.acts) + 1):
            raw = {"kind": act["kind"], "id": f"act-{number:06d}", **{k: v for k, v in act.items() if k not in ("kind", "id")}}
            try:
                line, prev = lines.encode(lines.encode_content(raw), prev)
            except LineError as problem:
                raise BookError("Not an act", f"Nothing was written: it {problem}.") from None
            payload += line + b"\n"
        try:
            self._write(bytes(payload))
        except OSError as problem:
            self._seen = None
            raise from_os(problem, self.path, "writing") from None
        self.refresh()

    def put_away(self) -> None:
        """Takes the file out of the way, over the one of the run before. Only within :meth:`writing`.

        Raises:
            BookError: it cannot be moved.
        """
        assert self._held
        try:
            os.replace(self.path, self._last_path)
            disk.sync_folder(self.path.parent)
        except FileNotFoundError:
            pass
        except OSError as problem:
            raise from_os(problem, self.path, "putting away") from None
        self._forget()

    def put_aside(self) -> Path:
        """Takes a file that cannot be used out of the way, under a name of its own; where it is. Only within :meth:`writing`.

        Raises:
            BookError: it cannot be moved.
        """
        assert self._held
        numbers = (f".damaged-{n}" for n in itertools.count(1))
        aside = next(p for n in numbers if not (p := self.path.with_name(self.path.name + n)).exists())
        try:
            os.rename(self.path, aside)
            disk.sync_folder(self.path.parent)
        except OSError as problem:
            raise from_os(problem, self.path, "putting aside") from None
        self._forget()
        return aside

    # -- inside --------------------------------------------------------------------------------------------------------

    def _forget(self) -> None:
        self.generation += 1
        self.acts = []
        self.damage = None
        self._seen = None
        self._whole = b""
        self._last = ""
        self._torn = b""
        self._open_ended = False

    def _consume(self, data: bytes) -> None:
        position = len(self._whole)
        self._torn = b""
        while (newline := data.find(b"\n", position)) >= 0:
            self._take(data[position:newline])
            position = newline + 1
        tail = data[position:]
        if tail:
            try:
                lines.decode(tail, len(self.acts) + 1)
            except LineError:
                self._torn = tail
            else:
                self._take(tail)
                self._open_ended = True
                position = len(data)
        self._whole = data[:position]

    def _take(self, raw: bytes) -> None:
        number = len(self.acts) + 1
        try:
            line = lines.decode(raw, number)
        except LineError as problem:
            self._hurt(f"line {number} of the live run {problem}")
            return
        if line.prev != self._last:
            self._hurt(f"line {number} of the live run does not follow the line before it")
        self._last = line.sum
        self.acts.append(line.plain())

    def _hurt(self, what: str) -> None:
        right = "What can be read is shown. Finish or abandon the run, which enters that; mend the entry by a correction."
        self.damage = self.damage or Problem(what=what, right=right)

    def _write(self, payload: bytes) -> None:
        if not self.path.exists():
            disk.write_new(self.path, payload)
            return
        fd = os.open(self.path, os.O_WRONLY | os.O_APPEND | disk.BINARY | disk.CLOSE_ON_EXEC)
        try:
            if self._torn:
                aside = self.path.with_name(self.path.name + ".torn")
                aside.write_bytes(self._torn)
                os.ftruncate(fd, len(self._whole))
                disk.sync(fd)
            disk.append_or_cut_back(fd, payload, len(self._whole))
        finally:
            os.close(fd)


def _read(fd: int) -> bytes:
    chunks = []
    while chunk := os.read(fd, 1 << 20):
        chunks.append(chunk)
    return b"".join(chunks)
