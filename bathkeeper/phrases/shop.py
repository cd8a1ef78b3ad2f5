"""The workshop, its tanks and its own definitions in words."""

from __future__ import annotations

import json
import re
import tomllib
from typing import Any

from bathkeeper.entries import DEFINABLE, ROLES
from bathkeeper.phrases.words import (
    Form,
    PhraseError,
    a_name,
    choice,
    keyed,
    near,
    not_empty,
    option,
    unknown_key,
    yes_no,
)
from bathkeeper.refusals import shorten
from bathkeeper.units.door import KINDS, Preferences, UnitError, in_unit, number, understand

TANK = "tank electrolyte role=plate recipe=zinc-nickel-chloride-potassium volume=40L order=6"
WORKSHOP = 'workshop "my workshop" gallon=us ounce=avoirdupois decimal_comma=no'
DEFINITION = 'definition reagent "my brightener" \'form = "additive"\' \'additive = "brightener"\''
_TANK_KEYS = ("name", "role", "recipe", "volume", "full", "surface", "order", "in_service", "level_table", "note", "by")
_WORKSHOP_KEYS = (
    "name",
    "gallon",
    "ounce",
    "decimal_comma",
    "date_order",
    "country",
    "region",
    "keeper",
    "scale",
    "embrittlement_rule",
    "currency",
    "address",
    "phone",
    "email",
    "site_code",
    "industry_code",
    "units.KIND",
    "note",
    "by",
)
_CHOICES = {
    "gallon": ("us", "imperial"),
    "ounce": ("avoirdupois", "troy", "fluid"),
    "date_order": ("ymd", "dmy", "mdy"),
    "keeper": ("household", "business"),
}
_AS_WRITTEN = (
    "country", "region", "embrittlement_rule", "currency", "address", "phone", "email", "site_code", "industry_code",
)  # fmt: skip
_FIELDS = {"scale": "scale_resolution_g"}
_SAME = {
    "working_volume": "volume",
    "full_volume": "full",
    "service": "in_service",
    "place": "order",
    "scale_resolution": "scale",
    "rule": "embrittlement_rule",
}


def _key(word: str) -> str:
    plain = word.strip().replace("-", "_")
    return _SAME.get(plain, plain)


def compose_tank(form: Form, words: list[str]) -> None:
    """``electrolyte role=plate recipe=… volume=40L full=45L surface=12dm2 order=6``. Raises PhraseError."""
    if words and (option(words[0]) is None or words[0] in form.vocabulary.tanks):
        form.fields["tank"] = a_name("tank", words.pop(0))
    elif form.start is None and not any((option(w) or ("",))[0] == "name" for w in words):
        raise PhraseError(f"which tank? Write its name first, for example {TANK}")
    for word in words:
        if word.casefold() in ("out-of-service", "in-service"):
            form.fields["in_service"] = word.casefold() == "in-service"
            continue
        key, text = keyed(word, "volume=40L")
        key = _key(key)
        not_empty(key, text)
        if key == "name":
            form.fields["tank"] = a_name("tank", text)
        elif key == "role":
            form.fields["role"] = choice("role", text, ROLES)
        elif key == "recipe":
            form.fields["recipe"] = _recipe(form, text)
        elif key in ("volume", "full"):
            form.put("working_volume_l" if key == "volume" else "full_volume_l", key, text, "volume")
        elif key == "surface":
            form.put("surface_dm2", key, text, "area")
        elif key == "order":
            form.fields["order"] = _whole(form, key, text)
        elif key == "in_service":
            form.fields["in_service"] = yes_no(key, text)
        elif key == "level_table":
            form.fields["level_table"] = _level_table(form, text)
        elif not form.common(key, text):
            raise unknown_key(key, _TANK_KEYS, "tank")
    name = form.fields.get("tank", "")
    if "role" not in form.fields and form.start is None:
        if name not in form.vocabulary.tanks:
            raise PhraseError(f"tank: what is {name} for? Write role= with one of {', '.join(ROLES)}")
        form.fields["role"] = form.vocabulary.tanks[name].role
    form.understood += [f"{k} {form.fields[k]}" for k in ("role", "recipe", "order") if k in form.fields]


def _recipe(form: Form, text: str) -> str:
    try:
        return form.vocabulary.catalogue.recipe(text).name
    except ValueError:
        raise PhraseError(
            f"recipe: there is no recipe `{shorten(text)}`{near(text, form.vocabulary.catalogue.recipes)}"
        ) from None


def _whole(form: Form, key: str, text: str) -> int:
    try:
        value = number(text, form.prefs)
    except UnitError as problem:
        raise PhraseError(f"{key}: {problem}") from problem
    if value != int(value):
        raise PhraseError(f"{key}: `{shorten(text)}` is not a whole number; write for example {key}=6")
    return int(value)


