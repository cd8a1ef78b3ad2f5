"""Text files as programs write them: encodings, delimiters, quotes, preambles; what comes out is what went in."""

from __future__ import annotations

from pathlib import Path

import pytest

from bathkeeper.logbook.errors import BookError
from bathkeeper.logbook.sheets import read_grid
from bathkeeper.workshop import Workshop

from .helpers import HEAD, csv_file, entries, line_of_tanks, planned, reasons, values

ROW = "13/02/2026,hinges,3.2,6.5,45,31.5,5.4,1.5,Küste"


@pytest.fixture
def workshop(tmp_path: Path) -> Workshop:
    return line_of_tanks(tmp_path)


def check(plan: object) -> None:
    """The one row, whole."""
    assert values(plan) == {"zinc": 31.5, "ph": 5.4}  # type: ignore[arg-type]
    run = entries(plan, "run")[0]  # type: ignore[arg-type]
    assert run["parts"] == [{"description": "hinges", "area_dm2": 3.2}]
    assert run["steps"] == [{"tank": "electrolyte", "minutes": 45.0, "charge": {"current_a": 6.5}}]
    assert entries(plan, "addition")[0]["items"] == [{"reagent": "water", "amount": 1.5, "unit": "L"}]  # type: ignore[arg-type]
    assert entries(plan, "remark")[0]["text"] == "Küste"  # type: ignore[arg-type]


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252", "utf-16", "utf-16-le", "utf-16-be"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_encodings_and_line_ends(workshop: Workshop, tmp_path: Path, encoding: str, end: str) -> None:
    check(planned(workshop, csv_file(tmp_path, HEAD, ROW, encoding=encoding, end=end)))


def test_gbk_is_known_by_its_degree_sign(workshop: Workshop, tmp_path: Path) -> None:
    path = csv_file(tmp_path, "Date,Temp (℃),Notes", "2026-02-13,35,镀锌", encoding="gbk")
    plan = planned(workshop, path)
    assert values(plan) == {"temperature": 35.0} and entries(plan, "remark")[0]["text"] == "镀锌"


def test_an_encoding_can_be_said_and_a_wrong_one_is_refused(workshop: Workshop, tmp_path: Path) -> None:
    path = csv_file(tmp_path, "Date,Zn (g/L),Notes", "2026-02-13,31,Łódź", encoding="cp1250")
    assert entries(planned(workshop, path, encoding="cp1250"), "remark")[0]["text"] == "Łódź"
    for wrong, says in (("utf-8", "not utf-8"), ("no-such", "not known"), ("rot13", "not known")):
        with pytest.raises(BookError, match=says):
            read_grid(path, encoding=wrong)


def test_nul_bytes_and_form_feeds_are_left_out(workshop: Workshop, tmp_path: Path) -> None:
    path = csv_file(tmp_path, HEAD, ROW.replace("hinges", "hin\0ges"), "\f")
    check(planned(workshop, path))


@pytest.mark.parametrize("sign", [",", ";", "\t", "|"])
def test_delimiters(workshop: Workshop, tmp_path: Path, sign: str) -> None:
    check(planned(workshop, csv_file(tmp_path, HEAD.replace(",", sign), ROW.replace(",", sign))))


def test_a_first_line_that_states_the_delimiter(workshop: Workshop, tmp_path: Path) -> None:
    plan = planned(workshop, csv_file(tmp_path, "sep=;", HEAD.replace(",", ";"), ROW.replace(",", ";")))
    check(plan)
    assert plan.entries[0][0] == 3  # rows are counted with that line


def test_decimal_commas_between_semicolons(workshop: Workshop, tmp_path: Path) -> None:
    row = ROW.replace(",", ";").replace(".", ",")
    check(planned(workshop, csv_file(tmp_path, HEAD.replace(",", ";"), row)))


def test_decimal_commas_in_quotes_between_commas(workshop: Workshop, tmp_path: Path) -> None:
    check(planned(workshop, csv_file(tmp_path, HEAD, '13/02/2026,hinges,"3,2","6,5",45,"31,5","5,4","1,5",Küste')))


def test_a_decimal_comma_that_is_also_the_delimiter_is_never_read(workshop: Workshop, tmp_path: Path) -> None:
    plan = planned(workshop, csv_file(tmp_path, HEAD, ROW, "14/02/2026,hinges,3,2,6,5,45,31,5,5,4,1,5,x"))
    assert plan.taken_rows == 1 and "more cells than there are headings" in reasons(plan)[3]


