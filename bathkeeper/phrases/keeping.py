"""What a keeper keeps beside the tanks, in words: the shelf, an accepted plan, something due that is put off."""

from __future__ import annotations

import re
from datetime import datetime
from typing import Any

from bathkeeper.catalogue.schema import Reagent
from bathkeeper.entries import PlanAction
from bathkeeper.entries.kept import PURPOSES
from bathkeeper.moments import moment
from bathkeeper.phrases.words import Form, PhraseError, a_name, choice, keyed, not_empty, option, unknown_key
from bathkeeper.refusals import shorten
from bathkeeper.units.door import UnitError, figures, number, understand

STOCK = 'stock "zinc chloride" bought=1kg price=12.50'
PLAN = 'plan electrolyte purpose=dose "add zinc chloride=120 g" "measure zinc"'
SNOOZE = 'snooze electrolyte.low.nickel days=14 reason="salt is on order"'
_MOVES = ("bought", "counted", "discarded")
_THINGS = ("reagent", "anode", "titrant")
_ACTIONS: tuple[PlanAction, ...] = ("measure", "add", "remove", "wait", "check", "plate")
_KINDS = {"add": ("mass", "volume"), "remove": ("volume",), "wait": ("time",), "plate": ("charge",)}


def compose_stock(form: Form, words: list[str]) -> None:
    """``"zinc chloride" bought=1kg price=12.50 lot=7 purity=97%``, ``"zinc chloride" counted=350g``, ``nickel what=anode
    bought=2kg``. Raises PhraseError."""
    if words and option(words[0]) is None:
        form.fields["reagent"] = a_name("reagent", words.pop(0))
    told = dict(keyed(w, STOCK) for w in words)
    if "reagent" in told:
        form.fields["reagent"] = a_name("reagent", told.pop("reagent"))
    if "what" in told:
        form.fields["what"] = choice("what", told.pop("what"), _THINGS)
    what = form.fields.get("what") or (form.start or {}).get("what") or "reagent"
    name = form.fields.get("reagent")
    if name is None and form.start is None:
        raise PhraseError(f"stock: what is it? Write its name first, for example {STOCK}")
    reagent = _named(form, str(name), what) if name is not None else None
    moves = [m for m in _MOVES if m in told]
    if len(moves) > 1:
        raise PhraseError(f"stock: {' and '.join(moves)} are two entries; log one after the other")
    for key, text in told.items():
        if key in _MOVES:
            _amount(form, key, text, reagent)
        elif key == "price":
            form.fields["price"] = _price(form, text)
        elif key == "lot":
            form.fields["lot"] = a_name("lot", text)
        elif key == "purity":
            form.put("purity", key, text, "fraction")
        elif key == "spread":
            value, _ = form.quantity(key, text, ("mass", "volume"))
            form.fields["spread"] = value.value * (1000 if value.kind == "volume" else 1)
        elif not form.common(key, text):
            raise unknown_key(key, (*_MOVES, "what", "price", "lot", "purity", "spread", "note", "by"), "stock")
    if form.start is None and not moves:
        raise PhraseError(f"stock: what happened? Write bought=, counted= or discarded=, for example {STOCK}")


def _named(form: Form, name: str, what: str) -> Reagent | None:
    """The reagent behind a name, put into the form by its own; anodes are named by their metal, titrants as they are."""
    if what == "anode":
        metal = form.vocabulary.metal(name.removesuffix(" anode"))
        if metal is None:
            raise PhraseError(f"stock: an anode is named by its metal; `{shorten(name)}` is none that is known")
        form.fields["reagent"] = metal.name
        form.understood.append(f"{metal.name} anode")
        return None
    if what == "titrant":
        form.understood.append(f"titrant {name}")
        return None
    reagent = form.vocabulary.reagent(name)
    form.fields["reagent"] = reagent.name
    form.understood.append(reagent.title or reagent.name)
    return reagent


def _amount(form: Form, key: str, text: str, reagent: Reagent | None) -> None:
    not_empty(key, text)
    kinds = ("mass",) if reagent is not None and reagent.form == "solid" else ("mass", "volume")
    value, _ = form.quantity(key, text, kinds)
    if value.value < 0:
        raise PhraseError(f"{key}: {shorten(text)} is below nothing")
    form.fields["action"] = key
    form.fields["amount"] = float(f"{value.value * (1000 if value.kind == 'volume' else 1):.12g}")
    form.fields["unit"] = "mL" if value.kind == "volume" else "g"
    form.understood.append(f"{key} {value.echo}")


def _price(form: Form, text: str) -> float:
    """For all of it, in the workshop's currency. Raises PhraseError."""
    try:
        price = number(re.sub(r"^\s*[A-Za-z€$£¥]{1,3}\s*|\s*[A-Za-z€$£¥]{1,3}\s*$", "", text), form.prefs)
    except UnitError as problem:
        raise PhraseError(f"price: {problem}") from problem
    if price < 0:
        raise PhraseError(f"price: {shorten(text)} is below nothing; write what all of it cost, for example price=12.50")
    form.understood.append(f"price {figures(price)} for all of it")
    return float(price)


