"""The one door to pint: text that a person typed -> a number in the fixed unit of its kind, and back.

Number and unit are split here, the unit is looked up word by word in the table below, and pint only ever sees names of our own
definitions file (``units.txt``): raw text never reaches it. What is unknown, ambiguous or impossible is refused with a sentence
that says what would be right. pint is imported inside the functions that need a factor, so showing a fixed unit costs nothing.

Values are floats in the fixed unit named in :data:`KINDS`; spreads are 95 % half-widths.
"""

from __future__ import annotations

import difflib
import functools
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import Any

from bathkeeper.numerals import Preferences as Preferences
from bathkeeper.numerals import UnitError as UnitError
from bathkeeper.numerals import figures as figures
from bathkeeper.numerals import number as number
from bathkeeper.numerals import one_line, tidy, tidy_decimal
from bathkeeper.unit_words import (
    ATOMS,
    CALLED,
    COMPOUND,
    COMPOUND_FOR,
    EXAMPLE,
    FIXED_EXPR,
    KNOWN,
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
class Understood:
    """A value in the fixed ``unit`` of its ``kind``, the text as typed, and a line that shows what was understood."""

    value: float
    unit: str
    kind: str
    typed: str
    echo: str


@dataclass(frozen=True)
class _Context:
    """What a unit may need to know beyond itself."""

    molar_mass_g_mol: float | None = None
    equivalents_per_mol: float | None = None
    density_g_ml: float | None = None
    thickness_density_g_cm3: float | None = None


@dataclass(frozen=True)
class _Unit:
    """One meaning of a unit text: ``expr`` in names of units.txt, to be turned into ``target``, and that by ``bridge`` into the
    fixed unit of its kind."""

    kind: str
    label: str
    expr: str
    target: str
    bridge: str = ""
    note: str = ""
    modulus: float = BAUME_MODULUS


def understand(
    text: str,
    kind: str | Sequence[str],
    prefs: Preferences = Preferences(),  # noqa: B008  frozen
    *,
    molar_mass_g_mol: float | None = None,
    equivalents_per_mol: float | None = None,
    density_g_ml: float | None = None,
    thickness_density_g_cm3: float | None = None,
) -> Understood:
    """Reads a number with its unit as one of the allowed kinds (the unit decides; the first kind that has it wins).

    ``molar_mass_g_mol`` lets mol/L be read as g/L, ``equivalents_per_mol`` normality as well. ``density_g_ml`` is that of the
    solution for % w/w, that of the pure liquid for % v/v of a concentration. ``thickness_density_g_cm3`` is that of a coating
    told by mass per area.

    Raises:
        UnitError: no number, unknown or ambiguous unit, wrong kind of unit, or an impossible value.
    """
    kinds = (kind,) if isinstance(kind, str) else tuple(kind)
    unknown = [k for k in kinds if k not in KINDS]
    if unknown or not kinds:
        raise KeyError(f"no such kind of value: {unknown}; known are {', '.join(KINDS)}")
    context = _Context(molar_mass_g_mol, equivalents_per_mol, density_g_ml, thickness_density_g_cm3)
    if len(text) > 200:
        raise UnitError(f"`{one_line(text)}` is too long for a value; write for example {EXAMPLE[kinds[0]]}")
    if "time" in kinds and (duration := _duration(text, prefs)) is not None:
        return duration
    lead = re.match(r"\s*pH\s*[:=]?\s*(?=[\d.,+-])", text, re.IGNORECASE) if "ph" in kinds else None
    digits, word = _split(text[lead.end():] if lead else text)
    if lead and word == "":
        word = "pH"
    if not digits:
        raise UnitError(f"`{one_line(text)}` has no number to read; write for example {EXAMPLE[kinds[0]]}")
    value = number(digits, prefs)
    found = _meanings(word, kinds, prefs)
    if not found:
        raise _refusal(digits, word, kinds, prefs)
    if len(found) > 1:
        raise _ambiguous(digits, word, value, found, context)
    return _understood(text, digits, value, found[0], context)


def understand_spread(
    text: str, of: str, kind: str, prefs: Preferences = Preferences(), **context: float | None  # noqa: B008
) -> float:
    """What stands behind a plus-minus sign -> the half-width in the fixed unit of ``kind``.

    ``of`` is the text of the value itself: a spread without a unit has the value's, and ``3 %`` is that share of it, except
    where the value itself is a percentage. ``context``: the keyword arguments of :func:`understand`.

    Raises:
        UnitError: not a number, unknown unit, or not above zero.
    """
    digits, word = _split(text)
    value_digits, value_word = _split(re.sub(r"^\s*pH", "", of, flags=re.IGNORECASE))
    amount, known = number(digits, prefs), _Context(**context)
    if not amount > 0:
        raise UnitError(f"a spread of `{one_line(text)}` is not above zero; write for example 32g/L±0.5")
    value = number(value_digits, prefs)
    meant = _meanings(value_word, (kind,), prefs)
    if not meant:
        raise _refusal(value_digits, value_word, (kind,), prefs)
    if word == "%" and not value_word.startswith("%"):
        return _round(abs(_to_fixed(value, meant[0], known)) * amount / 100)
    if word in ("", value_word):
        return _round(abs(_to_fixed(value + amount, meant[0], known) - _to_fixed(value, meant[0], known)))
    units = _meanings(word, (kind,), prefs)
    if not units:
        raise _refusal(digits, word, (kind,), prefs)
    return _round(abs(_to_fixed(amount, units[0], known) - _to_fixed(0.0, units[0], known)))


def in_unit(
    value: float, kind: str, unit: str, prefs: Preferences = Preferences(), **context: float | None  # noqa: B008
) -> tuple[float, str]:
    """A value in the fixed unit of its kind -> the number in another unit of that kind, and that unit's label.

    ``context``: the keyword arguments of :func:`understand`.

    Raises:
        UnitError: the unit is unknown, ambiguous, or needs a context that was not given.
    """
    if unit in ("", KINDS[kind], LABELS.get(KINDS[kind])):
        return value, _label(kind)
    found = _meanings(unit, (kind,), prefs)
    if not found:
        raise _refusal("1", unit, (kind,), prefs)
    if len(found) > 1:
        raise UnitError(f"`{unit}` could be {' or '.join(u.label for u in found)}; say which", [u.label for u in found])
    return _from_fixed(value, found[0], _Context(**context)), found[0].label


def show(value: float, kind: str, prefs: Preferences = Preferences(), spread: float | None = None) -> str:  # noqa: B008
    """A value in the fixed unit of its kind as people read it, in the workshop's preferred unit, figures by the spread.

    Raises:
        UnitError: the preferred unit is unknown or ambiguous.
    """
    unit = prefs.shown.get(kind, "%" if kind == "fraction" else "")
    if kind == "fraction" and unit == "%":
        return f"{figures(value * 100, None if spread is None else spread * 100)} %"
    shown, label = in_unit(value, kind, unit, prefs)
    if spread is not None and shown != value:
        spread = abs(in_unit(value + spread, kind, unit, prefs)[0] - shown)
    if kind == "ph":
        return f"pH {figures(shown, spread)}"
    return f"{figures(shown, spread)} {label}".rstrip()


def _split(text: str) -> tuple[str, str]:
    """Where the number ends and the unit begins: at the first letter, percent, degree or quote that is in no exponent."""
    for place, char in enumerate(text):
        rest = text[place:]
        if char in "eE" and place and text[place - 1] in "0123456789.," and re.match(r"[eE][+-]?[0-9]", rest):
            continue
        if char in "'’" and text[place + 1 : place + 2].isdigit():
            continue
        if char.isalpha() or char in "%°\"'’″′℃℉":
            return text[:place].strip(), rest.strip()
    return text.strip(), ""


def _duration(text: str, prefs: Preferences) -> Understood | None:
    """``1h30``, ``1h 30min``, ``2 d 4 h``, ``1:30 h``; None for a plain number with one unit, which needs no special care."""
    clock = re.fullmatch(r"\s*([0-9]{1,3}):([0-9]{2})(?::([0-9]{2}))?\s*([a-z.]*)\s*", text, re.IGNORECASE)
    if clock:
        first, second, third, unit = int(clock[1]), int(clock[2]), clock[3], _atom(_clean(clock[4]), "time")
        if second > 59 or int(third or 0) > 59:
            raise UnitError(f"`{one_line(text)}` has more than 59 behind a colon; write for example 1h30 or 90 min")
        if third is None and unit not in ("hour", "minute"):
            readings = (f"{first} h {second} min", f"{first} min {second} s")
            raise UnitError(f"`{one_line(text)}` could be {' or '.join(readings)}; write {first}h{second:02} or "
                            f"{first}min{second:02}s", readings)
        minutes = first * 60 + second + int(third or 0) / 60 if third is not None or unit == "hour" else first + second / 60
        return _time(minutes, text)
    parts = re.findall(r"([0-9]+(?:[.,][0-9]+)?)\s*([a-z]+)?\s*", text.strip(), re.IGNORECASE)
    if len(parts) < 2 or not re.fullmatch(r"([0-9]+([.,][0-9]+)?\s*[a-z]+\s*)+([0-9]+)?", text.strip(), re.IGNORECASE):
        return None
    size = {"week": 10080.0, "day": 1440.0, "hour": 60.0, "minute": 1.0, "second": 1 / 60}
    total, last = 0.0, float("inf")
    for place, (digits, word) in enumerate(parts):
        unit = _atom(_clean(word), "time") if word else {60.0: "minute", 1.0: "second"}.get(last)
        fractional = "." in digits or "," in digits
        if unit is None or size[unit] >= last or (fractional and place < len(parts) - 1):
            raise UnitError(f"`{one_line(text)}` is not a time; write for example 1h30, 1h 30min, 90 min or 45 s")
        total += number(digits, prefs) * size[unit]
        last = size[unit]
    return _time(total, text)


def _time(minutes: float, text: str) -> Understood:
    value = _round(minutes)
    return Understood(value, "min", "time", text, f"{figures(value)} min ({one_line(text)})")


# --- units ---------------------------------------------------------------------------------------------------------------


_SIGNS = (
    ("µμ", "u"), ("²", "2"), ("³", "3"), ("℃", "degC"), ("℉", "degF"), ("°º", "deg"), ("″“”", '"'), ("′’", "'"), ("éÉ", "e"),
    ("⁻−", "-"), ("\u2044÷", "/"),
)


def _clean(text: str) -> str:
    """A unit text in one plain spelling: ASCII signs, no spaces, dots, hyphens, carets or multiplication signs."""
    for signs, ascii_sign in _SIGNS:
        for sign in signs:
            text = text.replace(sign, ascii_sign)
    text = re.sub(r"\s+per\s+", "/", text, flags=re.IGNORECASE).replace("**", "^")
    return re.sub(r"[\s.^_*·⋅•×()\u00a0-]+", "", text).replace("''", '"')


@functools.cache
def _table(dimension: str) -> dict[str, str]:
    """Every spelling of a dimension's units -> its name in units.txt."""
    table = {}
    for name, words in ATOMS[dimension].items():
        for word in words.split():
            table[_clean(word)] = name
            if len(word) > 3 and word.isalpha() and not word.endswith("s"):
                table[f"{word}s"] = name
    if dimension == "volume":
        for system, (_, before) in SYSTEMS.items():
            for measure, (short, others) in MEASURES.items():
                for word in (_clean(short), *others.split()):
                    for mark in before.split():
                        for spelled in (mark + word, word + mark, f"{mark}{word}s", f"{word}s{mark}"):
                            table[spelled] = f"{system}_{measure}"
    return table


@functools.cache
def _folded(dimension: str) -> dict[str, str]:
    return {word.casefold(): name for word, name in _table(dimension).items()}


def _atom(word: str, dimension: str) -> str | None:
    """The name in units.txt: exact spelling first, then without regard to case, except that a leading m (milli) and M (mega)
    are never taken for one another in a symbol."""
    table = _table(dimension)
    if word in table:
        return table[word]
    name = _folded(dimension).get(word.casefold())
    if name is None:
        return None
    symbol = _clean(_label_of(name))
    prefixed = symbol[0] in "mM" and len(symbol) > 1 and symbol not in ("min", "mil")
    return None if prefixed and symbol.casefold() == word.casefold() and word[0] != symbol[0] else name


def _label_of(name: str) -> str:
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
        spellings = {_clean(short), *others.split()} - {"g"}
        if word.casefold().removesuffix("s") in spellings or word.casefold() in spellings:
            return measure
    return None


def _names(word: str, dimension: str, compound: bool, prefs: Preferences) -> Iterator[str]:
    """The meanings of one word in a dimension, before it is known which gallon and ounce; ``*`` stands for the system."""
    if (name := _atom(word, dimension)) is not None:
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


def _meanings(word: str, kinds: Sequence[str], prefs: Preferences) -> list[_Unit]:
    """All that the unit text can mean in the allowed kinds; kinds after the first that fits count only for a bare ounce."""
    cleaned = _clean(word)
    found: list[_Unit] = []
    bare_ounce = cleaned.casefold() in OUNCES
    for kind in kinds:
        if not found or bare_ounce:
            found += [u for u in _of_kind(cleaned, kind, prefs) if u not in found]
    return found


def _of_kind(cleaned: str, kind: str, prefs: Preferences) -> list[_Unit]:
    if (special := _special(cleaned, kind)) is not None:
        return [special]
    for short in COMPOUND_FOR.get(kind, ()):
        if cleaned == short or (len(short) > 2 and cleaned.casefold() == short.casefold()):
            cleaned = _clean(COMPOUND[short])
    above, slash, below = cleaned.partition("/")
    systems = [prefs.gallon] if prefs.gallon else list(SYSTEMS)
    found: list[_Unit] = []
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


def _compound(kind: str, top: str, first: str, second: str) -> _Unit:
    expr = f"{first}/{second}" if second else first
    label = f"{_label_of(first)}/{_label_of(second)}" if second else _label_of(first)
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
        label = _label(kind)
    return _Unit(kind, label, expr, target, bridge)


def _special(cleaned: str, kind: str) -> _Unit | None:
    """Units that are no product of powers: percentages, ppm, pH, specific gravity, degrees Baumé, a number without unit."""
    folded = cleaned.casefold().replace("percent", "%").replace("pct", "%")
    percent = next((p for p, words in PERCENT.items() if folded in words), "")
    fixed = FIXED_EXPR[kind]
    if kind == "concentration":
        if folded == "ppm":
            return _Unit(kind, "ppm", "milligram/litre", fixed, note="taken as mg/L in water")
        if percent == "w/v":
            return _Unit(kind, "% w/v", "percent_wv", "percent_wv", "tens")
        if percent == "w/w":
            return _Unit(kind, "% w/w", "percent", "percent", "density")
        if percent == "v/v":
            return _Unit(kind, "% v/v", "percent", "percent", "liquid")
    elif kind == "additive" and (percent == "v/v" or folded == "%"):
        return _Unit(kind, "% v/v", "percent_vv", "percent_vv", "tens")
    elif kind == "fraction" and folded in ("%", ""):
        return _Unit(kind, "%", "percent", "percent", "hundredths") if folded else _Unit(kind, "", fixed, fixed)
    elif kind == "ph" and folded in ("ph", ""):
        return _Unit(kind, "", fixed, fixed)
    elif kind == "gravity":
        if folded in ("sg", "", "s.g", "specificgravity"):
            return _Unit(kind, "SG" if folded else "", fixed, fixed, note="specific gravity taken as g/cm³" if folded else "")
        if folded in ("g/cm3", "g/cc", "g/ccm", "kg/l", "kg/dm3"):
            return _Unit(kind, _label(kind), fixed, fixed)
        match = re.fullmatch(r"(?:deg)?(?:be|baume)(?:modulus|mod|m)?([0-9,]*)", folded)
        raw = re.search(r"[0-9]+$", folded)
        if match:
            return _Unit(kind, "°Bé", "baume", "baume", "baume", modulus=_modulus(raw[0]) if raw else BAUME_MODULUS)
    return None


def _modulus(digits: str) -> float:
    # the point of 144.38 was dropped with the other signs: three digits stand before it
    value = float(f"{digits[:3]}.{digits[3:] or '0'}")
    if not 130 <= value <= 150:
        raise UnitError(f"{digits} is not a Baumé modulus; those in use are 144 to 147, for example 145")
    return value


def _label(kind: str) -> str:
    fixed = KINDS[kind]
    return "" if fixed in ("1", "pH") else LABELS.get(fixed, fixed)


# --- values --------------------------------------------------------------------------------------------------------------


@functools.cache
def _registry() -> Any:
    from pint import UnitRegistry

    return UnitRegistry(str(Path(__file__).with_name("units.txt")), cache_folder=None, on_redefinition="raise")


@functools.cache
def _scale(expr: str, target: str) -> tuple[float, float]:
    """factor and offset of target = factor * expr + offset, by pint."""
    if expr == target:
        return 1.0, 0.0
    quantity = _registry().Quantity
    zero, one = (float(quantity(v, expr).to(target).magnitude) for v in (0.0, 1.0))
    return (one, 0.0) if zero == 0 else (float(quantity(1.0, f"delta_{expr}" if expr != "kelvin" else expr).to(
        f"delta_{target}").magnitude), zero)


def _need(value: float | None, unit: _Unit, what: str, instead: str) -> float:
    if value is None or not value > 0:
        raise UnitError(f"{unit.label} needs {what} to become {_label(unit.kind)}, and it is not known here; {instead}")
    return value


def _bridge(unit: _Unit, context: _Context) -> float:
    """What one ``target`` of the unit is in the fixed unit."""
    if unit.bridge in ("molar_mass", "equivalents"):
        per_mol = _need(context.molar_mass_g_mol, unit, "the molar mass of the substance", "write it in g/L")
        if unit.bridge == "molar_mass":
            return per_mol
        equivalents = _need(context.equivalents_per_mol, unit, "the equivalents per mole", "write it in g/L or mol/L")
        return per_mol / equivalents
    if unit.bridge == "density":
        return 10 * _need(context.density_g_ml, unit, "the density of the solution", "write it in g/L or % w/v")
    if unit.bridge == "liquid":
        return 10 * _need(context.density_g_ml, unit, "the density of the pure liquid", "write it in g/L or % w/v")
    if unit.bridge == "thickness_density":
        return 1 / _need(context.thickness_density_g_cm3, unit, "the density of the coating", "write it in um or mil")
    return {"": 1.0, "tens": 10.0, "hundredths": 0.01}[unit.bridge]


def _round(value: float) -> float:
    """Twelve figures: hides the last bits of binary arithmetic, so that 59 °F is 15 °C in the book."""
    return float(f"{value:.12g}")


def _to_fixed(value: float, unit: _Unit, context: _Context) -> float:
    if unit.bridge == "baume":
        if not 0 <= value < unit.modulus * 0.6:
            raise UnitError(f"{tidy(value)} °Bé is off the scale for liquids heavier than water; write for example 22 degBe, "
                            f"or the density in g/cm3")
        return _round(unit.modulus / (unit.modulus - value))
    factor, offset = _scale(unit.expr, unit.target)
    return _round((value * factor + offset) * _bridge(unit, context))


def _from_fixed(value: float, unit: _Unit, context: _Context) -> float:
    if unit.bridge == "baume":
        return _round(unit.modulus - unit.modulus / value)
    factor, offset = _scale(unit.expr, unit.target)
    return _round((value / _bridge(unit, context) - offset) / factor)


def _understood(text: str, digits: str, value: float, unit: _Unit, context: _Context) -> Understood:
    fixed = _to_fixed(value, unit, context)
    _possible(fixed, unit.kind, one_line(text))
    echo = f"{_echo_figures(fixed, digits)} {_label(unit.kind)}".rstrip()
    typed = f"{tidy(value)} {unit.label}".rstrip()
    if unit.kind == "ph":
        echo = f"pH {tidy(value)}"
    elif unit.kind == "fraction":
        echo = f"{tidy(_round(fixed * 100))} %"
    elif unit.bridge == "baume":
        echo += f" ({typed}, modulus {tidy(unit.modulus)}, heavier than water)"
    elif unit.bridge in ("molar_mass", "equivalents") and context.molar_mass_g_mol:
        per = f", {tidy(context.equivalents_per_mol or 0)} eq/mol" if unit.bridge == "equivalents" else ""
        echo += f" ({typed} at {figures(context.molar_mass_g_mol)} g/mol{per})"
    elif unit.bridge in ("density", "liquid"):
        echo += f" ({typed} at {tidy(context.density_g_ml or 0)} g/mL)"
    elif unit.bridge == "thickness_density":
        echo += f" ({typed} at {tidy(context.thickness_density_g_cm3 or 0)} g/cm³)"
    elif unit.label == _label(unit.kind) or not unit.label:
        echo = f"{tidy(value)} {_label(unit.kind)}".rstrip()
    else:
        echo += f" ({typed}{', ' + unit.note if unit.note else ''})"
    return Understood(fixed, KINDS[unit.kind], unit.kind, text, echo)


def _echo_figures(value: float, digits: str) -> str:
    """One figure more than was typed, three at least."""
    plain = re.sub(r"[eE].*|[^0-9.,]", "", digits)
    typed = len(re.sub("[.,]", "", plain if re.search("[.,]", plain) else plain.rstrip("0")).lstrip("0"))
    if value == 0 or "/" in digits:
        return figures(value)
    last = Decimal(repr(value)).adjusted() - max(3, typed + 1) + 1
    return tidy_decimal(Decimal(repr(value)).quantize(Decimal(1).scaleb(min(last, 0))))


def _possible(value: float, kind: str, text: str) -> None:
    if kind == "temperature" and value < -273.15:
        raise UnitError(f"`{text}` is below absolute zero (-273.15 °C); write for example 35 °C")
    if kind != "temperature" and value < 0:
        called = CALLED.get(kind, f"a {kind}")
        raise UnitError(f"`{text}` is below zero, and {called} cannot be; write for example {EXAMPLE[kind]}")
    if kind == "ph" and value > 15:
        raise UnitError(f"`{text}` is off the pH scale, which runs from 0 to 14; write for example 5.4")
    if kind == "fraction" and value > 1:
        hint = f"{text} %" if re.fullmatch(r"[0-9.,]+", text) and value <= 100 else "13 %"
        raise UnitError(f"`{text}` is more than the whole; write for example {hint}")
    if kind == "gravity" and not 0.5 <= value <= 3:
        raise UnitError(f"`{text}` cannot be the density of a solution (water is 1 g/cm3); write for example 1.18 g/cm3")


# --- refusals ------------------------------------------------------------------------------------------------------------


def _ambiguous(digits: str, word: str, value: float, found: Sequence[_Unit], context: _Context) -> UnitError:
    readings = []
    for unit in found:
        fixed = Decimal(repr(_to_fixed(value, unit, context)))
        last = min(fixed.adjusted() - 3, 0) if fixed else 0
        label = unit.label.replace("imp ", "imperial ")
        readings.append(f"{tidy(value)} {label} = {fixed.quantize(Decimal(1).scaleb(last)):f} {_label(unit.kind)}")
    what = next((w for w in ("gallon", "ounce") if any(w in u.expr for u in found)), "measure")
    return UnitError(f"`{digits} {word}` leaves open which {what} is meant: {' or '.join(readings)}; write the one you mean, "
                     f"or set it once for the workshop", readings)


def _refusal(digits: str, word: str, kinds: Sequence[str], prefs: Preferences) -> UnitError:
    names = " or ".join(CALLED.get(k, f"a {k}") for k in kinds)
    bare = " or ".join(k.replace("_", " ") for k in kinds)
    word = one_line(word)
    known = "; ".join(KNOWN[k] for k in kinds)
    if not word:
        return UnitError(f"`{digits}` has no unit, and {names} needs one; write for example {EXAMPLE[kinds[0]]} "
                         f"(known are {known})")
    cleaned = _clean(word)
    if "concentration" in kinds and cleaned.casefold() in ("%", "percent", "pct"):
        value = number(digits, prefs)
        grams = figures(value * 10)
        readings = (f"{tidy(value)} % w/v = {grams} g/L", f"{tidy(value)} % w/w = {grams} g/L times the density in g/mL")
        return UnitError(f"`{digits} %` of a concentration could be by weight in volume or by weight in weight: "
                         f"{' or '.join(readings)}; write % w/v or % w/w, or g/L", readings)
    if cleaned.casefold() in OUNCES and prefs.ounce:
        return UnitError(f"`{word}` alone is {prefs.ounce} in this workshop, which is not {names}; write oz avdp, troy oz "
                         f"or US fl oz")
    elsewhere = [k for k in sorted(KINDS, key="thickness".__eq__) if k not in kinds and _meanings(word, (k,), prefs)]
    if elsewhere:
        return UnitError(f"`{word}` is a unit of {elsewhere[0].replace('_', ' ')}, and {names} is wanted; known are {known}")
    near = _near(cleaned, kinds)
    hint = f" Did you mean {near}?" if near else ""
    return UnitError(f"`{word}` is not a known unit of {bare}; known are {known}.{hint}")


def _near(cleaned: str, kinds: Sequence[str]) -> str:
    listed = ", ".join(re.sub("[()]", ",", KNOWN[kind]) for kind in kinds)
    spelled = {_clean(known): known.strip() for known in re.split(r", (?:or )?", listed) if known.strip()}
    for kind in kinds:
        for top, bottom in SHAPES[kind]:
            if not bottom:
                spelled.update({w: _label_of(n) for w, n in _table(top).items() if w not in spelled})
    folded = {w.casefold(): label for w, label in spelled.items()}
    if cleaned.casefold() in folded:
        return folded[cleaned.casefold()]
    match = difflib.get_close_matches(cleaned.casefold(), list(folded), 1, 0.6)
    return folded[match[0]] if match else ""
