"""The fields of a form, made from the entry types: one for each value, with its label, its words, and what it may be left at.

The text of a field becomes the same words that the command line takes (``bathkeeper.phrases``), so both understand the same.
"""

from __future__ import annotations

import re
import types
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Annotated, Any, Literal, Union, get_args, get_origin

import msgspec

from bathkeeper.catalogue.loader import plain_name
from bathkeeper.catalogue.schema import Reagent
from bathkeeper.entries import KINDS, RESERVED_PLACES, Item, Part, Step, Unknown, Value, to_plain
from bathkeeper.estimate.view import TankView
from bathkeeper.phrases import TankWord, Vocabulary
from bathkeeper.tui import tell
from bathkeeper.units import figures
from bathkeeper.workshop import Workshop

TITLES = {
    "run": "A run through the line",
    "reading": "A reading",
    "addition": "An addition",
    "removal": "Something taken out",
    "make_up": "A make-up: a tank filled fresh",
    "anode": "An anode",
    "remark": "A remark",
}
NOT_ASKED = {"id", "schema", "typed", "at", "note", "by", "plan", "run", "confirms", "spread", "reagents"}
"""Fields of the entry types that a form does not show, or shows at its end (note), or takes inside another field (spread)."""
WORDS = {"coating_stripped_g": "stripped", "property_class": "class", "mass_before_g": "before", "mass_after_g": "after"}
LABELS = {
    "stripped": "coating stripped",
    "class": "property class",
    "before": "mass before",
    "after": "mass after",
    "to": "where to",
    "all": "all of it",
    "consent": "consent's reference",
    "text": "what you noticed",
    "description": "parts",
    "when": "when",
    "safety_critical": "safety critical",
}
EXAMPLES = {
    "class": "for example 10.9",
    "to": "drum-1, sample, spill",
    "anode": "zinc-1",
    "description": "mixed brackets",
    "result": "good, dull, burnt …",
    "metal": "known by its name",
    "when": "2026-05-01T14:30",
    "defect": "pitting, burning …",
    "consent": "only for the sewer",
}
UNITS = {"_l": "L", "_g": "g", "_dm2": "dm2", "_c": "C", "_mpa": "MPa"}
READ_IN = {"temperature": "C", "volume": "L", "conductivity": "mS/cm", "density": "g/cm3", "voltage": "V"}
OTHER = "other"
FIRST_OF_RUN = ("description", "count", "area_dm2")


@dataclass(frozen=True)
class Field:
    """One value to be asked. ``words``: its text as words of the quick form; ``unit``: what a number alone is taken in;
    ``about``: the tank whose hazard it meets."""

    key: str
    label: str
    words: Callable[[str], list[str]]
    placeholder: str = ""
    choices: tuple[str, ...] = ()
    default: str = ""
    last: str = ""
    unit: str = ""
    about: str | None = None
    leads: bool = False
    suggest: tuple[str, ...] = ()


@dataclass(frozen=True)
class Facts:
    """What a form needs to know of the workshop: its words, the tank's view, and the last similar entry as plain values."""

    vocabulary: Vocabulary
    view: TankView | None
    last: Mapping[str, Any] = field(default_factory=dict)
    recent: tuple[str, ...] = ()


def facts(workshop: Workshop, kind: str, tank: str | None) -> Facts:
    """Gathers them; ``recent``: what was lately read in the tank or put into it, or where it went, newest first."""
    of_tank = None if kind == "run" else tank
    entries = [e for e in workshop.entries(of_tank)[:400] if e.kind == kind and not isinstance(e, Unknown)]
    plain = [to_plain(e) for e in entries[:40]]
    names = [v["of"] for p in plain for v in p.get("values", ())] + [i["reagent"] for p in plain for i in p.get("items", ())]
    view = workshop.tank(tank) if tank is not None and tank in workshop.world.tanks else None
    to = dict.fromkeys(str(p["to"]) for p in plain if p.get("to"))
    return Facts(workshop.vocabulary, view, plain[0] if plain else {}, tuple(dict.fromkeys([*names, *to])))


def fields_of(kind: str, tank: str | None, known: Facts) -> list[Field]:
    """The fields of a form in the order in which they are asked; the note and the moment come last."""
    asked: list[Field] = []
    for info in msgspec.structs.fields(KINDS[kind]):
        if info.name not in NOT_ASKED:
            asked += _from_type(kind, info.name, info.type, tank, known)
    asked.sort(key=lambda f: not f.leads)
    if kind == "run":  # what hangs on the hooks is said before where it goes
        asked.sort(key=lambda f: 0 if f.key in FIRST_OF_RUN else 1 if f.key.startswith("steps:") else 2)
    asked.append(Field("note", "note", _keyed("note")))
    asked.append(Field("when", "when (else now)", lambda text: [], EXAMPLES["when"]))
    return asked


