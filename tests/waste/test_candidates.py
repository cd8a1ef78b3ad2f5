"""Candidate codes: what comes first for each tank, edges as the law has them, and what is never offered."""

from __future__ import annotations

import pytest

from bathkeeper.catalogue.loader import load as catalogue
from bathkeeper.waste.candidates import candidates, contents_in_words, entry_words
from bathkeeper.waste.picking import rule_set_for
from tests.waste.streams import Estimate, about, dumped, exactly, origin, stream

UK, US, EU, OTHER = (rule_set_for(c) for c in ("England", "US", "Germany", None))


def codes(s, rules, keeper=None):
    return [c.code for c in candidates(s, rules, keeper)]


def of(code, s, rules, keeper=None):
    return next((c for c in candidates(s, rules, keeper) if c.code == code), None)


@pytest.mark.parametrize(
    ("recipe", "what", "first"),
    [
        ("alkaline-degreaser", "bath", "11 01 13*"),
        ("hydrochloric-pickle", "bath", "11 01 05*"),
        ("sulfuric-pickle", "bath", "11 01 05*"),
        ("bisulfate-pickle", "bath", "11 01 05*"),
        ("nitric-dip", "bath", "11 01 05*"),
        ("zinc-nickel-chloride-ammonium", "bath", "11 01 98*"),
        ("alkaline-zinc", "bath", "11 01 98*"),
        ("trivalent-passivate-zinc-thick", "bath", "11 01 98*"),
        ("seal-topcoat", "bath", "11 01 98*"),
        ("electrolytic-rust-removal", "bath", "11 01 98*"),
        ("still-rinse", "bath", "11 01 11*"),
        ("still-rinse", "rinse water", "11 01 11*"),
        ("still-rinse", "eluate", "11 01 15*"),
        ("still-rinse", "resin", "11 01 16*"),
        ("alkaline-degreaser", "oil", "13 05 07*"),
        ("zinc-nickel-chloride-ammonium", "sludge", "11 01 09*"),
        ("zinc-nickel-chloride-ammonium", "filters", "15 02 02*"),
        ("zinc-nickel-chloride-ammonium", "carbon", "15 02 02*"),
        ("hydrochloric-pickle", "rags", "15 02 02*"),
        ("hydrochloric-pickle", "empty packaging", "15 01 10*"),
        ("hydrochloric-pickle", "chemicals", "06 01 02*"),
        ("nitric-dip", "chemicals", "06 01 05*"),
        ("sulfuric-pickle", "chemicals", "06 01 01*"),
    ],
)
@pytest.mark.parametrize("rules", [UK, EU], ids=lambda r: r.name)
def test_first_choice_of_the_list_of_waste(recipe, what, first, rules):
    """Texts of Decision 2000/532/EC; which tank goes with which is a reading of ours, and says so."""
    best = candidates(dumped(recipe, what), rules)[0]
    assert (best.code, best.strength) == (first, "first")
    assert best.status == "memory" and "contractor" in best.note


def test_mirror_entries_ask_for_an_assessment():
    for what in ("rinse water", "sludge", "filters", "bath", "chemicals"):
        for c in candidates(dumped("zinc-nickel-chloride-ammonium", what), UK):
            if c.entry in ("MH", "MN"):
                assert "assess" in c.note, c
                assert "assess" in entry_words(c)
    assert "11 01 12" in of("11 01 11*", dumped("still-rinse", "rinse water"), UK).note


def test_household_codes_for_households_alone():
    cleaner = "alkaline-degreaser"
    for recipe, code in (("hydrochloric-pickle", "20 01 14*"), (cleaner, "20 01 15*"), (cleaner, "20 01 29*")):
        s = dumped(recipe)
        assert code in codes(s, UK, "household")
        assert not [c for c in codes(s, UK, "business") + codes(s, UK, None) if c.startswith("20 ")]
        assert of(code, s, UK, "household").strength == "question"
        assert "council agrees" in of(code, s, UK, "household").note


def test_old_peroxide_is_a_code_of_its_own():
    s = stream({"peroxide": exactly(300)}, formulas={"peroxide": ("salt", "H2O2", None)}, role="", what="chemicals")
    assert codes(s, UK)[0] == "16 09 03*"
    assert of("D001", s, US).strength == "also"


@pytest.mark.parametrize(
    ("recipe", "what", "code"),
    [
        ("still-rinse", "bath", "16 10 01*"), ("still-rinse", "rinse water", "16 10 01*"),
        ("alkaline-degreaser", "bath", "13 05 07*"), ("alkaline-degreaser", "other", "13 05 07*"),
        ("still-rinse", "other", "11 01 15*"), ("still-rinse", "other", "11 01 16*"), ("still-rinse", "sludge", "11 01 15*"),
    ],
)  # fmt: skip
def test_entries_that_are_only_asked_about(recipe, what, code):
    """Texts of Decision 2000/532/EC: they fit only if something is so that the book does not know."""
    c = of(code, dumped(recipe, what), UK)
    assert c.strength == "question" and "only " in c.why and c.status == "memory"
    assert candidates(dumped(recipe, what), UK)[0].code != code


