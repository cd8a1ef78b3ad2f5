"""Rows in and out: ids that make importing again add nothing, dates alone, every bad row named, and the round trip."""

from __future__ import annotations

import io
import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bathkeeper.entries import Remark
from bathkeeper.logbook.book import Book
from bathkeeper.logbook.errors import BookError, ImportRefused, ReadOnlyBook
from bathkeeper.logbook.exchange import export_entries, import_entries

from .helpers import correction, moment, reading, remark, texts, unknown


def compact(row: dict[str, Any]) -> str:
    return json.dumps(row, ensure_ascii=False, separators=(",", ":"))


def rows(path: Path, *given_rows: dict[str, Any] | str) -> Path:
    text = "".join((row if isinstance(row, str) else compact(row)) + "\n" for row in given_rows)
    path.write_text(text, encoding="utf-8")
    return path


@pytest.fixture
def file(tmp_path: Path) -> Path:
    return tmp_path / "rows.jsonl"


@pytest.fixture
def book(place: Path) -> Book:
    return Book.open(place, create=True)


ZINC = {"kind": "reading", "at": "2026-05-01T08:00:00+02:00", "tank": "electrolyte",
        "values": [{"of": "zinc", "value": 31.5, "unit": "g/L"}]}  # fmt: skip


def test_rows_without_id_and_schema_in_any_order(book: Book, file: Path) -> None:
    later = {"text": "läter", "at": "2026-05-02T08:00:00Z", "kind": "remark"}
    done = import_entries(book, rows(file, later, ZINC))
    assert (done.added, done.already, done.dated) == (2, 0, 0)
    assert [entry.kind for entry in Book.open(book.path).entries()] == ["reading", "remark"]
    assert book.entries()[0].at.utcoffset() == moment(0).replace(tzinfo=None) - moment(-120).replace(tzinfo=None)
    assert {entry.id for entry in done.entries} == {entry.id for entry in book.entries()}


def test_importing_again_writes_none(book: Book, file: Path) -> None:
    import_entries(book, rows(file, ZINC, ZINC, {"kind": "remark", "at": "2026-05-01", "text": "x"}))
    assert len(book.entries()) == 3  # a row that is there twice is two entries
    before = book.path.read_bytes()
    done = import_entries(book, file)
    assert (done.added, done.already) == (0, 3)
    assert book.path.read_bytes() == before


def test_a_file_that_grew_or_was_written_otherwise_adds_only_what_is_new(book: Book, file: Path) -> None:
    day = {"kind": "remark", "at": "2026-05-01", "text": "x"}
    import_entries(book, rows(file, ZINC, day))
    turned = "  " + json.dumps(dict(reversed(ZINC.items()))) + " "
    done = import_entries(book, rows(file, {**day, "text": "put in between"}, turned, "", day, ZINC))
    assert (done.added, done.already) == (2, 2)


def test_a_date_alone_gets_successive_seconds_in_utc(book: Book, file: Path) -> None:
    def of(day: str, text: str) -> dict[str, Any]:
        return {"kind": "remark", "at": day, "text": text}

    done = import_entries(
        book, rows(file, of("2026-05-02", "d"), of("2026-05-01", "a"), of("2026-05-01", "b"), of("2026-05-01", "a"))
    )
    assert done.dated == 4
    assert [(entry.at.isoformat(), entry.text) for entry in book.entries() if isinstance(entry, Remark)] == [
        ("2026-05-01T00:00:00+00:00", "a"),
        ("2026-05-01T00:00:01+00:00", "b"),
        ("2026-05-01T00:00:02+00:00", "a"),
        ("2026-05-02T00:00:00+00:00", "d"),
    ]


def test_every_bad_row_is_named_and_nothing_is_written(book: Book, file: Path) -> None:
    book.append(remark("mine", 0, id="taken-0001"))
    before = book.path.read_bytes()
    rows(
        file,
        ZINC,
        "not json",
        "[1]",
        {"at": "2026-05-01", "text": "x"},
        {"kind": "readng", "at": "2026-05-01"},
        {"kind": "remark", "text": "x"},
        {"kind": "remark", "at": "2026-05-01T08:00", "text": "x"},
        {"kind": "remark", "at": "2026-02-30", "text": "x"},
        {"kind": "remark", "at": "1 May", "text": "x"},
        {"kind": "remark", "at": 20260501, "text": "x"},
        {"kind": "remark", "at": "2026-05-01"},
        {"kind": "remark", "at": "2026-05-01", "text": "x", "colour": "blue"},
        '{"kind":"remark","at":"2026-05-01","text":"x","note":NaN}',
        {**ZINC, "values": [{"of": "zinc", "value": -3, "unit": "g/L"}]},
        {"kind": "remark", "at": "2026-05-01T08:00:00Z", "text": "theirs", "id": "taken-0001"},
        {"kind": "remark", "at": "2026-05-01T08:00:00Z", "text": "x", "id": "summed-001", "prev": "", "sum": "00000000"},
    )
    for dry_run in (True, False):
        with pytest.raises(ImportRefused) as refused:
            import_entries(book, file, dry_run=dry_run)
        assert [row.line for row in refused.value.rows] == list(range(2, 17))
        reasons = {row.line: row.what for row in refused.value.rows}
        for line, says in {
            2: "not JSON", 3: "not an object", 4: "no `kind`", 5: "unknown kind of entry 'readng'", 6: "no `at`",
            7: "without an offset", 8: "no such day", 9: "no time", 10: "as text", 11: "text", 12: "colour", 13: "not JSON",
            14: "below zero", 15: "already stands for another entry", 16: "was changed after it was written",
        }.items():  # fmt: skip
            assert says in reasons[line], reasons[line]
            assert f"line {line}: " in refused.value.message
        assert "2026-05-01T08:00+02:00" in reasons[7] or "2026-05-01T08:00Z" in reasons[7]
        assert book.path.read_bytes() == before


