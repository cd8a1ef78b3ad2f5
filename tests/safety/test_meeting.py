"""What must not meet in small made-up workshops."""

from __future__ import annotations

import pytest

from bathkeeper.catalogue.loader import load as catalogue
from bathkeeper.safety.groups import Vessel, reagent_groups, recipe_groups
from bathkeeper.safety.meeting import matrix, meeting_findings, meetings
from tests.safety.shops import Diary


def vessel(name, **fractions):
    return Vessel(name=name, kind="reagent", groups={k.replace("_", " "): v for k, v in fractions.items()})


@pytest.mark.parametrize(
    ("name", "groups"),
    [
        ("hydrochloric acid 37%", {"acid", "hydrochloric acid", "chloride"}),
        ("dry acid", {"acid", "sulfuric acid"}),
        ("nitric acid 68%", {"acid", "nitric acid"}),
        ("lye", {"alkali"}),
        ("soda ash", {"carbonate"}),
        ("sal ammoniac", {"ammonium", "chloride"}),
        ("nickel chloride", {"nickel", "chloride"}),
        ("potassium chloride", {"chloride"}),
        ("hydrogen peroxide 35%", {"peroxide"}),
        ("zinc dust", {"base metal powder"}),
        ("brightener", {"organics"}),
        ("degreaser", {"alkali"}),
        ("passivate concentrate", {"chromium(III)"}),
        ("nickel sulfamate", {"nickel"}),
        ("water", set()),
        ("boric acid", set()),
        ("zinc oxide", set()),
        ("copper sulfate", set()),
        # not in the catalogue: by name alone
        ("household bleach", {"hypochlorite"}),
        ("sodium metabisulfite", {"sulfite"}),
        ("aluminium powder", {"aluminium powder"}),
        ("potassium permanganate", {"permanganate"}),
        ("sodium cyanide", {"cyanide"}),
        ("sodium dichromate", {"chromium(VI)"}),
        ("shampoo", set()),
    ],
)
def test_what_a_reagent_belongs_to(name, groups):
    assert set(reagent_groups(name, catalogue())) == groups


@pytest.mark.parametrize(
    ("formula", "group"),
    [
        ("NaClO", "hypochlorite"),
        ("Na2S", "sulfide"),
        ("Na2S2O5", "sulfite"),
        ("Ni(CH3COO)2.4H2O", "nickel"),
        ("NH4HF2", "fluoride"),
        ("KMnO4", "permanganate"),
        ("K2Cr2O7", "chromium(VI)"),
        ("CoCl2.6H2O", "chloride"),
    ],
)
def test_a_keepers_own_reagent_goes_by_its_formula(formula, group):
    own = catalogue().with_definitions([("reagent", "blue tin", {"formula": formula, "form": "solid"})])
    found = set(reagent_groups("blue tin", own))
    assert group in found
    assert "chloride" not in found or group == "chloride"  # hypochlorite is none
    assert "chromium(III)" not in found


def test_a_bath_goes_by_its_recipe_with_about_its_strength():
    groups = {name: recipe_groups(r) for name, r in catalogue().recipes.items()}
    assert groups["nitric-dip"]["nitric acid"] < 0.01
    assert groups["bisulfate-pickle"]["sulfuric acid"] == pytest.approx(0.1)
    assert {"chloride", "nickel", "organics", "plating bath"} <= set(groups["zinc-nickel-chloride-potassium"])
    assert "nickel" not in groups["bisulfate-pickle"]  # a contaminant does not make a bath
    assert set(groups["running-rinse"]) == set(groups["still-rinse"]) == set()


@pytest.mark.parametrize(
    ("a", "b", "gives"),
    [
        ("hydrochloric acid 10%", "bleach", "chlorine"),
        ("dry acid", "sodium sulfide", "hydrogen sulfide"),
        ("dry acid", "sodium metabisulfite", "sulfur dioxide"),
        ("hydrochloric acid 37%", "nitric acid 68%", "chlorine"),
        ("nitric acid 68%", "acetone", "fire"),
        ("hydrogen peroxide 35%", "zinc dust", "fire"),
        ("lye", "ammonium chloride", "ammonia"),
        ("lye", "aluminium powder", "hydrogen"),
        ("dry acid", "aluminium powder", "hydrogen"),
        ("dry acid", "soda ash", "carbon dioxide"),
        ("ammonium chloride", "bleach", "chloramines"),
        ("passivate concentrate", "hydrogen peroxide 12%", "chromium(VI)"),
        ("dry acid", "sodium cyanide", "hydrogen cyanide"),
        ("lye", "hydrogen peroxide 35%", "oxygen"),
        ("lye", "hydrochloric acid 37%", "heat"),
        ("dry acid", "sodium fluoride", "hydrogen fluoride"),
    ],
)
def test_pairs_that_never_meet(a, b, gives):
    on_shelf = [Vessel(name=n, kind="reagent", groups=reagent_groups(n, catalogue())) for n in (a, b)]
    found = meetings(on_shelf)
    assert any(m.verdict == "never" and gives in m.gives for m in found), found
    assert matrix(on_shelf)[a][b] == matrix(on_shelf)[b][a] == "never"


