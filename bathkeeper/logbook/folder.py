"""A new folder of files, whole or not at all, and never over what is there."""

from __future__ import annotations

import contextlib
import os
import shutil
import tempfile
from collections.abc import Mapping
from pathlib import Path

from bathkeeper.logbook import disk
from bathkeeper.logbook.errors import BookError, from_os


def write_folder(path: Path, files: Mapping[str, bytes]) -> None:
    """Writes the files into a folder that does not exist yet, or that is empty.

    Raises:
        BookError: there is something at that place, or it cannot be written; nothing of it is left.
    """
    place = Path(path).expanduser()
    if place.is_symlink() or (place.exists() and not (place.is_dir() and not any(place.iterdir()))):
        raise BookError("There is something already", f"{place} is left alone. Name a folder that does not exist yet.")
    try:
        place.parent.mkdir(parents=True, exist_ok=True)
        made = Path(tempfile.mkdtemp(prefix=f".{place.name[:40]}-", dir=place.parent))
    except OSError as problem:
        raise from_os(problem, place, "writing") from None
    try:
        for name, payload in files.items():
            disk.write_new(made / name, payload)
        with contextlib.suppress(OSError):
            place.rmdir()  # an empty one makes room
        os.rename(made, place)
        disk.sync_folder(place.parent)
    except BaseException as problem:
        shutil.rmtree(made, ignore_errors=True)
        if isinstance(problem, OSError):
            raise from_os(problem, place, "writing") from None
        raise
