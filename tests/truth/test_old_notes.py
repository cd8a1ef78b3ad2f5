"""The sample's old spreadsheet: made anew it is the same, and both files bring the same months into the sample book, once."""

from __future__ import annotations

import shutil
from datetime import UTC, datetime
from pathlib import Path

from bathkeeper.sample import sample_path
from bathkeeper.sheets.taking import look, mapping_of_text, read, take
from bathkeeper.workshop import Workshop
from tests.truth.make_old_notes import HEADS, MAPPING, SHEET, SLIPS, TEXT, rows, write

SAMPLE = Path(__file__).resolve().parents[2] / "sample_data"
NOW = datetime(2026, 11, 24, 12, tzinfo=UTC)


def test_made_anew_it_is_the_same(tmp_path: Path) -> None:
    write(tmp_path)
    for name in (TEXT, MAPPING):
        assert (tmp_path / name).read_bytes() == (SAMPLE / name).read_bytes(), name
    mapping_of_text((SAMPLE / MAPPING).read_text(encoding="utf-8"))


def test_both_files_bring_the_same_months_once(tmp_path: Path) -> None:
    workshop = Workshop.open(Path(shutil.copyfile(sample_path(), tmp_path / "copy.logbook.jsonl")))
    first = min(e.at for e in workshop.book.entries())
    looked = look(workshop, SAMPLE / SHEET, given=str(SAMPLE / MAPPING))
    plan = read(workshop, looked, NOW)
    notes = [dict(zip(HEADS, row, strict=True)) for row in rows()]
    assert plan.rows == len(notes) and plan.refused_rows == len(SLIPS) and not plan.unlikely and not plan.passed
    assert all(e.at < first for _, e in plan.entries)
    problems = len(workshop.problems)
    take(workshop, plan, NOW)
    assert len(workshop.problems) == problems
    wrong = {f.row for f in plan.refused}
    good = [row for number, row in enumerate(notes, start=6) if number not in wrong]
    runs = [e for _, e in plan.entries if e.kind == "run"]
    assert [(r.parts[0].area_dm2, r.steps[0].charge.current_a, r.steps[0].minutes) for r in runs] == [  # type: ignore[union-attr]
        (row["Area"], row["Amps"], row["Minutes"]) for row in good if row["What"] == "plated"
    ]
    as_text = look(workshop, SAMPLE / TEXT)
    assert as_text.origin == "saved" and not as_text.open
    second = read(workshop, as_text, NOW)
    assert not second.entries and second.already == len(plan.entries)


def test_without_the_mapping_it_is_proposed_and_brings_the_same_numbers(tmp_path: Path) -> None:
    workshop = Workshop.open(Path(shutil.copyfile(sample_path(), tmp_path / "copy.logbook.jsonl")))
    told = []
    for given in (None, str(SAMPLE / MAPPING)):
        looked = look(workshop, SAMPLE / SHEET, given=given)
        assert not looked.open
        plan = read(workshop, looked, NOW)
        told.append(sorted(
            (v.of, v.value) for _, e in plan.entries if e.kind == "reading" for v in e.values  # type: ignore[union-attr]
        ))  # fmt: skip
    fresh = [v for v in told[0] if v not in told[1]]
    assert told[1] and all(v in told[0] for v in told[1]) and len(fresh) <= 3  # a make-up's own contents apart
