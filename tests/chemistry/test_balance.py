"""What a charge leaves in a bath: metal, acid, hydrogen, and the anode split, against sums made apart."""

from __future__ import annotations

import pytest

from bathkeeper.chemistry import balance, faraday, hydrogen
from bathkeeper.chemistry.alloy import deposit_g_per_ah
from bathkeeper.chemistry.constants import FARADAY_C_MOL
from bathkeeper.chemistry.formulas import molar_mass

from .printed import printed

MASSES = {"Zn": molar_mass("Zn"), "Ni": molar_mass("Ni")}
ELECTRONS = {"Zn": 2, "Ni": 2}
ALLOY = {"Zn": 0.87, "Ni": 0.13}


@pytest.mark.parametrize(
    ("share", "zinc_kg", "nickel_kg"),
    # 1 kAh, 93 %, 13 % Ni, anodes 100 %, computed apart
    [(0.10, "0.125", "-0.036"), (0.143, "0.073", "0.011"), (0.20, "0.003", "0.074")],
)
def test_book_of_a_thousand_ampere_hours(share: float, zinc_kg: str, nickel_kg: str) -> None:
    net = balance.net_bath_g(1000, {"Ni": share, "Zn": 1 - share}, ALLOY, MASSES, ELECTRONS, 0.93)
    assert net["Zn"] / 1000 == printed(zinc_kg)
    assert net["Ni"] / 1000 == printed(nickel_kg)


def test_deposit_of_a_thousand_ampere_hours() -> None:
    kg = deposit_g_per_ah(ALLOY, MASSES, ELECTRONS, 0.93)
    assert kg == printed("1.118")
    assert kg * 0.87 == printed("0.972", slack=0.6)
    assert kg * 0.13 == printed("0.145")


def test_acid_that_holds_the_ph() -> None:
    # 7 % of 37.31 mol/kAh = 2.61 mol: 95 g HCl, about 0.22 L of 37 % acid
    acid = balance.acid_used_mol(1000, 1.0, 0.93)
    assert acid == printed("2.61")
    assert balance.reagent_for_equivalents_g(acid, molar_mass("HCl"), 1) == printed("95")
    assert balance.reagent_for_equivalents_ml(acid, molar_mass("HCl"), 1, 0.37, 1.18) / 1000 == printed("0.22")


class TestNickel:
    """Cathode 93 %, anode 100 %, 40 L, 1000 Ah, computed apart."""

    def test_metal_grows(self) -> None:
        growth = balance.metal_growth_g_per_ah(MASSES["Ni"], 2, 1.0, 0.93)
        assert growth == printed("0.0766")
        assert growth * 1000 / 40 == printed("1.92")
        assert 1000 * balance.break_even_dragout_l_per_ah(growth, 82) == printed("0.93")

    def test_acid_per_ampere_hour(self) -> None:
        acid = balance.acid_used_mol(1, 1.0, 0.93)
        assert 1000 * acid == printed("2.61")
        assert balance.reagent_for_equivalents_ml(acid, molar_mass("H2SO4"), 2, 0.96, 1.84) == printed("0.0725")

    def test_efficient_cathode_makes_acid(self) -> None:
        # anodes worse than the cathode: pH low, metal low (Rosenstein and Hirsch, table I)
        assert balance.acid_used_mol(100, 0.90, 0.95) < 0
        assert balance.metal_growth_g_per_ah(MASSES["Ni"], 2, 0.90, 0.95) < 0
        assert balance.break_even_dragout_l_per_ah(-0.05, 80) == 0


class TestBalanceShare:
    """Zinc-nickel at 13 % Ni, 93 %, computed apart."""

    def test_without_dragout(self) -> None:
        shares = balance.balance_share(ALLOY, MASSES, ELECTRONS, 0.93)
        assert 100 * shares["Ni"] == printed("13.3")
        assert sum(shares.values()) == pytest.approx(0.93)
        assert balance.balance_case(shares) == "grows"

    def test_with_equal_efficiencies(self) -> None:
        shares = balance.balance_share(ALLOY, MASSES, ELECTRONS, 0.93, 0.93)
        assert 100 * shares["Ni"] == printed("14.3")
        assert balance.balance_case(shares) == "holds"

    def test_with_dragout(self) -> None:
        shares = balance.balance_share(ALLOY, MASSES, ELECTRONS, 0.93, 1.0, 1.29e-3, {"Zn": 33.6, "Ni": 22.6})
        assert 100 * shares["Ni"] == printed("15.9", slack=0.6)
        shares = balance.balance_share(ALLOY, MASSES, ELECTRONS, 0.93, 1.0, 3e-3, {"Zn": 33.6, "Ni": 22.6})
        assert balance.balance_case(shares) == "falls"

    def test_the_balance_share_leaves_nothing_over(self) -> None:
        grams_per_l = {"Zn": 33.6, "Ni": 22.6}
        shares = balance.balance_share(ALLOY, MASSES, ELECTRONS, 0.93, 0.98, 1e-3, grams_per_l)
        left = {"inert": 1 - sum(shares.values())}
        net = balance.net_bath_g(500, {**shares, **left}, ALLOY, MASSES, ELECTRONS, 0.93, 0.98, 1e-3, grams_per_l)
        assert net == pytest.approx({"Zn": 0, "Ni": 0}, abs=1e-9)


def test_nickel_plated_onto_its_anode_by_a_common_bus() -> None:
    net = balance.net_bath_g(10, {"Ni": -0.02, "Zn": 1.02}, ALLOY, MASSES, ELECTRONS, 0.93)
    assert net["Ni"] < balance.net_bath_g(10, {"Ni": 0.0, "Zn": 1.0}, ALLOY, MASSES, ELECTRONS, 0.93)["Ni"]


