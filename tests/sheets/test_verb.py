"""``import entries`` of a sheet: dry run, questions answered in options, exit codes, JSON, Ctrl-C."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from bathkeeper.cli import sheet_talk
from bathkeeper.cli.program import program
from bathkeeper.workshop import Workshop

from .helpers import csv_file, line_of_tanks

LINES = ("Date,Zn,pH", "05/06/2025,31,5.4", "07/06/2025,x,5.3", "08/06/2025,320,5.3")


@pytest.fixture
def book(tmp_path: Path) -> Path:
    return line_of_tanks(tmp_path).book.path


def run(book: Path, *words: object, typed: str = "") -> Any:
    return CliRunner().invoke(program, ["import", "entries", *(str(w) for w in words), "--book", str(book)], input=typed)


ANSWERS = ("--answer", "dates=dmy", "--answer", "unit:Zn=g/L")


def test_open_questions_are_told_with_the_option_that_answers_them(book: Path, tmp_path: Path) -> None:
    before, path = book.read_bytes(), csv_file(tmp_path, *LINES)
    asked = run(book, path, "--yes")
    assert asked.exit_code == 2 and '--answer "dates=dmy"' in asked.stderr and '--answer "unit:Zn=UNIT"' in asked.stderr
    told = json.loads(run(book, path, "--json").stdout)
    assert [q["key"] for q in told["questions"]] == ["dates", "unit:Zn"]
    for wrong in ("dates=xyz", "unit:Zn=banana", "unit:Ag=g/L", "moon=full", "dates"):
        assert run(book, path, "--answer", wrong).exit_code == 2
    unseen = run(book, path, *ANSWERS)
    assert unseen.exit_code == 2 and "only proposed" in unseen.stderr
    assert book.read_bytes() == before


def test_dry_run_then_import_then_nothing_new(book: Path, tmp_path: Path) -> None:
    before, path = book.read_bytes(), csv_file(tmp_path, *LINES)
    dry = run(book, path, *ANSWERS, "--dry-run")
    assert dry.exit_code == 0 and "1 entry would come in" in dry.stdout and "does not" in dry.stdout
    assert "reading electrolyte: zinc 31 g/L, pH 5.4" in dry.stdout and "1 row is unlikely" in dry.stdout
    assert book.read_bytes() == before
    done = run(book, path, *ANSWERS, "--yes")
    assert done.exit_code == 0 and "1 entry came in from 1 row" in done.stdout
    again = json.loads(run(book, path, "--json").stdout)
    assert (again["added"], again["already"], [f["row"] for f in again["refused"]]) == (0, 1, [3])
    unlikely = run(book, path, "--unlikely")
    assert unlikely.exit_code == 0 and "1 entry came in" in unlikely.stdout


def test_a_row_that_stands_there_twice_is_asked_about(book: Path, tmp_path: Path) -> None:
    path = csv_file(tmp_path, "Date,pH,Notes", "2026-02-13,5.4,bright", "2026-02-14,5.4,bright", "13 Feb 2026,5.40,bright")
    dry = run(book, path, "--dry-run")
    assert dry.exit_code == 0 and "1 row is unlikely" in dry.stdout and "very same" in dry.stdout
    first = json.loads(run(book, path, "--yes", "--json").stdout)
    (doubt,) = first["unlikely"]
    assert (first["added"], doubt["row"]) == (4, 4) and "the very same as row 2" in doubt["what"]
    both = json.loads(run(book, path, "--unlikely", "--json").stdout)
    assert (both["added"], both["already"], both["unlikely"]) == (2, 4, [])
    again = json.loads(run(book, path, "--json").stdout)
    assert (again["added"], again["already"], again["unlikely"]) == (0, 6, [])  # what is in the book is asked about no more


def test_what_goes_into_no_entry_is_named(book: Path, tmp_path: Path) -> None:
    path = csv_file(
        tmp_path, "Date,What,Job,Amps,Min,pH,Remarks", "2026-03-01,run,hooks,6.5,40,,", "2026-03-02,added a drop,,,,,stirred",
        "2026-03-03,analysis,,,,5.4,", "2026-03-04,analysis,screws,,,5.3,",
    )  # fmt: skip
    told = json.loads(run(book, path, "--dry-run", "--json").stdout)
    left = [(f["row"], f["column"], f["cell"]) for f in told["left_over"]]
    assert left == [(3, "What", "added a drop"), (5, "Job", "screws")]
    assert told["added"] == 4
    dry = run(book, path, "--dry-run")
    assert "2 rows have cells that go into no entry" in dry.stdout


def test_headings_in_german(book: Path, tmp_path: Path) -> None:
    path = csv_file(tmp_path, "Datum;Teile;Strom (A);Zeit (min);pH;Bemerkung", "13.02.2026;Haken;6,5;40;5,4;trüb")
    told = json.loads(run(book, path, "--dry-run", "--json").stdout)
    kinds = {row["entry"]["kind"] for row in told["entries"]}
    assert kinds == {"run", "reading", "remark"} and not told["left_over"]
    made = next(row["entry"] for row in told["entries"] if row["entry"]["kind"] == "run")
    assert made["steps"][0]["charge"] == {"current_a": 6.5} and made["steps"][0]["minutes"] == 40.0


def test_asked_on_a_terminal(book: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sheet_talk, "can_ask", lambda: True)
    path = csv_file(tmp_path, *LINES)
    before = book.read_bytes()
    for typed in ("", "1\n", "1\ng/L\nn\n", "1\ng/L\ny\nn\n"):
        left = run(book, path, typed=typed)
        assert left.exit_code == 1 and book.read_bytes() == before, left.output
    done = run(book, path, typed="9\n1\nbanana\ng/L\ny\ny\n")
    assert done.exit_code == 0 and "1 entry came in" in done.stdout, done.output
    assert run(book, path).exit_code == 0  # and now without a question


def test_a_mapping_written_down_changed_and_given_back(book: Path, tmp_path: Path) -> None:
    path, own = csv_file(tmp_path, *LINES), tmp_path / "own.toml"
    assert run(book, path, *ANSWERS, "--save-map", own).exit_code == 2
    own.write_text(own.read_text().replace('unit = "g/L"', 'unit = "oz/usgal"'))
    done = json.loads(run(book, path, "--map", own, "--unlikely", "--json").stdout)
    assert done["added"] == 2 and done["mapping"]["name"] == "own"
    zinc = [e.values[0].value for e in Workshop.open(book).entries() if e.kind == "reading"]  # type: ignore[union-attr]
    assert max(z for z in zinc if z) == pytest.approx(320 * 7.4892, rel=1e-4)
    assert run(book, path, "--save-map", own).exit_code == 1  # never over what is there
    for wrong in (tmp_path / "none.toml", "nothing"):
        assert run(book, path, "--map", wrong).exit_code in (1, 2)


def test_nothing_that_can_be_taken_is_a_failure_and_no_traceback(book: Path, tmp_path: Path) -> None:
    path = csv_file(tmp_path, "Date,pH", "2025-06-05,x")
    result = run(book, path, "--yes")
    assert result.exit_code == 1 and "0 entries came in" in result.stdout
    for name, data in (("a.csv", b""), ("b.xlsx", b"PK\x03\x04zzz"), ("c.csv", b"\xff" * 50)):
        (tmp_path / name).write_bytes(data)
        result = run(book, tmp_path / name, "--yes")
        assert result.exit_code in (1, 2) and result.exception.__class__ is SystemExit
    assert run(book, csv_file(tmp_path, "Date,moon", "2025-06-05,full", name="m.csv"), "--yes").exit_code == 2
    assert run(book, path, "--delimiter", "::").exit_code == 2


def test_a_file_whose_name_is_no_text(book: Path, tmp_path: Path) -> None:
    path = tmp_path / b"alt\xe4\x1b[31m.csv".decode("utf-8", "surrogateescape")
    path.write_text("Date,pH\n2025-06-05,5.4\n")
    assert run(book, path, "--yes").exit_code == 0
    assert sum(e.kind == "reading" for e in Workshop.open(book).entries()) == 1
