"""What can go wrong with a book: one tree of errors, each with a title and a message that says what would be right."""

from __future__ import annotations

import errno
from pathlib import Path

from bathkeeper.findings import Problem


class BookError(Exception):
    """Something about the book that a person must know. ``title`` is a few words, ``message`` says what to do about it."""

    def __init__(self, title: str, message: str) -> None:
        super().__init__(f"{title}: {message}")
        self.title = title
        self.message = message


class NotABook(BookError):
    """There is a file, but it is not a book."""


class ReadOnlyBook(BookError):
    """The book can be read, not written: it is damaged, or permission is lacking."""


class BookBusy(BookError):
    """Another program kept the book locked for longer than we wait."""


class EntryRefused(BookError):
    """An entry that cannot be stored; nothing was written."""


class DuplicateEntry(EntryRefused):
    """An entry whose id is already in the book; nothing was written."""


class InsertOnly(BookError):
    """Something was asked that would change or remove an entry."""


class MergeConflict(BookError):
    """Two books hold the same id with different content; nothing was written.

    ``conflicts`` holds (id, content here, content there) as JSON text.
    """

    def __init__(self, title: str, message: str, conflicts: tuple[tuple[str, str, str], ...]) -> None:
        super().__init__(title, message)
        self.conflicts = conflicts


class ImportRefused(BookError):
    """Rows that cannot become entries; nothing was written. ``rows`` names each with its line number and reason."""

    def __init__(self, title: str, message: str, rows: tuple[Problem, ...]) -> None:
        super().__init__(title, message)
        self.rows = rows


_FULL = {errno.ENOSPC, errno.EFBIG, errno.EDQUOT if hasattr(errno, "EDQUOT") else errno.ENOSPC}
_FORBIDDEN = {errno.EACCES, errno.EPERM, errno.EROFS}


def from_os(problem: OSError, path: Path, doing: str) -> BookError:
    """The book error that an operating system error amounts to; ``doing`` completes "while ..."."""
    if problem.errno in _FULL:
        return BookError(
            "No room left",
            f"The disk (or your share of it) is full, while {doing} {path}. Nothing of it was kept. "
            "Free some space and try again.",
        )
    if problem.errno in _FORBIDDEN:
        return ReadOnlyBook(
            "No permission",
            f"{path} may not be written ({problem.strerror}), while {doing} it. "
            "Ask its owner for permission, or use a copy of your own.",
        )
    return BookError("The file failed", f"{problem.strerror or problem} while {doing} {path}. Nothing of it was kept.")
