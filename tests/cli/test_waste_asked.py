"""Waste put, treated and moved from the command line: what is asked or refused before it is written."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.conftest import Run, asked, told, written

# -- what must not meet --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("words", "gives"),
    [
        (("can-nitric", "put-in", "rags", "mass=1kg", "tank=electrolyte"), "nitrous fumes"),
        (("can-nitric", "put-in", "filters", "mass=1kg"), "nitrous fumes"),
        (("can-nitric", "treated", "bleached", "hydrogen peroxide 35%=1L"), "two oxidisers"),
        (("can-zinc", "treated", "neutralised", "sodium hypochlorite solution=1L"), "chloramines"),
        (("can-zinc", "treated", "neutralised", "sodium hypochlorite solution=1L"), "chlorine"),
        (("can-alk", "treated", "mixed", "hydrogen peroxide 35%=1L"), "oxygen"),
    ],
)
def test_what_must_not_meet_is_asked_about_however_it_goes_in(run: Run, yard: Path, words: tuple[str, ...], gives: str) -> None:
    said = asked(run, yard, "container", *words)
    assert "Nothing was written" in said and "add --yes" in said
    assert gives in said.casefold() and words[0] in said
    assert "never together" in said or "only with care" in said
    tank = {"can-nitric": "acid-dip", "can-zinc": "electrolyte", "can-alk": "degreaser"}[words[0]]
    assert f"In {words[0]} is: bath 3 L from {tank}" in said
    written(run, yard, "container", *words, "--yes")


def test_a_spent_filter_of_a_treatment_is_asked_about_too(run: Run, yard: Path) -> None:
    said = asked(run, yard, "treatment", "electrolyte", "carbon", "mass=1kg", "to=can-nitric")
    assert "nitrous fumes" in said and "carbon from electrolyte" in said


def test_neutralising_an_acid_with_lime_is_what_it_is_for(run: Run, yard: Path) -> None:
    written(run, yard, "container", "can-nitric", "treated", "neutralised", "calcium hydroxide=100g")
    written(run, yard, "container", "can-zinc", "put-in", "sludge", "mass=1kg", "tank=electrolyte")


def test_what_a_treatment_put_in_stays_in_the_container(run: Run, yard: Path) -> None:
    written(run, yard, "container", "can-alk", "treated", "bleached", "sodium hypochlorite solution=1L", "--yes")
    assert "chlorine" in asked(run, yard, "removal", "pickle", "1L", "to=can-alk")
    assert "hypochlorite" in told(run, yard, "apart") or "chloramines" in told(run, yard, "apart")
