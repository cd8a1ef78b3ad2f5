"""Physical constants that every formula here rests on.

Source: CODATA 2018 (NIST); the elementary charge, the Avogadro and the Boltzmann constant are exact in the SI since 2019, so
the Faraday and the gas constant are too (printed here to 10 figures).
"""

from __future__ import annotations

from typing import Final

FARADAY_C_MOL: Final = 96485.33212
"""Charge of one mole of electrons, C/mol."""

GAS_CONSTANT_J_MOL_K: Final = 8.314462618
"""Molar gas constant, J/(mol K)."""

ATMOSPHERE_PA: Final = 101325.0
"""Standard atmosphere, Pa (exact by definition)."""

ZERO_CELSIUS_K: Final = 273.15
"""0 degC in K (exact by definition)."""

MOL_PER_AH: Final = 3600.0 / FARADAY_C_MOL
"""Moles of electrons in one ampere-hour, mol/Ah."""

MOLAR_VOLUME_25C_L: Final = 1000.0 * GAS_CONSTANT_J_MOL_K * (25.0 + ZERO_CELSIUS_K) / ATMOSPHERE_PA
"""Volume of one mole of an ideal gas at 25 degC and 1 atm, L/mol."""
