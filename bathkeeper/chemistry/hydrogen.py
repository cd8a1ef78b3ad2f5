"""Gases that charge makes: hydrogen at a cathode, oxygen or chlorine at an anode that does not dissolve.

Volumes are of a dry ideal gas at 1 atm. Hydrogen burns in air from about 4 % by volume (a figure from memory), chlorine is
poisonous: these numbers are for ventilation and for explaining, and upper bounds.
"""

from __future__ import annotations

from bathkeeper.chemistry._checks import not_negative, within
from bathkeeper.chemistry.constants import (
    ATMOSPHERE_PA,
    GAS_CONSTANT_J_MOL_K,
    MOL_PER_AH,
    ZERO_CELSIUS_K,
)


def gas_volume_l(gas_mol: float, temperature_c: float = 25.0) -> float:
    """Volume of an amount of gas at 1 atm, L."""
    kelvin = within("temperature in degC", temperature_c, -50.0, 200.0) + ZERO_CELSIUS_K
    return 1000.0 * not_negative("amount of gas in mol", gas_mol) * GAS_CONSTANT_J_MOL_K * kelvin / ATMOSPHERE_PA


def hydrogen_mol(charge_ah: float, cathode_efficiency: float = 0.0) -> float:
    """Hydrogen made with the current that deposits no metal, mol; efficiency 0 means all of it (pickling, rust removal)."""
    wasted = 1.0 - within("cathode efficiency", cathode_efficiency, 0.0, 1.0)
    return wasted * not_negative("charge in Ah", charge_ah) * MOL_PER_AH / 2.0


def hydrogen_l(charge_ah: float, cathode_efficiency: float = 0.0, temperature_c: float = 25.0) -> float:
    """The same as litres at 1 atm (0.456 L/Ah at 25 degC when all the current makes it)."""
    return gas_volume_l(hydrogen_mol(charge_ah, cathode_efficiency), temperature_c)


def chlorine_l(charge_ah: float, temperature_c: float = 25.0) -> float:
    """The most chlorine that an inert anode in a chloride bath can make, L at 1 atm (two electrons to a molecule)."""
    return gas_volume_l(not_negative("charge in Ah", charge_ah) * MOL_PER_AH / 2.0, temperature_c)


def oxygen_l(charge_ah: float, anode_efficiency: float = 0.0, temperature_c: float = 25.0) -> float:
    """Oxygen made with the anode current that dissolves no metal, L at 1 atm (four electrons to a molecule)."""
    wasted = 1.0 - within("anode efficiency", anode_efficiency, 0.0, 1.0)
    return gas_volume_l(wasted * not_negative("charge in Ah", charge_ah) * MOL_PER_AH / 4.0, temperature_c)
