"""The verb ``import``: rows from elsewhere become entries."""

from __future__ import annotations

from pathlib import Path

import click

from bathkeeper.cli.options import book_option, json_option, open_workshop, tell_damage
from bathkeeper.cli.talk import answer, answer_json, counted, say
from bathkeeper.cli.verbs.import_trace import trace


@click.group("import")
def verb() -> None:
    """Take in entries from a file."""


verb.add_command(trace)


@verb.command("entries")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--dry-run", is_flag=True, help="Say what would be taken in; write nothing.")
@json_option
@book_option
def entries(file: Path, dry_run: bool, as_json: bool, book: Path | None) -> None:
    """Take in a file of JSON Lines, one entry a line, all or none.

    Rows need `kind` and `at`, not id, schema or sum. What was taken in before is not taken in again.
    """
    from bathkeeper.logbook.exchange import import_entries

    workshop = open_workshop(book)
    if not dry_run:
        tell_damage(workshop)
    before = {problem.entry for problem in workshop.problems}
    result = import_entries(workshop.book, file, dry_run=dry_run)
    workshop.refresh()
    new = [p for p in workshop.problems if p.entry not in before]
    if as_json:
        answer_json({
            "added": result.added, "already": result.already, "dated": result.dated, "dry_run": dry_run, "problems": new,
        })
    else:
        came = "would come" if dry_run else "came"
        answer([f"{counted(result.added, 'entry')} {came} in, {result.already} were there already"])
        if result.dated:
            say(f"{counted(result.dated, 'row')} with a date alone: they count as of that day in UTC, in file order.")
        say(*(f"{p.what}. {p.right}" for p in new))
    if dry_run:
        tell_damage(workshop)
