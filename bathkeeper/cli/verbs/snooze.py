"""The verb ``snooze``: puts something due off until a day, with a reason; without an id lists what is put off."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import click

from bathkeeper.cli.moments import Moment
from bathkeeper.cli.options import answers, open_workshop, tell_damage
from bathkeeper.cli.talk import answer, answer_json, say


@click.command("snooze")
@click.argument("finding", required=False)
@click.option("--until", type=Moment(end_of_day=True), metavar="WHEN", help="When it may speak again; a date means its end.")
@click.option("--reason", metavar="TEXT", help="Why it is put off.")
@answers
def verb(
    finding: str | None, until: datetime | None, reason: str | None, as_json: bool, book: Path | None, at: datetime | None
) -> None:
    """Puts something due off, with a reason; lists it.

    FINDING is an id that `due` prints. Without it: what is put off, until when, and why.
    """
    from bathkeeper.counsel import Counsel

    workshop = open_workshop(book)
    counsel = Counsel(workshop)
    if finding is not None:
        if until is None or not reason:
            raise click.UsageError('say until when and why: --until 2026-12-24 --reason "salt is on order"')
        tell_damage(workshop)
        logged = counsel.snooze(finding, until, reason, at)
        if as_json:
            answer_json({"entry": logged.entry})
        else:
            answer([f"Written as {logged.entry.id}"])
            say(f"{finding} is put off until {until:%Y-%m-%d %H:%M}.")
        return
    found = counsel.snoozed(at)
    if as_json:
        answer_json({
            "snoozed": [{"finding": p.finding, "until": p.until, "reason": p.reason, "entry": p.entry} for p in found]
        })  # fmt: skip
    else:
        from bathkeeper.cli.advice_text import paragraphs

        answer(paragraphs(f"{p.finding.id}: until {p.until:%Y-%m-%d}, {p.reason} ({p.finding.what})" for p in found))
        if not found:
            say("Nothing is put off.")
    tell_damage(workshop)
