"""What is said at the bench in one line: ``6.5A``, ``12.4Ah``, ``3.2V``, ``35C``, ``41min``; by supply if there are several."""

from __future__ import annotations

import re
from typing import Any

from bathkeeper.runs.live import LiveRun
from bathkeeper.units.door import UnitError, understand
from bathkeeper.units.numerals import Preferences

NAMES = {
    "current": ("current_a", "current", "A"),
    "charge": ("counter_ah", "counter", "Ah"),
    "voltage": ("volts", "voltage", "V"),
    "temperature": ("temperature_c", "temperature", "°C"),
    "time": ("minutes", "time in the tank", "min"),
}
"""Kind of quantity -> field of ``Bench.say``, its word, its unit."""
KINDS = ("current", "voltage", "temperature", "time")
"""What a number without a letter of charge may be."""
EXAMPLE = "6.5A, 12.4Ah, 3.2V, 35C or 41min"
WHENS = ("start", "middle", "end")
APART = re.compile(r"(?<=\d)\s+(?=(?:m?A|m?Ah|m?V|°?[CF]|min|h|s)(?:[\s,;]|$))", re.IGNORECASE)
"""The space in ``6.5 A``."""


class SayingError(ValueError):
    """What was not understood, and what would be right."""


def sayings(text: str, prefs: Preferences, run: LiveRun) -> list[dict[str, Any]]:
    """Fields for ``Bench.say``, one for each supply that is named; what is no number goes into a note.

    Raises:
        SayingError: nothing said, or a number that is none of these.
    """
    supplies = {c.supply.casefold(): c.supply for s in run.stays for c in s.channels if c.supply is not None}
    told: list[dict[str, Any]] = [{}]
    notes: list[str] = []
    for word in APART.sub("", text.replace(";", " ")).split():
        bare = word.rstrip(",").rstrip(":")
        if bare.casefold() in supplies:
            told.append({"supply": supplies[bare.casefold()]})
        elif bare.casefold() in WHENS and not notes:
            told[-1]["counter_when"] = bare.casefold()
        elif bare.casefold() in ("ramp", "drifted") and not notes:
            told[-1]["drifted"] = True
        elif not any(c.isdigit() for c in bare[:2]):
            notes.append(word)
        else:
            try:
                name, value = figure(bare, prefs)
            except UnitError as problem:
                raise SayingError(f"{problem}; say {EXAMPLE}") from None
            if name in told[-1]:
                raise SayingError(f"{bare}: said twice; with several supplies put each one's name before its numbers")
            told[-1][name] = value
    if notes and len(told) == 1 and not told[0] and _looks_like(text):
        raise SayingError(f"`{text.strip()}` is no number with a unit; say {EXAMPLE}, or press n for a note")
    if notes:
        told[-1]["note"] = " ".join(notes)
    told = [t for t in told if t.keys() - {"supply", "counter_when", "drifted"}]
    if not told:
        raise SayingError(f"say {EXAMPLE}")
    for one in told:
        if "counter_when" in one and "counter_ah" not in one:
            raise SayingError(f"{one['counter_when']}: of the counter; write for example {one['counter_when']} 12.4Ah")
        if "drifted" in one and "current_a" not in one:
            raise SayingError("ramp: of the current; write for example ramp 6.5A")
    return told


def _looks_like(text: str) -> bool:
    return any(c.isdigit() for c in text)


def figure(word: str, prefs: Preferences) -> tuple[str, float]:
    """The field of ``Bench.say`` that a number with its unit fills, and the number in the field's unit. Raises UnitError."""
    # 35C is a temperature here: coulombs are on no supply's counter
    value = understand(word, ("charge",) if word.casefold().endswith("ah") else KINDS, prefs)
    return NAMES[value.kind][0], value.value


def echo(told: list[dict[str, Any]]) -> str:
    """What was understood."""
    words = {name: (word, unit) for name, word, unit in NAMES.values()}
    said = []
    for one in told:
        supply = f"{one['supply']}: " if "supply" in one else ""
        drifted = " (went there evenly)" if one.get("drifted") else ""
        when = f" at the {one['counter_when']}" if "counter_when" in one else ""
        for name, value in one.items():
            if name in words:
                word, unit = words[name]
                more = drifted if name == "current_a" else when if name == "counter_ah" else ""
                said.append(f"{supply}{word} {value:g} {unit}{more}")
            elif name == "note":
                said.append(f"note: {value}")
    return "; ".join(said)
