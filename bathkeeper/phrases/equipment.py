"""Anodes, calibrations and remarks in words."""

from __future__ import annotations

import re

from bathkeeper.phrases.loads import one_load
from bathkeeper.phrases.outcome import outcome
from bathkeeper.phrases.plans import does_a_step
from bathkeeper.phrases.words import (
    Form,
    PhraseError,
    TankWord,
    a_name,
    known,
    near,
    not_empty,
    option,
    unknown_key,
    yes_no,
)
from bathkeeper.refusals import shorten
from bathkeeper.units.door import UnitError, number

ANODE = "anode electrolyte zinc-1 hung=4.0kg"
CALIBRATION = 'calibration supply bench-1 against="clamp meter" result=1.02'
REMARK = 'remark electrolyte "foam on top"'
_ACTIONS = ("hung", "weighed", "lifted", "retired")
_MEANING = {
    "lifted": ": out of the bath while idle; a run counts it as back in unless another of its metal hangs "
    "(gone for good: retired)",
    "retired": ": gone for good",
}
_INSTRUMENTS = ("supply", "scale", "meter", "titrant lot")


def compose_anode(form: Form, words: list[str]) -> None:
    """``electrolyte zinc-1 hung=4.0kg area=5dm2``, ``weighed=1492g brushed=yes``, ``lifted``, ``retired``.

    Raises PhraseError."""
    tank = form.leading_tank(words, ANODE)
    if words and (option(words[0]) is None or words[0] in tank.anodes) and words[0] not in _ACTIONS:
        form.fields["anode"] = a_name("anode", words.pop(0))
    elif form.start is None and not any((option(w) or ("",))[0] == "anode" for w in words):
        raise PhraseError(
            f"which anode? Write its name behind the tank, for example {ANODE}{known(tank.anodes) if tank.anodes else ''}"
        )
    for word in words:
        key, text = option(word) or (word, "")
        if key in _ACTIONS:
            if "action" in form.fields:
                raise PhraseError(f"anode: {form.fields['action']} and {key} are two entries; log one after the other")
            form.fields["action"] = key
            if option(word):
                form.put("mass_g", key, not_empty(key, text), "mass")
            else:
                form.understood.append(f"{key}{_MEANING.get(key, '')}")
        elif key == "anode":
            form.fields["anode"] = a_name("anode", text)
        elif key == "brushed":
            form.fields["brushed"] = yes_no(key, text) if option(word) else True
        elif key == "metal":
            form.fields["metal"] = _metal(form, text)
        elif key == "area":
            form.put("area_dm2", key, text, "area")
        elif key == "mass":
            form.put("mass_g", key, text, "mass")
        elif key == "spread":
            form.put("spread", key, text, "mass")
        elif not form.common(key, text):
            raise unknown_key(key, (*_ACTIONS, "metal", "area", "mass", "brushed", "spread", "note", "by"), "anode")
    if form.start is None:
        _complete_anode(form, tank)


def _complete_anode(form: Form, tank: TankWord) -> None:
    if "action" not in form.fields:
        raise PhraseError(f"anode: what happened to it? Write hung=, weighed=, lifted or retired, for example {ANODE}")
    name = form.fields["anode"]
    if form.fields["action"] == "weighed" and "mass_g" not in form.fields:
        raise PhraseError("anode: weighed needs what it weighed; write for example weighed=1492g")
    if "metal" in form.fields:
        return
    metal = tank.anodes.get(name) or metal_of_name(form, name)
    if metal is not None:
        form.fields["metal"] = metal
        form.understood.append(f"metal {metal}")
    elif form.fields["action"] == "hung":
        raise PhraseError(
            f"anode: what is `{name}` made of? Write metal=zinc, or begin its name with the metal, as in zinc-1"
            f"{known(form.vocabulary.catalogue.metals)}"
        )


def metal_of_name(form: Form, name: str) -> str | None:
    """The metal that an anode's name begins with: zinc-1, nickel 2, Zn-3, stainless-1."""
    fitting = [
        m.name
        for m in form.vocabulary.catalogue.metals.values()
        if re.match(rf"{re.escape(m.name.split()[0])}(?![A-Za-z(])", name, re.IGNORECASE)
        or (m.symbol and re.match(rf"{re.escape(m.symbol)}(?![A-Za-z])", name))
    ]
    return min(fitting, key=len) if fitting else None  # Cu-1 is copper, not copper(I)


