"""An entry told: in one line what happened, to what, how much; and field by field."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from bathkeeper.entries import (
    Addition,
    Anode,
    AnyEntry,
    Calibration,
    Charge,
    Container,
    Correction,
    Definition,
    Item,
    MakeUp,
    Plan,
    PlanStep,
    Reading,
    Remark,
    Removal,
    Run,
    Snooze,
    Step,
    Stock,
    Tank,
    Treatment,
    Unknown,
    Value,
    Workshop,
    tanks_of,
)
from bathkeeper.showing import shown, shown_day
from bathkeeper.units.numerals import Preferences

NO_HABITS = Preferences()
SHORT_ID = 8
"""The last signs of an id: in a UUID of version 7 they are random, the first only tell the time."""
KIND_WORDS = {"make_up": "make-up", "removal": "taken out"}
"""What a kind is called where its own name is no word of the trade."""


def sentence(entry: AnyEntry | Unknown, prefs: Preferences = NO_HABITS) -> str:
    """``reading electrolyte: zinc 31 g/L (first of the day)``: kind, where, what and note, without the moment."""
    where = sorted(tanks_of(entry)) if entry.kind != "run" else []
    kind = KIND_WORDS.get(entry.kind, entry.kind)
    return f"{' '.join([kind, ', '.join(where)]).strip()}: {what(entry, prefs)}"


def what(entry: AnyEntry | Unknown, prefs: Preferences = NO_HABITS) -> str:
    """The headline with the entry's note."""
    note = f" ({entry.note})" if not isinstance(entry, Unknown) and entry.note else ""
    return headline(entry, prefs) + note


def standing(logged: AnyEntry | Unknown, corrections: Sequence[Correction], in_force: AnyEntry | Unknown | None) -> str:
    """``withdrawn``, ``corrected``, or nothing for an entry that holds as it was logged."""
    if in_force is None:
        return "withdrawn"
    return "corrected" if corrections and in_force != logged else ""


def leaves(raw: dict[str, Any]) -> list[tuple[str, str]]:
    """Every leaf of a plain entry with its path, such as ``steps 2 minutes``; without kind and schema."""
    return [(name, text) for name, text in _flat(raw) if name not in ("kind", "schema")]


def _flat(value: Any, name: str = "") -> list[tuple[str, str]]:
    if isinstance(value, dict):
        return [leaf for key, item in value.items() for leaf in _flat(item, f"{name} {key}".strip())]
    if isinstance(value, (list, tuple)):
        if all(not isinstance(item, (dict, list, tuple)) for item in value):
            return [(name, ", ".join(_leaf(item) for item in value))]
        return [leaf for number, item in enumerate(value, start=1) for leaf in _flat(item, f"{name} {number}")]
    return [(name, _leaf(value))]


def _leaf(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:.12g}" if isinstance(value, float) else str(value)