def _from_type(kind: str, name: str, annotation: Any, tank: str | None, known: Facts) -> Iterator[Field]:
    """One or several fields from a field of an entry type, by what its annotation says."""
    bare, inside = unwrapped(annotation)
    if inside is Step:
        yield from _steps(known)
    elif inside is Part:
        last: Mapping[str, Any] = (known.last.get("parts") or ({},))[0]
        for info in msgspec.structs.fields(Part):
            if info.name not in NOT_ASKED:
                yield _plain_field(info.name, info.type, last, keep=info.name in FIRST_OF_RUN)
    elif inside is Value:
        yield from _values(tank, known)
    elif inside is Item:
        yield from _items(tank, known)
    elif get_origin(bare) is dict:
        yield from _contents(tank, known)
    elif name == "tank":
        wet = [t.name for t in known.vocabulary.tanks.values() if t.in_service and t.role != "dry"]
        wet = [*([""] if kind == "remark" else []), *(wet or list(known.vocabulary.tanks))]
        chosen = tank if tank in wet else wet[0] if wet else ""
        words = (lambda text: [f"tank={text}"]) if kind == "remark" else (lambda text: [text])
        yield Field("tank", "tank", words, choices=tuple(wet), default=chosen, leads=True)
    elif name == "anode":
        names = tuple(known.view.anodes) if known.view is not None else ()
        hint = ", ".join(names) if names else EXAMPLES["anode"]
        yield Field(
            "anode", "anode", lambda text: [text], hint, last=str(known.last.get("anode", "")), leads=True, suggest=names
        )
    else:
        yield _plain_field(name, annotation, known.last, recent=known.recent)


def _plain_field(
    name: str, annotation: Any, last: Mapping[str, Any], keep: bool = False, recent: tuple[str, ...] = ()
) -> Field:
    """A field of its own; ``keep``: it begins with what the last similar entry had."""
    bare, _ = unwrapped(annotation)
    key = WORDS.get(name, trade_word(name))
    label = LABELS.get(key, key.replace("_", " "))
    before = _told(name, last.get(name))
    if get_origin(bare) is Literal:
        choices = tuple(str(a) for a in get_args(bare))
        return Field(name, label, lambda text: [text], choices=choices, default=choices[0] if key != "action" else "weighed")
    if bare is bool:
        return Field(name, label, lambda text: [f"{key}={text}"], choices=("", "yes"))
    if name == "text":
        return Field(name, label, lambda text: [f"text={text}"])
    if name == "to":
        return Field(name, label, _keyed(key), _hint(EXAMPLES["to"], before), last=before, suggest=(*recent, *RESERVED_PLACES))
    unit = next((u for end, u in UNITS.items() if name.endswith(end)), "")
    default = before if keep else ""
    return Field(name, label, _keyed(key), _hint(EXAMPLES.get(key, ""), before), default=default, last=before, unit=unit)


def _steps(known: Facts) -> Iterator[Field]:
    before = {s["tank"]: tell.charge_words(s) for s in known.last.get("steps", ())}
    for tank in in_order(known.vocabulary):
        if not tank.in_service or tank.role == "dry":
            continue
        passed = before.get(tank.name, "")
        example = "6.5A*45min or 4.9Ah" if tank.role in ("plate", "rust removal") else ""
        yield Field(
            f"steps:{tank.name}",
            tank.name,
            _keyed(tank.name),
            example,
            default=passed,
            last=passed,
            unit="min",
            about=tank.name,
        )


def _values(tank: str | None, known: Facts) -> Iterator[Field]:
    recipe = known.vocabulary.catalogue.recipes.get(known.view.recipe or "") if known.view is not None else None
    names: list[str] = list(known.recent)
    if recipe is not None:
        names += [*recipe.readings, *recipe.indicators, *recipe.species, *recipe.conductivity]
    names += ["volume", "temperature", "density"]
    before = {v["of"]: v for v in known.last.get("values", ())}
    units = {n: c.unit for n, c in known.view.species.items()} if known.view is not None else {}
    seen: set[str] = set()
    for name in names:
        plain = plain_name("volume" if name == "level" else name)
        if plain in seen:
            continue
        seen.add(plain)
        shown = "volume" if name == "level" else name
        value = before.get(shown)
        last = (
            ""
            if value is None
            else value["word"]
            if value.get("value") is None
            else f"{figures(value['value'])} {value['unit']}"
        )
        last = last.removesuffix(" pH")
        unit = units.get(shown) or (value or {}).get("unit") or READ_IN.get(shown, "")
        unit = {"verdict": "", "pH": "", "degC": "C"}.get(unit, unit)
        word = shown.replace("_", " ")
        yield Field(f"values:{shown}", "pH" if shown == "ph" else word, _keyed(word), _hint("", last), last=last, unit=unit)


