"""Entries in and out of a sound book, other windows on it, the query layer, and what is refused."""

from __future__ import annotations

import os
import stat
import threading
from datetime import datetime, timedelta, timezone
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tinydb import where

from bathkeeper.entries import AnyEntry, Definition, Reading, Remark, Unknown, Value
from bathkeeper.ids import new_id
from bathkeeper.logbook.book import Book, default_path
from bathkeeper.logbook.errors import BookError, DuplicateEntry, EntryRefused, InsertOnly, NotABook

from .helpers import START, book_of, moment, reading, remark, texts, unknown

ANY_TEXT = st.text(st.characters(exclude_categories=["Cs"]), max_size=60)
OFFSETS = st.integers(-840, 840).map(lambda minutes: timezone(timedelta(minutes=minutes)))
JSON_VALUE = st.recursive(
    st.none() | st.booleans() | st.integers(-(2**80), 2**80) | st.floats(allow_nan=False, allow_infinity=False) | ANY_TEXT,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(ANY_TEXT, inner, max_size=3),
    max_leaves=8,
)
HOSTILE = ["[/]", "[pH=4.2]", "Ni [g/L]", "\\", "🛢️", "‏שלום", "two\nlines", "\x1b[31m", "x" * 5000, "\u2028", "\x00"]
HOSTILE += ['","sum":"00000000"}']


def test_default_path_can_be_chosen(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("BATHKEEPER_BOOK", "~/elsewhere.logbook.jsonl")
    assert default_path() == Path.home() / "elsewhere.logbook.jsonl"
    monkeypatch.delenv("BATHKEEPER_BOOK")
    assert default_path().name == "workshop.logbook.jsonl"
    assert "bathkeeper" in default_path().parts


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    text=ANY_TEXT.filter(bool),
    typed=st.dictionaries(ANY_TEXT, ANY_TEXT, max_size=3),
    body=st.dictionaries(ANY_TEXT, JSON_VALUE, max_size=3),
    at=st.datetimes(datetime(1990, 1, 1), datetime(2090, 1, 1), timezones=OFFSETS),
)
def test_whatever_is_logged_is_read_again(
    place: Path, text: str, typed: dict[str, str], body: dict[str, Any], at: datetime
) -> None:
    place.unlink(missing_ok=True)
    entries: list[AnyEntry | Unknown] = [
        Remark(id=new_id(), at=at, text=text, note=text, typed=typed),
        Definition(id=new_id(), at=at + timedelta(seconds=1), of="recipe", name="own", body=body),
    ]
    book = book_of(place, *entries)
    again = Book.open(place)
    assert again.entries() == entries == book.entries()
    assert [entry.at.utcoffset() for entry in again.entries()] == [at.utcoffset()] * 2
    assert not again.problems


def test_hostile_text_survives(place: Path) -> None:
    book_of(place, *(remark(text, minutes) for minutes, text in enumerate(HOSTILE)))
    again = Book.open(place)
    assert texts(again) == HOSTILE
    assert not again.problems
    assert place.read_bytes().count(b"\n") == len(HOSTILE)


def test_entries_come_by_time_then_id_however_they_arrived(place: Path) -> None:
    book = book_of(place, remark("late", 9), remark("b", 5, id="id-b-0000"), remark("a", 5, id="id-a-0000"))
    assert texts(book) == ["a", "b", "late"]
    book.append(remark("back-dated", -60))
    assert texts(book) == ["back-dated", "a", "b", "late"]
    book.append_many([remark(str(n), 100 - n) for n in range(30)])
    assert texts(book)[4:] == [str(n) for n in range(29, -1, -1)]
    assert texts(book) == texts(Book.open(place))


def test_a_list_of_entries_is_ones_own(place: Path) -> None:
    book = book_of(place, remark("kept"))
    book.entries().clear()
    assert texts(book) == ["kept"]


def test_the_file_is_private_and_line_by_line(place: Path) -> None:
    book = book_of(place, remark("one"), reading(31.5))
    if os.name != "nt":
        assert stat.S_IMODE(place.stat().st_mode) == 0o600
    lines_in_file = place.read_text("utf-8").splitlines()
    assert [book.line_of(entry.id) for entry in book.entries()] == [1, 2]
    assert '"zinc"' in lines_in_file[1]
    assert book.line_of("nobody-00") is None


def test_another_window_sees_new_entries(place: Path) -> None:
    here = book_of(place, remark("one"))
    there = Book.open(place)
    assert not there.refresh()
    here.append(remark("two", 1))
    assert there.refresh()
    assert texts(there) == ["one", "two"]
    assert not there.refresh()
    assert not here.refresh()
    there.append(remark("three", 2))
    here.append(remark("four", 3))
    assert texts(here) == ["one", "two", "three", "four"]
    assert not here.problems


