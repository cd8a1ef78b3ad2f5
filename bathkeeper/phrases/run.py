"""A run in words: what was on the hooks, and how it went through the tanks."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from bathkeeper.catalogue.own import OwnPart, all_of
from bathkeeper.phrases.charge import EXAMPLES, Passed, charge
from bathkeeper.phrases.outcome import OUTCOME_KEYS, outcome
from bathkeeper.phrases.words import (
    WET_NOT,
    Form,
    PhraseError,
    TankWord,
    a_name,
    match,
    not_empty,
    option,
    unknown_key,
    yes_no,
)
from bathkeeper.refusals import shorten
from bathkeeper.runs.library import known_parts
from bathkeeper.runs.parts import PartError, understand_part
from bathkeeper.units.door import UnitError, figures, number, understand

PART_KEYS = ("area", "count", "class", "strength", "stripped", "safety_critical", "description")
RUN_KEYS = ("before", "after", *OUTCOME_KEYS, "supply", "dummy", "note", "by")
WHOLE_LINE = ("whole-line", "through=all")
_UNNAMED = "load"
_SIZED = re.compile(r"\bM\s?\d|\d\s*(?:x|by|mm\b|\")|\d/\d", re.IGNORECASE)  # words that look like a size
_STEP = re.compile(r"(?P<tank>[^.@:]+)(?:\.(?P<supply>[^@:]+))?(?::(?P<anodes>[^@]+))?(?P<at>(?:@.+)?)")
_BEHIND_TANK = re.compile(r"(?:\.(?P<supply>[^@:]+))?(?::(?P<anodes>[^@]+))?(?P<at>(?:@.+)?)")


def compose_run(form: Form, words: list[str]) -> None:
    """``"mixed brackets" area=3.2dm2 electrolyte=6.5A*45min pickle=2min``. Raises PhraseError."""
    parts: list[dict[str, Any]] = []
    steps: list[tuple[str, str]] = []
    supply, dummy, whole_line = None, False, False
    for place, word in enumerate(words):
        if word.casefold() in WHOLE_LINE:
            whole_line = True
        elif word.casefold() in ("dummy", "safety-critical") and place:
            dummy = dummy or word.casefold() == "dummy"
            if word.casefold() == "safety-critical":
                _latest(parts)["safety_critical"] = True
        elif (sides := _sides(form, word, first=place == 0)) is None:
            parts.append({"description": a_name("description", word)})
            form.understood.append(parts[-1]["description"])
        elif sides[0] in PART_KEYS:
            _part(form, parts, *sides)
        elif sides[0] == "supply":
            supply = a_name("supply", sides[1])
        elif sides[0] == "dummy":
            dummy = yes_no(*sides)
        elif sides[0] in RUN_KEYS:
            _about_run(form, *sides)
        else:
            steps.append(sides)
    for part in parts:
        _as_known(form, part)
    area = sum(p.get("area_dm2", 0.0) for p in parts) or _area_before(form)
    _steps(form, steps, supply, dummy, whole_line, area)
    if parts:
        form.fields["parts"] = parts


def _as_known(form: Form, part: dict[str, Any]) -> None:
    """Fills in what the words of a part say of its area and strength (``20x M8x30 hex bolt``), or what this workshop knows of a
    part of that name, where nothing else is said; words that name no known part stay a description."""
    library = form.vocabulary.parts or known_parts((), all_of(form.vocabulary.catalogue.own, "part", OwnPart))
    try:
        known = understand_part(part["description"], form.prefs, form.vocabulary.catalogue, library)
    except PartError as problem:
        if "area_dm2" not in part and _SIZED.search(part["description"]):
            form.understood.append(f"no area worked out: {problem}")
        return
    if part.get("count", known.count) != known.count and known.count != 1:
        raise PhraseError(f"{part['description']}: is it {known.count} or {part['count']} of them? Say the count once")
    count = part.get("count", known.count)
    if "area_dm2" not in part:
        each = known.each_mm2 / 1e4
        name = f"{known.title} {known.property_class}" if known.property_class and not known.known else known.title
        part |= {"description": name, "count": count, "area_dm2": each * count, "spread": each * count * known.spread}
        if count == 1:
            del part["count"]
        said = f"area {figures(each * count)} dm² ± {part['spread']:.2g}"
        form.understood.append(f"{said}, {known.counted}" if known.counted else said)
        form.understood.extend(known.notes)
    for name in ("property_class", "strength_mpa", "safety_critical"):
        value = getattr(known, name)
        if value and name not in part:
            part[name] = value
            form.understood.append(f"{name.replace('_', ' ')} {value if value is not True else 'yes'}")


def _sides(form: Form, word: str, first: bool) -> tuple[str, str] | None:
    """key and value, or None for a description. The first word is one unless it begins with a key that is known for certain."""
    sides = _known_tank(form, word) or option(word)
    if sides is None:
        if match(word, form.vocabulary.tanks) is not None:
            raise PhraseError(
                f"`{word}` is a tank; say what happened there, for example {word}=2min (or {EXAMPLES.split(',')[0]})"
            )
        return None
    key = match(sides[0], (*PART_KEYS, *RUN_KEYS))
    if key:
        return key, sides[1]
    tank = _place(form, sides[0])
    if tank and match(tank.tank, form.vocabulary.tanks):
        return sides
    if first and form.start is None:
        return None
    names = [*form.vocabulary.tanks, *PART_KEYS, *RUN_KEYS, "whole-line"]
    raise unknown_key(tank.tank if tank else sides[0], names, "run")


@dataclass(frozen=True)
class _Place:
    """Where a step's charge went: tank, and of a branch its supply and anodes; ``at`` is what stands behind ``@``."""

    tank: str
    supply: str | None
    anodes: str | None
    at: str


