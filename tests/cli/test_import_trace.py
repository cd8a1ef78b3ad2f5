"""`import trace` at the command line: shown first, booked with --yes, never asking where nobody can answer."""

from __future__ import annotations

import json
from pathlib import Path

from tests.cli.conftest import Run
from tests.traces.making import FOLDER
from tests.traces.test_intake import RIGHT_AH, shop

PLAIN = str(FOLDER / "plain.csv")


def test_it_is_shown_and_booked_only_when_told(run: Run, tmp_path: Path) -> None:
    book = shop(tmp_path).book.path
    before = book.read_bytes()
    shown = run("import", "trace", PLAIN, "--offset", "+00:00", book=book)
    assert shown.exit_code == 2 and "Add --yes" in shown.stderr and book.read_bytes() == before
    dry = run("import", "trace", PLAIN, "--offset", "+00:00", "--dry-run", book=book)
    assert dry.exit_code == 0 and book.read_bytes() == before
    done = run("import", "trace", PLAIN, "--offset", "+00:00", "--yes", book=book)
    assert done.exit_code == 0 and "Written as" in done.stdout and book.read_bytes() != before
    again = run("import", "trace", PLAIN, "--offset", "+00:00", "--yes", book=book)
    assert again.exit_code == 2 and "byte for byte" in again.stderr


def test_json_says_what_was_understood(run: Run, tmp_path: Path) -> None:
    book = shop(tmp_path).book.path
    told = json.loads(run("import", "trace", PLAIN, "--offset", "+00:00", "--dry-run", "--json", book=book).stdout)
    assert abs(told["charge_ah"] - RIGHT_AH) < 1e-6 and told["questions"] == [] and told["booked"] is False


def test_what_is_open_is_named_with_the_option_that_answers_it(run: Run, tmp_path: Path) -> None:
    book = shop(tmp_path).book.path
    asked = run("import", "trace", str(FOLDER / "unit_absent.csv"), "--offset", "+00:00", "--yes", book=book)
    assert asked.exit_code == 2 and "--unit current=" in asked.stdout and "Nothing was written" in asked.stderr


def test_a_file_that_is_none_or_no_log_is_one_sentence(run: Run, tmp_path: Path) -> None:
    book = shop(tmp_path).book.path
    missing = run("import", "trace", str(tmp_path / "none.csv"), "--yes", book=book)
    assert missing.exit_code in (1, 2) and "Traceback" not in missing.stderr
    odd = tmp_path / "odd.bin"
    odd.write_bytes(bytes(range(256)) * 20)
    told = run("import", "trace", str(odd), "--yes", book=book)
    assert told.exit_code == 2 and "Nothing was written" in told.stderr


def test_no_bar_where_there_is_no_terminal(run: Run, tmp_path: Path) -> None:
    book = shop(tmp_path).book.path
    done = run("import", "trace", PLAIN, "--offset", "+00:00", "--yes", book=book)
    assert "\r" not in done.stderr and "#" not in done.stderr
