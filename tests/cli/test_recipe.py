"""Recipes told in full."""

from __future__ import annotations

import json

from click.testing import CliRunner

from bathkeeper.catalogue.loader import load
from bathkeeper.cli.program import program
from bathkeeper.workshop import Workshop


def run(*words: str) -> str:
    done = CliRunner().invoke(program, words)
    assert done.exit_code == 0, done.output
    return done.output


def test_every_recipe_can_be_shown_with_its_standing():
    for name in load().recipes:
        text = run("recipe", "show", name)
        assert any(word in text for word in ("seen", "derived", "memory", "practice")), name
        assert json.loads(run("recipe", "show", name, "--json"))["name"] == name


def test_the_list_is_the_catalogue():
    assert {r["recipe"] for r in json.loads(run("recipe", "list", "--json"))} == set(load().recipes)


def test_a_keepers_own_stands_beside_the_catalogues(tmp_path):
    book = tmp_path / "shed.logbook.jsonl"
    workshop = Workshop.new(book, "Shed", "zinc-nickel-line")
    body = {"tank": "electrolyte", "of": "zinc", "high": 38.0}
    workshop.log({"kind": "definition", "at": "2026-01-01T00:00:00Z", "of": "limit", "name": "my zinc", "body": body})
    text = run("recipe", "show", "electrolyte", "--book", str(book))
    assert "25 to 38" in text
    assert "the catalogue says 25 to 40" in text


def test_an_unknown_recipe_names_near_ones():
    done = CliRunner().invoke(program, ["recipe", "show", "zinc-nikel"])
    assert done.exit_code == 2
    assert "zinc-nickel" in done.output
