"""What happens to a book that was hurt: torn, flipped, cut, replaced, on a full disk, without permission."""

from __future__ import annotations

import errno
import os
import shutil
import subprocess
import sys
import tempfile
import threading
from collections.abc import Callable
from pathlib import Path

import pytest

from bathkeeper.logbook import book as book_module
from bathkeeper.logbook import lines
from bathkeeper.logbook.book import Book, accept, salvage
from bathkeeper.logbook.errors import BookBusy, BookError, NotABook, ReadOnlyBook

from .helpers import book_of, remark, texts, unknown

POSIX = pytest.mark.skipif(os.name == "nt", reason="speaks of POSIX permissions and limits")


@pytest.fixture
def six(place: Path) -> Path:
    book_of(place, *(remark(f"entry {n}", n) for n in range(1, 7)))
    return place


def parts(place: Path) -> list[bytes]:
    return place.read_bytes().splitlines(keepends=True)


def assert_read_only(book: Book) -> None:
    before = book.path.read_bytes()
    assert book.read_only
    with pytest.raises(ReadOnlyBook):
        book.append(remark("no", 99))
    assert book.path.read_bytes() == before


# -- torn tail ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("torn", [b"{", b'{"kind":"rem', b"\0" * 300, None], ids=["brace", "start", "zeros", "all but the end"])
def test_a_torn_tail_is_set_aside_by_the_next_writer(six: Path, torn: bytes | None) -> None:
    whole = six.read_bytes()
    tail = torn if torn is not None else lines.encode(b'{"kind":"remark","id":"never-done"}', "00000000")[0][:-1]
    six.write_bytes(whole + tail)
    reader = Book.open(six)
    assert len(texts(reader)) == 6 and not reader.damage and not reader.read_only
    assert [p.line for p in reader.problems] == [7] and "never finished" in reader.problems[0].what
    assert six.read_bytes() == whole + tail  # a reader only reports
    reader.append(remark("after", 10))
    assert texts(Book.open(six))[-1] == "after" and not Book.open(six).problems
    aside = list(six.parent.glob("*.torn-*"))
    assert [file.read_bytes() for file in aside] == [tail]
    assert aside[0].name in reader.problems[0].what
    assert six.read_bytes().startswith(whole)


def test_a_torn_tail_that_another_writer_set_aside(six: Path) -> None:
    six.write_bytes(six.read_bytes() + b'{"kind"')
    reader, writer = Book.open(six), Book.open(six)
    writer.append(remark("after", 10))
    assert reader.refresh() and texts(reader)[-1] == "after"
    assert not reader.damage and not reader.problems


def test_two_torn_tails_within_a_second_are_both_kept(six: Path) -> None:
    for tail in (b"{", b'{"kin'):
        with six.open("ab") as file:
            file.write(tail)
        Book.open(six).append(remark("x", 10))
    assert sorted(file.read_bytes() for file in six.parent.glob("*.torn-*")) == [b"{", b'{"kin']


def test_a_book_of_nothing_but_a_torn_line(place: Path) -> None:
    place.write_bytes(b'{"kind":"wor')
    book = Book.open(place)
    assert book.entries() == [] and book.problems[0].line == 1 and not book.damage
    book.append(remark("first"))
    assert texts(Book.open(place)) == ["first"]


def test_a_last_line_without_newline_is_an_entry(six: Path) -> None:
    six.write_bytes(six.read_bytes()[:-1])
    book, other = Book.open(six), Book.open(six)
    assert len(texts(book)) == 6 and not book.problems
    book.append(remark("seven", 10))
    assert len(parts(six)) == 7
    assert other.refresh() and texts(other)[-1] == "seven"
    assert not other.problems and not Book.open(six).problems


# -- damage ------------------------------------------------------------------------------------------------------------


def flip(place: Path) -> None:
    data = bytearray(place.read_bytes())
    data[data.index(b"entry 3") + 6] ^= 1
    place.write_bytes(data)


def drop_middle(place: Path) -> None:
    place.write_bytes(b"".join(parts(place)[:2] + parts(place)[3:]))


def swap(place: Path) -> None:
    p = parts(place)
    place.write_bytes(b"".join([p[0], p[1], p[3], p[2], *p[4:]]))


def blank_line(place: Path) -> None:
    place.write_bytes(b"".join([*parts(place)[:2], b"\n", *parts(place)[2:]]))


def stranger(place: Path) -> None:
    raw, _ = lines.encode(b'{"kind":"remark","schema":1,"id":"stranger-1","at":"2026-05-01T08:00:00Z","text":"?"}', "0badcafe")
    place.write_bytes(b"".join([*parts(place)[:2], raw, b"\n", *parts(place)[2:]]))


