"""``import trace``: shown, asked, attached to its run, booked once, remembered; nothing written where anything is open."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import msgspec
import pytest

from bathkeeper.cli.verbs import import_trace
from bathkeeper.entries import Reading
from bathkeeper.entries import Run as Entered
from bathkeeper.workshop import Workshop
from tests.cli.conftest import START, Run

RUN_AT = START + timedelta(days=4)  # the small book's run: 45 min at 6.5 A in the electrolyte, its moment the end
BEGIN = RUN_AT - timedelta(minutes=46)
ZONE = ("--offset", "+00:00")


def log(
    place: Path, *, begin: datetime = BEGIN, head: str = "Time,Current (A),Temp (°C)", factor: float = 1.0, minutes: int = 45
) -> Path:
    """A logger's file of a load of about 6.4 A, a row in ten seconds."""
    rows = [head]
    for n in range(minutes * 6):
        at = begin.astimezone(UTC) + timedelta(seconds=10 * n)
        amps = 0.0 if n in (0, minutes * 6 - 1) else 6.4 + 0.01 * (n * 7 % 11)
        rows.append(f"{at:%Y-%m-%d %H:%M:%S},{amps * factor:.3f},{24 + n % 3 / 10:.1f}")
    place.write_text("\n".join(rows) + "\n", encoding="utf-8")
    return place


def charge_of(book: Path) -> dict[str, Any]:
    """The charge of the small book's run as it stands."""
    entries = Workshop.open(book).entries()
    load = next(e for e in entries if isinstance(e, Entered) and e.note == "first load")
    told = msgspec.to_builtins(load.steps[1].charge)
    assert isinstance(told, dict)
    return told


def test_it_becomes_the_charge_of_the_run_at_that_time(run: Run, book: Path, tmp_path: Path) -> None:
    file = log(tmp_path / "bench.csv")
    before = book.read_bytes()
    shown = run("import", "trace", file, *ZONE, book=book)
    assert shown.exit_code == 2 and "--yes" in shown.stderr and "4.8" in shown.stdout and book.read_bytes() == before
    dry = run("import", "trace", file, *ZONE, "--dry-run", book=book)
    assert dry.exit_code == 0 and book.read_bytes() == before
    done = run("import", "trace", file, *ZONE, "--yes", "--json", book=book)
    told = json.loads(done.stdout)
    assert done.exit_code == 0 and told["booked"]
    assert [e["kind"] for e in told["entries"]] == ["correction", "reading", "definition"]
    trace = charge_of(book)["trace"]
    assert trace["charge_ah"] == pytest.approx(told["charge_ah"], rel=1e-6) == pytest.approx(4.83, abs=0.03)
    assert trace["file"] == "bench.csv" and len(trace["sha256"]) == 64 and 2 < len(trace["points"]) <= 200
    assert datetime.fromisoformat(trace["start"]) == BEGIN and trace["minutes"] == pytest.approx(44.833, abs=1e-3)
    read = next(e for e in Workshop.open(book).entries("electrolyte") if isinstance(e, Reading) and e.note is not None)
    assert [(v.of, v.value) for v in read.values] == [("temperature", 24.1)] and trace["sha256"] in str(read.note)
    assert run("check", book=book).exit_code == 0


def test_the_same_file_and_the_same_run_in_another_dialect_are_refused(run: Run, book: Path, tmp_path: Path) -> None:
    assert run("import", "trace", log(tmp_path / "bench.csv"), *ZONE, "--yes", book=book).exit_code == 0
    before = book.read_bytes()
    again = run("import", "trace", log(tmp_path / "copy.csv"), *ZONE, "--yes", book=book)
    assert again.exit_code == 2 and "in the book already" in again.stderr
    other = log(tmp_path / "other.csv", head="Time,Current (mA),Temp (°C)", factor=1000.0)
    refused = run("import", "trace", other, *ZONE, "--yes", book=book)
    assert refused.exit_code == 2 and "same current at the same time" in refused.stderr
    two_on, head = BEGIN + timedelta(hours=2), "Time,Current (mA),Temp (°C)"
    shifted = log(tmp_path / "shifted.csv", begin=two_on, head=head, factor=1000.0)
    asked = run("import", "trace", shifted, *ZONE, "--yes", "--tank", "electrolyte", book=book)
    assert asked.exit_code == 2 and "another zone" in asked.stdout.replace("\n", " ").replace("    ", " ").replace("  ", " ")
    assert book.read_bytes() == before


