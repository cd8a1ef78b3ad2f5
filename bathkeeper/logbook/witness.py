"""A memory of how far each book reached when last seen, so that a shortened one is noticed by the next program too.

It lives in the platform's cache folder (``BATHKEEPER_CACHE`` chooses another), one small file for each path, and may be thrown
away at any time: then only the lines themselves speak. It is written after the book is synced and under the book's lock, so
it is never ahead of the book.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import zlib
from pathlib import Path

import msgspec
import platformdirs

from bathkeeper.logbook.disk import BINARY, CLOSE_ON_EXEC

_RECORD_BYTES = 256


class Witness(msgspec.Struct, frozen=True, kw_only=True):
    """``lines`` lines reaching to byte ``end`` (its newline not counted); sums of the first and the last of them."""

    lines: int
    end: int
    first: str
    last: str


def cache_folder() -> Path:
    """Where witnesses are kept."""
    chosen = os.environ.get("BATHKEEPER_CACHE")
    return Path(chosen) if chosen else platformdirs.user_cache_path("bathkeeper", appauthor=False)


def _place(book: Path) -> Path:
    return cache_folder() / "last-seen" / hashlib.sha256(os.fsencode(book)).hexdigest()[:32]


def recall(book: Path) -> Witness | None:
    """What was last seen at this resolved path; None when there is nothing, or nothing readable."""
    try:
        record = _place(book).read_bytes()
        check, _, text = record.strip().partition(b" ")
        if int(check, 16) != zlib.crc32(text):
            return None
        return msgspec.json.decode(text, type=Witness)
    except (OSError, ValueError, msgspec.MsgspecError):
        return None


def remember(book: Path, seen: Witness) -> None:
    """Overwrites what was last seen. A cache that cannot be written is no reason to refuse an entry."""
    text = msgspec.json.encode(seen)
    record = (f"{zlib.crc32(text):08x} ".encode() + text).ljust(_RECORD_BYTES - 1) + b"\n"
    place = _place(book)
    flags = os.O_WRONLY | os.O_CREAT | BINARY | CLOSE_ON_EXEC
    with contextlib.suppress(OSError):
        try:
            fd = os.open(place, flags, 0o600)
        except FileNotFoundError:
            place.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
            fd = os.open(place, flags, 0o600)
        try:
            # In place and always the same length: a rename for each entry would cost more than the entry itself.
            os.write(fd, record)
        finally:
            os.close(fd)


def forget(book: Path) -> None:
    """Throws away what was last seen, for a book that was shortened or replaced on purpose."""
    with contextlib.suppress(OSError):
        _place(book.resolve()).unlink()