def compose_snooze(form: Form, words: list[str]) -> None:
    """``electrolyte.low.nickel until=2026-12-24 reason="salt is on order"``, or ``days=14``. Raises PhraseError."""
    if words and option(words[0]) is None:
        form.fields["finding"] = a_name("finding", words.pop(0))
    for word in words:
        key, text = keyed(word, SNOOZE)
        if key == "finding":
            form.fields["finding"] = a_name("finding", text)
        elif key == "until":
            form.fields["until"] = _until(form, text).isoformat()
        elif key == "days":
            form.fields["until"] = _in_days(form, text).isoformat()
        elif key == "reason":
            form.say("reason", key, text)
        elif not form.common(key, text):
            raise unknown_key(key, ("finding", "until", "days", "reason", "note", "by"), "snooze")
    if form.start is None:
        for name, right in (
            ("finding", "its id as `due` prints it"),
            ("until", "until=2026-12-24 or days=14"),
            ("reason", "why"),
        ):
            if name not in form.fields:
                raise PhraseError(f"snooze: {name} is missing ({right}); write for example {SNOOZE}")
        form.understood.append(f"put off until {form.fields['until'][:16].replace('T', ' ')}")


def _until(form: Form, text: str) -> datetime:
    try:
        return moment(text, form.at, end_of_day=True, order=form.prefs.date_order)
    except ValueError as problem:
        raise PhraseError(f"until: {problem}") from None


def _in_days(form: Form, text: str) -> datetime:
    from datetime import timedelta

    try:
        value = understand(text if re.search(r"[A-Za-z]", text) else f"{text} d", "time", form.prefs)
    except UnitError as problem:
        raise PhraseError(f"days: {problem}") from problem
    if not 0 < value.value <= 60 * 24 * 3660:
        raise PhraseError(f"days: {shorten(text)} cannot be meant; write for example days=14")
    return form.at + timedelta(minutes=value.value)


def compose_plan(form: Form, words: list[str]) -> None:
    """``electrolyte purpose=dose "add zinc chloride=120 g" "wait 1 h" "measure zinc"``: a plan of the keeper's own.

    Raises PhraseError."""
    form.leading_tank(words, PLAN)
    steps: list[dict[str, Any]] = []
    for word in words:
        action, _, rest = word.partition(" ")
        if action.casefold() in _ACTIONS:
            steps.append({"step": len(steps) + 1, **_step(form, action.casefold(), rest.strip())})
            continue
        key, text = keyed(word, PLAN)
        if key == "purpose":
            form.fields["purpose"] = choice(key, text, PURPOSES)
        elif key == "dropped":
            form.fields["dropped"] = not_empty(key, text)
        elif not form.common(key, text):
            raise unknown_key(key, ("purpose", "dropped", *_ACTIONS, "note", "by"), "plan")
    if steps:
        form.fields["steps"] = steps
    if form.start is None:
        form.fields.setdefault("purpose", "dose")
        if not steps and "dropped" not in form.fields:
            raise PhraseError(f"a plan needs at least one step; write for example {PLAN}")


def _step(form: Form, action: str, rest: str) -> dict[str, Any]:
    """``zinc chloride=120 g`` of an add, ``2 L`` of a remove, ``30 min`` of a wait, ``5 Ah`` of a plate; else words."""
    if action in ("measure", "check"):
        said = not_empty(action, rest)
        form.understood.append(f"{action} {said}")
        return {"action": action, **({"of": said} if action == "measure" else {"why": said})}
    name, sign, amount = rest.rpartition("=")
    if action == "add" and not sign:
        raise PhraseError(f'add: `{shorten(rest)}` has no amount; write for example "add zinc chloride=120 g"')
    value, _ = form.quantity(action, amount.strip(), _KINDS[action])
    form.typed.pop(action, None)
    made: dict[str, Any] = {"action": action}
    factor, unit = {"mass": (1.0, "g"), "volume": (1.0, "L"), "time": (1.0, "min"), "charge": (1.0, "Ah")}[value.kind]
    if action == "add":
        reagent = form.vocabulary.reagent(name.strip())
        made["reagent"] = reagent.name
        if value.kind == "volume" and reagent.form != "water":
            factor, unit = 1000.0, "mL"
    if value.value <= 0:
        raise PhraseError(f"{action}: {shorten(amount)} is nothing; leave the step out")
    form.understood.append(f"{action} {name.strip()} {value.echo}".replace("  ", " "))
    return {**made, "amount": float(f"{value.value * factor:.12g}"), "unit": unit}
