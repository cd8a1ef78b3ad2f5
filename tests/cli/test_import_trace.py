"""`import trace` at the command line: shown first, booked with --yes, never asking where nobody can answer."""

from __future__ import annotations

import json
import sys
from datetime import datetime, timedelta
from io import StringIO
from pathlib import Path

import pytest

from bathkeeper.cli.verbs.import_trace import Progress
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


class Terminal(StringIO):
    def isatty(self) -> bool:
        return True


def test_a_long_file_shows_how_far_it_is(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Twice over, as a file is read whose order of dates shows only at its end."""
    file = tmp_path / "long.csv"
    file.write_bytes(b"x" * 1000)
    screen, moment = Terminal(), iter(range(100))
    monkeypatch.setattr(sys, "stderr", screen)
    monkeypatch.setattr("bathkeeper.cli.verbs.import_trace.time.monotonic", lambda: float(next(moment)))
    with Progress(file) as progress:
        for _ in range(8):
            progress.seen(250)
    shown = [part for part in screen.getvalue().split("\r") if part.strip()]
    told = [(int(part.split("]")[1].split("%")[0]), "once more" in part) for part in shown]
    assert told == [(50, False), (75, False), (100, False), (25, True), (50, True), (75, True), (100, True)]
    assert screen.getvalue().endswith("\r") and not screen.getvalue().split("\r")[-2].strip()  # and it is wiped away


def test_a_hundred_thousand_rows(run: Run, tmp_path: Path) -> None:
    start = datetime(2026, 5, 13, 8, 30)
    rows = (f"{start + timedelta(seconds=k / 10)},{6.4 + k % 23 / 100:.2f}" for k in range(100_000))
    file = tmp_path / "long.csv"
    file.write_text("Time,Current (A)\n" + "\n".join(rows) + "\n")
    done = run("import", "trace", file, "--offset", "+00:00", "--dry-run", "--json", book=shop(tmp_path).book.path)
    told = json.loads(done.stdout)
    amps = [6.4 + k % 23 / 100 for k in range(100_000)]
    right = (sum(amps) - (amps[0] + amps[-1]) / 2) * 0.1 / 3600
    assert told["rows"] == 100_000 and told["charge_ah"] == pytest.approx(right, rel=1e-6)


def test_no_bar_where_there_is_no_terminal(run: Run, tmp_path: Path) -> None:
    book = shop(tmp_path).book.path
    done = run("import", "trace", PLAIN, "--offset", "+00:00", "--yes", book=book)
    assert "\r" not in done.stderr and "#" not in done.stderr