def _known_tank(form: Form, word: str) -> tuple[str, str] | None:
    """key and value of a step whose tank has a sign in its name that the grammar uses; None for every other word."""
    for name in sorted(form.vocabulary.tanks, key=len, reverse=True):
        rest = word.removeprefix(name)
        if re.search("[.:=@]", name) and rest != word and rest[:1] in (".", ":", "=", "@"):
            behind, sign, value = rest.partition("=")
            if sign and _BEHIND_TANK.fullmatch(behind):
                return name + behind, value.strip()
    return None


def _place(form: Form, key: str) -> _Place | None:
    """A step's key in its parts; a tank that is named exactly keeps the dots and colons of its name."""
    for name in sorted(form.vocabulary.tanks, key=len, reverse=True):
        behind = _BEHIND_TANK.fullmatch(key.removeprefix(name)) if key.startswith(name) else None
        if behind is not None:
            return _Place(name, behind["supply"], behind["anodes"], behind["at"])
    parsed = _STEP.fullmatch(key)
    return _Place(parsed["tank"].strip(), parsed["supply"], parsed["anodes"], parsed["at"]) if parsed else None


def _latest(parts: list[dict[str, Any]]) -> dict[str, Any]:
    if not parts:
        parts.append({"description": _UNNAMED})
    return parts[-1]


def _part(form: Form, parts: list[dict[str, Any]], key: str, text: str) -> None:
    if key == "description":
        parts.append({"description": a_name("description", text)})
        form.understood.append(parts[-1]["description"])
        return
    part = _latest(parts)
    if key == "area":
        value, spread = form.quantity(key, text, "area")
        part["area_dm2"] = value.value
        if spread is not None:
            part["spread"] = spread
        form.understood.append(f"area {value.echo}" + (f" ± {spread:g} dm²" if spread is not None else ""))
    elif key == "count":
        try:
            count = number(text, form.prefs)
        except UnitError as problem:
            raise PhraseError(f"count: {problem}") from problem
        if count < 1 or count != int(count):
            raise PhraseError(f"count: `{shorten(text)}` is not a whole number from 1 up; write for example count=20")
        part["count"] = int(count)
        form.understood.append(f"{int(count)} pieces")
    elif key == "class":
        if not re.fullmatch(r"[0-9]{1,2}\.[0-9]|[A-Za-z0-9 .-]{1,20}", text.strip()):
            raise PhraseError(f"class: `{shorten(text)}` is not a property class; write for example class=10.9")
        part["property_class"] = text.strip()
        form.understood.append(f"property class {text.strip()}")
    elif key == "safety_critical":
        part["safety_critical"] = yes_no(key, text)
        form.understood.append(f"safety critical: {'yes' if part['safety_critical'] else 'no'}")
    else:
        kind, name = {"strength": ("strength", "strength_mpa"), "stripped": ("mass", "coating_stripped_g")}[key]
        value, _ = form.quantity(key, text, kind)
        part[name] = value.value
        form.understood.append(f"{key} {value.echo}")


def _about_run(form: Form, key: str, text: str) -> None:
    if key in ("before", "after"):
        form.put(f"mass_{key}_g", key, text, "mass")
    elif not outcome(form, key, text):
        form.common(key, text)


def _area_before(form: Form) -> float | None:
    parts = (form.start or {}).get("parts") or ()
    return sum(p.get("area_dm2") or 0.0 for p in parts) or None


