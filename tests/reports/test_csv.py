"""CSV that a spreadsheet reads as what it is: numbers as numbers, text as text, never a formula (RFC 4180)."""

from __future__ import annotations

import csv
import io
import re
import zipfile
from datetime import date, timedelta

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from bathkeeper.findings import Estimate
from bathkeeper.reports.csv_text import BOM, csv_tables, csv_text, csv_zip, harmless
from bathkeeper.reports.model import Column, Heading, ReportError, Table
from tests.reports.samples import DAY, HOSTILE, log_table, of, whole

RUN = re.compile(r"[\s'\"]*[=+\-@]")  # what a spreadsheet may take for the beginning of a formula, quotes and blanks aside
QUICK = settings(derandomize=True, deadline=None, max_examples=200)


def rows_of(text: str) -> list[list[str]]:
    return list(csv.reader(io.StringIO(text, newline=""), strict=True))


def one_column(*texts: str) -> Table:
    return Table(name="t", title="T", columns=(Column("what", "What"), Column("n", "N", kind="number")),
                 rows=tuple((text, -1.5) for text in texts))


def test_the_first_table_is_the_reports_own():
    rows = rows_of(csv_text(whole()))
    assert rows[0] == ["at", "what", "charge [Ah]", "metal [g]", "metal_low [g]", "metal_high [g]"]
    assert rows[2][1:4] == ["row-0001 rack of brackets", "13.5", "0.142857"]
    assert rows[1][0] == "2026-03-02T08:00:00+00:00"
    assert rows[-1] == ["Total", "", "150.0", "", "", ""]
    assert len(rows) == 1 + 12 + 1


def test_lines_end_as_rfc_4180_says():
    text = csv_text(of(log_table(2)))
    assert text.count("\r\n") == text.count("\n") == 4


def test_tables_charts_facts_checklists_and_corrections_by_name():
    found = csv_tables(whole())
    assert list(found) == ["nickel", "log", "facts", "checklists", "corrections"]
    chart = rows_of(found["nickel"])
    assert chart[0] == ["what", "when", "value [g/L]", "low [g/L]", "high [g/L]", "doubtful", "text"]
    kinds = [row[0] for row in chart[1:]]
    assert kinds.count("estimate") == 60
    assert kinds.count("reading") == 7
    assert next(row for row in chart if row[0] == "reading" and row[5] == "yes")[6] == "end point overrun"
    assert ["low", "", "24", "", "", "", ""] in chart
    assert ["State", "Level", "38.61", "37.9", "39.3", "L"] in rows_of(found["facts"])
    assert ["On the day", "Spill tray empty", "not", ""] in rows_of(found["checklists"])
    corrected = rows_of(found["corrections"])[1]
    assert corrected[2:4] == ["Added 1500 mL of brightener", "Added 150 mL of brightener"]


def test_every_row_is_as_long_as_its_head():
    for text in csv_tables(whole()).values():
        rows = rows_of(text)
        assert {len(row) for row in rows} == {len(rows[0])}


def test_an_unknown_table_is_refused_with_the_names_there_are():
    with pytest.raises(ReportError, match="log"):
        csv_text(whole(), "lgo")
    with pytest.raises(ReportError, match="no table"):
        csv_text(of(Heading("nothing else")))


def test_with_the_mark_of_utf_8_when_asked():
    assert csv_text(whole(), bom=True) == BOM + csv_text(whole())


def test_the_zip_holds_them_all_and_is_the_same_each_time():
    data = csv_zip(whole(), bom=True)
    assert data == csv_zip(whole(), bom=True)
    with zipfile.ZipFile(io.BytesIO(data)) as box:
        assert box.namelist() == [f"{name}.csv" for name in csv_tables(whole())]
        assert box.read("log.csv").decode("utf-8-sig") == csv_text(whole())


@pytest.mark.parametrize("hostile", HOSTILE)
def test_hostile_cells_come_out_harmless(hostile):
    cell = rows_of(csv_text(of(one_column(hostile))))[1][0]
    assert not RUN.match(cell) or cell.startswith("'")
    assert cell[:1] not in "\t\r\n=+-@"


def test_negative_numbers_stay_numbers_and_negative_text_does_not():
    row = rows_of(csv_text(of(one_column("-1.5"))))[1]
    assert row == ["'-1.5", "-1.5"]


def test_heads_titles_and_units_are_harmless_too():
    table = Table(name="t", title="=1", columns=(Column("a", "=2", "=3"), Column("b", "+4", kind="number")), rows=(("x", 1),))
    assert rows_of(csv_text(of(table)))[0] == ["a [=3]", "b"]  # keys alone, which are plain names


@QUICK
@given(st.text(max_size=40))
@example("=1+1")
@example("\ufeff=1")
@example(" \t'\"=1")
@example("a,b\r\n\"c\"")
def test_text_survives_but_for_the_apostrophe(text):
    cell = rows_of(csv_text(of(one_column(text))))[1][0]
    meant = text.replace("\x00", "\ufffd")
    assert cell in (meant, "'" + meant)
    assert not RUN.match(cell) or cell.startswith("'")


@QUICK
@given(st.floats(allow_nan=False, allow_infinity=False), st.integers(-(10**15), 10**15))
def test_numbers_come_back_to_six_figures_and_whole_ones_to_the_last(number, count):
    columns = (Column("x", "X", kind="number"), Column("n", "N", kind="number"))
    row = rows_of(csv_text(of(Table(name="t", title="T", columns=columns, rows=((number, count),)))))[1]
    assert float(row[0]) == pytest.approx(number, rel=5.1e-6, abs=1e-12)
    assert abs(float(row[0]) - number) <= 0.5
    assert int(row[1]) == count


def test_what_rounding_left_over_is_nothing():
    columns = (Column("x", "X", kind="number"), Column("y", "Y", kind="number"))
    rows = ((5.000000000000001, -4.440892098500626e-16), (2e-9, 23.99599205289352), (-1.0e-8, 0.5))
    told = rows_of(csv_text(of(Table(name="t", title="T", columns=columns, rows=rows))))
    assert told[1:] == [["5.0", "0.0"], ["0.0", "23.996"], ["-1e-08", "0.5"]]


def test_what_is_unknown_is_an_empty_cell():
    columns = (
        Column("a", "A"), Column("b", "B", kind="number"), Column("c", "C", kind="estimate"), Column("d", "D", kind="date"),
        Column("e", "E", kind="moment"), Column("f", "F", kind="number"),
    )
    table = Table(name="t", title="T", columns=columns, rows=((None,) * 6, ("x", 1, Estimate(1, 0, 2), date(2026, 1, 2),
                                                              DAY + timedelta(0, 0, 5), float("nan"))))
    rows = rows_of(csv_text(of(table)))
    assert rows[1] == [""] * 8
    assert rows[2] == ["x", "1", "1", "0", "2", "2026-01-02", "2026-03-02T08:00:00+00:00", ""]


def test_half_a_surrogate_pair_can_be_written():
    assert harmless("\ud800x").encode() == "\ufffdx".encode()
    assert harmless("\ud83d\ude00") == "😀"
