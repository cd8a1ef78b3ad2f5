"""A piece that cannot be what it says is refused where it is made, with what would be right."""

from __future__ import annotations

from datetime import date, datetime, timedelta

import pytest

from bathkeeper.findings import Estimate
from bathkeeper.reports.model import Chart, Column, Fact, Reading, Report, ReportError, Table
from tests.reports.samples import DAY, chart, log_table, of

TEXT, NUMBER = Column("a", "A"), Column("b", "B", "g", "number")
NAIVE = datetime(2026, 1, 1)


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        ((("x",),), "1 cells for 2 columns"), ((("x", 1, 2),), "3 cells for 2"), (((1, 1),), "holds text"),
        ((("x", "1"),), "holds number"), ((("x", True),), "bool"), ((("x", Estimate(1, 0, 2)),), "holds number"),
        ((("x", 10**400),), "beyond"),
    ],
)
def test_rows_must_fit_their_columns(rows, said):
    with pytest.raises(ReportError, match=said):
        Table(name="t", title="T", columns=(TEXT, NUMBER), rows=rows)


def test_a_date_column_takes_days_and_a_moment_column_moments():
    days, moments = Column("d", "D", kind="date"), Column("m", "M", kind="moment")
    assert Table(name="t", title="T", columns=(days, moments), rows=((date(2026, 1, 1), DAY),)).rows
    with pytest.raises(ReportError, match="holds date"):
        Table(name="t", title="T", columns=(days,), rows=((DAY,),))
    with pytest.raises(ReportError, match="offset"):
        Table(name="t", title="T", columns=(moments,), rows=((NAIVE,),))


def test_a_total_may_say_a_word_where_a_number_would_be():
    assert Table(name="t", title="T", columns=(NUMBER, TEXT), rows=(), total=("Total", None)).total


def test_names_keys_and_columns():
    with pytest.raises(ReportError, match="lower-case"):
        Table(name="Not a name", title="T", columns=(TEXT,), rows=())
    with pytest.raises(ReportError, match="lower-case"):
        Column("=1", "A")
    with pytest.raises(ReportError, match="one key"):
        Table(name="t", title="T", columns=(TEXT, TEXT), rows=())
    with pytest.raises(ReportError, match="at least one"):
        Table(name="t", title="T", columns=(), rows=())
    with pytest.raises(ReportError, match="kind"):
        Column("a", "A", kind="money")
    with pytest.raises(ReportError, match="called `log`"):
        of(log_table(1), log_table(2))


def test_moments_carry_their_offset():
    with pytest.raises(ReportError, match="offset"):
        Report(title="t", made_at=NAIVE, as_of=DAY)
    with pytest.raises(ReportError, match="offset"):
        Chart(name="c", title="t", unit="g", readings=(Reading(NAIVE, 1.0),))
    with pytest.raises(ReportError, match="offset"):
        Fact("a", NAIVE)
    with pytest.raises(ReportError, match="before it begins"):
        Report(title="t", made_at=DAY, as_of=DAY, period=(DAY, DAY - timedelta(days=1)))


def test_a_charts_moments_come_in_order():
    moments = chart().moments
    assert moments == sorted(moments)
    assert len(moments) == 60 + 7 + 4
