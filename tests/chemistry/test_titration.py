"""Titrations against published worked examples and factors."""

from __future__ import annotations

import pytest

from bathkeeper.chemistry import titration
from bathkeeper.chemistry.formulas import mass_fraction, molar_mass

from .printed import printed


@pytest.mark.parametrize(
    ("formula", "ratio", "factors"),
    # g/L per mL for samples of 1, 2, 5, 10 mL and a 0.1 M (0.1 N) titrant, computed apart
    [
        ("Zn", 1, "6.538 3.269 1.3076 0.6538"), ("Ni", 1, "5.869 2.935 1.1739 0.5869"), ("Cl", 1, "3.545 1.7725 0.7090 0.3545"),
        ("NiCl2.6H2O", 0.5, "11.884 5.942 2.377 1.188"), ("KCl", 1, "7.455 3.728 1.491 0.7455"),
        ("NH4Cl", 1, "5.349 2.675 1.070 0.535"),
        ("H3BO3", 1, "6.183 3.092 1.2366 0.6183"), ("NaOH", 1, "4.000 2.000 0.800 0.400"),
        ("HCl", 1, "3.646 1.823 0.729 0.365"), ("H2SO4", 0.5, "4.904 2.452 0.981 0.490"),
        ("NaHSO4", 1, "12.006 6.003 2.401 1.201"),
        ("HNO3", 1, "6.301 3.151 1.260 0.630"), ("Fe", 1, "5.585 2.792 1.117 0.5585"),
    ],
)  # fmt: skip
def test_factors(formula: str, ratio: float, factors: str) -> None:
    for sample, factor in zip((1, 2, 5, 10), factors.split(), strict=True):
        # slack 0.7: boric acid 61.83 and nickel chloride 118.84 were rounded before the table was made
        assert titration.factor_g_l_per_ml(sample, 0.1, molar_mass(formula), ratio) == printed(factor, slack=0.7)


class TestPublished:
    def test_boric_acid_factor(self) -> None:
        # pfonline, boric acid: 5 mL of bath, 0.1 M caustic: 1.24 g/L a mL (exactly 1.2366)
        assert titration.factor_g_l_per_ml(5, 0.1, molar_mass("H3BO3")) == printed("1.24")
        assert titration.factor_g_l_per_ml(5, 0.1, molar_mass("H3BO3")) == printed("1.2366", slack=1)

    def test_boric_acid_beside_fluoboric(self) -> None:
        # potentiometric titration bulletin 195/2e: 0.250 mL, 0.1 M caustic, 0.834 and 2.786 mL -> 29.29 and 48.28 g/L
        assert titration.concentration_g_l(0.834, 0.250, 0.1, molar_mass("HBF4")) == printed("29.29", slack=1.5)
        boric_ml = titration.by_difference_ml(2.786, 0.834)
        assert titration.concentration_g_l(boric_ml, 0.250, 0.1, molar_mass("H3BO3")) == printed("48.28")

    def test_acid_cleaner_percent(self) -> None:
        # UFC 3-240-13FN p. 193: 10 mL, 1.0 N: % HCl 0.36 a mL, % sulfamic acid 0.97 a mL (g/100 mL)
        assert titration.factor_g_l_per_ml(10, 1.0, molar_mass("HCl")) / 10 == printed("0.36")
        assert titration.factor_g_l_per_ml(10, 1.0, molar_mass("H3NSO3")) / 10 == printed("0.97")

    def test_sulfuric_pickle(self) -> None:
        # civilengineeringhandbook.tk (ASM): 5 mL, 1.02 N: 1 mL is 1 g/100 mL
        assert titration.factor_g_l_per_ml(5, 1.02, molar_mass("H2SO4"), 0.5) / 10 == printed("1.000")

    def test_nickel_chloride_by_silver(self) -> None:
        # application data E4 2018: 1 mL, 0.05 M silver nitrate; factor 5.942
        assert titration.factor_g_l_per_ml(1, 0.05, molar_mass("NiCl2.6H2O"), 0.5) == printed("5.942")

    def test_nickel_by_back_titration(self) -> None:
        # wizedu 57126: 10 mL of 0.0129 M EDTA, 7.2 mL of 0.00979 M zinc -> 0.0585 mmol, 3.43 mg
        moles = titration.back_titration_mol(10, 0.0129, 7.2, 0.00979)
        assert 1000 * moles == printed("0.0585")
        assert 1000 * moles * molar_mass("Ni") == printed("3.43")

    def test_the_wrong_nickel_of_a_study_page_is_not_reproduced(self) -> None:
        # studylib 25969592 gives 0.096 g for 15 mL of 0.11 M EDTA and 3 mL of 0.101 M zinc; it is 0.0791 g
        grams = titration.back_titration_mol(15, 0.11, 3, 0.101) * molar_mass("Ni")
        assert grams == printed("0.0791")
        assert grams != printed("0.096", slack=5)

    def test_one_normal_acid(self) -> None:
        # USP 35: 1 mL of 1 N is 36.46 mg HCl
        assert titration.concentration_g_l(1, 10, 1.0, molar_mass("HCl")) * 10 == printed("36.46")

    def test_worn_cleaner(self) -> None:
        # pfonline, cleaners: 10 mL, 1.0 N: 3.4 and 6.0 mL; fresh 3.4 and 3.8
        assert titration.concentration_g_l(3.4, 10, 1.0, molar_mass("NaOH")) == printed("13.6")
        assert titration.concentration_g_l(6.0, 10, 1.0, molar_mass("NaOH")) == printed("24.0")
        assert titration.alkalinity_ratio(6.0, 3.4) == printed("1.76")
        assert titration.alkalinity_ratio(3.8, 3.4) == printed("1.12")


