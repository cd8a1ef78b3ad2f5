"""Writes the sample workshop: ``python -m tests.truth.make_sample [FOLDER]`` (``sample_data`` when not told).

Makes the book of an invented workshop through the logbook itself, so that its lines are chained and summed like any other, and
``truth.json`` beside it with what the simulation knows and the keeper does not. The same code gives the same files, byte for
byte.
"""

from __future__ import annotations

import json
import os
import shutil
import sys
import tempfile
from pathlib import Path
from typing import Any

from bathkeeper.entries import parse
from tests.truth.line import sample

BOOK, TRUTH = "lantern-sluice.logbook.jsonl", "truth.json"


def rounded(value: Any) -> Any:
    """Floats to six significant figures, all the way down: more would only make the file long."""
    if isinstance(value, float):
        return float(f"{value:.6g}")
    if isinstance(value, dict):
        return {name: rounded(item) for name, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [rounded(item) for item in value]
    return value


def write(folder: Path) -> tuple[Path, Path]:
    """Writes book and truth into ``folder``, over what is there; returns their paths.

    Raises:
        EntryError: an entry of the simulation is not one that a book takes.
    """
    from bathkeeper.logbook import Book, accept

    entries, truth = sample()
    book, truth_file = folder / BOOK, folder / TRUTH
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as workbench:
        fresh = Path(workbench) / BOOK
        Book.open(fresh, create=True).append_many([parse(raw) for raw in entries])
        shutil.copyfile(fresh, book)
        accept(fresh)  # forget the workbench
        accept(book)  # replaced on purpose
    os.chmod(book, 0o644)  # a sample to read, not a workshop's own book
    truth_file.write_text(json.dumps(rounded(truth), indent=1, ensure_ascii=False) + "\n", encoding="utf-8")
    return book, truth_file


def main() -> None:
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).resolve().parents[2] / "sample_data"
    for path in write(folder):
        print(path)


if __name__ == "__main__":
    main()
