"""How the app looked the last time: the theme's name, in the platform's state folder. What cannot be read is done without."""

from __future__ import annotations

import json
import os
from pathlib import Path

import platformdirs


class Looks:
    """Remembers the theme between starts."""

    def __init__(self, folder: Path | None = None) -> None:
        place = folder if folder is not None else platformdirs.user_state_path("bathkeeper", appauthor=False)
        self._file = Path(place) / "looks.json"

    @property
    def theme(self) -> str | None:
        """The name of the theme chosen last."""
        try:
            found = json.loads(self._file.read_text(encoding="utf-8"))["theme"]
        except (OSError, ValueError, KeyError, TypeError):
            return None
        return found if isinstance(found, str) else None

    def remember(self, theme: str) -> None:
        """Keeps it, unless it is kept already."""
        if theme == self.theme:
            return
        try:
            self._file.parent.mkdir(parents=True, exist_ok=True)
            fresh = self._file.with_name(f"{self._file.name}.{os.getpid()}")
            fresh.write_text(json.dumps({"theme": theme}), encoding="utf-8")
            os.replace(fresh, self._file)
        except OSError:
            pass
