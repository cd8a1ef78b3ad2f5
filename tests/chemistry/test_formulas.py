"""Formula masses against a second library and printed tables, and what is said about nonsense."""

from __future__ import annotations

import molmass
import pytest

from bathkeeper.chemistry.formulas import atoms, mass_fraction, molar_mass

from .printed import printed

# as typed on a label -> the same in the notation of the outside library
COMPOUNDS = {
    "ZnCl2": "ZnCl2",
    "ZnO": "ZnO",
    "ZnSO4.7H2O": "ZnSO4(H2O)7",
    "NiCl2.6H2O": "NiCl2(H2O)6",
    "NiSO4.6H2O": "NiSO4(H2O)6",
    "NiSO4.7H2O": "NiSO4(H2O)7",
    "NiCO3.2Ni(OH)2.4H2O": "NiCO3(Ni(OH)2)2(H2O)4",
    "Ni(NH2SO3)2.4H2O": "Ni(NH2SO3)2(H2O)4",
    "CuSO4.5H2O": "CuSO4(H2O)5",
    "CaSO4.0.5H2O": "Ca2(SO4)2H2O",  # the hemihydrate, doubled
    "Na2[Zn(OH)4]": "Na2Zn(OH)4",
    "H3BO3": "H3BO3",
    "KCl": "KCl",
    "NH4Cl": "NH4Cl",
    "(NH4)2SO4": "(NH4)2SO4",
    "NaHSO4.H2O": "NaHSO4H2O",
    "Na2H2C10H12N2O8.2H2O": "Na2H2C10H12N2O8(H2O)2",
    "H2SO4": "H2SO4",
    "HCl": "HCl",
    "HNO3": "HNO3",
    "NaOH": "NaOH",
    "Na2CO3": "Na2CO3",
    "NaHCO3": "NaHCO3",
    "Ca(OH)2": "Ca(OH)2",
    "C6H8O7.H2O": "C6H8O7(H2O)",
    "AgNO3": "AgNO3",
    "KMnO4": "KMnO4",
    "CrCl3.6H2O": "CrCl3(H2O)6",
    "FeCl2": "FeCl2",
}


@pytest.mark.parametrize(("typed", "outside"), COMPOUNDS.items())
def test_molar_masses_agree_with_molmass(typed: str, outside: str) -> None:
    # molmass averages isotopes, periodictable takes IUPAC's abridged masses: sulfur and boron differ in the 4th digit
    expected = molmass.Formula(outside).mass / (2 if typed == "CaSO4.0.5H2O" else 1)
    assert molar_mass(typed) == pytest.approx(expected, rel=2e-4)


@pytest.mark.parametrize(
    ("formula", "mass"),
    # formula weights computed apart from IUPAC masses; EDTA as printed in a galvanizing test kit's procedure (372.24)
    [
        ("ZnCl2", "136.28"), ("NiCl2.6H2O", "237.68"), ("NiSO4.6H2O", "262.84"), ("ZnO", "81.38"), ("CuSO4.5H2O", "249.68"),
        ("NH4Cl", "53.49"), ("KCl", "74.55"), ("H3BO3", "61.83"), ("HCl", "36.46"), ("HNO3", "63.01"), ("NaOH", "40.00"),
        ("Na2H2C10H12N2O8.2H2O", "372.24"),
    ],
)  # fmt: skip
def test_molar_masses_to_the_printed_digit(formula: str, mass: str) -> None:
    assert molar_mass(formula) == printed(mass, slack=1)


@pytest.mark.parametrize(
    ("formula", "part", "percent"),
    # metal and chloride contents of the usual salts, computed apart from IUPAC masses
    [
        ("ZnCl2", "Zn", "47.97"), ("ZnCl2", "Cl", "52.03"), ("NiCl2.6H2O", "Ni", "24.69"), ("NiCl2.6H2O", "Cl", "29.83"),
        ("NiSO4.6H2O", "Ni", "22.33"), ("NiSO4.7H2O", "Ni", "20.90"), ("NiCO3", "Ni", "49.45"), ("ZnO", "Zn", "80.34"),
        ("Ni(NH2SO3)2", "Ni", "23.40"), ("ZnSO4.7H2O", "Zn", "22.74"), ("CuSO4.5H2O", "Cu", "25.45"),
        ("NH4Cl", "Cl", "66.28"), ("KCl", "Cl", "47.55"),
    ],
)  # fmt: skip
def test_metal_and_chloride_contents(formula: str, part: str, percent: str) -> None:
    assert 100 * mass_fraction(formula, part) == printed(percent)


