"""What to add or take out: worked sums made apart, and a few published ones."""

from __future__ import annotations

import pytest

from bathkeeper.chemistry import additions
from bathkeeper.chemistry.balance import reagent_for_equivalents_g, reagent_for_equivalents_ml
from bathkeeper.chemistry.formulas import mass_fraction, molar_mass

from .printed import printed


def test_raising_zinc_and_the_chloride_it_brings() -> None:
    # 60 L, Zn 28 -> 35 g/L: 420 g Zn = 875.5 g ZnCl2 (902.6 g at 97 %), brings 455.5 g chloride (7.6 g/L)
    zinc = additions.missing_g(60, 28, 35)
    assert zinc == printed("420")
    pure = additions.reagent_g(zinc, mass_fraction("ZnCl2", "Zn"))
    bought = additions.reagent_g(zinc, mass_fraction("ZnCl2", "Zn"), 0.97)
    assert pure == printed("875.5")
    assert bought == printed("902.6", slack=1)  # made from the rounded 875.5
    chloride = additions.brought_g(bought, mass_fraction("ZnCl2", "Cl"), 0.97)
    assert chloride == printed("455.5")
    assert additions.concentration_change_g_l(chloride, 60) == printed("7.6")


def test_lowering_by_dilution_takes_everything() -> None:
    # Zn 4.5 -> 3.5 oz/gal in 400 gal: swap 22.2 % = 88.9 gal; every other salt falls 22.2 % too
    assert 100 * additions.swap_fraction(4.5, 3.5) == printed("22.2")
    assert additions.swap_l(400, 4.5, 3.5) == printed("88.9")
    assert additions.after_swap_g_l(200, additions.swap_fraction(4.5, 3.5)) == printed("155.6")


def test_boric_acid_and_nickel_fall_together() -> None:
    # boric 36 -> 30 g/L with water replacing solution: 16.7 %
    assert 100 * additions.swap_fraction(36, 30) == printed("16.7")


@pytest.mark.parametrize(
    ("sulfate", "chloride", "metal", "slack"),
    # finishingandcoating.com article 1820: two tanks, oz/gal of the two hydrates -> nickel printed 11.18 and 11.02 (0.1 % high)
    [(43.0, 6.34, "11.18", 1.5), (39.82, 8.58, "11.02", 1.5)],
)
def test_nickel_from_two_salts(sulfate: float, chloride: float, metal: str, slack: float) -> None:
    salts = [(sulfate, mass_fraction("NiSO4.6H2O", "Ni")), (chloride, mass_fraction("NiCl2.6H2O", "Ni"))]
    assert additions.metal_g_l(salts) == printed(metal, slack)


def test_nickel_from_two_salts_exactly() -> None:
    sulfate, chloride = mass_fraction("NiSO4.6H2O", "Ni"), mass_fraction("NiCl2.6H2O", "Ni")
    assert additions.metal_g_l([(43.0, sulfate), (6.34, chloride)]) == printed("11.17")
    assert additions.metal_g_l([(39.82, sulfate), (8.58, chloride)]) == printed("11.01")
    # Watts 300/60/45 g/L: 81.8 = 67.0 + 14.8
    assert additions.metal_g_l([(300, sulfate)]) == printed("67.0")
    assert additions.metal_g_l([(60, chloride)]) == printed("14.8")
    assert additions.metal_g_l([(300, sulfate), (60, chloride)]) == printed("81.8")


def test_water_first_when_the_level_is_low() -> None:
    # 40 L bath now at 36 L, Ni read 88 g/L -> 79.2 g/L
    assert additions.at_level_g_l(88, 36, 40) == printed("79.2")
    assert additions.water_to_level_l(36, 40) == pytest.approx(4)
    # 100 L, marked 95 L, Zn read 36.8 -> 34.96 g/L
    assert additions.at_level_g_l(36.8, 95, 100) == printed("34.96")


