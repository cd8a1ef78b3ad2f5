"""Writes the files of the corpus and the table of what they come to."""

from __future__ import annotations

import json

from tests.traces.making import FOLDER, every


def main() -> None:
    """Writes the files and their table."""
    FOLDER.mkdir(exist_ok=True)
    table = {}
    for c in every():
        (FOLDER / c.name).write_bytes(c.data)
        table[c.name] = {
            "ah": c.ah,
            "ask": c.ask,
            "answers": c.answers,
            "start": c.start,
            "doubts": c.doubts,
            "temperature": c.temperature,
        }
    (FOLDER / "table.json").write_text(json.dumps(table, indent=1, ensure_ascii=False) + "\n")


if __name__ == "__main__":
    main()
