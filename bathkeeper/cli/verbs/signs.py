"""The verb ``signs``: keep, refresh or replace the side tanks, by their signs side by side."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import click

from bathkeeper.cli.options import answers, open_workshop, tell_damage
from bathkeeper.cli.talk import answer, answer_json, say


@click.command("signs")
@click.argument("tank", required=False)
@answers
def verb(tank: str | None, as_json: bool, book: Path | None, at: datetime | None) -> None:
    """Keep, refresh or replace: the signs of side tanks.

    Each sign with its own limit and source; the rule is yours (`log definition "replacement rule" …`), else the usual one of
    the tank's role. Without TANK: every side tank.
    """
    from bathkeeper.counsel import Counsel

    workshop = open_workshop(book)
    counsel = Counsel(workshop)
    names = [tank] if tank is not None else [t.tank for t in workshop.status(at).tanks]
    told = {n: found for n in names if (found := counsel.signs(n, at)) is not None}
    if as_json:
        answer_json(told)
    else:
        from bathkeeper.cli.advice_text import signs_text

        for number, found in enumerate(told.values()):
            answer(([""] if number else []) + signs_text(found))
        if not told:
            say(f"{tank or 'No tank'} has no signs to show: plating baths are mended, and empty tanks have none.")
    tell_damage(workshop)
