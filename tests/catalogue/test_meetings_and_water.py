"""What must not meet a bath, seen as a table of pairs, and the qualities of water."""

from __future__ import annotations

import pytest

from bathkeeper.catalogue.loader import load
from bathkeeper.catalogue.schema import Recipe

BLEACH, PEROXIDE = "sodium hypochlorite solution", "hydrogen peroxide 35%"


def meets(recipe: Recipe, other: Recipe) -> bool:
    """Whether one of the two names the other, or its role, among what it must not meet."""
    said = {m.what for m in recipe.must_not_meet}, {m.what for m in other.must_not_meet}
    return bool(said[0] & {other.name, other.role} or said[1] & {recipe.name, recipe.role})


# never mixed nor stored in one tray [memory]: heat, chlorine, ammonia, chromium falling out
PAIRS = [
    ("hydrochloric-pickle", "nitric-dip"),
    ("hydrochloric-pickle", "alkaline-degreaser"),
    ("hydrochloric-pickle-inhibited", "nitric-dip-zinc"),
    ("hydrochloric-pickle", "alkaline-zinc-nickel-generator"),
    ("sulfuric-pickle", "alkaline-degreaser"),
    ("bisulfate-pickle", "alkaline-degreaser"),
    ("bisulfate-pickle", "alkaline-zinc-nickel-concentrates"),
    ("nitric-dip", "alkaline-degreaser"),
    ("nitric-dip", "zinc-nickel-chloride-ammonium"),
    ("nitric-dip", "zinc-nickel-chloride-potassium"),
    ("nitric-dip", "alkaline-zinc-nickel-zinc-anodes"),
    ("alkaline-degreaser", "zinc-nickel-chloride-ammonium"),
    ("alkaline-degreaser", "zinc-chloride-low-ammonium"),
    ("alkaline-degreaser", "trivalent-passivate-clear"),
    ("alkaline-zinc", "trivalent-passivate-zinc-blue"),
    ("electrolytic-rust-removal", "hydrochloric-pickle"),
]


@pytest.mark.parametrize(("one", "other"), PAIRS)
def test_pairs_that_must_not_meet(one: str, other: str) -> None:
    assert meets(load().recipes[one], load().recipes[other])


@pytest.mark.parametrize(("one", "other"), [("alkaline-degreaser", "alkaline-zinc"), ("bisulfate-pickle", "sulfuric-pickle")])
def test_pairs_that_may(one: str, other: str) -> None:
    assert not meets(load().recipes[one], load().recipes[other])


def test_every_wet_tank_says_what_must_not_meet_it() -> None:
    for recipe in load().recipes.values():
        assert bool(recipe.must_not_meet) == (recipe.role != "dry"), recipe.name
        for meeting in recipe.must_not_meet:
            assert meeting.why.endswith(".") and len(meeting.why) > 8


def test_bleach_stands_with_every_acid_and_every_ammonium() -> None:
    for recipe in load().recipes.values():
        acid = recipe.role in ("pickle", "acid dip", "passivate") or {"ammonium", "chloride"} & set(recipe.species)
        if acid and not recipe.name.startswith(("watts", "nickel-")):
            assert BLEACH in {m.what for m in recipe.must_not_meet}, recipe.name


def test_what_makes_chromium_six_stands_with_every_passivate() -> None:
    for recipe in load().recipes.values():
        if recipe.role == "passivate":
            said = {m.what: m.why for m in recipe.must_not_meet}
            assert "chromium(VI)" in said[PEROXIDE] and "Chromium(VI)" in said[BLEACH], recipe.name


def test_cyanide_stands_with_every_acid() -> None:
    for recipe in load().recipes.values():
        if recipe.role in ("pickle", "acid dip", "passivate") or "free acid" in recipe.species:
            assert "cyanide" in {m.what for m in recipe.must_not_meet}, recipe.name


def test_alkaline_zinc_nickel_warns_of_the_cyanide_it_may_make_itself() -> None:
    for name in ("generator", "zinc-anodes", "concentrates"):
        recipe = load().recipes[f"alkaline-zinc-nickel-{name}"]
        assert any(m.what == "pickle" and "cyanide" in m.why for m in recipe.must_not_meet)
        assert any("never acidify" in c.text for c in recipe.cautions)


def test_inert_anodes_are_warned_of_in_chloride_and_at_home_in_lye() -> None:
    for recipe in load().recipes.values():
        electrode = recipe.electrode
        if electrode is None or not electrode.deposit:
            continue
        if "free alkali" in recipe.species:
            assert "nickel" in electrode.inert and "nickel" not in electrode.anodes, recipe.name
        else:
            assert not electrode.inert, recipe.name
        if "chloride" in recipe.species and recipe.name.startswith("zinc"):
            assert any("inert anodes" in c.text for c in recipe.cautions), recipe.name


def test_water_of_category_three_is_distilled_water() -> None:
    """GOST 9.314-90 category 3 has the limits of GOST 6709: residue 5 mg/L, 5e-4 S/m at 20 degC."""
    third, distilled = load().water["GOST 9.314 category 3"], load().water["distilled"]
    assert third.residue_mg_l == distilled.residue_mg_l == 5
    assert third.conductivity_us_cm == distilled.conductivity_us_cm == pytest.approx(5e-4 * 1e6 / 100)


def test_categories_tighten() -> None:
    one, two, three = (load().water[f"GOST 9.314 category {n}"].limits() for n in (1, 2, 3))
    for field in set(one) & set(two) - {"ph_low", "ph_high"}:
        assert one[field] >= two[field], field
    for field in set(two) & set(three) - {"ph_low", "ph_high"}:
        assert two[field] > three[field], field


def test_hardness_is_told_in_both_ways() -> None:
    """7.0 / 6.0 / 0.35 meq/L are 350 / 300 / 17.5 mg/L as CaCO3 (100.09/2 mg per meq); 200 ppm are 4.0 meq/L."""
    gost = [(f"GOST 9.314 category {n}", ppm) for n, ppm in ((1, 350), (2, 300), (3, 17.5))]
    for name, ppm in [*gost, ("conversion coat", 200)]:
        hardness = load().water[name].hardness_meq_l
        assert hardness is not None and hardness * 50.04 == pytest.approx(ppm, rel=0.01)


def test_salts_within_a_category_fit_into_its_residue() -> None:
    for quality in load().water.values():
        salts = sum(v for f, v in quality.limits().items() if f in ("sulfate_mg_l", "chloride_mg_l"))
        assert quality.residue_mg_l is None or salts <= quality.residue_mg_l, quality.name
