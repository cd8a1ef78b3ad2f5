"""An entry told in a sentence, and in full."""

from __future__ import annotations

import json
from typing import Any

from bathkeeper.entries import AnyEntry, Unknown, to_plain
from bathkeeper.units import figures
from bathkeeper.workshop import NotFound, Workshop

KINDS = {
    "make_up": "make-up",
    "workshop": "workshop",
    "tank": "tank",
    "definition": "definition",
    "run": "run",
    "reading": "reading",
    "addition": "addition",
    "removal": "taken out",
    "anode": "anode",
    "calibration": "calibration",
    "remark": "remark",
    "correction": "correction",
}


def sentence(entry: AnyEntry | Unknown) -> str:
    """When, what kind and what, in one line as long as it needs to be."""
    return f"{entry.at:%d %b %Y %H:%M}  {KINDS.get(entry.kind, entry.kind)}: {words(entry)}"


def words(entry: AnyEntry | Unknown) -> str:
    """What an entry says, without when and what kind."""
    if isinstance(entry, Unknown):
        return "of a kind that this version does not know; kept as it is"
    plain = to_plain(entry)
    said = _SAID.get(entry.kind, _generic)(plain)
    return f"{said} ({plain['note']})" if plain.get("note") else said


def by_id(workshop: Workshop, id: str) -> str:
    """An entry in force by its id, in a sentence."""
    try:
        return sentence(workshop.entry(id))
    except NotFound:
        return f"entry {id}, not in force any more"


def in_full(workshop: Workshop, id: str) -> tuple[str, str]:
    """(title, every field as stored) of an entry. Raises NotFound."""
    entry = workshop.entry(id)
    plain = entry.raw if isinstance(entry, Unknown) else to_plain(entry)
    line = workshop.book.line_of(id)
    where = f"line {line} of {workshop.book.path}"
    return sentence(entry), f"{where}\n\n{json.dumps(plain, ensure_ascii=False, indent=2)}"


def _amount(value: float, unit: str) -> str:
    return f"{figures(value)} {unit}"


def _of_values(plain: dict[str, Any]) -> str:
    said = [
        f"{'pH' if v['of'] == 'ph' else v['of'].replace('_', ' ')} "
        + (
            v["word"]
            if v.get("value") is None
            else figures(v["value"])
            if v["unit"] == "pH"
            else _amount(v["value"], v["unit"])
        )
        for v in plain.get("values", ())
    ]
    confirms = ["confirms an earlier reading"] if plain.get("confirms") else []
    return ", ".join(said + confirms)


def _of_run(plain: dict[str, Any]) -> str:
    parts = ", ".join(p["description"] + (f" × {p['count']}" if p.get("count", 1) > 1 else "") for p in plain.get("parts", ()))
    area = sum(p.get("area_dm2") or 0.0 for p in plain.get("parts", ()))
    charged = [f"{s['tank']} {charge_words(s)}" for s in plain["steps"] if "charge" in s or "branches" in s]
    through = ", ".join(charged) or " > ".join(s["tank"] for s in plain["steps"])
    result = f"; {plain['result']}" if plain.get("result") else ""
    return " · ".join([w for w in (parts, _amount(area, "dm²") if area else "", through) if w]) + result


def charge_words(step: dict[str, Any]) -> str:
    """A step's stay and charge as the forms take it: 6.5A*45min, 4.9Ah, 2min; nothing when neither is known."""
    charge, minutes = step.get("charge"), step.get("minutes")
    minutes = float(minutes) if minutes is not None else None
    if step.get("branches"):
        return f"{len(step['branches'])} branches"
    if not charge:
        return f"{figures(minutes)}min" if minutes is not None else ""
    if charge.get("current_a") is not None and minutes is not None:
        return f"{figures(charge['current_a'])}A*{figures(minutes)}min"
    if charge.get("stretches"):
        return "+".join(f"{figures(s['current_a'])}A*{figures(s['minutes'])}min" for s in charge["stretches"])
    if charge.get("ramp"):
        ramp = charge["ramp"]
        return f"{figures(ramp['from_a'])}A..{figures(ramp['to_a'])}A*{figures(ramp['minutes'])}min"
    if charge.get("counter"):
        return f"{figures(charge['counter']['start_ah'])}Ah..{figures(charge['counter']['end_ah'])}Ah"
    amount = charge["trace"]["charge_ah"] if charge.get("trace") else charge["charge_ah"]
    return f"{figures(amount)}Ah"


def _of_items(plain: dict[str, Any]) -> str:
    return ", ".join(f"{i['reagent']} {_amount(i['amount'], i['unit'])}" for i in plain["items"])


def _of_make_up(plain: dict[str, Any]) -> str:
    held = [f"{n} {figures(v)}" for n, v in plain.get("contents", {}).items()]
    weighed = [f"{i['reagent']} {_amount(i['amount'], i['unit'])}" for i in plain.get("reagents", ())]
    return ", ".join([f"filled fresh, {_amount(plain['volume_l'], 'L')}", *held, *weighed])


def _of_removal(plain: dict[str, Any]) -> str:
    how_much = "all of it" if plain.get("all") else _amount(plain["volume_l"], "L")
    return how_much + (f" to {plain['to']}" if plain.get("to") else "")


def _of_anode(plain: dict[str, Any]) -> str:
    return f"{plain['anode']} {plain['action']}" + (f", {_amount(plain['mass_g'], 'g')}" if "mass_g" in plain else "")


def _generic(plain: dict[str, Any]) -> str:
    hidden = ("kind", "schema", "id", "at", "typed", "note")
    return ", ".join(f"{k.replace('_', ' ')} {v}" for k, v in plain.items() if k not in hidden)


_SAID: dict[str, Any] = {
    "reading": _of_values,
    "run": _of_run,
    "addition": _of_items,
    "make_up": _of_make_up,
    "removal": _of_removal,
    "anode": _of_anode,
    "remark": lambda p: p["text"] + (f" [{p['defect']}]" if p.get("defect") else ""),
}
