"""The verb ``dose``: a plan for a tank, accepted, ticked off step by step, or given up."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from bathkeeper.cli.options import answers, open_workshop, tell_damage, when_option
from bathkeeper.cli.talk import answer, answer_json, say

if TYPE_CHECKING:
    from bathkeeper.counsel import Counsel, Offer, Ticked

TREATMENTS = ("peroxide", "carbon", "zinc dust", "dummy")


@click.command("dose")
@click.argument("tank")
@click.argument("words", nargs=-1)
@click.option("--make-up", "make_up", is_flag=True, help="A plan for filling it fresh, by its recipe.")
@click.option("--refresh", is_flag=True, help="A plan for bringing a side tank back to its strength when fresh.")
@click.option("--treat", type=click.Choice(TREATMENTS), help="A treatment as a plan.")
@click.option("--jar", metavar="SAMPLE,USED,STRENGTH", help="A pH dose from a jar test: mL of bath, mL of titrant, its mol/L.")
@click.option("--peroxide", metavar="NAME", help='With --treat peroxide: what was bought, such as "hydrogen peroxide 12%".')
@click.option("--sheet", metavar="AREA", help="With --treat dummy: the area of the sheet, such as 4dm2.")
@click.option("--volume", metavar="VOLUME", help="With --make-up: how much, if not the working volume.")
@click.option("--no-rinse", "no_rinse", is_flag=True, help="Take no water from the still rinse behind the tank.")
@click.option("--accept", is_flag=True, help="Write the plan, so that its steps can be ticked off.")
@click.option("--nearest", is_flag=True, help="Where no plan meets every limit: the one that breaks them least.")
@click.option("--open", "opened", is_flag=True, help="The open plan of the tank (or of that id), and how far it is.")
@click.option("--tick", type=click.IntRange(1), metavar="STEP", help="Do a step of the open plan; WORDS say what was done.")
@click.option("--note", metavar="TEXT", help="With --tick: what else there is to say, or why nothing was measured.")
@click.option("--to", metavar="PLACE", help="With --tick of what is taken out: the container that it went to.")
@click.option("--drop", metavar="REASON", help="Give the open plan up.")
@when_option
@answers
def verb(
    tank: str, words: tuple[str, ...], make_up: bool, refresh: bool, treat: str | None, jar: str | None, peroxide: str | None,
    sheet: str | None, volume: str | None, no_rinse: bool, accept: bool, nearest: bool, opened: bool, tick: int | None,
    note: str | None, to: str | None, drop: str | None, when: datetime | None, as_json: bool, book: Path | None,
    at: datetime | None,
) -> None:  # fmt: skip
    """What to put in, step by step; accept and tick off.

    Nothing is written without --accept, --tick or --drop. TANK may be a plan's id for --open, --tick and --drop. A tick takes
    what was really weighed ("dose electrolyte --tick 3 118g") or read ("dose electrolyte --tick 1 zinc=31g/L"). `why
    PLANID.STEP` tells what a step rests on.
    """
    from bathkeeper.counsel import Counsel

    workshop = open_workshop(book)
    counsel = Counsel(workshop)
    if words and tick is None:
        raise click.UsageError(f"`{words[0]}` is left over; what was weighed or read belongs to --tick STEP")
    if opened or drop is not None:
        if drop is not None:
            tell_damage(workshop)
        plan = counsel.drop(tank, drop, when) if drop is not None else counsel.plan_of(tank, at)
        _tell_plan(plan, as_json)
    elif tick is not None:
        tell_damage(workshop)
        _tell_tick(_ticked(counsel, tank, tick, words, note, to, when), as_json)
    else:
        kinds = [k for k, said in (("make up", make_up), ("refresh", refresh), (treat or "", treat), ("jar", jar)) if said]
        if len(kinds) > 1:
            raise click.UsageError("a plan is for one thing: choose one of --make-up, --refresh, --treat, --jar")
        moment = when if accept and when is not None else at
        offer = _offered(counsel, tank, kinds[0] if kinds else "dose", jar, peroxide, sheet, volume, not no_rinse, moment)
        if nearest and offer.nearest is not None:
            offer = offer.nearest
        _tell_offer(counsel, offer, accept, when, as_json)
    tell_damage(workshop)


def _offered(
    counsel: Counsel, tank: str, kind: Any, jar: str | None, peroxide: str | None, sheet: str | None, volume: str | None,
    rinse: bool, at: datetime | None,
) -> Offer:  # fmt: skip
    from bathkeeper.units.door import understand

    prefs = counsel.workshop.preferences
    if jar is not None:
        return counsel.jar(tank, *_jar(jar, counsel), at=at)
    area = understand(sheet, "area", prefs).value if sheet is not None else None
    litres = understand(volume, "volume", prefs).value if volume is not None else None
    return counsel.plan(tank, kind, peroxide=peroxide, cathode_dm2=area, volume_l=litres, rinse=rinse, at=at)


def _jar(text: str, counsel: Counsel) -> tuple[float, float, float]:
    from bathkeeper.units.door import number, understand

    parts = [p.strip() for p in text.split(";" if ";" in text else ",")]
    if len(parts) != 3:
        raise click.UsageError("--jar takes three values: bath, titrant used, its strength; for example 100mL;6.0mL;0.1")
    prefs = counsel.workshop.preferences
    bath, used = (understand(p if p[-1:].isalpha() else f"{p} mL", "volume", prefs).value * 1000 for p in parts[:2])
    return bath, used, number(parts[2].rstrip("NnM ").removesuffix("mol/L"), prefs)


def _ticked(
    counsel: Counsel, plan: str, step: int, words: Sequence[str], note: str | None, to: str | None, when: datetime | None
) -> Ticked:
    """Ticks a step off; words are an amount, or values that were read."""
    found = counsel.plan_of(plan)
    own = found.steps[step - 1].step if step <= len(found.steps) else None
    if own is not None and own.action == "measure" and words:
        from bathkeeper.phrases import compose
        from bathkeeper.workshop import now

        raw = compose("reading", [found.tank, *words], counsel.workshop.vocabulary, when or now()).raw
        return counsel.tick(found.id, step, values=raw["values"], note=note or raw.get("note"), at=when)
    amount = None
    if words:
        from bathkeeper.units.door import UnitError, understand

        text, unit = " ".join(words), own.unit if own is not None else None
        kind = {"g": "mass", "mL": "volume", "L": "volume", "Ah": "charge", "min": "time", "h": "time"}.get(unit or "")
        if kind is None:
            raise UnitError(f"step {step} has no amount; put what there is to say into --note")
        value = understand(text if text[-1:].isalpha() else f"{text} {unit}", kind, counsel.workshop.preferences).value
        amount = float(f"{value * (1000.0 if unit == 'mL' else 1 / 60 if unit == 'h' else 1.0):.12g}")
    return counsel.tick(found.id, step, amount=amount, note=note, to=to, at=when)


def _tell_offer(counsel: Counsel, offer: Offer, accept: bool, when: datetime | None, as_json: bool) -> None:
    from bathkeeper.cli.advice_text import offer_plain, offer_text

    accepted = counsel.accept(offer, when) if accept else None
    if as_json:
        answer_json({**offer_plain(offer), "accepted": accepted.plan.id if accepted is not None else None})
        return
    answer(offer_text(offer, counsel.workshop.preferences))
    near = offer.nearest
    if near is not None:
        answer(["", "nearest that there is (--nearest):", *offer_text(near, counsel.workshop.preferences)])
    if accepted is not None:
        say(f"Accepted as {accepted.plan.id}. Next: bathkeeper dose {offer.tank} --tick 1")
        if accepted.ended is not None:
            say(f"It takes the place of the plan {accepted.ended.id[-8:]}.")
    elif offer.steps:
        say("Nothing was written; --accept makes it a plan to tick off.")
    for plan in counsel.open_plans(tank=offer.tank) if accepted is None else []:
        say(f"There is an open plan already ({plan.purpose}, {plan.id[-8:]}): dose {plan.id[-8:]} --open")


def _tell_plan(plan: Any, as_json: bool) -> None:
    from bathkeeper.cli.advice_text import plan_plain, plan_text

    if as_json:
        answer_json(plan_plain(plan))
    else:
        answer(plan_text(plan))


def _tell_tick(ticked: Ticked, as_json: bool) -> None:
    from bathkeeper.cli.advice_text import paragraphs, plan_plain, what_of

    if as_json:
        out = list(ticked.recheck.still_out) if ticked.recheck is not None else []
        answer_json({
            "entry": ticked.entry, "changes": ticked.changes, "lines": ticked.lines, "still_out": out,
            "plan": plan_plain(ticked.plan),
        })  # fmt: skip
        return
    answer([*paragraphs(ticked.changes), f"Written as {ticked.entry.id}"])
    say(*ticked.lines)
    if ticked.plan.next is not None:
        step = ticked.plan.next.step
        say(f"Next is step {step.step}: {what_of(step)}{f' ({step.why})' if step.action in ('wait', 'check') else ''}")
        if step.caution:
            say(f"Take care: {step.caution}")
