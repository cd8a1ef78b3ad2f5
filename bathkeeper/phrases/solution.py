"""What goes into a tank and comes out of it, in words: additions, make-ups, removals."""

from __future__ import annotations

from typing import Any

from bathkeeper.catalogue.loader import CatalogueError
from bathkeeper.catalogue.schema import Reagent
from bathkeeper.entries import RESERVED_PLACES
from bathkeeper.phrases.plans import does_a_step
from bathkeeper.phrases.reading import species_kind
from bathkeeper.phrases.words import (
    Form,
    PhraseError,
    a_name,
    match,
    near,
    not_empty,
    option,
    split_spread,
    unknown_key,
    yes_no,
)
from bathkeeper.refusals import shorten
from bathkeeper.units.door import figures

ADDITION = 'addition electrolyte "zinc chloride=120 g" water=2L'
MAKE_UP = "make_up electrolyte volume=40L zinc=32g/L nickel=24g/L"
REMOVAL = "removal pickle all to=drum-1"
_AMOUNTS: dict[str, tuple[str, ...]] = {
    "solid": ("mass",),
    "liquid": ("mass", "volume"),
    "additive": ("volume",),
    "water": ("volume", "mass"),
}


def compose_addition(form: Form, words: list[str]) -> None:
    """``electrolyte "zinc chloride=120 g" water=2L``; the amount stands behind the last ``=``. Raises PhraseError."""
    form.leading_tank(words, ADDITION)
    items: list[dict[str, Any]] = []
    for word in words:
        name, text = _reagent_word(word)
        if name == "lot":
            if not items:
                raise PhraseError(
                    f'lot: write it behind the reagent that it belongs to, as in "zinc chloride=120 g" lot={shorten(text)}'
                )
            items[-1]["lot"] = a_name("lot", text)
        elif not (form.common(name, text) or does_a_step(form, name, text)):
            items.append(item(form, form.vocabulary.reagent(name), name, text))
    if items:
        form.fields["items"] = items
    elif form.start is None:
        raise PhraseError(f"an addition needs at least one reagent with its amount; write for example {ADDITION}")


def _reagent_word(word: str) -> tuple[str, str]:
    sides = option(word, last=True)
    if sides is None:
        raise PhraseError(
            f'`{shorten(word)}` has no amount; write for example "{shorten(word)}=120 g" (quotes keep the words together)'
        )
    return sides


def item(form: Form, reagent: Reagent, key: str, text: str) -> dict[str, Any]:
    """An amount in the unit that entries keep: g, mL, or L of water."""
    not_empty(key, text)
    if split_spread(text)[1]:
        raise PhraseError(f"{key}: a spread cannot be kept with an amount; write {key}={split_spread(text)[0]}")
    kinds = _AMOUNTS[reagent.form]
    understood, _ = form.quantity(key, text, kinds)
    amount, unit = understood.value, understood.unit
    if understood.value <= 0:
        raise PhraseError(f"{key}: an amount of {shorten(text)} is nothing; leave it out, or write how much")
    if reagent.form == "water" and understood.kind == "mass":
        amount, unit = understood.value / 1000, "L"  # one kilogram of water is a litre within half a percent
    elif understood.kind == "volume" and reagent.form != "water":
        amount, unit = understood.value * 1000, "mL"
    amount = float(f"{amount:.12g}")
    echo = (
        understood.echo
        if unit == understood.unit
        else f"{figures(amount)} {unit}" + (f" ({shorten(text)})" if unit not in text else "")
    )
    form.understood.append(f"{reagent.name} {echo}")
    return {"reagent": reagent.name, "amount": amount, "unit": unit}


def compose_make_up(form: Form, words: list[str]) -> None:
    """``electrolyte volume=40L zinc=32g/L``, and reagents weighed in: ``"nickel chloride hexahydrate=3.9 kg"``.

    Raises PhraseError."""
    tank = form.leading_tank(words, MAKE_UP)
    contents: dict[str, float] = {}
    reagents: list[dict[str, Any]] = []
    for word in words:
        key, text = _reagent_word(word)
        if key == "volume":
            form.put("volume_l", key, text, "volume")
        elif key == "temperature":
            form.put("temperature_c", key, text, "temperature")
        elif key == "lot" and reagents:
            reagents[-1]["lot"] = a_name("lot", text)
        elif not form.common(key, text):
            _content(form, tank.name, key, text, contents, reagents)
    if contents:
        form.fields["contents"] = contents
    if reagents:
        form.fields["reagents"] = reagents
    if "volume_l" not in form.fields and form.start is None:
        if tank.working_volume_l is None:
            raise PhraseError(f"make_up: how much was filled in? Write for example {MAKE_UP}")
        form.fields["volume_l"] = tank.working_volume_l
        form.understood.append(f"volume {figures(tank.working_volume_l)} L (the tank's working volume)")


