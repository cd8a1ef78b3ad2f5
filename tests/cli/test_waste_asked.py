"""Waste put, treated and moved from the command line: what is asked or refused before it is written."""

from __future__ import annotations

import json
import shlex
from datetime import UTC, datetime
from pathlib import Path

import pytest

from bathkeeper.catalogue.own_waste import EXAMPLES as WASTE_LIMITS
from bathkeeper.entries import CONTAINER_ACTIONS
from bathkeeper.phrases import compose
from bathkeeper.phrases.waste import EXAMPLES, MORE_EXAMPLES
from bathkeeper.reports.builders.ground import Ground
from bathkeeper.reports.builders.tags import labels
from bathkeeper.workshop import Workshop
from tests.cli.conftest import START, Run, asked, told, written


def on_label(book: Path, name: str) -> str:
    """Everything that the label of a container says."""
    now = datetime.now(UTC)
    [label] = labels(Ground(Workshop.open(book), now, now), [name])
    return f"{label.contents} {' '.join(label.cautions)}"


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


# -- liquid of a tank, litres, and where they came from ------------------------------------------------------------------


@pytest.mark.parametrize("what", ["bath", "rinse-water"])
def test_liquid_of_a_tank_goes_by_a_removal(run: Run, yard: Path, what: str) -> None:
    said = asked(run, yard, "container", "can-9", "put-in", what, "volume=3L", "tank=acid-dip", "--yes")
    assert "removal acid-dip volume=3L to=can-9" in said
    written(run, yard, "removal", "acid-dip", "volume=3L", "to=can-9")
    written(run, yard, "container", "can-9", "put-in", "rags", "mass=1kg", "tank=acid-dip", "--yes")
    written(run, yard, "container", "can-8", "put-in", what, "volume=3L")


def test_liquid_that_was_put_in_beside_its_tank_is_a_problem(yard: Path) -> None:
    shop = Workshop.open(yard)
    shop.log({"kind": "container", "at": datetime.now(UTC), "container": "can-9", "action": "put in", "what": "bath",
              "volume_l": 3.0, "tank": "acid-dip"})  # fmt: skip
    assert ["never taken out of the tank" in p.what for p in shop.problems] == [True]


def test_grams_of_a_chemical_that_was_handed_over_are_told(run: Run, yard: Path) -> None:
    written(run, yard, "container", "can-x", "put-in", "chemicals", "nitric acid 68%=1L")
    written(run, yard, "container", "can-x", "handed-over", "all", "to=Council desk")
    grams = json.loads(run("waste", "account", "--grams", "--json", book=yard).stdout)["grams"]["nitric acid"]
    assert grams["put_in_g"] == pytest.approx(1405 * 0.68) == grams["handed_over_g"]


@pytest.mark.parametrize("parts", [("0.7L", "1.3L", "1L"), ("2.9995L",), ("1L", "1L", "0.9993L"), ("0.1L",) * 30])
def test_emptied_in_parts_it_is_empty(run: Run, yard: Path, parts: tuple[str, ...]) -> None:
    for part in parts:
        written(run, yard, "container", "can-alk", "moved", f"volume={part}", "to=can-7")
    held = json.loads(run("waste", "show", "can-alk", "--json", book=yard).stdout)
    assert held["volume_l"] is None and held["kinds"] == [] and held["mass_kg"] is None
    assert "can-alk empty" in told(run, yard, "status")


def test_what_is_moved_keeps_where_it_came_from(run: Run, yard: Path) -> None:
    written(run, yard, "container", "can-zinc", "treated", "mixed", "sodium hypochlorite solution=0.1L", "--yes")
    before = json.loads(run("waste", "show", "can-zinc", "--json", book=yard).stdout)
    written(run, yard, "container", "can-zinc", "moved", "volume=1L", "to=can-2b")
    held = json.loads(run("waste", "show", "can-2b", "--json", book=yard).stdout)
    one = held["origins"][0]
    assert (one["tank"], one["role"], one["recipe"], one["what"]) == (
        "electrolyte", "plate", "zinc-nickel-chloride-ammonium", "bath",
    )  # fmt: skip
    assert one["by"] == ["can-zinc"] and one["litres"] == pytest.approx(1.0)
    assert held["candidate_codes"] == before["candidate_codes"] != []
    assert held["since"] == before["since"]
    assert "by way of can-zinc" in told(run, yard, "show", "can-2b")
    assert "from electrolyte (plate) by way of can-zinc" in told(run, yard, "plan", "can-2b")
    assert "chlorine" in asked(run, yard, "removal", "pickle", "1L", "to=can-2b")  # the bleach went along
    assert "by way of can-zinc" in run("report", "register", "--json", book=yard).output
    assert "By way of can-zinc" in on_label(yard, "can-2b")
    written(run, yard, "container", "can-2b", "moved", "all", "to=can-2c")
    assert "by way of can-zinc, can-2b" in told(run, yard, "show", "can-2c")
    assert "can-2b empty" in told(run, yard, "status")