def test_groups_are_found_as_written_and_counted() -> None:
    assert mass_fraction("NiSO4.6H2O", "SO4") == pytest.approx(molmass.Formula("SO4").mass / 262.84, rel=3e-4)
    assert mass_fraction("(NH4)2SO4", "NH4") == pytest.approx(2 * 18.0385 / 132.13, rel=2e-4)
    assert mass_fraction("NH4Cl", "NH4") == pytest.approx(1 - 0.6628, abs=1e-4)
    assert mass_fraction("NiCl2.6H2O", "H2O") == pytest.approx(6 * 18.015 / 237.68, rel=1e-4)
    assert mass_fraction("Na2[Zn(OH)4]", "OH") == pytest.approx(4 * 17.007 / molar_mass("Na2[Zn(OH)4]"), rel=1e-4)


def test_water_of_a_hydrate_is_not_taken_for_ammonium() -> None:
    with pytest.raises(ValueError, match="the group NH4 is not written in"):
        mass_fraction("Ni(NH2SO3)2.4H2O", "NH4")


def test_fractions_of_all_elements_sum_to_one() -> None:
    for formula in COMPOUNDS:
        assert sum(mass_fraction(formula, element) for element in atoms(formula)) == pytest.approx(1)
        assert mass_fraction(formula, "whole") == 1


@pytest.mark.parametrize("typed", ["NiCl2.6H2O", "NiCl2·6H2O", "NiCl2*6H2O", "NiCl2•6H2O", " NiCl₂·6H₂O ", "NiCl2(H2O)6"])
def test_every_way_of_writing_a_hydrate_is_the_same(typed: str) -> None:
    assert atoms(typed) == {"Ni": 1, "Cl": 2, "H": 12, "O": 6}


def test_a_hydrate_dot_is_not_a_decimal_point() -> None:
    # read as Cl2.6 it would be 168.88 g/mol
    assert molar_mass("NiCl2.6H2O") == printed("237.68")


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("", "is wanted"), ("   ", "is wanted"), ("nickel chloride", "not understood"), ("fe", "not understood"),
        ("Xx2", "no element Xx"), ("D2O", "no element D"), ("n", "not understood"), ("NiCl2.", "not understood"),
        (".6H2O", "nothing is written"), ("Ni(OH", "left open"), ("Ni()", "empty"), ("NiOH)2", "do not match"),
        ("[Ni(OH]2)", "do not match"), ("Zn2+", "without charges"), ("SO4^2-", "without charges"), ("H0", "between 1 and 1000"),
        ("H1001", "between 1 and 1000"), ("NiCl2.0H2O", "count after the dot"), ("H" * 201, "at most 200"),
        ("5% NaCl", "not understood"), ("NiCl2;6H2O", "not understood"),
        ("NiCl2 6H2O", "not understood"), ("NiCl2\x00", "not understood"),
    ],
)  # fmt: skip
def test_nonsense_is_refused_with_a_reason(typed: str, said: str) -> None:
    with pytest.raises(ValueError, match=said):
        molar_mass(typed)


def test_what_a_compound_does_not_hold_is_refused() -> None:
    with pytest.raises(ValueError, match="KCl holds no Ni; its elements are K, Cl"):
        mass_fraction("KCl", "Ni")
    with pytest.raises(ValueError, match="not written in ZnCl2"):
        mass_fraction("ZnCl2", "SO4")
    with pytest.raises(ValueError, match="name an element or a group as it stands there"):
        mass_fraction("NiCl2.6H2O", "Ni.H2O")