def _level_table(form: Form, text: str) -> list[dict[str, float]]:
    """``0mm:0L;100mm:12L;200mm:24L`` (a comma parts rows too, where it stands before no decimal)."""
    rows = []
    for row in re.split(r";|,(?=\s*[0-9.]+\s*[A-Za-z]+\s*:)", text):
        height, colon, volume = row.partition(":")
        if not colon:
            raise PhraseError(
                f"level_table: `{shorten(row)}` is not height:volume; write for example level_table=0mm:0L;100mm:12L"
            )
        try:
            rows.append(
                {
                    "mm": understand(height, "length", form.prefs).value,
                    "volume_l": understand(volume, "volume", form.prefs).value,
                }
            )
        except UnitError as problem:
            raise PhraseError(f"level_table: {problem}") from problem
    form.typed["level_table"] = text
    return rows


def setting_field(key: str) -> str:
    """The field of a `workshop` entry that a key of its form means; ``units.KIND`` stays as it is. Raises PhraseError."""
    plain = _key(key)
    if plain not in _WORKSHOP_KEYS and not plain.startswith("units."):
        raise unknown_key(plain, _WORKSHOP_KEYS, "workshop")
    return _FIELDS.get(plain, plain)


def setting_key(field: str) -> str:
    """The key by which a field of a `workshop` entry is set."""
    return next((key for key, name in _FIELDS.items() if name == field), field)


def compose_workshop(form: Form, words: list[str]) -> None:
    """``"my workshop" gallon=us decimal_comma=yes units.volume=usgal``. Raises PhraseError."""
    bare = [w for w in words if option(w) is None]
    if len(bare) > 1:
        raise PhraseError(f"workshop: `{shorten(bare[1])}` has no `=`; put the name into quotes, as in {WORKSHOP}")
    if bare:
        form.fields["name"] = a_name("name", bare[0])
    elif form.start is None and not any((option(w) or ("",))[0] == "name" for w in words):
        raise PhraseError(f"what is the workshop called? Write for example {WORKSHOP}")
    for key, text in (sides for w in words if (sides := option(w)) is not None):
        key = _key(key)
        not_empty(key, text)
        if key == "name":
            form.fields["name"] = a_name("name", text)
        elif key in _CHOICES:
            form.fields[key] = choice(key, text, _CHOICES[key])
        elif key == "decimal_comma":
            form.fields[key] = yes_no(key, text)
        elif key in _AS_WRITTEN:
            form.fields[key] = text
        elif key == "scale":
            form.put("scale_resolution_g", key, text, "mass")
            continue
        elif key.startswith("units."):
            _shown_unit(form, key.removeprefix("units."), text)
        elif not form.common(key, text):
            raise unknown_key(key, _WORKSHOP_KEYS, "workshop")
        form.understood.append(f"{key} {text}")


def _shown_unit(form: Form, kind: str, text: str) -> None:
    if kind not in KINDS:
        raise PhraseError(f"units.{shorten(kind)}: there is no such kind of value{near(kind, KINDS)}")
    habits = Preferences(form.fields.get("gallon", form.prefs.gallon), form.fields.get("ounce", form.prefs.ounce))
    try:
        in_unit(1.0, kind, text, habits)
    except UnitError as problem:
        raise PhraseError(f"units.{kind}: {problem}") from problem
    form.fields.setdefault("units", {})[kind] = text


def compose_definition(form: Form, words: list[str]) -> None:
    """``reagent "my brightener"`` and a body as JSON or TOML text, checked against the catalogue. Raises PhraseError."""
    if len(words) < 2 and form.start is None:
        raise PhraseError(f"a definition needs what it defines, its name and its body; write for example {DEFINITION}")
    start = form.start or {}
    if form.start is not None and words and words[0].replace("-", " ") not in DEFINABLE:
        of, name, body_words = str(start["of"]), str(start["name"]), words
    else:
        of, name, body_words = choice("definition", words[0], DEFINABLE), a_name("name", words[1]), words[2:]
    texts = []
    for word in body_words:
        key, text = option(word) or ("", "")
        if not (re.fullmatch("note|by", key) and form.common(key, text)):
            texts.append(word)
    body = _body("\n".join(texts))
    form.fields |= {"of": of, "name": name, "body": body}
    try:
        form.vocabulary.catalogue.with_definitions([(of, name, body)])
    except ValueError as problem:
        raise PhraseError(str(problem)) from None
    form.understood.append(f"{of} {name}: {', '.join(body)}")


def _body(text: str) -> dict[str, Any]:
    stripped = text.strip()
    if not stripped:
        raise PhraseError(f"a definition needs its body; write for example {DEFINITION}")
    try:
        body = json.loads(stripped) if stripped.startswith("{") else tomllib.loads(stripped)
    except (json.JSONDecodeError, tomllib.TOMLDecodeError) as problem:
        raise PhraseError(
            f"the body of the definition is neither JSON nor TOML ({problem}); write for example {DEFINITION}"
        ) from None
    try:
        json.dumps(body, allow_nan=False)
    except (TypeError, ValueError):
        raise PhraseError(
            "the body of the definition holds a date or a number that is not finite; only text, numbers, "
            "yes/no, lists and tables can be kept"
        ) from None
    return dict(body)
