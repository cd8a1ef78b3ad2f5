"""What a charge leaves behind in a bath with dissolving anodes: metal, acid or caustic; and the anode split that holds metals.

Acid baths (inefficient current makes hydrogen at the cathode, oxygen at the anode):
    acid used = (anode efficiency - cathode efficiency) x charge x 3600/F
Zincate baths lose free caustic by the same amount while the metal rises: zinc binds two hydroxides for each electron, and
the two gas reactions one each. Shares are of the anode current by metal; on a common bus one may be near or below zero, so
they are not bounded. Fractions, molar masses (g/mol) and electrons are given by metal.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal

from bathkeeper.chemistry._checks import finite, not_negative, positive, share, within
from bathkeeper.chemistry.alloy import deposit_g_per_ah
from bathkeeper.chemistry.constants import MOL_PER_AH

Case = Literal["holds", "grows", "falls"]


def acid_used_mol(charge_ah: float, anode_efficiency: float, cathode_efficiency: float) -> float:
    """Acid (H+) that a charge uses in an acid bath, mol; below 0 when acid is made. ``anode_efficiency``: mean over shares."""
    anode = within("anode efficiency", anode_efficiency, 0.0, 1.2)
    cathode = within("cathode efficiency", cathode_efficiency, 0.0, 1.0)
    return (anode - cathode) * not_negative("charge in Ah", charge_ah) * MOL_PER_AH


def caustic_used_mol(charge_ah: float, anode_efficiency: float, cathode_efficiency: float) -> float:
    """Free caustic (OH-) that a charge uses in a zincate bath, mol; below 0 when it is set free (inert or steel anodes)."""
    return acid_used_mol(charge_ah, anode_efficiency, cathode_efficiency)


def reagent_for_equivalents_g(
    equivalents_mol: float, molar_mass_g_mol: float, equivalents_per_mol: float, mass_fraction: float = 1.0
) -> float:
    """Grams out of the bottle that hold so many moles of H+ or OH-; ``mass_fraction`` of the acid in it (37 % is 0.37)."""
    moles = not_negative("equivalents in mol", equivalents_mol) / positive("equivalents per mol", equivalents_per_mol)
    return moles * positive("molar mass in g/mol", molar_mass_g_mol) / share("mass fraction", mass_fraction)


def reagent_for_equivalents_ml(
    equivalents_mol: float, molar_mass_g_mol: float, equivalents_per_mol: float, mass_fraction: float, density_g_ml: float
) -> float:
    """The same as mL of a liquid reagent."""
    grams = reagent_for_equivalents_g(equivalents_mol, molar_mass_g_mol, equivalents_per_mol, mass_fraction)
    return grams / positive("density in g/mL", density_g_ml)


def anode_g(
    charge_ah: float, anode_share: float, molar_mass_g_mol: float, electrons: float, anode_efficiency: float = 1.0
) -> float:
    """Metal that dissolves from the anodes of one metal, g; below 0 when its share is (metal plates onto them)."""
    passed_mol = not_negative("charge in Ah", charge_ah) * MOL_PER_AH * finite("anode share", anode_share)
    grams = passed_mol * positive("molar mass in g/mol", molar_mass_g_mol) / positive("electrons per atom", electrons)
    return within("anode efficiency", anode_efficiency, 0.0, 1.2) * grams


def net_bath_g(
    charge_ah: float,
    shares: Mapping[str, float],
    fractions: Mapping[str, float],
    molar_masses_g_mol: Mapping[str, float],
    electrons: Mapping[str, float],
    cathode_efficiency: float,
    anode_efficiency: float = 1.0,
    dragout_l_per_ah: float = 0.0,
    concentrations_g_l: Mapping[str, float] | None = None,
) -> dict[str, float]:
    """Grams of each metal that the bath gains (below 0: loses) over a charge: anodes - deposit - drag-out.

    ``shares`` of the anode current by metal; a deposited metal without a share has no anode. ``concentrations_g_l`` are needed
    only with drag-out. Raises ValueError when shares do not sum to 1 (inert anodes: leave the remainder under ``"inert"``).
    """
    if abs(sum(shares.values()) - 1.0) > 1e-6:
        raise ValueError(f"the shares of the anode current must sum to 1, got {sum(shares.values()):g}")
    charge = not_negative("charge in Ah", charge_ah)
    deposit = charge * deposit_g_per_ah(fractions, molar_masses_g_mol, electrons, cathode_efficiency)
    lost_l = charge * not_negative("drag-out in L/Ah", dragout_l_per_ah)
    net: dict[str, float] = {}
    for metal in dict.fromkeys([*fractions, *(m for m in shares if m != "inert")]):
        molar_mass, n = _of(molar_masses_g_mol, metal), _of(electrons, metal)
        gained = anode_g(charge, shares.get(metal, 0.0), molar_mass, n, anode_efficiency)
        dragged = lost_l * _concentration(concentrations_g_l, metal) if lost_l else 0.0
        net[metal] = gained - deposit * fractions.get(metal, 0.0) - dragged
    return net


def balance_share(
    fractions: Mapping[str, float],
    molar_masses_g_mol: Mapping[str, float],
    electrons: Mapping[str, float],
    cathode_efficiency: float,
    anode_efficiency: float = 1.0,
    dragout_l_per_ah: float = 0.0,
    concentrations_g_l: Mapping[str, float] | None = None,
) -> dict[str, float]:
    """The share of the anode current that holds each metal where it is:

        s* = [ cathode efficiency x w n/(M e) + (F/3600) n x drag-out x concentration / M ] / anode efficiency

    They sum to 1 only by luck: ``balance_case`` says what follows when they do not.
    """
    grams_per_ah = deposit_g_per_ah(fractions, molar_masses_g_mol, electrons, cathode_efficiency)
    dragout = not_negative("drag-out in L/Ah", dragout_l_per_ah)
    efficiency = share("anode efficiency", anode_efficiency)
    wanted: dict[str, float] = {}
    for metal, w in fractions.items():
        needed_g_ah = w * grams_per_ah + (dragout * _concentration(concentrations_g_l, metal) if dragout else 0.0)
        wanted[metal] = needed_g_ah / anode_g(1.0, 1.0, molar_masses_g_mol[metal], electrons[metal], efficiency)
    return wanted


def balance_case(shares: Mapping[str, float], tolerance: float = 0.005) -> Case:
    """What the sum of the balance shares means.

    ``holds``: all metals can be held; ``grows`` (below 1): even the best split adds metal; ``falls`` (above 1): salts are
    needed even at the best split.
    """
    total = sum(finite(f"share of {m}", s) for m, s in shares.items())
    if abs(total - 1.0) <= not_negative("tolerance", tolerance):
        return "holds"
    return "grows" if total < 1.0 else "falls"


def metal_growth_g_per_ah(
    molar_mass_g_mol: float, electrons: float, anode_efficiency: float, cathode_efficiency: float
) -> float:
    """What a bath of one metal gains per Ah before drag-out, g/Ah (nickel, 100 % and 93 %: 0.0766)."""
    per_ah = anode_g(1.0, 1.0, molar_mass_g_mol, electrons, anode_efficiency)
    return per_ah - anode_g(1.0, 1.0, molar_mass_g_mol, electrons, within("cathode efficiency", cathode_efficiency, 0.0, 1.0))


def break_even_dragout_l_per_ah(growth_g_per_ah: float, concentration_g_l: float) -> float:
    """Drag-out that just carries away what the anodes add too much, L/Ah; 0 when nothing is added too much."""
    return max(finite("growth in g/Ah", growth_g_per_ah), 0.0) / positive("concentration in g/L", concentration_g_l)


def acid_used_by_metal_mol(
    in_bath_g: Mapping[str, float],
    dragged_out_g: Mapping[str, float],
    added_as_salts_g: Mapping[str, float],
    molar_masses_g_mol: Mapping[str, float],
    electrons: Mapping[str, float],
) -> float:
    """Acid used over a period, told by the metals: sum n/M x (gained + dragged out - added as salts), mol.

    Compare with ``acid_used_mol`` plus acid used by chemical dissolution; when the two differ, something was not written down.
    """
    total = 0.0
    for metal in dict.fromkeys([*in_bath_g, *dragged_out_g, *added_as_salts_g]):
        grams = finite(f"{metal} gained in g", in_bath_g.get(metal, 0.0)) + dragged_out_g.get(metal, 0.0)
        grams -= added_as_salts_g.get(metal, 0.0)
        total += grams * _of(electrons, metal) / _of(molar_masses_g_mol, metal)
    return total


def _of(values: Mapping[str, float], metal: str) -> float:
    if metal not in values:
        raise ValueError(f"molar mass and electrons of {metal} are needed, because it is deposited or dissolved")
    return values[metal]


def _concentration(concentrations_g_l: Mapping[str, float] | None, metal: str) -> float:
    if concentrations_g_l is None or metal not in concentrations_g_l:
        raise ValueError(f"the concentration of {metal} in g/L is needed, because drag-out takes it along")
    return not_negative(f"concentration of {metal} in g/L", concentrations_g_l[metal])
