"""The verb ``export``: what a book holds in files that anything can read."""

from __future__ import annotations

import io
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import click

from bathkeeper.cli.options import at_option, book_option, open_workshop, tell_damage
from bathkeeper.cli.talk import counted, say

if TYPE_CHECKING:
    from bathkeeper.copies.tables import Format, Table

format_option = click.option("--format", "format", type=click.Choice(["csv", "jsonl"]), help="CSV, or JSON Lines.")
every_option = click.option("--every", default="1d", metavar="TIME", help="The step between estimates: 1d, 6h, 1 week.")


@click.group("export")
def verb() -> None:
    """Write the book's entries, estimates, or all of it to files."""


@verb.command("entries")
@click.argument("file", type=click.Path(path_type=Path, allow_dash=True), default="-")
@click.option("--in-force", is_flag=True, help="Entries as they count now: corrections applied, what was withdrawn left out.")
@format_option
@book_option
def entries(file: Path, in_force: bool, format: Format | None, book: Path | None) -> None:
    """Write every entry to FILE, or to stdout for `-` or nothing: as JSON Lines, or as CSV where the file ends so.

    Corrections and kinds that this version does not know come along. `import entries` takes JSON Lines all in again; CSV is
    for reading, one row an entry, with its standing and its headline. An entry that was corrected stands there as it was first
    logged, with the correction behind it: to sum over entries, take those `--in-force`.
    """
    from bathkeeper.logbook.exchange import export_entries

    workshop = open_workshop(book)
    chosen: Format = format or ("csv" if file.suffix.casefold() == ".csv" else "jsonl")
    if in_force or chosen == "csv":
        from bathkeeper.copies.entries import entries_table, in_force_table

        _write(in_force_table(workshop) if in_force else entries_table(workshop), file, chosen, "entry")
    elif str(file) == "-":
        out = io.BytesIO()
        export_entries(workshop.book, out)
        click.echo(out.getvalue(), nl=False)
    else:
        count = export_entries(workshop.book, file)
        say(f"{counted(count, 'entry')} written to {file}")
    tell_damage(workshop)


@verb.command("estimates")
@click.argument("tank", required=False)
@click.option(
    "--to", "file", type=click.Path(path_type=Path, allow_dash=True), default="-", metavar="FILE", help="Else stdout."
)
@format_option
@every_option
@at_option
@book_option
def estimates(tank: str | None, file: Path, format: Format | None, every: str, at: datetime | None, book: Path | None) -> None:
    """Write what was in each tank over time (or in TANK alone), with the low and high end of its interval.

    Each moment is estimated from the entries up to it. `--at` is where the table ends.
    """
    from bathkeeper.copies.estimates import estimates_table
    from bathkeeper.workshop import now

    workshop = open_workshop(book)
    with _progress() as told:
        table = estimates_table(workshop, at or now(), _step(every), tank, told)
    _write(table, file, format or ("jsonl" if file.suffix.casefold() == ".jsonl" else "csv"), "row")
    tell_damage(workshop)


@verb.command("book")
@click.argument("folder", type=click.Path(path_type=Path))
@every_option
@at_option
@book_option
def whole(folder: Path, every: str, at: datetime | None, book: Path | None) -> None:
    """Write the whole book to a new FOLDER of plain files: entries by kind, estimates, what was learned, runs, stock.

    Every table comes as CSV and as JSON Lines; README.txt says what the columns are. Nothing is written over. `--at` is the
    moment of the estimates; entries come all.
    """
    from bathkeeper.copies.folder import copy_book
    from bathkeeper.workshop import now

    workshop = open_workshop(book)
    with _progress() as told:
        files = copy_book(workshop, folder, at or now(), _step(every), told)
    say(f"{counted(len(files), 'file')} written to {folder}")
    tell_damage(workshop)


def _write(table: Table, file: Path, format: Format, thing: str) -> None:
    if str(file) == "-":
        click.echo(table.as_bytes(format), nl=False)
        return
    from bathkeeper.logbook.exchange import write_file

    write_file(file, table.as_bytes(format, mark=True))
    say(f"{counted(len(table.rows), thing)} written to {file}")


def _step(text: str) -> timedelta:
    """A step of time as typed. Raises click.BadParameter."""
    from bathkeeper.units.door import UnitError, understand

    try:
        return timedelta(minutes=understand(text, "time").value)
    except (UnitError, OverflowError) as problem:
        raise click.BadParameter(str(problem), param_hint="--every") from None


@contextmanager
def _progress() -> Iterator[Callable[[int, int], None] | None]:
    """A bar on stderr, only on a terminal."""
    if not sys.stderr.isatty():
        yield None
        return
    with click.progressbar(length=100, label="Estimating", file=sys.stderr) as bar:

        def told(done: int, of: int) -> None:
            bar.update(100 * done // max(of, 1) - bar.pos)

        yield told