def headline(entry: AnyEntry | Unknown, prefs: Preferences = NO_HABITS) -> str:
    """One line of an entry, without its moment, tank and kind; may hold text as people typed it."""
    match entry:
        case Workshop():
            said = entry.name
        case Tank():
            size = [shown(entry.working_volume_l, "L", prefs)] if entry.working_volume_l else []
            recipe = f" by {entry.recipe}" if entry.recipe else ""
            said = ", ".join([entry.role + recipe, *size, *([] if entry.in_service else ["out of service"])])
        case Definition():
            said = f"{entry.of} {entry.name}"
        case MakeUp():
            contents = [f"{n} {shown(v, 'g/L', NO_HABITS).removesuffix(' g/L')}" for n, v in entry.contents.items()]
            said = ", ".join([shown(entry.volume_l, "L", prefs), *contents, *_items(entry.reagents, prefs)])
        case Run():
            said = _run(entry, prefs)
        case Reading():
            loads = [f"of {len(entry.runs)} loads together"] if entry.runs else []
            said = ", ".join([*(_value(v, prefs) for v in entry.values), *loads, *_confirmed(entry)])
        case Addition():
            said = ", ".join(_items(entry.items, prefs))
        case Removal():
            amount = "everything" if entry.all else shown(entry.volume_l or 0.0, "L", prefs)
            said = amount + (f" to {entry.to}" if entry.to else "") + (f": {entry.why}" if entry.why else "")
        case Anode():
            mass = f" {shown(entry.mass_g, 'g', prefs)}" if entry.mass_g is not None else ""
            said = f"{entry.anode} {entry.action}{mass}" + (", brushed" if entry.brushed else "")
        case Treatment():
            put_in = ", ".join(_items(entry.items, prefs))
            charge = shown(entry.charge_ah, "Ah", prefs) if entry.charge_ah else ""
            heat = f"{shown(entry.temperature_c, 'degC', prefs)}" if entry.temperature_c is not None else ""
            time = f"{entry.minutes:g} min" if entry.minutes is not None else ""
            said = ", ".join(x for x in (entry.what, put_in, charge, heat, time) if x)
        case Calibration():
            said = f"{entry.what} {entry.name} reads {shown(entry.result, '', prefs)} times {entry.against}"
        case Remark():
            told = _outcome(entry)
            said = entry.text if not told or entry.text == told else f"{told}: {entry.text}"
        case Container():
            said = _container(entry, prefs)
        case Stock():
            said = _stock(entry, prefs)
        case Plan():
            said = _plan(entry, prefs)
        case Snooze():
            said = f"{entry.finding} put off until {shown_day(entry.until)}: {entry.reason}"
        case Correction():
            said = f"{'withdraws' if entry.withdraw else 'corrects'} {entry.corrects[-8:]}: {entry.reason}"
        case _:
            said = "of a kind that this version does not know"
    return said


def item_words(items: Sequence[Item], prefs: Preferences = NO_HABITS) -> str:
    """``zinc chloride 120 g, water 1 L``."""
    return ", ".join(_items(items, prefs))


def value_words(values: Sequence[Value], prefs: Preferences = NO_HABITS) -> str:
    """``zinc 31 g/L, pH 5.4``."""
    return ", ".join(_value(v, prefs) for v in values)


def _items(items: Sequence[Item], prefs: Preferences) -> list[str]:
    return [f"{i.reagent} {shown(i.amount, i.unit, prefs)}" for i in items]


def _value(value: Value, prefs: Preferences) -> str:
    title = "pH" if value.of == "ph" else value.of.replace("_", " ")
    return f"{title} {value.word if value.value is None else shown(value.value, value.unit, prefs)}"


def _confirmed(reading: Reading) -> list[str]:
    if isinstance(reading.confirms, bool):
        return ["confirmed"] if reading.confirms else []
    return [f"confirms {', '.join(i[-8:] for i in reading.confirms)}"] if reading.confirms else []


def _run(run: Run, prefs: Preferences) -> str:
    load = ", ".join((f"{p.count} " if p.count > 1 else "") + p.description for p in run.parts)
    area = f" ({shown(run.area_dm2, 'dm2', prefs)})" if run.area_dm2 else ""
    charged = [f"{s.tank} {told}" for s in run.steps if (told := _charges(s, prefs))]
    through = ", ".join(charged) or " > ".join(s.tank for s in run.steps)
    outcome = _outcome(run)
    return f"{load or 'load'}{area}: {through}" + (f"; {outcome}" if outcome else "")


def _outcome(entry: Run | Remark) -> str:
    """``good``, ``dull, 2 rejects, photo IMG_0412.jpg``: what became of a run, as this entry says; else nothing."""
    rejects = "" if entry.rejects is None else "1 reject" if entry.rejects == 1 else f"{entry.rejects or 'no'} rejects"
    photos = f"photo {', '.join(entry.photos)}" if entry.photos else ""
    defect = (entry.defect or "").replace("_", " ")
    return ", ".join(w for w in (entry.result or "", defect, rejects, photos) if w)