def test_answers_are_kept_for_the_next_file_of_the_same_logger(run: Run, book: Path, tmp_path: Path) -> None:
    first = log(tmp_path / "one.csv", head="Time,Current,Temp")
    asked = run("import", "trace", first, *ZONE, "--yes", book=book)
    assert asked.exit_code == 2 and "--unit current=A" in asked.stdout
    answers = ("--unit", "current=A", "--unit", "temperature=degC", *ZONE)
    assert run("import", "trace", first, *answers, "--yes", book=book).exit_code == 0
    later = log(tmp_path / "two.csv", head="Time,Current,Temp", begin=BEGIN + timedelta(days=3, minutes=7))
    told = json.loads(run("import", "trace", later, "--tank", "electrolyte", "--yes", "--json", book=book).stdout)
    assert told["booked"] and told["remembered"] and [e["kind"] for e in told["entries"]] == ["run", "reading"]
    assert told["charge_ah"] == pytest.approx(4.83, abs=0.03)


def test_a_run_typed_by_hand_with_quite_another_charge_is_asked_about(run: Run, book: Path, tmp_path: Path) -> None:
    small = log(tmp_path / "small.csv", factor=0.1)
    before = book.read_bytes()
    asked = run("import", "trace", small, *ZONE, "--yes", book=book)
    assert asked.exit_code == 2 and "Question" in asked.stdout and book.read_bytes() == before
    assert run("import", "trace", small, *ZONE, "--tank", "electrolyte", "--new", "--yes", book=book).exit_code == 0
    assert "current_a" in charge_of(book)  # the run typed by hand is as it was


def test_without_a_day_it_is_asked_and_a_named_run_needs_none(run: Run, book: Path, tmp_path: Path) -> None:
    file = tmp_path / "elapsed.csv"
    file.write_text("Time (s),Current (A)\n" + "".join(f"{10 * n},{6.4 + n % 3 / 10:.1f}\n" for n in range(270)))
    asked = run("import", "trace", file, "--yes", book=book)
    assert asked.exit_code == 2 and "--start" in asked.stdout
    id = next(e.id for e in Workshop.open(book).entries() if isinstance(e, Entered))
    assert run("import", "trace", file, "--run", id, "--yes", book=book).exit_code == 0
    assert charge_of(book)["trace"]["charge_ah"] == pytest.approx(6.5 * 2690 / 3600, rel=1e-3)
    assert run("import", "trace", file, "--start", "whenever", book=book).exit_code == 2


def test_what_cannot_be_read_says_so_and_writes_nothing(run: Run, book: Path, tmp_path: Path) -> None:
    before = book.read_bytes()
    for name, data in {"empty.csv": b"", "words.txt": b"nothing but words\nand more\n", "bytes.bin": bytes(range(256)) * 40,
                       "one.csv": b"1", "nul.csv": b"\0" * 5000, "line.csv": b"5," * 400_000}.items():  # fmt: skip
        place = tmp_path / name
        place.write_bytes(data)
        result = run("import", "trace", place, "--yes", book=book)
        assert result.exit_code == 2 and "Traceback" not in result.output and result.exception is not None, name
    assert run("import", "trace", tmp_path / "none.csv", book=book).exit_code == 1
    assert run("import", "trace", tmp_path, book=book).exit_code == 1
    file = log(tmp_path / "bench.csv")
    wrong = (
        "--columns current=9", "--columns amps=2", "--unit current=furlong", "--offset Nowhere/Else", "--stretch x",
        "--run nonesuch", "--tank nonesuch",
    )  # fmt: skip
    for words in (w.split() for w in wrong):
        assert run("import", "trace", file, *words, "--yes", book=book).exit_code == 2, words
    assert book.read_bytes() == before


