"""A report as JSON of a stable shape: numbers as numbers, units beside them, moments by RFC 3339.

Every section is an object with ``piece``; rows of a table are objects by column key; an estimate is value, low, high and unit;
what is unknown is null. ``report`` counts the shape: a later shape with another meaning gets a later number.
"""

from __future__ import annotations

import json
from datetime import date, datetime
from typing import Any

from bathkeeper.findings import Estimate
from bathkeeper.reports.model import Cell, Facts, Piece, Report, Table
from bathkeeper.reports.words import carried

SHAPE = 1


def json_text(report: Report) -> str:
    """The report as one indented JSON document with a line end; the same text for the same report."""
    return json.dumps(plain(report), ensure_ascii=False, indent=2, allow_nan=False) + "\n"


def plain(report: Report) -> dict[str, Any]:
    """The report as dicts, lists, text and numbers."""
    period = report.period
    return {
        "report": SHAPE,
        "title": carried(report.title),
        "subtitle": carried(report.subtitle),
        "workshop": carried(report.workshop),
        "period": None if period is None else {"since": _value(period[0]), "until": _value(period[1])},
        "made_at": _value(report.made_at),
        "as_of": _value(report.as_of),
        "rule_set": _value(report.rule_set),
        "sections": [_piece(piece) for piece in report.sections],
        "notes": [carried(note) for note in report.notes],
    }


def _piece(piece: Piece) -> dict[str, Any]:
    name = piece.__struct_config__.tag
    if isinstance(piece, Table):
        return {"piece": name, **_table(piece)}
    if isinstance(piece, Facts):
        pairs = [{"label": carried(f.label), "value": _value(f.value), "unit": carried(f.unit)} for f in piece.pairs]
        return {"piece": name, "title": carried(piece.title), "facts": pairs}
    return {"piece": name, **_fields(piece)}


def _table(table: Table) -> dict[str, Any]:
    keys = [column.key for column in table.columns]
    return {
        "name": table.name,
        "title": carried(table.title),
        "columns": [
            {"key": c.key, "title": carried(c.title), "unit": carried(c.unit), "kind": c.kind} for c in table.columns
        ],
        "rows": [dict(zip(keys, map(_value, row), strict=True)) for row in table.rows],
        "total": None if table.total is None else dict(zip(keys, map(_value, table.total), strict=True)),
        "caption": carried(table.caption),
    }


def _fields(struct: Any) -> dict[str, Any]:
    return {field: _deep(getattr(struct, field)) for field in struct.__struct_fields__}


def _deep(value: Any) -> Any:
    if isinstance(value, tuple):
        return [_deep(item) for item in value]
    if hasattr(value, "__struct_fields__") and not isinstance(value, Estimate):
        return _fields(value)
    return _value(value)


def _value(value: Cell | bool) -> Any:
    if isinstance(value, str):
        return carried(value)
    if isinstance(value, datetime):
        return value.isoformat().replace("+00:00", "Z")
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, Estimate):
        ends = {"value": _value(value.value), "low": _value(value.low), "high": _value(value.high)}
        return {**ends, "unit": carried(value.unit)}
    if isinstance(value, float) and not abs(value) < float("inf"):
        return None
    return value
