"""The verb ``check``: whether the book and the catalogue are sound."""

from __future__ import annotations

from pathlib import Path

import click

from bathkeeper.cli.exits import Exit
from bathkeeper.cli.options import book_option, book_path, json_option, open_workshop, tell_damage
from bathkeeper.cli.plain import clean
from bathkeeper.cli.talk import answer, answer_json, counted, say


@click.command("check")
@click.option(
    "--accept", is_flag=True,
    help="Take the file as it is now for the book, where it was shortened or replaced on purpose. "
    "Lines that do not verify stay damage.",
)
@json_option
@book_option
def verb(accept: bool, as_json: bool, book: Path | None) -> None:
    """Read the whole book and the catalogue, and list what is wrong.

    Exits with 0 when all is sound, 1 when entries could not be used, 4 when the book is damaged.
    """
    if accept:
        from bathkeeper.logbook import accept as take_as_it_is

        take_as_it_is(book_path(book))
    workshop = open_workshop(book)
    count = len(workshop.book.entries())
    faults = workshop.catalogue.check()
    problems = workshop.problems
    if as_json:
        answer_json({
            "book": str(workshop.book.path), "entries": count, "damage": workshop.book.damage, "problems": problems,
            "catalogue": faults,
        })
    else:
        lines = []
        for problem in problems:
            where = f"line {problem.line}: " if problem.line and not problem.what.startswith("line ") else ""
            entry = f" [{problem.entry[-8:]}]" if problem.entry else ""
            lines.append(clean(f"{where}{problem.what}{entry}", lines=False))
            if problem.right:
                lines.append(clean(f"  {problem.right}", lines=False))
        answer([*lines, *(f"catalogue: {clean(fault, lines=False)}" for fault in faults)])
        sound = "; all is sound" if not problems and not faults else ""
        say(f"{workshop.book.path}: {counted(count, 'entry')} read{sound}.")
    tell_damage(workshop)
    if problems or faults:
        raise click.exceptions.Exit(Exit.REFUSED)
