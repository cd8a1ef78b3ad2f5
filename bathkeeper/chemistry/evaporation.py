"""Water lost from an open tank, and what that does to a reading.

Source of the two lines: L. Kirman in a public finishing forum, thread 149/24: E = exp(-(7.2 - 0.03236 T)) still, exp(-(5.95
- 0.0265 T)) air agitated, US gal/(ft2 h), T in degF. EPA 625/8-82-008 fig. 5 (room 75 degF, 75 % humidity) has 0.017 at 80
degF and 0.30 at 180 degF. A cold tank in a basement lost ten times less than the formula: below about 30 degC use a tank's
own loss.
"""

from __future__ import annotations

import math

from bathkeeper.chemistry._checks import not_negative, positive, within

L_M2_PER_GAL_FT2 = 3.785411784 / (0.3048**2)
"""One US gal/ft2 in L/m2 (both units exact by definition)."""

TRUSTED_FROM_C = 30.0
"""Below this the formula is not to be trusted (practice, after the basement measurement)."""

BASEMENT_L_M2_H = 0.030
"""A measured cold loss: 5 mm of depth a week in a basement (papertrail.ca, basement evaporation)."""


def still_kirman_l_m2_h(temperature_c: float) -> float:
    """Evaporation from a still tank, L/(m2 h). Fitted for warm tanks; 20 to 100 degC."""
    return L_M2_PER_GAL_FT2 * math.exp(0.03236 * _fahrenheit(temperature_c) - 7.2)


def agitated_kirman_l_m2_h(temperature_c: float) -> float:
    """Evaporation from an air-agitated tank, L/(m2 h). Fitted for warm tanks; 20 to 100 degC."""
    return L_M2_PER_GAL_FT2 * math.exp(0.0265 * _fahrenheit(temperature_c) - 5.95)


def evaporated_l(rate_l_m2_h: float, surface_dm2: float, hours: float) -> float:
    """Water lost by a surface over hours, L."""
    rate = not_negative("rate in L/(m2 h)", rate_l_m2_h)
    return rate * positive("surface in dm2", surface_dm2) / 100.0 * not_negative("hours", hours)


def concentration_factor(volume_full_l: float, volume_now_l: float) -> float:
    """How much water loss has raised every concentration: V_full / V_now (100 L down to 95 L: 1.053).

    Raises ValueError for a volume now above the full one: that is not evaporation.
    """
    full = positive("full volume in L", volume_full_l)
    now = positive("volume now in L", volume_now_l)
    if now > full:
        raise ValueError(f"the volume now must be at most the full {full:g} L for water to have left, got {now:g}")
    return full / now


def _fahrenheit(temperature_c: float) -> float:
    return 1.8 * within("temperature in degC", temperature_c, 20.0, 100.0) + 32.0
