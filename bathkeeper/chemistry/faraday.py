"""Faraday's law for one reaction: charge, mass, thickness and time.

    mass = efficiency x charge x 3600/F x M/n          thickness = mass / (density x area)

Thickness is always an average over the area: edges get more, recesses less. Printed tables of electrochemical equivalents agree
to their last digit (two industry tables are checked in the tests), except one that needs 14.3 Ah/ft2 for a mil of zinc (13.8).
"""

from __future__ import annotations

from bathkeeper.chemistry._checks import not_negative, positive, share
from bathkeeper.chemistry.constants import FARADAY_C_MOL, MOL_PER_AH

UM_DM2_PER_CM3 = 100.0
"""1 cm3 spread over 1 dm2 is 100 um thick."""


def equivalent_g_per_ah(molar_mass_g_mol: float, electrons: float) -> float:
    """Mass that one ampere-hour moves at 100 % efficiency, g/Ah (zinc 1.220, nickel 1.095)."""
    return MOL_PER_AH * positive("molar mass in g/mol", molar_mass_g_mol) / positive("electrons per atom", electrons)


def equivalent_mg_per_c(molar_mass_g_mol: float, electrons: float) -> float:
    """The same per coulomb, mg/C (silver 1.118)."""
    return equivalent_g_per_ah(molar_mass_g_mol, electrons) / 3.6


def mass_g(charge_ah: float, molar_mass_g_mol: float, electrons: float, efficiency: float = 1.0) -> float:
    """Mass deposited or dissolved by a charge, g."""
    equivalent = equivalent_g_per_ah(molar_mass_g_mol, electrons)
    return not_negative("charge in Ah", charge_ah) * share("efficiency", efficiency) * equivalent


def charge_ah(mass_g: float, molar_mass_g_mol: float, electrons: float, efficiency: float = 1.0) -> float:
    """Charge that moves a mass, Ah."""
    equivalent = equivalent_g_per_ah(molar_mass_g_mol, electrons)
    return not_negative("mass in g", mass_g) / (share("efficiency", efficiency) * equivalent)


def charge_c(moles: float, electrons: float) -> float:
    """Charge that moves an amount of substance, C."""
    return not_negative("amount in mol", moles) * positive("electrons per atom", electrons) * FARADAY_C_MOL


def thickness_um(mass_g: float, density_g_cm3: float, area_dm2: float) -> float:
    """Average thickness of a mass spread over an area, um."""
    volume_cm3 = not_negative("mass in g", mass_g) / positive("density in g/cm3", density_g_cm3)
    return UM_DM2_PER_CM3 * volume_cm3 / positive("area in dm2", area_dm2)


def mass_from_thickness_g(thickness_um: float, density_g_cm3: float, area_dm2: float) -> float:
    """Mass of a coating of an average thickness, g."""
    volume_cm3 = not_negative("thickness in um", thickness_um) * positive("area in dm2", area_dm2) / UM_DM2_PER_CM3
    return volume_cm3 * positive("density in g/cm3", density_g_cm3)


def minutes(charge_ah: float, current_a: float) -> float:
    """Time a current takes to pass a charge, min."""
    return 60.0 * not_negative("charge in Ah", charge_ah) / positive("current in A", current_a)


def current_density_a_dm2(current_a: float, area_dm2: float) -> float:
    """Average current density, A/dm2; both faces of a sheet count."""
    return not_negative("current in A", current_a) / positive("area in dm2", area_dm2)


def plating_charge_ah(
    thickness_um: float, area_dm2: float, g_per_ah: float, density_g_cm3: float, efficiency: float = 1.0
) -> float:
    """Charge for an average thickness, Ah; ``g_per_ah`` at 100 % efficiency (of the metal, or of the alloy)."""
    mass = mass_from_thickness_g(thickness_um, density_g_cm3, area_dm2)
    return mass / (positive("deposit in g/Ah", g_per_ah) * share("efficiency", efficiency))


def plating_time_min(
    thickness_um: float,
    area_dm2: float,
    current_a: float,
    g_per_ah: float,
    density_g_cm3: float,
    efficiency: float = 1.0,
) -> float:
    """Time for an average thickness, min."""
    return minutes(plating_charge_ah(thickness_um, area_dm2, g_per_ah, density_g_cm3, efficiency), current_a)


def plated_thickness_um(
    charge_ah: float, area_dm2: float, g_per_ah: float, density_g_cm3: float, efficiency: float = 1.0
) -> float:
    """Average thickness that a charge gives, um."""
    mass = not_negative("charge in Ah", charge_ah) * positive("deposit in g/Ah", g_per_ah) * share("efficiency", efficiency)
    return thickness_um(mass, density_g_cm3, area_dm2)


def coulometer_efficiency(
    mass_g: float, molar_mass_g_mol: float, electrons: float, copper_mass_g: float, copper_molar_mass_g_mol: float = 63.546
) -> float:
    """Cathode efficiency from a copper sulfate cell in series with the bath, as a fraction (1 = all of the current).

    Source: Metal Finishing guidebook 2012, p. 554 (copper taken as 100 % efficient, two electrons). Error makes a little over 1
    possible, so it is not cut.
    """
    moles_of_electrons = not_negative("mass in g", mass_g) * positive("electrons per atom", electrons)
    moles_of_electrons /= positive("molar mass in g/mol", molar_mass_g_mol)
    copper_moles = positive("copper mass in g", copper_mass_g)
    copper_moles /= positive("molar mass of copper in g/mol", copper_molar_mass_g_mol)
    return moles_of_electrons / (2.0 * copper_moles)


def penetration_um(current_density_a_dm2: float, time_s: float, g_per_ah: float, density_g_cm3: float) -> float:
    """Metal gained or lost in depth at a current density for a time, um (also corrosion from a measured current)."""
    charge_ah_dm2 = not_negative("current density in A/dm2", current_density_a_dm2) * not_negative("time in s", time_s) / 3600.0
    mass_g_dm2 = charge_ah_dm2 * positive("equivalent in g/Ah", g_per_ah)
    return UM_DM2_PER_CM3 * mass_g_dm2 / positive("density in g/cm3", density_g_cm3)
