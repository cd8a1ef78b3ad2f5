"""The room knows nothing else of ours, and takes nothing heavy with it."""

from __future__ import annotations

import pkgutil
import subprocess
import sys

import bathkeeper.chemistry

CHEMISTRY = [f"bathkeeper.chemistry.{m.name}" for m in pkgutil.iter_modules(bathkeeper.chemistry.__path__)]


def test_importing_all_of_chemistry_brings_only_numpy() -> None:
    script = f"import sys\nfor name in {CHEMISTRY!r}:\n    __import__(name)\nprint('\\n'.join(sys.modules))"
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    loaded = set(done.stdout.split())
    assert set(CHEMISTRY) <= loaded
    ours = {name for name in loaded if name.startswith("bathkeeper.") and not name.startswith("bathkeeper.chemistry")}
    assert ours == set()
    heavy = {"scipy", "pint", "textual", "click", "tinydb", "periodictable", "msgspec", "rich"}
    assert heavy & {name.split(".")[0] for name in loaded} == set()
