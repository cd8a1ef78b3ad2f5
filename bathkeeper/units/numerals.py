"""Numbers as text: reading what a person typed without ever being ten times wrong, and writing no more figures than are known.

Nothing here knows about units; ``door.py`` hands on what of this the rest of the program needs.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Literal

LARGEST = 1e15
"""Beyond it, and below its inverse, a number is a slip of the finger: nothing in a workshop is counted there."""


@dataclass(frozen=True)
class Preferences:
    """A workshop's habits. ``shown``: kind -> the unit to display, for example ``{"volume": "usgal"}``."""

    gallon: Literal["us", "imperial"] | None = None
    ounce: Literal["avoirdupois", "troy", "fluid"] | None = None
    decimal_comma: bool | None = None
    date_order: Literal["ymd", "dmy", "mdy"] | None = None
    shown: dict[str, str] = field(default_factory=dict)


class UnitError(ValueError):
    """Text that could not be understood; says what was wrong and what would be right. ``readings``: the possible meanings when
    it could mean more than one thing, else empty."""

    def __init__(self, message: str, readings: Iterable[str] = ()) -> None:
        super().__init__(message)
        self.readings = tuple(readings)


def number(text: str, prefs: Preferences = Preferences()) -> float:
    """A plain number: ASCII digits, one decimal point, an exponent; or a fraction (``3/8``, ``1 1/4``, ``½``).

    A comma counts as a decimal comma where it cannot be anything else; one (or, in a workshop that writes decimal commas, a
    point) before exactly three digits might part thousands and is refused with both readings, unless the workshop settles it.

    Raises:
        UnitError: anything else.
    """
    plain = re.sub(r"[\s\u00a0\u2007\u2009\u202f]+", " ", text).strip().replace("\u2212", "-")
    shown = one_line(text)
    if not plain:
        raise UnitError("there is no number; write for example 1.5")
    if len(plain) > 40:
        raise UnitError(f"`{shown}` is too long for a number; write for example 1.5")
    sign = -1.0 if plain[0] == "-" else 1.0
    body = plain[1:].strip() if plain[0] in "+-" else plain
    fraction = _fraction(body, shown)
    if fraction is not None:
        return sign * fraction
    both = re.fullmatch(r"([1-9][0-9]{0,2})([.,])([0-9]{3})([eE][+-]?[0-9]{1,3})?", body)
    if both and (both[2] == "," if not prefs.decimal_comma else both[2] == "."):
        power = both[4] or ""
        small, large = tidy(float(f"{both[1]}.{both[3]}")) + power, f"{both[1]}{both[3]}{power}"
        way = small if both[2] == "," else f"{both[1]},{both[3]}{power}"
        raise UnitError(f"`{shown}` could be {small} or {large}; write {way} or {large}, whichever it is", (small, large))
    match = re.fullmatch(r"([0-9]+[.,]?[0-9]*|[.,][0-9]+)([eE][+-]?[0-9]{1,3})?", body)
    if match and not match[1].endswith(","):
        value = sign * float(match[1].replace(",", ".") + (match[2] or ""))
        if abs(value) > LARGEST:
            raise UnitError(f"`{shown}` is too large for a number here; {LARGEST:g} is the end")
        if 0 < abs(value) < 1 / LARGEST:
            raise UnitError(f"`{shown}` is too small for a number here; write 0 if nothing is meant")
        return value
    if right := _without_thousands(body):
        raise UnitError(f"`{shown}` is written with thousands separators; write {right}")
    if any(c.isdecimal() and not c.isascii() for c in body):
        plain_digits = unicodedata.normalize("NFKC", shown)
        raise UnitError(f"`{shown}` is written with other digits than 0-9; write {plain_digits} in plain digits")
    raise UnitError(f"`{shown}` is not a number; write digits with one decimal point, for example 1.5")


def _without_thousands(body: str) -> str:
    """``1.500,5`` -> 1500.5, ``1 500`` -> 1500; nothing for what is not grouped in threes."""
    grouped = re.fullmatch(r"([0-9]{1,3})((?P<by>[ ,.'’_])[0-9]{3}(?:(?P=by)[0-9]{3})*)(?:[.,]([0-9]+))?", body)
    if not grouped:
        return ""
    whole = grouped[1] + re.sub("[^0-9]", "", grouped[2])
    return whole + (f".{grouped[4]}" if grouped[4] else "")


def _fraction(body: str, shown: str) -> float | None:
    vulgar = re.fullmatch(r"([0-9]{0,6}) ?([\u00bc-\u00be\u2150-\u215e])", body)
    if vulgar:
        return int(vulgar[1] or 0) + round(unicodedata.numeric(vulgar[2]), 12)
    mixed = re.fullmatch(r"(?:([0-9]{1,6})[ -])?([0-9]{1,6}) ?[/\u2044] ?([0-9]{1,6})", body)
    if not mixed:
        return None
    if int(mixed[3]) == 0:
        raise UnitError(f"`{shown}` divides by zero; write a fraction such as 3/8")
    return int(mixed[1] or 0) + int(mixed[2]) / int(mixed[3])


def figures(value: float, spread: float | None = None) -> str:
    """The number alone, rounded to what is known: by the spread (its first figure, or two when that is 1 to 3), but never to
    less than two figures; without a spread to four figures, whole digits always kept. No trailing zeros, no separators."""
    if value != value or value in (float("inf"), float("-inf")):
        return "unknown"
    exact = Decimal(repr(float(value)))
    if exact == 0:
        return "0"
    if abs(exact.adjusted()) > 20:
        return f"{value:.4g}"
    if spread is not None and spread > 0 and spread != float("inf"):
        width = Decimal(repr(float(spread)))
        last = width.adjusted() - (1 if str(width.normalize().as_tuple().digits[0]) in "123" else 0)
        last = min(last, exact.adjusted() - 1)
    else:
        last = min(exact.adjusted() - 3, 0)
    rounded = exact.quantize(Decimal(1).scaleb(last)) if last <= 0 else exact.scaleb(-last).quantize(Decimal(1)).scaleb(last)
    return tidy_decimal(rounded)


def one_line(text: str) -> str:
    """User text as it may stand in a message: one line, no control signs, not endless."""
    plain = "".join(c if c.isprintable() else " " for c in text).strip()
    return plain if len(plain) <= 60 else plain[:57] + "…"


def tidy(value: float) -> str:
    """A float with all its figures and nothing else."""
    return tidy_decimal(Decimal(repr(value)))


def tidy_decimal(value: Decimal) -> str:
    """A decimal as people write it: no trailing zeros, an exponent only far below one."""
    if value == 0:
        return "0"
    if value.adjusted() < -6:
        digits, exponent = f"{value.normalize():e}".split("e")
        return f"{digits}e{int(exponent)}"
    text = f"{value:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
