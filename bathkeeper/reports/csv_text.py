"""A report's tables as CSV: numbers as numbers, and no text that a spreadsheet would run as a formula.

Numbers have six figures (before the point all of them), more than anything here is known to; what is nothing beside the rest
of its column is 0.

One file holds one table. The first table is the report's own; any other, a chart's points, the facts, the checklists and the
corrections are asked for by name, or all come together in one zip (:func:`csv_zip`). Lines end and quotes are doubled by
RFC 4180; with ``bom`` the file begins with the mark by which spreadsheets know UTF-8.
"""

from __future__ import annotations

import csv
import io
import math
import re
import zipfile
from collections.abc import Iterable, Iterator
from datetime import datetime

from bathkeeper.findings import Estimate
from bathkeeper.refusals import near, shorten
from bathkeeper.reports.model import Cell, Chart, Checklist, Corrected, Facts, Report, ReportError, Table
from bathkeeper.reports.words import carried

BOM = "\ufeff"
_DANGER = re.compile(r"[\s'\"‘’“”\u200b\ufeff\u0000]*[=+\-@＝＋－＠]|[\t\r\n]")

_Value = str | int | float
_Rows = list[list[_Value]]


def csv_text(report: Report, table: str | None = None, *, bom: bool = False) -> str:
    """One table of the report; without ``table`` the first there is.

    Raises:
        ReportError: nothing in the report is called that; names what there is.
    """
    found = csv_tables(report)
    if not found:
        raise ReportError("the report holds no table, so there is no CSV of it; ask for text, PDF or JSON")
    name = table or first_table(report)
    if name not in found:
        raise ReportError(f"the report has no table `{shorten(name)}`{near(name, found)}")
    return (BOM if bom else "") + found[name]


def first_table(report: Report) -> str:
    """The name of the table that a CSV holds when none is asked for; nothing where there is none."""
    return next((t.name for t in report.tables), next(iter(csv_tables(report)), ""))


def csv_tables(report: Report) -> dict[str, str]:
    """Every table of the report by its name: those of its own, its charts' points, and ``facts``, ``checklists`` and
    ``corrections`` where there are any."""
    made: dict[str, _Rows] = {}
    for piece in report.sections:
        if isinstance(piece, Table):
            made[piece.name] = list(_table(piece))
        elif isinstance(piece, Chart):
            made[piece.name] = list(_chart(piece))
    for name, rows in (("facts", _facts(report)), ("checklists", _checklists(report)), ("corrections", _corrections(report))):
        if len(rows) > 1:
            made[name if name not in made else f"report_{name}"] = rows
    return {name: _written(_settled(rows)) for name, rows in made.items()}


def csv_zip(report: Report, *, bom: bool = False) -> bytes:
    """All of :func:`csv_tables` as files of one zip, the same bytes for the same report."""
    to = io.BytesIO()
    made = report.made_at.timetuple()[:6]
    stamp = made if made[0] >= 1980 else (1980, 1, 1, 0, 0, 0)
    with zipfile.ZipFile(to, "w", zipfile.ZIP_DEFLATED) as box:
        for name, text in csv_tables(report).items():
            box.writestr(zipfile.ZipInfo(f"{name}.csv", stamp), ((BOM if bom else "") + text).encode(), zipfile.ZIP_DEFLATED)
    return to.getvalue()


def harmless(text: str) -> str:
    """Text as a spreadsheet shows it and never runs it: an apostrophe before what could begin a formula.

    ``-12 g`` written by a person is text and gets one too; a number cell never comes here. What cannot be written as UTF-8
    (half of a surrogate pair) becomes the replacement sign, and so does NUL, which CSV readers refuse.
    """
    whole = carried(text).replace("\x00", "\ufffd")
    return f"'{whole}" if _DANGER.match(whole) else whole


def _table(table: Table) -> Iterator[list[_Value]]:
    heads: list[_Value] = []
    for column in table.columns:
        unit = f" [{column.unit}]" if column.unit else ""
        names = [column.key] if column.kind != "estimate" else [column.key, f"{column.key}_low", f"{column.key}_high"]
        heads += [harmless(name + unit) for name in names]
    yield heads
    for row in [*table.rows, *([table.total] if table.total is not None else [])]:
        line: list[_Value] = []
        for cell, column in zip(row, table.columns, strict=True):
            if column.kind == "estimate":
                line += _numbers(cell.value, cell.low, cell.high) if isinstance(cell, Estimate) else (_plain(cell), "", "")
            else:
                line.append(_plain(cell))
        yield line


