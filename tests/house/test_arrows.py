"""Which way arrows run, and what start-up may load."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


def loaded_by(code: str) -> set[str]:
    """Top-level names in sys.modules after running code in a fresh interpreter."""
    tail = "\nimport sys, json; print(json.dumps(sorted({m.partition('.')[0] for m in sys.modules})), file=sys.stderr)"
    done = subprocess.run([sys.executable, "-c", code + tail], capture_output=True, text=True, cwd=ROOT, check=True)
    return set(json.loads(done.stderr.strip().splitlines()[-1]))


def test_import_contracts_hold():
    done = subprocess.run(
        [sys.executable, "-c", "from importlinter.cli import lint_imports_command; lint_imports_command()", "--no-cache"],
        capture_output=True,
        text=True,
        cwd=ROOT,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr


CORE = ("entries", "findings", "units.door", "catalogue.loader", "estimate.fold", "safety.hazards", "due.ranking", "workshop")


@pytest.mark.parametrize("module", CORE)
def test_the_core_cannot_load_a_screen(module):
    loaded = loaded_by(f"import bathkeeper.{module}")
    assert not loaded & {"textual", "rich", "click", "scipy", "pint"}


def test_chemistry_loads_nothing_of_ours_and_periodictable_only_when_asked():
    code = "import pkgutil, importlib, bathkeeper.chemistry as c\n"
    code += "for m in pkgutil.iter_modules(c.__path__): importlib.import_module('bathkeeper.chemistry.' + m.name)\n"
    code += "import sys; assert not [m for m in sys.modules if m.startswith('bathkeeper.') and '.chemistry' not in m]"
    assert "periodictable" not in loaded_by(code)


def test_status_loads_neither_textual_nor_pint_nor_scipy(tmp_path):
    book = tmp_path / "shed.logbook.jsonl"
    code = f"""
import sys
from bathkeeper.cli import main
for words in (["new", "Shed", "--template", "zinc-nickel-line", "--book", {str(book)!r}], ["status", "--book", {str(book)!r}]):
    sys.argv = ["bathkeeper", *words]
    try:
        main()
    except SystemExit as end:
        assert not end.code, end.code
"""
    assert not loaded_by(code) & {"textual", "pint", "scipy", "periodictable"}
