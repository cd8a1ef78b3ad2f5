"""A copy of the sample workshop to look at and to try things on; it is thrown away by nobody and overwrites nothing."""

from __future__ import annotations

import tempfile
from datetime import datetime
from pathlib import Path

from bathkeeper.logbook.errors import BookError


def sample_copy(moment: datetime) -> Path:
    """Copies the shipped sample book into a fresh folder; returns the copy's path.

    Raises:
        BookError: the sample is not where it was shipped, or there is no room for a copy.
    """
    root = Path(__file__).resolve().parents[1]
    found = [*sorted((root / "data").glob("*.logbook.jsonl")), *sorted((root.parent / "sample_data").glob("*.logbook.jsonl"))]
    if not found:
        raise BookError("The sample is missing", "No sample_data/*.logbook.jsonl came with this installation; `bathkeeper new` sets up a line.")
    folder = Path(tempfile.mkdtemp(prefix="bathkeeper-sample-"))
    copy = folder / found[0].name
    copy.write_bytes(found[0].read_bytes())
    return copy
