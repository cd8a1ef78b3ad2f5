"""The disposal plan of a container: what it must say, what it must never say, whatever is in the container."""

from __future__ import annotations

import re
from importlib.resources import files

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bathkeeper.accounts.shelf import shelf as shelf_of
from bathkeeper.catalogue.typed import CatalogueError
from bathkeeper.entries import parse
from bathkeeper.findings import Estimate
from bathkeeper.waste.base_need import base_need
from bathkeeper.waste.disposal import disposal_plan, months_needed
from bathkeeper.waste.plan_text import plan_lines
from bathkeeper.waste.stream import Stream
from bathkeeper.waste.treatment_data import load, note_lines, read, treatment_notes
from bathkeeper.waste.treatment_sums import ShelfBase, bases_on_shelf, treatment_sums
from tests.chemistry.printed import printed
from tests.waste.vessels import CATALOGUE, NOW, about, any_stream, exact, hostile, of_recipe, vessel

NEVER = re.compile("optimal|guarantee|safe to pour|complian|non-?hazardous|not hazardous|harmless|may be poured", re.IGNORECASE)
REFUSED = re.compile("counts as mixing|never counts|not allowed", re.IGNORECASE)
ENDS = re.compile("local authority or a licensed contractor.$")


def plan_of(stream, **more):
    told = {
        "rule_set_title": "England",
        "rule_set_date": "read 2024-05-01",
        "authority": "",
        "candidates": ("11 01 98*: perhaps",),
        "must_not_touch": ("bleach: chlorine",),
        "keeper": "household",
        "treatment": (),
        "allowance_l_per_month": 5.0,
        "shelf": (),
        "now": NOW,
    }
    return disposal_plan(stream, **{**told, **more})


def text_of(stream, **more) -> str:
    return "\n".join(plan_lines(plan_of(stream, **more)))


