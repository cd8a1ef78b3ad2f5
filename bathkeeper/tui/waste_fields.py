"""The fields of a container's entry: only those that belong to what is done to it, papers of a hand-over one by one."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, get_args, get_type_hints

import msgspec

from bathkeeper.catalogue.loader import CatalogueError
from bathkeeper.entries import CONTAINER_ACTIONS, WASTE_KINDS, Container, Papers
from bathkeeper.entries.waste import BELONGS
from bathkeeper.phrases import spoken
from bathkeeper.phrases.reading import QUANTITIES
from bathkeeper.tui.field import Field, Texts, keyed, several
from bathkeeper.tui.gathering import Facts

ACTION = "action"
HEAD = ("container", ACTION)
OTHER = "other"
ALWAYS_ASIDE = {"id", "schema", "typed", "at", "note", "by"}
LABELS: Mapping[str, str] = {
    "what": "what",
    "form": "kind of vessel",
    "size_l": "it takes up to",
    "place": "where it stands",
    "volume_l": "how much, litres",
    "mass_kg": "how much, weighed",
    "spread": "give or take",
    "all": "all of it",
    "pieces": "pieces",
    "why": "why it became waste",
    "physical_form": "physical form",
    "colour": "colour",
    "tank": "from which tank",
    "to": "where to",
    "consent": "consent's reference",
    "lid": "lid closed",
    "label": "label on, and right",
    "tray": "stands in a tray",
    "sound": "sound, no leak",
    "codes": "codes on the label",
    "hazards": "hazards on it",
    "by_lab": "which laboratory",
    "treatment": "how",
    "reference": "paper's reference",
    "receipt": "receipt",
    "receipt_at": "receipt of",
    "of": "of which hand-over",
}
OF_ACTION: Mapping[tuple[str, str], str] = {
    ("treated", "volume_l"): "water driven off",
    ("handed over", "to"): "to whom",
    ("opened", "what"): "in it already",
    ("opened", "volume_l"): "of it, litres",
    ("opened", "mass_kg"): "of it, weighed",
    ("put in", "what"): "what went in",
    ("handed over", "codes"): "codes told",
    ("handed over", "hazards"): "hazards told",
    ("tested", "by_lab"): "lab, if any",
}
EXAMPLES: Mapping[str, str] = {
    "form": "drum, can, IBC …",
    "place": "under the bench",
    "spread": "0.5 L, or 0.2 kg",
    "codes": "two with a comma",
    "hazards": "HP 8, HP 14",
    "treatment": "neutralised …",
    "consent": "for the sewer",
    "why": "spent, iron …",
    "physical_form": "liquid, sludge …",
    "colour": "green, clear …",
    "reference": "H-17",
    "receipt": "once it has come",
    "receipt_at": "else today",
    "of": "its entry's id",
}
PAPER_LABELS: Mapping[str, str] = {
    "carrier": "carried by",
    "carrier_registration": "carrier's number",
    "vehicle": "vehicle",
    "destination": "taken to",
    "permit": "its permit",
    "treatment_code": "recovery / disposal",
    "un_number": "UN number",
    "shipping_name": "shipping name",
    "transport_class": "transport class",
    "packing_group": "packing group",
    "pops": "lasting pollutants",
    "hierarchy": "waste order kept",
    "weighed": "weighed",
    "signed_by": "signed by",
    "received_by": "received by",
    "refused": "refused, and why",
}
LIKE_LAST = (
    "what", "form", "size_l", "place", "tank", "to", "lid", "label", "tray", "sound", "by_lab", "treatment",
)  # fmt: skip
"""What an entry may have in common with the last of its kind; amounts, codes, references and receipts it has not."""
OF_ONE_LOAD = ("weighed", "signed_by", "received_by", "refused")
"""Of the papers, what holds for one load alone."""
PAPERS_FIRST = ("to", "reference")
"""Asked before the amounts of a hand-over, as a paper has them at its head."""
LOOKS = ("liquid", "sludge", "powder", "solid", "mixed")
VESSELS = ("drum", "can", "IBC", "bucket", "bag", "box")
TREATMENTS = ("neutralised", "precipitated", "settled", "filtered", "evaporated")
BASES = ("calcium hydroxide", "sodium carbonate", "sodium hydroxide")
TESTED = ("ph", "density", "temperature")
UNIT_OF = {"ph": "", "density": "g/cm3", "temperature": "C"}
METAL_UNIT = "mg/L"


def action_of(known: Facts, action: str) -> str:
    """What the form is about: what was chosen, what the entry to be corrected says, or opening a container."""
    told = action or (str(known.last.get(ACTION) or "") if known.keeps else "")
    return told if told in CONTAINER_ACTIONS else CONTAINER_ACTIONS[0]


def container_fields(known: Facts, action: str = "") -> list[Field]:
    """The fields of ``action``, as the entry type has them; what is done stands first, then the container."""
    doing = action_of(known, action)
    hints = get_type_hints(Container)
    fields: list[Field] = []
    for info in msgspec.structs.fields(Container):
        if info.name in ALWAYS_ASIDE or not belongs(info.name, doing):
            continue
        if info.name == "values":
            fields += _values(known)
        elif info.name == "items":
            fields += _items(known, doing)
        elif info.name == "papers":
            fields += _papers(known)
        else:
            fields.append(_begun(_one(info.name, hints[info.name], doing, known), known))
    order = {ACTION: 0, "container": 1}
    if doing == "handed over":
        order |= dict.fromkeys(PAPERS_FIRST, 2)
    return sorted(fields, key=lambda f: order.get(f.key, 3))


def belongs(name: str, action: str) -> bool:
    """Whether a field is asked of an action."""
    if name == "spread":
        return action in BELONGS["volume_l"] or action in BELONGS["mass_kg"]
    if name == "receipt_at":
        return action in BELONGS["receipt"]
    return name not in BELONGS or action in BELONGS[name]


def _begun(field: Field, known: Facts) -> Field:
    """It begins as the entry that is corrected has it; of any other entry the last one is only offered."""
    return msgspec.structs.replace(field, default=field.last or field.default) if known.keeps else field


def _head(texts: Texts) -> list[str]:
    """The name comes first, whatever signs are in it, then what was done."""
    name = [f"container={texts['container']}"] if "container" in texts else []
    return [*name, *([texts[ACTION].replace(" ", "-")] if ACTION in texts else [])]


def _nothing(text: str) -> list[str]:
    return []


def _one(name: str, hint: Any, action: str, known: Facts) -> Field:
    """A field of its own."""
    last = known.last if known.keeps else known.before.get(action, {}) if name in LIKE_LAST else {}
    value = last.get(name)
    label = OF_ACTION.get((action, name), LABELS.get(name, name))
    if name in HEAD:
        if name == ACTION:
            what = Field(ACTION, "what was done", _nothing, choices=CONTAINER_ACTIONS, default=action, last=action)
            return msgspec.structs.replace(what, group="head", together=_head, leads=True)
        offered = known.names.get("container", ())
        hint_text = ", ".join(offered[:3]) or "a name of its own, drum-1"
        which = Field("container", "container", _nothing, hint_text, last=str(value or ""), suggest=offered)
        return msgspec.structs.replace(which, group="head", together=_head, leads=True)
    if name == "what":
        return Field(name, label, keyed(name), choices=("", *WASTE_KINDS), last=str(value or ""))
    if name == "tank":
        tanks = known.names.get("tank", ())
        before = [str(value)] if value and value not in tanks else []
        return Field(name, label, keyed(name), choices=("", *tanks, *before), last=str(value or ""))
    if bool in (hint, *get_args(hint)):
        choices = ("", "yes") if name == "all" and value is not False else ("", "yes", "no")
        return Field(name, label, keyed(name), choices=choices, last=spoken.field_text(name, value))
    if name in ("codes", "hazards"):
        offered = known.names.get(name, ())
        return Field(name, label, keyed(name), EXAMPLES[name], last=", ".join(value or ()), suggest=offered)
    word = {"by_lab": "lab"}.get(name, name.removesuffix("_l").removesuffix("_kg"))
    typed = spoken.typed_text(last, word) if value is not None else ""
    said = typed or _said(name, value, last)
    if name in ("to", "form", "physical_form", "treatment", "place"):
        told = known.names.get(f"{action}:{name}", known.names.get(name, ()))
        ready = {"form": VESSELS, "physical_form": LOOKS, "treatment": TREATMENTS}.get(name, told)
        hint_text = EXAMPLES.get(name, "") or ", ".join(ready[:2]) or "a name"
        return Field(name, label, keyed(word), hint_text, last=said, suggest=ready)
    hint_text = EXAMPLES.get(name, "")
    if name == "reference" and (papers := known.names.get("reference", ())):
        hint_text = f"as on the paper; the last one was {papers[0]}"
    return Field(name, label, keyed(word), hint_text, last=said, unit=spoken.unit_of(name))


def _said(name: str, value: Any, last: Mapping[str, Any]) -> str:
    if name == "spread" and value is not None:
        return f"{spoken.number_text(value)} {'L' if last.get('volume_l') is not None else 'kg'}"
    return spoken.field_text(name, value)


def _values(known: Facts) -> Iterator[Field]:
    before = {v["of"]: v for v in known.last.get("values", ())} if known.keeps else {}
    words = known.vocabulary
    readable = {*QUANTITIES, *words.all_species, *words.catalogue.metals}
    for name in dict.fromkeys((*before, *TESTED[:1], *known.names.get("held", ()), *known.recent, *TESTED[1:])):
        if name not in readable:  # an entry may hold what no form can say: it stays as it is
            continue
        value = before.get(name)
        last = "" if value is None else spoken.typed_text(known.last, name) or spoken.value_text(value)
        unit = (value or {}).get("unit") or UNIT_OF.get(name, METAL_UNIT)
        unit = {"verdict": "", "pH": "", "degC": "C"}.get(unit, unit)
        word = name.replace("_", " ")
        label = "pH" if name == "ph" else word
        yield _begun(Field(f"values:{name}", label, keyed(word), last=last, unit=unit), known)
    yield Field(f"values:{OTHER}", "something else", several, "iron=3g/L; cadmium=1mg/L")


def _items(known: Facts, action: str) -> Iterator[Field]:
    before = {i["reagent"]: i for i in known.last.get("items", ())} if known.keeps else {}
    for name in dict.fromkeys((*before, *(BASES if action == "treated" else ()))):
        try:
            reagent = known.vocabulary.catalogue.reagent(name)
        except CatalogueError:  # an entry may hold what no catalogue knows: it stays as it is
            continue
        if name not in before and reagent.name in before:
            continue
        item = before.get(name)
        last = "" if item is None else spoken.typed_text(known.last, name) or spoken.amount_text(item)
        unit = "g" if reagent.form == "solid" else "mL"
        yield _begun(Field(f"items:{name}", reagent.title or name, keyed(name), last=last, unit=unit), known)
    if action == "treated":
        yield Field(f"items:{OTHER}", "something else", several, "sodium metabisulfite=50g")
    else:
        yield Field(f"items:{OTHER}", "chemicals by name", several, "hydrogen peroxide=2L; old cleaner=1L")


def _papers(known: Facts) -> Iterator[Field]:
    last = known.last if known.keeps else known.before.get("handed over", {})
    before: Mapping[str, Any] = last.get("papers") or {}
    for name, hint in get_type_hints(Papers).items():
        told = spoken.field_text(name, before.get(name)) if known.keeps or name not in OF_ONE_LOAD else ""
        yes_or_no = bool in (hint, *get_args(hint))
        choices = ("", "yes", "no") if yes_or_no else ()
        yield _begun(Field(f"papers:{name}", PAPER_LABELS[name], keyed(name), choices=choices, last=told), known)
