"""Workbooks: merged headings, formulas and their values, number formats, errors, several sheets, hostile cells."""

from __future__ import annotations

import io
import zipfile
from datetime import datetime, time, timedelta
from pathlib import Path
from typing import Any

import pytest
from openpyxl import Workbook, load_workbook

from bathkeeper.logbook.errors import BookError
from bathkeeper.logbook.sheets import read_grid
from bathkeeper.sheets.taking import MappingError, look
from bathkeeper.workshop import Workshop

from .helpers import HEAD, csv_file, entries, imported, line_of_tanks, planned, reasons, values, xlsx_file

D = datetime(2026, 2, 13)


@pytest.fixture
def workshop(tmp_path: Path) -> Workshop:
    return line_of_tanks(tmp_path)


def test_merged_headings_over_two_tanks(workshop: Workshop, tmp_path: Path) -> None:
    rows = [
        ["Old log of the bench"], [],
        [None, "electrolyte", None, None, "pickle", None, "Notes"],
        ["Date", "Zn", "Ni", "pH", "free acid", "Temp", None],
        [None, "g/L", "g/L", None, "g/L", "°C", None],
        [D, 31.5, 24, 5.4, 80, 30, "x"], [D, 30.5, 23, 5.5, 78, 31, None],
    ]  # fmt: skip
    plan = planned(workshop, xlsx_file(tmp_path, rows, merge=["B3:D3", "E3:F3", "A1:G1", "G3:G5"]))
    read = {e["tank"]: {v["of"]: v["value"] for v in e["values"]} for e in entries(plan, "reading")[:2]}
    assert read == {
        "electrolyte": {"zinc": 31.5, "nickel": 24.0, "ph": 5.4},
        "pickle": {"free acid": 80.0, "temperature": 30.0},
    }
    assert entries(plan, "remark")[0]["text"] == "x" and not plan.refused


def test_numbers_are_read_as_they_are_whatever_the_text_cells_say(workshop: Workshop, tmp_path: Path) -> None:
    rows: list[list[Any]] = [["Date", "Zn (g/L)", "pH"], [D, 1.5, 5.4], [D, 0.1 + 0.2, 5], [D, "31,5", None], [D, 1500, "5,5"]]
    plan = planned(workshop, xlsx_file(tmp_path, rows))
    told = [{v["of"]: v["value"] for v in e["values"]} for e in entries(plan, "reading")]
    assert {"zinc": 31.5} in told and plan.looked.mapping.decimal == "comma"
    assert set(reasons(plan)) == {2, 3, 5} and "third of the lower edge" in reasons(plan)[2]


def test_formulas_count_by_their_value_and_without_one_they_are_named(workshop: Workshop, tmp_path: Path) -> None:
    rows: list[list[Any]] = [
        ["Date", "Zn (g/L)", "pH", "Notes"],
        [D, "=15+16", 5.4, "fresh"],
        [D, 31, 5.5, '=HYPERLINK("x","y")'],
    ]
    path = xlsx_file(tmp_path, rows)
    plan = planned(workshop, path)
    assert "=15+16, whose value was never stored" in reasons(plan)[2] and "Zn (g/L)" in reasons(plan)[2]
    assert "HYPERLINK" in reasons(plan)[3] and not plan.entries
    with zipfile.ZipFile(path) as pack:  # as a spreadsheet program stores it: the formula with its value
        parts = {n: pack.read(n) for n in pack.namelist()}
    sheet = "xl/worksheets/sheet1.xml"
    parts[sheet] = parts[sheet].replace(b"<f>15+16</f><v />", b"<f>15+16</f><v>31</v>")
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as pack:
        for name, data in parts.items():
            pack.writestr(name, data)
    path.write_bytes(out.getvalue())
    assert load_workbook(path, data_only=True).active["B2"].value == 31  # type: ignore[index, union-attr]
    assert values(planned(workshop, path)) == {"zinc": 31.0, "ph": 5.4}


def test_errors_and_truths_in_cells(workshop: Workshop, tmp_path: Path) -> None:
    rows: list[list[Any]] = [
        ["Date", "Zn (g/L)", "pH", "Notes"],
        [D, "#DIV/0!", 5.4, None],
        [D, True, 5.4, None],
        [D, 31, 5.4, False],
    ]
    plan = planned(workshop, xlsx_file(tmp_path, rows))
    assert "#DIV/0!" in reasons(plan)[2] and "does not begin with a number" in reasons(plan)[3]
    assert entries(plan, "remark")[0]["text"] == "no"


@pytest.mark.parametrize(
    ("number", "pattern", "grams"),
    [
        (31.5, "0.0", 31.5),
        (31.5, '0.0" g/L"', 31.5),
        (31500, '0" mg/L"', 31.5),
        (31.5, "#,##0.00", 31.5),
        (31.5, "[Red]0.0", 31.5),
        (31.5, '0.0" oz/gal"', None),
        (31500.0, "0.0,", None),
        (31.5, "General", 31.5),
        (31.5, '"Zn "0.0', 31.5),
        (0.315, "0.0%", None),
        (31.5, "0.0_);(0.0)", 31.5),
        (31.5, '0.0\\ "g/L"', 31.5),
        (31.5, 'General" g/L"', 31.5),
    ],
)
def test_what_a_number_format_adds_is_the_unit(
    workshop: Workshop, tmp_path: Path, number: float, pattern: str, grams: float | None
) -> None:
    plan = planned(workshop, xlsx_file(tmp_path, [["Date", "Zn (g/L)"], [D, number], [D, 30]], formats={"B2": pattern}))
    if grams is None:
        assert 2 in reasons(plan)
    else:
        assert entries(plan)[0]["values"][0]["value"] == grams and not plan.refused


