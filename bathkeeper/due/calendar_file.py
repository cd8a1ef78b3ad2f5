"""What is due as a calendar file (RFC 5545) whose entries update rather than multiply.

One all-day event for each finding. Its UID is the finding's id and the book's, so that a second export updates the first.
What was exported before tells the rest: text that changed moves LAST-MODIFIED, a date or status that changed also raises
SEQUENCE (3.8.7.4), and what is no longer due stays once as CANCELLED, so that whoever reads the file takes it away.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

from bathkeeper.findings import Finding

if TYPE_CHECKING:
    from icalendar import Calendar, Event

PRODUCT = "-//bathkeeper//due//EN"
PRIORITY = {"now": 1, "soon": 5, "later": 9}  # 1 is highest, 9 lowest: RFC 5545, 3.8.1.9


def uid(finding: str, book: str) -> str:
    """The name of a finding's event: the same in every export of a book, on any machine."""
    return f"{quote(finding, safe='.-_')}@{book}"


def to_ics(findings: Iterable[Finding], book: str, workshop: str, at: datetime, before: str = "") -> str:
    """The calendar as text, lines folded and ended as the standard wants.

    Args:
        findings: what is due. ``later`` without a date is left out: a calendar has no place for it.
        book: id of the book, part of every UID.
        at: the moment of the export; its offset says which day it is.
        before: the calendar written last; empty when there is none.

    Raises:
        ValueError: ``before`` is no calendar that this program wrote.
    """
    from icalendar import Calendar

    known = _known(before)
    calendar = Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("x-wr-calname", f"{workshop}: due")
    stamp = at.astimezone(UTC).replace(microsecond=0)
    said: set[str] = set()
    for finding in findings:
        name = uid(finding.id, book)
        if name in said or (finding.level == "later" and finding.by is None):
            continue
        said.add(name)
        _put(calendar, _event(finding, name, at, known.get(name)), known.get(name), stamp)
    for name, old in sorted(known.items()):
        if name not in said and name.endswith(f"@{book}"):
            _cancel(calendar, old, stamp)
    return str(calendar.to_ical().decode("utf-8"))


def _known(before: str) -> dict[str, Event]:
    if not before.strip():
        return {}
    from icalendar import Calendar, Event

    try:
        calendar = Calendar.from_ical(before)
    except (ValueError, IndexError, KeyError) as problem:
        raise ValueError(f"the file there is no calendar ({problem}); name another, or take it away") from None
    if str(calendar.get("prodid", "")) != PRODUCT:
        raise ValueError("the calendar there was written by another program; name another file, so that it is not lost")
    return {str(e["uid"]): e for e in calendar.walk("VEVENT") if isinstance(e, Event) and "uid" in e}


def _event(finding: Finding, name: str, at: datetime, old: Event | None) -> Event:
    from icalendar import Event

    event = Event()
    event.add("uid", name)
    day = _day(finding, at, old)
    event.add("dtstart", day)
    event.add("dtend", day + timedelta(days=1))
    event.add("summary", f"{finding.tank}: {finding.what}")
    event.add("description", f"{finding.level}. {finding.why}\nbathkeeper why {_word(finding.id)}")
    event.add("priority", PRIORITY[finding.level])
    event.add("status", "CONFIRMED")
    event.add("transp", "TRANSPARENT")
    event.add("categories", [finding.tank])
    return event


def _day(finding: Finding, at: datetime, old: Event | None) -> date:
    """Its date while that lies ahead; what is overdue or has no date stands at the day on which it was first told."""
    today = at.date()
    if finding.by is not None:
        day = finding.by.astimezone(at.tzinfo).date()
        if day >= today:
            return day
    if old is not None and str(old.get("status", "")) != "CANCELLED":
        kept = old.decoded("dtstart")
        if isinstance(kept, date) and not isinstance(kept, datetime) and kept <= today:
            return kept
    return today


def _put(calendar: Calendar, event: Event, old: Event | None, stamp: datetime) -> None:
    if old is None:
        created, sequence, changed = stamp, 0, stamp
    else:
        created = old.decoded("created") if "created" in old else stamp
        sequence = int(old.get("sequence", 0))
        changed = old.decoded("last-modified") if "last-modified" in old else stamp
        if _differs(event, old, ("dtstart", "dtend", "status")):
            sequence += 1
            changed = stamp
        elif _differs(event, old, ("summary", "description", "priority", "categories")):
            changed = stamp
    _stamped(event, created, sequence, changed)
    calendar.add_component(event)


def _cancel(calendar: Calendar, old: Event, stamp: datetime) -> None:
    """An event whose cause is gone, said once more as cancelled and left as it is from then on."""
    if str(old.get("status", "")) != "CANCELLED":
        sequence = int(old.get("sequence", 0)) + 1
        created = old.decoded("created") if "created" in old else stamp
        for name in ("status", "sequence", "created", "last-modified", "dtstamp"):
            old.pop(name, None)
        old.add("status", "CANCELLED")
        _stamped(old, created, sequence, stamp)
    calendar.add_component(old)


def _stamped(event: Event, created: datetime, sequence: int, changed: datetime) -> None:
    """DTSTAMP of a calendar without a METHOD is when the entry was last revised: RFC 5545, 3.8.7.2."""
    event.add("created", created)
    event.add("sequence", sequence)
    event.add("last-modified", changed)
    event.add("dtstamp", changed)


def _differs(event: Event, old: Event, names: Iterable[str]) -> bool:
    return any(_plain(event, n) != _plain(old, n) for n in names)


def _plain(event: Event, name: str) -> Any:
    value = event.get(name)
    return value.to_ical() if hasattr(value, "to_ical") else value


def _word(id: str) -> str:
    """A finding's id as it can be pasted behind a verb."""
    return f'"{id}"' if " " in id else id
