"""Numbers with their units as people read them, in the workshop's preferred unit where it has one."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from bathkeeper.entries import Workshop
from bathkeeper.findings import Estimate
from bathkeeper.units.numerals import Preferences, figures

KIND_OF = {
    "L": "volume", "g": "mass", "kg": "mass", "dm2": "area", "Ah": "charge", "A": "current",
    "g/L": "concentration", "mL/L": "additive",
    "degC": "temperature", "fraction": "fraction", "mm": "length", "um": "thickness", "V": "voltage", "mS/cm": "conductivity",
    "A/dm2": "current_density",
}  # fixed units as entries and views name them -> the kind that a preferred unit is stated for
SMALL_MASSES = ("g", "mg", "kg")
"""Preferred units of mass in which kilograms stay kilograms."""
PLAIN = {"degC": "°C", "dm2": "dm²", "A/dm2": "A/dm²", "g/cm3": "g/cm³", "degBe": "°Bé", "um": "µm", "pH": "", "verdict": ""}


def habits_of(entry: Workshop | None) -> Preferences:
    """How the keeper writes numbers and units, as the workshop's entry says."""
    if entry is None:
        return Preferences()
    return Preferences(entry.gallon, entry.ounce, entry.decimal_comma, entry.date_order, dict(entry.units))


def shown(value: float, unit: str, prefs: Preferences, spread: float | None = None) -> str:
    """A value in a fixed unit, as text; figures by its 95 % half-width."""
    number, label = shown_parts(value, unit, prefs, spread)
    return f"{number} {label}".rstrip()


def shown_parts(value: float, unit: str, prefs: Preferences, spread: float | None = None) -> tuple[str, str]:
    """(number, unit) of :func:`shown`."""
    if spread is not None and abs(value) < 0.1 * spread:
        value = 0.0  # nothing of it is known but that it is small
    if unit == "fraction":
        return figures(value * 100, None if spread is None else spread * 100), "%"
    other = in_preferred(value, unit, prefs)
    if other is None:
        return figures(value, spread), PLAIN.get(unit, unit)
    if spread is not None and value:
        beyond = in_preferred(value + spread, unit, prefs)
        assert beyond is not None  # the same unit again
        spread = abs(beyond[0] - other[0])
    return figures(other[0], spread), other[1]


def in_preferred(value: float, unit: str, prefs: Preferences) -> tuple[float, str] | None:
    """(number, unit) in the unit that the keeper prefers; None where the fixed one stands."""
    wanted = prefs.shown.get(KIND_OF.get(unit, ""), "")
    if not wanted:
        return None
    from bathkeeper.units.door import UnitError, in_unit

    if unit == "kg":
        if wanted in SMALL_MASSES:
            return None
        value *= 1000.0  # a mass is counted in grams
    try:
        return in_unit(value, KIND_OF[unit], wanted, prefs)
    except UnitError:
        return None  # a preference that says nothing; the fixed unit is always right


def shown_between(low: float, high: float, unit: str, prefs: Preferences) -> str:
    """An interval without its unit, both ends to the figures that its half-width carries."""
    half = (high - low) / 2
    return f"{shown_parts(low, unit, prefs, half)[0]} – {shown_parts(high, unit, prefs, half)[0]}"


def shown_estimate(estimate: Estimate, prefs: Preferences) -> str:
    """``38.6 L``."""
    return shown(estimate.value, estimate.unit, prefs, estimate.spread)


def shown_window(edges: Mapping[str, float], unit: str, prefs: Preferences) -> str:
    """``25 – 40``, ``from 25``, ``up to 0.1``; nothing without edges. Without a unit."""
    low, high = (shown_parts(edges[e], unit, prefs)[0] if e in edges else None for e in ("low", "high"))
    if low is not None and high is not None:
        return f"{low} – {high}"
    if low is not None:
        return f"from {low}"
    return f"up to {high}" if high is not None else ""


def shown_age(days: float | None) -> str:
    """``3 h``, ``12 d``; nothing of what has no age."""
    if days is None:
        return ""
    return f"{days * 24:.0f} h" if 0 <= days < 2 else f"{days:.0f} d"


def shown_moment(moment: datetime) -> str:
    """Local time to the minute."""
    return f"{moment.astimezone():%Y-%m-%d %H:%M}"


def shown_day(moment: datetime) -> str:
    """The local day."""
    return f"{moment.astimezone():%Y-%m-%d}"
