"""The calendar file: read back by a parser of the test's own and by a library; entries update rather than multiply."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from icalendar import Calendar

from bathkeeper.due.calendar_file import to_ics
from bathkeeper.findings import Because, Finding, Level

AT = datetime(2026, 5, 1, 9, 0, tzinfo=UTC)
BOOK = "book-1"


def finding(
    id: str, what: str = "nickel is below its low limit", level: Level = "soon", by: datetime | None = AT + timedelta(days=9)
) -> Finding:
    tank = id.split(".")[0]
    return Finding(id=id, tank=tank, what=what, why="95 % interval", level=level, by=by, because=Because(text="x"))


def read(text: str) -> dict[str, dict[str, str]]:
    """UID -> properties, by nothing but RFC 5545's lines: CRLF ends, a leading space goes on, at most 75 octets a line."""
    assert text.endswith("END:VCALENDAR\r\n")
    assert "\n" not in text.replace("\r\n", "")
    assert all(len(line.encode()) <= 75 for line in text.split("\r\n"))
    lines = text.replace("\r\n ", "").split("\r\n")
    assert lines[0] == "BEGIN:VCALENDAR" and "VERSION:2.0" in lines
    events: dict[str, dict[str, str]] = {}
    event: dict[str, str] = {}
    for line in lines:
        name, _, value = line.partition(":")
        if line == "BEGIN:VEVENT":
            event = {}
        elif line == "END:VEVENT":
            assert event["UID"] not in events, "a name twice would be two entries"
            events[event["UID"]] = event
        else:
            event[name.partition(";")[0]] = value
    return events


def test_it_is_read_back_by_both_parsers() -> None:
    text = to_ics(
        [
            finding("electrolyte.low.nickel", "Nickel, 19 g/L; ниже предела \\ ääää" * 4),
            finding("pickle.age.bath", level="now", by=None),
        ],
        BOOK, "Shed", AT,
    )  # fmt: skip
    events = read(text)
    assert set(events) == {"electrolyte.low.nickel@book-1", "pickle.age.bath@book-1"}
    one = events["electrolyte.low.nickel@book-1"]
    assert one["DTSTART"] == "20260510" and one["DTEND"] == "20260511"
    assert events["pickle.age.bath@book-1"]["DTSTART"] == "20260501"
    assert one["SEQUENCE"] == "0"
    parsed = {str(e["uid"]): e for e in Calendar.from_ical(text).walk("VEVENT")}
    assert set(parsed) == set(events)
    assert "ниже предела" in str(parsed["electrolyte.low.nickel@book-1"]["summary"])


def test_a_second_export_changes_no_name_and_nothing_that_did_not_change() -> None:
    findings = [finding("electrolyte.low.nickel"), finding("pickle.age.bath")]
    first = to_ics(findings, BOOK, "Shed", AT)
    assert to_ics(findings, BOOK, "Shed", AT + timedelta(hours=3), first) == first
    moved = [finding("electrolyte.low.nickel", by=AT + timedelta(days=5)), finding("pickle.age.bath", "other words")]
    later = read(to_ics(moved, BOOK, "Shed", AT + timedelta(days=1), first))
    assert set(later) == set(read(first))
    assert later["electrolyte.low.nickel@book-1"]["SEQUENCE"] == "1"
    assert later["electrolyte.low.nickel@book-1"]["DTSTART"] == "20260506"
    assert later["pickle.age.bath@book-1"]["SEQUENCE"] == "0"
    assert later["pickle.age.bath@book-1"]["LAST-MODIFIED"] == "20260502T090000Z"


def test_what_is_no_longer_due_is_cancelled_once_and_may_come_back() -> None:
    first = to_ics([finding("electrolyte.low.nickel")], BOOK, "Shed", AT)
    gone = to_ics([], BOOK, "Shed", AT + timedelta(days=1), first)
    event = read(gone)["electrolyte.low.nickel@book-1"]
    assert (event["STATUS"], event["SEQUENCE"]) == ("CANCELLED", "1")
    assert to_ics([], BOOK, "Shed", AT + timedelta(days=2), gone) == gone
    back = read(to_ics([finding("electrolyte.low.nickel")], BOOK, "Shed", AT + timedelta(days=3), gone))
    assert (back["electrolyte.low.nickel@book-1"]["STATUS"], len(back)) == ("CONFIRMED", 1)


def test_a_file_of_another_program_is_left_alone() -> None:
    other = "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//other//EN\r\nEND:VCALENDAR\r\n"
    with pytest.raises(ValueError, match="another program"):
        to_ics([], BOOK, "Shed", AT, other)
    with pytest.raises(ValueError, match="no calendar"):
        to_ics([], BOOK, "Shed", AT, "hello")