def test_trailing_delimiters_short_rows_and_empty_rows(workshop: Workshop, tmp_path: Path) -> None:
    path = csv_file(tmp_path, HEAD + ",,", ROW + ",,,,", "", ",,,,,,,,", "14/02/2026,,,,,30")
    plan = planned(workshop, path)
    assert plan.taken_rows == 2 and not plan.refused and values(plan) == {"zinc": 30.0, "ph": 5.4}


def test_commas_quotes_and_line_ends_inside_quotes(workshop: Workshop, tmp_path: Path) -> None:
    path = csv_file(
        tmp_path, 'Date,"Zn, total (g/L)",Notes', '2026-02-13,31.5,"first, ""second""\nthird"', "2026-02-14,30,plain",
    )  # fmt: skip
    plan = planned(workshop, path, {"decimal": "point"})
    assert [e["text"] for e in entries(plan, "remark")] == ['first, "second"\nthird', "plain"]


def test_a_quote_that_is_never_closed_spoils_its_own_row_only(workshop: Workshop, tmp_path: Path) -> None:
    path = csv_file(tmp_path, HEAD, ROW, '14/02/2026,"hinges,3,6.5,45,31,5.4,1,x', ROW.replace("13/02", "15/02"))
    plan = planned(workshop, path)
    assert plan.taken_rows == 2 and "never closed" in reasons(plan)[3]
    odd = csv_file(tmp_path, HEAD, ROW, '14/02/2026,"20" bar",3,6.5,45,31,5.4,1,x', name="odd.csv")
    plan = planned(workshop, odd)
    assert plan.taken_rows == 1 and "quotation mark" in reasons(plan)[3]


def test_a_file_cut_short_in_its_last_row(workshop: Workshop, tmp_path: Path) -> None:
    path = csv_file(tmp_path, HEAD, ROW, ROW.replace("13/02", "14/02"))
    path.write_bytes(path.read_bytes() + b"15/02/2026,hinges,3.2,6.5,4")
    plan = planned(workshop, path)
    assert plan.taken_rows == 2 and "ends in the middle of this row" in reasons(plan)[4]


@pytest.mark.parametrize("preamble", [0, 1, 5, 32])
def test_preambles(workshop: Workshop, tmp_path: Path, preamble: int) -> None:
    before = [
        ["Bench notes", "", "Keeper:,nobody", "printed 01/02/2026,,", "Bath life,from 1/2/2026"][n % 5] for n in range(preamble)
    ]
    plan = planned(workshop, csv_file(tmp_path, *before, HEAD, ROW))
    check(plan)
    assert plan.entries[0][0] == preamble + 2


def test_a_row_of_units_and_two_levels_of_headings(workshop: Workshop, tmp_path: Path) -> None:
    path = csv_file(
        tmp_path, "Old log", "When,electrolyte,,,pickle,", "Date,Zn,pH,Temp,Min,Notes", ",oz/imp gal,,°F,min,",
        "13/02/2026,5,5.4,95,3,x",
    )  # fmt: skip
    plan = planned(workshop, path)
    read = values(plan)
    assert read["zinc"] == pytest.approx(5 * 6.2360, rel=1e-4)  # 1 oz/imp gal = 6.2360 g/L
    assert (read["ph"], read["temperature"]) == (5.4, 35.0)
    assert entries(plan, "run")[0]["steps"] == [{"tank": "pickle", "minutes": 3.0}]


def test_notes_and_totals_among_the_rows_are_named_and_not_read(workshop: Workshop, tmp_path: Path) -> None:
    path = csv_file(tmp_path, HEAD, ROW, "--- spring ---,,,,,,,,", "Total,,3.2,6.5,,,,,", ROW.replace("13/02", "14/02"))
    plan = planned(workshop, path)
    assert plan.taken_rows == 2 and set(reasons(plan)) == {3, 4}


@pytest.mark.parametrize(
    "data",
    [b"", b"\n\n\n", b"\xff\xfe", b"a,b\n", b"Date,Zn\n", b"\x00" * 900, b'"' * 2001, b"," * 5000, bytes(range(256)) * 20],
)
def test_files_of_nothing_end_in_a_sentence(workshop: Workshop, tmp_path: Path, data: bytes) -> None:
    path = tmp_path / "odd.csv"
    path.write_bytes(data)
    from bathkeeper.sheets.taking import MappingError, look

    with pytest.raises((BookError, MappingError), match=r"\w+"):
        look(workshop, path)


def test_places_that_are_no_files(workshop: Workshop, tmp_path: Path) -> None:
    for path in (tmp_path / "none.csv", tmp_path, tmp_path / ("x" * 300 + ".csv")):
        with pytest.raises(BookError):
            read_grid(path)
