"""Degrees Baume of liquids heavier than water, and specific gravity: SG = m / (m - degBe).

The modulus m is 145 on US hydrometers (60 degF; matches published hydrochloric acid tables: SG 1.179 is 22 degBe) and 144.3
to 144.38 in Europe; others are about. Read it off the hydrometer: at 20 degBe the four common ones spread SG over 0.004.
"""

from __future__ import annotations

from bathkeeper.chemistry._checks import within

MODULUS_US = 145.0
MODULUS_EUROPE = 144.3
HIGHEST_SG = 2.5


def sg_from_baume(degrees_baume: float, modulus: float = MODULUS_US) -> float:
    """Specific gravity from degrees Baume (heavier than water)."""
    m = _modulus(modulus)
    return m / (m - within("degrees Baume (heavier than water)", degrees_baume, 0.0, m * (1.0 - 1.0 / HIGHEST_SG)))


def baume_from_sg(sg: float, modulus: float = MODULUS_US) -> float:
    """Degrees Baume from specific gravity, for liquids heavier than water (SG from 1)."""
    m = _modulus(modulus)
    return m - m / within("specific gravity (heavier than water)", sg, 1.0, HIGHEST_SG)


def _modulus(modulus: float) -> float:
    return within("modulus of the Baume scale", modulus, 140.0, 150.0)
