"""JSON of a stable shape: numbers are numbers, moments are RFC 3339, everything of the report is there."""

from __future__ import annotations

import json
import re
from datetime import datetime

import msgspec

from bathkeeper.findings import Estimate
from bathkeeper.reports.json_text import json_text
from bathkeeper.reports.model import Column, Corrected, Fact, Facts, Paragraph, Table
from tests.reports.samples import DAY, HOSTILE, of, whole

RFC3339 = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?(Z|[+-]\d\d:\d\d)")


def read(report) -> dict:
    return json.loads(json_text(report), parse_constant=lambda word: (_ for _ in ()).throw(AssertionError(word)))


def test_the_head():
    told = read(whole())
    assert list(told) == [
        "report", "title", "subtitle", "workshop", "period", "made_at", "as_of", "rule_set", "sections", "notes",
    ]
    assert told["report"] == 1
    for moment in (told["made_at"], told["as_of"], told["period"]["since"], told["period"]["until"]):
        assert RFC3339.fullmatch(moment)
    assert datetime.fromisoformat(told["made_at"]) == whole().made_at


def test_the_pieces_in_order_with_their_names():
    assert [piece["piece"] for piece in read(whole())["sections"]] == [
        "heading", "paragraph", "facts", "chart", "heading", "table", "checklist", "caution", "corrected", "signature",
        "signature",
    ]


def test_table_rows_are_objects_by_key_with_numbers():
    table = next(piece for piece in read(whole())["sections"] if piece["piece"] == "table")
    assert table["columns"][2] == {"key": "charge", "title": "Charge", "unit": "Ah", "kind": "number"}
    row = table["rows"][1]
    assert row["charge"] == 13.5
    assert row["metal"] == {"value": 1 / 7, "low": 1 / 7 - 0.4, "high": 1 / 7 + 0.4, "unit": "g"}
    assert RFC3339.fullmatch(row["at"])
    assert table["total"]["charge"] == 150.0
    assert table["total"]["metal"] is None


def test_charts_keep_every_point_and_level():
    chart = next(piece for piece in read(whole())["sections"] if piece["piece"] == "chart")
    assert (chart["low"], chart["target"], chart["high"], chart["unit"]) == (24, 27, 30, "g/L")
    assert len(chart["estimate"]) == 60
    assert [r["doubtful"] for r in chart["readings"]].count(True) == 1
    assert chart["events"][2] == {"when": "2026-04-15T08:00:00Z", "kind": "new life", "text": "made up anew"}


def test_corrections_have_both_writings():
    piece = Corrected(entry="e", at=DAY, logged="was", stands=None, corrected_at=DAY)
    told = read(of(piece))["sections"][0]
    assert told["logged"] == "was"
    assert told["stands"] is None


def test_what_is_no_number_is_null():
    facts = Facts((Fact("a", float("nan"), "g"), Fact("b", None), Fact("c", Estimate(1.0, float("-inf"), float("inf"), "L"))))
    values = [fact["value"] for fact in read(of(facts))["sections"][0]["facts"]]
    assert values == [None, None, {"value": 1.0, "low": None, "high": None, "unit": "L"}]


def test_hostile_text_comes_back_as_it_was():
    whole_ones = [text for text in HOSTILE if "\ud800" not in text]
    table = Table(name="t", title="T", columns=(Column("x", "X"),), rows=tuple((text,) for text in whole_ones))
    report = of(table, Paragraph("\ud800half"))
    assert [row["x"] for row in read(report)["sections"][0]["rows"]] == whole_ones
    assert msgspec.json.decode(json_text(report).encode())["sections"][1]["text"] == "\ufffdhalf"  # a strict reader takes it