@pytest.mark.parametrize(
    ("name", "formula", "code"),
    [
        ("chromium(VI)", "CrO3", "16 09 02*"), ("dichromate", "K2Cr2O7", "16 09 02*"), ("chromate", "Na2CrO4", "16 09 02*"),
        ("saltpetre", "NaNO3", "16 09 04*"), ("chromium nitrate", "Cr(NO3)3", "16 09 04*"), ("bleach", "NaClO", "16 09 04*"),
    ],
)  # fmt: skip
def test_unused_chromates_and_oxidisers(name, formula, code):
    """16 09 02* and 16 09 04* of Decision 2000/532/EC, for unused chemicals alone."""
    s = stream({name: exactly(300)}, formulas={name: ("salt", formula, None)}, role="", what="chemicals")
    assert of(code, s, UK).strength == ("first" if code == "16 09 02*" else "also")
    assert "contractor" in of(code, s, UK).note
    used = stream({name: exactly(300)}, formulas={name: ("salt", formula, None)}, role="passivate")
    assert of(code, used, UK) is None


def test_the_reason_names_the_contents_with_their_range():
    why = candidates(dumped("zinc-nickel-chloride-ammonium"), UK)[0].why
    assert "zinc 35 g/L (31.5-38.5)" in why and "nickel 25 g/L (22.5-27.5)" in why


def test_traces_are_not_listed():
    s = stream({"zinc": exactly(3), "iron": Estimate(8e-7, 0.0, 1e-4, "g"), "nickel": Estimate(8e-7, 0.0, 0.01, "g")})
    assert "iron" not in contents_in_words(s) and "nickel" in contents_in_words(s)


def test_contents_name_free_alkali_once():
    assert contents_in_words(dumped("alkaline-degreaser")).count("alkali") == 1


def test_d007_counts_trivalent_chromium():
    """40 CFR 261.24: 5.0 mg/L in the extract; the trivalent exclusion of 261.4(b)(6) is for other wastes (EPA answer)."""
    c = of("D007", stream({"chromium": about(3.1, 0.1)}, role="passivate"), US)
    assert c.strength == "first"
    assert "chromium 3.1 g/L (2.79-3.41)" in c.why and "far above 5 mg/L in the extract" in c.why
    assert "trivalent chromium counts too" in c.why


@pytest.mark.parametrize(("mg_l", "strength"), [(4.99, None), (5.0, "first"), (5.01, "first")])
@pytest.mark.parametrize("litres", [1.0, 3.0, 7.0, 60.0, 0.3])
def test_d007_includes_its_edge(mg_l, strength, litres):
    """40 CFR 261.24, Table 1: chromium at or above 5.0 mg/L."""
    c = of("D007", stream({"chromium": exactly(mg_l * litres / 1000)}, role="pickle", litres=litres), US)
    assert (c and c.strength) == strength


def test_d007_by_the_high_end_and_where_nothing_is_known():
    s = stream({"chromium": about(0.0045, 0.2)}, role="pickle")
    assert of("D007", s, US).strength == "also" and "the range reaches" in of("D007", s, US).why
    assert of("D007", stream(role="passivate", litres=None), US).strength == "also"
    assert of("D007", stream(role="plate", litres=None), US) is None
    no_volume = of("D007", stream({"chromium": exactly(40.0)}, role="passivate", litres=None), US)
    assert "40 g in all" in no_volume.why and "volume is not known" in no_volume.why


@pytest.mark.parametrize(
    ("ph", "there"), [(1.9, True), (2.0, True), (2.01, False), (7.0, False), (12.49, False), (12.5, True), (13.0, True)]
)
def test_d002_includes_its_edges(ph, there):
    """40 CFR 261.22(a)(1): pH at or below 2, or at or above 12.5."""
    c = of("D002", stream({"zinc": exactly(1)}, ph=exactly(ph, "pH")), US)
    assert (c is not None) == there
    assert not there or c.strength == "first"


def test_d002_within_the_range_of_the_meter():
    assert of("D002", stream({}, ph=about(2.1, 0.1, "pH")), US).strength == "also"


def test_d002_asks_for_the_ph_when_it_was_not_measured():
    acid = of("D002", dumped("hydrochloric-pickle"), US)
    assert "measure pH" in acid.note and "2.74 eq/L" in acid.why and "expect it below 2" in acid.why
    caustic = of("D002", dumped("alkaline-degreaser"), US)
    assert "expect it above 12.5" in caustic.why
    nothing = of("D002", dumped("zinc-nickel-chloride-ammonium"), US)
    assert nothing.strength == "question" and "measure pH" in nothing.note
    weak = of("D002", stream({"a": exactly(0.03)}, formulas={"a": ("acid", "HCl", 1.0)}, role="rinse"), US)
    assert weak.strength == "question" and "free acid up to 0.00082 eq/L" in weak.why and "measure pH" in weak.note
    assert of("D002", dumped("zinc-nickel-chloride-ammonium", "sludge"), US) is None


