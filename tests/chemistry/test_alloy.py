"""Zinc-nickel deposits: grams, density and charge by mixture, and the rule for their composition."""

from __future__ import annotations

import math

import pytest

from bathkeeper.chemistry import alloy, faraday
from bathkeeper.chemistry.formulas import molar_mass

from .printed import printed

MASSES = {"Zn": molar_mass("Zn"), "Ni": molar_mass("Ni")}
ELECTRONS = {"Zn": 2, "Ni": 2}
DENSITIES = {"Zn": 7.14, "Ni": 8.908}


def zinc_nickel(w: float) -> dict[str, float]:
    return {"Zn": 1 - w, "Ni": w}


@pytest.mark.parametrize(
    ("w", "per_ah", "density", "um", "share"),
    # computed apart: charge additive, volumes additive, from CODATA and IUPAC values
    [
        (0.10, "1.2060", "7.285", "16.56", "11.0"), (0.12, "1.2033", "7.314", "16.45", "13.2"),
        (0.13, "1.2019", "7.329", "16.40", "14.3"), (0.14, "1.2006", "7.344", "16.35", "15.4"),
        (0.15, "1.1992", "7.359", "16.30", "16.4"), (0.16, "1.1979", "7.374", "16.24", "17.5"),
    ],
)  # fmt: skip
def test_mixture_table(w: float, per_ah: str, density: str, um: str, share: str) -> None:
    grams = alloy.deposit_g_per_ah(zinc_nickel(w), MASSES, ELECTRONS)
    mixed = alloy.density_g_cm3(zinc_nickel(w), DENSITIES)
    assert grams == printed(per_ah)
    assert mixed == printed(density)
    assert faraday.plated_thickness_um(1.0, 1.0, grams, mixed) == printed(um)
    assert 100 * alloy.charge_share(zinc_nickel(w), MASSES, ELECTRONS)["Ni"] == printed(share)


def test_zinc_nickel_load() -> None:
    # 13 % Ni, 8 um on 5 dm2 at 2 A/dm2, 93 %, 7.33 g/cm3, computed apart
    grams_per_ah = alloy.deposit_g_per_ah(zinc_nickel(0.13), MASSES, ELECTRONS)
    assert faraday.mass_from_thickness_g(8, 7.33, 5) == printed("2.932")
    assert faraday.plating_charge_ah(8, 5, grams_per_ah, 7.33, 0.93) == printed("2.623")
    assert faraday.plating_time_min(8, 5, 10, grams_per_ah, 7.33, 0.93) == printed("15.74")


@pytest.mark.parametrize(("minutes", "um"), [(30, "11.8"), (60, "23.6")])
def test_common_practice_of_a_tenth_of_an_ampere_per_square_inch(minutes: float, um: str) -> None:
    # 1.55 A/dm2, 93 %, 13 % Ni, 7.33 g/cm3, computed apart
    grams_per_ah = alloy.deposit_g_per_ah(zinc_nickel(0.13), MASSES, ELECTRONS)
    assert faraday.plated_thickness_um(1.55 * minutes / 60, 1, grams_per_ah, 7.33, 0.93) == printed(um)


@pytest.mark.parametrize(
    ("um", "acid", "acid_min", "alkaline", "alkaline_min"),
    # 13 % Ni, 7.30 g/cm3; acid at 93 %, alkaline at 55 %; minutes at 1 A/dm2; computed apart
    [
        (5, "0.327", "19.6", "0.552", "33.1"), (8, "0.522", "31.3", "0.883", "53.0"), (10, "0.653", "39.2", "1.104", "66.3"),
        (12, "0.784", "47.0", "1.325", "79.5"), (25, "1.633", "98.0", "2.761", "166"),
    ],
)  # fmt: skip
def test_zinc_nickel_times(um: float, acid: str, acid_min: str, alkaline: str, alkaline_min: str) -> None:
    grams_per_ah = alloy.deposit_g_per_ah(zinc_nickel(0.13), MASSES, ELECTRONS)
    for efficiency, charge, minutes in ((0.93, acid, acid_min), (0.55, alkaline, alkaline_min)):
        assert faraday.plating_charge_ah(um, 1, grams_per_ah, 7.30, efficiency) == printed(charge)
        assert faraday.plating_time_min(um, 1, 1, grams_per_ah, 7.30, efficiency) == printed(minutes)


