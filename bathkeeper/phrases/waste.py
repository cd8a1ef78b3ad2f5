"""What is done to a container of waste, in words: opened, put in, moved, checked, labelled, tested, treated, handed over."""

from __future__ import annotations

import re
import shlex
from datetime import datetime
from difflib import get_close_matches
from typing import Any, get_type_hints

from bathkeeper.catalogue.loader import CatalogueError
from bathkeeper.entries import CONTAINER_ACTIONS, RESERVED_PLACES, WASTE_KINDS, Papers
from bathkeeper.entries.waste import BELONGS
from bathkeeper.moments import moment
from bathkeeper.phrases.reading import read_value
from bathkeeper.phrases.solution import item
from bathkeeper.phrases.words import Form, PhraseError, a_name, choice, match, not_empty, option, unknown_key, yes_no
from bathkeeper.refusals import shorten
from bathkeeper.units.door import figures

CONTAINER = 'container drum-1 handed-over all to="county collection point" reference=H-17'
EXAMPLES: dict[str, str] = {
    "opened": 'container drum-5 opened form=drum size=25L place="under the bench"',
    "put in": 'container drum-5 put-in sludge mass=1.2kg tank=electrolyte why="settled out" physical-form=sludge colour=green',
    "moved": "container drum-1 moved volume=5L to=drum-2",
    "checked": "container drum-1 checked lid=yes label=yes tray=no",
    "labelled": 'container drum-1 labelled codes="11 01 05*" hazards="HP 8"',
    "tested": "container drum-1 tested pH=1.5 nickel=110mg/L",
    "treated": 'container drum-1 treated neutralised "calcium hydroxide=600 g"',
    "handed over": CONTAINER,
}
MORE_EXAMPLES = (
    'container drum-1 moved volume=0.5L to=spill note="tray held it"',
    'container can-2 put-in "hydrogen peroxide=2L" note="left over, no strength on the bottle"',
    "container drum-1 handed-over reference=H-17 receipt=R-4",
    'container drum-1 handed-over reference=H-17 refused="wrong label"',
)
"""Chemicals by name, and what comes later of a hand-over."""
PAPERS = tuple(get_type_hints(Papers))
LIQUID = ("bath", "rinse water")
"""Kinds that come out of a tank by a removal."""
_YES_NO = ("lid", "label", "tray", "sound")
_NAMES = ("form", "physical_form", "colour", "place", "tank", "consent", "reference", "receipt", "of")
_KEYS = {"from": "tank", "lab": "by_lab", "gone": "volume", "size": "size", "kind": "what", "what": "what", "color": "colour"}


def compose_container(form: Form, words: list[str]) -> None:
    """``drum-1 tested pH=1.5 nickel=110mg/L`` and the like; the action stands behind the name. Raises PhraseError."""
    words = list(words)
    if words and (option(words[0]) or ("",))[0].casefold() == "container":  # a name may hold `=`, or be the word of an action
        form.fields["container"] = a_name("container", words.pop(0).partition("=")[2])
    elif words and option(words[0]) is None and match(words[0], CONTAINER_ACTIONS) is None:
        form.fields["container"] = a_name("container", words.pop(0))
    elif form.start is None:
        raise PhraseError(f"which container? Write its name first, for example {CONTAINER}")
    if words and option(words[0]) is None and (found := match(words[0], CONTAINER_ACTIONS)) is not None:
        form.fields["action"] = found
        words.pop(0)
    elif form.start is None:
        actions = ", ".join(a.replace(" ", "-") for a in CONTAINER_ACTIONS)
        raise PhraseError(f"container: what was done to it? Write {actions} behind its name, for example {CONTAINER}")
    action = str(form.fields.get("action") or (form.start or {}).get("action"))
    form.understood.append(action)
    for word in words:
        sides = _sides(action, word)
        if sides is None:
            _bare(form, action, word)
        else:
            _keyed(form, action, *sides)
    if action == "put in":
        _begun_put_in(form)


def _begun_put_in(form: Form) -> None:
    """Chemicals by name are chemicals; liquid of a tank is taken out of it, or it would stand in both. Raises PhraseError."""
    if form.fields.get("items") and "what" not in {**(form.start or {}), **form.fields}:
        form.fields["what"] = "chemicals"
    if form.start is not None and not form.fields.keys() & {"what", "tank"}:
        return
    told = {**(form.start or {}), **form.fields}
    if told.get("what") in LIQUID and told.get("tank"):
        amount = form.typed.get("volume") or (f"{figures(told['volume_l'])}L" if told.get("volume_l") else "")
        tank, name = (shlex.quote(str(told[n])) for n in ("tank", "container"))
        line = f"removal {tank} {f'volume={amount}' if amount else 'all'} to={name}"
        liquid = f"{told['what']} of {shorten(str(told['tank']))}"
        raise PhraseError(f"container: {liquid} is taken out of it, so that its litres fall as well; log {line}")


def _bare(form: Form, action: str, word: str) -> None:
    """A word alone: everything, what was put in, what was done, or a yes of a check."""
    if word.casefold() in ("all", "everything") and action in BELONGS["all"]:
        form.fields["all"] = True
        form.understood.append("all of it")
    elif action in BELONGS["what"] and (found := match(word, WASTE_KINDS)) is not None:
        form.fields["what"] = found
        form.understood.append(found)
    elif action == "checked" and word in _YES_NO:
        form.fields[word] = True
        form.understood.append(f"{word} yes")
    elif action == "treated" and "treatment" not in form.fields:
        form.fields["treatment"] = a_name("treatment", word)
        form.understood.append(word)
    elif action == "moved" and word in RESERVED_PLACES:
        form.fields["to"] = word
    else:
        raise PhraseError(f"container: `{shorten(word)}` has no `=`; write for example {EXAMPLES.get(action, CONTAINER)}")