@pytest.mark.parametrize(
    ("hurt", "line", "says", "kept"),
    [
        (flip, 3, "was changed after it was written", [1, 2, 4, 5, 6]),
        (drop_middle, 3, "does not follow the line before it", [1, 2, 4, 5, 6]),
        (swap, 3, "does not follow the line before it", [1, 2, 3, 4, 5, 6]),
        (blank_line, 3, "is empty", [1, 2, 3, 4, 5, 6]),
        (stranger, 3, "does not follow", [1, 2, 3, 4, 5, 6]),
    ],
)
def test_a_hurt_middle_line_is_named_and_the_rest_can_be_read(
    six: Path, tmp_path: Path, own_cache: Path, hurt: Callable[[Path], None], line: int, says: str, kept: list[int]
) -> None:
    hurt(six)
    shutil.rmtree(own_cache)  # the lines alone must tell
    book = Book.open(six)
    assert book.damage and book.damage.line == line and says in book.damage.what and f"line {line}" in book.damage.what
    assert book.damage in book.problems and "salvage" in book.damage.right
    assert [t for t in texts(book) if t != "?"] == [f"entry {n}" for n in kept]
    assert_read_only(book)
    to = tmp_path / "mended.jsonl"
    assert salvage(six, to) == len(book.entries())
    mended = Book.open(to)
    assert mended.entries() == book.entries() and not mended.problems and not mended.read_only
    mended.append(remark("on we go", 50))


def test_damage_at_the_only_line(place: Path, own_cache: Path) -> None:
    book_of(place, remark("alone"))
    place.write_bytes(place.read_bytes().replace(b"alone", b"clone"))
    shutil.rmtree(own_cache)
    book = Book.open(place)
    assert book.damage and book.damage.line == 1 and book.entries() == []


def test_salvage_leaves_what_is_there_alone(six: Path, tmp_path: Path) -> None:
    flip(six)
    (tmp_path / "there").write_text("mine")
    with pytest.raises(BookError, match="left alone"):
        salvage(six, tmp_path / "there")
    assert (tmp_path / "there").read_text() == "mine"


def test_salvage_keeps_what_this_version_does_not_know(place: Path, tmp_path: Path) -> None:
    book_of(place, remark("entry 1"), unknown(minutes=1, shape="cube"), remark("entry 3", 2))
    flip(place)
    assert salvage(place, tmp_path / "to") == 2
    assert list(Book.open(tmp_path / "to").contents()) == list(Book.open(place).contents())


@pytest.mark.parametrize("keep", [5, 1, 0])
def test_a_shortened_file_is_noticed_while_open(six: Path, keep: int) -> None:
    book = Book.open(six)
    six.write_bytes(b"".join(parts(six)[:keep]))
    assert book.refresh()  # damage is news
    assert book.damage and "shortened" in book.damage.what
    assert not book.refresh()
    assert len(texts(book)) == 6  # what was read is still here
    assert_read_only(book)


def test_a_file_shortened_under_a_writer_is_noticed_before_it_writes(six: Path) -> None:
    book = Book.open(six)
    six.write_bytes(b"".join(parts(six)[:4]))
    before = six.read_bytes()
    with pytest.raises(ReadOnlyBook, match="shortened"):
        book.append(remark("no", 99))
    assert six.read_bytes() == before


@pytest.mark.parametrize("keep", [5, 1, 0])
def test_a_shortened_file_is_noticed_by_the_next_program(six: Path, keep: int) -> None:
    six.write_bytes(b"".join(parts(six)[:keep]))
    book = Book.open(six)
    assert book.damage and "shorter than when last seen" in book.damage.what and book.damage.line == keep + 1
    assert len(texts(book)) == keep
    assert_read_only(book)
    assert Book.open(six).damage  # and by the one after it
    accept(six)
    accepted = Book.open(six)
    assert not accepted.damage
    accepted.append(remark("on we go", 50))
    assert len(texts(Book.open(six))) == keep + 1


def test_an_acknowledged_line_cut_in_two_is_damage_not_a_torn_tail(six: Path) -> None:
    six.write_bytes(six.read_bytes()[:-20])
    book = Book.open(six)
    assert book.damage and len(texts(book)) == 5
    assert_read_only(book)
    assert not list(six.parent.glob("*.torn-*"))


def test_a_file_that_went_another_way_is_damage(six: Path, tmp_path: Path) -> None:
    shutil.copy(six, tmp_path / "copy")
    Book.open(six).append(remark("here", 10))
    copy = Book.open(tmp_path / "copy")
    copy.append_many([remark("there", 10), remark("there too", 11)])
    open_book = Book.open(six)
    os.replace(tmp_path / "copy", six)
    assert open_book.refresh() and open_book.damage and "replaced" in open_book.damage.what
    later = Book.open(six)
    assert later.damage and "not the one last seen" in later.damage.what


