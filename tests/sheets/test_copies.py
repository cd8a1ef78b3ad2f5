"""What goes out: CSV that comes back as the same entries, cells that no program runs, estimates over time, a whole folder."""

from __future__ import annotations

import csv
import io
import json
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import msgspec
import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st

from bathkeeper.cli.program import program
from bathkeeper.copies.entries import entries_table, in_force_table
from bathkeeper.copies.estimates import CopyError, estimates_table, moments
from bathkeeper.copies.tables import Table, as_written, cell, harmless
from bathkeeper.entries import AnyEntry, plain
from bathkeeper.workshop import Workshop
from tests.tui.helpers import NOW, book


@pytest.fixture
def workshop(tmp_path: Path) -> Workshop:
    made = Workshop.open(book(tmp_path))
    made.log({"kind": "remark", "at": NOW, "tank": "electrolyte", "text": "=HYPERLINK(1)", "note": "-2+3"})
    made.log({"kind": "remark", "at": NOW + timedelta(seconds=1), "text": "'quoted', \"twice\"\nüber 泡"})
    last = made.log({"kind": "remark", "at": NOW + timedelta(seconds=2), "text": "@gone"}).entry
    made.correct(last.id, "twice", None, NOW + timedelta(seconds=3))
    return made


def nested(row: dict[str, str]) -> dict[str, Any]:
    """A row of CSV as the plain entry that it was: paths to tables, numbered ones to lists."""
    made: dict[str, Any] = {}
    for path, text in row.items():
        if text == "" or path in ("standing", "what"):
            continue
        place, *rest = path.split(".")
        inner = made
        for step in rest:
            inner, place = inner.setdefault(place, {}), step
        inner[place] = as_written(text)
    return listed(made)  # type: ignore[no-any-return]


def listed(value: Any) -> Any:
    if isinstance(value, dict):
        inner = {k: listed(v) for k, v in value.items()}
        return list(inner.values()) if inner and all(k.isdigit() for k in inner) else inner
    return value


def test_every_entry_comes_back_from_csv(workshop: Workshop) -> None:
    data = entries_table(workshop).as_bytes("csv", mark=True)
    rows = list(csv.DictReader(io.StringIO(data.decode("utf-8-sig"), newline="")))
    back = [msgspec.convert(nested(row), AnyEntry, strict=False) for row in rows]
    assert [plain(e) for e in back] == [plain(e) for e in workshop.book.entries()]  # type: ignore[arg-type]
    assert [r["standing"] for r in rows][-2:] == ["withdrawn", "correction"]
    for row in rows:
        for column, text in row.items():
            assert not text.startswith(("=", "+", "@", "\t")), (column, text)
            assert not text.startswith("-") or float(text) < 0


def test_what_counts_can_be_summed(workshop: Workshop) -> None:
    """A corrected entry stands there once, as it counts; one that was withdrawn does not."""
    rows = list(csv.DictReader(io.StringIO(in_force_table(workshop).as_bytes("csv").decode(), newline="")))
    assert [r["id"] for r in rows] == [e.id for e in workshop.entries() if e.kind != "correction"]
    assert {r["standing"] for r in rows} <= {"in force", "corrected"}
    back = [msgspec.convert(nested(row), AnyEntry, strict=False) for row in rows]
    assert [plain(e) for e in back] == [plain(e) for e in workshop.entries() if e.kind != "correction"]  # type: ignore[arg-type]


@settings(derandomize=True, deadline=None, max_examples=300)
@given(st.text(max_size=40))
def test_texts_are_harmless_and_come_back(text: str) -> None:
    said = harmless(text)
    assert not said.lstrip().startswith(("=", "+", "-", "@"))
    kept = "".join(c for c in text if c.isprintable())
    assert "".join(c for c in as_written(said) if c.isprintable()).replace(" ", "") == kept.replace(" ", "")


def test_numbers_keep_all_their_figures() -> None:
    for value in (0.1, -5.0, 1e-9, 123456.789, 3.0):
        assert float(cell(value)) == value
    assert (cell(None), cell(True), cell(7), cell(datetime(2026, 5, 1, tzinfo=UTC))) == (
        "",
        "true",
        "7",
        "2026-05-01T00:00:00Z",
    )
    table = Table({"a": "", "b": ""}, [{"a": 1.5, "b": "=x"}, {"b": None}])
    assert table.as_bytes("csv") == b"a,b\r\n1.5,'=x\r\n,\r\n" and table.as_bytes("jsonl") == b'{"a":1.5,"b":"=x"}\n{}\n'