class TestWhatItSays:
    def test_an_ammonium_bath_is_handed_over_whole(self) -> None:
        text = text_of(of_recipe("zinc-nickel-chloride-ammonium"))
        assert "holds ammonium" in text
        assert "precipitation is unreliable; hand it over whole" in text
        assert text.index("hand it over whole") < text.index("base that it would take")
        assert "ammonia set free" in text

    @pytest.mark.parametrize("name", ["EDTA", "sodium citrate", "potassium tartrate", "triethanolamine", "carrier"])
    def test_so_is_what_holds_metals(self, name: str) -> None:
        plan = plan_of(vessel(5.0, amounts={"zinc": 100.0, name: 20.0}))
        assert any(name in t and "hand it over whole" in t for t in plan.sums.unreliable)
        assert not plan_of(vessel(5.0, amounts={"zinc": 100.0, name: 0.0})).sums.unreliable

    def test_ammonia_by_the_gas_law(self) -> None:
        # 200 g/L ammonium chloride at pH 9.5: 2.4 mol a litre go free at most, 24.47 L a mole at 25 degC
        sums = plan_of(vessel(1.0, amounts={"ammonium chloride": 200.0})).sums
        assert sums.ammonia_l.value == pytest.approx(2.4 * 24.47, rel=0.01)
        assert sums.ammonia_g.value == pytest.approx(2.4 * 17.03, rel=0.01)

    def test_heat_of_weak_acids_and_metals(self) -> None:
        # 55.8 kJ a mole of water less 13.8 (boric acid) or 52.2 (ammonium); zinc 14 a equivalent falling out: from memory
        for name, grams, kj in (("boric acid", 61.83, 42.0), ("ammonium chloride", 53.49, 3.6), ("zinc", 65.38 / 2, 14.0)):
            stream = vessel(amounts={name: grams})
            heat = {b.base: b.heat_kj.value for b in treatment_sums(stream, base_need(stream, 14.0)).bases}["sodium hydroxide"]
            assert heat == pytest.approx(kj, rel=2e-3), name

    def test_target_ph_is_a_range_with_its_source(self) -> None:
        sums = plan_of(vessel(20.0, amounts={"zinc": 700.0, "nickel": 500.0, "chromium": 20.0})).sums
        assert {r.name for r in sums.ranges} == {"zinc", "nickel", "chromium(III)"}
        assert all(r.low < r.high and r.source for r in sums.ranges)
        assert "No single pH suits all of it" in sums.stages[0]
        two = plan_of(vessel(20.0, amounts={"zinc": 700.0, "nickel": 500.0})).sums
        assert "pH 10.2 to 10.5" in two.stages[0]

    def test_ranges_are_as_the_sources_print_them(self) -> None:
        # zinc 10.1, nickel 10.8, chromium 7.5, copper 8.1, cadmium 11.0: waterspecialists.biz, precipitation by pH
        ranges = load().ranges
        for metal, ph in (("zinc", 10.1), ("nickel", 10.8), ("chromium(III)", 7.5), ("copper", 8.1), ("cadmium", 11.0)):
            assert ranges[metal].low <= ph <= ranges[metal].high
        # zinc 9.0-10.5, chromium 7.5-9.0: getchemready.com, page 16460
        assert (ranges["zinc"].low, ranges["zinc"].high) == (9.0, 10.5)
        assert (ranges["chromium(III)"].low, ranges["chromium(III)"].high) == (7.5, 9.0)

    def test_chromium_is_to_be_tested(self) -> None:
        assert any("Chromium(VI) must be absent" in t for t in plan_of(of_recipe("trivalent-passivate-coloured")).sums.tests)
        assert any("Hand it over whole" in t for t in plan_of(vessel(amounts={"chromium(VI)": 1.0})).sums.tests)
        assert not any("hromium" in t for t in plan_of(of_recipe("bisulfate-pickle")).sums.tests)  # none stripped there

    def test_bicarbonate_stops_short(self) -> None:
        sums = plan_of(vessel(amounts={"zinc": 10.0})).sums
        short = {b.base: b.falls_short for b in sums.bases}
        assert "8.3" in short["sodium bicarbonate"]
        assert not short["sodium hydroxide"]

    def test_strong_acid_on_dry_base_boils(self) -> None:
        acid = vessel(10.0, amounts={"sulfuric acid": 4000.0})
        text = text_of(acid)
        assert "dry to boiling" in text
        assert "would boil and spit" in text

    def test_an_alkaline_bath_gets_no_recipe(self) -> None:
        text = text_of(of_recipe("alkaline-zinc"))
        assert "it is alkaline" in text
        assert "No mixing is worked out here" in text
        assert "as sodium hydroxide" not in text

    @pytest.mark.parametrize(
        ("litres", "allowance", "months"),
        [(20, 5, 4), (20.1, 5, 5), (4.9, 5, 1), (5, 5, 1), (0, 5, 0), (0.3, 0.1, 3), (0.6, 0.2, 3), (3 * 0.1, 0.1, 3)],
    )
    def test_months_at_an_allowance(self, litres: float, allowance: float, months: int) -> None:
        assert months_needed(litres, allowance) == months

    @pytest.mark.parametrize("allowance", [None, 0.0, -1.0, float("nan"), float("inf")])
    def test_no_allowance_is_a_question(self, allowance) -> None:
        plan = plan_of(of_recipe("bisulfate-pickle"), allowance_l_per_month=allowance)
        assert plan.months is None
        assert any("in a month?" in q for q in plan.questions)
        assert any("is not on record: ask" in line for line in plan_lines(plan))

    @pytest.mark.parametrize(("litres", "noted"), [(20.0, True), (60.0, True), (5.0, False)])
    def test_a_bath_exceeds_most_visits(self, litres: float, noted: bool) -> None:
        # councils: 5 L a month (Warwickshire), 20 L a material (Western Australia), 15 gallons a trip (California counties)
        assert ("in one visit" in text_of(vessel(litres, amounts={"zinc": 1.0}))) == noted

    def test_household_and_business_are_told_apart(self) -> None:
        bath = of_recipe("bisulfate-pickle")
        assert "As a household" in text_of(bath)
        assert "must be licensed" in text_of(bath, keeper="business")
        assert "not on record" in text_of(bath, keeper="")

    def test_the_record_is_filled_in_as_far_as_known(self) -> None:
        known = {r.field.split(":")[0]: r.known for r in plan_of(of_recipe("bisulfate-pickle")).hand_over}
        assert "20 L" in known["quantity, and whether estimated or weighed"]
        assert "2024-03-01" in known["start date, where it stood, days held"]
        assert known["consignment or manifest number"] == ""

    def test_what_the_book_knows_stands_in_the_record(self) -> None:
        told = {"who": "Tern Lane Shed; 5 Tern Lane; business", "site": "S-17", "codes": "11 01 05* (as labelled)",
                "hazards": "HP 8 (as labelled)", "containers": "1 drum of 25 L", "stood": "lean-to; 80 days"}  # fmt: skip
        text = text_of(of_recipe("bisulfate-pickle"), known=told)
        for known in told.values():
            assert f": {known}" in text or f"; {known}" in text

    def test_the_record_lists_codes_and_nothing_else_of_the_candidates(self) -> None:
        lines = ("11 01 05*: spent pickling acids. Long reason.", "11 01 98*: perhaps", "no entry suggests itself. Ask.")
        rows = {r.field: r.known for r in plan_of(of_recipe("bisulfate-pickle"), candidates=lines).hand_over}
        assert rows["waste codes (candidates; the one who takes it confirms)"] == "11 01 05*, 11 01 98*"

    def test_the_date_of_the_rules_is_whole(self) -> None:
        date = "law and guidance read as of 2005 to 2026; List of Waste as of 2 June 2026; and one more, read on a Tuesday"
        text = text_of(of_recipe("bisulfate-pickle"), rule_set_date=date)
        assert text.count(date) == 2

    def test_a_ph_is_said_once_and_iron_to_its_figures(self) -> None:
        text = text_of(vessel(20.0, role="pickle", amounts={"iron": 180.0}, ph=about(1.0, 0.5, "pH")))
        assert "; pH 1 (0.5 to 1.5)" in text
        need = base_need(vessel(20.0, amounts={"iron": 180.0}), iron_charge=Estimate(2.52843, 2.16702, 2.88984, "mol/mol"))
        assert any("at 2.53 base to one iron (2.17 to 2.89;" in t for t in need.assumptions)

    def test_an_empty_vessel_is_said_to_be_empty_and_nothing_is_worked_out(self) -> None:
        empty = Stream(name="drum-9", since=None, origins=(), amounts={}, species={})
        lines = plan_lines(plan_of(empty, candidates=(), must_not_touch=()))
        assert any("the container is empty" in line for line in lines)
        assert not any("base" in line or "[ ]" in line for line in lines)
        assert ENDS.search(lines[-1])

    def test_incomplete_is_said(self) -> None:
        text = text_of(vessel(5.0, amounts={"zinc": 10.0}, complete=False))
        assert "Something unknown went in" in text
        assert "of what is known of it, " in text

    def test_rags_get_no_sum_and_no_ph(self) -> None:
        text = text_of(vessel(None, what="rags", role="", mass_kg=exact(1.5, "kg")))
        assert "base that it would take" not in text
        assert "pH" not in text.split("to hand over")[0]
        assert "1.5 kg" in text

    def test_a_second_road_is_shown(self) -> None:
        stream = of_recipe("bisulfate-pickle")
        need = base_need(stream, acid_made_up_mol=exact(16.66, "mol"), acid_dragged_out_mol=exact(0.0, "mol"))
        assert "the two roads meet" in text_of(stream, need=need)

    def test_every_part_of_the_plan_is_in_its_lines(self) -> None:
        plan = plan_of(of_recipe("zinc-nickel-chloride-ammonium"))
        text = "\n".join(plan_lines(plan))
        told = [*plan.questions, *plan.notes, *plan.home_treatment, *plan.candidates, *plan.must_not_touch, plan.last_step]
        told += [*plan.sums.unreliable, *plan.sums.tests, *plan.sums.stages, *plan.sums.cautions, *plan.need.assumptions]
        told += [r.field for r in plan.hand_over] + [h.title for h in plan.contents] + [f"as {b.base}" for b in plan.sums.bases]
        assert not [t for t in told if t not in text]

    def test_it_goes_into_json(self) -> None:
        plan = plan_of(of_recipe("zinc-nickel-chloride-ammonium"))
        back = msgspec.json.decode(msgspec.json.encode(plan))
        assert back["months"] == 4
        assert back["need"]["equivalents"]["low"] < back["need"]["equivalents"]["high"]


