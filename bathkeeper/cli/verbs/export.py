"""The verb ``export``: the book's entries in a file that anything can read."""

from __future__ import annotations

import io
from pathlib import Path

import click

from bathkeeper.cli.options import book_option, open_workshop, tell_damage
from bathkeeper.cli.talk import counted, say


@click.group("export")
def verb() -> None:
    """Write the book's entries to a file."""


@verb.command("entries")
@click.argument("file", type=click.Path(path_type=Path, allow_dash=True), default="-")
@book_option
def entries(file: Path, book: Path | None) -> None:
    """Write every entry as JSON Lines to FILE, or to stdout for `-` or nothing.

    Corrections and kinds that this version does not know come along; `import entries` takes them all in again.
    """
    from bathkeeper.logbook.exchange import export_entries

    workshop = open_workshop(book)
    if str(file) == "-":
        out = io.BytesIO()
        export_entries(workshop.book, out)
        click.echo(out.getvalue(), nl=False)
    else:
        count = export_entries(workshop.book, file)
        say(f"{counted(count, 'entry')} written to {file}")
    tell_damage(workshop)
