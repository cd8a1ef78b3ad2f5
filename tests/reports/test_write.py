"""Every form by its name, and a file that was not there before."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from bathkeeper.logbook import disk
from bathkeeper.logbook.errors import BookError
from bathkeeper.reports.csv_text import BOM
from bathkeeper.reports.model import BandPoint, Chart, Event, Reading, ReportError
from bathkeeper.reports.write import FORMATS, format_of, render, write_new
from tests.reports.samples import DAY, of, whole

INF = float("inf")


def at(hours: float, value: float, low: float, high: float) -> BandPoint:
    return BandPoint(DAY + timedelta(hours=hours), value, low, high)


ODD = {
    "nothing": Chart(name="c", title="t", unit=""),
    "one point": Chart(name="c", title="t", unit="g", estimate=(at(0, 5, 4, 6),)),
    "flat nought": Chart(name="c", title="t", unit="g", estimate=(at(0, 0, 0, 0), at(5, 0, 0, 0))),
    "one reading": Chart(name="c", title="t", unit="g", readings=(Reading(DAY, 5),)),
    "no numbers": Chart(name="c", title="t", unit="g", estimate=(at(0, float("nan"), 0, 1), at(5, 3, 2, 4)), low=float("nan"),
                        high=INF, readings=(Reading(DAY, INF),)),
    "huge": Chart(name="c", title="t", unit="g", estimate=(at(0, 1e200, 0, 2e200), at(9, -1e200, -2e200, 0)), low=1),
    "tiny": Chart(name="c", title="t", unit="g", estimate=(at(0, 1e-9, 1e-9, 1e-9), at(9, 1.1e-9, 1e-9, 2e-9))),
    "levels in a heap": Chart(name="c", title="t", unit="g", estimate=(at(0, 5, 4, 6), at(9, 8, 7, 900)), low=1.0, target=1.01,
                              high=1.02, give_up_low=0.99, give_up_high=1.03),
    "ends of the calendar": Chart(name="c", title="t", unit="g", estimate=(
        BandPoint(datetime.min.replace(tzinfo=UTC), 1, 0, 2), BandPoint(datetime.max.replace(tzinfo=UTC), 1, 0, 2))),
    "first day of all": Chart(name="c", title="t", unit="g", readings=(Reading(datetime.min.replace(tzinfo=UTC), 1),)),
    "many events": Chart(name="c", title="t", unit="g", estimate=(at(0, 5, 4, 6),), events=tuple(
        Event(DAY + timedelta(days=n), "addition", f"dose {n}") for n in range(300))),
}


@pytest.mark.parametrize("format", FORMATS)
@pytest.mark.parametrize("odd", ODD)
def test_odd_charts_are_borne_in_every_form(odd, format):
    assert render(of(ODD[odd]), format)


def test_each_form_is_what_it_says():
    assert render(whole(), "pdf")[:5] == b"%PDF-"
    assert render(whole(), "zip")[:2] == b"PK"
    assert render(whole(), "csv").startswith(BOM)
    assert render(whole(), "json").startswith("{")
    assert render(whole(), "csv", table="facts").startswith(f"{BOM}title,label")
    assert max(map(len, render(whole(), "text", width=60).splitlines())) <= 60


def test_unknown_formats_and_papers_are_refused_with_what_there_is():
    with pytest.raises(ReportError, match="pdf"):
        render(whole(), "pfd")
    with pytest.raises(ReportError, match="letter"):
        render(whole(), "pdf", paper="b5")


def test_the_name_of_a_file_says_the_form():
    named = {"a.pdf": "pdf", "a.CSV": "csv", "b.json": "json", "c.zip": "zip", "d.txt": "text"}
    assert {name: format_of(Path(name)) for name in named} == named
    for name in ("a", "a.doc", "a.text"):
        with pytest.raises(ReportError, match=r"\.pdf"):
            format_of(Path(name))


def test_a_file_is_written_once_and_never_over_another(tmp_path):
    place = tmp_path / "report.csv"
    assert write_new(place, "é\r\n") == place
    assert place.read_bytes() == "é\r\n".encode()
    with pytest.raises(BookError, match=r"exists already.*is left alone"):
        write_new(place, b"other")
    assert place.read_bytes() == "é\r\n".encode()


def test_a_link_is_not_followed_to_another_file(tmp_path):
    (tmp_path / "precious").write_text("book")
    (tmp_path / "link.pdf").symlink_to(tmp_path / "precious")
    with pytest.raises(BookError, match="exists already"):
        write_new(tmp_path / "link.pdf", b"x")
    assert (tmp_path / "precious").read_text() == "book"


def test_where_nothing_can_be_written_a_sentence_says_why(tmp_path, monkeypatch):
    with pytest.raises(BookError, match="no folder"):
        write_new(tmp_path / "no" / "report.pdf", b"x")
    with pytest.raises(BookError, match="No name for a file"):
        write_new(tmp_path / "a\x00b.pdf", b"x")

    def full(_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(disk, "sync", full)
    with pytest.raises(BookError, match="full"):
        write_new(tmp_path / "report.pdf", b"x")
    assert not (tmp_path / "report.pdf").exists()
