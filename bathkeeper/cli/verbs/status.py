"""The verb ``status``: what is in every tank, or in one."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import click
import msgspec

from bathkeeper.cli.options import answers, open_workshop, tell_damage
from bathkeeper.cli.talk import answer, answer_json, counted, say


@click.command("status")
@click.argument("tank", required=False)
@answers
def verb(tank: str | None, as_json: bool, book: Path | None, at: datetime | None) -> None:
    """What is in the tanks, how sure that is, and what is due.

    With TANK: its contents, anodes, and what was learned about it.
    """
    workshop = open_workshop(book)
    status = workshop.status(at, tank)
    if as_json:
        cautions = {} if tank is None else {"cautions": workshop.cautions_of(tank)}
        answer_json({**msgspec.structs.asdict(status), **cautions})
    else:
        from bathkeeper.cli.line_text import line_text
        from bathkeeper.cli.tank_text import tank_text

        prefs = workshop.preferences
        if tank is None:
            answer(line_text(status, prefs))
        else:
            answer(tank_text(status.tanks[0], status.due, workshop.cautions_of(tank), prefs))
        if workshop.is_empty:
            say("There are no tanks yet. `bathkeeper log tank …` adds one; `bathkeeper demo` shows a line at work.")
        if status.problems and workshop.book.damage is None:
            say(f"{counted(len(status.problems), 'problem')} with the book; `bathkeeper check` says which.")
    tell_damage(workshop)
