"""Waste put, treated and handed over from the command line: what is asked or refused before it is written."""

from __future__ import annotations

import shutil
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from bathkeeper.workshop import Workshop
from tests.cli.conftest import START, Run

TANKS = (
    ("electrolyte", "plate", "zinc-nickel-chloride-ammonium", 40.0),
    ("pickle", "pickle", "hydrochloric-pickle", 20.0),
    ("acid-dip", "acid dip", "nitric-dip", 20.0),
    ("degreaser", "degrease", "alkaline-degreaser", 20.0),
)


@pytest.fixture(scope="session")
def yard_book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Four tanks made up twenty days ago; cans of nitric dip, of cleaner and of plating bath. Not to be written in."""
    folder = tmp_path_factory.mktemp("yard")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("BATHKEEPER_CACHE", str(folder / "cache"))
        shop = Workshop.open(folder / "yard.logbook.jsonl", create=True)
        raws: list[dict[str, Any]] = [{"kind": "workshop", "at": START, "name": "Invented yard", "country": "England"}]
        for order, (tank, role, recipe, litres) in enumerate(TANKS, start=1):
            raws.append({"kind": "tank", "at": START, "tank": tank, "role": role, "recipe": recipe, "order": order,
                         "working_volume_l": litres})  # fmt: skip
            raws.append({"kind": "make_up", "at": START + timedelta(hours=1), "tank": tank, "volume_l": litres})
        for tank, can in (("acid-dip", "can-nitric"), ("degreaser", "can-alk"), ("electrolyte", "can-zinc")):
            raws.append({"kind": "removal", "at": START + timedelta(days=1), "tank": tank, "volume_l": 3.0, "to": can})
        shop.log_all(raws)
    return shop.book.path


@pytest.fixture
def yard(yard_book: Path, tmp_path: Path) -> Path:
    """A copy to write in."""
    return Path(shutil.copyfile(yard_book, tmp_path / "yard.logbook.jsonl"))


def lines(book: Path) -> int:
    return len(book.read_bytes().splitlines())


def asked(run: Run, book: Path, *words: object) -> str:
    """What is asked about an entry, in one line; nothing was written."""
    before = lines(book)
    result = run("log", *words, book=book)
    said = " ".join(result.output.split())
    assert result.exit_code != 0 and lines(book) == before, said
    return said


def written(run: Run, book: Path, *words: object) -> str:
    before = lines(book)
    result = run("log", *words, book=book)
    assert result.exit_code == 0, result.output
    assert lines(book) == before + 1
    return " ".join(result.output.split())


def told(run: Run, book: Path, *words: object) -> str:
    """What a waste verb answers, in one line."""
    result = run("waste", *words, book=book)
    assert result.exit_code == 0, result.output
    return " ".join(result.stdout.split())


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