def test_hostile_headers_are_shown_and_never_interpreted(run: Run, book: Path, tmp_path: Path) -> None:
    nasty = "\x1b[31m[bold]Cur\u202erent\u2066 (A)" + "x" * 5000
    file = log(tmp_path / "\u202enasty\x1b[2J.csv", head=f"Time,{nasty},[red]Temp[/red] (°C)")
    result = run("import", "trace", file, *ZONE, book=book)
    assert "\x1b" not in result.output and "\u202e" not in result.output and result.exit_code == 2


def test_questions_at_a_terminal_are_answered_by_number(
    run: Run, book: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from click.testing import CliRunner

    from bathkeeper.cli.program import program

    class Terminal:
        def __getattr__(self, name: str) -> Any:
            return {"stdin": self, "stdout": self, "stderr": self, "isatty": lambda: True}[name]

    monkeypatch.setattr(import_trace, "sys", Terminal())
    monkeypatch.setenv("BATHKEEPER_BOOK", str(book))
    file = log(tmp_path / "one.csv", head="Time,Current,Temp (°C)")
    words = ["import", "trace", str(file), *ZONE]
    before = book.read_bytes()
    for said in ("", "\n", "1\nn\n", "--nonsense\n\n"):
        result = CliRunner().invoke(program, words, input=said, prog_name="bathkeeper")
        assert book.read_bytes() == before and "Traceback" not in result.output, said
    assert CliRunner().invoke(program, words, input="1\ny\n", prog_name="bathkeeper").exit_code == 0
    assert charge_of(book)["trace"]["charge_ah"] == pytest.approx(4.83, abs=0.03)


def test_stopping_leaves_the_book_as_it_was(run: Run, book: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def stop(*_: object) -> None:
        raise KeyboardInterrupt

    before = book.read_bytes()
    monkeypatch.setattr(import_trace.Progress, "seen", stop)
    result = run("import", "trace", log(tmp_path / "bench.csv"), *ZONE, "--yes", book=book)
    assert result.exit_code == 1 and book.read_bytes() == before


def test_stopped_while_it_is_written_it_says_whether_it_was(
    run: Run, book: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before, write = book.read_bytes(), Workshop.log_all

    def stopped_after(self: Workshop, raws: list[dict[str, Any]]) -> None:
        write(self, raws)
        raise KeyboardInterrupt

    def stopped_before(self: Workshop, raws: list[dict[str, Any]]) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(Workshop, "log_all", stopped_before)
    result = run("import", "trace", log(tmp_path / "bench.csv"), *ZONE, "--yes", book=book)
    assert result.exit_code == 1 and "Nothing was written" in result.stderr and book.read_bytes() == before
    monkeypatch.setattr(Workshop, "log_all", stopped_after)
    result = run("import", "trace", tmp_path / "bench.csv", *ZONE, "--yes", book=book)
    assert result.exit_code == 0 and "in the book already" in result.stderr and book.read_bytes() != before


def test_temperature_and_ph_alone_become_readings_of_the_tank_named(run: Run, book: Path, tmp_path: Path) -> None:
    file = tmp_path / "warm.csv"
    times = [BEGIN.astimezone(UTC) + timedelta(minutes=n) for n in range(60)]
    rows = [f"{at:%Y-%m-%d %H:%M:%S};24,{n % 3};5,4{n % 5}" for n, at in enumerate(times)]
    file.write_text("Time;Temperature (°C);pH\n" + "\n".join(rows) + "\n", encoding="utf-8")
    asked = run("import", "trace", file, *ZONE, "--yes", book=book)
    assert asked.exit_code == 2 and "which tank" in asked.stdout
    told = json.loads(run("import", "trace", file, *ZONE, "--tank", "electrolyte", "--yes", "--json", book=book).stdout)
    values = {v["of"]: v["value"] for e in told["entries"] if e["kind"] == "reading" for v in e["values"]}
    assert values == {"temperature": 24.1, "ph": 5.42}
