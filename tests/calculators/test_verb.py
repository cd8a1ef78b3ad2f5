"""The verb: options from the registry, JSON with fixed keys, reasons on request, readings into the book."""

from __future__ import annotations

import json
import shlex
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from bathkeeper.calculators.registry import CALCULATORS, command_line
from bathkeeper.cli.verbs.calc import verb
from bathkeeper.workshop import Workshop


@pytest.fixture(autouse=True)
def shut_off(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """No book of the tester's own."""
    monkeypatch.delenv("BATHKEEPER_BOOK", raising=False)
    for name in ("HOME", "XDG_DATA_HOME", "XDG_STATE_HOME", "XDG_CACHE_HOME", "BATHKEEPER_CACHE"):
        monkeypatch.setenv(name, str(tmp_path / "home"))
    monkeypatch.setenv("COLUMNS", "100")


@pytest.fixture
def book(tmp_path: Path) -> Path:
    """A line made up, its keeper using imperial gallons."""
    path = tmp_path / "shed.logbook.jsonl"
    workshop = Workshop.new(path, "Test Bench", "zinc-nickel-line", datetime(2026, 1, 1, tzinfo=UTC))
    workshop.log({"kind": "workshop", "at": "2026-01-02T00:00:00Z", "name": "Test Bench", "gallon": "imperial"})
    contents = {"zinc": 32.0, "nickel": 24.0}
    workshop.log(
        {"kind": "make_up", "at": "2026-01-03T00:00:00Z", "tank": "electrolyte", "volume_l": 40.0, "contents": contents}
    )
    workshop.log({"kind": "make_up", "at": "2026-01-03T00:00:00Z", "tank": "pickle", "volume_l": 20.0})
    return path


def run(*words: object) -> Result:
    return CliRunner().invoke(verb, [str(w) for w in words], prog_name="bathkeeper calc")


def as_json(*words: object) -> dict[str, Any]:
    done = run(*words, "--json")
    assert done.exit_code == 0, done.output
    found: dict[str, Any] = json.loads(done.stdout)
    return found


TITRATION = ("titrate", "--of", "zinc", "--titrant", "EDTA 0.1M", "--sample", "2mL", "--used", "10.0mL")


def test_alone_lists_them_all() -> None:
    done = run()
    assert done.exit_code == 0
    assert all(name in done.stdout for name in CALCULATORS)
    listed = json.loads(run("--json").stdout)
    assert [c["name"] for c in listed] == list(CALCULATORS)
    assert {"name", "kind", "label", "help", "example", "default", "optional"} <= set(listed[0]["inputs"][0])


@pytest.mark.parametrize("name", CALCULATORS)
def test_help_has_every_option_and_examples_that_run(name: str) -> None:
    one = CALCULATORS[name]
    helped = run(name, "--help")
    assert helped.exit_code == 0
    for i in one.inputs:
        assert i.positional or f"--{i.name} " in helped.stdout
    for example in one.examples:
        line = command_line(one, example)
        assert line in helped.stdout
        words = shlex.split(line)[2:]
        plain = run(*words)
        assert plain.exit_code == 0, plain.output
        assert plain.stdout.strip()
        found = as_json(*words)
        assert set(one.keys) <= set(found)


def test_json_keeps_its_keys_and_numbers() -> None:
    found = as_json("current", "--area", "3.2dm2", "--density", "100mA/in2")
    assert found["current_a"] == pytest.approx(4.96, abs=0.001)
    assert found["density_a_dm2"] == pytest.approx(1.55, abs=0.001)
    assert set(found) == {"current_a", "density_a_dm2", "area_dm2", "cautions", "open"}


def test_why_says_inputs_formula_and_sources() -> None:
    done = run("hydrogen", "--charge", "1Ah", "--efficiency", "0%", "--why")
    for word in ("Inputs:", "charge 1 Ah", "Formula:", "Sources:", "CODATA"):
        assert word in done.stdout
    found = as_json("hydrogen", "--charge", "1Ah", "--efficiency", "0%", "--why")
    assert found["inputs"] == ["charge 1 Ah", "efficiency 0 %"]
    assert found["formula"] and found["sources"]


@pytest.mark.parametrize(
    "words",
    [
        ("current", "--area", "3g", "--density", "1A/dm2"), ("current", "--area", "0dm2", "--density", "1A/dm2"),
        ("current", "--area", "-3dm2", "--density", "1A/dm2"), ("current", "--area", "9e14dm2", "--density", "1A/dm2"),
        ("current", "--density", "1A/dm2"), ("area",), ("area", "--rubbish"), ("convert", "4 oz/usgal"), ("nonsense",),
        ("convert", "4 oz/gal", "g/L"), ("titrate", "--of", "zinc"), ("current", "--area", "1dm2", "--area", "2dm2"),
        ("hull", "--current", "2A", "--at", "2cm", "--density", "1A/dm2"),
    ],
)  # fmt: skip
def test_one_clear_sentence_and_exit_2(words: tuple[str, ...]) -> None:
    done = run(*words)
    assert done.exit_code == 2
    assert done.stdout == ""
    assert len(done.stderr.strip().splitlines()) == 1
    assert "Traceback" not in done.stderr


def test_an_unknown_option_is_refused() -> None:
    assert run("hull", "--current", "2A", "--colour", "red").exit_code == 2


def test_below_zero_is_a_value_where_it_can_be() -> None:
    assert as_json("convert", "-5 degC", "degF")["value"] == pytest.approx(23)


def test_a_gallon_that_cancels_out_is_not_asked_about() -> None:
    found = as_json("dilute", "--volume", "400gal", "--from", "4.5oz/gal", "--to", "3.5oz/gal")
    assert found["fraction"] == pytest.approx(2 / 9)
    assert found["swap_l"] is None
    done = run("dilute", "--volume", "400gal", "--from", "4.5oz/gal", "--to", "3.5oz/gal")
    assert "0.2222" in done.stdout
    assert "Open: swap_l" in done.stderr


def test_the_book_s_units_hold(book: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    words = ("convert", "1 gal", "L")
    assert run(*words).exit_code == 2
    assert as_json(*words, "--book", book)["value"] == pytest.approx(4.54609)
    monkeypatch.setenv("BATHKEEPER_BOOK", str(book))
    assert as_json(*words)["value"] == pytest.approx(4.54609)


def test_a_book_that_is_not_there_or_no_book_does_not_matter(tmp_path: Path) -> None:
    words = ("convert", "1 usgal", "L")
    gone = run(*words, "--book", tmp_path / "gone.jsonl")
    assert gone.exit_code == 0
    assert "There is no book" in gone.stderr
    rubbish = tmp_path / "rubbish.jsonl"
    rubbish.write_text("this is no book\n")
    assert run(*words, "--book", rubbish).exit_code == 0


def test_own_reagents_of_the_book_are_known(book: Path) -> None:
    body = {"based_on": "zinc chloride", "purity": 0.9}
    Workshop.open(book).log(
        {"kind": "definition", "at": "2026-01-04T00:00:00Z", "of": "reagent", "name": "my zinc", "body": body}
    )
    words = ("add", "--reagent", "my zinc", "--volume", "10L", "--from", "0g/L", "--to", "1g/L", "--of", "zinc")
    assert as_json(*words, "--book", book)["amount_g"] == pytest.approx(10 / 0.4797 / 0.9, rel=1e-3)
    assert run(*words).exit_code == 2


class TestLog:
    def test_writes_the_reading_with_spread_method_and_lot(self, book: Path) -> None:
        done = run(*TITRATION, "--log", "electrolyte", "--lot", "E-7", "--book", book, "--when", "2026-01-05")
        assert done.exit_code == 0, done.output
        assert "Changed:" in done.stdout and "Written as" in done.stdout
        entry = Workshop.open(book).entries("electrolyte")[0]
        value = entry.values[0]  # type: ignore[union-attr]
        assert (value.of, value.method, value.lot) == ("zinc", "EDTA titration", "E-7")
        assert value.value == pytest.approx(32.69)
        assert 0.2 < value.spread < 0.6
        assert entry.at.astimezone().date().isoformat() == "2026-01-05"

    def test_json_has_the_entry(self, book: Path) -> None:
        found = as_json(*TITRATION, "--log", "electrolyte", "--book", book)
        assert found["entry"]["kind"] == "reading"
        assert found["changes"]

    def test_asks_about_what_can_hardly_be(self, book: Path) -> None:
        words = ("titrate", "--of", "zinc", "--titrant", "EDTA 0.1M", "--sample", "0.2mL", "--used", "10mL", "--book", book)
        before = book.read_bytes()
        done = run(*words, "--log", "electrolyte")
        assert done.exit_code == 2
        assert "Nothing was written" in done.stderr
        assert book.read_bytes() == before
        assert run(*words, "--log", "electrolyte", "--yes").exit_code == 0

    def test_grams_must_be_of_what_the_tank_counts(self, book: Path) -> None:
        words = ("--titrant", "NaOH 1N", "--sample", "10mL", "--used", "8mL", "--log", "pickle", "--book", book)
        wrong = run("titrate", "--of", "sulfuric acid", *words)
        assert wrong.exit_code == 2
        assert "NaHSO4" in wrong.stderr
        assert run("titrate", "--of", "sodium bisulfate", *words).exit_code == 0

    def test_refuses_without_a_tank_or_a_book(self, book: Path, tmp_path: Path) -> None:
        assert run(*TITRATION, "--lot", "E-7").exit_code == 2
        unknown = run(*TITRATION, "--log", "nowhere", "--book", book)
        assert unknown.exit_code != 0
        assert "no tank is called" in str(unknown.exception or unknown.stderr)
        assert run(*TITRATION, "--log", "electrolyte", "--book", tmp_path / "gone.jsonl").exit_code != 0

    def test_only_measurements_can_be_logged(self, book: Path) -> None:
        assert run("hull", "--current", "2A", "--at", "2cm", "--log", "electrolyte", "--book", book).exit_code == 2
        strength = ("density", "--acid", "hydrochloric acid 20%", "--log", "pickle", "--book", book)
        assert "no reading" in run(*strength).stderr
        assert run("density", "--sg", "1.21", "--log", "electrolyte", "--book", book).exit_code == 0