def _metal(form: Form, text: str) -> str:
    metal = form.vocabulary.metal(not_empty("metal", text))
    if metal is None:
        raise PhraseError(
            f"metal: there is no metal `{shorten(text)}` in the catalogue{near(text, form.vocabulary.catalogue.metals)}"
        )
    form.understood.append(f"metal {metal.name}")
    return metal.name


def compose_calibration(form: Form, words: list[str]) -> None:
    """``supply bench-1 against="clamp meter" result=1.02``; result is what it reads over what is true. Raises PhraseError."""
    bare = [w for w in words if option(w) is None]
    if [w.casefold() for w in bare[:2]] == ["titrant", "lot"]:
        bare[:2] = ["titrant lot"]
    if bare:
        what = bare[0].replace("-", " ").casefold()
        if what not in _INSTRUMENTS:
            raise PhraseError(
                f"calibration: `{shorten(bare[0])}` is not one of {', '.join(_INSTRUMENTS)}; write for example {CALIBRATION}"
            )
        form.fields["what"] = what
        if len(bare) > 1:
            form.fields["name"] = a_name("name", " ".join(bare[1:]))
    for key, text in (sides for w in words if (sides := option(w)) is not None):
        if key == "name":
            form.fields["name"] = a_name("name", text)
        elif key == "against":
            form.say("against", key, text)
        elif key in ("result", "spread"):
            form.fields[key] = _ratio(form, key, text)
            form.typed[key] = text
            form.understood.append(f"{key} {form.fields[key]:g}")
        elif not form.common(key, text):
            raise unknown_key(key, ("name", "against", "result", "spread", "note", "by"), "calibration")
    missing = [f for f in ("what", "name", "against", "result") if f not in form.fields]
    if missing and form.start is None:
        raise PhraseError(f"calibration: {missing[0]} is missing; write for example {CALIBRATION}")


def _ratio(form: Form, key: str, text: str) -> float:
    """1.02, 102 % or 5.1/5.0."""
    try:
        if text.endswith("%"):
            value = number(text[:-1], form.prefs) / 100
        elif "/" in text:
            reads, true = (number(t, form.prefs) for t in text.split("/", 1))
            value = reads / true if true else 0.0
        else:
            value = number(text, form.prefs)
    except UnitError as problem:
        raise PhraseError(f"{key}: {problem}") from problem
    if value <= 0:
        raise PhraseError(
            f"{key}: `{shorten(text)}` is not above zero; it is what the instrument reads over what is true, for example 1.02"
        )
    return float(f"{value:.12g}")


def _told(form: Form) -> str:
    """The text of a remark that only says what became of a run."""
    fields = form.fields
    count = fields.get("rejects")
    rejects = "" if count is None else "1 reject" if count == 1 else f"{count or 'no'} rejects"
    photos = f"photo {', '.join(fields['photos'])}" if "photos" in fields else ""
    return ", ".join(w for w in (fields.get("result", ""), fields.get("defect", "").replace("_", " "), rejects, photos) if w)


def compose_remark(form: Form, words: list[str]) -> None:
    """``electrolyte "foam on top" defect=pitting`` or ``run=ID "…" result=good rejects=2 photo=NAME``; a text may also come as
    ``text=``; what became of a run needs none. Raises PhraseError."""
    text: list[str] = []
    named = bool(words) and (option(words[0]) is None or form.names_tank(words[0]))
    if named and form.start is None and len(words) > 1:
        if form.names_tank(words[0]):
            form.leading_tank(words, REMARK)
        elif " " not in words[0] and near(words[0], form.vocabulary.tanks).startswith("; did"):
            raise PhraseError(
                f"remark: there is no tank `{words[0]}`{near(words[0], form.vocabulary.tanks)} "
                f"If it belongs to the text, put the whole text into quotes"
            )
    for word in words:
        key, value = option(word) or ("", "")
        if key == "tank":
            form.fields["tank"] = form.vocabulary.tank(value).name
        elif key == "run":
            form.fields["run"] = one_load(form, key, value)
            form.understood.append(f"run: {form.fields['run']}")
        elif key and outcome(form, key, value):
            continue
        elif key == "text":
            text.append(word.partition("=")[2])
        elif not (key and (form.common(key, value) or does_a_step(form, key, value))):
            text.append(word)
    said = " ".join(text)
    if not said.strip() and form.start is None and form.fields.get("run"):
        said = _told(form)
    if not said.strip() and form.start is None:
        raise PhraseError(f"a remark needs its text; write for example {REMARK}")
    if said.strip():
        form.fields["text"] = said
        form.understood.append(shorten(said))
