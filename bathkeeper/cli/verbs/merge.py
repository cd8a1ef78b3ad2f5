"""The verb ``merge``: two copies of a book become one."""

from __future__ import annotations

from pathlib import Path

import click

from bathkeeper.cli.options import book_option, json_option, open_workshop, tell_damage
from bathkeeper.cli.talk import answer, answer_json, counted, say


@click.command("merge")
@click.argument("other", type=click.Path(path_type=Path))
@json_option
@book_option
def verb(other: Path, as_json: bool, book: Path | None) -> None:
    """Take in the entries of another copy of this book.

    Those that are here already are left alone, and OTHER stays as it is. Where both hold the same id for different entries,
    nothing is merged and both are shown.
    """
    from bathkeeper.logbook.merge import merge

    workshop = open_workshop(book)
    tell_damage(workshop)
    result = merge(workshop.book, other)
    if as_json:
        answer_json({"added": result.added, "same": result.same, "problems": result.problems})
    else:
        answer([f"{counted(result.added, 'entry')} came in, {result.same} were there already"])
        say(*(f"{other}: {p.what}. {p.right}" for p in result.problems))
