"""The verb ``show``: entries of the book, a list or one in full."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import click

from bathkeeper.cli.options import answers, open_workshop, tell_damage
from bathkeeper.cli.talk import answer, answer_json, counted, say


@click.command("show")
@click.argument("what", metavar="[TANK|RUN|ID]", required=False)
@click.option("--limit", type=click.IntRange(min=1), default=20, show_default=True, help="How many entries of a list.")
@answers
def verb(what: str | None, limit: int, as_json: bool, book: Path | None, at: datetime | None) -> None:
    """Entries of a tank, newest first; a run or any entry in full.

    An id may be shortened to its first or last signs, six or more. Without an argument: the entries of the whole line.
    """
    from bathkeeper.cli.entry_text import history_text, list_text
    from bathkeeper.entries import plain

    workshop = open_workshop(book)
    if what is None or what in workshop.world.tanks:
        entries = workshop.entries(what, at)
        if as_json:
            answer_json({"tank": what, "entries": [plain(e) for e in entries[:limit]], "of": len(entries)})
        else:
            answer(list_text(entries[:limit], workshop.preferences, tank_too=what is None))
            if len(entries) > limit:
                say(f"{counted(len(entries) - limit, 'older entry')} not shown; --limit {len(entries)} shows all.")
            if not entries:
                say("There are no entries yet.")
    else:
        history = workshop.history(what)
        about = [e for e in workshop.entries() if getattr(e, "run", None) == history.logged.id]
        if as_json:
            answer_json({
                "entry": plain(history.logged),
                "line": history.line,
                "corrections": [plain(c) for c in history.corrections],
                "in_force": None if history.in_force is None else plain(history.in_force),
                "about_it": [plain(e) for e in about],
            })
        else:
            answer(history_text(history, about, workshop.preferences))
    tell_damage(workshop)
