"""The offset from UTC that a file tells outside its cells: in the header of its clock, or in the lines before the table."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import timedelta, timezone, tzinfo

from bathkeeper.refusals import shorten
from bathkeeper.traces.asking import Question, TraceError
from bathkeeper.traces.clocks import NoSuchDay, read_clock
from bathkeeper.traces.table import Table, column_title
from bathkeeper.traces.zones import zone_named

_BARE = re.compile(
    r"\b(?:UTC|GMT)\b(?: ?[+\-−] ?\d{1,2}(?::?\d{2})?)?|(?<![\d:])[+\-−]\d{1,2}:\d{2}\b|(?<=[ (\d])Z(?=\)|$)", re.I
)
_HOURS = re.compile(r"([+\-−]?)(\d{1,2}(?::\d{2})?)(?: ?h(?:ours?)?)?", re.I)
_LABEL = re.compile(r"time ?zone|zeitzone|utc|gmt|fuseau|zona horaria|时区|\btz\b", re.I)


@dataclass(frozen=True)
class ToldOffset:
    """``zone`` as told at ``where``; None where nothing is told, or nothing that is known here (then ``question``)."""

    zone: tzinfo | None = None
    where: str = ""
    question: Question | None = None


NOT_TOLD = ToldOffset()


def told_offset(table: Table, columns: Iterable[int]) -> ToldOffset:
    """What a file says of its clock's offset; ``columns``: those of its clock."""
    for j in columns:
        zone = _zone_in(f"{table.names[j]} {table.units[j]}")
        if zone is not None:
            return ToldOffset(zone, f"the header of column {column_title(table, j)}")
    for label, value in table.preamble:
        if _LABEL.search(label):
            return _labelled(label, value)
        moment = _moment_in(value) or _moment_in(f"{label} {value}")
        if moment is not None:
            return ToldOffset(moment, "the lines before the table")
    return NOT_TOLD


def _labelled(label: str, value: str) -> ToldOffset:
    """``Time zone: GMT+02:00``, ``UTC offset: +2``; a name that is not known here is asked about."""
    plain = value.strip(" ()")
    hours = _HOURS.fullmatch(plain)
    try:
        if hours is not None:
            zone: tzinfo | None = zone_named(f"{hours[1] or '+'}{hours[2]}".replace("−", "-"))
        elif _is_clock(plain):  # the label is that of a moment: Start (UTC): 2026-05-13 08:30
            zone = _moment_in(plain) or _zone_in(label)
        else:
            zone = _zone_in(plain) or zone_named(plain)
    except TraceError:
        about = f"the file says `{shorten(f'{label}: {value}')}`, which is no offset from UTC that is known here"
        return ToldOffset(question=Question("offset", about, example="--offset +01:00, or --offset Europe/Vienna"))
    return ToldOffset(zone, "the lines before the table") if zone is not None else NOT_TOLD


def _is_clock(text: str) -> bool:
    """Whether a text is a day or a moment."""
    try:
        clock = read_clock(text)
    except NoSuchDay:
        return True
    return clock is not None and clock.kind in ("moment", "date", "time of day")


def _zone_in(text: str) -> tzinfo | None:
    found = _BARE.search(text)
    if found is None:
        return None
    try:
        return zone_named(found[0].replace("−", "-").replace(" ", ""))
    except TraceError:
        return None


def _moment_in(text: str) -> tzinfo | None:
    """The offset of a moment that is told whole, such as when the log was started."""
    try:
        clock = read_clock(text)
    except NoSuchDay:
        clock = None
    if clock is None or clock.offset_s is None:
        return None
    return timezone(timedelta(seconds=clock.offset_s))