def test_another_book_in_its_place_is_told_not_refused(six: Path, tmp_path: Path) -> None:
    book_of(tmp_path / "other", *(remark(str(n), n) for n in range(20)))
    os.replace(tmp_path / "other", six)
    book = Book.open(six)
    assert not book.damage and len(book.entries()) == 20
    assert "another book" in book.problems[0].what


def test_a_replaced_file_that_goes_on_from_what_was_read_is_fine(six: Path, tmp_path: Path) -> None:
    book = Book.open(six)
    shutil.copy(six, tmp_path / "copy")
    Book.open(tmp_path / "copy").append(remark("from elsewhere", 10))
    os.replace(tmp_path / "copy", six)
    assert book.refresh() and not book.damage and texts(book)[-1] == "from elsewhere"


def test_a_byte_changed_in_place_is_noticed_while_open(six: Path) -> None:
    book = Book.open(six)
    flip(six)
    os.utime(six, ns=(1, 1))
    assert book.refresh() and book.damage and "rewritten" in book.damage.what


def test_a_file_that_vanished(six: Path) -> None:
    book = Book.open(six)
    six.unlink()
    assert book.refresh() and book.damage and "gone" in book.damage.what
    with pytest.raises(ReadOnlyBook):
        book.append(remark("no", 99))
    assert not six.exists()
    with pytest.raises(BookError, match="6 lines"):
        Book.open(six)


def test_a_file_that_vanished_under_a_writer_is_not_made_anew(six: Path) -> None:
    book = Book.open(six)
    six.unlink()
    with pytest.raises(ReadOnlyBook, match="gone"):
        book.append(remark("no", 99))
    assert not six.exists()


def test_a_lost_or_broken_cache_is_no_damage(six: Path, own_cache: Path) -> None:
    for file in (own_cache / "last-seen").iterdir():
        file.write_bytes(b"\xff nonsense")
    assert not Book.open(six).problems
    shutil.rmtree(own_cache)
    own_cache.write_text("a file where the folder should be")
    book = Book.open(six)
    book.append(remark("seven", 10))
    assert not book.problems


def test_a_repeated_id_in_the_file_is_told(six: Path, own_cache: Path) -> None:
    p = parts(six)
    last = lines.decode(p[-1][:-1], 6)
    again, _ = lines.encode(lines.decode(p[0][:-1], 1).content, last.sum)
    six.write_bytes(b"".join(p) + again + b"\n")
    book = Book.open(six)
    assert not book.damage and len(texts(book)) == 6
    assert book.problems[0].line == 7 and "repeats the id of line 1" in book.problems[0].what


def test_a_line_that_verifies_but_is_no_entry_is_kept_and_skipped(place: Path) -> None:
    raw, _ = lines.encode(b'{"kind":"remark","schema":1,"id":"odd-odd-odd","at":"2026-05-01T08:00:00Z","text":5}', "")
    place.write_bytes(raw + b"\n")
    book = Book.open(place)
    assert book.entries() == [] and not book.damage
    assert book.problems[0].entry == "odd-odd-odd" and "kept and skipped" in book.problems[0].what
    book.append(remark("next"))
    assert next(Book.open(place).contents())[0] == "odd-odd-odd"


# -- disk full ---------------------------------------------------------------------------------------------------------


