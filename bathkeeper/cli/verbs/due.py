"""The verb ``due``: what to do, by when, and why."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import click

from bathkeeper.cli.exits import Exit
from bathkeeper.cli.options import answers, open_workshop, tell_damage
from bathkeeper.cli.talk import answer, answer_json, say


@click.command("due")
@click.option("--check", is_flag=True, help="Exit with 3 if anything is due now.")
@answers
def verb(check: bool, as_json: bool, book: Path | None, at: datetime | None) -> None:
    """What is due, most urgent first, with its reason.

    The id in the first column is what `why` takes.
    """
    workshop = open_workshop(book)
    status = workshop.status(at)
    if as_json:
        answer_json({"book": status.book, "as_of": status.as_of, "due": status.due})
    elif status.due:
        from bathkeeper.cli.line_text import due_text

        answer(due_text(status.due))
    else:
        say("Nothing is due.")
    tell_damage(workshop)
    if check and any(finding.level == "now" for finding in status.due):
        raise click.exceptions.Exit(Exit.OVERDUE)
