"""Numbers in cells: decimal marks, thousands, units inside the cell, spreads; what could be ten times wrong is refused."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bathkeeper.logbook.sheets import Cell
from bathkeeper.sheets.cells import CellError, decimal_marks, numeral, value_text


@pytest.mark.parametrize(
    ("text", "decimal", "means"),
    [
        ("31.5", None, 31.5),
        ("31,5", None, 31.5),
        (".271", None, 0.271),
        ("-0.000", "point", 0.0),
        ("0.125", None, 0.125),
        ("1,500", "point", 1500),
        ("1,500", "comma", 1.5),
        ("1.500", "point", 1.5),
        ("1.500", "comma", 1500),
        ("1.234.567,8", "comma", 1234567.8),
        ("1,234,567.8", "point", 1234567.8),
        ("1 500", "point", 1500),
        ("1'500.5", "point", 1500.5),
        ("1\u202f500,5", "comma", 1500.5),
        ("+1.5e-3", None, 0.0015),
        ("2E3", "comma", 2000),
        ("\u22125.4", "point", -5.4),
        ("12345", None, 12345),
        ("1,2345", None, 1.2345),
        ("12.", "point", 12),
        ("5,", "comma", 5),
    ],
)
def test_numerals(text: str, decimal: str | None, means: float) -> None:
    assert float(numeral(text, decimal)) == means  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("text", "decimal", "says"),
    [
        ("1,500", None, "1.5 or 1500"),
        ("1.500", None, "1.5 or 1500"),
        ("12.345", None, "12.345 or 12345"),
        ("1.5", "comma", "decimal point"),
        ("1,5", "point", "decimal comma"),
        ("1,50,000", "point", "not a number"),
        ("1,500,5", "point", "not a number"),
        ("1 50", "point", "not a number"),
        ("1.2.3", None, "not a number"),
        ("--5", None, "not a number"),
        ("", None, "not a number"),
        ("1e9999", None, "not a number"),
        ("٣٢", None, "not a number"),
    ],
)
def test_numerals_that_are_refused(text: str, decimal: str | None, says: str) -> None:
    try:
        said = numeral(text, decimal)  # type: ignore[arg-type]
    except CellError as problem:
        assert says in str(problem)
    else:
        assert says == "not a number" and text == "--5" and said == "", said


@pytest.mark.parametrize(
    ("text", "unit", "gives"),
    [
        ("31.5", "g/L", "31.5 g/L"),
        ("31.5 g/L", "oz/gal", "31.5 g/L"),
        ("10,23A", "mA", "10.23 A"),
        ("32±0.5", "g/L", "32 g/L±0.5"),
        ("32 g/L +/- 2 %", "", "32 g/L±2%"),
        ("32±0.5 g/L", "oz/gal", "32 g/L±0.5g/L"),
        ("1 1/2 lb", "", "1 1/2 lb"),
        ("½", "L", "½ L"),
        ("3.2 dm²", "", "3.2 dm²"),
        ("35 °C", "", "35 °C"),
        ("12 sq in", "", "12 sq in"),
        ("6.5 A/dm2", "", "6.5 A/dm2"),
        ("45'", "", "45 '"),
    ],
)
def test_a_unit_in_the_cell_wins(text: str, unit: str, gives: str) -> None:
    assert value_text(Cell(text), unit, None).replace(" %", "%") == gives


@pytest.mark.parametrize(
    "text",
    [
        "about 31",
        "<5",
        ">30",
        "~32",
        "30-32",
        "30 – 32",
        "31 or 32",
        "31;32",
        "31 g/L@edta",
        "6.5A*45min",
        "31 = zinc",
        "=1+1",
        "32/L 5",
        "31 (but 45 yesterday)",
        "31 g/L 45 min",
        "x31",
        "31, 32",
        "5 5",
        "12:30",
        "1.5.2",
        "31 ± much",
        "3 1 g",
        "2026-02-13",
    ],
)
def test_more_than_one_number_and_its_unit_is_refused(text: str) -> None:
    with pytest.raises(CellError):
        value_text(Cell(text), "g/L", "point")


def test_a_ph_strip_between_two_colours_is_one_reading() -> None:
    assert value_text(Cell("5-5.5"), "", None, band=True) == "5-5.5"
    assert value_text(Cell("pH 5,4"), "", None, band=True) == "5.4"


@pytest.mark.parametrize(
    ("cell", "says"),
    [
        (Cell("2026-05-04", "day"), "where a number is wanted"),
        (Cell("holds the error #DIV/0!; mend its formula", "trouble"), "#DIV/0!"),
        (Cell("00:45:00", "clock"), "0 h 45 min or 0 min 45 s"),
    ],
)
def test_cells_that_are_no_numbers(cell: Cell, says: str) -> None:
    with pytest.raises(CellError, match=says.replace("(", r"\(")):
        value_text(cell, "min", None)


@pytest.mark.parametrize(
    ("text", "unit", "minutes"), [("1:30", "h:mm", 90), ("1:30", "m:ss", 1.5), ("0:45", "h:mm", 45), ("1:30:30", "h:mm", 90.5)]
)
def test_clocks_in_a_column_that_says_how_they_are_meant(text: str, unit: str, minutes: float) -> None:
    assert value_text(Cell(text), unit, None) == f"{minutes:g} min"
    as_workbook = Cell(text if text.count(":") == 2 else f"{text}:00", "clock")
    assert value_text(as_workbook, unit, None) == f"{minutes:g} min"


def test_what_the_cells_tell_of_the_decimal_mark() -> None:
    assert decimal_marks(["31,5", "4", "x"]) == ({"comma": 1}, [])
    assert decimal_marks(["31.5", "1,500"]) == ({"point": 1}, ["1,500"])
    assert decimal_marks(["1.234,5", "1 234.5"])[0] == {"comma": 1, "point": 1}
    assert decimal_marks(["0.125", "12345,5"])[0] == {"point": 1, "comma": 1}
    assert decimal_marks(["1.500", "1,500"]) == ({}, ["1.500", "1,500"])


@settings(derandomize=True, deadline=None, max_examples=300)
@given(st.floats(-1e6, 1e6, allow_nan=False), st.sampled_from(["point", "comma"]), st.booleans(), st.integers(0, 6))
def test_what_is_written_in_a_stated_mark_is_what_is_read(value: float, mark: str, grouped: bool, places: int) -> None:
    text = f"{value:,.{places}f}" if grouped else f"{value:.{places}f}"
    if mark == "comma":
        text = text.translate(str.maketrans(",.", ".,"))
    assert float(numeral(text, mark)) == float(f"{value:.{places}f}")  # type: ignore[arg-type]


@settings(derandomize=True, deadline=None, max_examples=300)
@given(st.floats(0.001, 1e6), st.sampled_from([".", ","]), st.booleans(), st.integers(0, 5))
def test_without_a_stated_mark_a_number_is_read_right_or_not_at_all(
    value: float, mark: str, grouped: bool, places: int
) -> None:
    text = f"{value:,.{places}f}" if grouped else f"{value:.{places}f}"
    if mark == ",":
        text = text.translate(str.maketrans(",.", ".,"))
    try:
        got = float(numeral(text, None))
    except CellError:
        return
    assert got == float(f"{value:.{places}f}")


@settings(derandomize=True, deadline=None, max_examples=500)
@given(st.text(max_size=40), st.sampled_from(["", "g/L"]), st.sampled_from([None, "point", "comma"]))
def test_any_text_is_a_value_or_a_sentence(text: str, unit: str, decimal: str | None) -> None:
    try:
        value_text(Cell(text), unit, decimal)  # type: ignore[arg-type]
    except CellError as problem:
        assert problem.what
