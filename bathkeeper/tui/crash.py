"""What nobody foresaw: the traceback goes into a log file, without the values of any variable."""

from __future__ import annotations

import os
import traceback
from datetime import UTC, datetime
from pathlib import Path

import platformdirs


def log_path() -> Path:
    """The file in the platform's state folder that tracebacks are added to; the command line adds to the same."""
    return Path(platformdirs.user_state_path("bathkeeper", appauthor=False)) / "errors.log"


def note_crash(problem: BaseException) -> Path:
    """Writes an error with its traceback to the log; returns the file, written or not: telling must not fail as well."""
    path = log_path()
    lines = "".join(traceback.format_exception(problem))
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with open(
            os.open(path, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o600), "a", encoding="utf-8", errors="replace"
        ) as file:
            file.write(f"--- {datetime.now(UTC):%Y-%m-%d %H:%M:%S} UTC\n{lines}")
    except OSError:
        pass
    return path
