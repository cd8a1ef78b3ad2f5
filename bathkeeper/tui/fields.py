"""The fields of a form, made from the entry types: one for each value, with its label, its words, and what it may be left at.

The text of a field becomes the same words that the command line takes (``bathkeeper.phrases``), so both understand the same.
"""

from __future__ import annotations

import types
from collections.abc import Iterator
from typing import Annotated, Any, Literal, Union, get_args, get_origin

import msgspec

from bathkeeper.catalogue.loader import plain_name
from bathkeeper.catalogue.schema import Reagent
from bathkeeper.entries import KINDS, AnodeAction, Item, LevelMark, Part, Step, Value
from bathkeeper.phrases import spoken
from bathkeeper.tui.field import Field, keyed, several
from bathkeeper.tui.gathering import Facts
from bathkeeper.tui.run_fields import Shape, part_fields, step_fields
from bathkeeper.tui.waste_fields import container_fields
from bathkeeper.units.door import KINDS as UNIT_KINDS
from bathkeeper.units.door import figures

TITLES = {
    "run": "A run through the line",
    "reading": "A reading",
    "addition": "An addition",
    "removal": "Something taken out",
    "make_up": "A make-up: a tank filled fresh",
    "anode": "An anode",
    "treatment": "A treatment",
    "calibration": "A calibration",
    "remark": "A remark",
    "container": "A container of waste",
    "tank": "A tank of the line",
    "definition": "A definition of your own",
    "workshop": "Settings of the workshop",
    "stock": "Something on the shelf",
    "plan": "A plan of your own",
    "snooze": "Something due, put off",
}
NOT_ASKED = {"id", "schema", "typed", "at", "note", "by", "plan", "step", "confirms", "reagents"}
"""Fields of the entry types that a form does not show, or shows at its end (note), or takes inside another field."""
NOT_ASKED_OF = {"run": {"spread"}, "reading": {"run", "runs"}, "remark": {"run"}}
"""Not asked of a kind, unless the entry that is corrected has it."""
WORDS = {
    "mass_before_g": "before",
    "mass_after_g": "after",
    "minutes": "time",
    "working_volume_l": "volume",
    "full_volume_l": "full",
    "place": "order",
    "scale_resolution_g": "scale",
}
LABELS = {
    "mass_before_g": "mass before",
    "mass_after_g": "mass after",
    "to": "where to",
    "all": "all of it",
    "consent": "consent's reference",
    "why": "why it became waste",
    "text": "what you noticed",
    "run": "or a run's parts",
    "what": "what was done",
    "against": "compared with",
    "result": "result",
    "working_volume_l": "working volume",
    "full_volume_l": "full to the brim",
    "level_table": "dip-stick table",
    "surface_dm2": "open surface",
    "place": "place in the line",
    "in_service": "in service",
    "decimal_comma": "decimal comma",
    "date_order": "order of dates",
    "keeper": "household or business",
    "scale_resolution_g": "scale reads to",
    "embrittlement_rule": "rule for baking",
    "of": "what it defines",
    "body": "body",
}
EXAMPLES = {
    "to": "drum-1, sample …",
    "result": "good, dull …",
    "metal": "known by its name",
    "when": "2026-05-01T14:30",
    "defect": "pitting …",
    "consent": "for the sewer",
    "why": "spent, iron …",
    "recipe": "F4 shows them",
    "level_table": "0mm:0L;100mm:12L",
    "country": "such as Germany",
    "currency": "EUR",
    "scale_resolution_g": "0.1 g",
}
OF_KIND = {
    ("treatment", "to"): ("spent mass into", "a container, drum-5"),
    ("treatment", "mass_g"): ("spent mass, wet", "of filter, carbon, sludge"),
}
"""Labels and examples of a field that means something else in one kind."""
CALIBRATION = {"name": "bench-1", "against": "clamp meter", "result": "1.02, or 5.1/5.0", "spread": "0.01"}
TREATMENTS = ("carbon", "peroxide", "zinc dust", "dummy", "filter", "bake")
READ_IN = {"temperature": "C", "volume": "L", "conductivity": "mS/cm", "density": "g/cm3", "voltage": "V"}
OTHER = "other"


