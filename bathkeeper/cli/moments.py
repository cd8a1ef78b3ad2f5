"""A moment as the value of an option: what :mod:`bathkeeper.moments` reads, with click's refusals."""

from __future__ import annotations

from datetime import datetime

import click

from bathkeeper.moments import moment


class Moment(click.ParamType[datetime]):
    """``end_of_day``: a date alone is the end of that day, else its noon, or this moment when that day is today."""

    name = "when"

    def __init__(self, *, end_of_day: bool) -> None:
        self._end_of_day = end_of_day

    def convert(self, value: object, param: click.Parameter | None, ctx: click.Context | None) -> datetime:
        if isinstance(value, datetime):
            return value
        try:
            if not str(value).strip():
                raise ValueError("there is no moment; write for example 2026-05-01 or 2026-05-01T14:30")
            return moment(str(value), datetime.now().astimezone(), end_of_day=self._end_of_day)
        except ValueError as problem:
            self.fail(str(problem), param, ctx)
