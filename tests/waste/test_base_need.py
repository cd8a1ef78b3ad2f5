"""Base that a waste vessel takes on paper: worked cases, two roads of a spent pickle, laws."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bathkeeper.findings import Estimate
from bathkeeper.waste.base_need import base_need
from bathkeeper.waste.treatment_sums import treatment_sums
from tests.chemistry.printed import printed
from tests.stories.test_pickle import FE, NAHSO4, hand_worked, told
from tests.waste.vessels import CATALOGUE, METALS, about, any_stream, exact, of_recipe, species, vessel

few = settings(max_examples=60, derandomize=True, deadline=None)


def sums_by_base(stream, **more):
    need = base_need(stream, **more)
    return need, {b.base: b for b in treatment_sums(stream, need).bases}


class TestWorkedCases:
    @pytest.mark.parametrize(("ph", "grams"), [(2.0, "40"), (3.0, "4.0"), (1.0, "400")])
    def test_a_rinse_of_strong_acid_by_its_ph(self, ph: float, grams: str) -> None:
        # computed apart: 100 L at pH 2 hold 10^-2 x 100 = 1.00 mol H+, 40 g NaOH; pH 3 and 1: 4.0 and 400 g
        need, bases = sums_by_base(vessel(100.0, what="rinse water", role="rinse", ph=exact(ph, "pH")), ph=7.0)
        assert bases["sodium hydroxide"].grams.value == printed(grams)
        assert any("pH alone" in a for a in need.assumptions)

    def test_ph_alone_is_not_used_where_acid_is_on_record(self) -> None:
        need = base_need(vessel(100.0, amounts={"free acid": 1200.6}, ph=exact(2.0, "pH")))
        assert need.equivalents.value == pytest.approx(10.0, rel=1e-3)

    def test_ten_litres_of_hydrochloric_acid(self) -> None:
        # computed apart: 10 L of 10 % w/w (1.048 g/mL): 28.7 mol; 1150 g NaOH, 1065 Ca(OH)2, 1523 Na2CO3 with 352 L, 2415
        # NaHCO3 with 703 L of carbon dioxide; 1604 kJ, +18 degC by a caustic solution (21 kg in all), +59 degC by dry pellets
        need, bases = sums_by_base(vessel(10.0, amounts={"hydrochloric acid": 1048.0}, density_g_ml=1.048))
        assert need.equivalents.value == printed("28.7")
        assert need.free_acid == need.equivalents
        for name, grams, co2 in (
            ("sodium hydroxide", "1150", 0),
            ("calcium hydroxide", "1065", 0),
            ("sodium carbonate", "1523", 352),
            ("sodium bicarbonate", "2415", 703),
        ):
            assert bases[name].grams.value == printed(grams, slack=1)
            assert bases[name].carbon_dioxide_l.value == pytest.approx(co2, abs=0.6)
        caustic = bases["sodium hydroxide"]
        assert caustic.heat_kj.value == printed("1604")
        assert caustic.rise_c == printed("18")
        assert caustic.rise_dry_c == printed("59")
        assert not caustic.boils  # as a mean; at the pellets it does

    def test_a_plating_bath(self) -> None:
        # computed apart: 20 L with zinc 35, nickel 25 g/L: 1.54 kg NaOH, 1.85 kg dry sludge, 62 kg wet at 3 %, 7.4 kg at 25 %
        stream = vessel(20.0, amounts={"zinc": 700.0, "nickel": 500.0})
        need, bases = sums_by_base(stream)
        assert bases["sodium hydroxide"].grams.value / 1000 == printed("1.54")
        sums = treatment_sums(stream, need)
        assert sums.sludge_dry_g.value / 1000 == printed("1.85")
        assert sums.sludge_wet_kg == (printed("7.4"), printed("62"))

    @pytest.mark.parametrize(
        ("metal", "naoh", "lime", "soda", "dry"),
        [  # computed apart, g a gram of metal
            ("zinc", "1.224", "1.133", "1.621", "1.520"), ("nickel", "1.363", "1.262", "1.806", "1.580"),
            ("chromium", "2.308", "2.137", "3.058", "1.981"), ("iron(III)", "2.149", "1.990", "2.847", "1.914"),
            ("iron(II)", "1.432", "1.327", "1.898", "1.609"), ("cobalt", "1.357", "1.257", "1.798", "1.577"),
        ],
    )  # fmt: skip
    def test_base_for_a_gram_of_metal(self, metal: str, naoh: str, lime: str, soda: str, dry: str) -> None:
        stream = vessel(1.0, amounts={metal: 1.0})
        need, bases = sums_by_base(stream)
        for base, grams in (("sodium hydroxide", naoh), ("calcium hydroxide", lime), ("sodium carbonate", soda)):
            assert bases[base].grams.value == printed(grams, slack=1)
        assert treatment_sums(stream, need).sludge_dry_g.value == printed(dry, slack=1)

    def test_weak_acids_at_ph_nine_and_a_half(self) -> None:
        # computed apart: boric acid 25 g/L takes 0.26 eq/L, ammonium chloride 200 g/L 2.4 eq/L
        assert base_need(vessel(amounts={"boric acid": 25.0})).boric_acid.value == printed("0.26")
        need = base_need(vessel(amounts={"ammonium chloride": 200.0}))
        assert need.ammonium.value == printed("2.4")
        assert need.ammonium_mol.value == pytest.approx(200 / 53.49, rel=1e-3)
        # the same ammonium counted as NH4: 18.04 of 53.49 g
        assert base_need(vessel(amounts={"ammonium": 200 * 18.039 / 53.492})).ammonium.value == printed("2.4")

    def test_a_salts_own_formula_counts(self) -> None:
        salt = vessel(amounts={"salt": 136.3}, species={"salt": species("salt", "ZnCl2")})
        assert base_need(salt).metals["salt"].value == pytest.approx(2.0, rel=1e-3)
        sulfate = vessel(amounts={"salt": 132.14}, species={"salt": species("salt", "(NH4)2SO4")})
        assert base_need(sulfate).ammonium_mol.value == pytest.approx(2.0, rel=1e-3)

    def test_bisulfate_gives_one_proton_and_sulfuric_acid_two(self) -> None:
        assert base_need(vessel(amounts={"free acid": 120.06})).free_acid.value == pytest.approx(1.0, rel=1e-3)
        assert base_need(vessel(amounts={"sulfuric acid": 98.08})).free_acid.value == pytest.approx(2.0, rel=1e-3)


class TestSpentPickle:
    """20 L of 100 g/L bisulfate, dumped after 64 loads: 9.5 g/L iron, 0.72 zinc, 0.107 nickel."""

    def pickle(self, spread: float = 0.03):
        acid = hand_worked(64, 2.4, stripped=3)["acid"] * NAHSO4
        amounts = {"free acid": acid, "iron": 9.5 * 20, "zinc": 0.72 * 20, "nickel": 0.107 * 20}
        return vessel(20.0, role="pickle", recipe="bisulfate-pickle", amounts=amounts, spread=spread)

    def roads(self):
        made_up = 20 * 100 / NAHSO4
        return made_up, made_up * (1 - (1 - 4.3 * 1.5e-3 / 20) ** 64)

    def test_both_roads_meet_at_16_3(self) -> None:
        made_up, dragged = self.roads()
        out = about(dragged, 0.2, "mol")
        need = base_need(self.pickle(), acid_made_up_mol=exact(made_up, "mol"), acid_dragged_out_mol=out)
        assert need.equivalents.value == printed("16.3")
        road = need.second_road
        assert road is not None
        assert road.equivalents.value == printed("16.3")
        assert abs(road.difference.value) < 0.1
        assert road.agree

    def test_the_book_of_that_pickle_comes_to_the_same(self) -> None:
        tale = told(64)
        tale.log("removal", tank="pickle", all=True, to="drum-1")
        world = tale.world()
        held, life = world.containers["drum-1"].held(), world.tanks["pickle"].lives[-1]
        species_of = CATALOGUE.recipe("bisulfate-pickle").species
        amounts = {n: exact(held.get(f"mass:{n}", 0.0)) for n in species_of}
        need = base_need(
            vessel(held["volume"], role="pickle", amounts=amounts, species=dict(species_of)),
            acid_made_up_mol=exact(2000 / NAHSO4, "mol"),
            acid_dragged_out_mol=exact(-life.flows["drag-out"]["mass:free acid"] / NAHSO4, "mol"),
        )
        assert need.equivalents.value == pytest.approx(16.3, abs=0.15)
        road = need.second_road
        assert road is not None
        assert road.equivalents.value == pytest.approx(16.3, abs=0.15)
        assert road.agree

    def test_the_iron_charge_is_stated_and_may_be_learned(self) -> None:
        assert any("2.4 base to one iron (2 to 3; of a pickle, practice)" in a for a in base_need(self.pickle()).assumptions)
        two = base_need(self.pickle(), iron_charge=exact(2.0))
        assert two.metals["iron"].value == pytest.approx(2 * 190 / FE)
        assert any("as this pickle has taught" in a for a in two.assumptions)

    def test_roads_of_exact_numbers_meet_within_a_little(self) -> None:
        made_up, dragged = self.roads()
        for off, agree in ((0.0, True), (0.3, True), (0.8, False)):
            road = base_need(
                self.pickle(0.0),
                iron_charge=exact(2.4),
                acid_made_up_mol=exact(made_up + off, "mol"),
                acid_dragged_out_mol=exact(dragged, "mol"),
            ).second_road
            assert road is not None
            assert road.agree == agree

    def test_a_forgotten_addition_shows(self) -> None:
        made_up, dragged = self.roads()
        road = base_need(
            self.pickle(), acid_made_up_mol=exact(made_up - 5, "mol"), acid_dragged_out_mol=exact(dragged, "mol")
        ).second_road
        assert road is not None
        assert not road.agree
        assert road.difference.value == pytest.approx(5, abs=0.1)


class TestAlkaline:
    def test_alkali_counts_against(self) -> None:
        stream = vessel(amounts={"free alkali": 40.0, "hydrochloric acid": 36.46})
        assert base_need(stream).equivalents.value == pytest.approx(0.0, abs=2e-3)

    def test_zincate_lets_go_of_four_and_keeps_two(self) -> None:
        # Zn(OH)4-- + 2 H+ -> Zn(OH)2: a mole of zinc in a zincate bath takes two of acid
        bath = vessel(
            amounts={"free alkali": 80.0, "zinc": 65.38},
            species={"free alkali": species("alkali", "NaOH", 1.0), "zinc": species("metal", hydroxide_held=4.0)},
        )
        need = base_need(bath)
        assert need.equivalents.value == pytest.approx(-4.0, rel=2e-3)
        assert need.alkaline

    def test_total_alkali_holds_the_free(self) -> None:
        bath = of_recipe("alkaline-degreaser")  # 20 g/L free, 22 g/L total, counted as NaOH, in 20 L
        found = base_need(bath).equivalents
        assert found.value == pytest.approx(-22 * 20 / 40.0, rel=1e-3)
        assert found.high == pytest.approx(-20 * 20 / 40.0 * 0.95, rel=1e-3)  # at least the free, less its 5 %

    def test_carbonate_by_its_two_steps(self) -> None:
        # half of it is bicarbonate at pH 10.33, and at pH 6.35 all of that and half of the gas: by definition of pKa
        soda = vessel(amounts={"carbonate": 105.99})
        assert base_need(soda, 10.33).alkali.value == pytest.approx(-0.5, abs=2e-3)
        assert base_need(soda, 6.35).alkali.value == pytest.approx(-1.5, abs=2e-3)
        baking = vessel(amounts={"salt": 84.01}, species={"salt": species("salt", "NaHCO3")})
        assert base_need(baking, 10.33).alkali.value == pytest.approx(0.0, abs=2e-3)
        assert base_need(baking, 6.35).alkali.value == pytest.approx(-0.5, abs=2e-3)

    def test_carbonate_that_met_acid_may_have_lost_its_gas(self) -> None:
        mixed = base_need(vessel(amounts={"carbonate": 105.99, "hydrochloric acid": 364.6}), 9.5)
        assert mixed.alkali.low == pytest.approx(-2.0, abs=2e-3)
        assert any("gas has gone" in a for a in mixed.assumptions)

    def test_iron_sludge_of_an_alkaline_tank_takes_none(self) -> None:
        tank = vessel(
            amounts={"sodium carbonate": 50.0, "iron": 10.0},
            species={"sodium carbonate": species("salt", "Na2CO3"), "iron": species("contaminant")},
        )
        need = base_need(tank)
        assert need.metals["iron"].value == 0
        assert any("fallen out already" in a for a in need.assumptions)

    def test_no_base_is_worked_out(self) -> None:
        stream = of_recipe("alkaline-zinc")
        assert treatment_sums(stream, base_need(stream)).bases == ()


class TestWhatIsNotKnown:
    def test_it_is_named(self) -> None:
        stream = vessel(amounts={"brightener": exact(20.0, "mL"), "moon dust": 5.0, "zinc": 1.0, "chloride": 9.0})
        need = base_need(stream)
        assert set(need.unknown) == {"brightener", "moon dust"}
        assert not need.partial

    @pytest.mark.parametrize("formula", ["Na2S", "NaOCl", "Na2SO3", "NH4OH", "Na3PO4"])
    def test_what_is_no_plain_salt_is_not_taken_for_one(self, formula: str) -> None:
        assert base_need(vessel(amounts={"stuff": 5.0}, species={"stuff": species("salt", formula)})).unknown == ("stuff",)

    def test_an_acid_or_base_by_its_plain_name(self) -> None:
        assert base_need(vessel(amounts={"citric acid": 192.12})).free_acid.value == pytest.approx(3.0, rel=1e-3)
        assert base_need(vessel(amounts={"sodium hydroxide": 40.0})).equivalents.value == pytest.approx(-1.0, rel=1e-3)
        assert base_need(vessel(amounts={"soda ash": 105.99})).equivalents.value < 0

    def test_incomplete_or_empty_counts_what_is_known(self) -> None:
        assert base_need(vessel(amounts={"zinc": 1.0}, complete=False)).partial
        assert base_need(vessel(amounts={})).partial

    @pytest.mark.parametrize(("name", "formula"), [("chromium(VI)", ""), ("hexavalent chromium", ""), ("salt", "K2Cr2O7")])
    def test_chromium_vi_never_counts_as_falling_out(self, name: str, formula: str) -> None:
        need = base_need(vessel(amounts={name: 5.0}, species={name: species("salt", formula)}))
        assert need.chromium_vi == (name,)
        assert need.equivalents.value == 0

    def test_a_passivate_without_ph_says_so(self) -> None:
        need = base_need(of_recipe("trivalent-passivate-coloured"))
        assert any("measure the pH" in a for a in need.assumptions)

    @pytest.mark.parametrize("ph", [-1.0, 14.5, math.nan])
    def test_a_ph_that_cannot_be(self, ph: float) -> None:
        with pytest.raises(ValueError, match="pH must be between 0 and 14"):
            base_need(vessel(amounts={"zinc": 1.0}), ph)


class TestSpreads:
    def test_independent_errors_add_in_squares(self) -> None:
        # two equal parts, 10 % each, a volume that is known: 10 % / sqrt(2) of the sum
        amounts = {"hydrochloric acid": about(36.46, 0.1), "nitric acid": about(63.01, 0.1)}
        total = base_need(vessel(1.0, amounts=amounts, volume_l=exact(1.0, "L"))).equivalents
        assert total.spread / total.value == pytest.approx(0.1 / math.sqrt(2), rel=1e-3)

    def test_errors_of_one_volume_go_together(self) -> None:
        amounts = {"hydrochloric acid": about(36.46, 0.1), "nitric acid": about(63.01, 0.1)}
        total = base_need(vessel(1.0, amounts=amounts, volume_l=about(1.0, 0.1))).equivalents
        assert total.spread / total.value == pytest.approx(0.1, rel=1e-3)
        against = {"hydrochloric acid": about(36.46, 0.1), "free alkali": about(20.0, 0.1)}
        total = base_need(vessel(1.0, amounts=against, volume_l=about(1.0, 0.1))).equivalents
        assert total.spread == pytest.approx(0.05, rel=1e-3)  # acid and alkali move against each other: 0.1 - 0.05


class TestLaws:
    @few
    @given(
        st.dictionaries(st.sampled_from(["hydrochloric acid", "sulfuric acid", "free acid", *METALS, "boric acid", "ammonium",
                                         "free alkali", "carbonate"]), st.floats(0, 5000)),
        st.sampled_from(["hydrochloric acid", "sulfuric acid", "free acid", *METALS, "boric acid", "ammonium"]),
        st.floats(0, 1000),
    )  # fmt: skip
    def test_more_acid_or_metal_never_takes_less(self, amounts: dict[str, float], which: str, more: float) -> None:
        before = base_need(vessel(10.0, amounts=amounts)).equivalents.value
        after = base_need(vessel(10.0, amounts={**amounts, which: amounts.get(which, 0.0) + more})).equivalents.value
        assert after >= before - 1e-9 * max(abs(before), 1)

    @few
    @given(st.floats(0.1, 1000))
    def test_water_takes_none(self, litres: float) -> None:
        need = base_need(vessel(litres, what="rinse water", role="rinse", ph=exact(7.0, "pH")))
        assert need.equivalents == Estimate(0.0, 0.0, 0.0, "mol")
        assert base_need(vessel(litres, amounts={"chloride": 0.0, "zinc": 0.0})).equivalents.value == 0

    @settings(max_examples=200, derandomize=True, deadline=None)
    @given(any_stream(), st.floats(0, 14))
    def test_whatever_is_in_it_the_sum_holds_together(self, stream, ph: float) -> None:
        need = base_need(stream, ph)
        total = need.equivalents
        assert total.low <= total.value <= total.high
        assert all(math.isfinite(v) for v in (total.value, total.low, total.high))
        parts = [need.free_acid, need.boric_acid, need.ammonium, need.alkali, *need.metals.values()]
        assert total.value == pytest.approx(sum(p.value for p in parts), rel=1e-9, abs=1e-9)
        assert need.alkali.value <= 0 <= need.free_acid.value
