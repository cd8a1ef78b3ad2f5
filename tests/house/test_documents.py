"""README and CI say the same, and what the README promises is there."""

from __future__ import annotations

import re
from pathlib import Path

from bathkeeper.cli.program import program

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text()
FENCED = [line for block in re.findall(r"```[a-z]*\n(.*?)```", README, re.S) for line in block.splitlines() if line.strip()]


def test_the_first_two_fenced_lines_are_the_two_commands():
    assert FENCED[0].endswith("bathkeeper demo")
    assert "pytest" in FENCED[1]


def test_ci_runs_exactly_the_second():
    assert (ROOT / ".ci" / "run").read_text().splitlines()[-1] == FENCED[1]


def test_every_verb_is_in_the_readme_and_has_help():
    for name, verb in program.commands.items():
        assert f"`{name}" in README, name
        assert verb.help or verb.short_help, name


def test_pictures_are_there():
    for picture in re.findall(r"!\[.*?\]\((.*?)\)", README):
        assert (ROOT / picture).exists(), picture
