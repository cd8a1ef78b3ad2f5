"""Density of water and solutions, degrees Baume: against CoolProp, printed tables and measured values."""

from __future__ import annotations

import pytest
from CoolProp.CoolProp import PropsSI

from bathkeeper.chemistry import baume, solution_density_laliberte_2009, water_density_kell_1975, water_density_tanaka_2001
from bathkeeper.chemistry.formulas import mass_fraction

from .printed import printed

tanaka = water_density_tanaka_2001.water_density_kg_m3
kell = water_density_kell_1975.water_density_kg_m3
laliberte = solution_density_laliberte_2009.density_g_cm3
IPTS_68_PER_ITS_90 = 1.00024  # degC on the scale that Kell used (the usual short conversion)
laliberte_g_l = solution_density_laliberte_2009.density_from_g_l


@pytest.mark.parametrize(
    ("celsius", "density"),
    # Tanaka et al. 2001 at one atmosphere, as given by two independent implementations (warsa.de, 20 degC: 998.2067456;
    # the R package preMetabolizer for the others)
    [(0, "999.8428"), (10, "999.7027"), (15, "999.1026"), (20, "998.2067"), (30, "995.6488")],
)
def test_water_by_tanaka(celsius: float, density: str) -> None:
    assert tanaka(celsius) == printed(density)


def test_water_as_measured_with_a_sphere() -> None:
    # hydrostatic weighing of a quartz sphere: 998.9468 kg/m3 at 16 degC (+- 0.0006), largest 999.9756 near 4 degC
    assert tanaka(16) == pytest.approx(998.9468, abs=0.006)
    assert tanaka(3.983) == pytest.approx(999.9756, abs=0.001)
    assert tanaka(3.983035) > max(tanaka(3.5), tanaka(4.5))


@pytest.mark.parametrize("celsius", [0.1, 4, 10, 15, 20, 25, 30, 35, 40])
def test_water_against_coolprop(celsius: float) -> None:
    # IAPWS-95, through CoolProp
    outside = PropsSI("D", "T", celsius + 273.15, "P", 101325, "Water")
    assert tanaka(celsius) == pytest.approx(outside, abs=0.002)
    assert kell(celsius * IPTS_68_PER_ITS_90) == pytest.approx(outside, abs=0.005)


@pytest.mark.parametrize("celsius", [50, 60, 75, 90, 99])
def test_warm_water_against_coolprop(celsius: float) -> None:
    outside = PropsSI("D", "T", celsius + 273.15, "P", 101325, "Water")
    assert kell(celsius * IPTS_68_PER_ITS_90) == pytest.approx(outside, abs=0.005)
    assert kell(celsius) == pytest.approx(outside, abs=0.025)  # what the older temperature scale costs


def test_the_swapped_digits_of_one_printed_copy_are_not_ours() -> None:
    # J. Res. NIST 97 (1992) 335 prints 16.897850e-3 for Kell's 16.879850e-3: 0.36 kg/m3 too light at 20 degC
    assert kell(20) == printed("998.204", slack=1)
    wrong = kell(20) * (1 + 16.879850e-3 * 20) / (1 + 16.897850e-3 * 20)
    assert abs(wrong - PropsSI("D", "T", 293.15, "P", 101325, "Water")) > 0.2


@pytest.mark.parametrize(("outside_range", "function"), [(-1, tanaka), (41, tanaka), (-1, kell), (151, kell)])
def test_water_outside_its_range_is_refused(outside_range: float, function: object) -> None:
    with pytest.raises(ValueError, match="temperature in degC must be between 0 and"):
        function(outside_range)  # type: ignore[operator]


@pytest.mark.parametrize(
    ("degrees", "modulus", "sg"),
    # computed apart from the definition by four moduli in use
    [(20, 145, "1.1600"), (20, 144, "1.1613"), (20, 144.38, "1.1608"), (20, 146.78, "1.1577"), (22, 145, "1.1789")],
)
def test_baume_by_modulus(degrees: float, modulus: float, sg: str) -> None:
    assert baume.sg_from_baume(degrees, modulus) == printed(sg, slack=0.6)  # 146.78: 1.157754
    assert baume.baume_from_sg(float(sg), modulus) == pytest.approx(degrees, abs=0.01)


