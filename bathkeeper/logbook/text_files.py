"""Files that somebody else's program wrote, opened for reading: their bytes in chunks, their checksum, never all at once."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator
from pathlib import Path

from bathkeeper.logbook.errors import BookError

CHUNK = 1 << 18


def chunks_of(path: Path, seen: Callable[[int], None] | None = None) -> Iterator[bytes]:
    """The file's bytes from its beginning; ``seen`` is told how many more there are each time.

    Raises:
        BookError: it is not there, is a folder or something endless, or cannot be read.
    """
    place = Path(path).expanduser()
    try:
        if place.exists() and not place.is_file():
            what = "a folder" if place.is_dir() else "not an ordinary file"
            raise BookError("Not a file", f"{place} is {what}. Name a file that a logger wrote.")
        with place.open("rb") as file:
            while chunk := file.read(CHUNK):
                if seen is not None:
                    seen(len(chunk))
                yield chunk
    except FileNotFoundError:
        raise BookError("No such file", f"There is no file {place}.") from None
    except OSError as problem:
        raise BookError("The file cannot be read", f"{place}: {problem.strerror or problem}.") from None


def sha256_of(path: Path) -> str:
    """The file's checksum as hexadecimal text. Raises as :func:`chunks_of`."""
    digest = hashlib.sha256()
    for chunk in chunks_of(path):
        digest.update(chunk)
    return digest.hexdigest()


def size_of(path: Path) -> int:
    """The file's size in bytes; 0 where that cannot be told."""
    try:
        return Path(path).expanduser().stat().st_size
    except OSError:
        return 0
