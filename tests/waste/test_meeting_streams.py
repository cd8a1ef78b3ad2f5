"""What two waste vessels give when they meet, and what is kept apart so that options stay open."""

from __future__ import annotations

import pytest
from hypothesis import given, settings

from bathkeeper.findings import Estimate
from bathkeeper.safety.loader import load
from bathkeeper.waste.meeting_streams import meeting_of, stream_groups
from tests.waste.vessels import CATALOGUE, any_stream, exact, of_recipe, species, vessel

HCL = of_recipe("hydrochloric-pickle")
BISULFATE = of_recipe("bisulfate-pickle")
NITRIC = of_recipe("nitric-dip")
CLEANER = of_recipe("alkaline-degreaser")
AMMONIUM = of_recipe("zinc-nickel-chloride-ammonium")
ALKALINE = of_recipe("alkaline-zinc-nickel-generator")
PASSIVATE = of_recipe("trivalent-passivate-coloured")


def worst(a, b) -> tuple[str, set[str]]:
    told = meeting_of(a, b, stream_groups(a, CATALOGUE), stream_groups(b, CATALOGUE))
    return told[0].verdict, {t.gives for t in told if t.verdict == told[0].verdict}


class TestGroups:
    def test_by_what_it_holds_with_fractions(self) -> None:
        # 100 g/L bisulfate give or take 5 %, taken for as heavy as water: a tenth, by its high end
        groups = stream_groups(BISULFATE, CATALOGUE)
        assert groups["acid"] == groups["sulfuric acid"] == pytest.approx(0.105)
        heavy = vessel(20.0, amounts={"free acid": 2000.0}, role="pickle", density_g_ml=1.25)
        assert stream_groups(heavy, CATALOGUE)["acid"] == pytest.approx(0.08)

    @pytest.mark.parametrize(
        ("stream", "wanted", "unwanted"),
        [
            (NITRIC, {"acid", "nitric acid"}, {"alkali", "chloride"}),
            (CLEANER, {"alkali"}, {"acid"}),
            (AMMONIUM, {"ammonium", "nickel", "chloride", "organics", "plating bath"}, {"acid", "alkali", "base metal powder"}),
            (ALKALINE, {"alkali", "nickel", "plating bath"}, {"ammonium", "acid"}),
            (PASSIVATE, {"chromium(III)"}, {"chromium(VI)", "alkali"}),
        ],
    )
    def test_by_recipe(self, stream, wanted: set[str], unwanted: set[str]) -> None:
        groups = set(stream_groups(stream, CATALOGUE))
        assert wanted <= groups
        assert not unwanted & groups

    def test_contaminants_count_and_traces_do_not(self) -> None:
        kinds = {"free acid": species("acid", "NaHSO4", 1.0), **dict.fromkeys(("nickel", "chromium"), species("contaminant"))}
        drum = vessel(20.0, role="pickle", amounts={"free acid": 1000.0, "nickel": 2.0, "chromium": 0.0}, species=kinds)
        groups = stream_groups(drum, CATALOGUE)
        assert groups["nickel"] == pytest.approx(1e-4)
        assert "chromium(III)" not in groups

    def test_a_mixed_vessel_has_all_groups_of_its_parts(self) -> None:
        mixed = vessel(40.0, origins=(*NITRIC.origins, *CLEANER.origins), amounts={}, complete=False)
        assert set(stream_groups(mixed, CATALOGUE)) >= set(stream_groups(NITRIC, CATALOGUE)) | {"alkali"}

    def test_a_tank_without_recipe_goes_by_its_role(self) -> None:
        assert "acid" in stream_groups(vessel(5.0, role="pickle"), CATALOGUE)
        assert "plating bath" in stream_groups(vessel(5.0, role="plate"), CATALOGUE)
        assert "acid" in stream_groups(vessel(5.0, role="pickle", recipe="no-such-recipe"), CATALOGUE)

    @pytest.mark.parametrize("what", ["filters", "rags", "carbon"])
    def test_what_is_fuel(self, what) -> None:
        assert "organics" in stream_groups(vessel(None, what=what, role="", mass_kg=exact(1.0, "kg")), CATALOGUE)

    def test_additives_are_organic_whatever_they_are_called(self) -> None:
        secret = vessel(5.0, what="other", role="", amounts={"part B": exact(50.0, "mL")})
        assert set(stream_groups(secret, CATALOGUE)) == {"organics"}

    def test_by_its_ph(self) -> None:
        assert "acid" in stream_groups(vessel(5.0, what="other", role="", ph=exact(2.0)), CATALOGUE)
        assert "alkali" in stream_groups(vessel(5.0, what="other", role="", ph=exact(12.0)), CATALOGUE)
        assert not stream_groups(vessel(5.0, what="other", role="", ph=exact(7.0)), CATALOGUE)

    def test_chromium_vi_is_its_own_group(self) -> None:
        groups = stream_groups(vessel(5.0, what="other", role="", amounts={"chromium(VI)": 5.0}), CATALOGUE)
        assert "chromium(VI)" in groups

    def test_what_only_a_reagent_is_called(self) -> None:
        old = vessel(1.0, what="chemicals", role="", amounts={"zinc dust": 100.0, "sodium hypochlorite solution": 500.0})
        assert {"base metal powder", "hypochlorite"} <= set(stream_groups(old, CATALOGUE))


