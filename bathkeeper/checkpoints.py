"""A world kept between two starts, so that a long book need not be read from its first entry every time.

Only a cache: it lies in the platform's cache folder, is keyed by the entries, the code and the catalogue, and may be thrown
away. What does not match to the last byte is not used.
"""

from __future__ import annotations

import hashlib
import os
import pickle
import sys
import tempfile
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path
from typing import Any

import msgspec
import platformdirs

from bathkeeper.entries import AnyEntry, Unknown
from bathkeeper.estimate.fold import Fold

WORTH_KEEPING = 100  # entries that had to be read anew before a new checkpoint is written
ROOMS = ("estimate", "chemistry", "catalogue", "entries")


def restore(fold: Fold, book: Path, entries: Sequence[AnyEntry | Unknown]) -> int:
    """Gives the fold the kept world of this book, if its entries are the beginning of these; returns how many it covers."""
    try:
        position, key, world, decisions = pickle.loads(_place(book).read_bytes())
        if position > len(entries) or key != _key(entries[:position]):
            return 0
    except Exception:
        # Whatever is wrong with a cache (missing, torn, of another version), the answer is the same: read the book.
        return 0
    fold.restore(entries[:position], world, decisions)
    return int(position)


def keep(fold: Fold, book: Path, entries: Sequence[AnyEntry | Unknown]) -> None:
    """Writes the fold's last world for the next start; what cannot be written is left."""
    position, world, decisions = fold.kept()
    place = _place(book)
    with suppress(OSError):
        place.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        handle, name = tempfile.mkstemp(dir=place.parent)
        with os.fdopen(handle, "wb") as file:
            pickle.dump((position, _key(entries[:position]), world, decisions), file, protocol=5)
        os.replace(name, place)


def _place(book: Path) -> Path:
    folder = os.environ.get("BATHKEEPER_CACHE") or platformdirs.user_cache_path("bathkeeper", appauthor=False)
    return Path(folder) / "worlds" / hashlib.sha256(str(book.resolve()).encode()).hexdigest()[:32]


def _key(entries: Sequence[AnyEntry | Unknown]) -> str:
    digest = hashlib.sha256(_code().encode())
    encoder = msgspec.json.Encoder()
    for entry in entries:
        digest.update(encoder.encode(entry))
    return digest.hexdigest()


def _code() -> str:
    """Names, sizes and times of every file that the estimate depends on."""
    home = Path(__file__).parent
    files: list[Any] = [sys.version]
    for room in ROOMS:
        for path in sorted((home / room).rglob("*")) if (home / room).is_dir() else [home / room]:
            if path.suffix in (".py", ".toml"):
                stat = path.stat()
                files.append((str(path.relative_to(home)), stat.st_size, stat.st_mtime_ns))
    return repr(files)