class TestBathSums:
    """The bath of a zinc-nickel line, computed apart by the same methods."""

    def test_zinc(self) -> None:
        assert titration.concentration_g_l(10.7, 2, 0.1, molar_mass("Zn")) == printed("34.98")
        # with nickel present this counts both
        assert titration.concentration_g_l(12.4, 2.00, 0.100, molar_mass("Zn")) == printed("40.5")

    def test_zinc_by_difference(self) -> None:
        assert titration.concentration_g_l(8.5, 2, 0.1, molar_mass("Ni")) == printed("24.94")
        zinc_ml = titration.by_difference_ml(19.2, 8.5)
        assert titration.concentration_g_l(zinc_ml, 2, 0.1, molar_mass("Zn")) == printed("34.98")

    def test_chloride_and_the_potassium_chloride_left(self) -> None:
        chloride = titration.concentration_g_l(42.3, 1, 0.1, molar_mass("Cl"))
        # slack 1: 149.95 and 81.9 were made with 35.45 and carried rounded
        assert chloride == printed("149.95", slack=1)
        with_zinc = 34.98 * mass_fraction("ZnCl2", "Cl") / mass_fraction("ZnCl2", "Zn")
        with_nickel = 24.94 * mass_fraction("NiCl2", "Cl") / mass_fraction("NiCl2", "Ni")
        assert with_zinc == printed("37.93", slack=1)
        assert with_nickel == printed("30.13")
        left = chloride - with_zinc - with_nickel
        assert left == printed("81.9")
        assert left / mass_fraction("KCl", "Cl") == printed("172.2")

    @pytest.mark.parametrize(
        ("titre", "sample", "normal", "formula", "g_l"),
        [
            (17.0, 5, 1.0, "HCl", "123.96"), (22.4, 5, 0.1, "Fe", "25.02"), (5.0, 10, 1.0, "NaHSO4", "60.03"),
            (15.0, 5, 1.0, "NaOH", "120.0"), (4.87, 10, 1.0, "NaHSO4", "58.5"),
        ],
    )  # fmt: skip
    def test_pickle_and_caustic(self, titre: float, sample: float, normal: float, formula: str, g_l: str) -> None:
        assert titration.concentration_g_l(titre, sample, normal, molar_mass(formula)) == printed(g_l, slack=1)

    def test_zinc_in_a_pickle(self) -> None:
        # scribd 308062262: g/L = mL x 6.538 / mL of sample
        assert titration.concentration_g_l(8.0, 2, 0.1, molar_mass("Zn")) == pytest.approx(8.0 * 6.538 / 2)


def test_blank_dilution_and_the_titre_to_expect() -> None:
    plain = titration.concentration_g_l(10.0, 2, 0.1, 65.38)
    assert titration.concentration_g_l(10.3, 2, 0.1, 65.38, blank_ml=0.3) == pytest.approx(plain)
    assert titration.concentration_g_l(1.0, 2, 0.1, 65.38, dilution=10) == pytest.approx(plain)
    assert titration.titre_ml(plain, 2, 0.1, 65.38) == pytest.approx(10.0)
    assert titration.concentration_mol_l(10.0, 2, 0.1) == pytest.approx(0.5)
    assert titration.net_titre_ml(0.3, 0.3) == 0
    assert titration.net_titre_ml(5.0) == 5.0
    assert titration.by_difference_ml(8.5, 8.5) == 0
    assert titration.back_titration_mol(10, 0.01, 10, 0.01) == 0
    assert titration.alkalinity_ratio(3.4, 3.4) == 1


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: titration.concentration_g_l(1, 0, 0.1, 65), "sample in mL must be a number above 0"),
        (lambda: titration.concentration_g_l(1, 2, 0.1, 65, blank_ml=2), "were the two exchanged"),
        (lambda: titration.concentration_g_l(-1, 2, 0.1, 65), "titre in mL"),
        (lambda: titration.back_titration_mol(10, 0.01, 20, 0.01), "no more than was put in"),
        (lambda: titration.by_difference_ml(8, 9), "must be at most the total"),
        (lambda: titration.alkalinity_ratio(3, 4), "must be at least the 4 mL"),
    ],
)
def test_bad_values_are_refused(call: object, said: str) -> None:
    with pytest.raises(ValueError, match=said):
        call()  # type: ignore[operator]
