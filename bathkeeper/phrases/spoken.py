"""Stored values as a person would type them: the way back from an entry to the words of its form.

Where the entry kept what was typed, that is what is given back; else the value in its fixed unit.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from bathkeeper.catalogue.loader import plain_name
from bathkeeper.units.door import figures

UNITS = {"_l": "L", "_kg": "kg", "_g": "g", "_dm2": "dm2", "_c": "C", "_mpa": "MPa", "_ah": "Ah", "minutes": "min"}
"""Ending of a field's name -> the unit that its number is kept in, as a form takes it."""
SAID = {"degC": "C", "pH": "", "verdict": ""}


def typed_text(plain: Mapping[str, Any], *words: str) -> str:
    """What was typed behind one of the words of an entry; nothing when that was not kept."""
    typed: Mapping[str, str] = plain.get("typed") or {}
    wanted = {plain_name(w) for w in words}
    return next((text for key, text in typed.items() if plain_name(key) in wanted), "")


def value_text(value: Mapping[str, Any]) -> str:
    """A value of a reading, with spread and method: ``31 g/L±0.5@edta``."""
    if value.get("value") is None:
        return str(value.get("word", ""))
    unit = SAID.get(value["unit"], value["unit"])
    spread = f"±{number_text(value['spread'])}" if value.get("spread") is not None else ""
    number = number_text(value["value"])
    said = f"{number}{spread} {unit}".strip()
    return said + (f"@{value['method']}" if value.get("method") else "")


def amount_text(item: Mapping[str, Any]) -> str:
    """An amount of a reagent: ``120 g``."""
    return f"{number_text(item['amount'])} {item['unit']}"


def field_text(name: str, value: Any) -> str:
    """A plain field by its name: ``40 L`` of ``volume_l``, ``yes`` of a flag; nothing of what is not said."""
    if value is None or isinstance(value, (list, tuple, dict)):
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, (int, float)):
        return f"{number_text(value)} {unit_of(name)}".strip()
    return str(value)


def unit_of(name: str) -> str:
    """The unit that a field's name carries, as a form takes it."""
    return next((unit for end, unit in UNITS.items() if name.endswith(end)), "")


def level_text(rows: list[Mapping[str, float]]) -> str:
    """A dip-stick table: ``0mm:0L;100mm:12L``."""
    return ";".join(f"{number_text(r['mm'])}mm:{number_text(r['volume_l'])}L" for r in rows)


def step_text(step: Mapping[str, Any]) -> str:
    """A step's stay and charge, with its temperature: ``6.5A*45min@35C``, ``2min``; nothing when neither is known."""
    heat = f"@{number_text(step['temperature_c'])}C" if step.get("temperature_c") is not None else ""
    said = charge_text(step.get("charge"), step.get("minutes"))
    return said + heat if said else ""


def charge_text(charge: Mapping[str, Any] | None, minutes: float | None) -> str:
    """A charge as the forms take it: 6.5A*45min, 4.9Ah, 240mA..210mA*8h, with its spread."""
    time = f"*{number_text(minutes)}min" if minutes is not None else ""
    if not charge:
        return time.removeprefix("*")
    spread, unit = "", "Ah"
    if charge.get("current_a") is not None:
        said, unit = f"{number_text(charge['current_a'])}A{time}", "A"
    elif charge.get("stretches"):
        said = "+".join(f"{number_text(s['current_a'])}A*{number_text(s['minutes'])}min" for s in charge["stretches"])
    elif charge.get("ramp"):
        ramp = charge["ramp"]
        said = f"{number_text(ramp['from_a'])}A..{number_text(ramp['to_a'])}A*{number_text(ramp['minutes'])}min"
    elif charge.get("counter"):
        said = f"{number_text(charge['counter']['start_ah'])}Ah..{number_text(charge['counter']['end_ah'])}Ah{time}"
    else:
        amount = charge["trace"]["charge_ah"] if charge.get("trace") else charge["charge_ah"]
        said = f"{number_text(amount)}Ah{time}"
    if charge.get("spread") is not None:
        spread = f"±{number_text(charge['spread'])}{unit}"
    return said + spread


def number_text(value: float) -> str:
    """A number with every figure that it has, up to twelve; no exponent where it can be helped."""
    text = f"{value:.12g}"
    return text if "e" not in text else figures(value)
