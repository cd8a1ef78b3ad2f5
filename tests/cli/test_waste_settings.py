"""Masses, volumes and dates of waste go by the workshop's settings; a register says what its file holds."""

from __future__ import annotations

import csv
import io
import shutil
from pathlib import Path

import pytest

from tests.cli.conftest import Run

SAMPLE = next((Path(__file__).parents[2] / "sample_data").glob("*.logbook.jsonl"))


@pytest.fixture
def sample(tmp_path: Path) -> Path:
    return Path(shutil.copyfile(SAMPLE, tmp_path / SAMPLE.name))


def said(run: Run, book: Path, *words: str) -> str:
    result = run(*words, book=book)
    assert result.exit_code == 0, result.output
    return " ".join(result.stdout.split())


PAGES = (
    ("waste", "show", "drum-1"), ("waste", "show", "rag-bin"), ("waste", "status"), ("waste", "handed"), ("report", "register"),
)  # fmt: skip


@pytest.mark.parametrize("words", PAGES)
def test_weights_and_litres_stand_in_the_units_that_are_set(run: Run, sample: Path, words: tuple[str, ...]) -> None:
    before = said(run, sample, *words)
    assert " kg" in before or "[kg]" in before
    run("settings", "gallon=us", "units.mass=lb", "units.volume=usgal", "date_order=mdy", book=sample)
    after = said(run, sample, *words)
    for unit in (" kg ", " kg,", " kg;", "[kg]"):
        assert unit not in after.replace("kg in a month", "").replace("100 kg", "").replace("1,000 kg", ""), unit
    assert "lb" in after
    assert "2026-" in after  # dates are ISO in this house, whatever the order in which they are typed


def test_kilograms_stay_where_grams_are_preferred(run: Run, sample: Path) -> None:
    run("settings", "units.mass=g", book=sample)
    assert " kg" in said(run, sample, "waste", "show", "drum-1")


def test_a_moment_with_slashes_is_read_by_the_order_of_the_book(run: Run, sample: Path) -> None:
    words = ("log", "container", "drum-1", "checked", "lid=yes", "--json", "--when")
    run("settings", "date_order=", book=sample)
    refused = run(*words, "3/10/2026", book=sample)
    assert refused.exit_code != 0 and "could be two days" in " ".join(refused.stderr.split())
    run("settings", "date_order=dmy", book=sample)
    assert '"2026-10-03' in run(*words, "3/10/2026", book=sample).stdout
    run("settings", "date_order=mdy", book=sample)
    assert '"2026-03-10' in run(*words, "3/10/2026", "--yes", book=sample).stdout


def test_a_register_as_csv_says_which_tables_it_does_not_hold(run: Run, sample: Path, tmp_path: Path) -> None:
    result = run("report", "register", "--out", str(tmp_path / "reg.csv"), book=sample)
    told = " ".join(result.stderr.split())
    assert "It holds the table litres alone. Not in it: unaccounted, vessels" in told and "--out reg.zip" in told
    assert "alone" not in run("report", "register", "--out", str(tmp_path / "reg.zip"), book=sample).stderr


def test_a_hand_over_that_nobody_weighed_has_its_estimate(run: Run, sample: Path) -> None:
    run("log", "container", "drum-1", "handed-over", "volume=5L", "to=the county point", "reference=H-99", "--yes", book=sample)
    for table in ("handed_over", "moves"):
        text = run("report", "register", "--format", "csv", "--table", table, book=sample).stdout
        row = next(r for r in csv.DictReader(io.StringIO(text)) if "H-99" in str(r))
        assert float(row["kg [kg]"]) > 5.0
        assert all(len(v.lstrip("-").replace(".", "").lstrip("0")) <= 7 for k, v in row.items() if k.endswith("[kg]"))
    assert "estimated" in said(run, sample, "waste", "handed")


def test_a_pail_with_sludge_tells_both(run: Run, sample: Path) -> None:
    run("log", "container", "pail", "put-in", "other", "volume=1.5L", book=sample)
    run("log", "container", "pail", "put-in", "sludge", "mass=1.5kg", book=sample)
    assert "1.5 L + 1.5 kg solid" in said(run, sample, "waste", "show", "pail")
