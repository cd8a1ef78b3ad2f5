"""The verb ``stock``: what is on the shelf, what to buy, what it costs."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import click

from bathkeeper.cli.moments import Moment
from bathkeeper.cli.options import answers, open_workshop, tell_damage
from bathkeeper.cli.talk import answer, answer_json, say


@click.group("stock")
def verb() -> None:
    """What is on the shelf, what to buy, what it costs.

    Bought, counted and thrown out are logged (`log stock …`); what was used is derived from additions and make-ups.
    """


@verb.command("list")
@answers
def list_(as_json: bool, book: Path | None, at: datetime | None) -> None:
    """What is left of everything, and what the last count showed."""
    from bathkeeper.counsel import Counsel

    workshop = open_workshop(book)
    shelves = Counsel(workshop).shelf(at)
    if as_json:
        answer_json({"stock": list(shelves.values())})
    else:
        from bathkeeper.cli.advice_text import shelf_text

        answer(shelf_text(shelves, workshop.preferences))
        if not shelves:
            say('Nothing is on record. For example: bathkeeper log stock "zinc chloride" bought=1kg price=12.50')
    tell_damage(workshop)


@verb.command("reorder")
@answers
def reorder(as_json: bool, book: Path | None, at: datetime | None) -> None:
    """What has to be bought before it runs out, soonest first."""
    from bathkeeper.counsel import Counsel

    workshop = open_workshop(book)
    wanted = Counsel(workshop).reorder(at)
    if as_json:
        answer_json({"reorder": wanted})
    else:
        from bathkeeper.cli.advice_text import reorder_text

        answer(reorder_text(wanted, workshop.preferences))
        if not wanted:
            say("Nothing that is counted or bought on record runs out within two months.")
    tell_damage(workshop)


@verb.command("cost")
@click.option("--since", type=Moment(end_of_day=False), metavar="WHEN", help="From when; three months back if not given.")
@answers
def cost(since: datetime | None, as_json: bool, book: Path | None, at: datetime | None) -> None:
    """What chemicals and anodes cost: in all, per run, per dm2."""
    from bathkeeper.counsel import Counsel

    workshop = open_workshop(book)
    told = Counsel(workshop).cost(since, at)
    if as_json:
        plain = {n: getattr(told, n) for n in ("since", "until", "total", "runs", "area_dm2", "by_item", "unpriced")}
        answer_json({**plain, "per_run": told.per_run, "per_dm2": told.per_dm2})
    else:
        from bathkeeper.cli.advice_text import cost_text

        answer(cost_text(told, str(workshop.settings().get("currency") or "")))
    tell_damage(workshop)