class TestShelf:
    def shelf(self):
        rows = [
            {"reagent": "sodium carbonate decahydrate", "amount": 2000, "unit": "g"},
            {"reagent": "sodium hydroxide", "amount": 500, "unit": "g", "purity": 0.9},
            {"reagent": "zinc chloride", "amount": 500, "unit": "g"},
            {"reagent": "somebody's powder", "amount": 500, "unit": "g"},
        ]
        entries = [
            parse({"id": f"entry-{n:06d}", "kind": "stock", "at": "2024-05-01T10:00:00+02:00", "action": "bought",
                   "what": "reagent", **row})
            for n, row in enumerate(rows)
        ]  # fmt: skip
        return bases_on_shelf(shelf_of(entries, CATALOGUE), CATALOGUE)

    def test_hydrate_and_purity_count(self) -> None:
        rows = {b.reagent: b for b in self.shelf()}
        assert set(rows) == {"sodium carbonate decahydrate", "sodium hydroxide"}
        stream = vessel(amounts={"hydrochloric acid": 36.46})
        bases = {b.base: b for b in treatment_sums(stream, base_need(stream), list(rows.values())).bases}
        # one equivalent: 40.00 g NaOH at 90 %; Na2CO3.10H2O 286.14 g/mol, half of it, at the purity that the catalogue tells
        assert bases["sodium hydroxide"].grams.value == pytest.approx(40.0 / 0.9, rel=1e-3)
        purity = CATALOGUE.reagent("sodium carbonate decahydrate").purity
        assert bases["sodium carbonate"].grams.value == pytest.approx(286.14 / 2 / purity, rel=1e-3)
        assert set(bases) >= {"calcium hydroxide", "sodium bicarbonate"}  # the usual ones stay

    def test_nonsense_on_the_shelf_does_no_harm(self) -> None:
        stream = vessel(amounts={"hydrochloric acid": 36.46})
        odd = [ShelfBase(reagent="x", base="pixie dust", formula="?"),
               ShelfBase(reagent="y", base="sodium hydroxide", formula="((", purity=7.0)]  # fmt: skip
        bases = [b for b in treatment_sums(stream, base_need(stream), odd).bases if b.reagent]
        assert [b.reagent for b in bases] == ["y"]
        assert bases[0].grams.value == printed("40.0", slack=1)


