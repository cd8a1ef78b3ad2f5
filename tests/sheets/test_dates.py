"""Dates and clocks as sheets hold them; which order they are in, and when that has to be asked."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta, timezone
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bathkeeper.logbook.sheets import Cell
from bathkeeper.sheets.cells import CellError
from bathkeeper.sheets.dates import When, clock, when
from bathkeeper.sheets.taking import look
from bathkeeper.workshop import Workshop

from .helpers import csv_file, entries, line_of_tanks, planned, reasons, understood, xlsx_file

DAY = date(2026, 2, 13)


@pytest.fixture
def workshop(tmp_path: Path) -> Workshop:
    return line_of_tanks(tmp_path)


@pytest.mark.parametrize(
    ("text", "order"),
    [
        ("2026-02-13", None),
        ("2026/2/13", None),
        ("2026.02.13", "mdy"),
        ("20260213", None),
        ("13.2.2026", None),
        ("13.02.26", None),
        ("13/02/2026", "dmy"),
        ("13/02/2026", None),
        ("02/13/2026", "mdy"),
        ("02/13/2026", None),
        ("13-02-26", "dmy"),
        ("26-02-13", "ymd"),
        ("02-13-26", "mdy"),
        ("13 Feb 2026", None),
        ("13-Feb-26", None),
        ("Feb 13, 2026", None),
        ("February 13 2026", "dmy"),
        ("Fri 13/02/2026", "dmy"),
        ("Friday, 13 February 2026", None),
        ("46066", None),
        ("13th Feb 2026", None),
    ],
)
def test_days(text: str, order: str | None) -> None:
    assert when(Cell(text), order) == When(DAY)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("text", "hour"),
    [
        ("2026-02-13 14:30", time(14, 30)),
        ("2026-02-13T14:30:05", time(14, 30, 5)),
        ("13/02/2026 2:30 PM", time(14, 30)),
        ("13.2.2026, 14:30", time(14, 30)),
        ("13/02/2026 12:05 am", time(0, 5)),
        ("46066.604166666664", time(14, 30)),
        ("2026-02-13 14:30:05.123456", time(14, 30, 5)),
    ],
)
def test_days_with_a_clock(text: str, hour: time) -> None:
    assert when(Cell(text), "dmy") == When(DAY, hour)


def test_an_offset_in_the_cell_holds() -> None:
    assert when(Cell("2026-02-13T14:30:00+02:00"), None) == When(DAY, time(14, 30), timezone(timedelta(hours=2)))
    assert when(Cell("2026-02-13 14:30Z"), None) == When(DAY, time(14, 30), UTC)


def test_day_numbers_count_from_1900_or_1904() -> None:
    # 1 January 2000 is 36526 in the one system and 35064 in the other, as the documentation of both says
    assert when(Cell("36526", "number"), None).day == date(2000, 1, 1) == when(Cell("35064", "number"), None, "1904").day


@pytest.mark.parametrize(
    ("text", "order", "says"),
    [
        ("05/06/2026", None, "5 June 2026 or 6 May 2026"),
        ("31/02/2026", "dmy", "no day that there is"),
        ("13/13/2026", None, "no day"),
        ("02/13/2026", "dmy", "day month year"),
        ("13/02/2026", "mdy", "month day year"),
        ("05.06.2026", "mdy", "whichever it is"),
        ("yesterday", None, "is no date"),
        ("12", None, "is no date"),
        ("99999", None, "is no date"),
        ("13 Foo 2026", None, "is no date"),
        ("2026-02-13 25:00", None, "no time of day"),
        ("2026-02-13 13:00 PM", None, "1 to 12"),
        ("2026-02-30", None, "no day that"),
        ("01-02-03", None, "could be"),
        ("2026-W07", None, "is no date"),
        ("13/02/0026", "dmy", ""),
        ("\u0661\u0663/02/2026", "dmy", "no date"),
    ],
)
def test_days_that_are_refused(text: str, order: str | None, says: str) -> None:
    if not says:
        assert when(Cell(text), order).day.year == 26  # type: ignore[arg-type]
        return
    with pytest.raises(CellError, match=says):
        when(Cell(text), order)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("cell", "means"),
    [
        (Cell("14:30"), time(14, 30)),
        (Cell("2:30 PM"), time(14, 30)),
        (Cell("1430"), time(14, 30)),
        (Cell("14:30 h"), time(14, 30)),
        (Cell("0.5", "number"), time(12)),
        (Cell("14:30:00", "clock"), time(14, 30)),
        (Cell("2026-02-13T14:30:00", "moment"), time(14, 30)),
    ],
)
def test_clocks(cell: Cell, means: time) -> None:
    assert clock(cell) == means


@pytest.mark.parametrize("cell", [Cell("24:00"), Cell("25:10:00", "clock"), Cell("noon"), Cell("12", "number"), Cell("1460")])
def test_clocks_that_are_refused(cell: Cell) -> None:
    with pytest.raises(CellError, match="no time of day"):
        clock(cell)


@settings(derandomize=True, deadline=None, max_examples=200)
@given(
    st.dates(date(2000, 1, 1), date(2099, 12, 31)), st.sampled_from(["dmy", "mdy", "ymd"]), st.sampled_from("/-"), st.booleans()
)
def test_a_stated_order_is_what_is_read(day: date, order: str, sign: str, short: bool) -> None:
    year = "%y" if short else "%Y"
    pattern = {"dmy": f"%d{sign}%m{sign}{year}", "mdy": f"%m{sign}%d{sign}{year}", "ymd": f"{year}{sign}%m{sign}%d"}[order]
    assert when(Cell(day.strftime(pattern)), order).day == day  # type: ignore[arg-type]


@settings(derandomize=True, deadline=None, max_examples=200)
@given(st.dates(date(2000, 1, 1), date(2099, 12, 31)), st.sampled_from(["%d/%m/%Y", "%m/%d/%Y", "%d-%m-%y", "%y-%m-%d"]))
def test_without_a_stated_order_a_date_is_read_right_or_not_at_all(day: date, pattern: str) -> None:
    try:
        assert when(Cell(day.strftime(pattern)), None).day == day
    except CellError as problem:
        assert "could be" in problem.what


@settings(derandomize=True, deadline=None, max_examples=300)
@given(st.text(max_size=30), st.sampled_from([None, "dmy", "mdy", "ymd"]))
def test_any_text_is_a_date_or_a_sentence(text: str, order: str | None) -> None:
    for read in (lambda c: when(c, order), clock):  # type: ignore[arg-type]
        try:
            read(Cell(text))
        except CellError as problem:
            assert problem.what


def dated(folder: Path, *texts: str) -> Path:
    return csv_file(folder, "Date,pH", *(f"{t},5.4" for t in texts))


def test_the_rows_decide_the_order_where_they_can(workshop: Workshop, tmp_path: Path) -> None:
    for texts, order in (
        (["05/06/2025",
            "13/06/2025"], "dmy"), (["05/06/2025", "06/13/2025"], "mdy"), (["05-06-25", "30-02-25", "25-02-30"], None),
    ):  # fmt: skip
        looked = look(workshop, dated(tmp_path, *texts))
        assert looked.mapping.date_order == order and bool(looked.open) == (order is None)


def test_the_order_is_asked_where_the_rows_leave_it_open_or_disagree(workshop: Workshop, tmp_path: Path) -> None:
    looked = look(workshop, dated(tmp_path, "05/06/2025", "07/06/2025"))
    assert [(q.key, [c for c, _ in q.choices]) for q in looked.open] == [("dates", ["dmy", "mdy"])]
    answered = understood(workshop, dated(tmp_path, "05/06/2025", "07/06/2025"), {"dates": "mdy"})
    assert not answered.open
    plan = planned(workshop, dated(tmp_path, "05/06/2025", "07/06/2025"), {"dates": "mdy"})
    assert [e["at"][:10] for e in entries(plan)] == ["2025-05-06", "2025-07-06"]
    looked = look(workshop, dated(tmp_path, "13/06/2025", "06/13/2025"))
    assert [q.key for q in looked.open] == ["dates"]
    assert not look(workshop, dated(tmp_path, "06/06/2025", "07/07/2025")).open  # either way round the same day
    assert not look(workshop, dated(tmp_path, "05.06.2025", "07.06.2025")).open  # dots are day first


def test_rows_with_a_date_alone_get_successive_seconds_of_their_own_day(workshop: Workshop, tmp_path: Path) -> None:
    path = csv_file(
        tmp_path, "Date,pH,Zn (g/L),Water (L)", "2025-06-13,5.4,,1", "2025-06-13,5.3,,", "2025-06-14,,31,", "2025-06-13,5.2,,"
    )
    mapping = tmp_path / "own.toml"
    from bathkeeper.sheets.taking import mapping_toml

    looked = look(workshop, path)
    mapping.write_text(mapping_toml(looked.mapping).replace("first_row = 2", 'first_row = 2\noffset = "-08:00"'))
    plan = planned(workshop, path, given=str(mapping))
    assert [(e["at"], e["kind"]) for e in entries(plan)] == [
        ("2025-06-13T00:00:00-08:00",
            "reading"), ("2025-06-13T00:00:01-08:00", "addition"), ("2025-06-13T00:00:02-08:00", "reading"),
        ("2025-06-14T00:00:00-08:00", "reading"), ("2025-06-13T00:00:03-08:00", "reading"),
    ]  # fmt: skip
    assert plan.dated == 4


def test_a_time_column_and_repeated_stamps(workshop: Workshop, tmp_path: Path) -> None:
    path = csv_file(
        tmp_path, "Date,Time,pH", "2025-06-13,14:30,5.4", "2025-06-13,14:30,5.3", "2025-06-13,2:45 pm,5.2", "2025-06-13,,5.1"
    )
    plan = planned(workshop, path)
    local = datetime(2025, 6, 13).astimezone().utcoffset()
    assert [datetime.fromisoformat(e["at"]).strftime("%H:%M:%S") for e in entries(plan)] == [
        "14:30:00",
        "14:30:01",
        "14:45:00",
        "00:00:00",
    ]
    assert all(datetime.fromisoformat(e["at"]).utcoffset() == local for e in entries(plan))
    bad = planned(
        workshop,
        csv_file(tmp_path, "Date,Time,pH", "2025-06-13,14:30,5.4", "2025-06-13,14:75,5.3", "2025-06-13,15:10,5", name="b.csv"),
    )
    assert "Time: `14:75` is no time of day" in reasons(bad)[3]


def test_an_empty_date_means_the_one_above_only_where_that_is_said(workshop: Workshop, tmp_path: Path) -> None:
    path = csv_file(
        tmp_path, "Date,pH,Notes", "2025-06-13,5.4,", ",5.3,", "2025-06-14,,", ",5.2,later", "2025-06-15,5,x", name="f.csv"
    )
    plan = planned(workshop, path)
    assert set(reasons(plan)) == {3, 4, 5} and "fill_down" in reasons(plan)[3]
    from bathkeeper.sheets.taking import mapping_toml

    own = tmp_path / "own.toml"
    own.write_text(mapping_toml(look(workshop, path).mapping).replace("first_row = 2", 'first_row = 2\nfill_down = ["Date"]'))
    plan = planned(workshop, path, given=str(own))
    assert [(e["at"][:10], e["kind"]) for e in entries(plan)] == [
        ("2025-06-13", "reading"), ("2025-06-13", "reading"), ("2025-06-14", "reading"), ("2025-06-14", "remark"),
        ("2025-06-15", "reading"), ("2025-06-15", "remark"),
    ]  # fmt: skip
    assert not plan.refused


def test_dates_of_a_workbook_are_dates(workshop: Workshop, tmp_path: Path) -> None:
    rows = [
        ["Date", "pH"],
        [datetime(2025, 6, 13), 5.4],
        [datetime(2025, 6, 13, 14, 30), 5.3],
        [45821, 5.2],
        ["14/06/2025", 5.1],
    ]
    plan = planned(workshop, xlsx_file(tmp_path, rows, formats={"A4": "General"}))
    assert [e["at"][:16] for e in entries(plan)] == [
        "2025-06-13T00:00",
        "2025-06-13T14:30",
        "2025-06-13T00:00",
        "2025-06-14T00:00",
    ]
