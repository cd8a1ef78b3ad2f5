"""The verb ``anodes``: how long they last, whether their split holds the bath, and what the acid says of it."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import click

from bathkeeper.cli.options import answers, open_workshop, tell_damage
from bathkeeper.cli.talk import answer, answer_json, say


@click.command("anodes")
@click.argument("tank", required=False)
@answers
def verb(tank: str | None, as_json: bool, book: Path | None, at: datetime | None) -> None:
    """Anodes left, their split, and the acid balance.

    What is left and for how many Ah, the share that would hold each metal with drag-out in it, what the present one costs in
    salts, what idle zinc costs, and acid by charge against what was put in. Without TANK: every plating tank.
    """
    from bathkeeper.advice import acid, anodes
    from bathkeeper.counsel import Counsel

    workshop = open_workshop(book)
    counsel = Counsel(workshop)
    names = [tank] if tank is not None else [t.tank for t in workshop.status(at).tanks if t.role == "plate"]
    told = {n: (counsel.anodes(n, at), counsel.acid(n, at)) for n in names}
    if as_json:
        answer_json({n: {"anodes": a, "acid": b} for n, (a, b) in told.items()})
    else:
        from bathkeeper.cli.advice_text import headed

        for name, (advice, balance) in told.items():
            answer(headed(f"{name}: anodes", anodes.sentences(advice) if advice is not None else []))
            answer(headed(f"{name}: acid", acid.sentences(balance) if balance is not None else []))
        if not any(a or b for a, b in told.values()):
            say(f"{tank or 'No tank'} has nothing to say of anodes: it takes a plating recipe and a make-up on record.")
    tell_damage(workshop)
