"""A deposit of several metals: grams per Ah, density, share of the charge, and how its nickel follows the bath.

Fractions are mass fractions by metal, summing to 1. Charge adds up metal by metal: e = sum w_i n_i / M_i moles of electrons
in a gram of deposit. Densities mix by volume; a measured one is better (gamma zinc-nickel is usually quoted near 7.2-7.4 g/cm3;
that from memory).
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from bathkeeper.chemistry._checks import finite, not_negative, positive, share, within
from bathkeeper.chemistry.constants import MOL_PER_AH

LOWEST_MODELLED_A_DM2 = 0.5
"""Below this an alloy bath turns to normal codeposition (nickel-rich), where the composition rule does not hold (practice)."""

HIGHEST_MODELLED_FRACTION = 0.9
"""Above this the rule has been carried too far from where it was learned."""


def electrons_mol_per_g(
    fractions: Mapping[str, float], molar_masses_g_mol: Mapping[str, float], electrons: Mapping[str, float]
) -> float:
    """Moles of electrons in one gram of deposit. Raises ValueError when fractions do not sum to 1 or a metal is missing."""
    return sum(_electrons_by_metal(fractions, molar_masses_g_mol, electrons).values())


def deposit_g_per_ah(
    fractions: Mapping[str, float],
    molar_masses_g_mol: Mapping[str, float],
    electrons: Mapping[str, float],
    efficiency: float = 1.0,
) -> float:
    """Grams of deposit per Ah that passed (zinc with 13 % nickel at 100 %: 1.2019)."""
    return share("efficiency", efficiency) * MOL_PER_AH / electrons_mol_per_g(fractions, molar_masses_g_mol, electrons)


def density_g_cm3(fractions: Mapping[str, float], densities_g_cm3: Mapping[str, float]) -> float:
    """Density of the deposit by volume mixing, 1/rho = sum w_i/rho_i."""
    _check_fractions(fractions)
    volume = sum(w / positive(f"density of {m} in g/cm3", _of(densities_g_cm3, m, "density")) for m, w in fractions.items())
    return 1.0 / volume


def charge_share(
    fractions: Mapping[str, float], molar_masses_g_mol: Mapping[str, float], electrons: Mapping[str, float]
) -> dict[str, float]:
    """Each metal's share of the charge that deposits metal (13 % nickel by mass is 14.3 % of it). Sums to 1."""
    by_metal = _electrons_by_metal(fractions, molar_masses_g_mol, electrons)
    total = sum(by_metal.values())
    return {metal: e / total for metal, e in by_metal.items()}


def in_model(density_a_dm2: float) -> bool:
    """Whether the composition rule may be used at this current density."""
    return not_negative("current density in A/dm2", density_a_dm2) >= LOWEST_MODELLED_A_DM2


def nickel_fraction(
    w0: float,
    ratio: float,
    ratio0: float,
    exponent: float = 0.7,
    per_degree: float = 0.015,
    delta_t: float = 0.0,
    density_exponent: float = 0.0,
    j: float = 2.0,
    j0: float = 2.0,
) -> float:
    """Nickel mass fraction of the deposit: w0 (ratio/ratio0)^exponent exp(per_degree delta_t) (j/j0)^density_exponent.

    ``ratio`` Ni/(Ni+Zn) by mass in solution; ``delta_t`` degC above the reference; ``j`` current density A/dm2. ``w0`` is what
    the bath gives at the reference and is learned; the exponents are practice (0.7 +- 0.3, 0.015 +- 0.01 per degC, 0 +- 0.15).

    Raises ValueError below 0.5 A/dm2 (ask ``in_model`` first) and when the rule leaves 0-0.9, which it cannot describe.
    """
    share("deposit fraction w0", w0)
    within("ratio Ni/(Ni+Zn)", ratio, 0.0, 1.0)
    share("reference ratio Ni/(Ni+Zn)", ratio0)
    positive("reference current density in A/dm2", j0)
    if not in_model(j):
        raise ValueError(
            f"current density must be at least {LOWEST_MODELLED_A_DM2} A/dm2 for the composition rule, got {j:g}: "
            "below that the deposit turns nickel-rich and only an analysis of it tells"
        )
    positive("exponent of the ratio", exponent)
    warmer = finite("per_degree", per_degree) * finite("delta_t in degC", delta_t)
    by_temperature = math.exp(within("per_degree x delta_t", warmer, -5, 5))
    by_density = (j / j0) ** within("exponent of the current density", density_exponent, -2, 2)
    w = w0 * float((ratio / ratio0) ** exponent) * by_temperature * float(by_density)
    if w > HIGHEST_MODELLED_FRACTION:
        raise ValueError(
            f"the composition rule gives a nickel fraction of {w:.2f}, too far from its reference: "
            f"it holds up to {HIGHEST_MODELLED_FRACTION}"
        )
    return w


def selectivity(deposit_fraction: float, ratio: float) -> float:
    """(Ni/Zn in the deposit) / (Ni/Zn in the bath), by mass; below 1 is anomalous codeposition, the usual case.

    ``ratio`` is Ni/(Ni+Zn) in the bath. Learned per bath: published recipes range from 0.14 to 1.2.
    """
    w = within("nickel fraction of the deposit", deposit_fraction, 0.0, 0.999999)
    r = within("ratio Ni/(Ni+Zn)", ratio, 1e-9, 0.999999)
    return (w / (1 - w)) / (r / (1 - r))


def _electrons_by_metal(
    fractions: Mapping[str, float], molar_masses_g_mol: Mapping[str, float], electrons: Mapping[str, float]
) -> dict[str, float]:
    _check_fractions(fractions)
    return {
        metal: w
        * positive(f"electrons per atom of {metal}", _of(electrons, metal, "number of electrons"))
        / positive(f"molar mass of {metal} in g/mol", _of(molar_masses_g_mol, metal, "molar mass"))
        for metal, w in fractions.items()
    }


def _check_fractions(fractions: Mapping[str, float]) -> None:
    for metal, w in fractions.items():
        within(f"mass fraction of {metal}", w, 0.0, 1.0)
    if not fractions or abs(sum(fractions.values()) - 1.0) > 1e-6:
        raise ValueError(f"the mass fractions of a deposit must sum to 1, got {sum(fractions.values()):g}")


def _of(values: Mapping[str, float], metal: str, what: str) -> float:
    if metal not in values:
        raise ValueError(f"no {what} was given for {metal}; it is needed because the deposit holds it")
    return values[metal]
