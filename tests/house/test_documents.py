"""README and CI say the same, and what the README promises is there."""

from __future__ import annotations

import re
from pathlib import Path

import click

from bathkeeper.answers.settings import HELP, settings_of
from bathkeeper.calculators.registry import CALCULATORS
from bathkeeper.catalogue.loader import load
from bathkeeper.cli.program import program

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text()
FENCED = [line for block in re.findall(r"```[a-z]*\n(.*?)```", README, re.S) for line in block.splitlines() if line.strip()]


def test_the_first_two_fenced_lines_are_the_two_commands():
    assert FENCED[0].endswith("bathkeeper demo")
    assert "pytest" in FENCED[1]


def test_ci_runs_exactly_the_second():
    assert (ROOT / ".ci" / "run").read_text().splitlines()[-1] == FENCED[1]


def test_the_readmes_verbs_are_the_real_ones_and_have_help():
    context = click.Context(program)
    told = {word.split()[0] for row in re.findall(r"^\| (`.*?) \|", README, re.M) for word in re.findall(r"`([^`]+)`", row)}
    assert told == set(program.list_commands(context))
    for name in told:
        verb = program.get_command(context, name)
        assert verb is not None and verb.help, name


def test_the_readmes_calculators_are_the_real_ones():
    row = next(line for line in README.splitlines() if line.startswith("| `calc`"))
    told = re.findall(r"[a-z]+", row.split(":", 1)[1])
    assert told == list(CALCULATORS)


def test_everything_in_the_catalogue_has_its_line_of_help():
    catalogue = load()
    for name in catalogue.recipes:
        assert len(catalogue.recipe(name).summary) > 20, name
    for method in catalogue.methods.values():
        assert method.title and method.of, method.name
    assert set(HELP) == set(settings_of(None))


def test_pictures_are_there():
    for picture in re.findall(r"!\[.*?\]\((.*?)\)", README):
        assert (ROOT / picture).exists(), picture