def _container(entry: Container, prefs: Preferences) -> str:
    """``drum-1 handed over, everything to county collection point, reference H-17``."""
    amounts = ["everything"] if entry.all else []
    amounts += [shown(entry.volume_l, "L", prefs)] if entry.volume_l is not None else []
    amounts += [shown(entry.mass_kg, "kg", prefs)] if entry.mass_kg is not None else []
    amounts += [f"{entry.pieces} pieces"] if entry.pieces is not None else []
    answers = {n: getattr(entry, n) for n in ("lid", "label", "tray", "sound")}
    checks = [f"{n} {'yes' if told else 'no'}" for n, told in answers.items() if told is not None]
    words = [
        " ".join(w for w in (entry.container, entry.action, entry.what or entry.treatment or entry.form or "") if w),
        *checks,
        *(_value(v, prefs) for v in entry.values),
        *_items(entry.items, prefs),
        " ".join([*amounts, *([f"to {entry.to}"] if entry.to else [])]),
        *(w for w in (entry.physical_form, entry.colour, entry.why) if w),
        *([f"codes {', '.join(entry.codes)}"] if entry.codes else []),
        *([f"reference {entry.reference}"] if entry.reference else []),
        *([f"receipt {entry.receipt}"] if entry.receipt else []),
        *([f"refused: {entry.papers.refused}"] if entry.papers is not None and entry.papers.refused else []),
    ]
    return ", ".join(w for w in words if w)


def _stock(entry: Stock, prefs: Preferences) -> str:
    what = entry.reagent if entry.what == "reagent" else f"{entry.reagent} ({entry.what})"
    lot = f", lot {entry.lot}" if entry.lot else ""
    price = f" for {entry.price:g}" if entry.price is not None else ""
    return f"{what} {entry.action} {shown(entry.amount, entry.unit, prefs)}{price}{lot}"


def _plan(entry: Plan, prefs: Preferences) -> str:
    given_up = f"gives up {entry.dropped[-SHORT_ID:]}" if entry.dropped else ""
    steps = "; ".join(_plan_step(s, prefs) for s in entry.steps)
    return f"to {entry.purpose}" + "".join(f": {w}" for w in (given_up, steps) if w)


def _plan_step(step: PlanStep, prefs: Preferences) -> str:
    amount = shown(step.amount, step.unit or "", prefs) if step.amount is not None else ""
    return " ".join(w for w in (f"{step.step}", step.action, step.reagent or step.of or "", amount) if w)


def _charges(step: Step, prefs: Preferences) -> str:
    charges = [step.charge] if step.charge is not None else [b.charge for b in step.branches]
    return " + ".join(charge_text(c, step.minutes, prefs) for c in charges)


def charge_text(charge: Charge, minutes: float | None, prefs: Preferences = NO_HABITS) -> str:
    """A charge in the way that it was told, such as ``7 A for 40 min``."""
    if charge.charge_ah is not None:
        return shown(charge.charge_ah, "Ah", prefs)
    if charge.current_a is not None:
        return f"{shown(charge.current_a, 'A', prefs)} for {shown(minutes or 0.0, 'min', prefs)}"
    if charge.stretches is not None:
        return " + ".join(f"{shown(s.current_a, 'A', prefs)} for {shown(s.minutes, 'min', prefs)}" for s in charge.stretches)
    if charge.ramp is not None:
        r = charge.ramp
        return f"{shown(r.from_a, 'A', prefs)} to {shown(r.to_a, 'A', prefs)} over {shown(r.minutes, 'min', prefs)}"
    if charge.counter is not None:
        return f"counter {shown(charge.counter.start_ah, 'Ah', prefs)} to {shown(charge.counter.end_ah, 'Ah', prefs)}"
    return f"{shown(charge.trace.charge_ah, 'Ah', prefs)} by trace" if charge.trace is not None else ""
