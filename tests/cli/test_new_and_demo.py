"""``new`` and ``demo``: a book of one's own, and a copy of the sample dated to end today."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from bathkeeper import sample
from tests.cli.conftest import Run
from tests.cli.test_status import TEMPLATE


def test_new_sets_up_the_line_without_contents(run: Run, tmp_path: Path) -> None:
    place = tmp_path / "deep" / "shed.logbook.jsonl"
    result = run("new", "My Shed", "--template", "zinc-nickel-line", book=place)
    assert result.exit_code == 0 and result.stdout.strip() == str(place), result.output
    status = json.loads(run("status", "--json", book=place).stdout)
    assert status["workshop"] == "My Shed" and [t["tank"] for t in status["tanks"]] == TEMPLATE
    assert not any(t["alive"] for t in status["tanks"])
    assert {t["working_volume_l"] for t in status["tanks"]} == {20.0, 40.0, None}
    assert run("check", book=place).exit_code == 0


def test_new_goes_to_the_data_folder_when_nobody_says_where(run: Run, shut_off: Path) -> None:
    assert run("new", "Home").exit_code == 0
    assert list((shut_off / "data").rglob("*.logbook.jsonl"))
    assert run("status").exit_code == 0


def test_new_without_template_is_empty_and_lists_templates(run: Run, tmp_path: Path) -> None:
    place = tmp_path / "shed.logbook.jsonl"
    result = run("new", "Bare", book=place)
    assert result.exit_code == 0 and "zinc-nickel-line" in result.stderr
    empty = run("status", book=place)
    assert empty.exit_code == 0 and "no tanks yet" in empty.stderr


def test_new_never_touches_a_book_that_is_there(run: Run, book: Path) -> None:
    before = book.read_bytes()
    result = run("new", "Again", book=book)
    assert result.exit_code == 1 and str(book) in result.stderr and book.read_bytes() == before


@pytest.mark.parametrize("words", [("Shed", "--template", "nope"), ("",), (" shed ",), ("two\nlines",)])
def test_new_refuses_what_cannot_be_and_makes_nothing(run: Run, tmp_path: Path, words: tuple[str, ...]) -> None:
    place = tmp_path / "shed.logbook.jsonl"
    result = run("new", *words, book=place)
    assert result.exit_code == 2 and result.stderr and not place.exists()


@pytest.fixture
def own_sample(small_book: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    folder = tmp_path / "samples"
    folder.mkdir()
    path = folder / "mine.logbook.jsonl"
    path.write_bytes(small_book.read_bytes())
    monkeypatch.setattr(sample, "sample_path", lambda: path)
    return path


def test_demo_puts_a_copy_where_told_and_ends_today(run: Run, own_sample: Path, tmp_path: Path) -> None:
    place = tmp_path / "copy.logbook.jsonl"
    result = run("demo", "--no-app", "--book", place)
    assert result.exit_code == 0 and result.stdout.splitlines()[0] == str(place), result.output
    assert "electrolyte" in result.stdout
    last = max(datetime.fromisoformat(json.loads(line)["at"]) for line in place.read_text().splitlines())
    assert timedelta(0) <= datetime.now(UTC) - last < timedelta(days=1)
    assert [p.name for p in own_sample.parent.iterdir()] == [own_sample.name]  # nothing beside the sample
    again = run("demo", "--no-app", "--book", place)
    assert again.exit_code == 1 and str(place) in again.stderr


def test_demo_never_writes_over_the_keepers_own_book(run: Run, own_sample: Path, book: Path) -> None:
    before = book.read_bytes()
    result = run("demo", "--no-app", book=book)
    assert result.exit_code == 0 and str(book) not in result.stdout and book.read_bytes() == before


def test_demo_as_json_is_the_status(run: Run, own_sample: Path) -> None:
    status = json.loads(run("demo", "--json").stdout)
    assert [t["tank"] for t in status["tanks"]] == TEMPLATE and Path(status["book"]).exists()


def test_the_shift_keeps_ids_and_carries_corrections(tmp_path: Path) -> None:
    row = {
        "kind": "correction", "id": "id-00000001", "at": "2026-01-01T08:00:00Z", "corrects": "id-00000000", "reason": "x",
        "replacement": {"kind": "remark", "text": "y", "at": "2025-12-31T08:00:00+02:00"},
    }
    moved = sample.moved(row, timedelta(days=10))
    assert moved.id == "id-00000001" and moved.at == datetime(2026, 1, 11, 8, tzinfo=UTC)
    assert getattr(moved, "corrects") == "id-00000000"  # noqa: B009  the union has kinds without it
    assert getattr(moved, "replacement")["at"] == "2026-01-10T08:00:00+02:00"  # noqa: B009


def test_the_sample_that_comes_with_the_program_is_found_and_opens(tmp_path: Path) -> None:
    from bathkeeper.logbook import Book

    source = sample.sample_path()
    sample.copy_dated(source, tmp_path / "copy.logbook.jsonl", datetime.now(UTC))
    copy = Book.open(tmp_path / "copy.logbook.jsonl")
    assert len(copy.entries()) == source.read_bytes().count(b"\n") and not copy.problems


def test_a_missing_or_hurt_sample_is_said(tmp_path: Path, small_book: Path) -> None:
    from bathkeeper.logbook import BookError

    with pytest.raises(BookError, match="No sample book"):
        sample.sample_path([tmp_path])
    hurt = tmp_path / "hurt.logbook.jsonl"
    hurt.write_bytes(small_book.read_bytes().replace(b"Test", b"Tost"))
    with pytest.raises(BookError, match="damaged"):
        sample.copy_dated(hurt, tmp_path / "copy.logbook.jsonl", datetime.now(UTC))
