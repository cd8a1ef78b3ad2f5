"""What a unit text can mean: every reading of ``oz/gal``, ``M``, ``% w/w`` or ``degBe`` in the kinds of value allowed.

Looks words up in ``unit_words.py`` and leaves gallons and ounces open unless the workshop says which; ``door.py`` turns one
meaning into a number.
"""

from __future__ import annotations

import functools
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from bathkeeper.units.numerals import Preferences, UnitError
from bathkeeper.units.words import (
    ATOMS,
    COMPOUND,
    COMPOUND_FOR,
    FIXED_EXPR,
    LABELS,
    MEASURES,
    OUNCES,
    PERCENT,
    SHAPES,
    SYSTEMS,
)

KINDS: dict[str, str] = {
    "volume": "L", "mass": "g", "area": "dm2", "charge": "Ah", "current": "A", "current_density": "A/dm2",
    "temperature": "degC", "time": "min", "thickness": "um", "length": "mm", "concentration": "g/L", "additive": "mL/L",
    "strength": "MPa", "ph": "pH", "gravity": "g/cm3", "voltage": "V", "conductivity": "mS/cm", "fraction": "1",
    "areal_mass": "g/dm2", "flow": "L/h",
}

BAUME_MODULUS = 145.0
"""degBe = modulus - modulus/SG, for liquids heavier than water; 145 is usual in US trade (others: 144, 144.38, 146.78)."""


@dataclass(frozen=True)
class Unit:
    """One meaning of a unit text: ``expr`` in names of units.txt, to be turned into ``target``, and that by ``bridge`` into the
    fixed unit of its kind."""

    kind: str
    label: str
    expr: str
    target: str
    bridge: str = ""
    note: str = ""
    modulus: float = BAUME_MODULUS


_SIGNS = (
    ("µμ", "u"), ("²", "2"), ("³", "3"), ("℃", "degC"), ("℉", "degF"), ("°º", "deg"), ("″“”", '"'), ("′’", "'"), ("éÉ", "e"),
    ("⁻−", "-"), ("\u2044÷", "/"),
)


def cleaned_text(text: str) -> str:
    """A unit text in one plain spelling: ASCII signs, no spaces, dots, hyphens, carets or multiplication signs."""
    for signs, ascii_sign in _SIGNS:
        for sign in signs:
            text = text.replace(sign, ascii_sign)
    text = re.sub(r"\s+per\s+", "/", text, flags=re.IGNORECASE).replace("**", "^")
    return re.sub(r"[\s.^_*·⋅•×()\u00a0-]+", "", text).replace("''", '"')


@functools.cache
def spellings(dimension: str) -> dict[str, str]:
    """Every spelling of a dimension's units -> its name in units.txt."""
    table = {}
    for name, words in ATOMS[dimension].items():
        for word in words.split():
            table[cleaned_text(word)] = name
            if len(word) > 3 and word.isalpha() and not word.endswith("s"):
                table[f"{word}s"] = name
    if dimension == "volume":
        for system, (_, before) in SYSTEMS.items():
            for measure, (short, others) in MEASURES.items():
                for word in (cleaned_text(short), *others.split()):
                    for mark in before.split():
                        for spelled in (mark + word, word + mark, f"{mark}{word}s", f"{word}s{mark}"):
                            table[spelled] = f"{system}_{measure}"
    return table


@functools.cache
def _folded(dimension: str) -> dict[str, str]:
    return {word.casefold(): name for word, name in spellings(dimension).items()}


def atom_name(word: str, dimension: str) -> str | None:
    """The name in units.txt: exact spelling first, then without regard to case, except that a leading m (milli) and M (mega)
    are never taken for one another in a symbol."""
    table = spellings(dimension)
    if word in table:
        return table[word]
    name = _folded(dimension).get(word.casefold())
    if name is None:
        return None
    symbol = cleaned_text(label_of(name))
    prefixed = symbol[0] in "mM" and len(symbol) > 1 and symbol not in ("min", "mil")
    return None if prefixed and symbol.casefold() == word.casefold() and word[0] != symbol[0] else name


def label_of(name: str) -> str:
    for system, (mark, _) in SYSTEMS.items():
        if name.startswith(f"{system}_"):
            return f"{mark} {MEASURES[name.removeprefix(f'{system}_')][0].replace('_', ' ')}"
    for units in ATOMS.values():
        if name in units:
            symbol = units[name].split()[0].replace("_", " ").translate({ord("2"): "²", ord("3"): "³"})
            return re.sub("^u(?=[mALgS]$)", "µ", symbol)
    return name


@functools.cache
def _loose(word: str) -> str | None:
    """gallon, quart, pint or fluid_ounce, when the word leaves open whose."""
    for measure, (short, others) in MEASURES.items():
        spellings = {cleaned_text(short), *others.split()} - {"g"}
        if word.casefold().removesuffix("s") in spellings or word.casefold() in spellings:
            return measure
    return None