def test_what_others_logged_is_news_however_it_was_taken_up(place: Path) -> None:
    here = book_of(place, remark("one"))
    there = Book.open(place)
    there.append(remark("two", 1))
    assert here.search(where("text") == "two")  # takes it up on the way
    assert here.refresh() and not here.refresh()
    there.append(remark("three", 2))
    here.append(remark("four", 3))  # so does this
    assert here.refresh() and not here.refresh()
    here.append(remark("five", 4))
    assert not here.refresh()
    assert texts(here) == ["one", "two", "three", "four", "five"]


def test_refresh_reads_only_what_is_new(place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    here = book_of(place, *(remark(str(n), n) for n in range(500)))
    there = Book.open(place)
    here.append(remark("new", 1000))
    read = 0
    real = os.read

    def counting(fd: int, length: int) -> bytes:
        nonlocal read
        chunk = real(fd, length)
        read += len(chunk)
        return chunk

    monkeypatch.setattr(os, "read", counting)
    assert there.refresh()
    assert 0 < read < place.stat().st_size / 100


def test_a_touched_or_copied_back_file_is_no_damage(place: Path) -> None:
    book = book_of(place, remark("one"))
    os.utime(place, ns=(1, 1))
    assert not book.refresh()
    copy = place.with_name("copy")
    copy.write_bytes(place.read_bytes())
    os.replace(copy, place)
    assert not book.refresh()
    book.append(remark("two", 1))
    assert texts(Book.open(place)) == ["one", "two"]
    assert not book.damage


def test_threads_share_a_book(place: Path) -> None:
    books = [Book.open(place, create=True)] * 2 + [Book.open(place), Book.open(place)]
    errors: list[BaseException] = []

    def work(book: Book, who: int) -> None:
        try:
            for n in range(15):
                book.append(remark(f"{who}.{n}", n))
                book.entries()
                book.search(where("text") == "0.3")
        except BaseException as problem:
            errors.append(problem)

    threads = [threading.Thread(target=work, args=(book, who)) for who, book in enumerate(books)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert not errors
    assert sorted(texts(Book.open(place))) == sorted(f"{who}.{n}" for who in range(4) for n in range(15))
    assert not Book.open(place).problems


# -- refused -----------------------------------------------------------------------------------------------------------


def test_an_id_is_logged_once(place: Path) -> None:
    first = remark("one")
    book = book_of(place, first)
    before = place.read_bytes()
    with pytest.raises(DuplicateEntry, match="line 1"):
        book.append(first)
    twice = remark("twice")
    with pytest.raises(DuplicateEntry, match="given twice"):
        book.append_many([remark("fine"), twice, twice])
    other = Book.open(place)
    other.append(twice)
    with pytest.raises(DuplicateEntry, match="line 2"):
        book.append(twice)  # logged by another window meanwhile
    assert place.read_bytes().startswith(before)
    assert texts(Book.open(place)) == ["one", "twice"]


@pytest.mark.parametrize(
    "entry",
    [
        Definition(id=new_id(), at=START, of="part", name="x", body={"a": 10**5000}),
        Definition(id=new_id(), at=START, of="part", name="x", body={"a": object()}),
        Remark(id=new_id(), at=START, text="\ud83d"),
        Remark(id=new_id(), at=START, text=""),
        Remark(id=new_id(), at=START.replace(tzinfo=None), text="no offset"),
        Reading(id=new_id(), at=START, tank="t", values=(Value(of="zinc", value=-1.0, unit="degC"), "no value")),  # type: ignore[arg-type]
        unknown(amount=float("nan")),
    ],
)
def test_the_impossible_is_refused_before_the_file_is_touched(place: Path, entry: Any) -> None:
    book = book_of(place, remark("one"))
    before = place.read_bytes()
    with pytest.raises(EntryRefused, match="Nothing was written"):
        book.append_many([remark("fine", 1), entry])
    assert place.read_bytes() == before
    assert texts(book) == ["one"]


def test_nan_is_refused(place: Path) -> None:
    book = book_of(place)
    with pytest.raises(EntryRefused, match="finite"):
        book.table.insert({"kind": "reading", "id": "nan-nan-nan", "at": moment(0), "tank": "t",
                           "values": [{"of": "zinc", "value": float("nan"), "unit": "g/L"}]})  # fmt: skip
    assert place.read_bytes() == b""


def test_places_that_hold_no_book(tmp_path: Path) -> None:
    with pytest.raises(BookError, match="no file") as missing:
        Book.open(tmp_path / "none.jsonl")
    assert missing.value.title == "No book here"
    assert "bathkeeper new" in missing.value.message
    with pytest.raises(NotABook, match="folder"):
        Book.open(tmp_path)
    with pytest.raises(NotABook, match="folder"):
        Book.open(tmp_path, create=True)
    for name, data in {
        "letter.txt": b"Dear all,\n",
        "rows.jsonl": b'{"kind":"remark","at":"2026-05-01","text":"x"}\n',
        "table.csv": b"date,zinc\n2026-05-01,31.5\n",
        "picture": bytes(range(256)) * 10,
        "utf16": '{"kind":"remark"}\n'.encode("utf-16"),
    }.items():
        (tmp_path / name).write_bytes(data)
        with pytest.raises(NotABook, match="import entries"):
            Book.open(tmp_path / name)
        assert (tmp_path / name).read_bytes() == data
    (tmp_path / "file").write_bytes(b"")
    with pytest.raises(BookError):
        Book.open(tmp_path / "file" / "book.jsonl", create=True)
    if hasattr(os, "mkfifo"):
        os.mkfifo(tmp_path / "pipe")
        with pytest.raises(NotABook, match="not a file"):
            Book.open(tmp_path / "pipe")


def test_an_empty_file_that_never_held_anything_is_an_empty_book(place: Path) -> None:
    place.write_bytes(b"")
    book = Book.open(place)
    assert book.entries() == [] and not book.read_only
    book.append(remark("first"))
    assert texts(Book.open(place)) == ["first"]


def test_create_makes_folders_and_opens_what_is_there(tmp_path: Path) -> None:
    place = tmp_path / "a" / "b" / "w.logbook.jsonl"
    Book.open(place, create=True).append(remark("one"))
    assert texts(Book.open(place, create=True)) == ["one"]


def test_a_link_leads_to_the_same_book_and_lock(place: Path, tmp_path: Path) -> None:
    book = book_of(place, remark("one"))
    link = tmp_path / "link.jsonl"
    try:
        link.symlink_to(place)
    except OSError:
        pytest.skip("no links here")
    Book.open(link).append(remark("two", 1))
    assert book.refresh() and texts(book) == ["one", "two"]
    assert not (tmp_path / "link.jsonl.lock").exists()


# -- unknown kinds -----------------------------------------------------------------------------------------------------


def test_unknown_kinds_and_newer_schemas_are_kept_and_listed(place: Path) -> None:
    raw = {"kind": "reading", "schema": 99, "id": "newer-0001", "at": moment(2).isoformat(), "glow": "é"}
    newer = Unknown(id="newer-0001", at=moment(2), kind="reading", schema=99, raw=raw)
    book = book_of(place, remark("one"), unknown(minutes=1, shape="cube"), newer)
    again = Book.open(place)
    assert again.entries() == book.entries()
    assert [type(entry) for entry in again.entries()] == [Remark, Unknown, Unknown]
    assert [(p.line, p.entry) for p in again.problems] == [(2, "from-the-future-1"), (3, "newer-0001")]
    assert all("kept and skipped" in p.what for p in again.problems)
    assert not again.read_only


# -- the query layer ---------------------------------------------------------------------------------------------------


def test_tinydb_queries(place: Path) -> None:
    book = book_of(place, reading(31.5), reading(29.0, 1, tank="pickle"), remark("hm", 2, tank="pickle"))
    other = Book.open(place)
    assert len(book.table) == 3
    assert [d["kind"] for d in book.search(where("tank") == "pickle")] == ["reading", "remark"]
    assert book.table.get(where("text") == "hm").doc_id == 3  # type: ignore[union-attr]
    assert book.table.get(doc_id=2)["values"][0]["value"] == 29.0  # type: ignore[index]
    assert book.table.contains(where("text") == "hm") and not book.table.contains(where("text") == "no")
    other.append(remark("from another window", 3, tank="pickle"))
    assert book.table.count(where("tank") == "pickle") == 3


def test_found_documents_are_copies(place: Path) -> None:
    book = book_of(place, reading(31.5))
    found: list[Any] = [*book.search(where("tank") == "electrolyte"), *book.table, *book.table.all(), book.table.get(doc_id=1)]
    for document in found:
        document["values"][0]["value"] = 0.0
        document["tank"] = "x"
    assert book.search(where("tank") == "electrolyte")[0]["values"][0]["value"] == 31.5
    assert book.entries() == Book.open(place).entries()


def test_the_table_only_inserts(place: Path) -> None:
    book = book_of(place, reading(31.5))
    table: Any = book.table
    assert table.insert({"kind": "remark", "id": "inserted-1", "at": "2026-05-01T09:00:00Z", "text": "in"}) == 2
    assert texts(Book.open(place)) == ["in"] == texts(book)
    with pytest.raises(EntryRefused):
        table.insert({"kind": "remark"})
    everything = where("kind").exists()
    before = place.read_bytes()
    for verb, arguments in {
        "update": ({"tank": "x"}, everything),
        "update_multiple": ([({"tank": "x"}, everything)],),
        "upsert": ({"tank": "x"}, everything),
        "remove": (everything,),
    }.items():
        with pytest.raises(InsertOnly, match="log a correction"):
            getattr(table, verb)(*arguments)
    with pytest.raises(InsertOnly, match="new book"):
        table.truncate()
    with pytest.raises(InsertOnly, match="correction"):
        table.storage.write({})
    assert place.read_bytes() == before