def _sides(action: str, word: str) -> tuple[str, str] | None:
    """``key=value``, parted at the first sign where that gives a key of the form, since a value may hold the sign as well."""
    first = option(word)
    if first is not None and _plain(first[0]) in (*_known_keys(action), "spread"):
        return first
    return option(word, last=True)


def _plain(key: str) -> str:
    plain = key.strip().casefold().replace("-", "_").replace(" ", "_")
    return _KEYS.get(plain, plain)


def _keyed(form: Form, action: str, key: str, text: str) -> None:
    plain = _plain(key)
    if plain in ("note", "by") and form.common(plain, text):
        return
    if plain == "what":
        form.fields["what"] = choice(key, text, WASTE_KINDS)
    elif plain == "volume" and action != "tested":
        form.put("volume_l", key, text, "volume")
    elif plain == "mass":
        value, _ = form.quantity(key, text, "mass")
        form.fields["mass_kg"] = float(f"{value.value / 1000:.12g}")
        form.understood.append(f"mass {value.echo}")
    elif plain == "size":
        form.put("size_l", key, text, "volume")
    elif plain == "spread":
        value, _ = form.quantity(key, text, ("volume", "mass"))
        form.fields["spread"] = value.value / (1000 if value.kind == "mass" else 1)
    elif plain == "pieces":
        form.fields["pieces"] = _whole(key, text)
    elif plain == "all":
        form.fields["all"] = yes_no(key, text)
    elif plain in _YES_NO and action == "checked":
        form.fields[plain] = yes_no(key, text)
        form.understood.append(f"{plain} {text}")
    elif plain in ("codes", "hazards"):
        form.fields[plain] = [a_name(plain, t) for t in re.split(r"[,;]", text) if t.strip()]
        form.understood.append(f"{plain} {', '.join(form.fields[plain])}")
    elif plain == "to" or (plain in _NAMES and action in BELONGS.get(plain, ())):
        form.fields[plain] = a_name(plain, text)
        form.understood.append(f"{plain} {text}")
    elif plain == "why" and action in BELONGS["why"]:
        form.fields["why"] = not_empty(key, text)
        form.understood.append(f"why {text}")
    elif plain == "by_lab":
        form.fields["by_lab"] = a_name("lab", text)
    elif plain == "treatment":
        form.fields["treatment"] = a_name("treatment", text)
    elif plain == "receipt_at":
        form.fields["receipt_at"] = _when(form, key, text).isoformat()
    elif plain in PAPERS and action == "handed over":
        _paper(form, plain, text)
    elif action == "tested":
        form.fields.setdefault("values", []).append(read_value(form, None, key, text))
    elif action == "treated":
        form.fields.setdefault("items", []).append(item(form, form.vocabulary.reagent(key), key, text))
    elif action == "put in" and _is_a_chemical(key, action):
        form.fields.setdefault("items", []).append(_chemical(form, key, text))
    else:
        raise unknown_key(key, _known_keys(action), f"container {action}")


def _is_a_chemical(key: str, action: str) -> bool:
    """Whether a key can be the name of a chemical: no field of any container's entry, and no slip of one of this form."""
    fields = {n.removesuffix("_l").removesuffix("_kg") for n in BELONGS}
    known = [*_known_keys(action), "spread"]
    return _plain(key) not in {*fields, *PAPERS} and not get_close_matches(_plain(key), known, 1, 0.75)


def _chemical(form: Form, key: str, text: str) -> dict[str, Any]:
    """A left-over chemical with its amount: the catalogue's by its name, any other by the name that it is given."""
    try:
        return item(form, form.vocabulary.catalogue.reagent(key), key, text)
    except CatalogueError:
        pass
    name = a_name("chemical", key)
    value, spread = form.quantity(key, text, ("volume", "mass"))
    if spread is not None or value.value <= 0:
        raise PhraseError(f'{key}: write how much of it there is, for example "{shorten(key)}=2L"')
    amount, unit = (value.value, "g") if value.kind == "mass" else (value.value * 1000, "mL")
    form.understood.append(f"{name} {value.echo} (the catalogue does not tell what it holds: say what you know in note=)")
    return {"reagent": name, "amount": float(f"{amount:.12g}"), "unit": unit}


def _paper(form: Form, name: str, text: str) -> None:
    papers: dict[str, Any] = form.fields.setdefault("papers", dict((form.start or {}).get("papers") or {}))
    papers[name] = yes_no(name, text) if name in ("pops", "hierarchy", "weighed") else not_empty(name, text)
    form.understood.append(f"{name.replace('_', ' ')} {text}")


def _known_keys(action: str) -> list[str]:
    own = [n.removesuffix("_l").removesuffix("_kg") for n, actions in BELONGS.items() if action in actions]
    return [*own, *(PAPERS if action == "handed over" else ()), "note", "by"]


def _when(form: Form, key: str, text: str) -> datetime:
    try:
        return moment(text, form.at, order=form.prefs.date_order)
    except ValueError as problem:
        raise PhraseError(f"{key}: {problem}") from None


def _whole(key: str, text: str) -> int:
    if not re.fullmatch(r"[0-9]{1,6}", text.strip(), re.ASCII):
        raise PhraseError(f"{key}: `{shorten(text)}` is not a whole number; write for example {key}=3")
    return int(text)
