"""A moment as the value of an option: what :mod:`bathkeeper.moments` reads, with click's refusals."""

from __future__ import annotations

from datetime import datetime

import click

from bathkeeper.moments import moment, slashed


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
            text = str(value)
            order = _order(ctx) if slashed(text) else None
            return moment(text, datetime.now().astimezone(), end_of_day=self._end_of_day, order=order)
        except ValueError as problem:
            self.fail(str(problem), param, ctx)


def _order(ctx: click.Context | None) -> str | None:
    """How dates are written in the book that is meant; nothing where there is none that can be read."""
    from bathkeeper.cli.options import book_path
    from bathkeeper.logbook.errors import BookError
    from bathkeeper.workshop import Workshop

    given = ctx.params.get("book") if ctx is not None else None
    try:
        return Workshop.open(book_path(given)).preferences.date_order
    except BookError:
        return None  # the verb itself says what is wrong with the book
