"""ruff and mypy are clean, and no file outgrows its subject unnoticed."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


@pytest.mark.parametrize("command", [["ruff", "check", "."], ["mypy"]], ids=["ruff", "mypy"])
def test_clean(command):
    done = subprocess.run([sys.executable, "-m", *command], capture_output=True, text=True, cwd=ROOT, check=False)
    assert done.returncode == 0, done.stdout[-4000:] + done.stderr[-2000:]


def test_every_module_says_what_it_is():
    silent = [str(p.relative_to(ROOT)) for p in ROOT.glob("bathkeeper/**/*.py") if not p.read_text().lstrip().startswith('"""')]
    assert not silent


def test_no_file_is_over_500_lines():
    long = [str(p.relative_to(ROOT)) for p in ROOT.glob("bathkeeper/**/*.py") if len(p.read_text().splitlines()) > 500]
    assert not long
