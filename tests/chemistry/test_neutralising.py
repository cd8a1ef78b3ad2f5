"""Base that a spent solution takes on paper, by two roads."""

from __future__ import annotations

import pytest

from bathkeeper.chemistry import neutralising
from bathkeeper.chemistry.formulas import molar_mass

from .printed import printed

METALS = ("Fe", "Zn", "Ni")
MASSES = {m: molar_mass(m) for m in METALS}
CHARGES = dict.fromkeys(METALS, 2)


def test_weak_acids_at_ph_nine_and_a_half() -> None:
    # boric acid 25 g/L takes 0.26 eq/L, ammonium chloride 200 g/L 2.4 eq/L, computed apart
    boric = neutralising.weak_acid_equivalents(25 / molar_mass("H3BO3"), 9.5, neutralising.PKA_BORIC_ACID)
    ammonium = neutralising.weak_acid_equivalents(200 / molar_mass("NH4Cl"), 9.5, neutralising.PKA_AMMONIUM)
    assert boric == printed("0.26")
    assert ammonium == printed("2.4")
    # half at the pKa, by definition
    assert neutralising.weak_acid_equivalents(1, 9.24, 9.24) == pytest.approx(0.5)
    # and ten to one for each pH away from it
    assert neutralising.weak_acid_equivalents(1, 10.24, 9.24) == pytest.approx(10 / 11)
    assert neutralising.weak_acid_equivalents(1, 8.24, 9.24) == pytest.approx(1 / 11)
    assert neutralising.base_equivalents(1.0, {}, {}, {}, weak_acids_mol=0.25) == pytest.approx(1.25)


def test_dissolving_iron_changes_no_total() -> None:
    # 2 H+ a mole of iron: what free acid loses, the iron takes
    acid_mol, iron_g = 2.0, 22.338
    free = acid_mol - 2 * iron_g / MASSES["Fe"]
    by_contents = neutralising.base_equivalents(free, {"Fe": iron_g}, MASSES, CHARGES)
    assert by_contents == pytest.approx(neutralising.acid_road_equivalents(acid_mol))


def test_a_spent_bisulfate_pickle() -> None:
    # 20 L of 100 g/L NaHSO4, 64 runs of 4.3 dm2 at 1.5 mL/dm2, level restored: 16.3 equivalents, computed apart
    made_up = 20 * 100 / molar_mass("NaHSO4")
    dragged = made_up * (1 - (1 - 4.3 * 1.5e-3 / 20) ** 64)
    assert neutralising.acid_road_equivalents(made_up, dragged) == printed("16.3")


def test_iron_needs_its_stoichiometry() -> None:
    # 1.306 g HCl, 1.756 g H2SO4, 4.30 g NaHSO4 for a gram of iron, computed apart
    equivalents = neutralising.metal_equivalents({"Fe": 1.0}, MASSES, CHARGES)
    assert neutralising.base_g(equivalents, molar_mass("HCl"), 1) == printed("1.306")
    assert neutralising.base_g(equivalents, molar_mass("H2SO4"), 2) == printed("1.756")
    assert neutralising.base_g(equivalents, molar_mass("NaHSO4"), 1) == printed("4.30")


def test_bases_on_the_shelf_and_their_gas() -> None:
    # definition: one mole of H+ takes 40.00 g NaOH, 53.0 g soda ash, 84.0 g baking soda, 37.05 g slaked lime
    rows = [("NaOH", 1, "40.00"), ("Na2CO3", 2, "52.99"), ("NaHCO3", 1, "84.01"), ("Ca(OH)2", 2, "37.05")]
    for formula, equivalents, grams in rows:
        assert neutralising.base_g(1.0, molar_mass(formula), equivalents) == printed(grams, slack=1)
    assert neutralising.base_g(1.0, molar_mass("NaOH"), 1, 0.5) == printed("79.99", slack=1)
    assert neutralising.carbon_dioxide_l(1.0, 1) == printed("24.47", slack=1)
    assert neutralising.carbon_dioxide_l(1.0, 2) == printed("12.23")


def test_dry_hydroxide() -> None:
    assert neutralising.hydroxide_g(58.69, 58.69, 2) == pytest.approx(molar_mass("Ni(OH)2") * 58.69 / 58.6934, abs=0.004)


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: neutralising.metal_equivalents({"Cr": 1}, MASSES, CHARGES), "molar mass and charge of Cr are needed"),
        (lambda: neutralising.acid_road_equivalents(1, 2), "acid dragged out in mol must be between 0 and 1"),
        (lambda: neutralising.weak_acid_equivalents(1, 15, 9), "pH must be between 0 and 14"),
        (lambda: neutralising.base_g(1, 40, 0), "equivalents per mol"),
        (lambda: neutralising.base_equivalents(-1, {}, {}, {}), "free acid in mol"),
    ],
)
def test_bad_values_are_refused(call: object, said: str) -> None:
    with pytest.raises(ValueError, match=said):
        call()  # type: ignore[operator]
