"""What is typed in one line about a plan, the shelf, or something put off: amounts, readings, a place, a reason."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any

from bathkeeper.catalogue.loader import Catalogue, CatalogueError
from bathkeeper.entries import PlanStep
from bathkeeper.moments import moment
from bathkeeper.phrases import PhraseError, Vocabulary, compose
from bathkeeper.tui.field import with_unit
from bathkeeper.units.door import UnitError, figures, understand
from bathkeeper.units.numerals import Preferences

PUT_OFF_DAYS = 7.0  # when only a reason is typed
LONGEST_DAYS = 3650.0
DAYS = {"d": 1.0, "day": 1.0, "days": 1.0, "w": 7.0, "week": 7.0, "weeks": 7.0, "month": 30.0, "months": 30.0}
KIND_OF = {"g": "mass", "mL": "volume", "L": "volume", "Ah": "charge", "min": "time", "h": "time", "A": "current"}
"""Unit of a step -> the kind of quantity it is."""
PER = {"mL": 0.001, "h": 60.0}
"""Unit of a step -> how many of its kind's fixed unit it is, where that is not one."""
EXTRA = re.compile(r"\s*[,;]?\s*\b(price|lot|purity|spread)\s*=\s*", re.IGNORECASE)


class SaidError(ValueError):
    """What was not understood, and what would be right."""


@dataclass(frozen=True)
class Done:
    """What a line says of a step: the amount really weighed (None: as planned), what was read, a note, where it went."""

    amount: float | None = None
    values: tuple[Mapping[str, Any], ...] = ()
    note: str | None = None
    to: str | None = None
    echo: str = ""


@dataclass(frozen=True)
class Manner:
    """What is known where a line is typed: habits of writing numbers, words, the unit of each content of the tank, where
    solution may go."""

    prefs: Preferences
    vocabulary: Vocabulary
    units: Mapping[str, str] = field(default_factory=dict)
    places: tuple[str, ...] = ()


def step_done(text: str, step: PlanStep, tank: str, manner: Manner, now: datetime) -> Done:
    """What a line says of a step that is done; nothing typed means as planned.

    Raises:
        SaidError: no amount, reading or place could be read in it.
    """
    body, _, note = (part.strip() for part in text.partition(";"))
    if step.action == "measure":
        return _measured(body, note, step, tank, manner, now)
    if step.amount is None or step.unit is None or step.action in ("wait", "check"):
        said = "; ".join(part for part in (body, note) if part)
        return Done(note=said or None, echo=f"done: {said}" if said else "done")
    to = None
    if step.action == "remove":
        body, to = _place(body, manner)
    amount = _amount(body, step, manner.prefs) if body else None
    echo = f"{figures(amount if amount is not None else step.amount)} {step.unit}"
    echo += (
        " as planned" if amount is None else f" in place of {figures(step.amount)} {step.unit}" if amount != step.amount else ""
    )
    echo += f", into {to}" if to else ""
    return Done(amount, (), note or None, to, echo + (f"; {note}" if note else ""))


def _place(body: str, manner: Manner) -> tuple[str, str | None]:
    found = re.fullmatch(r"(?P<much>.*?)\s*(?:^|\s)(?:to|into)\s+(?P<place>.+)", body, re.IGNORECASE)
    if found is None:
        return body, None
    place = found["place"].strip()
    known = next((p for p in manner.places if p.casefold() == place.casefold()), None)
    return found["much"].strip(), known or place


def _amount(text: str, step: PlanStep, prefs: Preferences) -> float:
    unit = str(step.unit)
    try:
        found = understand(with_unit(text, unit), KIND_OF[unit], prefs)
    except UnitError as problem:
        raise SaidError(f"{problem}; for example {figures(step.amount or 1.0)} {unit}") from None
    if found.value <= 0:
        raise SaidError(f"an amount above 0 {unit} is wanted; where nothing was given, leave the step or give the plan up")
    return float(f"{found.value / PER.get(unit, 1.0):.12g}")


def _measured(body: str, note: str, step: PlanStep, tank: str, manner: Manner, now: datetime) -> Done:
    if not body and not note:
        raise SaidError(f"say what {step.of or 'it'} read, or in words why nothing was measured")
    if "=" not in body and not any(c.isdigit() for c in body) and step.of != "panel":
        said = "; ".join(part for part in (body, note) if part)
        return Done(note=said, echo=f"nothing measured: {said}")
    words = re.split(r"\s+(?=\S+=)", body) if "=" in body else [f"{step.of}={body}"]
    try:
        made = compose("reading", [tank, *(_with_own_unit(w, manner) for w in words)], manner.vocabulary, now)
    except PhraseError as problem:
        raise SaidError(str(problem)) from None
    return Done(values=tuple(made.raw.get("values", ())), note=note or None, echo="; ".join(made.understood))


def _with_own_unit(word: str, manner: Manner) -> str:
    name, _, value = word.partition("=")
    return f"{name}={with_unit(value.strip(), manner.units.get(name.strip(), '').replace('fraction', ''))}"


@dataclass(frozen=True)
class PutOff:
    """Until when something due is put off, and why."""

    until: datetime
    reason: str
    echo: str


