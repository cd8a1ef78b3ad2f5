"""Settings shown and changed."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from bathkeeper.workshop import Workshop
from tests.cli.conftest import Run


def told(run: Run, book: Path) -> dict[str, Any]:
    return dict(json.loads(run("settings", "--json", book=book).stdout))


def test_every_setting_is_shown(run: Run, book: Path) -> None:
    assert told(run, book)["name"] == "Test Bench" and told(run, book)["gallon"] is None
    page = run("settings", book=book).stdout
    for key in ("name", "gallon", "ounce", "decimal_comma", "date_order", "units.KIND", "country", "keeper", "scale"):
        assert key in page, key


def test_a_change_carries_every_other_setting_on(run: Run, book: Path) -> None:
    first = run("settings", "gallon=us", "scale=0.5g", "units.volume=usgal", "country=Norway", "--yes", book=book)
    assert first.exit_code == 0 and "Changed" in first.stderr
    assert run("settings", "decimal-comma=yes", "units.mass=oz", "ounce=troy", book=book).exit_code == 0
    now = told(run, book)
    assert now == {
        "name": "Test Bench", "gallon": "us", "ounce": "troy", "decimal_comma": True, "date_order": None,
        "units": {"volume": "usgal", "mass": "oz"}, "country": "Norway", "region": None, "keeper": None,
        "scale_resolution_g": 0.5, "embrittlement_rule": None, "currency": None, "note": None,
        "address": None, "phone": None, "email": None,
        "site_code": None, "industry_code": None,
    }  # fmt: skip
    assert "typed scale" in run("show", Workshop.open(book).world.workshop.id, book=book).stdout  # type: ignore[union-attr]
    assert "10.5 gal" in run("status", "electrolyte", book=book).stdout or "gal" in run("status", book=book).stdout


def test_an_empty_value_takes_a_setting_back(run: Run, book: Path) -> None:
    run("settings", "gallon=us", "units.volume=usgal", "keeper=business", book=book)
    assert run("settings", "gallon=", "units.volume=", book=book).exit_code == 0
    now = told(run, book)
    assert now["gallon"] is None and now["units"] == {} and now["keeper"] == "business"


@pytest.mark.parametrize(
    ("word", "says"),
    [
        ("galon=us", "did you mean `gallon`"), ("gallon=ukk", "not one of us, imperial"), ("gallon", "has no `=`"),
        ("units.volume=kg", "units.volume"), ("units.colour=red", "no such kind"), ("name=", "keeps a name"),
        ("scale=soon", "scale"), ("decimal_comma=perhaps", "neither yes nor no"), ("\x1b[2J=x", "nothing called"),
    ],
)  # fmt: skip
def test_a_wrong_setting_is_one_sentence_and_nothing_is_written(run: Run, book: Path, word: str, says: str) -> None:
    before = book.read_bytes()
    result = run("settings", "country=Norway", word, book=book)
    assert result.exit_code == 2 and says in result.stderr and "\x1b" not in result.stderr
    assert book.read_bytes() == before


def test_twice_is_refused(run: Run, book: Path) -> None:
    result = run("settings", "gallon=us", "gallon=imperial", book=book)
    assert result.exit_code == 2 and "twice" in result.stderr


def test_a_book_without_a_name_gets_settings_all_the_same(run: Run, tmp_path: Path) -> None:
    path = tmp_path / "bare.logbook.jsonl"
    workshop = Workshop.open(path, create=True)
    workshop.log({"kind": "tank", "at": "2026-01-01T00:00:00Z", "tank": "t", "role": "rinse"})
    assert run("settings", "gallon=us", book=path).exit_code == 0
    assert told(run, path)["gallon"] == "us"