def test_a_dry_run_tells_and_writes_nothing(book: Book, file: Path) -> None:
    rows(file, ZINC, ZINC)
    done = import_entries(book, file, dry_run=True)
    assert (done.added, done.already, done.dry_run) == (2, 0, True)
    assert book.path.read_bytes() == b""
    assert import_entries(book, file).added == 2


def test_shorter_ways_to_write_a_time_are_understood(book: Book, file: Path) -> None:
    import_entries(book, rows(file, {"kind": "remark", "at": "2026-05-01T08:00+02:00", "text": "x"}))
    assert book.entries()[0].at == moment(-120)


def test_places_that_cannot_be_read(book: Book, tmp_path: Path) -> None:
    with pytest.raises(BookError, match="no file"):
        import_entries(book, tmp_path / "none")
    with pytest.raises(BookError, match="folder"):
        import_entries(book, tmp_path)
    (tmp_path / "empty").write_bytes(b"")
    assert import_entries(book, tmp_path / "empty").added == 0


def test_a_byte_order_mark_and_windows_line_ends_do_no_harm(book: Book, file: Path) -> None:
    file.write_bytes(b"\xef\xbb\xbf" + json.dumps(ZINC).encode() + b"\r\n")
    assert import_entries(book, file).added == 1


def test_a_damaged_book_takes_no_import(book: Book, file: Path) -> None:
    book.append_many([remark("one"), remark("two", 1)])
    book.path.write_bytes(book.path.read_bytes()[:-30])
    with pytest.raises(ReadOnlyBook):
        import_entries(Book.open(book.path), rows(file, ZINC))


# -- out and in again --------------------------------------------------------------------------------------------------


def test_round_trip(book: Book, tmp_path: Path) -> None:
    first = reading(31.5)
    odd = unknown(minutes=2, shape="cube", much=1e2)
    book.append_many([remark("é [/] \u2028", 5), first, odd, correction(first.id, 9)])
    out = tmp_path / "out.jsonl"
    assert export_entries(book, out) == 4
    exported = [json.loads(line) for line in out.read_bytes().decode().split("\n")[:-1]]
    assert [row["id"] for row in exported] == [entry.id for entry in book.entries()]
    assert not any({"prev", "sum"} & set(row) for row in exported)
    again = Book.open(tmp_path / "again", create=True)
    assert import_entries(again, out).added == 4
    assert dict(again.contents()) == dict(book.contents())
    assert again.entries() == book.entries()
    assert import_entries(book, out).already == 4


def test_a_whole_book_can_be_imported_as_rows(book: Book, tmp_path: Path) -> None:
    book.append_many([remark("one"), unknown(minutes=1, shape="cube")])
    again = Book.open(tmp_path / "again", create=True)
    import_entries(again, book.path)
    assert dict(again.contents()) == dict(book.contents())


def test_rows_that_were_spread_out_are_stored_as_the_book_writes(book: Book, file: Path) -> None:
    row = {"kind": "remark", "schema": 1, "id": "spread-001", "at": "2026-05-01T08:00:00Z", "text": "x"}
    import_entries(book, rows(file, "  " + json.dumps(row, indent=None) + " "))
    assert dict(book.contents()) == {"spread-001": compact(row).encode()}


def test_export_to_a_stream_and_never_over_a_file(book: Book, tmp_path: Path) -> None:
    book.append(remark("one"))
    stream = io.BytesIO()
    export_entries(book, stream)
    assert json.loads(stream.getvalue())["text"] == "one"
    before = book.path.read_bytes()
    with pytest.raises(BookError, match="left alone"):
        export_entries(book, book.path)
    assert book.path.read_bytes() == before


@settings(max_examples=30, deadline=None)
@given(st.lists(st.tuples(st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=20), st.integers(0, 3))))
def test_any_rows_imported_exported_and_imported(
    tmp_path_factory: pytest.TempPathFactory, given_rows: list[tuple[str, int]]
) -> None:
    folder = tmp_path_factory.mktemp("rows")
    file = rows(folder / "rows", *({"kind": "remark", "at": f"2026-05-0{day + 1}", "text": text} for text, day in given_rows))
    book = Book.open(folder / "book", create=True)
    assert import_entries(book, file).added == len(given_rows)
    assert import_entries(book, file).already == len(given_rows)
    export_entries(book, folder / "out")
    again = Book.open(folder / "again", create=True)
    import_entries(again, folder / "out")
    assert again.entries() == book.entries()
    assert sorted(texts(again)) == sorted(text for text, _ in given_rows)