def _chart(chart: Chart) -> Iterator[list[_Value]]:
    """The chart's points as rows: belief, readings, events and levels, each told by its first cell."""
    unit = f" [{chart.unit}]" if chart.unit else ""
    yield ["what", "when", *(harmless(f"{word}{unit}") for word in ("value", "low", "high")), "doubtful", "text"]
    for point in chart.estimate:
        yield ["estimate", point.when.isoformat(), *_numbers(point.value, point.low, point.high), "", ""]
    for r in chart.readings:
        ends = ("", "") if r.spread is None else _numbers(r.value - r.spread, r.value + r.spread)
        yield ["reading", r.when.isoformat(), *_numbers(r.value), *ends, "yes" if r.doubtful else "no", harmless(r.note)]
    for event in chart.events:
        yield [event.kind, event.when.isoformat(), "", "", "", "", harmless(event.text)]
    for level in ("give_up_high", "high", "target", "low", "give_up_low"):
        value = getattr(chart, level)
        if value is not None:
            yield [level, "", *_numbers(value), "", "", "", ""]


def _facts(report: Report) -> _Rows:
    rows: _Rows = [["title", "label", "value", "low", "high", "unit"]]
    for piece in report.sections:
        for fact in piece.pairs if isinstance(piece, Facts) else ():
            value = fact.value
            ends = _numbers(value.low, value.high) if isinstance(value, Estimate) else ("", "")
            unit = fact.unit or (value.unit if isinstance(value, Estimate) else "")
            plain = _plain(value.value if isinstance(value, Estimate) else value)
            assert isinstance(piece, Facts)
            rows.append([harmless(piece.title), harmless(fact.label), plain, *ends, harmless(unit)])
    return rows


def _checklists(report: Report) -> _Rows:
    rows: _Rows = [["title", "item", "state", "note"]]
    for piece in report.sections:
        if isinstance(piece, Checklist):
            rows += [[harmless(piece.title), harmless(i.text), i.state, harmless(i.note)] for i in piece.items]
    return rows


def _corrections(report: Report) -> _Rows:
    rows: _Rows = [["entry", "at", "logged", "stands", "corrected_at", "by", "reason"]]
    for p in report.sections:
        if isinstance(p, Corrected):
            stands = "" if p.stands is None else harmless(p.stands)
            at, corrected = p.at.isoformat(), p.corrected_at.isoformat()
            rows.append([harmless(p.entry), at, harmless(p.logged), stands, corrected, harmless(p.by), harmless(p.reason)])
    return rows


FIGURES = 6
NOTHING = 1e-12
"""Below this a number is nothing in any unit of a workshop."""
RESIDUE = 1e-9
"""Share of the largest number of a column below which a number is what rounding left over."""


def _numbers(*values: float) -> tuple[_Value, ...]:
    """Numbers to six figures, and none of what stands before the point lost; nothing for what is no number."""
    return tuple(_rounded(v) if abs(v) < float("inf") else "" for v in values)


def _rounded(value: float) -> float:
    if isinstance(value, int):
        return value
    if abs(value) < NOTHING:
        return 0.0
    return round(value, max(FIGURES - 1 - math.floor(math.log10(abs(value))), 0))


def _settled(rows: _Rows) -> _Rows:
    """The rows with 0 for what is only left over by rounding, column by column."""
    made = [list(row) for row in rows]
    for place in range(max((len(row) for row in made), default=0)):
        column = [row[place] for row in made if place < len(row)]
        largest = max((abs(v) for v in column if isinstance(v, float)), default=0.0)
        for row in made:
            if place < len(row) and isinstance(value := row[place], float) and abs(value) < RESIDUE * largest:
                row[place] = 0.0
    return made


def _plain(cell: Cell) -> _Value:
    if cell is None:
        return ""
    if isinstance(cell, str):
        return harmless(cell)
    if isinstance(cell, int | float):
        return _numbers(cell)[0]
    if isinstance(cell, Estimate):
        return _numbers(cell.value)[0]
    return cell.isoformat() if not isinstance(cell, datetime) else cell.isoformat(timespec="seconds")


def _written(rows: Iterable[list[_Value]]) -> str:
    to = io.StringIO()
    csv.writer(to, lineterminator="\r\n").writerows(rows)
    return to.getvalue()
