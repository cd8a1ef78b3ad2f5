"""The verb ``due``: what to do, by when, and why."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from bathkeeper.cli.exits import Exit
from bathkeeper.cli.options import answers, open_workshop, tell_damage
from bathkeeper.cli.talk import answer, answer_json, counted, say

if TYPE_CHECKING:
    from bathkeeper.counsel import Counsel


@click.command("due")
@click.option("--check", is_flag=True, help="Exit with 3 if anything is due now.")
@click.option("--snoozed", is_flag=True, help="Also what is put off.")
@click.option(
    "--calendar", type=click.Path(path_type=Path, dir_okay=False), metavar="FILE",
    help="Write it to a calendar file (.ics); written again, its entries are updated.",
)
@answers
def verb(check: bool, snoozed: bool, calendar: Path | None, as_json: bool, book: Path | None, at: datetime | None) -> None:
    """What is due, most urgent first, with its reason.

    The id in brackets is what `why` and `snooze` take. It holds what `status` lists as due, and what the forecast sees coming,
    which a status leaves out because it takes longer.
    """
    from bathkeeper.counsel import Counsel

    workshop = open_workshop(book)
    counsel = Counsel(workshop)
    status = counsel.status(at, snoozed=snoozed)
    off = counsel.snoozed(status.as_of)
    if calendar is not None:
        _write(counsel, calendar, at)
    if as_json:
        told = {"book": status.book, "as_of": status.as_of, "due": status.due}
        answer_json({**told, "snoozed": [{"id": p.finding.id, "until": p.until, "reason": p.reason} for p in off]})
    elif status.due:
        from bathkeeper.cli.line_text import due_text

        answer(due_text(status.due))
    else:
        say("Nothing is due.")
    if off and not as_json:
        say(f"{counted(len(off), 'finding')} put off; `bathkeeper snooze` lists them.")
    tell_damage(workshop)
    if check and any(finding.level == "now" for finding in status.due):
        raise click.exceptions.Exit(Exit.OVERDUE)


def _write(counsel: Counsel, file: Path, at: datetime | None) -> None:
    """Updates the calendar file, or begins it; a file of another program is left alone."""
    before = file.read_bytes().decode("utf-8", errors="replace") if file.exists() else ""
    text = counsel.calendar_text(at, before)
    beside = file.with_name(f".{file.name}.new")
    beside.write_bytes(text.encode("utf-8"))  # as bytes: the standard's line ends are its own
    beside.replace(file)
    say(f"Written to {file}: {counted(text.count('BEGIN:VEVENT'), 'entry')}.")
