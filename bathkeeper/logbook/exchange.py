"""Entries in from JSON Lines that anyone can write, and out again.

A row is an entry of the book without ``id``, ``schema``, ``sum`` and ``prev``, or with any of them. Without an id it gets one
made of its own content and of how often that content came before in the file: the same file, or a longer one, imported again
adds nothing twice. A date alone (2026-05-01) stands for that day in UTC: its rows get 00:00:00, 00:00:01 ... in file order.
"""

from __future__ import annotations

import hashlib
import io
import os
import re
from collections.abc import Sequence
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from typing import Any, BinaryIO

import msgspec

from bathkeeper.entries import KINDS, AnyEntry, EntryError, Unknown, recognise, to_plain
from bathkeeper.findings import Problem
from bathkeeper.logbook import disk, lines
from bathkeeper.logbook.book import Book
from bathkeeper.logbook.errors import BookError, ImportRefused, from_os
from bathkeeper.logbook.lines import LineError

_DATE = re.compile(r"\d{4}-\d{2}-\d{2}\Z")
_OWN = ("id", "schema", "prev", "sum")
_DAY_S = 86_400


class Imported(msgspec.Struct, frozen=True, kw_only=True):
    """What an import did, or with ``dry_run`` would do: entries ``added``, ``already`` there, and ``dated`` rows that had a
    date alone; ``entries`` are those added."""

    added: int
    already: int
    dated: int = 0
    dry_run: bool = False
    entries: tuple[AnyEntry | Unknown, ...] = ()


class _Row(msgspec.Struct, frozen=True):
    number: int
    entry: AnyEntry | Unknown
    content: bytes
    made_id: bool


def import_entries(book: Book, path: Path, *, dry_run: bool = False) -> Imported:
    """Takes in the rows of a JSON Lines file, all or none.

    Raises:
        ImportRefused: some rows cannot become entries; every one is named with its line and reason. Nothing was written.
        BookError: the file cannot be read, or the book cannot be written.
    """
    rows, bad, dated = _read(Path(path).expanduser())
    if bad or dry_run:
        book.refresh()
        return _settle(book, rows, bad, dated, path, dry_run=True)  # refuses when there are bad rows
    with book.writing():
        return _settle(book, rows, bad, dated, path, dry_run=False)


def add_new(book: Book, entries: Sequence[AnyEntry], also: Sequence[AnyEntry] = ()) -> Imported:
    """Logs those entries whose ids the book does not have yet, with one sync: all of them or none. ``also`` comes along in the
    same write, and alone as well.

    Raises:
        BookError: the book cannot be written. Nothing was.
    """
    with book.writing():
        new = [entry for entry in entries if entry.id not in book]
        book.append_many([*new, *also])
    return Imported(added=len(new), already=len(entries) - len(new), entries=tuple(new))


def export_entries(book: Book, to: Path | BinaryIO) -> int:
    """Writes every entry, corrections and unknown kinds included, by (at, id) as JSON Lines; returns how many.

    Imported into an empty book they give the same ids and contents.

    Raises:
        BookError: the file exists already or cannot be written.
    """
    contents = dict(book.contents())
    order = [entry.id for entry in book.entries()]
    known = set(order)
    order += [id for id in contents if id not in known]
    payload = b"".join(contents[id] + b"\n" for id in order)
    if isinstance(to, (str, os.PathLike)):
        write_file(Path(to), payload)
    else:
        to.write(payload)
    return len(order)


def write_file(path: Path, payload: bytes) -> None:
    """Writes a file that does not exist yet. Raises BookError."""
    place = path.expanduser()
    try:
        disk.write_new(place, payload)
    except FileExistsError:
        raise BookError("The file exists already", f"{place} is left alone. Name a file that does not exist yet.") from None
    except OSError as problem:
        raise from_os(problem, place, "writing") from None


def _settle(book: Book, rows: list[_Row], bad: list[Problem], dated: int, path: Path, *, dry_run: bool) -> Imported:
    """Holds the rows against the book and against one another, then writes those that are new."""
    here = dict(book.contents())
    new: dict[str, _Row] = {}
    bad = list(bad)
    already = 0
    for row in rows:
        id = row.entry.id
        there = here.get(id) or (new[id].content if id in new else None)
        if there is None:
            new[id] = row
        elif row.made_id or lines.same_content(there, row.content):
            already += 1
        else:
            where = f"line {book.line_of(id)} of the book" if id in here else f"line {new[id].number}"
            bad.append(
                Problem(
                    what=f"its id {id} already stands for another entry, on {where}",
                    right="Leave `id` out to log it as a new entry, or log a correction of the other.",
                    entry=id,
                    line=row.number,
                )
            )
    if bad:
        raise _refused(path, bad)
    if not dry_run:
        book.append_contents([row.content for row in new.values()])
    entries = tuple(row.entry for row in new.values())
    return Imported(added=len(new), already=already, dated=dated, dry_run=dry_run, entries=entries)