def fields_of(kind: str, tank: str | None, known: Facts, shape: Shape | None = None, action: str = "") -> list[Field]:
    """The fields of a form in the order in which they are asked; the note and the moment come last. ``action``: what is done to
    a container, whose form asks only what belongs to that."""
    asked: list[Field] = container_fields(known, action) if kind == "container" else []
    left_out = NOT_ASKED | {n for n in NOT_ASKED_OF.get(kind, set()) if not known.last.get(n) or not known.correcting}
    for info in msgspec.structs.fields(KINDS[kind]):
        if kind != "container" and info.name not in left_out:
            asked += _from_type(kind, info.name, info.type, tank, known, shape or Shape.of(known.last))
    asked.sort(key=lambda f: not f.leads)
    if kind == "run":  # what hangs on the hooks is said before where it goes
        asked.sort(key=lambda f: f.rank)
    if kind != "definition":
        note = str(known.last.get("note") or "")
        asked.append(Field("note", "note", keyed("note"), default=note if known.keeps else "", last=note))
    if known.correcting:
        asked.append(Field("reason", "why corrected", lambda text: [], "misread, logged on the wrong tank …"))
        asked.append(Field("when", "when", lambda text: [], EXAMPLES["when"], default=str(known.last.get("at", ""))))
    elif kind not in ("workshop",):
        asked.append(Field("when", "when (else now)", lambda text: [], EXAMPLES["when"]))
    return asked


def _from_type(kind: str, name: str, annotation: Any, tank: str | None, known: Facts, shape: Shape) -> Iterator[Field]:
    """One or several fields from a field of an entry type, by what its annotation says."""
    bare, inside, optional = unwrapped(annotation)
    if inside is Step:
        yield from step_fields(known, shape)
    elif inside is Part:
        yield from part_fields(known, shape)
    elif inside is Value:
        yield from _values(known)
    elif inside is Item:
        yield from _items(known)
    elif inside is LevelMark:
        rows = spoken.typed_text(known.last, name) or spoken.level_text(list(known.last.get(name) or ()))
        yield _known(Field(name, LABELS[name], keyed(name), EXAMPLES[name], last=rows), known)
    elif name == "units":
        for unit in UNIT_KINDS:
            shown = str((known.last.get("units") or {}).get(unit, ""))
            label, kept = f"{unit.replace('_', ' ')} in", UNIT_KINDS[unit].removeprefix("1")
            hint = f"else {kept}" if kept else "else a plain number"
            yield _known(Field(f"units:{unit}", label, keyed(f"units.{unit}"), hint, last=shown), known)
    elif name == "body":
        yield Field("body", "body", lambda text: [text], last=known.body, default=known.body, long=True)
    elif get_origin(bare) is dict:
        yield from _contents(known)
    elif name == "tank" and kind != "tank":
        yield _tank(kind, tank, known)
    elif name == "run":
        runs = {"": "", **known.runs}
        before = next((label for label, id in runs.items() if id and id == known.last.get("run")), "")
        if len(runs) > 1:
            yield _known(
                Field("run", LABELS["run"], lambda text: [f"run={runs[text]}"], choices=tuple(runs), last=before), known
            )
    else:
        yield _known(_plain_field(kind, name, bare, optional, known), known)


def _known(field: Field, known: Facts) -> Field:
    """The field as it begins: with what it had, where the form is about something that there is already."""
    if not known.keeps:
        return field
    return msgspec.structs.replace(field, default=field.last or (field.choices[0] if field.choices else ""))