class TestMeetings:
    @pytest.mark.parametrize(
        ("a", "b"),
        [  # the pairs of baths that must never be mixed or stored in one tray (from memory of what they give)
            (HCL, NITRIC), (HCL, CLEANER), (HCL, ALKALINE), (BISULFATE, CLEANER), (BISULFATE, ALKALINE), (NITRIC, CLEANER),
            (NITRIC, AMMONIUM), (NITRIC, ALKALINE), (CLEANER, AMMONIUM), (CLEANER, PASSIVATE), (AMMONIUM, ALKALINE),
            (ALKALINE, PASSIVATE),
        ],
    )  # fmt: skip
    def test_never(self, a, b) -> None:
        assert worst(a, b)[0] == "never"
        assert worst(b, a)[0] == "never"

    def test_what_comes_of_it(self) -> None:
        assert "ammonia" in worst(CLEANER, AMMONIUM)[1]
        assert any("chlor" in g for g in worst(HCL, NITRIC)[1])

    def test_oxidiser_and_rags(self) -> None:
        rags = vessel(None, what="rags", role="", mass_kg=exact(1.0, "kg"))
        strong = vessel(5.0, role="acid dip", amounts={"nitric acid": 1500.0})
        assert worst(strong, rags)[0] == "never"
        assert worst(NITRIC, rags)[0] == "with care"  # half a per cent

    def test_one_kind_still_counts_as_mixing(self) -> None:
        told = meeting_of(BISULFATE, BISULFATE, stream_groups(BISULFATE, CATALOGUE), stream_groups(BISULFATE, CATALOGUE))
        assert [t.verdict for t in told] == ["keep apart"]
        assert "dilution counts as mixing" in told[0].text
        assert "article 18" in told[0].source

    @pytest.mark.parametrize(
        ("a", "b", "gives"),
        [
            (AMMONIUM, of_recipe("zinc-nickel-chloride-potassium"), "ammonium where there was none"),
            (of_recipe("zinc-chloride-potassium"), of_recipe("watts-nickel"), "nickel where there was none"),
            (PASSIVATE, BISULFATE, "chromium(III) where there was none"),
            (CLEANER, of_recipe("electrolytic-rust-removal"), "complexants where there were none"),
        ],
    )
    def test_options_stay_open(self, a, b, gives: str) -> None:
        told = meeting_of(a, b, stream_groups(a, CATALOGUE), stream_groups(b, CATALOGUE))
        assert gives in {t.gives for t in told if t.verdict == "keep apart" and t.status == "practice"}


class TestTraces:
    """A gram of carbonate in a kilogram sets 0.2 L of gas free (1/106 mol, 24.5 L a mole): fizz, not a burst drum."""

    @pytest.mark.parametrize(("grams", "verdict"), [(0.015, "with care"), (0.9, "with care"), (1.1, "never"), (50.0, "never")])
    def test_carbonate_by_how_much_there_is(self, grams: float, verdict: str) -> None:
        rinse = vessel(100.0, what="rinse water", role="rinse", amounts={"carbonate": grams * 100})
        for a, b in ((rinse, NITRIC), (NITRIC, rinse)):
            told = [
                t
                for t in meeting_of(a, b, stream_groups(a, CATALOGUE), stream_groups(b, CATALOGUE))
                if t.gives == "carbon dioxide"
            ]
            assert [t.verdict for t in told] == [verdict]
            assert (told[0].status == "practice") == (verdict == "with care")
            assert "pressure" in told[0].text or verdict == "never"

    def test_what_may_hold_more_is_no_trace(self) -> None:
        least = vessel(100.0, what="rinse water", role="rinse", amounts={"carbonate": 1.5}, complete=False)
        assert "carbon dioxide" in worst(least, HCL)[1]
        wide = vessel(100.0, what="rinse water", role="rinse", amounts={"carbonate": Estimate(50.0, 0.0, 300.0, "g")})
        assert "carbon dioxide" in worst(wide, HCL)[1]

    def test_a_strong_acid_by_its_ph_is_no_trace(self) -> None:
        soda = vessel(10.0, role="degrease", amounts={"carbonate": 500.0})
        sour = vessel(10.0, what="other", role="", amounts={"free acid": 1.0}, ph=exact(0.5, "pH"))
        assert "carbon dioxide" in worst(soda, sour)[1]

    def test_no_other_pair_is_milder_for_a_trace(self) -> None:
        assert [p.groups for p in load().pairs if p.trace_below is not None] == [("acid", "carbonate")]


class TestLaws:
    @settings(max_examples=80, derandomize=True, deadline=None)
    @given(any_stream(), any_stream())
    def test_whatever_they_hold(self, a, b) -> None:
        of_a, of_b = stream_groups(a, CATALOGUE), stream_groups(b, CATALOGUE)
        assert set(of_a) <= set(load().groups)
        assert all(f is None or 0 <= f <= 1 for f in of_a.values())
        told, back = meeting_of(a, b, of_a, of_b), meeting_of(b, a, of_b, of_a)
        assert {(t.verdict, t.gives) for t in told} == {(t.verdict, t.gives) for t in back}
        order = [("never", "with care", "keep apart").index(t.verdict) for t in told]
        assert order == sorted(order)
        assert any("licensed contractor" in t.text for t in told)
        for t in told:
            assert "dilut" not in t.text.casefold() or "counts as mixing" in t.text or "Diluted" in t.text
