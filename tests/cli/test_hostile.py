"""Text from anywhere: nothing in it moves a cursor, vanishes as markup, or breaks a table."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from bathkeeper.cli.plain import clean, width, wrapped
from bathkeeper.cli.tables import Cell, Column, table
from tests.cli.conftest import Run

HOSTILE = [
    "[/]", "[pH=4.2]", "Ni [g/L]", "back\\slash", "🧪👩‍🔬", "\u202egnp.exe", "\x1b[31mred\x1b[0m", "a\rb", "x" * 5000,
    "%s %d {0}", "=1+1", "两个字", "\u0000nul", "\x9b31m",
]


@pytest.mark.parametrize("text", HOSTILE, ids=range(len(HOSTILE)))
def test_notes_and_remarks_survive_and_cannot_act(run: Run, book: Path, text: str) -> None:
    written = run("log", "remark", "electrolyte", text, f"note={text}", book=book)
    assert written.exit_code == 0, written.output
    data = json.loads(run("show", "electrolyte", "--json", "--limit", "1", book=book).stdout)["entries"][0]
    assert data["text"] == text.strip()
    for words in (("show", "electrolyte"), ("show", data["id"]), ("status",)):
        page = run(*words, book=book)
        assert page.exit_code == 0
        assert all(c.isprintable() or c in "\n\u200c\u200d\ufe0e\ufe0f" for c in page.stdout + page.stderr)
        assert all(width(line) <= 80 for line in page.stdout.splitlines()[1:])
    shown = run("show", data["id"], book=book).stdout
    assert "".join(clean(text).split()) in "".join(shown.split())


@pytest.mark.parametrize("name", [t for t in HOSTILE if len(t) <= 120], ids=lambda t: ascii(t)[:12])
def test_names_of_tanks_and_workshops(run: Run, tmp_path: Path, name: str) -> None:
    place = tmp_path / "hostile.logbook.jsonl"
    assert run("new", name, book=place).exit_code == 0
    row = {"kind": "tank", "at": "2026-05-01T08:00:00Z", "tank": name, "role": "rinse"}
    file = tmp_path / "tank.jsonl"
    file.write_text(json.dumps(row) + "\n")
    assert run("import", "entries", file, book=place).exit_code == 0
    for words in (("status",), ("status", name), ("due",), ("show", name), ("check",)):
        page = run(*words, book=place)
        assert page.exit_code == 0, page.output
        assert all(c.isprintable() or c in "\n\u200c\u200d\ufe0e\ufe0f" for c in page.stdout + page.stderr)
    status = json.loads(run("status", "--json", book=place).stdout)
    assert status["workshop"] == name and status["tanks"][0]["tank"] == name


def test_error_messages_are_clean_too(run: Run, book: Path) -> None:
    escapes = (("status", "\x1b[31mred"), ("why", "\x1b]0;title\x07"), ("show", "\x1b[2Jabcdef"), ("log", "remark\x1b", "x"))
    for words in escapes:
        result = run(*words, book=book)
        assert result.exit_code == 2 and "\x1b" not in result.output


def test_wrapping_keeps_every_sign_and_the_width() -> None:
    text = "a slow word " + "y" * 50 + " 两个字两个字两个字 end"
    lines = wrapped(text, 16)
    assert all(width(line) <= 16 for line in lines)
    assert "".join(lines).replace(" ", "") == text.replace(" ", "")
    assert wrapped("", 10) == [""]


def test_tables_line_up_whatever_the_signs() -> None:
    rows: list[list[Cell | str]] = [[Cell("zinc"), "1.5"], [Cell("两个字"), "12.25"], [Cell("e\u0301tain"), "3"]]
    lines = table([Column("what"), Column("much", right=True)], rows, 80)
    assert len({width(line) for line in lines[1:]}) == 1


def test_a_narrow_table_wraps_words_and_leaves_numbers_whole() -> None:
    rows: list[list[Cell | str]] = [["a long description of a thing", "123456.789", "another description"]]
    lines = table([Column("", wraps=True), Column("", right=True), Column("", wraps=True)], rows, 40)
    assert all(width(line) <= 40 for line in lines) and any("123456.789" in line for line in lines)