def _tank(kind: str, tank: str | None, known: Facts) -> Field:
    wet = [t.name for t in known.vocabulary.tanks.values() if t.in_service and t.role != "dry"]
    wet = wet or list(known.vocabulary.tanks)
    if tank is not None and tank not in wet and tank in known.vocabulary.tanks:
        wet.append(tank)
    nowhere = kind in ("remark", "treatment") or (known.correcting and not known.last.get("tank"))
    wet = [*([""] if nowhere else []), *wet]
    chosen = tank if tank in wet else wet[0] if wet else ""
    words = (lambda text: [f"tank={text}"]) if kind == "remark" else (lambda text: [text])
    return Field("tank", "tank", words, choices=tuple(wet), default=str(chosen), last=str(chosen), leads=True)


def _plain_field(kind: str, name: str, bare: Any, optional: bool, known: Facts) -> Field:
    """A field of its own."""
    value = known.last.get("order" if name == "place" else name)
    key = WORDS.get(name, trade_word(name))
    label = LABELS.get(name, key.replace("_", " "))
    before = spoken.field_text(name, value)
    if not isinstance(value, bool):
        before = (spoken.typed_text(known.last, *typed_keys(kind, name)) if value is not None else "") or before
    example = CALIBRATION.get(name, "") if kind == "calibration" else EXAMPLES.get(name, "")
    if (kind, name) in OF_KIND:
        label, example = OF_KIND[kind, name]
    unit = "" if kind == "calibration" else "g" if name == "spread" else spoken.unit_of(name)
    if name == "what" and kind == "calibration":
        label = "instrument"
    if get_origin(bare) is Literal:
        choices = tuple(str(a) for a in get_args(bare))
        words = keyed(key) if kind in ("tank", "workshop") else lambda text: [text]
        if optional:
            return Field(name, label, words, choices=("", *choices), last=before)
        first = "weighed" if name == "action" else choices[0]
        return Field(name, label, words, choices=choices, default=first, last=before, leads=name in ("what", "of"))
    if bare is bool:
        choices = ("", "yes", "no") if optional else ("yes", "no") if name == "in_service" else ("", "yes")
        said = ("yes" if value is not False else "no") if name == "in_service" else before if before in choices else ""
        return Field(name, label, keyed(key), choices=choices, default=choices[0], last=said)
    if name == "embrittlement_rule":
        rules = tuple(dict.fromkeys(["", *known.rules, *([before] if before else [])]))
        return Field(name, label, keyed(key), choices=rules, last=before)
    if name == "text":
        return Field(name, label, keyed("text"), last=before)
    if name == "anode":
        names = tuple(known.view.anodes) if known.view is not None else ()
        hint = ", ".join(names) if names else "zinc-1"
        return Field(name, name, keyed("anode"), hint, last=before, leads=True, suggest=names)
    if name in ("tank", "name") and kind in ("tank", "workshop", "definition", "calibration"):
        words = (lambda text: [text]) if kind == "definition" else keyed("name")
        suggest = known.names.get(name, ())
        hint = example or ("a name of its own" if kind in ("tank", "definition") else "")
        return Field(name, "name", words, _hint(hint, before), last=before, leads=True, suggest=suggest)
    suggest = TREATMENTS if name == "what" else known.names.get(name, ())
    if name == "what":
        example = ", ".join(TREATMENTS)
    return Field(name, label, keyed(key), _hint(example, before), last=before, unit=unit, suggest=tuple(suggest))


def typed_keys(kind: str, name: str) -> tuple[str, ...]:
    """Under which words an entry keeps what was typed for a field."""
    key = WORDS.get(name, trade_word(name))
    if kind == "anode" and name == "mass_g":
        return (key, *get_args(AnodeAction))
    return (key, name) if name == "minutes" else (key,)


