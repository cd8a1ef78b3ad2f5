"""Every number in every TOML table says where it comes from, and nothing seen or derived goes without its source."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from importlib.resources import files
from importlib.resources.abc import Traversable
from typing import Any

import pytest

from bathkeeper.catalogue.loader import load

WITHOUT_NUMBERS_OF_THEIR_OWN = {"working_volume_l"}  # a template's volumes are the keeper's to change


WITHOUT_NUMBERS = ("templates.toml",)


def toml_files() -> list[Traversable]:
    root = files("bathkeeper.catalogue")
    return [f for d in (root, root / "recipes", root / "pieces") for f in d.iterdir() if f.name.endswith(".toml")]


def tables_with_numbers(raw: Any, path: str) -> Iterator[tuple[str, dict[str, Any]]]:
    if isinstance(raw, dict):
        numbers = [k for k, v in raw.items() if isinstance(v, (int, float)) and not isinstance(v, bool)]
        if set(numbers) - WITHOUT_NUMBERS_OF_THEIR_OWN:
            yield path, raw
        for key, value in raw.items():
            yield from tables_with_numbers(value, f"{path}.{key}")
    elif isinstance(raw, list):
        for number, value in enumerate(raw):
            yield from tables_with_numbers(value, f"{path}[{number}]")


@pytest.mark.parametrize("file", toml_files(), ids=lambda f: f.name)
def test_every_number_has_a_status_and_every_fact_its_source(file: Traversable) -> None:
    found = list(tables_with_numbers(tomllib.loads(file.read_text(encoding="utf-8")), file.name))
    assert found or file.name in WITHOUT_NUMBERS
    for path, table in found:
        assert table.get("status") in ("seen", "derived", "memory", "practice"), path
        if table["status"] in ("seen", "derived"):
            assert len(table.get("source", "")) > 5, path


def test_the_walk_sees_a_number_without_a_status() -> None:
    raw = {"species": {"zinc": {"low": 1.0}}, "wear": [{"effects": [{"to": "zinc", "amount": 2}]}]}
    assert [p for p, _ in tables_with_numbers(raw, "x")] == ["x.species.zinc", "x.wear[0].effects[0]"]


@pytest.mark.parametrize("file", toml_files(), ids=lambda f: f.name)
def test_sources_are_names_that_a_stranger_can_follow(file: Traversable) -> None:
    """No private codes such as [S KR] or MFG12: the publication is spelled out."""
    for path, table in tables_with_numbers(tomllib.loads(file.read_text(encoding="utf-8")), file.name):
        source = table.get("source", "")
        assert not re.search(r"\[[SDMPW]\b|\bMFG\d|chemistry(-2)?\.md|\bKR\b", source), (path, source)
        if table["status"] in ("memory", "practice"):
            assert not source.startswith(("read in", "according to")), (path, source)


def test_cautions_stand_with_every_wet_bath_that_can_hurt() -> None:
    catalogue = load()
    for recipe in catalogue.recipes.values():
        assert recipe.cautions, recipe.name
    said = " ".join(c.text for r in catalogue.recipes.values() for c in r.cautions)
    for hazard in ("chromium(VI)", "chlorine", "hydrogen", "Nickel salts", "Acid into water", "cadmium", "bake", "nitric"):
        assert hazard.casefold() in said.casefold(), hazard
    assert "chlorine" in catalogue.metals["graphite"].caution
    assert "chromium(VI)" in catalogue.metals["stainless steel"].caution


def test_nothing_shipped_is_called_a_keepers_own() -> None:
    """What a recipe lays over its pieces has to name its own source."""
    for recipe in load().recipes.values():
        assert "keeper's own" not in str(recipe), recipe.name


def test_words_that_promise_what_nobody_can_keep_are_nowhere() -> None:
    for file in toml_files():
        text = file.read_text(encoding="utf-8").casefold()
        for word in ("optimal", "guaranteed", "safe to pour", "compliant", "non-hazardous"):
            assert word not in text, (file.name, word)
