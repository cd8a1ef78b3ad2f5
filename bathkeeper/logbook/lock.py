"""One holder at a time: a thread lock within the program and a sidecar file lock between programs, held for one operation."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from filelock import FileLock, Timeout

from bathkeeper.logbook.errors import BookBusy, from_os

PATIENCE_S = 15.0
READERS_PATIENCE_S = 2.0
_POLL_S = 0.003


class BookLock:
    """The lock of the book at a resolved path, in ``<book>.lock`` beside it; the system lets go of it when a program dies."""

    def __init__(self, book: Path, patience_s: float = PATIENCE_S) -> None:
        self.path = book.with_name(book.name + ".lock")
        self._book = book
        self._patience_s = patience_s
        self._threads = threading.RLock()
        self._depth = 0
        # Not thread-local: the thread lock around it already lets only one thread in.
        self._file = FileLock(str(self.path), mode=0o600, thread_local=False)

    @contextmanager
    def exclusive(self) -> Iterator[None]:
        """Holds both locks; may be nested.

        Raises:
            BookBusy: another program held the book for too long.
            BookError: the lock file cannot be made.
        """
        with self._threads:
            if self._depth == 0:
                try:
                    self._file.acquire(timeout=self._patience_s, poll_interval=_POLL_S)
                except Timeout:
                    raise BookBusy(
                        "The book is busy",
                        f"Another program has held {self._book} for {self._patience_s:g} s. Nothing was written; "
                        "try again, or close it.",
                    ) from None
                except OSError as problem:
                    raise from_os(problem, self.path, "locking") from None
            self._depth += 1
            try:
                yield
            finally:
                self._depth -= 1
                if self._depth == 0:
                    self._file.release()

    @contextmanager
    def if_possible(self) -> Iterator[bool]:
        """Holds both locks where the file lock can be had, else the thread lock alone: a reader must be able to read from a
        folder that it may not write to. Yields whether the file lock is held."""
        with self._threads:
            held = True
            try:
                if self._depth == 0:
                    self._file.acquire(timeout=min(self._patience_s, READERS_PATIENCE_S), poll_interval=_POLL_S)
            except (Timeout, OSError):
                held = False
            if not held:
                yield False
                return
            self._depth += 1
            try:
                yield True
            finally:
                self._depth -= 1
                if self._depth == 0:
                    self._file.release()