def _values(known: Facts) -> Iterator[Field]:
    recipe = known.recipe
    names: list[str] = list(known.recent)
    if recipe is not None:
        names += [*recipe.readings, *recipe.indicators, *recipe.species, *recipe.conductivity]
    names += ["volume", "temperature", "density"]
    before = {v["of"]: v for v in known.last.get("values", ())}
    units = {n: c.unit for n, c in known.view.species.items()} if known.view is not None else {}
    seen: set[str] = set()
    for name in names:
        shown = "volume" if name == "level" and "level" not in before else name
        plain = plain_name(shown)
        if plain in seen:
            continue
        seen.add(plain)
        value = before.get(shown)
        last = "" if value is None else spoken.typed_text(known.last, shown) or spoken.value_text(value)
        unit = units.get(shown) or (value or {}).get("unit") or READ_IN.get(shown, "")
        unit = {"verdict": "", "pH": "", "degC": "C"}.get(unit, unit)
        word = shown.replace("_", " ")
        yield _known(
            Field(f"values:{shown}", "pH" if shown == "ph" else word, keyed(word), _hint("", last), last=last, unit=unit), known
        )
    yield Field(f"values:{OTHER}", "something else", several, "thickness=8um; panel=good")


def _items(known: Facts) -> Iterator[Field]:
    before = {i["reagent"]: i for i in known.last.get("items", ())}
    for reagent in fitting_reagents(known):
        unit = {"water": "L", "solid": "g", "liquid": "mL", "additive": "mL"}[reagent.form]
        item = before.get(reagent.name)
        last = "" if item is None else spoken.typed_text(known.last, reagent.name) or spoken.amount_text(item)
        title = reagent.title or reagent.name
        yield _known(
            Field(f"items:{reagent.name}", title, keyed(reagent.name), _hint("", last), last=last, unit=unit), known
        )
    yield Field(f"items:{OTHER}", "something else", several, "borax=50g; brightener=5mL")


def fitting_reagents(known: Facts) -> list[Reagent]:
    """Reagents for a tank: those used lately, water, then those that bring what its recipe counts."""
    catalogue = known.vocabulary.catalogue
    own = set(known.recipe.species) if known.recipe is not None else set()
    fitting = [r for r in catalogue.reagents.values() if own & set(r.brings) or r.additive in own]
    names = [*known.recent, *known.first_reagents, *(r.name for r in fitting)]
    return [catalogue.reagents[n] for n in dict.fromkeys(names) if n in catalogue.reagents]


def _contents(known: Facts) -> Iterator[Field]:
    before = known.last.get("contents", {})
    for name, species in (known.recipe.species if known.recipe is not None else {}).items():
        if species.kind == "contaminant" and name not in before:
            continue
        target = f"{figures(species.target)} {species.unit} (the target)" if species.target is not None else ""
        last = f"{spoken.number_text(before[name])} {species.unit}" if name in before else ""
        last = (spoken.typed_text(known.last, name) if last else "") or last
        yield _known(
            Field(f"contents:{name}", species.title or name, keyed(name), target, last=last, unit=species.unit), known
        )
    weighed = "; ".join(f"{i['reagent']}={spoken.amount_text(i)}" for i in known.last.get("reagents", ()))
    yield _known(Field("reagents", "weighed in", several, "boric acid=1kg; …", last=weighed), known)


def unwrapped(annotation: Any) -> tuple[Any, Any, bool]:
    """(the type without None and constraints, what a tuple of it holds or None, whether it may be left unsaid)."""
    optional = False
    while True:
        if get_origin(annotation) is Annotated:
            annotation = get_args(annotation)[0]
        elif get_origin(annotation) in (Union, types.UnionType):
            optional = optional or type(None) in get_args(annotation)
            annotation = next(a for a in get_args(annotation) if a is not type(None))
        else:
            break
    inside = get_args(annotation)[0] if get_origin(annotation) is tuple else None
    return annotation, inside, optional


def trade_word(name: str) -> str:
    """A field's name without its unit."""
    return next((name.removesuffix(end) for end in spoken.UNITS if end[0] == "_" and name.endswith(end)), name)


def _hint(example: str, last: str) -> str:
    return f"last {last}" if last else example