def _steps(
    form: Form, told: list[tuple[str, str]], supply: str | None, dummy: bool, whole_line: bool, area: float | None
) -> None:
    made: dict[str, dict[str, Any]] = {}
    for key, text in told:
        _step(form, made, key, text, area)
    charged = [s for s in made.values() if "charge" in s or "branches" in s]
    for step in charged:
        if dummy:
            step["dummy"] = True
        if supply and "charge" in step:
            step["supply"] = supply
    if (supply or dummy) and not charged:
        raise PhraseError("supply= and dummy belong to a step with current; write for example electrolyte=6.5A*45min")
    if whole_line:
        for tank in form.vocabulary.tanks.values():
            if tank.in_service and tank.role not in WET_NOT and tank.name not in made:
                made[tank.name] = {"tank": tank.name}
    if not made and form.start is None:
        raise PhraseError(
            f"a run needs at least one tank; write for example electrolyte={EXAMPLES.split(',')[0]}, or whole-line"
        )
    if made:
        form.fields["steps"] = in_line_order(form, list(made.values()))
        form.understood.append("through " + " > ".join(s["tank"] for s in form.fields["steps"]))


def in_line_order(form: Form, steps: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Steps sorted as the tanks stand."""
    places = {t.name: (t.place, number_) for number_, t in enumerate(form.vocabulary.tanks.values())}
    return sorted(steps, key=lambda s: places.get(s["tank"], (10**6, 0)))


def _step(form: Form, made: dict[str, dict[str, Any]], key: str, text: str, area: float | None) -> None:
    parsed = _place(form, key)
    assert parsed is not None
    tank = form.vocabulary.tank(parsed.tank)
    branch = parsed.supply is not None or parsed.anodes is not None
    if tank.name in made and not (branch and "branches" in made[tank.name]):
        raise PhraseError(f"{tank.name} is there twice; join stretches with a plus sign, as in {tank.name}=2A*10min+6A*30min")
    step = made.setdefault(tank.name, {"tank": tank.name})
    passed = charge(form, key, not_empty(key, text), area)
    volts = _circumstances(form, step, key, parsed.at)
    if branch:
        _branch(form, step, tank, key, parsed.supply, parsed.anodes, passed, volts)
    else:
        if volts is not None:
            raise PhraseError(
                f"{key}: volts belong to a branch with its own supply; write for example {tank.name}.bench-1@3.2V={text}"
            )
        if passed.charge is not None:
            step["charge"] = passed.charge
        if passed.minutes is not None:
            step["minutes"] = passed.minutes
    form.understood.append(f"{key} {passed.echo}")


def _circumstances(form: Form, step: dict[str, Any], key: str, text: str) -> float | None:
    """``@35C`` is the step's temperature, ``@3.2V`` a branch's voltage, which is returned."""
    volts = None
    for word in (w for w in text.split("@") if w.strip()):
        try:
            value = understand(word, ("temperature", "voltage"), form.prefs)
        except UnitError as problem:
            raise PhraseError(f"{key}: {problem}") from problem
        if value.kind == "voltage":
            volts = value.value
        else:
            step["temperature_c"] = value.value
    return volts


def _branch(
    form: Form,
    step: dict[str, Any],
    tank: TankWord,
    key: str,
    supply: str | None,
    anodes: str | None,
    passed: Passed,
    volts: float | None,
) -> None:
    if passed.charge is None:
        raise PhraseError(f"{key}: a branch needs a charge; write for example {key}=0.95A*45min")
    branch: dict[str, Any] = {"charge": passed.charge}
    if supply is not None:
        branch["supply"] = a_name("supply", supply)
    named = [a_name("anode", a) for a in anodes.split(",")] if anodes else _anodes_meant(form, tank, supply or "")
    if named:
        branch["anodes"] = named
    if volts is not None:
        branch["volts"] = volts
    if any(
        b.get("supply") == branch.get("supply") and b.get("anodes") == branch.get("anodes") for b in step.get("branches", ())
    ):
        raise PhraseError(f"{key} is there twice; give each branch its own supply or anodes")
    step.setdefault("branches", []).append(branch)
    before = step.get("minutes")
    if passed.minutes is not None and before is not None and before != passed.minutes:
        # one length of stay for the step; branches that ran for different times keep their own as stretches
        _as_stretches(step["branches"][:-1], before)
        _as_stretches([branch], passed.minutes)
    if passed.minutes is not None:
        step["minutes"] = max(before or 0.0, passed.minutes)


def _as_stretches(branches: list[dict[str, Any]], minutes: float) -> None:
    for branch in branches:
        told = branch["charge"]
        if "current_a" in told:
            spread = {"spread": told["spread"] * minutes / 60} if "spread" in told else {}
            branch["charge"] = {"stretches": [{"current_a": told["current_a"], "minutes": minutes}], **spread}


def _anodes_meant(form: Form, tank: TankWord, supply: str) -> list[str]:
    """A branch called by a metal or an anode of the tank names those anodes."""
    if supply in tank.anodes:
        return [supply]
    metal = form.vocabulary.metal(supply)
    return [a for a, m in tank.anodes.items() if metal is not None and m == metal.name]