def test_gamma_and_delta_phase() -> None:
    # Ni5Zn21 17.6 %, Ni3Zn22 10.9 % nickel by mass
    for formula, nickel, zinc, percent in (("gamma", 5, 21, "17.6"), ("delta", 3, 22, "10.9")):
        w = nickel * MASSES["Ni"] / (nickel * MASSES["Ni"] + zinc * MASSES["Zn"])
        assert 100 * w == printed(percent), formula
        share = alloy.charge_share(zinc_nickel(w), MASSES, ELECTRONS)["Ni"]
        assert share == pytest.approx(nickel / (nickel + zinc))  # both metals take two electrons


@pytest.mark.parametrize(
    ("w", "zn", "ni", "k"),
    # selectivity of published baths (consonnisrl.it and a supplier's page), computed apart
    [
        (0.06, 8, 2.0, "0.26"), (0.08, 8, 2.0, "0.35"), (0.12, 9, 2.0, "0.61"), (0.15, 9, 2.0, "0.79"), (0.12, 8, 1.5, "0.73"),
        (0.18, 8, 1.5, "1.17"),
    ],
)  # fmt: skip
def test_selectivity_of_published_baths(w: float, zn: float, ni: float, k: str) -> None:
    assert alloy.selectivity(w, ni / (ni + zn)) == printed(k)


def test_pure_metal_is_the_limit_of_the_mixture() -> None:
    assert alloy.deposit_g_per_ah({"Ni": 1.0}, MASSES, ELECTRONS) == pytest.approx(faraday.equivalent_g_per_ah(MASSES["Ni"], 2))
    assert alloy.density_g_cm3({"Ni": 1.0, "Zn": 0.0}, DENSITIES) == pytest.approx(8.908)


def test_composition_follows_the_bath() -> None:
    # w = w0 (r/r0)^0.7 exp(0.015 dT) (j/j0)^c: by hand
    assert alloy.nickel_fraction(0.13, 0.42, 0.42) == pytest.approx(0.13)
    assert alloy.nickel_fraction(0.13, 0.38, 0.42) == pytest.approx(0.13 * (0.38 / 0.42) ** 0.7)
    assert alloy.nickel_fraction(0.13, 0.38, 0.42) == printed("0.121")
    assert alloy.nickel_fraction(0.13, 0.42, 0.42, delta_t=5) == pytest.approx(0.13 * math.exp(0.075))
    assert alloy.nickel_fraction(0.13, 0.42, 0.42, density_exponent=-0.1, j=1, j0=2) == pytest.approx(0.13 * 2**0.1)
    assert alloy.nickel_fraction(0.13, 0.0, 0.42) == 0
    # a current density that was not told changes nothing
    assert alloy.nickel_fraction(0.13, 0.42, 0.42, density_exponent=0.15) == pytest.approx(0.13)
    assert alloy.nickel_fraction(0.13, 0.42, 0.42, j=4) == pytest.approx(0.13)


def test_composition_rule_knows_its_limits() -> None:
    assert not alloy.in_model(0.49)
    assert alloy.in_model(0.5)
    with pytest.raises(ValueError, match=r"at least 0\.5 A/dm2"):
        alloy.nickel_fraction(0.13, 0.42, 0.42, j=0.49)
    with pytest.raises(ValueError, match="too far from its reference"):
        alloy.nickel_fraction(0.5, 0.9, 0.1)
    with pytest.raises(ValueError, match=r"ratio Ni/\(Ni\+Zn\) must be between 0 and 1, got 42"):
        alloy.nickel_fraction(0.13, 42, 0.42)


@pytest.mark.parametrize("fractions", [{}, {"Zn": 0.8, "Ni": 0.13}, {"Zn": 87.0, "Ni": 13.0}, {"Zn": 1.1, "Ni": -0.1}])
def test_fractions_that_are_no_composition_are_refused(fractions: dict[str, float]) -> None:
    with pytest.raises(ValueError, match="mass fraction"):
        alloy.electrons_mol_per_g(fractions, MASSES, ELECTRONS)


def test_a_missing_metal_is_named() -> None:
    with pytest.raises(ValueError, match="no molar mass was given for Fe"):
        alloy.electrons_mol_per_g({"Fe": 1.0}, MASSES, {"Fe": 2})
    with pytest.raises(ValueError, match="no density was given for Fe"):
        alloy.density_g_cm3({"Fe": 1.0}, DENSITIES)
