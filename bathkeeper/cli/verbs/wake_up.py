"""The verb ``wake-up``: what each tank wants before the first load after a rest."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import click

from bathkeeper.cli.options import answers, open_workshop, tell_damage, when_option


@click.command("wake-up")
@click.option("--room", metavar="TEMPERATURE", help="How cold the baths are now, such as 12C.")
@click.option("--accept", is_flag=True, help="Write the lists as plans, so that they can be ticked off.")
@when_option
@answers
def verb(
    room: str | None, accept: bool, when: datetime | None, as_json: bool, book: Path | None, at: datetime | None
) -> None:
    """What each tank wants before it works again.

    Crystals of a cold bath dissolved before anything is dosed, level, anodes back, and the first load with a panel.
    """
    from bathkeeper.cli.checklists import celsius, tell
    from bathkeeper.counsel import Counsel

    workshop = open_workshop(book)
    counsel = Counsel(workshop)
    if accept:
        tell_damage(workshop)
    tell(counsel, counsel.wake_up(at, celsius(room, counsel)), "wake up", accept, when, as_json)
    tell_damage(workshop)
