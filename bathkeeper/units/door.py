"""The one door to pint: text that a person typed -> a number in the fixed unit of its kind, and back.

Number and unit are split here, the unit is looked up word by word in `unit_words.py`, and pint only ever sees names of our own
definitions file (``units.txt``): raw text never reaches it. What is unknown, ambiguous or impossible is refused with a sentence
that says what would be right. pint is imported inside the functions that need a factor, so showing a fixed unit costs nothing.

Values are floats in the fixed unit named in :data:`KINDS`; spreads are 95 % half-widths.
"""

from __future__ import annotations

import difflib
import functools
import re
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import Any

from bathkeeper.units.meanings import BAUME_MODULUS as BAUME_MODULUS
from bathkeeper.units.meanings import KINDS as KINDS
from bathkeeper.units.meanings import Unit, atom_name, cleaned_text, fixed_label, label_of, meanings_of, spellings
from bathkeeper.units.numerals import Preferences as Preferences
from bathkeeper.units.numerals import UnitError as UnitError
from bathkeeper.units.numerals import figures as figures
from bathkeeper.units.numerals import number as number
from bathkeeper.units.numerals import one_line, tidy, tidy_decimal
from bathkeeper.units.words import CALLED, EXAMPLE, KNOWN, LABELS, OUNCES, SHAPES


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
    found = meanings_of(word, kinds, prefs)
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
    meant = meanings_of(value_word, (kind,), prefs)
    if not meant:
        raise _refusal(value_digits, value_word, (kind,), prefs)
    if word == "%" and not value_word.startswith("%"):
        return _round(abs(_to_fixed(value, meant[0], known)) * amount / 100)
    if word in ("", value_word):
        return _round(abs(_to_fixed(value + amount, meant[0], known) - _to_fixed(value, meant[0], known)))
    units = meanings_of(word, (kind,), prefs)
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
        return value, fixed_label(kind)
    found = meanings_of(unit, (kind,), prefs)
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
        first, second, third, unit = int(clock[1]), int(clock[2]), clock[3], atom_name(cleaned_text(clock[4]), "time")
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
        unit = atom_name(cleaned_text(word), "time") if word else {60.0: "minute", 1.0: "second"}.get(last)
        fractional = "." in digits or "," in digits
        if unit is None or size[unit] >= last or (fractional and place < len(parts) - 1):
            raise UnitError(f"`{one_line(text)}` is not a time; write for example 1h30, 1h 30min, 90 min or 45 s")
        total += number(digits, prefs) * size[unit]
        last = size[unit]
    return _time(total, text)


def _time(minutes: float, text: str) -> Understood:
    value = _round(minutes)
    return Understood(value, "min", "time", text, f"{figures(value)} min ({one_line(text)})")


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


def _need(value: float | None, unit: Unit, what: str, instead: str) -> float:
    if value is None or not value > 0:
        raise UnitError(f"{unit.label} needs {what} to become {fixed_label(unit.kind)}, and it is not known here; {instead}")
    return value


def _bridge(unit: Unit, context: _Context) -> float:
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


def _to_fixed(value: float, unit: Unit, context: _Context) -> float:
    if unit.bridge == "baume":
        if not 0 <= value < unit.modulus * 0.6:
            raise UnitError(f"{tidy(value)} °Bé is off the scale for liquids heavier than water; write for example 22 degBe, "
                            f"or the density in g/cm3")
        return _round(unit.modulus / (unit.modulus - value))
    factor, offset = _scale(unit.expr, unit.target)
    return _round((value * factor + offset) * _bridge(unit, context))


def _from_fixed(value: float, unit: Unit, context: _Context) -> float:
    if unit.bridge == "baume":
        return _round(unit.modulus - unit.modulus / value)
    factor, offset = _scale(unit.expr, unit.target)
    return _round((value / _bridge(unit, context) - offset) / factor)


def _understood(text: str, digits: str, value: float, unit: Unit, context: _Context) -> Understood:
    fixed = _to_fixed(value, unit, context)
    _possible(fixed, unit.kind, one_line(text))
    echo = f"{_echo_figures(fixed, digits)} {fixed_label(unit.kind)}".rstrip()
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
    elif unit.label == fixed_label(unit.kind) or not unit.label:
        echo = f"{tidy(value)} {fixed_label(unit.kind)}".rstrip()
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


def _ambiguous(digits: str, word: str, value: float, found: Sequence[Unit], context: _Context) -> UnitError:
    readings = []
    for unit in found:
        fixed = Decimal(repr(_to_fixed(value, unit, context)))
        last = min(fixed.adjusted() - 3, 0) if fixed else 0
        label = unit.label.replace("imp ", "imperial ")
        readings.append(f"{tidy(value)} {label} = {fixed.quantize(Decimal(1).scaleb(last)):f} {fixed_label(unit.kind)}")
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
    cleaned = cleaned_text(word)
    if "concentration" in kinds and cleaned.casefold() in ("%", "percent", "pct"):
        value = number(digits, prefs)
        grams = figures(value * 10)
        readings = (f"{tidy(value)} % w/v = {grams} g/L", f"{tidy(value)} % w/w = {grams} g/L times the density in g/mL")
        return UnitError(f"`{digits} %` of a concentration could be by weight in volume or by weight in weight: "
                         f"{' or '.join(readings)}; write % w/v or % w/w, or g/L", readings)
    if cleaned.casefold() in OUNCES and prefs.ounce:
        return UnitError(f"`{word}` alone is {prefs.ounce} in this workshop, which is not {names}; write oz avdp, troy oz "
                         f"or US fl oz")
    elsewhere = [k for k in sorted(KINDS, key="thickness".__eq__) if k not in kinds and meanings_of(word, (k,), prefs)]
    if elsewhere:
        return UnitError(f"`{word}` is a unit of {elsewhere[0].replace('_', ' ')}, and {names} is wanted; known are {known}")
    near = _near(cleaned, kinds)
    hint = f" Did you mean {near}?" if near else ""
    return UnitError(f"`{word}` is not a known unit of {bare}; known are {known}.{hint}")


def _near(cleaned: str, kinds: Sequence[str]) -> str:
    listed = ", ".join(re.sub("[()]", ",", KNOWN[kind]) for kind in kinds)
    spelled = {cleaned_text(known): known.strip() for known in re.split(r", (?:or )?", listed) if known.strip()}
    for kind in kinds:
        for top, bottom in SHAPES[kind]:
            if not bottom:
                spelled.update({w: label_of(n) for w, n in spellings(top).items() if w not in spelled})
    folded = {w.casefold(): label for w, label in spelled.items()}
    if cleaned.casefold() in folded:
        return folded[cleaned.casefold()]
    match = difflib.get_close_matches(cleaned.casefold(), list(folded), 1, 0.6)
    return folded[match[0]] if match else ""
