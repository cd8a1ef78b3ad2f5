"""The verb ``report``: the waste register, a content statement, a bath's history, a run's certificate, stock, labels."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, time
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from bathkeeper.cli.moments import Moment
from bathkeeper.cli.options import at_option, book_option, json_option, open_workshop, tell_damage
from bathkeeper.cli.talk import say

if TYPE_CHECKING:
    from bathkeeper.reports.model import Report

F = TypeVar("F", bound=Callable[..., object])
FORMATS = ("terminal", "pdf", "csv", "zip", "json")


class Since(Moment):
    """The beginning of a period: a date alone is the start of that day."""

    def __init__(self) -> None:
        super().__init__(end_of_day=True)

    def convert(self, value: object, param: click.Parameter | None, ctx: click.Context | None) -> datetime:
        found = super().convert(value, param, ctx)
        if found.time() == time.max:
            return datetime.combine(found.date(), time.min).astimezone()
        return found


def asked(f: F) -> F:
    """The options that every report takes."""
    out = click.option(
        "--out", type=click.Path(path_type=Path), metavar="FILE",
        help="Write it to a new file; its ending (.pdf .csv .zip .json .txt) names the format.",
    )
    format = click.option("--format", "format", type=click.Choice(FORMATS), help="The format; else by FILE's ending.")
    table = click.option("--table", metavar="NAME", help="Which table a csv holds; the first if not given. A zip holds all.")
    paper = click.option("--paper", type=click.Choice(("a4", "letter")), default="a4", help="Paper of a pdf.")
    return out(format(table(paper(json_option(book_option(at_option(f)))))))


def period(f: F) -> F:
    """``--since`` and ``--until``."""
    since = click.option("--since", type=Since(), metavar="WHEN", help="From when; the beginning of the book if not given.")
    until = click.option("--until", type=Moment(end_of_day=True), metavar="WHEN", help="Until when; now if not given.")
    return since(until(f))


@click.group("report")
def verb() -> None:
    """Waste register, content statement, bath, run, stock, labels.

    On the terminal, or with --out to a new PDF, CSV, JSON or text file. Nothing is overwritten.
    """


@verb.command("register")
@period
@asked
def register(**given: Any) -> None:
    """The waste register of a period.

    Litres and grams balanced, every move, ages against the limit, hand-overs, corrections.
    """
    _report("register", None, **given)


@verb.command("statement")
@click.argument("container")
@asked
def statement(container: str, **given: Any) -> None:
    """What a container holds, on one page.

    For the council or a licensed contractor.
    """
    _report("statement", container, **given)


@verb.command("bath")
@click.argument("tank")
@period
@asked
def bath(tank: str, **given: Any) -> None:
    """A bath's history.

    Lives, control charts, readings, additions, anodes, what was learned.
    """
    _report("bath", tank, **given)


@verb.command("run")
@click.argument("id", metavar="ID")
@asked
def run(id: str, **given: Any) -> None:
    """The certificate of one run, by its id or `last`.

    Parts, steps, deposit, bake, outcome, corrections.
    """
    _report("run", id, **given)


@verb.command("stock")
@period
@asked
def stock(**given: Any) -> None:
    """Shelf, lots, what to buy, what it cost, what waste left."""
    _report("stock", None, **given)


@verb.command("labels")
@click.argument("names", nargs=-1)
@click.option("--out", type=click.Path(path_type=Path), metavar="FILE", required=True, help="The new PDF to write.")
@click.option("--large", is_flag=True, help="One label on each page, instead of eight on a sheet.")
@click.option("--paper", type=click.Choice(("a4", "letter")), default="a4", help="Paper of the pdf.")
@book_option
@at_option
def labels(names: tuple[str, ...], out: Path, large: bool, paper: Any, book: Path | None, at: datetime | None) -> None:
    """Labels for containers and tanks, as a PDF.

    For all that hold something when none is named.
    """
    from bathkeeper.reports.making import make_labels
    from bathkeeper.reports.write import write_new

    _refuse_other_ending(out)
    workshop = open_workshop(book)
    made = make_labels(workshop, names, at, layout="large" if large else "sheet", paper=paper)
    say(f"Labels written to {write_new(out, made)}")
    tell_damage(workshop)


def _report(
    kind: str, subject: str | None, *, out: Path | None, format: str | None, table: str | None, paper: str, as_json: bool,
    book: Path | None, at: datetime | None, since: datetime | None = None, until: datetime | None = None,
) -> None:  # fmt: skip
    from bathkeeper.reports.making import MACHINES, make, write
    from bathkeeper.reports.write import format_of, render

    if as_json and format not in (None, "json"):
        raise click.UsageError("--json and another --format are both given; give one of them.")
    if at is not None and until is not None:
        raise click.UsageError("--at and --until both say when it ends; give one of them.")
    wanted = "json" if as_json else "text" if format == "terminal" else format
    chosen = wanted or (format_of(out) if out is not None else "text")
    if out is None and chosen in ("pdf", "zip"):
        raise click.UsageError(f"a {chosen} goes to a file: name one with --out, for example --out {kind}.{chosen}")
    workshop = open_workshop(book)
    made = make(workshop, kind, subject, since, until, at, exact=chosen in MACHINES)
    if out is not None:
        say(f"Written to {write(made, out, format=chosen, table=table, paper=paper)}", *_which(made, chosen, table, out))
    else:
        text = render(made, chosen, table=table, width=_width())
        click.echo(text if isinstance(text, bytes) else text.removeprefix("\ufeff"), nl=False)
    tell_damage(workshop)


def _which(made: Report, chosen: str, table: str | None, out: Path) -> list[str]:
    """What a CSV holds of a report of several tables, and how to have the others."""
    from bathkeeper.reports.csv_text import csv_tables, first_table

    if chosen != "csv":
        return []
    names = list(csv_tables(made))
    held = table or first_table(made)
    others = [n for n in names if n != held]
    if not others:
        return []
    return [
        f"It holds the table {held} alone. Not in it: {', '.join(others)}.",
        f"One of them: --table {others[0]}. All of them, a CSV each: --out {out.with_suffix('.zip').name}",
    ]


def _width() -> int:
    import shutil

    return shutil.get_terminal_size().columns


def _refuse_other_ending(out: Path) -> None:
    if out.suffix.casefold() != ".pdf":
        raise click.UsageError("labels are a PDF: end the file's name in .pdf")