def _items(tank: str | None, known: Facts) -> Iterator[Field]:
    before = {i["reagent"]: f"{figures(i['amount'])} {i['unit']}" for i in known.last.get("items", ())}
    for reagent in fitting_reagents(known):
        unit = {"water": "L", "solid": "g", "liquid": "mL", "additive": "mL"}[reagent.form]
        last = before.get(reagent.name, "")
        title = reagent.title or reagent.name
        yield Field(f"items:{reagent.name}", title, _keyed(reagent.name), _hint("", last), last=last, unit=unit)
    yield Field(f"items:{OTHER}", "something else", _several, "borax=50g; brightener=5mL")


def fitting_reagents(known: Facts) -> list[Reagent]:
    """Reagents for a tank: those used lately, water, then those that bring what its recipe counts."""
    catalogue = known.vocabulary.catalogue
    recipe = catalogue.recipes.get(known.view.recipe or "") if known.view is not None else None
    own = set(recipe.species) if recipe is not None else set()
    fitting = [r for r in catalogue.reagents.values() if own & set(r.brings) or r.additive in own]
    names = [*known.recent, "water", *(r.name for r in fitting)]
    return [catalogue.reagents[n] for n in dict.fromkeys(names) if n in catalogue.reagents]


def _contents(tank: str | None, known: Facts) -> Iterator[Field]:
    recipe = known.vocabulary.catalogue.recipes.get(known.view.recipe or "") if known.view is not None else None
    before = known.last.get("contents", {})
    for name, species in (recipe.species if recipe is not None else {}).items():
        if species.kind == "contaminant":
            continue
        target = f"{figures(species.target)} {species.unit} (the target)" if species.target is not None else ""
        last = f"{figures(before[name])} {species.unit}" if name in before else ""
        yield Field(f"contents:{name}", species.title or name, _keyed(name), target, last=last, unit=species.unit)
    yield Field("reagents", "weighed in", _several, "boric acid=1kg; …")


def unwrapped(annotation: Any) -> tuple[Any, Any]:
    """(the type without None and constraints, what a tuple of it holds or None)."""
    while True:
        if get_origin(annotation) is Annotated:
            annotation = get_args(annotation)[0]
        elif get_origin(annotation) in (Union, types.UnionType):
            annotation = next(a for a in get_args(annotation) if a is not type(None))
        else:
            break
    inside = get_args(annotation)[0] if get_origin(annotation) is tuple else None
    return annotation, inside


def trade_word(name: str) -> str:
    """A field's name without its unit."""
    return next((name.removesuffix(end) for end in UNITS if name.endswith(end)), name)


def in_order(vocabulary: Vocabulary) -> list[TankWord]:
    """The tanks as they stand."""
    return sorted(vocabulary.tanks.values(), key=lambda t: t.place)


def _keyed(key: str) -> Callable[[str], list[str]]:
    return lambda text: [f"{key}={text}"]


def _several(text: str) -> list[str]:
    """Several ``reagent=amount`` parted by semicolons."""
    return [part.strip() for part in text.split(";") if part.strip()]


def _hint(example: str, last: str) -> str:
    return f"last {last}" if last else example


def _told(name: str, value: Any) -> str:
    """A stored value as a person would type it."""
    if value is None or isinstance(value, (bool, list, dict)):
        return ""
    if isinstance(value, float):
        return f"{figures(value)} {next((u for end, u in UNITS.items() if name.endswith(end)), '')}".strip()
    return str(value)


def words_of(fields: Iterable[Field], texts: Mapping[str, str]) -> list[str]:
    """The words of the filled fields, those that lead first."""
    return [word for f in fields if texts.get(f.key, "").strip() for word in f.words(with_unit(texts[f.key].strip(), f.unit))]


def with_unit(text: str, unit: str) -> str:
    """A number alone is taken in the unit that stands beside the field; anything else says its own."""
    return f"{text} {unit}" if unit and re.fullmatch(r"[0-9]+([.,][0-9]+)?", text) else text
