"""What was typed into forms and not logged yet, kept as typed: in memory and in a file in the platform's state folder."""

from __future__ import annotations

import json
import os
from pathlib import Path

import platformdirs

Draft = dict[str, str]


class Drafts:
    """Texts by kind of entry and field, of one book. A file that cannot be read or written is done without."""

    def __init__(self, book: Path, folder: Path | None = None) -> None:
        place = folder if folder is not None else platformdirs.user_state_path("bathkeeper", appauthor=False)
        self._file = Path(place) / "drafts.json"
        self._book = os.path.abspath(book)
        self._kept: dict[str, Draft] = self._read().get(self._book, {})

    def get(self, kind: str) -> Draft:
        """The draft of a kind, or nothing."""
        return dict(self._kept.get(kind, {}))

    def keep(self, kind: str, draft: Draft) -> None:
        """Keeps a draft; an empty one is forgotten."""
        if self._kept.get(kind, {}) == draft:
            return
        if draft:
            self._kept[kind] = dict(draft)
        else:
            self._kept.pop(kind, None)
        self._write()

    def _read(self) -> dict[str, dict[str, Draft]]:
        try:
            found = json.loads(self._file.read_text(encoding="utf-8"))
            return {
                str(b): {str(k): {str(f): str(t) for f, t in d.items()} for k, d in kinds.items()} for b, kinds in found.items()
            }
        except (OSError, ValueError, AttributeError):
            return {}

    def _write(self) -> None:
        every = self._read()
        every[self._book] = self._kept
        if not self._kept:
            every.pop(self._book)
        try:
            self._file.parent.mkdir(parents=True, exist_ok=True)
            fresh = self._file.with_name(f"{self._file.name}.{os.getpid()}")
            with open(os.open(fresh, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "w", encoding="utf-8") as file:
                json.dump(every, file, ensure_ascii=True)
            os.replace(fresh, self._file)
        except OSError:
            pass