def _content(form: Form, tank: str, key: str, text: str, contents: dict[str, float], reagents: list[dict[str, Any]]) -> None:
    """A species by its concentration, or a reagent by its amount: the unit tells which."""
    species = form.vocabulary.species(tank)
    name = match(key, species) or _by_symbol(form, key, species)
    reagent, trouble = None, ""
    try:
        reagent = form.vocabulary.catalogue.reagent(key)
    except CatalogueError as problem:
        trouble = str(problem)
    if name is None and reagent is None:
        if "several strengths" in trouble:
            raise PhraseError(trouble)
        names = ["volume", "temperature", *species, *form.vocabulary.catalogue.reagents]
        raise PhraseError(f"make_up: `{shorten(key)}` is neither in the recipe of {tank} nor a reagent{near(key, names)}")
    kinds: tuple[str, ...] = ()
    context: dict[str, float | None] = {}
    if name is not None:
        kinds, context = species_kind(form, tank, name, None)
    if reagent is not None:
        kinds = (*kinds, *_AMOUNTS[reagent.form], *(("concentration",) if reagent.form == "solid" and name is None else ()))
    understood, spread = form.quantity(key, text, kinds, **context)
    if spread is not None:
        raise PhraseError(f"{key}: a spread cannot be kept in a make-up; log a reading of the fresh bath for that")
    if reagent is not None and understood.kind in ("mass", "volume"):
        reagents.append(item(form, reagent, key, text))
        return
    if name is None:
        assert reagent is not None
        volume = float(form.fields.get("volume_l") or form.vocabulary.tank(tank).working_volume_l or 0.0)
        if volume <= 0:
            raise PhraseError(f"{key}: say the volume first, as in volume=20L, or give the mass that was weighed in")
        grams = understood.value * volume
        reagents.append({"reagent": reagent.name, "amount": grams, "unit": "g"})
        form.understood.append(f"{reagent.name} {understood.echo} in {figures(volume)} L: {figures(grams)} g")
        return
    contents[name] = understood.value
    form.understood.append(f"{name} {understood.echo}")


def _by_symbol(form: Form, key: str, species: object) -> str | None:
    metal = form.vocabulary.metal(key)
    return metal.name if metal is not None and metal.name in (species or ()) else None  # type: ignore[operator]


def compose_removal(form: Form, words: list[str]) -> None:
    """``pickle all to=drum-1`` or ``electrolyte volume=0.5L to=sample``. Raises PhraseError."""
    tank = form.leading_tank(words, REMOVAL)
    for word in words:
        sides = option(word)
        if sides is None:
            if word.casefold() in ("all", "everything"):
                form.fields["all"] = True
                form.understood.append("all of it")
            elif word in RESERVED_PLACES:
                form.fields["to"] = word
            else:
                form.put("volume_l", "volume", word, "volume")
        elif sides[0] == "all":
            form.fields["all"] = yes_no(*sides)
        elif sides[0] == "volume":
            form.put("volume_l", *sides, "volume")
        elif sides[0] in ("to", "consent"):
            form.fields[sides[0]] = a_name(sides[0], sides[1])
            form.understood.append(f"{sides[0]} {sides[1]}")
        elif sides[0] == "why":
            form.fields["why"] = not_empty(*sides)
            form.understood.append(f"why {sides[1]}")
        elif not (form.common(*sides) or does_a_step(form, *sides)):
            raise unknown_key(sides[0], ("volume", "all", "to", "consent", "why", "plan", "step", "note", "by"), "removal")
    if form.fields.get("to") == "sewer" and not form.fields.get("consent") and form.start is None:
        raise PhraseError(
            'to=sewer needs the reference of the consent that allows it; write consent="…", or a container: to=drum-1'
        )
    if form.start is None and "all" not in form.fields and "volume_l" not in form.fields:
        raise PhraseError(f"removal: how much was taken out of {tank.name}? Write for example {REMOVAL}, or volume=0.5L")
    if form.fields.get("all") and "volume_l" in form.fields:
        raise PhraseError("removal: `all` and a volume are two answers to one question; write only one of them")