def _names(word: str, dimension: str, compound: bool, prefs: Preferences) -> Iterator[str]:
    """The meanings of one word in a dimension, before it is known which gallon and ounce; ``*`` stands for the system."""
    if (name := atom_name(word, dimension)) is not None:
        yield name
    elif dimension == "volume" and (measure := _loose(word)):
        yield f"*_{measure}"
    elif word.casefold() in OUNCES:
        if dimension == "volume" and (compound or prefs.ounce in (None, "fluid")):
            yield "*_fluid_ounce"
        elif dimension == "mass" and compound:
            yield "troy_ounce" if prefs.ounce == "troy" else "avoirdupois_ounce"
        elif dimension == "mass" and prefs.ounce != "fluid":
            yield from (f"{prefs.ounce}_ounce",) if prefs.ounce else ("avoirdupois_ounce", "troy_ounce")


def meanings_of(word: str, kinds: Sequence[str], prefs: Preferences) -> list[Unit]:
    """All that the unit text can mean in the allowed kinds; kinds after the first that fits count only for a bare ounce."""
    cleaned = cleaned_text(word)
    found: list[Unit] = []
    bare_ounce = cleaned.casefold() in OUNCES
    for kind in kinds:
        if not found or bare_ounce:
            found += [u for u in _of_kind(cleaned, kind, prefs) if u not in found]
    return found


def _of_kind(cleaned: str, kind: str, prefs: Preferences) -> list[Unit]:
    if (special := _special(cleaned, kind)) is not None:
        return [special]
    for short in COMPOUND_FOR.get(kind, ()):
        if cleaned == short or (len(short) > 2 and cleaned.casefold() == short.casefold()):
            cleaned = cleaned_text(COMPOUND[short])
    above, slash, below = cleaned.partition("/")
    systems = [prefs.gallon] if prefs.gallon else list(SYSTEMS)
    found: list[Unit] = []
    for top, bottom in SHAPES[kind]:
        if bool(bottom) != bool(slash) or not above:
            continue
        for first in _names(above, top, bool(bottom), prefs):
            for second in _names(below, bottom, True, prefs) if bottom else ("",):
                for system in systems:
                    unit = _compound(kind, top, first.replace("*", str(system)), second.replace("*", str(system)))
                    if unit not in found:
                        found.append(unit)
    return found


def _compound(kind: str, top: str, first: str, second: str) -> Unit:
    expr = f"{first}/{second}" if second else first
    label = f"{label_of(first)}/{label_of(second)}" if second else label_of(first)
    if second:
        label = label.replace("oz avdp/", "oz/")
    target, bridge = FIXED_EXPR[kind], ""
    if kind == "thickness" and second:
        target, bridge = "gram/square_metre", "thickness_density"
    elif top == "amount":
        target, bridge = "mole/litre", "molar_mass"
    elif top == "equivalents":
        target, bridge = "equivalent/litre", "equivalents"
    elif expr == target:
        label = fixed_label(kind)
    return Unit(kind, label, expr, target, bridge)


def _special(cleaned: str, kind: str) -> Unit | None:
    """Units that are no product of powers: percentages, ppm, pH, specific gravity, degrees Baumé, a number without unit."""
    folded = cleaned.casefold().replace("percent", "%").replace("pct", "%")
    percent = next((p for p, words in PERCENT.items() if folded in words), "")
    fixed = FIXED_EXPR[kind]
    if kind == "concentration":
        if folded == "ppm":
            return Unit(kind, "ppm", "milligram/litre", fixed, note="taken as mg/L in water")
        if percent == "w/v":
            return Unit(kind, "% w/v", "percent_wv", "percent_wv", "tens")
        if percent == "w/w":
            return Unit(kind, "% w/w", "percent", "percent", "density")
        if percent == "v/v":
            return Unit(kind, "% v/v", "percent", "percent", "liquid")
    elif kind == "additive" and (percent == "v/v" or folded == "%"):
        return Unit(kind, "% v/v", "percent_vv", "percent_vv", "tens")
    elif kind == "fraction" and folded in ("%", ""):
        return Unit(kind, "%", "percent", "percent", "hundredths") if folded else Unit(kind, "", fixed, fixed)
    elif kind == "ph" and folded in ("ph", ""):
        return Unit(kind, "", fixed, fixed)
    elif kind == "gravity":
        if folded in ("sg", "", "s.g", "specificgravity"):
            return Unit(kind, "SG" if folded else "", fixed, fixed, note="specific gravity taken as g/cm³" if folded else "")
        if folded in ("g/cm3", "g/cc", "g/ccm", "kg/l", "kg/dm3"):
            return Unit(kind, fixed_label(kind), fixed, fixed)
        match = re.fullmatch(r"(?:deg)?(?:be|baume)(?:modulus|mod|m)?([0-9,]*)", folded)
        raw = re.search(r"[0-9]+$", folded)
        if match:
            return Unit(kind, "°Bé", "baume", "baume", "baume", modulus=_modulus(raw[0]) if raw else BAUME_MODULUS)
    return None


def _modulus(digits: str) -> float:
    # the point of 144.38 was dropped with the other signs: three digits stand before it
    value = float(f"{digits[:3]}.{digits[3:] or '0'}")
    if not 130 <= value <= 150:
        raise UnitError(f"{digits} is not a Baumé modulus; those in use are 144 to 147, for example 145")
    return value


def fixed_label(kind: str) -> str:
    fixed = KINDS[kind]
    return "" if fixed in ("1", "pH") else LABELS.get(fixed, fixed)
