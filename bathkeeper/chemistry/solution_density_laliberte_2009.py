"""Density of a solution of several salts, acids and bases from what it holds and how warm it is.

Source: M. Laliberte, J. Chem. Eng. Data 54 (2009) 1725 (form and coefficients; as kept in the open data file
Laliberte2009.tsv of the MIT-licensed ``chemicals`` package), after Laliberte and Cooper, J. Chem. Eng. Data 49 (2004) 1141.
Here to 7 digits, which moves a density by less than 0.0004 kg/m3. Water by Kell 1975. Boric acid, zincate and amines are
not in the model, and old baths hold what no recipe lists: a hydrometer sees salt and water errors, not metal errors.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from bathkeeper.chemistry._checks import not_negative, within
from bathkeeper.chemistry.water_density_kell_1975 import water_density_kg_m3


@dataclass(frozen=True)
class Solute:
    """Coefficients of one solute, the degC they were fitted over, and the largest mass fraction of it."""

    c0: float
    c1: float
    c2: float
    c3: float
    c4: float
    lowest_c: float
    highest_c: float
    largest_fraction: float


SOLUTES: Final[Mapping[str, Solute]] = {
    "ZnCl2": Solute(2048.256, 367.8993, -0.006870805, 0.001183555, 505.0317, 15, 75, 0.520),
    "NiCl2": Solute(639.4159, 424.594, 0.1040337, 0.0007499987, 1235.745, 15, 75, 0.411),
    "KCl": Solute(-0.8559289, 6.040736, 2.817874, 0.02539246, 2681.617, 5, 125, 0.264),
    "NH4Cl": Solute(16.88822, 318.5603, 5.086556, -0.01506165, -1769.122, 12.5, 100, 0.400),
    "HCl": Solute(0.0002838723, 0.00394947, 2.8502, -0.0157747, -3766.209, 5, 99, 0.376),
    "NaOH": Solute(319.0205, 528.5924, -0.1021979, 0.0003504207, 765.9705, 4, 120, 0.503),
    "H2SO4": Solute(70.83952, 142.3527, 0.6877946, 0.006492997, 1667.239, -11, 75, 0.782),
    "HNO3": Solute(0.2720708, -0.399606, -2.33692, 0.006621124, -3089.018, -10, 95, 0.701),
    "NaHSO4": Solute(422.2586, 303.9298, 0.2790062, 0.003247608, 1179.462, 25, 45, 0.298),
    "FeCl2": Solute(98.65403, 199.5046, 0.3363894, 0.003844375, 1650.129, 15, 45, 0.210),
    "FeCl3": Solute(-14.92994, 63.31688, 1.158851, 0.01048208, 2163.058, 0, 35, 0.500),
    "FeSO4": Solute(-0.2247197, 0.1211404, 0.7357245, -0.02186484, 3325.113, 15, 25, 0.233),
    "ZnSO4": Solute(19.39983, 36.98106, -0.08876578, 0.001068931, 2058.602, 15, 60, 0.368),
    "NiSO4": Solute(-0.04014102, 0.2227437, -0.1443368, 0.0009865178, 3072.838, 15, 60, 0.353),
    "CuSO4": Solute(-1.120783e-06, 6.068506e-07, -0.1188632, 0.003780501, 4763.961, 10, 60, 0.284),
    "NaCl": Solute(-0.003241122, 0.06363543, 1.013714, 0.0145951, 3317.349, 0, 140, 0.266),
    "Na2CO3": Solute(5.454865e-07, 1.721549e-07, -0.08258502, 0.001688229, 4705.398, 0, 100, 0.209),
    "CH3COOH": Solute(647.2892, -1054.582, -1.746108, 0.0003655664, -822.9995, 5, 85, 1.000),
}
"""By formula of the anhydrous solute (crystal water counts as water)."""


def density_g_cm3(mass_fractions: Mapping[str, float], temperature_c: float) -> float:
    """Density of a solution from the mass fraction of each solute (the rest is water), g/cm3.

    Raises ValueError for a solute the model does not know, and outside 10 degC beyond the temperatures or above the mass
    fraction that a solute was fitted over.
    """
    temperature = within("temperature in degC", temperature_c, 0.0, 150.0)
    water = 1.0 - sum(not_negative(f"mass fraction of {name}", w) for name, w in mass_fractions.items())
    if water <= 0:
        raise ValueError(f"the mass fractions of the solutes must leave some water, got {1 - water:g} in all")
    volume = water / water_density_kg_m3(temperature)
    for name, w in mass_fractions.items():
        if w:
            volume += w / _apparent_density_kg_m3(name, w, water, temperature)
    return 1.0 / volume / 1000.0


def density_from_g_l(concentrations_g_l: Mapping[str, float], temperature_c: float) -> float:
    """The same from g of each solute in a litre of solution, g/cm3 (solved by repeating: fractions depend on the density)."""
    for name, grams in concentrations_g_l.items():
        not_negative(f"{name} in g/L", grams)
    density = 1.0 + sum(concentrations_g_l.values()) / 2000.0
    for _ in range(200):
        last = density
        density = density_g_cm3({name: c / (1000.0 * last) for name, c in concentrations_g_l.items()}, temperature_c)
        if abs(density - last) < 1e-12:
            break
    return density


def _apparent_density_kg_m3(name: str, fraction: float, water: float, temperature_c: float) -> float:
    solute = SOLUTES.get(name)
    if solute is None:
        raise ValueError(f"the density model does not know {name}; it knows {', '.join(SOLUTES)} (anhydrous)")
    within(f"temperature in degC for {name}", temperature_c, solute.lowest_c - 10.0, solute.highest_c + 10.0)
    within(f"mass fraction of {name}", fraction, 0.0, solute.largest_fraction)
    dissolved = 1.0 - water
    above = (solute.c0 * dissolved + solute.c1) * math.exp(1e-6 * (temperature_c + solute.c4) ** 2)
    return above / (dissolved + solute.c2 + solute.c3 * temperature_c)