def put_off(text: str, now: datetime) -> PutOff:
    """``14d waiting for salts``, ``2 weeks …``, ``2026-07-01 …``; a reason alone is a week.

    Raises:
        SaidError: no reason, a moment that is past, or farther than ten years.
    """
    words = text.strip()
    until, reason = now + timedelta(days=PUT_OFF_DAYS), words
    span = re.match(r"(\d+(?:[.,]\d+)?)\s*([a-z]+)\b[:,]?\s*", words, re.IGNORECASE)
    day = re.match(r"(\d{4}-\d{2}-\d{2}(?:T\d{2}:\d{2})?)[:,]?\s*", words)
    if day is not None:
        try:
            until, reason = moment(day[1], now), words[day.end() :]
        except ValueError as problem:
            raise SaidError(str(problem)) from None
    elif span is not None and span[2].casefold() in DAYS:
        days = float(span[1].replace(",", ".")) * DAYS[span[2].casefold()]
        if not 0 < days <= LONGEST_DAYS:
            raise SaidError("put it off for more than 0 and up to ten years, for example 14d")
        until, reason = now + timedelta(days=days), words[span.end() :]
    if not reason.strip():
        raise SaidError("say why, for example 14d waiting for the salts")
    if until <= now:
        raise SaidError(f"{until:%d %b %Y} is past; say until when, for example 14d or {now + timedelta(days=14):%Y-%m-%d}")
    return PutOff(until, reason.strip(), f"until {until:%d %b %Y}, because: {reason.strip()}")


@dataclass(frozen=True)
class Stocked:
    """An entry about the shelf, without its moment, and what was understood."""

    raw: dict[str, Any]
    echo: str


def stocked(
    text: str,
    action: str,
    own: tuple[str, str, str] | None,
    shelves: Mapping[str, str],
    catalogue: Catalogue,
    prefs: Preferences,
) -> Stocked:
    """``zinc chloride=5 kg price=32 lot=A17``; the name may be left out where the cursor is on it.

    ``own``: (name, unit, what) of the thing under the cursor; ``shelves``: name -> what (reagent, anode, titrant) of what is on
    the shelf already.

    Raises:
        SaidError: no amount, a name that nobody knows, or a detail that cannot be.
    """
    parts = EXTRA.split(text.strip())
    head, extras = (
        parts[0].strip(),
        dict(zip((k.casefold() for k in parts[1::2]), (v.strip() for v in parts[2::2]), strict=True)),
    )
    name, _, amount_text = (p.strip() for p in head.rpartition("="))
    if not amount_text:
        raise SaidError("how much? for example 5 kg, or zinc chloride=5 kg price=32 lot=A17")
    if name:
        name, what, unit = _thing(name, shelves, catalogue, own)
    elif own is not None:
        name, unit, what = own
    else:
        raise SaidError(f"which? write its name before the amount: zinc chloride={amount_text}")
    amount, unit = _stock_amount(amount_text, unit, prefs)
    raw: dict[str, Any] = {
        "kind": "stock", "reagent": name.removesuffix(" anode") if what == "anode" else name, "action": action,
        "amount": amount, "unit": unit, "what": what,
    }  # fmt: skip
    echo = f"{action}: {figures(amount)} {unit} {name}"
    for key, value in extras.items():
        raw[key], told = _detail(key, value, action, unit, prefs)
        echo += f", {told}"
    return Stocked(raw, echo)


def _thing(
    name: str, shelves: Mapping[str, str], catalogue: Catalogue, own: tuple[str, str, str] | None
) -> tuple[str, str, str]:
    """(name, what, unit of a number alone)."""
    kept = next((n for n in shelves if n.casefold() == name.casefold()), None)
    if kept is not None and own is not None and own[0] == kept:
        return kept, own[2], own[1]
    if kept is not None and shelves[kept] != "reagent":
        return kept, shelves[kept], "g"
    metal = name.casefold().removesuffix(" anode").removesuffix(" anodes")
    if metal != name.casefold():
        if metal not in catalogue.metals:
            raise SaidError(f"no metal is called `{metal}`; there are {', '.join(catalogue.metals)}")
        return f"{metal} anode", "anode", "g"
    try:
        reagent = catalogue.reagent(name)
    except CatalogueError as problem:
        if kept is not None:
            return kept, "reagent", "g"
        raise SaidError(str(problem)) from None
    return reagent.name, "reagent", "g" if reagent.form == "solid" else "mL"


def _stock_amount(text: str, unit: str, prefs: Preferences) -> tuple[float, str]:
    try:
        found = understand(with_unit(text, unit), ("mass", "volume"), prefs)
    except UnitError as problem:
        raise SaidError(f"{problem}; for example 5 kg or 2.5 L") from None
    return (found.value, "g") if found.kind == "mass" else (float(f"{found.value * 1000:.12g}"), "mL")


def _detail(key: str, text: str, action: str, unit: str, prefs: Preferences) -> tuple[Any, str]:
    if not text:
        raise SaidError(f"{key} has nothing behind its =; leave it out, or write for example {key}=12")
    if key == "lot":
        return text, f"lot {text}"
    if key == "price" and action != "bought":
        raise SaidError("a price belongs to what was bought")
    if key == "spread":
        value, own = _stock_amount(text, unit, prefs)
        if own != unit:
            raise SaidError(f"the spread has to be of the same kind as the amount, so in {unit}")
        return value, f"give or take {figures(value)} {unit}"
    share = key == "purity" and text.endswith("%")
    try:
        value = float(text.removesuffix("%").strip().replace(",", ".")) / (100.0 if share else 1.0)
    except ValueError:
        raise SaidError(f"{key}={text} is no number; write for example {key}={'97%' if key == 'purity' else '32.50'}") from None
    if key == "purity" and not 0 < value <= 1:
        raise SaidError(f"a purity is above 0 and up to 100 %, got {text}")
    if value < 0:
        raise SaidError(f"a price cannot be below 0, got {text}")
    return value, f"purity {value:.0%}" if key == "purity" else f"price {value:g}"