def test_jar_test_scaled_up() -> None:
    # 40 L, a 100 mL jar took 6.0 mL of 0.1 N acid: 240 meq = 11.8 g H2SO4 = 6.7 mL of 96 %; the pH alone would say 0.063 mL
    equivalents = additions.jar_test_equivalents(6.0, 0.1, 100, 40)
    assert 1000 * equivalents == printed("240")
    assert reagent_for_equivalents_g(equivalents, molar_mass("H2SO4"), 2) == printed("11.8")
    ml = reagent_for_equivalents_ml(equivalents, molar_mass("H2SO4"), 2, 0.96, 1.84)
    assert ml == printed("6.7")
    assert ml > 100 * 0.063


def test_dropper_kit_in_weight_percent() -> None:
    # one drop is 0.5 % w/w at SG 1.3: 6.5 g/L; 12 drops 78 g/L
    assert additions.g_l_from_percent_w_w(0.5, 1.3) == printed("6.5")
    assert additions.g_l_from_percent_w_w(6.0, 1.3) == printed("78")


def test_percent_by_weight() -> None:
    # liquisearch.com, hydrochloric acid: % w/w, SG -> g/L; engineeringtoolbox.com: 10 % H2SO4 1.0661
    rows = [(10, 1.048, "104.8"), (20, 1.098, "219.6"), (30, 1.149, "344.7"), (36, 1.179, "424.4"), (38, 1.189, "451.8")]
    for percent, sg, g_l in rows:
        assert additions.g_l_from_percent_w_w(percent, sg) == printed(g_l)
        assert additions.percent_w_w_from_g_l(float(g_l), sg) == pytest.approx(percent, rel=2e-4)
    assert additions.g_l_from_percent_w_w(10, 1.0661) == printed("106.6")


def test_thinning_concentrated_acids() -> None:
    # evergainful.com.my acid-base table: 82.5 mL of 12.1 M HCl to 1 L of 1 M; 28 mL of 36 N sulfuric acid to 1 L of 1 N
    assert additions.stock_volume(12.1, 1.0, 1000) == printed("82.5", slack=2)
    assert additions.stock_volume(36, 1.0, 1000) == printed("28")
    # c1 V1 = c2 V2: 0.5 M from 2 M is a quarter
    assert additions.stock_volume(2.0, 0.5, 400) == pytest.approx(100)


def test_diluted_acid_of_the_pharmacopoeia() -> None:
    # USP 35: 226 mL concentrated hydrochloric acid (37.2 %, 1.18) to 1 L holds 9.5-10.5 g/100 mL
    strong = additions.g_l_from_percent_w_w(37.2, 1.18)
    assert 95 <= additions.mixed_concentration([(226, strong), (774, 0)]) <= 105


def test_the_edges_are_allowed() -> None:
    assert additions.missing_g(60, 28, 28) == 0
    assert additions.at_level_g_l(88, 40, 40) == 88
    assert additions.after_swap_g_l(88, 1.0) == 0
    assert additions.after_swap_g_l(88, 0.0) == 88
    assert additions.brought_g(100, 0.5) == additions.brought_g(100, 0.5, 1.0) == 50
    assert additions.percent_w_w_from_g_l(1300, 1.3) == 100


def test_mixing_by_volume() -> None:
    assert additions.mixed_concentration([(10, 30), (30, 10)]) == pytest.approx(15)


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: additions.missing_g(60, 35, 28), "35 g/L is above the wanted 28 g/L"),
        (lambda: additions.swap_l(60, 28, 35), "wanted concentration in g/L must be between 0 and 28, got 35"),
        (lambda: additions.reagent_g(420, 47.97), "content must be a fraction"),
        (lambda: additions.reagent_g(420, 0.48, 97), "purity must be a fraction"),
        (lambda: additions.at_level_g_l(88, 41, 40), "working level must be at or above the 41 L"),
        (lambda: additions.stock_volume(1, 2, 10), "wanted concentration must be between 0 and 1"),
        (lambda: additions.mixed_concentration([(0, 5)]), "at least one part"),
        (lambda: additions.g_l_from_percent_w_w(120, 1.3), "percent by weight"),
        (lambda: additions.percent_w_w_from_g_l(2000, 1.3), "percent by weight"),
        (lambda: additions.jar_test_equivalents(6, 0.1, 0, 40), "jar in mL"),
    ],
)
def test_bad_values_are_refused(call: object, said: str) -> None:
    with pytest.raises(ValueError, match=said):
        call()  # type: ignore[operator]
