"""How much base a spent acid solution takes on paper: free acid, dissolved metals, and weak acids at the target pH.

Arithmetic for understanding and for the contractor who takes the waste, never leave to pour anything away: the local authority
decides. Ammonium and complexing agents make precipitation unreliable whatever the sum says.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from bathkeeper.chemistry._checks import finite, not_negative, positive, share, within
from bathkeeper.chemistry.hydrogen import gas_volume_l

PKA_BORIC_ACID = 9.24
"""25 degC, dilute (memory; agrees with 0.26 eq/L for 25 g/L at pH 9.5)."""

PKA_AMMONIUM = 9.25
"""25 degC, dilute (memory; agrees with 2.4 eq/L for 200 g/L ammonium chloride at pH 9.5)."""


def metal_equivalents(
    metals_g: Mapping[str, float], molar_masses_g_mol: Mapping[str, float], charges: Mapping[str, float]
) -> float:
    """Base that dissolved metals take to fall out as hydroxides, mol: sum of charge x mass / molar mass."""
    total = 0.0
    for metal, grams in metals_g.items():
        if metal not in molar_masses_g_mol or metal not in charges:
            raise ValueError(f"molar mass and charge of {metal} are needed, because it takes base too")
        charge = positive(f"charge of {metal}", charges[metal])
        total += not_negative(f"{metal} in g", grams) * charge / positive(f"molar mass of {metal}", molar_masses_g_mol[metal])
    return total


def weak_acid_equivalents(acid_mol: float, ph: float, pka: float) -> float:
    """Base that a weak acid takes on the way to a pH, mol: acid / (1 + 10^(pKa - pH)). Starting solutions are taken as acid."""
    difference = within("pKa", pka, -5.0, 20.0) - within("pH", ph, 0.0, 14.0)
    return not_negative("weak acid in mol", acid_mol) / (1.0 + math.exp(math.log(10.0) * difference))


def base_equivalents(
    free_acid_mol: float,
    metals_g: Mapping[str, float],
    molar_masses_g_mol: Mapping[str, float],
    charges: Mapping[str, float],
    weak_acids_mol: float = 0.0,
) -> float:
    """Base in all, mol: free acid + metals + what ``weak_acid_equivalents`` gave."""
    strong = not_negative("free acid in mol", free_acid_mol) + metal_equivalents(metals_g, molar_masses_g_mol, charges)
    return strong + not_negative("base for weak acids in mol", weak_acids_mol)


def acid_road_equivalents(acid_made_up_mol: float, acid_dragged_out_mol: float = 0.0) -> float:
    """The same total of a spent pickle by another road, mol: acid put in, less what parts carried out (as acid or as salts).

    Dissolving iron turns free acid into iron that takes the same base (ferric iron 3), so the two roads should meet.
    """
    made_up = not_negative("acid made up in mol", acid_made_up_mol)
    return made_up - within("acid dragged out in mol", acid_dragged_out_mol, 0.0, made_up)


def base_g(equivalents_mol: float, molar_mass_g_mol: float, equivalents_per_mol: float, purity: float = 1.0) -> float:
    """Grams of a base on the shelf: caustic soda 1 equivalent per mol, slaked lime 2, soda ash 2, baking soda 1."""
    moles = not_negative("equivalents in mol", equivalents_mol) / positive("equivalents per mol", equivalents_per_mol)
    return moles * positive("molar mass in g/mol", molar_mass_g_mol) / share("purity", purity)


def carbon_dioxide_l(equivalents_mol: float, equivalents_per_carbonate: float, temperature_c: float = 25.0) -> float:
    """The most carbon dioxide that a carbonate base sets free, L at 1 atm (soda ash 2 equivalents each, baking soda 1).

    It foams, and the gas gathers low in a room.
    """
    moles = not_negative("equivalents in mol", equivalents_mol)
    return gas_volume_l(moles / positive("equivalents per carbonate", equivalents_per_carbonate), temperature_c)


def hydroxide_g(metal_g: float, metal_molar_mass_g_mol: float, charge: float) -> float:
    """Dry hydroxide M(OH)n that a metal falls out as, g; wet sludge is ten or more times that (practice)."""
    moles = not_negative("metal in g", metal_g) / positive("molar mass in g/mol", metal_molar_mass_g_mol)
    return moles * (metal_molar_mass_g_mol + finite("charge", positive("charge", charge)) * 17.007)