def _read(path: Path) -> tuple[list[_Row], list[Problem], int]:
    try:
        data = path.read_bytes()
    except FileNotFoundError:
        raise BookError("No such file", f"There is no file {path} to import.") from None
    except IsADirectoryError:
        raise BookError("Not a file", f"{path} is a folder. Name a JSON Lines file in it.") from None
    except OSError as problem:
        raise BookError("The file cannot be read", f"{path}: {problem.strerror or problem}.") from None
    reader = _Reader()
    rows: list[_Row] = []
    bad: list[Problem] = []
    for number, raw in enumerate(io.BytesIO(data.removeprefix(b"\xef\xbb\xbf")), start=1):
        raw = raw.strip()
        if not raw:
            continue
        try:
            rows.append(reader.row(number, raw))
        except (LineError, EntryError) as problem:
            bad.append(Problem(what=str(problem), line=number))
    return rows, bad, reader.dated


class _Reader:
    """Turns rows into entries, counting repeats and the rows of each day as they come."""

    def __init__(self) -> None:
        self.dated = 0
        self._repeats: dict[bytes, int] = {}
        self._of_day: dict[str, int] = {}

    def row(self, number: int, raw: bytes) -> _Row:
        """Raises LineError or EntryError, whose message is the reason."""
        given = _object(raw)
        if "sum" in given:
            _check_sum(raw, given)
        as_written = {key: value for key, value in given.items() if key not in _OWN}
        plain = {key: value for key, value in given.items() if key not in lines.RESERVED}
        kind = plain.get("kind")
        if kind is None:
            raise EntryError(f"it has no `kind`; known are {', '.join(KINDS)}")
        plain["at"] = self._moment(plain.get("at"))
        made_id = "id" not in plain
        if made_id:
            if kind not in KINDS:
                raise EntryError(f"unknown kind of entry {kind!r}; known are {', '.join(KINDS)}")
            plain["id"] = self._id(as_written)
        entry = recognise(plain)
        if given["at"] != plain["at"] or not {"id", "schema"} <= set(given):
            content = lines.encode_content(plain if isinstance(entry, Unknown) else to_plain(entry))
        elif isinstance(entry, Unknown) or raw == lines.compact(given):
            content = _verbatim(raw, given)  # whole as some book wrote it
        else:
            content = lines.encode_content(to_plain(entry))
        return _Row(number, entry, content, made_id)

    def _moment(self, at: Any) -> str:
        if at is None:
            raise EntryError(f"it has no `at`; write when it happened, for example {_example()}, or the date alone")
        if not isinstance(at, str):
            raise EntryError(f"`at` is {at!r}; write it as text, for example {_example()}, or the date alone")
        if _DATE.match(at):
            return self._second_of_day(at)
        try:
            moment = datetime.fromisoformat(at)
        except ValueError:
            raise EntryError(f"`at` is {at!r}, which is no time; write for example {_example()}, or the date alone") from None
        if moment.tzinfo is None:
            raise EntryError(
                f"`at` is {at!r} without an offset from UTC; write {at}+02:00 (your own offset), {at}Z for UTC, "
                "or the date alone"
            )
        try:
            msgspec.convert(at, datetime, strict=True)
        except msgspec.ValidationError:
            return moment.isoformat()  # a shorter way of writing it, such as without seconds
        return at

    def _second_of_day(self, at: str) -> str:
        try:
            day = date.fromisoformat(at)
        except ValueError:
            raise EntryError(f"`at` is {at!r}; there is no such day") from None
        second = self._of_day.get(at, 0)
        if second >= _DAY_S:
            raise EntryError(f"more than {_DAY_S} rows are of {at} with the date alone; give times")
        self._of_day[at] = second + 1
        self.dated += 1
        moment = datetime.combine(day, time(), tzinfo=UTC) + timedelta(seconds=second)
        return moment.isoformat().replace("+00:00", "Z")

    def _id(self, as_written: dict[str, Any]) -> str:
        content = lines.canonical(as_written)
        ordinal = self._repeats.get(content, 0)
        self._repeats[content] = ordinal + 1
        return "row-" + hashlib.blake2b(content + b"\n%d" % ordinal, digest_size=16).hexdigest()


def _object(raw: bytes) -> dict[str, Any]:
    try:
        given = msgspec.json.decode(raw)
    except (msgspec.DecodeError, UnicodeDecodeError, RecursionError) as problem:
        raise LineError(f"it is not JSON in UTF-8 ({problem}); each line is one object, for example {_example_row()}") from None
    if not isinstance(given, dict):
        raise LineError(f"it is not an object; each line is one, for example {_example_row()}")
    return given


def _check_sum(raw: bytes, given: dict[str, Any]) -> None:
    try:
        lines.decode(raw, 0)
    except LineError as problem:
        raise LineError(f"it {problem}. If it was changed on purpose, leave out `sum` and `prev`") from None


def _verbatim(raw: bytes, given: dict[str, Any]) -> bytes:
    """The row's own bytes as content, so that what this version does not know survives to the letter."""
    if "sum" in given:
        return lines.decode(raw, 0).content
    return raw if "prev" not in given else lines.encode_content(given)


def _refused(path: Path, bad: list[Problem]) -> ImportRefused:
    bad = sorted(bad, key=lambda problem: problem.line or 0)
    rows = "\n".join(f"line {p.line}: {p.what}{'. ' + p.right if p.right else ''}" for p in bad)
    count = "1 row" if len(bad) == 1 else f"{len(bad)} rows"
    return ImportRefused("Nothing was imported", f"{count} of {path} cannot become entries:\n{rows}", tuple(bad))


def _example() -> str:
    return "2026-05-01T08:30:00+02:00"


def _example_row() -> str:
    return f'{{"kind":"remark","at":"{_example()}","text":"..."}}'