def test_a_common_bus_costs_so_much_nickel_chloride() -> None:
    # share 3 %: holding nickel costs 57 g NiCl2.6H2O per 100 Ah (0.93, 13 %, drag-out 1.29 mL/Ah at 22.6 g/L), computed apart
    g_l = {"Zn": 33, "Ni": 22.6}
    net = balance.net_bath_g(100, {"Ni": 0.03, "Zn": 0.97}, ALLOY, MASSES, ELECTRONS, 0.93, 1.0, 1.29e-3, g_l)
    assert -net["Ni"] / 0.24694 == pytest.approx(57, abs=1)


def test_acid_from_the_metals_meets_acid_from_the_charge() -> None:
    # electrons counted twice over: what the metals gained is what acid was used
    shares = {"Ni": 0.12, "Zn": 0.88}
    net = balance.net_bath_g(300, shares, ALLOY, MASSES, ELECTRONS, 0.93, 0.99, 1e-3, {"Zn": 33, "Ni": 22})
    dragged = {"Zn": 300 * 1e-3 * 33, "Ni": 300 * 1e-3 * 22}
    by_metal = balance.acid_used_by_metal_mol(net, dragged, {}, MASSES, ELECTRONS)
    assert by_metal == pytest.approx(balance.acid_used_mol(300, 0.99, 0.93))


def test_caustic_falls_as_metal_rises() -> None:
    # per electron: zinc anode -2 OH, oxygen -1, zinc deposit +2, hydrogen +1
    anode, cathode = 0.98, 0.70
    per_electron = -2 * anode - (1 - anode) + 2 * cathode + (1 - cathode)
    assert balance.caustic_used_mol(26.8015, anode, cathode) == pytest.approx(-per_electron * 26.8015 * 3600 / FARADAY_C_MOL)


class TestHydrogen:
    def test_litres_per_ampere_hour(self) -> None:
        # 0.456 L/Ah at 25 degC, computed apart
        assert hydrogen.hydrogen_l(1) == printed("0.456")
        assert hydrogen.chlorine_l(1) == printed("0.456")
        assert hydrogen.oxygen_l(1) == printed("0.228")
        assert hydrogen.hydrogen_l(1, temperature_c=0) == printed("0.418")

    def test_oxygen_at_a_tired_anode(self) -> None:
        # four electrons a molecule, 5 % of 200 Ah
        assert hydrogen.oxygen_l(200, 0.95) == pytest.approx(0.05 * 200 * 0.4564 / 2, rel=1e-3)
        assert hydrogen.gas_volume_l(2.0, 0.0) == pytest.approx(2 * 22.41397, rel=1e-6)

    def test_only_the_wasted_current_makes_it(self) -> None:
        assert hydrogen.hydrogen_l(1000, 0.93) == pytest.approx(0.07 * 456.4, abs=0.05)
        assert hydrogen.hydrogen_l(1000, 1.0) == 0
        assert hydrogen.hydrogen_mol(1000) == printed("18.66")  # half of 37.31 mol of electrons

    def test_efficiency_as_percent_is_refused(self) -> None:
        with pytest.raises(ValueError, match="cathode efficiency must be between 0 and 1, got 93"):
            hydrogen.hydrogen_l(1, 93)


def test_a_metal_without_an_anode_and_an_anode_without_a_deposit() -> None:
    iron = {"Fe": 55.845, **MASSES}, {"Fe": 2, **ELECTRONS}
    net = balance.net_bath_g(100, {"Zn": 0.9, "Fe": 0.1}, ALLOY, *iron, 0.93)
    # nickel has no anode: it only leaves; iron is not deposited: it only enters
    assert net["Ni"] == pytest.approx(-100 * 0.13 * deposit_g_per_ah(ALLOY, MASSES, ELECTRONS, 0.93))
    assert net["Fe"] == pytest.approx(10 * 1.0418, rel=1e-4)
    assert balance.acid_used_by_metal_mol({"Zn": 65.38}, {"Ni": 58.6934}, {}, MASSES, ELECTRONS) == pytest.approx(4)
    assert balance.acid_used_by_metal_mol({"Zn": 65.38}, {}, {"Zn": 65.38}, MASSES, ELECTRONS) == pytest.approx(0)


def test_one_metal_dissolves_by_faraday() -> None:
    assert balance.anode_g(1, 1.0, MASSES["Zn"], 2) == pytest.approx(faraday.equivalent_g_per_ah(MASSES["Zn"], 2))


def test_bad_values_are_refused() -> None:
    with pytest.raises(ValueError, match=r"shares of the anode current must sum to 1, got 0\.5"):
        balance.net_bath_g(1, {"Ni": 0.5}, ALLOY, MASSES, ELECTRONS, 0.93)
    with pytest.raises(ValueError, match="concentration of Zn in g/L is needed"):
        balance.net_bath_g(1, {"Zn": 1.0}, ALLOY, MASSES, ELECTRONS, 0.93, dragout_l_per_ah=1e-3)
    with pytest.raises(ValueError, match="molar mass and electrons of Fe are needed"):
        balance.net_bath_g(1, {"Fe": 1.0}, ALLOY, MASSES, ELECTRONS, 0.93)
    with pytest.raises(ValueError, match="cathode efficiency must be between 0 and 1"):
        balance.acid_used_mol(1, 1.0, 93)
