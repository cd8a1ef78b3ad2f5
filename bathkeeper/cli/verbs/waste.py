"""The verb ``waste``: containers, the account of litres, plans, rules, codes and hand-overs; never what may be done."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from bathkeeper.cli.moments import Moment
from bathkeeper.cli.options import answers, open_workshop, tell_damage
from bathkeeper.cli.talk import answer, answer_json, say

if TYPE_CHECKING:
    from bathkeeper.ledger import Ledger
    from bathkeeper.workshop import Workshop


@click.group("waste")
def verb() -> None:
    """Containers, litres, plans, rules and hand-overs of waste.

    What is done to a container is logged (`log container …`, `log removal … to=CONTAINER`). What papers ask of the waste itself
    is logged with it: why="too much iron", physical-form=sludge, colour=green. Everything here is a record and arithmetic; what
    may be done with it is for your local authority or a licensed contractor to say.
    """


def _open(book: Path | None) -> tuple[Workshop, Ledger]:
    from bathkeeper.ledger import Ledger

    workshop = open_workshop(book)
    return workshop, Ledger(workshop)


@verb.command("status")
@answers
def status(as_json: bool, book: Path | None, at: datetime | None) -> None:
    """Every container, how long it may stand, and the account."""
    workshop, ledger = _open(book)
    told = ledger.status(at)
    if as_json:
        answer_json(told)
    else:
        from bathkeeper.cli.waste_text import status_text

        answer(status_text(told, ledger.keep_apart(at), workshop.preferences))
        if not told.containers:
            say("No container is on record. For example: bathkeeper log removal pickle all to=drum-1")
    tell_damage(workshop)


@verb.command("show")
@click.argument("container")
@answers
def show(container: str, as_json: bool, book: Path | None, at: datetime | None) -> None:
    """One container: contents, labels, checks, hand-overs."""
    import msgspec

    workshop, ledger = _open(book)
    held = ledger.container(container, at)
    apart = [k for k in ledger.keep_apart(at) if container in (k.a, k.b)]
    gone = [h for h in ledger.hand_overs(at) if h.container == container]
    first = ledger.ask_first()
    if as_json:
        answer_json({**msgspec.structs.asdict(held), "must_not_meet": apart, "handed_over": gone, "ask_first": first})
    else:
        from bathkeeper.cli.waste_text import container_text, ending

        answer([*container_text(held, apart, gone, workshop.preferences), *ending(first)])
    tell_damage(workshop)


@verb.command("plan")
@click.argument("container", metavar="CONTAINER|TANK")
@click.option("--ph", "to_ph", metavar="PH", default="9.5", show_default=True, help="Up to which pH base is counted.")
@answers
def plan(container: str, to_ph: str, as_json: bool, book: Path | None, at: datetime | None) -> None:
    """What it is, what it would take on paper, whom to ask.

    Of a tank: as if it were dumped now. The sums are for understanding and for whoever takes it; they are no leave to treat it.
    """
    workshop, ledger = _open(book)
    told = ledger.plan(container, at, _ph(to_ph, workshop))
    if as_json:
        answer_json(told)
    else:
        from bathkeeper.cli.waste_text import plan_text

        answer(plan_text(told, workshop.preferences))
    tell_damage(workshop)


@verb.command("account")
@click.option(
    "--since", type=Moment(end_of_day=False), metavar="WHEN", help="From when, else from the first entry; a date means noon."
)
@click.option("--until", type=Moment(end_of_day=True), metavar="WHEN", help="The same as --at.")
@click.option("--grams", "in_grams", is_flag=True, help="Grams of every species too.")
@answers
def account(
    since: datetime | None, until: datetime | None, in_grams: bool, as_json: bool, book: Path | None, at: datetime | None
) -> None:
    """Where every litre went; litres and grams of metal that are missing."""
    from bathkeeper.accounts.litres import balance_l
    from bathkeeper.workshop import now

    if until is not None and at is not None:
        raise click.UsageError("--until and --at say the same: give one of them")
    end = until or at or now()
    if since is not None and since > end:
        raise click.UsageError(f"--since lies behind the end of the account ({end:%Y-%m-%d %H:%M}); give an earlier moment")
    workshop, ledger = _open(book)
    told = ledger.account(since, end)
    grams = ledger.grams(end, since) if in_grams else None
    missing = ledger.missing(end, since, every=in_grams)
    if as_json:
        answer_json({
            "book": str(workshop.book.path), "since": since, "until": end, "account": told, "left_over_l": balance_l(told),
            "unaccounted_g": missing, "grams": grams,
        })  # fmt: skip
    else:
        from bathkeeper.cli.waste_text import account_text, grams_text, missing_text

        answer(account_text(told, since, end, workshop.preferences))
        answer(["", *missing_text(missing, workshop.preferences)])
        if grams is not None:
            answer(["", *grams_text(grams)])
    tell_damage(workshop)


@verb.command("apart")
@answers
def apart(as_json: bool, book: Path | None, at: datetime | None) -> None:
    """Pairs of containers that must not meet."""
    workshop, ledger = _open(book)
    pairs = ledger.keep_apart(at)
    first = ledger.ask_first()
    if as_json:
        answer_json({"must_not_meet": pairs, "ask_first": first})
    else:
        from bathkeeper.cli.waste_text import apart_text, ending

        answer([*apart_text(pairs), *ending(first)])
    tell_damage(workshop)


@verb.command("rules")
@answers
def rules(as_json: bool, book: Path | None, at: datetime | None) -> None:
    """The rules read for this place: routes, limits, papers.

    By the workshop's country and region (`settings country=… region=…`). Lines without a source say that they are from memory
    or common practice. Your own `waste limit` definitions win over them: what = "storage", "allowance" or "discharge". Two more
    say which of the limits read holds: what = "elsewhere", with containers = […] and since = "2027-05-01", for what stands at
    another place of yours than where it was made; what = "far" where whoever takes it is 200 miles (322 km) or more away.
    """
    workshop, ledger = _open(book)
    found, own = ledger.rules(), ledger.own_limits()
    from bathkeeper.cli.waste_reference import own_limits_text, rules_plain, rules_text
    from bathkeeper.cli.waste_text import ending

    if as_json:
        answer_json({**rules_plain(found), "keeper": ledger.keeper, "own_limits": own, "ask_first": ledger.ask_first()})
    else:
        answer([*rules_text(found, ledger.keeper), *own_limits_text(own), *ending(ledger.ask_first())])
    tell_damage(workshop)


@verb.command("codes")
@click.argument("container", metavar="CONTAINER|TANK")
@answers
def codes(container: str, as_json: bool, book: Path | None, at: datetime | None) -> None:
    """Codes and hazards that come into question, never final."""
    workshop, ledger = _open(book)
    found, hazards = ledger.candidates(container, at), ledger.properties(container, at)
    rule_set, first = ledger.rules(), ledger.ask_first()
    if as_json:
        answer_json({
            "container": container, "rule_set": rule_set.name, "rule_set_date": rule_set.date, "candidates": found,
            "properties": hazards, "ask_first": first,
        })  # fmt: skip
    else:
        from bathkeeper.cli.waste_reference import codes_text
        from bathkeeper.cli.waste_text import ending

        answer([*codes_text(container, found, hazards, rule_set), *ending(first)])
    tell_damage(workshop)


@verb.command("compare")
@click.argument("container", metavar="CONTAINER|TANK")
@answers
def compare(container: str, as_json: bool, book: Path | None, at: datetime | None) -> None:
    """Contents beside discharge limits; a comparison, no leave."""
    workshop, ledger = _open(book)
    rows = ledger.compared(container, at)
    rule_set, first = ledger.rules(), ledger.ask_first()
    if as_json:
        answer_json({
            "container": container, "rule_set": rule_set.name, "rule_set_date": rule_set.date, "compared": rows,
            "ask_first": first,
        })  # fmt: skip
    else:
        from bathkeeper.cli.waste_reference import compared_text
        from bathkeeper.cli.waste_text import ending

        answer([*compared_text(container, rows, rule_set), *ending(first)])
    tell_damage(workshop)


@verb.command("handed")
@answers
def handed(as_json: bool, book: Path | None, at: datetime | None) -> None:
    """What was handed over: papers, receipts, how long to keep."""
    workshop, ledger = _open(book)
    found: list[Any] = ledger.hand_overs(at)
    if as_json:
        answer_json({"handed_over": found, "ask_first": ledger.ask_first()})
    else:
        from bathkeeper.cli.waste_text import ending, handed_text

        answer(handed_text(found, workshop.preferences))
        if found:
            answer(ending(ledger.ask_first()))
        else:
            say('Nothing was handed over yet. For example: bathkeeper log container drum-1 handed-over all to="county depot"')
    tell_damage(workshop)


def _ph(text: str, workshop: Workshop) -> float:
    """A pH as a person types it. Raises UnitError."""
    from bathkeeper.units.door import UnitError, number

    found = number(text, workshop.preferences)
    if not 0 <= found <= 14:
        raise UnitError(f"--ph {found:g} is no pH of a solution in water; write one from 0 to 14, for example 9.5")
    return found
