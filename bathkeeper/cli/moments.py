"""Moments as typed: ISO dates and date-times, and nothing that could be read in two ways."""

from __future__ import annotations

import re
from datetime import date, datetime, time

import click

_DAY = re.compile(r"\d{4}-\d{2}-\d{2}")
_EXAMPLES = "2026-05-01, 2026-05-01T14:30 or 2026-05-01T14:30+02:00"


class Moment(click.ParamType[datetime]):
    """An ISO date or date-time; without an offset it is local time. ``end_of_day``: a date alone is the end of that day, else
    its noon, or this moment when that day is today."""

    name = "when"

    def __init__(self, *, end_of_day: bool) -> None:
        self._end_of_day = end_of_day

    def convert(self, value: object, param: click.Parameter | None, ctx: click.Context | None) -> datetime:
        if isinstance(value, datetime):
            return value
        text = str(value).strip()
        try:
            if _DAY.fullmatch(text):
                return self._of_day(date.fromisoformat(text))
            if not _DAY.match(text):
                raise ValueError
            moment = datetime.fromisoformat(text)
            return moment if moment.tzinfo is not None else moment.astimezone()
        except (ValueError, OverflowError):
            self.fail(f"`{text}` is no ISO date or date-time; write for example {_EXAMPLES}", param, ctx)

    def _of_day(self, day: date) -> datetime:
        if self._end_of_day:
            return datetime.combine(day, time.max).astimezone()
        this = datetime.now().astimezone()
        return this if day == this.date() else datetime.combine(day, time(12)).astimezone()