@pytest.mark.parametrize(
    ("sg", "degrees"),
    # hydrochloric acid table (liquisearch.com), which prints whole degrees; 10 % is printed 6.6
    [(1.048, "6.6"), (1.098, "13"), (1.149, "19"), (1.159, "20"), (1.179, "22"), (1.189, "23")],
)
def test_baume_of_hydrochloric_acid(sg: float, degrees: str) -> None:
    assert baume.baume_from_sg(sg) == printed(degrees)


@pytest.mark.parametrize(("sg", "degrees"), [(1.098, "12.94"), (1.179, "22.01"), (1.30, "33.46"), (1.34, "36.79")])
def test_baume_computed_apart(sg: float, degrees: str) -> None:
    assert baume.baume_from_sg(sg) == printed(degrees)


def test_baume_lighter_than_water_is_refused() -> None:
    with pytest.raises(ValueError, match="heavier than water"):
        baume.baume_from_sg(0.98)
    with pytest.raises(ValueError, match="modulus of the Baume scale"):
        baume.sg_from_baume(20, 14.5)


@pytest.mark.parametrize(
    ("solute", "celsius", "percent", "density", "tolerance"),
    # engineeringtoolbox.com d_1955 and d_1958 at 20 degC; naukowiec.org table 403 for ZnCl2. Tolerance: what a shop
    # hydrometer reads, as model and tables come from different measurements
    [
        ("HCl", 20, 5, 1.0228, 0.001), ("HCl", 20, 10, 1.0476, 0.001), ("H2SO4", 20, 5, 1.0318, 0.001),
        ("H2SO4", 20, 10, 1.0661, 0.001), ("H2SO4", 20, 30, 1.2191, 0.001), ("H2SO4", 20, 50, 1.3952, 0.002),
        ("HNO3", 20, 10, 1.0543, 0.002), ("HNO3", 20, 30, 1.1801, 0.002), ("KCl", 20, 10, 1.0633, 0.001),
        ("KCl", 20, 20, 1.1328, 0.001), ("NH4Cl", 20, 10, 1.0286, 0.002), ("NH4Cl", 20, 20, 1.0567, 0.001),
        ("ZnCl2", 20, 20, 1.187, 0.003), ("ZnCl2", 20, 40, 1.417, 0.005), ("FeCl3", 20, 5, 1.0408, 0.002),
        ("FeCl3", 20, 10, 1.0853, 0.002), ("FeCl3", 20, 20, 1.1816, 0.002), ("NaCl", 20, 10, 1.0707, 0.0005),
        ("NaCl", 20, 20, 1.1478, 0.0005), ("CuSO4", 20, 5, 1.0511, 0.001), ("CuSO4", 20, 10, 1.1070, 0.001),
        ("ZnSO4", 20, 10, 1.1071, 0.001),
        # memory of a handbook's table: sodium carbonate, acetic acid, iron(II) sulfate
        ("Na2CO3", 20, 10, 1.1029, 0.002), ("CH3COOH", 20, 50, 1.0562, 0.002), ("FeSO4", 20, 10, 1.100, 0.003),
    ],
)  # fmt: skip
def test_solutions_of_one_salt(solute: str, celsius: float, percent: float, density: float, tolerance: float) -> None:
    assert laliberte({solute: percent / 100}, celsius) == pytest.approx(density, abs=tolerance)


@pytest.mark.parametrize(
    ("solute", "densities"),
    # 5, 10, 15, 20 % at 20 degC, computed apart from the published coefficients
    [
        ("ZnCl2", "1.0448 1.0904 1.1368 1.1852"),
        ("NiCl2", "1.0465 1.0978 1.1527 1.2117"), ("KCl", "1.0301 1.0632 1.0975 1.1329"),
        ("NH4Cl", "1.0129 1.0276 1.0420 1.0563"),
        ("HCl", "1.0226 1.0473 1.0723 1.0975"), ("FeCl2", "1.0431 1.0909 1.1419 1.1964"),
        ("NaHSO4", "1.0351 1.0729 1.1119 1.1522"),
        ("NaOH", "1.0532 1.1085 1.1638 1.2187"), ("H2SO4", "1.0320 1.0669 1.1030 1.1404"),
        ("HNO3", "1.0263 1.0554 1.0855 1.1164"),
        ("ZnSO4", "1.0511 1.1077 1.1687 1.2345"), ("NiSO4", "1.0521 1.1101 1.1727 1.2401"),
    ],
)  # fmt: skip
def test_coefficients_to_the_digit(solute: str, densities: str) -> None:
    for percent, density in zip((5, 10, 15, 20), densities.split(), strict=True):
        assert laliberte({solute: percent / 100}, 20) == printed(density)