@pytest.mark.parametrize(
    ("a", "b"), [("lye", "soda ash"), ("potassium chloride", "zinc dust"), ("water", "dry acid"), ("lye", "lye")]
)
def test_pairs_of_which_nothing_is_known(a, b):
    assert (
        meetings([Vessel(name=f"{i} {n}", kind="reagent", groups=reagent_groups(n, catalogue())) for i, n in enumerate((a, b))])
        == []
    )


def test_a_bath_may_meet_the_concentrate_it_is_made_from():
    assert meetings([vessel("dip", acid=0.005, nitric_acid=0.005), vessel("bottle", acid=0.68, nitric_acid=0.68)]) == []


def test_a_diluted_dose_is_not_the_concentrate():
    bath = Vessel(name="electrolyte", kind="tank", groups={"organics": None, "plating bath": None})
    (strong,) = [m for m in meetings([bath, vessel("peroxide", peroxide=0.35)]) if m.gives == "fire"]
    (weak,) = [m for m in meetings([bath, vessel("peroxide", peroxide=0.03)]) if m.gives == "fire"]
    assert (strong.verdict, weak.verdict) == ("never", "with care")  # H318 from 8 %, ECHA's table of CLP Annex VI
    assert (strong.concentrates, weak.concentrates) == (("peroxide",), ())
    assert "10 %" in " ".join(m.dose for m in meetings([bath, vessel("peroxide", peroxide=0.35)]))
    unknown = [m for m in meetings([bath, vessel("peroxide", peroxide=None)]) if m.gives == "fire"]
    assert unknown[0].verdict == "never"  # of unknown strength: the worse


@pytest.mark.parametrize(
    ("group", "below", "at"),
    [
        ("peroxide", 0.079, 0.08),
        ("nitric_acid", 0.049, 0.05),
        ("hydrochloric_acid", 0.099, 0.10),
        ("sulfuric_acid", 0.149, 0.15),
        ("alkali", 0.049, 0.05),
        ("hypochlorite", 0.049, 0.05),
    ],
)
def test_concentrate_limits(group, below, at):  # harmonised limits, ECHA's table of CLP Annex VI up to ATP 17
    other = vessel("other", acid=None, alkali=None, peroxide=None, organics=None, hydrochloric_acid=None, sulfuric_acid=None)
    for fraction, strong in ((below, False), (at, True)):
        found = meetings([vessel("this", **{group: fraction}), other])
        assert found and any("this" in m.concentrates for m in found) == strong


def test_over_a_line_with_its_shelf():
    diary = Diary()
    diary.add("electrolyte", "hydrochloric acid 37%", 20, "mL")
    bleach = diary.add("rinse-4", "javel water", 20, "mL")
    found = {f.id: f for f in meeting_findings(diary.shop().vessels)}
    pickle = found["pickle.caution.meets-javel-water"]
    assert "must never meet: chlorine" in pickle.what and bleach.id in pickle.because.entries and pickle.because.sources
    assert "workshop.caution.meets-hydrochloric-acid-37-javel-water" in found
    assert "10 % in pickle" in pickle.why
    assert not any("rinse-1" in id for id in found)


def test_an_ammonium_bath_and_alkali_give_ammonia():
    diary = Diary()
    diary.add("electrolyte", "ammonium chloride", 4000)
    found = meetings(diary.shop().vessels)
    assert {("degreaser", "electrolyte", "ammonia")} <= {(m.a, m.b, m.gives) for m in found}


def test_a_container_joins_the_matrix():
    diary = Diary()
    waste = Vessel(name="drum 3", kind="container", groups={"hypochlorite": None})
    assert matrix((*diary.shop().vessels, waste))["drum 3"]["pickle"] == "never"


def test_a_tank_without_a_recipe_goes_by_its_make_up_then_by_its_role():
    diary = Diary(line=[("vat", "pickle", None), ("bench", "rinse", None)])
    assert set(diary.shop().place("vat").groups) == {"acid"}
    diary.tell("make_up", tank="vat", volume_l=10, reagents=[{"reagent": "hydrochloric acid 31%", "amount": 5, "unit": "L"}])
    groups = diary.shop().place("vat").groups
    assert groups["hydrochloric acid"] == pytest.approx(5 * 1160 * 0.3145 / 10_000, rel=0.02)  # density of 31 % acid 1.16


def test_two_baths_that_hold_both_groups_have_met_already():
    one, two = (vessel(n, carbonate=0.05, ammonium=0.1) for n in ("one", "two"))
    assert meetings([one, two]) == []
    assert meetings([one, vessel("salt", ammonium=None)]) != []
