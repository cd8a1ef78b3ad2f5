"""Sheets broken at random: a value, a named row or a sentence, and never a number that was not in the sheet."""

from __future__ import annotations

import random
from pathlib import Path

import pytest

from bathkeeper.logbook.errors import BookError
from bathkeeper.sheets.taking import MappingError, look, read
from bathkeeper.workshop import Workshop

from .helpers import HEAD, NOW, csv_file, entries, line_of_tanks

HOSTILE = [
    "=1+1",
    "+1",
    "-1",
    "@x",
    "=cmd|' /C calc'!A0",
    "\x1b[31m",
    "\u202eabc",
    "[/]",
    "a" * 32_000,
    "\0",
    "🫧",
    "area=99dm2",
    "dummy",
    "whole-line",
    "electrolyte=99A*9min",
    "32 g/L@edta",
    "1e999",
    "nan",
    "inf",
    "1,500",
    "12:30",
    "' or 1",
    '"',
    "\n",
    "text=x",
]
ZINC = [30.125 + n for n in range(8)]


@pytest.fixture(scope="module")
def workshop(tmp_path_factory: pytest.TempPathFactory) -> Workshop:
    return line_of_tanks(tmp_path_factory.mktemp("line"))


def sheet() -> list[str]:
    return [HEAD, *(f"{n + 10}/02/2026,part {n},{2 + n},{5 + n},4{n},{z},5.{n},{n + 1},note {n}" for n, z in enumerate(ZINC))]


def test_bytes_changed_at_random(workshop: Workshop, tmp_path: Path) -> None:
    chance = random.Random(7)
    whole = "\n".join(sheet()).encode()
    path = tmp_path / "hurt.csv"
    for _ in range(250):
        data = bytearray(whole)
        for _ in range(chance.randint(1, 6)):
            place = chance.randrange(len(data))
            act = chance.randrange(3)
            if act == 0:
                data[place] = chance.randrange(256)
            elif act == 1:
                del data[place : place + chance.randint(1, 30)]
            else:
                data[place:place] = bytes(chance.choices(b'",;\n\r\x00\xff1.-', k=chance.randint(1, 4)))
            if not data:
                break
        path.write_bytes(bytes(data))
        try:
            plan = read(workshop, look(workshop, path), NOW)
        except (BookError, MappingError) as problem:
            assert str(problem)
            continue
        for fault in (*plan.refused, *plan.unlikely, *plan.passed):
            assert fault.what and fault.row > 0


@pytest.mark.parametrize("column", range(9))
def test_hostile_cells_are_text_or_refused_and_change_nothing_else(workshop: Workshop, tmp_path: Path, column: int) -> None:
    for hostile in HOSTILE:
        lines = sheet()
        cells = lines[4].split(",")
        cells[column] = '"' + hostile.replace('"', '""') + '"'
        path = csv_file(tmp_path, *lines[:4], ",".join(cells), *lines[5:])
        looked = look(workshop, path)
        if any(q.key == "decimal" for q in looked.open):
            continue
        plan = read(workshop, looked, NOW)
        read_zinc = [v["value"] for e in entries(plan, "reading") for v in e["values"] if v["of"] == "zinc"]
        untouched = [z for n, z in enumerate(ZINC) if n != 3]
        assert [z for z in read_zinc if z in untouched] == untouched
        for run in entries(plan, "run"):
            assert {s["tank"] for s in run["steps"]} == {"electrolyte"} and len(run["parts"]) == 1
            assert not run["steps"][0].get("dummy") and run["parts"][0].get("area_dm2", 0) in range(10)
        allowed = {*ZINC, 1.0, 2.0} if column == 5 else set(ZINC)
        assert set(read_zinc) <= allowed, (hostile, read_zinc)
        for remark in entries(plan, "remark"):
            assert remark["text"].startswith("note ") or column == 8
