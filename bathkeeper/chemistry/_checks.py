"""Range checks shared by the formulas: each refuses a value with a sentence of what was wrong and what would be right."""

from __future__ import annotations

import math


def _number(name: str, value: float, wanted: str) -> float:
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        raise ValueError(f"{name} must be {wanted}, got {value!r}")
    number = float(value)
    if not math.isfinite(number):
        raise ValueError(f"{name} must be {wanted}, got {number}")
    return number


def finite(name: str, value: float) -> float:
    """Any finite number."""
    return _number(name, value, "a finite number")


def positive(name: str, value: float) -> float:
    """A finite number above 0."""
    wanted = "a number above 0"
    number = _number(name, value, wanted)
    if number <= 0:
        raise ValueError(f"{name} must be {wanted}, got {number:g}")
    return number


def not_negative(name: str, value: float) -> float:
    """A finite number of 0 or more."""
    wanted = "a number of 0 or more"
    number = _number(name, value, wanted)
    if number < 0:
        raise ValueError(f"{name} must be {wanted}, got {number:g}")
    return number


def within(name: str, value: float, low: float, high: float, unit: str = "") -> float:
    """A number of at least ``low`` and at most ``high``."""
    wanted = f"between {low:g} and {high:g}{' ' + unit if unit else ''}"
    number = _number(name, value, wanted)
    if not low <= number <= high:
        raise ValueError(f"{name} must be {wanted}, got {number:g}")
    return number


def share(name: str, value: float) -> float:
    """A fraction above 0 and up to 1 (an efficiency, a purity): 93 % is 0.93, and 93 is refused."""
    wanted = "a fraction above 0 and up to 1 (93 % is 0.93)"
    number = _number(name, value, wanted)
    if not 0 < number <= 1:
        raise ValueError(f"{name} must be {wanted}, got {number:g}")
    return number


def whole_number(name: str, value: int, low: int = 1) -> int:
    """A whole number of at least ``low``."""
    wanted = f"a whole number of {low} or more"
    number = _number(name, value, wanted)
    if number != int(number) or number < low:
        raise ValueError(f"{name} must be {wanted}, got {number:g}")
    return int(number)
