"""The verb ``new``: a book of one's own."""

from __future__ import annotations

from pathlib import Path

import click

from bathkeeper.cli.options import book_option, book_path, json_option
from bathkeeper.cli.talk import answer, answer_json, say


@click.command("new")
@click.argument("name")
@click.option("--template", metavar="TEMPLATE", help="Set up the tanks of a line, such as zinc-nickel-line.")
@json_option
@book_option
def verb(name: str, template: str | None, as_json: bool, book: Path | None) -> None:
    """Start a book for the workshop NAME. Asks nothing.

    With --template the line's tanks are set up, without contents: make-ups are logged when they are made.
    """
    from bathkeeper.workshop import Workshop

    workshop = Workshop.new(book_path(book).absolute(), name, template)
    tanks = list(workshop.world.tanks)
    if as_json:
        answer_json({"book": str(workshop.book.path), "workshop": workshop.name, "template": template, "tanks": tanks})
        return
    answer([str(workshop.book.path)])
    if template is None:
        known = ", ".join(f"{t.name} ({t.title})" for t in workshop.catalogue.templates.values())
        say(f"An empty workshop. `bathkeeper log tank …` adds a tank; for a new book with --template there are: {known}.")
    else:
        say(
            f"Tanks: {', '.join(tanks)}.",
            "Next: log each make-up, for example `bathkeeper log make_up electrolyte volume=40L zinc=32g/L nickel=24g/L`.",
        )
