"""``log`` and ``show``: what is understood, what is refused and how, corrections, and the past."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from tests.cli.conftest import START, Run


def lines(book: Path) -> int:
    return book.read_bytes().count(b"\n")


def logged(run: Run, book: Path, *words: object) -> dict[str, Any]:
    result = run("log", *words, "--json", book=book)
    assert result.exit_code == 0, result.output
    answer: dict[str, Any] = json.loads(result.stdout)
    return answer


def test_says_what_it_understood_and_what_changed(run: Run, book: Path) -> None:
    before = lines(book)
    result = run("log", "reading", "electrolyte", "zinc=30,5g/L", "pH=5.5", book=book)
    assert result.exit_code == 0, result.output
    assert "zinc 30.5 g/L" in result.stdout and "electrolyte: zinc " in result.stdout and "->" in result.stdout
    assert lines(book) == before + 1
    entry = json.loads(book.read_text().splitlines()[-1])
    assert entry["values"][0] == {"of": "zinc", "value": 30.5, "unit": "g/L"} and entry["typed"]["zinc"] == "30,5g/L"
    at = datetime.fromisoformat(entry["at"])
    assert at.tzinfo is not None and abs(datetime.now(UTC) - at) < timedelta(minutes=5)


def test_json_has_entry_understood_changes(run: Run, book: Path) -> None:
    answer = logged(run, book, "addition", "electrolyte", "water=0.5L")
    assert answer["entry"]["items"] == [{"reagent": "water", "amount": 0.5, "unit": "L"}]
    assert answer["understood"] and any("volume" in c for c in answer["changes"]) and answer["doubts"] == []
    assert answer["dry_run"] is False


def test_dry_run_writes_nothing(run: Run, book: Path) -> None:
    before = book.read_bytes()
    result = run("log", "addition", "electrolyte", "zinc chloride=120 g", "--dry-run", book=book)
    assert result.exit_code == 0 and "Would change" in result.stdout and "zinc" in result.stdout
    assert "Nothing was written" in result.stderr and "Take care" in result.stderr
    assert book.read_bytes() == before


def test_an_open_gallon_is_refused_with_both_readings(run: Run, book: Path) -> None:
    # 4.5 oz/gal: avoirdupois ounce 28.349523 g, US gallon 3.785412 L, imperial gallon 4.54609 L (NIST SP 811, appendix B)
    before = book.read_bytes()
    result = run("log", "reading", "electrolyte", "zinc=4.5oz/gal", book=book)
    assert result.exit_code == 2 and result.stdout == ""
    assert "33.70 g/L" in result.stderr and "28.06 g/L" in result.stderr
    assert book.read_bytes() == before


def test_a_comma_that_could_part_thousands_is_refused_with_both_readings(run: Run, book: Path) -> None:
    result = run("log", "reading", "electrolyte", "zinc=1,500g/L", book=book)
    assert result.exit_code == 2 and "1.5 or 1500" in result.stderr


def test_a_plain_decimal_comma_is_one(run: Run, book: Path) -> None:
    answer = logged(run, book, "reading", "electrolyte", "zinc=1,5g/L", "--dry-run")
    assert answer["entry"]["values"][0]["value"] == 1.5


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("reading", "electrolite", "zinc=30g/L"), "electrolyte"),
        (("reading", "electrolyte", "zinc"), "="),
        (("readin", "electrolyte", "zinc=30g/L"), "reading"),
        (("addition", "electrolyte", "water=-2L"), "below zero"),
        (("reading", "electrolyte", "zinc=nang/L"), "number"),
        (("reading", "electrolyte", "zinc=30parsecs"), "parsecs"),
        (("make_up", "electrolyte", "volume=0L"), "volume"),
        (("removal", "pickle", "3L", "to=sewer"), "consent"),
    ],
)
def test_unclear_or_impossible_words_write_nothing(run: Run, book: Path, words: tuple[str, ...], told: str) -> None:
    before = book.read_bytes()
    result = run("log", *words, book=book)
    assert result.exit_code == 2 and told in result.stderr, result.output
    assert result.stdout == "" and book.read_bytes() == before


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("addition", "electrolyte", "water=500L"), "12.5 times"),
        (("addition", "electrolyte", "zinc chloride=6kg"), "more than double"),
        (("reading", "electrolyte", "zinc=310g/L"), "upper edge"),
        (("run", "washers", "area=0.3dm2", "electrolyte=7A*40min"), "A/dm2"),
        (("make_up", "rinse-1", "volume=200L"), "10 times"),
        (("remark", "electrolyte", "later", "--when", "2100-01-01"), "future"),
        (("remark", "electrolyte", "long ago", "--when", "1999-01-01"), "years back"),
    ],
)
def test_what_is_unlikely_wants_a_yes(run: Run, book: Path, words: tuple[str, ...], told: str) -> None:
    before = book.read_bytes()
    result = run("log", *words, book=book)
    assert result.exit_code == 2 and told in result.stderr and "--yes" in result.stderr, result.output
    assert book.read_bytes() == before
    result = run("log", *words, "--yes", book=book)
    assert result.exit_code == 0, result.output
    assert lines(book) == before.count(b"\n") + 1


def test_back_dated_entries_count_from_when_they_happened(run: Run, book: Path) -> None:
    when = START + timedelta(days=2, hours=2)
    logged(run, book, "addition", "electrolyte", "water=1L", "--when", when.isoformat())

    def volume(at: datetime) -> float:
        page = run("status", "electrolyte", "--json", "--at", at.isoformat(), book=book).stdout
        return float(json.loads(page)["tanks"][0]["volume_l"]["value"])

    assert volume(when + timedelta(hours=1)) > 40.5
    assert volume(when - timedelta(hours=1)) < 40.1


def test_cautions_come_with_what_is_dangerous_and_not_with_every_run(run: Run, book: Path) -> None:
    acid = run("log", "addition", "electrolyte", "nickel chloride hexahydrate=50g", book=book)
    assert acid.exit_code == 0 and "cancer" in acid.stderr, acid.output
    plain = run("log", "run", "clips", "area=1dm2", "electrolyte=2A*20min", book=book)
    assert plain.exit_code == 0 and "Take care" not in plain.stderr
    strong = run("log", "run", "springs", "area=1dm2", "class=12.9", "electrolyte=2A*20min", book=book)
    assert strong.exit_code == 0 and "qualified plater" in strong.stderr


def test_a_correction_replaces_withdraws_and_is_shown(run: Run, book: Path) -> None:
    id = logged(run, book, "reading", "electrolyte", "zinc=35g/L")["entry"]["id"]
    mended = run("log", "correction", id[-10:], "reason=misread", "zinc=31g/L", book=book)
    assert mended.exit_code == 0 and "zinc 31 g/L" in mended.stdout, mended.output
    shown = json.loads(run("show", id, "--json", book=book).stdout)
    assert shown["entry"]["values"][0]["value"] == 35 and shown["in_force"]["values"][0]["value"] == 31
    assert [c["reason"] for c in shown["corrections"]] == ["misread"]
    page = run("show", id, book=book).stdout
    assert "corrected" in page and "misread" in page and "35" in page and "31" in page
    gone = run("log", "correction", id, "withdraw", "reason=logged twice", book=book)
    assert gone.exit_code == 0, gone.output
    assert json.loads(run("show", id, "--json", book=book).stdout)["in_force"] is None
    assert "withdrawn" in run("show", id, book=book).stdout


def test_a_correction_is_doubted_like_the_entry_itself(run: Run, book: Path) -> None:
    id = logged(run, book, "addition", "electrolyte", "water=1L")["entry"]["id"]
    result = run("log", "correction", id, "reason=misread", "water=1000L", book=book)
    assert result.exit_code == 2 and "25 times" in result.stderr and "--yes" in result.stderr


def test_a_correction_of_nothing_is_unclear(run: Run, book: Path) -> None:
    result = run("log", "correction", "00000000-dead", "withdraw", "reason=x", book=book)
    assert result.exit_code == 2 and "00000000-dead" in result.stderr


def test_show_lists_a_tank_newest_first_and_says_what_it_left_out(run: Run, book: Path) -> None:
    data = json.loads(run("show", "electrolyte", "--json", "--limit", "3", book=book).stdout)
    assert [e["kind"] for e in data["entries"]] == ["reading", "reading", "addition"] and data["of"] == 8
    page = run("show", "electrolyte", "--limit", "3", book=book)
    assert "5 older entries" in page.stderr and page.stdout.index("18.1") < page.stdout.index("nickel 18 ")


def test_show_of_a_run_has_its_steps_and_what_was_read_on_it(run: Run, book: Path) -> None:
    entries = json.loads(run("show", "electrolyte", "--json", book=book).stdout)["entries"]
    id = next(e["id"] for e in entries if e["kind"] == "run")
    page = run("show", id, book=book).stdout
    assert "brackets" in page and "6.5" in page and "first load" in page


def test_show_of_nothing_is_unclear(run: Run, book: Path) -> None:
    result = run("show", "zz", book=book)
    assert result.exit_code == 2 and "`zz`" in result.stderr


def test_help_has_an_example_of_every_kind(run: Run) -> None:
    from bathkeeper.phrases import EXAMPLES

    page = run("log", "--help").stdout
    assert all(f"bathkeeper log {example}" in page for example in EXAMPLES.values())