def test_misprinted_zinc_chloride_rows_are_not_reproduced() -> None:
    # naukowiec.org table 403 prints 10 % 1.081 and 30 % 1.193; its neighbours and the model say 1.090 and 1.29
    assert laliberte({"ZnCl2": 0.10}, 20) == pytest.approx(1.090, abs=0.002)
    assert laliberte({"ZnCl2": 0.30}, 20) == pytest.approx(1.293, abs=0.003)
    assert abs(laliberte({"ZnCl2": 0.10}, 20) - 1.081) > 0.008
    assert abs(laliberte({"ZnCl2": 0.30}, 20) - 1.193) > 0.09


def test_spent_pickle_by_two_formulas() -> None:
    # civilengineeringhandbook.tk (ASM): D = 0.9971 + 4.46e-3 HCl + 8.15e-3 FeCl2, g/100 mL, 25 degC
    theirs = 0.9971 + 4.46e-3 * 10 + 8.15e-3 * 20
    assert theirs == printed("1.2047")
    ours = laliberte_g_l({"HCl": 100, "FeCl2": 200}, 25)
    assert ours == printed("1.2044")
    assert ours == pytest.approx(theirs, abs=0.0005)


def test_plating_baths() -> None:
    # computed apart, boric acid left out: acid zinc-nickel Zn 35, Ni 25 g/L as chlorides, KCl 200
    def zinc_nickel(celsius: float, zn: float = 35, ni: float = 25, kcl: float = 200) -> float:
        salts = {"ZnCl2": zn / mass_fraction("ZnCl2", "Zn"), "NiCl2": ni / mass_fraction("NiCl2", "Ni"), "KCl": kcl}
        return laliberte_g_l(salts, celsius)

    for celsius, density in ((20, "1.218"), (25, "1.216"), (35, "1.212")):
        assert zinc_nickel(celsius) == printed(density)
    assert zinc_nickel(25, zn=36) - zinc_nickel(25) == printed("0.0015")
    assert zinc_nickel(25, ni=26) - zinc_nickel(25) == printed("0.0018")
    assert zinc_nickel(25, kcl=210) - zinc_nickel(25) == printed("0.0053")


@pytest.mark.parametrize(
    ("fractions", "celsius", "said"),
    [
        ({"H3BO3": 0.03}, 20, "does not know H3BO3"),
        ({"KCl": 0.3}, 20, "mass fraction of KCl must be between 0 and 0.264"),
        ({"NaHSO4": 0.1}, 5, "temperature in degC for NaHSO4"),
        ({"HCl": 0.6, "KCl": 0.6}, 20, "must leave some water"),
        ({"HCl": -0.1}, 20, "mass fraction of HCl"),
    ],
)
def test_solutions_outside_the_model_are_refused(fractions: dict[str, float], celsius: float, said: str) -> None:
    with pytest.raises(ValueError, match=said):
        laliberte(fractions, celsius)


@pytest.mark.parametrize("celsius", [0, 10, 20, 30])
@pytest.mark.parametrize("fraction", [0.05, 0.10, 0.15, 0.20])
def test_brine_against_coolprop(fraction: float, celsius: float) -> None:
    # CoolProp's incompressible solution MNA: sodium chloride in water (Melinder's property tables), to a part in a thousand
    theirs = PropsSI("D", "T", 273.15 + celsius, "P", 101325, f"INCOMP::MNA[{fraction}]") / 1000
    assert laliberte({"NaCl": fraction}, celsius) == pytest.approx(theirs, abs=0.001)
