"""A line without notes to import into, sheets made cell by cell, and what comes of them."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from openpyxl import Workbook

from bathkeeper.catalogue.own_sheets import SheetMapping
from bathkeeper.entries import plain
from bathkeeper.logbook.sheets import Cell, Grid
from bathkeeper.logbook.sheets.grid import Line, grid_of
from bathkeeper.sheets.asking import answered
from bathkeeper.sheets.taking import Looked, Plan, look, read, take
from bathkeeper.workshop import Workshop

NOW = datetime(2026, 6, 1, 12, tzinfo=UTC)
HEAD = "Date,Job,Area (dm2),Amps,Min,Zn (g/L),pH,Water (L),Notes"


def line_of_tanks(folder: Path, **settings: Any) -> Workshop:
    """A line from the template, with nothing logged."""
    workshop = Workshop.new(folder / "bench.logbook.jsonl", "Test Bench", "zinc-nickel-line", datetime(2026, 1, 1, tzinfo=UTC))
    if settings:
        workshop.change_settings(settings, datetime(2026, 1, 1, 1, tzinfo=UTC))
    return workshop


def csv_file(folder: Path, *lines: str, name: str = "notes.csv", encoding: str = "utf-8", end: str = "\n") -> Path:
    path = folder / name
    path.write_bytes(("".join(line + end for line in lines)).encode(encoding))
    return path


def xlsx_file(folder: Path, rows: Sequence[Sequence[Any]], name: str = "notes.xlsx", **more: Any) -> Path:
    """A workbook with one sheet; ``formats``: cell -> number format, ``merge``: ranges, ``title``."""
    book = Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.title = more.get("title", "Log")
    for row in rows:
        sheet.append(list(row))
    for place, pattern in dict(more.get("formats", {})).items():
        sheet[place].number_format = pattern
    for area in more.get("merge", ()):
        sheet.merge_cells(area)
    path = folder / name
    book.save(path)
    return path


def understood(workshop: Workshop, path: Path, answers: Mapping[str, str] | None = None, **how: Any) -> Looked:
    """The file with its questions answered."""
    looked = look(workshop, path, **how)
    for key, answer in (answers or {}).items():
        looked = looked.with_mapping(answered(looked.mapping, key, answer, workshop.vocabulary), workshop.vocabulary)
    return looked


def planned(workshop: Workshop, path: Path, answers: Mapping[str, str] | None = None, **how: Any) -> Plan:
    """What an import would do."""
    looked = understood(workshop, path, answers, **how)
    assert not looked.open, [q.text for q in looked.open]
    return read(workshop, looked, NOW)


def imported(workshop: Workshop, path: Path, answers: Mapping[str, str] | None = None, **how: Any) -> Plan:
    plan = planned(workshop, path, answers, **how)
    take(workshop, plan, NOW)
    return plan


def entries(plan: Plan, kind: str | None = None) -> list[dict[str, Any]]:
    """What would be written, as plain values without ids and texts as typed."""
    found = [json.loads(json.dumps(plain(e), default=str)) for _, e in plan.entries if kind is None or e.kind == kind]
    return [{k: v for k, v in e.items() if k not in ("id", "schema", "typed")} for e in found]


def values(plan: Plan) -> dict[str, float | str]:
    """Every value of every reading, by what it is of; the last one holds."""
    return {v["of"]: v.get("value", v.get("word")) for e in entries(plan, "reading") for v in e["values"]}


def reasons(plan: Plan) -> dict[int, str]:
    """Row -> why it is not taken."""
    told: dict[int, str] = {}
    for fault in (*plan.refused, *plan.unlikely, *plan.passed):
        told[fault.row] = f"{told.get(fault.row, '')} {fault.column}: {fault.what}. {fault.right}".strip()
    return told


def text_grid(*rows: Sequence[str]) -> Grid:
    return grid_of([Line(n, tuple(Cell(c) for c in row)) for n, row in enumerate(rows, start=1)], name="made")


def mapping(**changes: Any) -> SheetMapping:
    """A small mapping of a reading of zinc, with changes."""
    import msgspec

    body = {
        "header_rows": [1], "first_row": 2, "date": "Date", "tank": "electrolyte", "date_order": "dmy",
        "entries": [{"kind": "reading", "columns": [{"column": "Zn", "as": "zinc", "unit": "g/L"}]}], **changes,
    }  # fmt: skip
    return msgspec.convert(body, SheetMapping)
