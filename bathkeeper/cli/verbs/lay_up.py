"""The verb ``lay-up``: what each tank wants before the line rests."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import click

from bathkeeper.cli.options import answers, open_workshop, tell_damage, when_option


@click.command("lay-up")
@click.option("--days", type=click.FloatRange(min=0, min_open=True), required=True, metavar="DAYS", help="How long it rests.")
@click.option("--coldest", metavar="TEMPERATURE", help="How cold the room gets, such as 5C.")
@click.option("--accept", is_flag=True, help="Write the lists as plans, so that they can be ticked off.")
@when_option
@answers
def verb(
    days: float, coldest: str | None, accept: bool, when: datetime | None, as_json: bool, book: Path | None, at: datetime | None
) -> None:
    """What each tank wants before the line rests.

    From the state that it is in: anodes out, level, lids, what falls out when it gets cold, each with its reason and source.
    """
    from bathkeeper.cli.checklists import celsius, tell
    from bathkeeper.counsel import Counsel

    workshop = open_workshop(book)
    counsel = Counsel(workshop)
    if accept:
        tell_damage(workshop)
    tell(counsel, counsel.lay_up(days, at, celsius(coldest, counsel)), "lay up", accept, when, as_json)
    tell_damage(workshop)
