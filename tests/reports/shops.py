"""Workshops for the tests of reports: a copy of the sample, an empty book, a small line with what can go wrong."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from functools import cache
from pathlib import Path
from tempfile import mkdtemp
from typing import Any

from bathkeeper.reports.model import Report, Table
from bathkeeper.reports.write import render
from bathkeeper.sample import copy_dated, sample_path
from bathkeeper.workshop import Workshop

NOW = datetime(2026, 6, 1, 12, 0, tzinfo=UTC)
START = NOW - timedelta(days=40)
NEVER = ("optimal", "guaranteed", "safe to pour", "compliant", "non-hazardous")
HOSTILE = "=1+1 **b** [red]x[/red] <b>\u202eabc\x1b[31m 亜鉛 🔥 {nb}"


@cache
def sample() -> Workshop:
    """The sample workshop, read only."""
    path = Path(mkdtemp()) / "sample.logbook.jsonl"
    copy_dated(sample_path(), path, NOW)
    return Workshop.open(path)


def book(folder: Path, entries: Iterable[dict[str, Any]] = (), **settings: Any) -> Workshop:
    """A book with a workshop's entry and others, a day apart unless they say when."""
    workshop = Workshop.open(folder / "small.logbook.jsonl", create=True)
    workshop.log({"kind": "workshop", "at": START, "name": "Test Bench", "country": "England", **settings})
    for day, raw in enumerate(entries, start=1):
        workshop.log({"at": START + timedelta(days=day), **raw})
    return workshop


def tanks(name: str = "pickle") -> list[dict[str, Any]]:
    """A pickle and an electrolyte, made up."""
    return [
        {"kind": "tank", "tank": name, "role": "pickle", "recipe": "hydrochloric-pickle", "working_volume_l": 20.0},
        {"kind": "tank", "tank": "electrolyte", "role": "plate", "recipe": "zinc-nickel-chloride-potassium",
         "working_volume_l": 40.0},
        {"kind": "make_up", "tank": name, "volume_l": 20.0},
        {"kind": "make_up", "tank": "electrolyte", "volume_l": 40.0, "contents": {"zinc": 32.0, "nickel": 24.0}},
    ]  # fmt: skip


def table(report: Report, name: str) -> Table:
    """A table of a report by its name."""
    return next(t for t in report.tables if t.name == name)


def column(found: Table, key: str) -> list[Any]:
    """The cells of a column."""
    place = [c.key for c in found.columns].index(key)
    return [row[place] for row in found.rows]


def text(report: Report) -> str:
    """The report as text, wide enough that words stay whole."""
    made = render(report, "text", width=200)
    assert isinstance(made, str)
    return made


def in_every_form(report: Report) -> dict[str, str | bytes]:
    """The report in all formats."""
    return {f: render(report, f) for f in ("text", "pdf", "csv", "zip", "json")}