class TestNotes:
    @pytest.mark.parametrize(
        ("rule_set", "said"),
        [
            ("us-federal", "hazardous for its corrosivity and for nothing else"),
            ("england", "permit or an exemption"),
            ("scotland", "permit or an exemption"),
            ("northern ireland", "permit or an exemption"),
            ("eu-germany", "KrWG"),
            ("eu", "dilution counts as mixing"),
            ("other", "only the authority can say"),
            ("ireland", "only the authority can say"),
            ("\x1b[31m", "only the authority can say"),
        ],
    )
    def test_by_rule_set(self, rule_set: str, said: str) -> None:
        assert said in " ".join(f"{n.text} {n.source}" for n in treatment_notes(rule_set))

    def test_the_note_stands_in_the_plan(self) -> None:
        note = treatment_notes("us-federal")[0].text
        assert note in text_of(of_recipe("bisulfate-pickle"), treatment=[note])

    def test_no_shipped_text_says_what_must_not_be_said(self) -> None:
        for name in ("home_treatment.toml", "precipitation.toml"):
            text = (files("bathkeeper.waste") / name).read_text(encoding="utf-8")
            assert not NEVER.search(text), name
            for line in text.splitlines():
                assert "dilut" not in line.casefold() or "note." in line or "title" in line or REFUSED.search(line), line

    @pytest.mark.parametrize(
        ("change", "said"),
        [
            (("low = 9.0", "low = 19.0"), "metal `zinc`: a pH range must rise"),
            (("low = 9.0\n", ""), "metal `zinc`"),
            (("kj_per_kg_k", "kj"), "kj: no such field"),
            (("[water.heat]", "[water.warmth]"), "no table [water.heat]"),
            (("[metal.zinc]", "[mettle.zinc]"), "no such table"),
            (("[metal.zinc]", "[metal.zinc"), "not readable as TOML"),
        ],
    )
    def test_faults_name_file_and_field(self, tmp_path, change: tuple[str, str], said: str) -> None:
        for name in ("home_treatment.toml", "precipitation.toml"):
            text = (files("bathkeeper.waste") / name).read_text(encoding="utf-8")
            (tmp_path / name).write_text(text.replace(*change, 1), encoding="utf-8")
        with pytest.raises(CatalogueError, match=re.escape(said)) as problem:
            read(tmp_path)
        assert "precipitation.toml" in str(problem.value)


class TestLaws:
    @settings(max_examples=150, derandomize=True, deadline=None)
    @given(
        any_stream(),
        hostile,
        st.sampled_from(["us-federal", "england", "eu-germany", "other"]),
        st.sampled_from(["household", "business", "?"]),
        st.one_of(st.none(), st.floats(allow_nan=True)),
    )
    def test_whatever_is_in_it(self, stream, words: str, rule_set: str, keeper: str, allowance) -> None:
        plan = plan_of(
            stream,
            rule_set_title=words,
            authority=words,
            candidates=(words,),
            must_not_touch=(words,),
            keeper=keeper,
            treatment=note_lines(treatment_notes(rule_set)),
            allowance_l_per_month=allowance,
        )
        msgspec.json.encode(plan)
        lines = plan_lines(plan)
        assert ENDS.search(lines[-1])
        for line in lines:
            assert not NEVER.search(line)
            assert "dilut" not in line.casefold() or REFUSED.search(line), line
            assert "pour" not in line.casefold() or "not leave" in line, line
            assert line.isprintable()
            assert len(line) <= 2100
            assert "nan" not in line.casefold().split() and "unknown g" not in line

    @settings(max_examples=30, derandomize=True, deadline=None)
    @given(st.floats(0.5, 60), st.floats(0.001, 0.3))
    def test_base_and_gas_keep_the_ends_of_the_sum(self, litres: float, spread: float) -> None:
        grams = {"free acid": about(100 * litres, spread), "iron": about(9 * litres, spread)}
        stream = vessel(litres, amounts=grams, spread=0.02)
        need = base_need(stream)
        for base in treatment_sums(stream, need).bases:
            assert base.grams.low / base.grams.value == pytest.approx(need.equivalents.low / need.equivalents.value)
            assert base.grams.high / base.grams.value == pytest.approx(need.equivalents.high / need.equivalents.value)
            assert base.heat_dry_kj.value >= base.heat_kj.value
