"""What nobody foresaw: the traceback goes to a file, the person gets a sentence."""

from __future__ import annotations

import os
import traceback
from datetime import UTC, datetime
from pathlib import Path


def log_path() -> Path:
    """The file in the platform's state folder that tracebacks are added to."""
    import platformdirs

    return platformdirs.user_state_path("bathkeeper", appauthor=False) / "errors.log"


def keep(problem: Exception) -> str:
    """Adds the traceback to the log file; returns what to tell the person. Locals are not written: they may hold notes."""
    text = "".join(traceback.format_exception(problem))
    entry = f"--- {datetime.now(UTC).isoformat()}\n{text}\n"
    place = log_path()
    what = type(problem).__name__
    told = f"bathkeeper met something unforeseen ({what}) and stopped; what was acknowledged is in the book."
    try:
        place.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        fd = os.open(place, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o600)
        with open(fd, "w", encoding="utf-8", errors="backslashreplace") as file:
            file.write(entry)
    except OSError as hindrance:
        return f"{told} The details could not be kept in {place} ({hindrance.strerror}):\n{text}"
    return f"{told} The details are in {place}"
