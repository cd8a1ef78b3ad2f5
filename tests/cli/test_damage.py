"""A damaged book: what verifies is still answered, nothing is written, exit 4, and a way on."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.conftest import Run, hurt


@pytest.mark.parametrize(
    "words",
    [("status",), ("status", "electrolyte"), ("due",), ("due", "--check"), ("show",), ("why", "electrolyte.zinc"), ("check",),
     ("export", "entries"), ("log", "remark", "electrolyte", "foam", "--dry-run")],
)
def test_what_verifies_is_answered_with_exit_four(run: Run, book: Path, words: tuple[str, ...]) -> None:
    hurt(book, 18)
    result = run(*words, book=book)
    assert result.exit_code == 4, result.output
    assert result.stdout.strip() and "line 18" in result.stderr and "salvage" in result.stderr


def test_json_goes_on_too_and_names_the_line(run: Run, book: Path) -> None:
    hurt(book, 18)
    result = run("status", "--json", book=book)
    status = json.loads(result.stdout)
    assert result.exit_code == 4 and status["problems"][0]["line"] == 18
    assert any(t["alive"] for t in status["tanks"])
    assert json.loads(run("check", "--json", book=book).stdout)["damage"]["line"] == 18


@pytest.mark.parametrize(
    "words", [("log", "remark", "electrolyte", "foam"), ("merge", "OTHER"), ("import", "entries", "OTHER")]
)
def test_nothing_is_written(run: Run, book: Path, small_book: Path, words: tuple[str, ...]) -> None:
    hurt(book)
    before = book.read_bytes()
    result = run(*(str(small_book) if w == "OTHER" else w for w in words), book=book)
    assert result.exit_code == 4 and result.stdout == ""
    assert book.read_bytes() == before


def test_salvage_is_the_way_on(run: Run, book: Path, small_book: Path, tmp_path: Path) -> None:
    hurt(book, 18)
    new = tmp_path / "rescued.logbook.jsonl"
    result = run("salvage", book, new)
    assert result.exit_code == 0 and "19 entries" in result.stdout, result.output
    assert run("check", book=new).exit_code == 0
    merged = run("merge", small_book, book=new)
    assert merged.exit_code == 0 and merged.stdout.startswith("1 entry came in, 19"), merged.output
    again = run("salvage", book, new)
    assert again.exit_code == 1 and "exists already" in again.stderr


def test_a_shortened_book_is_noticed_and_can_be_accepted(run: Run, book: Path) -> None:
    assert run("check", book=book).exit_code == 0
    book.write_bytes(b"\n".join(book.read_bytes().split(b"\n")[:15]) + b"\n")
    result = run("status", book=book)
    assert result.exit_code == 4 and "shorter" in result.stderr
    assert run("check", "--accept", book=book).exit_code == 0
    assert run("status", book=book).exit_code == 0


def test_check_lists_entries_that_could_not_be_used(run: Run, book: Path) -> None:
    run("log", "run", "clips", "area=1dm2", "passivate=1min", book=book)
    result = run("check", book=book)
    assert result.exit_code == 1 and "passivate" in result.stdout and "make_up" in result.stdout
    problems = json.loads(run("check", "--json", book=book).stdout)["problems"]
    assert len(problems) == 1 and problems[0]["entry"]


def test_what_is_no_book_is_refused(run: Run, tmp_path: Path) -> None:
    for name, content in (("notes.txt", "zinc 32\n"), ("other.jsonl", '{"a": 1}\n')):
        path = tmp_path / name
        path.write_text(content)
        result = run("status", book=path)
        assert result.exit_code == 1 and "Not a book" in result.stderr
        assert path.read_text() == content