def test_estimates_over_time_are_those_of_each_moment(workshop: Workshop) -> None:
    table = estimates_table(workshop, NOW, timedelta(days=5), "electrolyte")
    times = sorted({row["at"] for row in table.rows})
    assert len(times) == 5 and times[-1] == NOW and {row["tank"] for row in table.rows} == {"electrolyte"}
    for moment in times:
        view = workshop.tank("electrolyte", moment)
        told = {(r["kind"], r["of"]): r for r in table.rows if r["at"] == moment}
        zinc = told["species", "zinc"]
        assert (zinc["value"], zinc["low"], zinc["high"]) == pytest.approx(
            (view.species["zinc"].value, view.species["zinc"].low, view.species["zinc"].high)
        )
        assert told["volume", "volume"]["value"] == pytest.approx(view.volume_l.value)
        assert told["anode", "zinc-1"]["value"] == pytest.approx(view.anodes["zinc-1"].mass_g.value)


def test_steps_that_cannot_be() -> None:
    start = datetime(2026, 1, 1, 8, tzinfo=UTC)
    with pytest.raises(CopyError, match="nothing"):
        moments(start, NOW, timedelta(0))
    with pytest.raises(CopyError, match="longer step"):
        moments(start, NOW, timedelta(seconds=1))
    assert moments(start, start + timedelta(days=1), timedelta(days=1)) == [
        start + timedelta(hours=16),
        start + timedelta(days=1),
    ]


def test_the_whole_book_as_a_folder(workshop: Workshop, tmp_path: Path) -> None:
    def run(*words: object) -> Any:
        return CliRunner().invoke(program, [str(w) for w in (*words, "--book", workshop.book.path)])

    folder = tmp_path / "copy"
    done = run("export", "book", folder, "--every", "1 week")
    assert done.exit_code == 0, done.output
    names = {p.name for p in folder.iterdir()}
    assert {
        "README.txt",
        "entries.jsonl",
        "estimates.csv",
        "learned.jsonl",
        "runs.csv",
        "stock.csv",
        "entries-run.csv",
    } <= names
    readme = (folder / "README.txt").read_text()
    for path in folder.glob("*.csv"):
        rows = list(csv.reader(io.StringIO(path.read_text(encoding="utf-8-sig"), newline="")))
        assert all(len(row) == len(rows[0]) for row in rows) and path.name in readme
        assert all(f"  {column}" in readme for column in rows[0])
    for path in folder.glob("*.jsonl"):
        assert all(json.loads(line) for line in path.read_text().splitlines())
    before = {p.name: p.read_bytes() for p in folder.iterdir()}
    again = run("export", "book", folder)
    assert again.exit_code == 1 and "left alone" in again.output
    assert before == {p.name: p.read_bytes() for p in folder.iterdir()}

    fresh = Workshop.new(tmp_path / "fresh.logbook.jsonl", "Fresh").book.path
    taken = CliRunner().invoke(program, ["import", "entries", str(folder / "entries.jsonl"), "--book", str(fresh), "--json"])
    assert json.loads(taken.stdout)["added"] == len(workshop.book.entries())


def test_the_verbs(workshop: Workshop, tmp_path: Path) -> None:
    def run(*words: object) -> Any:
        return CliRunner().invoke(program, [str(w) for w in (*words, "--book", workshop.book.path)])

    assert run("export", "entries", "--format", "csv").stdout.startswith("id,at,kind,standing,tank,what")
    assert run("export", "entries", tmp_path / "e.csv").exit_code == 0
    assert (tmp_path / "e.csv").read_bytes().startswith(b"\xef\xbb\xbfid,at")
    out = run("export", "estimates", "electrolyte", "--every", "1d", "--format", "jsonl", "--at", "2026-06-10")
    assert out.exit_code == 0 and json.loads(out.stdout.splitlines()[-1])["tank"] == "electrolyte"
    for words, code in (
        (("export", "estimates", "nowhere"), 2),
        (("export", "estimates", "--every", "soon"), 2),
        (("export", "estimates", "--every", "0d"), 2),
        (("export", "estimates", "--to", tmp_path / "e.csv"), 1),
    ):
        result = run(*words)
        assert result.exit_code == code and "Traceback" not in result.output, result.output
