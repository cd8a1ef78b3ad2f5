"""Bytes that reach the disk whole or not at all: appending with a way back, new files, syncing a file and its folder."""

from __future__ import annotations

import contextlib
import errno
import os
import sys
from pathlib import Path

BINARY: int = getattr(os, "O_BINARY", 0)
CLOSE_ON_EXEC: int = getattr(os, "O_CLOEXEC", 0)


def sync(fd: int) -> None:
    """Returns when the file's bytes are on the disk itself."""
    if sys.platform == "darwin":
        import fcntl

        # fsync on macOS stops at the drive's own cache.
        with contextlib.suppress(OSError):
            fcntl.fcntl(fd, fcntl.F_FULLFSYNC)
            return
    os.fsync(fd)


def sync_folder(folder: Path) -> None:
    """Makes a new or renamed file in the folder last; does nothing where folders cannot be synced."""
    if os.name == "nt":
        return
    fd = os.open(folder, os.O_RDONLY | CLOSE_ON_EXEC)
    try:
        with contextlib.suppress(OSError):
            os.fsync(fd)
    finally:
        os.close(fd)


def write_all(fd: int, payload: bytes) -> None:
    """Writes every byte; a disk that takes none is an error (OSError)."""
    rest = memoryview(payload)
    while rest:
        written = os.write(fd, rest)
        if written == 0:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        rest = rest[written:]


def append_or_cut_back(fd: int, payload: bytes, start: int) -> None:
    """Appends and syncs; on any failure cuts the file back to ``start`` bytes and raises what went wrong.

    ``fd`` was opened for appending and the file ends at ``start``.
    """
    try:
        write_all(fd, payload)
        sync(fd)
    except BaseException:
        # Should even this fail, an unfinished line stays, which the next reader finds and the next writer sets aside.
        with contextlib.suppress(OSError):
            os.ftruncate(fd, start)
            sync(fd)
        raise


def write_new(path: Path, payload: bytes) -> None:
    """Writes a file that must not exist yet, mode 0600, and syncs it and its folder.

    Raises:
        FileExistsError: it does.
        OSError: it could not be written; nothing of it is left.
    """
    fd = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | BINARY | CLOSE_ON_EXEC, 0o600)
    try:
        write_all(fd, payload)
        sync(fd)
    except BaseException:
        with contextlib.suppress(OSError):
            os.unlink(path)
        raise
    finally:
        os.close(fd)
    sync_folder(path.parent)