class FullDisk:
    """Takes ``room`` more bytes, then none, as a full disk does: first a short write, then ENOSPC."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch, room: int) -> None:
        self.room = room
        self._write = os.write
        monkeypatch.setattr(os, "write", self)

    def __call__(self, fd: int, data: bytes) -> int:
        if self.room <= 0:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        written = self._write(fd, bytes(data)[: self.room])
        self.room -= written
        return written


@pytest.mark.parametrize("room", [0, 1, 40, 250])
def test_a_full_disk_leaves_the_book_as_it_was(six: Path, room: int) -> None:
    book, before = Book.open(six), six.read_bytes()
    with pytest.MonkeyPatch.context() as patch:
        FullDisk(patch, room)
        with pytest.raises(BookError, match="full") as refused:
            book.append_many([remark("a" * 60, 10), remark("b" * 60, 11)])
    assert refused.value.title == "No room left" and not isinstance(refused.value, ReadOnlyBook)
    assert six.read_bytes() == before
    assert len(texts(book)) == 6 and not book.refresh() and not book.damage
    book.append(remark("room again", 12))
    assert texts(Book.open(six))[-1] == "room again" and not Book.open(six).problems


def test_a_short_write_with_room_left_is_carried_on(six: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    real = os.write
    monkeypatch.setattr(os, "write", lambda fd, data: real(fd, bytes(data)[:7]))
    book_of(six, remark("in pieces", 10))
    assert texts(Book.open(six))[-1] == "in pieces" and not Book.open(six).problems


def test_a_full_disk_while_setting_a_torn_tail_aside_loses_nothing(six: Path) -> None:
    six.write_bytes(six.read_bytes() + b'{"kind":"rem')
    book, before = Book.open(six), six.read_bytes()
    with pytest.MonkeyPatch.context() as patch:
        FullDisk(patch, 4)
        with pytest.raises(BookError, match="full"):
            book.append(remark("no", 10))
    assert six.read_bytes() == before
    assert not list(six.parent.glob("*.torn-*"))


def test_a_failed_sync_is_not_acknowledged(six: Path) -> None:
    book, before = Book.open(six), six.read_bytes()
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("bathkeeper.logbook.disk.os.fsync", _io_error)
        with pytest.raises(BookError, match="writing"):
            book.append(remark("no", 10))
    assert six.read_bytes() == before and len(texts(book)) == 6


def test_another_window_does_not_take_a_cut_back_write_for_damage(six: Path) -> None:
    here, there = Book.open(six), Book.open(six)
    with pytest.MonkeyPatch.context() as patch:
        FullDisk(patch, 90)
        with pytest.raises(BookError):
            here.append(remark("no", 10))
    there.refresh()
    assert not there.damage
    assert not Book.open(six).problems


@POSIX
def test_a_real_size_limit(six: Path) -> None:
    """The kernel's own limit (RLIMIT_FSIZE) cuts the write half-way."""
    code = f"""
import resource
from pathlib import Path
from bathkeeper.logbook.book import Book, BookError
from tests.logbook.helpers import remark
place = Path({str(six)!r})
book = Book.open(place)
resource.setrlimit(resource.RLIMIT_FSIZE, (place.stat().st_size + 100, resource.RLIM_INFINITY))
try:
    book.append(remark("x" * 500, 10, id="too-long-01"))
except BookError as refused:
    print(refused.title)
"""
    before = six.read_bytes()
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, cwd=_root(), check=True)
    assert done.stdout.strip() == "No room left"
    assert six.read_bytes() == before
    assert not Book.open(six).problems


# -- permission --------------------------------------------------------------------------------------------------------


@POSIX
@pytest.mark.parametrize(
    ("file_mode", "folder_mode", "outcome"),
    [(0o644, 0o755, "read-only"), (0o444, 0o777, "read-only"), (0o000, 0o755, "No permission"), (0o666, 0o755, "read-only")],
)
def test_a_reader_without_permission_to_write(file_mode: int, folder_mode: int, outcome: str) -> None:
    """As another user: reads without leaving a trace, and says why it cannot write."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        folder.chmod(0o755)
        inner = folder / "shared"
        inner.mkdir()
        place = inner / "shed.logbook.jsonl"
        book_of(place, remark("to read"))
        place.with_name(place.name + ".lock").unlink()
        place.chmod(file_mode)
        inner.chmod(folder_mode)
        assert _as_nobody(place) == outcome
        inner.chmod(0o755)
        assert len(parts(place)) == 1


def _as_nobody(place: Path) -> str:
    out, into = os.pipe()
    child = os.fork()
    if child == 0:
        said = "?"
        try:
            if os.geteuid() == 0:
                os.setgroups([])
                os.setgid(65534)
                os.setuid(65534)
            book = Book.open(place)
            if texts(book) == ["to read"] and book.read_only and not book.refresh():
                try:
                    book.append(remark("no"))
                except ReadOnlyBook:
                    said = "read-only"
        except BookError as refused:
            said = refused.title
        except BaseException as problem:
            said = repr(problem)
        finally:
            os.write(into, said.encode())
            os._exit(0)
    os.close(into)
    os.waitpid(child, 0)
    with os.fdopen(out) as pipe:
        return pipe.read()


def test_a_lock_held_too_long_is_told(six: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    book = Book.open(six)
    holder = Book.open(six)
    monkeypatch.setattr(book._journal._lock, "_patience_s", 0.02)
    held, done = threading.Event(), threading.Event()

    def hold() -> None:
        with holder.writing():
            held.set()
            done.wait(10)

    thread = threading.Thread(target=hold)
    thread.start()
    held.wait(10)
    try:
        with pytest.raises(BookBusy, match="Nothing was written"):
            book.append(remark("no", 10))
    finally:
        done.set()
        thread.join()
    book.append(remark("seven", 10))
    assert len(texts(book)) == 7


def test_not_a_book_is_not_damaged_by_looking(tmp_path: Path) -> None:
    other = tmp_path / "notes.txt"
    other.write_text("not a book\n")
    with pytest.raises(NotABook):
        Book.open(other)
    assert other.read_text() == "not a book\n"


def _io_error(fd: int) -> None:
    raise OSError(errno.EIO, os.strerror(errno.EIO))


def _root() -> Path:
    return Path(book_module.__file__).parents[2]

