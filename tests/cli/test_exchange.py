"""``import``, ``export``, ``merge``: entries in and out, all or none."""

from __future__ import annotations

import json
from pathlib import Path

from tests.cli.conftest import Run

ROWS = [
    {"kind": "remark", "at": "2026-05-01", "text": "foam", "tank": "electrolyte"},
    {"kind": "addition", "at": "2026-05-01T10:00:00+02:00", "tank": "electrolyte",
     "items": [{"reagent": "water", "amount": 1.0, "unit": "L"}]},
]


def rows(path: Path, *more: dict[str, object]) -> Path:
    path.write_text("".join(json.dumps(row) + "\n" for row in [*ROWS, *more]))
    return path


def test_import_takes_all_once(run: Run, book: Path, tmp_path: Path) -> None:
    file = rows(tmp_path / "rows.jsonl")
    before = book.read_bytes()
    dry = run("import", "entries", file, "--dry-run", book=book)
    assert dry.exit_code == 0 and "2 entries would come in" in dry.stdout and book.read_bytes() == before
    first = json.loads(run("import", "entries", file, "--json", book=book).stdout)
    assert (first["added"], first["already"], first["dated"]) == (2, 0, 1)
    again = run("import", "entries", file, book=book)
    assert again.exit_code == 0 and "0 entries came in, 2" in again.stdout


def test_a_bad_row_refuses_all_and_names_its_line(run: Run, book: Path, tmp_path: Path) -> None:
    before = book.read_bytes()
    file = rows(tmp_path / "rows.jsonl", {"kind": "reading", "at": "2026-05-02"})
    result = run("import", "entries", file, book=book)
    assert result.exit_code == 1 and "line 3" in result.stderr and result.stdout == ""
    assert book.read_bytes() == before
    assert run("import", "entries", tmp_path / "none.jsonl", book=book).exit_code == 1


def test_export_round_trips(run: Run, book: Path, tmp_path: Path) -> None:
    run("log", "remark", "electrolyte", "Schaum ½ 泡 🫧", book=book)
    out = run("export", "entries", book=book).stdout_bytes
    file = tmp_path / "out.jsonl"
    assert run("export", "entries", file, book=book).exit_code == 0 and file.read_bytes() == out
    assert out.count(b"\n") == 21 and "Schaum ½ 泡 🫧".encode() in out
    assert run("export", "entries", file, book=book).exit_code == 1  # never over what is there
    fresh = tmp_path / "fresh.logbook.jsonl"
    run("new", "Fresh", book=fresh)
    assert "21 entries came in" in run("import", "entries", file, book=fresh).stdout
    exported = run("export", "entries", book=fresh).stdout_bytes.splitlines()
    assert set(out.splitlines()) < set(exported)


def test_merge_takes_what_is_new_and_refuses_what_disagrees(run: Run, book: Path, small_book: Path, tmp_path: Path) -> None:
    run("log", "remark", "electrolyte", "foam", book=book)
    other = tmp_path / "other.logbook.jsonl"
    other.write_bytes(small_book.read_bytes())
    first = json.loads(run("merge", book, "--json", book=other).stdout)
    assert (first["added"], first["same"]) == (1, 20)
    stranger = tmp_path / "stranger.logbook.jsonl"
    run("new", "Stranger", book=stranger)
    line = json.loads(other.read_text().splitlines()[-1])
    file = tmp_path / "same-id.jsonl"
    file.write_text(json.dumps({"kind": "remark", "id": line["id"], "at": line["at"], "text": "no foam"}) + "\n")
    assert run("import", "entries", file, book=stranger).exit_code == 0
    before = stranger.read_bytes()
    result = run("merge", other, book=stranger)
    assert result.exit_code == 1 and "no foam" in result.stderr and stranger.read_bytes() == before
