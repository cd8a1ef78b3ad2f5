"""The use cases of reports: one is made of a workshop by its kind, and written to a file that was not there before."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import Literal, get_args

from bathkeeper.answers.shapes import NotFound
from bathkeeper.refusals import near, shorten
from bathkeeper.reports.builders.ground import Ground
from bathkeeper.reports.labels import Layout
from bathkeeper.reports.model import Report, ReportError
from bathkeeper.reports.write import format_of, render, write_new
from bathkeeper.workshop import Workshop, now

Kind = Literal["register", "statement", "bath", "run", "stock"]
KINDS: tuple[str, ...] = get_args(Kind)
TITLES = {
    "register": "Waste register of a period",
    "statement": "Content statement of a container",
    "bath": "History of a bath",
    "run": "Certificate of a run",
    "stock": "Stock and cost of a period",
    "labels": "Labels for containers and tanks",
}
SUBJECTS = {"statement": "a container", "bath": "a tank", "run": "a run by its id, or `last`"}
"""What a kind of report is about; the others are about the whole workshop."""
PERIODS = ("register", "bath", "stock")
"""Kinds that are of a period."""
MACHINES = ("csv", "zip", "json")
"""Formats that keep the fixed units and whole ids."""


def make(
    workshop: Workshop,
    kind: str,
    subject: str | None = None,
    since: datetime | None = None,
    until: datetime | None = None,
    at: datetime | None = None,
    *,
    exact: bool = False,
    made_at: datetime | None = None,
) -> Report:
    """A report of one kind.

    Args:
        subject: the container, tank or run that it is about (a run may be ``last``).
        since, until: the period; from the beginning of the book to now when not given. ``at`` is another word for ``until``.
        exact: fixed units and whole ids, as CSV and JSON have them; else as the workshop's settings say.
        made_at: when it is made; now if not given.

    Raises:
        ReportError: no such kind, a subject that is wanting or not wanted, a period that ends before it begins.
        NotFound: no such container, tank or run.
    """
    moment = made_at or now()
    end = until or at or moment
    if kind not in KINDS:
        raise ReportError(f"there is no report `{shorten(kind)}`{near(kind, KINDS)}")
    if (subject is None) == (kind in SUBJECTS):
        wanted = f"say which: {SUBJECTS[kind]}" if kind in SUBJECTS else "it is about the whole workshop and takes no name"
        raise ReportError(f"report {kind}: {wanted}")
    if since is not None and kind not in PERIODS:
        raise ReportError(f"report {kind} is of a moment, not of a period: leave `since` out, or name the moment with `at`")
    if since is not None and since >= end:
        raise ReportError("the period ends before it begins; give `since` earlier than `until`")
    ground = Ground(workshop, end, moment, since, exact)
    if kind == "register":
        from bathkeeper.reports.builders.register import register

        return register(ground)
    if kind == "stock":
        from bathkeeper.reports.builders.stock import stock

        return stock(ground)
    assert subject is not None
    if kind == "statement":
        from bathkeeper.reports.builders.statement import statement

        return statement(ground, subject)
    if kind == "bath":
        from bathkeeper.reports.builders.bath import bath

        return bath(ground, subject)
    from bathkeeper.reports.builders.run import run_certificate

    return run_certificate(ground, subject)


def make_labels(
    workshop: Workshop, names: Sequence[str] = (), at: datetime | None = None, *, layout: Layout = "sheet",
    paper: Literal["a4", "letter"] = "a4", made_at: datetime | None = None,
) -> bytes:  # fmt: skip
    """Labels for the containers and tanks named, or for all that hold something, as a PDF.

    Raises:
        NotFound: no such container or tank, or nothing that holds anything.
    """
    from bathkeeper.reports.builders.tags import labels
    from bathkeeper.reports.labels import labels_pdf

    moment = made_at or now()
    made = labels(Ground(workshop, at or moment, moment), names)
    if not made:
        raise NotFound("there is nothing to label: no tank and no container holds anything")
    return labels_pdf(made, moment, layout=layout, paper=paper)


def write(report: Report, path: Path, *, format: str | None = None, table: str | None = None, paper: str = "a4") -> Path:
    """Writes a report to a new file in the format that is asked for or that its ending names; returns where it is.

    For CSV and JSON the report is to be made ``exact``.

    Raises:
        ReportError: the format is not known. BookError: the file is there already or cannot be written.
    """
    return write_new(path, render(report, format or format_of(path), table=table, paper=paper))


def suggested(book: Path, kind: str, subject: str | None, day: datetime, ending: str) -> Path:
    """A name for a new file in the book's folder that is not taken: ``register-2026-11-25.pdf``."""
    plain = "".join(c if c.isalnum() or c in "-_" else "-" for c in subject or "")[:40].strip("-")
    stem = "-".join(w for w in (kind, plain, f"{day.astimezone():%Y-%m-%d}") if w)
    place, number = book.parent / f"{stem}.{ending}", 2
    while place.exists():
        place, number = book.parent / f"{stem}-{number}.{ending}", number + 1
    return place