def test_d006_when_cadmium_may_be_there():
    assert of("D006", stream({"cadmium": exactly(0.5)}, role="pickle"), US).status == "memory"
    assert of("D006", stream({"cadmium": exactly(0.0)}, role="pickle"), US) is None
    assert of("D006", dumped("hydrochloric-pickle", complete=False), US).strength == "question"


def test_a_solid_is_told_by_its_mass():
    s = stream({"chromium": exactly(4)}, what="sludge", litres=None, mass_kg=exactly(2, "kg"))
    assert "(2000 mg/kg)" in of("D007", s, US).why


def test_an_interval_below_nothing_is_not_shown():
    s = stream({"zinc": Estimate(1.0, -0.5, 2.5, "g")})
    assert "zinc 1 g/L (0-2.5)" in candidates(s, UK)[0].why


def test_a_keepers_own_species_with_any_formula_is_survived():
    s = stream({"x": exactly(9)}, formulas={"x": ("acid", "no formula\n[b]", 1.0)})
    for rules in (US, UK, OTHER):
        assert candidates(s, rules)


def test_d001_for_nitrate_and_not_for_what_only_looks_like_it():
    assert "HNO3" in of("D001", dumped("nitric-dip"), US).why
    for recipe in ("alkaline-zinc-nickel-generator", "nickel-sulfamate", "zinc-chloride-ammonium"):
        assert of("D001", dumped(recipe), US) is None, recipe


@pytest.mark.parametrize("recipe", [r for r in catalogue().recipes if "nickel" in r and not r.startswith("trivalent")])
def test_f006_is_never_excluded_for_zinc_nickel(recipe):
    """40 CFR 261.31(a): the exclusions name zinc plating on a segregated basis; zinc-nickel is not named."""
    c = of("F006", dumped(recipe, "sludge"), US)
    assert c.strength == "first" and "zinc-nickel is not named" in c.note and "question" not in c.note


@pytest.mark.parametrize("recipe", ["alkaline-zinc", "zinc-chloride-ammonium", "zinc-chloride-potassium"])
def test_plain_zinc_on_its_own_may_ask_about_the_exclusion(recipe):
    c = of("F006", dumped(recipe, "sludge"), US)
    assert c.strength == "first" and c.note.startswith("a question to ask the state") and "segregated" in c.note


def test_zinc_with_anything_else_in_it_does_not_ask():
    base = dumped("zinc-chloride-potassium", "sludge")
    mixed = (
        dumped("zinc-chloride-potassium", "sludge", complete=False),
        stream({"zinc": exactly(9), "nickel": exactly(0.01)}, recipe="alkaline-zinc", what="sludge"),
        stream({"zinc": exactly(9), "chromium": exactly(0)}, recipe="alkaline-zinc", what="sludge"),
        stream({"zinc": exactly(9)}, what="sludge", origins=(*base.origins, origin("passivate", "sludge"))),
        stream({"zinc": exactly(9)}, what="sludge", recipe=None),
        stream({"zinc": exactly(9)}, what="sludge", recipe="my zinc-nickel"),
    )
    for s in mixed:
        assert "question to ask" not in of("F006", s, US).note


def test_a_liquid_bath_is_no_sludge():
    s = dumped("zinc-nickel-chloride-ammonium")
    assert of("F006", s, US) is None
    last = candidates(s, US)[-1]
    assert last.code == "" and "no verdict" in last.why and "F006" in last.note and "state" in last.why


def test_where_no_list_holds_it_asks():
    (only,) = candidates(dumped("hydrochloric-pickle"), OTHER)
    assert only.code == "" and "authority" in only.note and "free acid 100 g/L" in only.why


def test_unknown_contents_are_said():
    for rules in (US, UK, OTHER):
        for c in candidates(dumped("zinc-nickel-chloride-ammonium", complete=False), rules):
            assert "something unknown went in" in c.note


def test_a_stream_of_which_nothing_is_known_still_gets_an_answer():
    empty = stream(origins=(), litres=None)
    for rules in (US, UK, EU, OTHER):
        assert candidates(empty, rules)
    assert candidates(empty, UK)[0].title == "no entry suggests itself"


def test_two_tanks_in_one_drum_bring_both_their_codes():
    s = stream({"zinc": exactly(3)}, origins=(origin("pickle"), origin("plate"), origin("rinse", "rinse water")))
    assert {"11 01 05*", "11 01 98*", "11 01 11*"} <= set(codes(s, UK))
    assert len(codes(s, UK)) == len(set(codes(s, UK)))