def test_a_number_that_the_program_took_for_a_date_is_refused(workshop: Workshop, tmp_path: Path) -> None:
    rows: list[list[Any]] = [
        ["Date", "pH", "Min", "Amps"],
        [D, datetime(2026, 4, 5), None, None],
        [D, 5.4, time(0, 45), 5],
        [D, 5.4, timedelta(hours=45), 5],
    ]
    plan = planned(workshop, xlsx_file(tmp_path, rows))
    assert "holds the date 2026-04-05" in reasons(plan)[2]
    assert "0 h 45 min or 0 min 45 s" in reasons(plan)[3] and "45 h 0 min or 45 min 0 s" in reasons(plan)[4]


def test_workbooks_that_count_days_from_1904(workshop: Workshop, tmp_path: Path) -> None:
    book = Workbook()
    book.epoch = datetime(1904, 1, 1)
    sheet = book.active
    assert sheet is not None
    for row in (["Date", "pH"], [D, 5.4], [44604, 5.3]):
        sheet.append(row)
    path = tmp_path / "old.xlsx"
    book.save(path)
    plan = planned(workshop, path)
    assert {e["at"][:10] for e in entries(plan)} == {"2026-02-13"}  # 44604 + 1 January 1904


def test_sheets_by_name_by_their_layout_and_by_what_can_be_read(workshop: Workshop, tmp_path: Path) -> None:
    book = Workbook()
    first = book.active
    assert first is not None
    first.title = "Read me"
    first.append(["Nothing to see"])
    for title, zinc in (("2024", 31.0), ("2025", 30.0)):
        sheet = book.create_sheet(title)
        sheet.append(["Date", "Zn (g/L)"])
        sheet.append([datetime(int(title), 5, 1), zinc])
    path = tmp_path / "years.xlsx"
    book.save(path)
    assert values(planned(workshop, path)) == {"zinc": 31.0}  # the first that can be read
    assert values(imported(workshop, path, sheet="2025")) == {"zinc": 30.0}
    assert look(workshop, path).origin == "saved"
    with pytest.raises(BookError, match="there are Read me, 2024, 2025"):
        look(workshop, path, sheet="2023")
    with pytest.raises(MappingError, match="no row of headings"):
        look(workshop, path, sheet="Read me")


def test_the_same_sheet_as_text_and_as_a_workbook_is_taken_once(workshop: Workshop, tmp_path: Path) -> None:
    heads = HEAD.split(",")
    rows: list[list[Any]] = [
        heads,
        [D, "hinges", 3.2, 6.5, 45, 31.5, 5.4, 1.5, "Küste"],
        [D, "hinges", 3.2, 6.5, 45, 31, 5.4, 2, None],
    ]
    first = imported(workshop, xlsx_file(tmp_path, rows))
    assert len(first.entries) == 7
    text = csv_file(
        tmp_path,
        HEAD.replace(",", ";"),
        "13/02/2026;hinges;3,2;6,5;45;31,5;5,4;1,5;Küste",
        "13/02/2026;hinges;3,20;6,5;45;31,0;5,4;2;",
    )
    second = planned(workshop, text)
    assert (len(second.entries), second.already) == (0, 7)
    # a column put in between and columns in another order change nothing, since empty cells say nothing
    turned = csv_file(tmp_path, "Notes;Extra;Date;Job;pH;Zn (g/L);Area (dm2);Amps;Min;Water (L)",
                      "Küste;;13/02/2026;hinges;5,4;31,5;3,2;6,5;45;1,5", name="turned.csv")  # fmt: skip
    assert planned(workshop, turned).already == 4


@pytest.mark.parametrize("data", [b"PK\x03\x04", b"PK\x03\x04" + b"\0" * 400, b"\xd0\xcf\x11\xe0" + b"\0" * 600, b"plain"])
def test_broken_workbooks_end_in_a_sentence(workshop: Workshop, tmp_path: Path, data: bytes) -> None:
    path = tmp_path / "broken.xlsx"
    path.write_bytes(data)
    with pytest.raises(BookError):
        read_grid(path)


def test_a_zip_of_something_else_and_one_that_unpacks_without_end(tmp_path: Path) -> None:
    path = tmp_path / "other.xlsx"
    with zipfile.ZipFile(path, "w") as pack:
        pack.writestr("letter.txt", "x")
    with pytest.raises(BookError, match="something else"):
        read_grid(path)
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as pack:
        pack.writestr("xl/workbook.xml", b"0" * 310_000_000)
    with pytest.raises(BookError, match="unpacks to"):
        read_grid(path)


def test_every_way_of_damaging_a_workbook_ends_in_a_grid_or_a_sentence(tmp_path: Path) -> None:
    whole = xlsx_file(tmp_path, [["Date", "pH"], [D, 5.4]], merge=["A1:A1", "B1:C1"]).read_bytes()
    path = tmp_path / "hurt.xlsx"
    with zipfile.ZipFile(io.BytesIO(whole)) as pack:
        parts = {n: pack.read(n) for n in pack.namelist()}
    for name in parts:
        for hurt in (
            b"",
            b"<a",
            parts[name][: len(parts[name]) // 2],
            parts[name].replace(b"1", b"x"),
            b'<?xml version="1.0"?><a/>',
        ):
            out = io.BytesIO()
            with zipfile.ZipFile(out, "w") as pack:
                for other, data in parts.items():
                    pack.writestr(other, hurt if other == name else data)
            path.write_bytes(out.getvalue())
            try:
                read_grid(path)
            except BookError as problem:
                assert problem.message
    for cut in range(0, len(whole), 97):
        path.write_bytes(whole[:cut])
        try:
            read_grid(path)
        except BookError as problem:
            assert problem.message
