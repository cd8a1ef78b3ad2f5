"""Two thousand rows with thirty bad ones: 1 970 are taken, thirty are named with reasons, and a second import takes none."""

from __future__ import annotations

import os
import signal
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path

import pytest

from bathkeeper.entries import Unknown
from bathkeeper.logbook.book import Book
from bathkeeper.sheets.taking import look, read, take
from bathkeeper.workshop import Workshop

from .helpers import HEAD, NOW, csv_file, entries, imported, line_of_tanks, planned, reasons

BAD = {
    ",bolts,3,5,40,,,,": "no date",
    "31/02/2025,bolts,3,5,40,,,,": "no day that there is",
    "yesterday,bolts,3,5,40,,,,": "is no date",
    "{},bolts,large,5,40,,,,": "does not begin with a number",
    "{},bolts,3,5,,,,,": "current without a time",
    "{},bolts,3,-5,40,,,,": "below zero",
    "{},,,,,32 kg,,,": "unit of mass",
    "{},,,,,,19,,": "off the pH scale",
    "{},,,,,30-32,,,": "more than one number",
    "{},,,,,,,two,": "does not begin with a number",
}


def sheet(folder: Path, rows: int = 2000, bad: int = 30) -> tuple[Path, dict[int, str]]:
    """The file, and row -> what is to be said of it."""
    wrong: dict[int, str] = {}
    lines = [HEAD]
    every = rows // bad
    reasons_ = list(BAD.items())
    for n in range(rows):
        day = (date(2023, 1, 2) + timedelta(days=n // 2)).strftime("%d/%m/%Y")
        if n % every == every - 1 and len(wrong) < bad:
            line, why = reasons_[len(wrong) % len(reasons_)]
            wrong[len(lines) + 1] = why
            lines.append(line.format(day))
        elif n % 5 == 4:
            lines.append(f"{day},,,,,{30 + n % 7 / 2},5.{n % 10},{'1.5' if n % 2 else ''},")
        else:
            lines.append(f"{day},batch {n},{2 + n % 5 / 10},5.5,{40 + n % 9},,,,{'dull edge' if n % 11 == 0 else ''}")
    return csv_file(folder, *lines), wrong


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Workshop, Path, dict[int, str]]]:
    folder = tmp_path_factory.mktemp("many")
    path, wrong = sheet(folder)
    yield line_of_tanks(folder), path, wrong


def test_1970_of_2000_rows_are_taken_30_are_named_and_the_second_import_takes_none(
    made: tuple[Workshop, Path, dict[int, str]],
) -> None:
    workshop, path, wrong = made
    before = len(workshop.book.entries())
    plan = imported(workshop, path)
    assert (plan.rows, plan.taken_rows, plan.refused_rows, len(plan.unlikely), len(plan.passed)) == (2000, 1970, 30, 0, 0)
    told = reasons(plan)
    assert told.keys() == wrong.keys()
    for row, why in wrong.items():
        assert why in told[row], (row, told[row])
    written = workshop.book.entries()[:]
    assert len(written) == before + len(plan.entries) + 1  # the mapping comes along
    assert not any(isinstance(e, Unknown) for e in written) and len({e.id for e in written}) == len(written)

    size = workshop.book.path.stat().st_size
    again = look(workshop, path)
    assert again.origin == "saved" and not again.open
    second = read(workshop, again, NOW)
    assert (len(second.entries), second.already, second.refused_rows) == (0, len(plan.entries), 30)
    take(workshop, second, NOW)
    assert workshop.book.path.stat().st_size == size

    longer = csv_file(path.parent, *path.read_text().splitlines(), "30/01/2026,more,2,5,40,,,,", name="longer.csv")
    third = planned(workshop, longer)
    assert [e["parts"][0]["description"] for e in entries(third)] == ["more"]


def test_ctrl_c_while_rows_are_read_leaves_the_book_as_it_was(tmp_path: Path) -> None:
    workshop = line_of_tanks(tmp_path)
    path, _ = sheet(tmp_path, 200, 5)
    before = workshop.book.path.read_bytes()

    def stop(row: int) -> None:
        if row == 100:
            os.kill(os.getpid(), signal.SIGINT)

    usual = signal.signal(signal.SIGINT, signal.default_int_handler)  # a job in the background starts without one
    try:
        with pytest.raises(KeyboardInterrupt):
            read(workshop, look(workshop, path), NOW, told=stop)
    finally:
        signal.signal(signal.SIGINT, usual)
    assert workshop.book.path.read_bytes() == before


def test_a_failure_in_the_middle_of_writing_leaves_the_book_as_it_was(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    workshop = line_of_tanks(tmp_path)
    path, _ = sheet(tmp_path, 200, 5)
    plan = planned(workshop, path)
    before = workshop.book.path.read_bytes()
    real, calls = os.write, []

    def half(fd: int, data: bytes) -> int:
        calls.append(len(data))
        if len(data) > 5000:
            return real(fd, bytes(data)[:3000])
        return real(fd, data)

    def broken(fd: int) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "write", half)
    monkeypatch.setattr(os, "fsync", broken)
    with pytest.raises(KeyboardInterrupt):
        take(workshop, plan, NOW)
    monkeypatch.undo()
    assert any(size > 5000 for size in calls)
    assert workshop.book.path.read_bytes() == before
    assert len(Book.open(workshop.book.path).entries()) == len(before.splitlines())