# -- chemicals by name ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "amount", "holds"),
    [
        ("hydrogen peroxide 35%", "2L", "hydrogen peroxide"),
        ("nitric acid 68%", "1L", "nitric acid"),
        ("zinc chloride", "1kg", "zinc"),
        ("soda ash", "500g", "sodium carbonate"),
        ("brightener", "300mL", "brightener"),
    ],
)
def test_a_chemical_of_the_catalogue_is_known_by_its_name(run: Run, yard: Path, name: str, amount: str, holds: str) -> None:
    written(run, yard, "container", "can-x", "put-in", "chemicals", f"{name}={amount}")
    held = json.loads(run("waste", "show", "can-x", "--json", book=yard).stdout)
    assert held["kinds"] == ["chemicals"] and holds in held["amounts"] and held["amounts"][holds]["value"] > 0
    account = json.loads(run("waste", "account", "--json", book=yard).stdout)
    assert account["left_over_l"] == pytest.approx(0.0, abs=1e-9)


def test_a_chemical_is_as_dangerous_as_it_is(run: Run, yard: Path) -> None:
    said = asked(run, yard, "container", "can-nitric", "put-in", "chemicals", "hydrogen peroxide=2L")
    assert "Two oxidisers" in said
    written(run, yard, "container", "can-x", "put-in", "chemicals", "hydrogen peroxide=2L", "note=from the shelf")
    assert "never together" in asked(run, yard, "removal", "acid-dip", "1L", "to=can-x")
    assert "never together" in asked(run, yard, "container", "can-x", "moved", "all", "to=can-nitric")


def test_a_free_name_and_its_note_are_told_everywhere(run: Run, yard: Path) -> None:
    words = ("put-in", "chemicals", "stripper of the old shed=2L", "note=blue, smells of almonds")
    said = written(run, yard, "container", "can-x", *words)
    assert "the catalogue does not tell what it holds" in said
    for verb in ("show", "plan"):
        answer = told(run, yard, verb, "can-x")
        assert "stripper of the old shed (chemicals) 2 L" in answer and "blue, smells of almonds" in answer
    for report in (("statement", "can-x"), ("register",)):
        assert "smells of almonds" in run("report", *report, "--json", book=yard).output, report
    assert "stripper of the old shed: blue, smells of almonds" in on_label(yard, "can-x")
    assert "Something unknown went in" in told(run, yard, "show", "can-x")


def test_a_name_that_is_nearly_known_is_asked_about(run: Run, yard: Path) -> None:
    said = asked(run, yard, "container", "can-x", "put-in", "chemicals", "hydrogen peroxid 35%=2L")
    assert "nothing is known of its dangers" in said and "hydrogen peroxide 35%" in said


@pytest.mark.parametrize("slip", ["volme=2L", "mas=2kg", "tnak=electrolyte", "lid=yes"])
def test_a_slip_of_a_field_is_no_chemical(run: Run, yard: Path, slip: str) -> None:
    assert "nothing called" in asked(run, yard, "container", "can-x", "put-in", "chemicals", slip)


def test_a_statement_tells_whole_sentences_and_one_range_once(run: Run, yard: Path) -> None:
    written(run, yard, "container", "can-alk", "put-in", "other", "volume=1L", "note=found beside it", "--yes")
    said = " ".join(run("report", "statement", "can-alk", book=yard).output.split())
    assert "the supplier's safety data sheet decides" in said and " …" not in said and "found beside it" in said
    assert "sodium hydroxide 1.5 % (0.97-2): the sum of H314 1A is 1.5 % (0.97-2)" in said


# -- amounts that cannot be ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("d7", "put-in", "bath", "volume=1e9L"), "no size of it is on record"),
        (("d7", "put-in", "chemicals", "volume=99999L"), "no size of it is on record"),
        (("d7", "put-in", "chemicals", "nitric acid 68%=5000L"), "no size of it is on record"),
        (("d7", "put-in", "sludge", "mass=50000kg"), "no vessel of waste"),
        (("d7", "opened", "what=bath", "volume=500L", "size=60L"), "which takes 60 L"),
        (("small", "put-in", "rags", "mass=300kg"), "which takes 60 L"),
        (("small", "put-in", "bath", "volume=90L"), "which takes 60 L"),
    ],
)
def test_more_than_any_vessel_holds_is_asked_about(run: Run, yard: Path, words: tuple[str, ...], says: str) -> None:
    written(run, yard, "container", "small", "opened", "size=60L")
    assert says in asked(run, yard, "container", *words)


def test_help_shows_an_example_of_everything_done_to_a_container(run: Run, yard: Path) -> None:
    said = run("log", "container", "--help").output
    for action in CONTAINER_ACTIONS:
        assert f" {action.replace(' ', '-')} " in said, action
    assert "log removal" not in said
    assert "log removal" in run("log", "--help").output and "log removal" in run("log", "removal", "--help").output
    limits = run("log", "definition", "--help").output
    assert all(f"bathkeeper log {line}" in limits for line in WASTE_LIMITS.values()) and "log removal" not in limits
    for line in [*EXAMPLES.values(), *MORE_EXAMPLES]:
        compose("container", shlex.split(line)[1:], Workshop.open(yard).vocabulary, START)
