"""Acid balance and jar test: worked cases by hand from Faraday's constant, IUPAC masses and the strengths on the bottles.

F 96485.332 C/mol (CODATA), so that one Ah is 37.311 mmol of electrons; H2SO4 98.072, HCl 36.458 g/mol (IUPAC); sulfuric acid of
96 % weighs 1.84 g/mL, hydrochloric acid of 37 % 1.18 g/mL (handbook tables, as in the catalogue).
"""

from __future__ import annotations

import pytest

from bathkeeper.advice.acid import Jar, acid_balance, jar_plan, sentences
from bathkeeper.advice.acid_paths import per_100_ah
from bathkeeper.advice.feeds import acid_ml
from bathkeeper.advice.jar import dose_of
from bathkeeper.catalogue.loader import load
from bathkeeper.chemistry.balance import acid_used_mol, reagent_for_equivalents_ml
from bathkeeper.findings import Estimate
from tests.stories.telling import Telling
from tests.stories.test_common_bus import opened, week
from tests.stories.test_holiday import back, told

BANNED = ("optimal", "guaranteed", "compliant", "safe to pour", "non-hazardous")


def bath(recipe: str, volume_l: float = 40.0, **contents: float) -> Telling:
    tale = Telling()
    tale.tank("bath", "plate", 1, recipe, volume_l)
    named = {n.replace("_", " "): v for n, v in contents.items()}
    tale.log("make_up", tank="bath", volume_l=volume_l, contents=named)
    return tale


def balance_of(tale: Telling, tank: str = "bath", **more: object):  # type: ignore[no-untyped-def]
    found = acid_balance(tale.state(tank), tale.world().catalogue, tale.entries, tale.moment, **more)  # type: ignore[arg-type]
    assert found is not None
    return found


def loads(tale: Telling, count: int, charge_ah: float = 5.0, every_days: float = 1.0) -> None:
    first = (tale.moment - type(tale)().moment).total_seconds() / 86_400
    for k in range(count):
        tale.day(first + (k + 1) * every_days)
        step = {"tank": "bath", "minutes": 45.0, "supply": "bench", "charge": {"charge_ah": charge_ah}}
        tale.log("run", parts=[{"description": "cleats", "area_dm2": 4.3}], steps=[step])


# --- worked cases ------------------------------------------------------------------------------------------------------------


def test_jar_of_100_ml_scaled_to_40_l():
    """6.0 mL x 0.1 N / 100 mL x 40 L = 240 meq; x 98.072/2 = 11.8 g H2SO4; / (0.96 x 1.84) = 6.7 mL."""
    jar = Jar(sample_ml=100.0, titrant_ml=6.0, normality=0.1)
    mol = jar.equivalents_mol(40.0)
    assert mol == pytest.approx(0.240, abs=1e-12)
    assert mol * 98.072 / 2 == pytest.approx(11.8, abs=0.05)
    amount, unit = dose_of(load().reagent("sulfuric acid 96%"), mol)
    assert (round(amount, 1), unit) == (6.7, "mL")
    plan = jar_plan(bath("watts-nickel").state("bath"), load(), jar)
    assert "240 meq for 40.0 L: 11.8 g H2SO4 in 6.7 mL" in plan.lines[0]


def test_nickel_at_93_percent_against_100_percent():
    """(1 - 0.93) x 3600/96485.332 = 2.61 mmol per Ah; / (2 x 0.96 x 1.84/98.072) = 0.0725 mL of 96 % sulfuric acid."""
    mol = acid_used_mol(1.0, 1.0, 0.93)
    assert 1000 * mol == pytest.approx(2.61, abs=0.005)
    assert acid_ml(load().reagent("sulfuric acid 96%"), mol) == pytest.approx(0.0725, abs=0.00005)
    assert reagent_for_equivalents_ml(mol, 98.072, 2, 0.96, 1.84) == pytest.approx(0.0725, abs=0.00005)


@pytest.mark.parametrize(
    ("recipe", "efficiency", "kind"),
    [
        ("watts-nickel", 0.95, "acid"),
        ("zinc-nickel-chloride-potassium", 0.93, "acid"),
        ("zinc-chloride-potassium", 0.96, "acid"),
        ("alkaline-zinc", 0.725, "caustic"),
        ("acid-copper", 0.99, "acid"),
    ],
)
def test_a_bath_that_nothing_was_learned_of_uses_what_its_efficiencies_leave(recipe: str, efficiency: float, kind: str):
    """100 Ah x (1 - eta_c) x 37.311 mmol, with dissolving anodes of 100 % (and no steel beside them)."""
    tale = bath(recipe)
    if recipe == "alkaline-zinc":
        tale.log("anode", tank="bath", anode="zinc-1", action="hung", metal="zinc", mass_g=3000.0)
    found = balance_of(tale)
    assert found.kind == kind
    assert found.per_100_ah_mol.value == pytest.approx(100 * (1 - efficiency) * 0.0373114, rel=2e-3)
    assert found.per_100_ah_mol.low < found.per_100_ah_mol.value < found.per_100_ah_mol.high
    told_by = found.per_100_ah_ml if kind == "acid" else found.per_100_ah_g
    assert told_by is not None


def test_steel_beside_zinc_in_lye_sets_caustic_free():
    """Zinc carries 70 %: (0.7 - 0.725) x 3.7311 mol per 100 Ah: a little caustic is made instead."""
    tale = bath("alkaline-zinc")
    tale.log("anode", tank="bath", anode="zinc-1", action="hung", metal="zinc", mass_g=3000.0)
    tale.log("anode", tank="bath", anode="steel-1", action="hung", metal="steel", mass_g=3000.0)
    assert per_100_ah(tale.state("bath"), load().metals).value == pytest.approx((0.7 - 0.725) * 3.73114, abs=0.005)
    assert sentences(balance_of(tale))[0].startswith("100 Ah set free 0.09 mol of caustic")


def test_the_acid_of_half_a_year_on_a_common_bus():
    """780 Ah x 0.07 x 37.311 mmol = 2.04 mol; 37 % hydrochloric acid holds 12.04 mol/L: 168 or 169 mL in all."""
    tale, hidden = opened()
    for number in range(13):
        week(tale, hidden, number, 0.03)
    for number in range(13, 26):
        week(tale, hidden, number, 0.95 / 6.67, split=True)
    found = balance_of(tale, "electrolyte")
    bottle = load().reagent("hydrochloric acid 37%")
    assert found.reagent == bottle.name
    assert acid_ml(bottle, found.expected_mol.value) == pytest.approx(168, abs=4)
    assert acid_ml(bottle, hidden.acid_mol) == pytest.approx(168, abs=2)
    assert not found.closes  # none of it was logged
    assert any("169 mL of hydrochloric acid" in line or "168 mL of hydrochloric acid" in line for line in sentences(found))
    tale.add("electrolyte", bottle.name, 168.0, "mL")
    again = balance_of(tale, "electrolyte")
    assert again.closes
    assert again.consistency is not None and again.consistency.closes
    assert again.explanations == ()


def test_the_holiday_bounds_the_acid():
    """44 g of zinc x 2/65.38 = 1.35 mol at most, 111 mL of 37 % acid at 12.1 mol/L."""
    tale = back(told())
    found = balance_of(tale, "electrolyte")
    (idle,) = found.by_dissolution
    assert idle.dm2_days == pytest.approx(5 * 28, abs=0.1)
    assert idle.most_mol == pytest.approx(1.35, abs=0.04)
    assert acid_ml(load().reagent("hydrochloric acid 37%"), idle.most_mol) == pytest.approx(111, abs=3)
    assert idle.used_mol.value < idle.most_mol  # some of it plated nickel out
    assert found.explanations[0].name in ("pH", "unlogged acid")
    lifted = told(lift=True)
    lifted.day(40)
    assert balance_of(lifted, "electrolyte").by_dissolution[0].dm2_days == pytest.approx(140, abs=0.1)


# --- laws --------------------------------------------------------------------------------------------------------------------


def test_acid_from_another_bottle_of_the_same_strength_in_mol_is_the_same_balance():
    """Equal equivalents from two bottles leave the same gap; a base counts against acid."""
    gaps = []
    for name in ("sulfuric acid 96%", "sulfuric acid 37%"):
        tale = bath("watts-nickel")
        loads(tale, 5)
        tale.add("bath", name, dose_of(load().reagent(name), 0.3)[0], "mL")
        gaps.append(balance_of(tale).gap_mol.value)
    assert gaps[0] == pytest.approx(gaps[1], abs=1e-9)
    grams, _ = dose_of(load().reagent("nickel carbonate"), 0.1)
    tale.add("bath", "nickel carbonate", grams)
    assert balance_of(tale).gap_mol.value == pytest.approx(gaps[1] - 0.1, abs=1e-6)


def test_metals_and_acid_agree_on_a_bath_kept_by_its_own_chemistry():
    """A salt, a bail-out and a drag-out are no acid: the two roads stay together, whatever was logged."""
    tale = bath("zinc-nickel-chloride-potassium", zinc=32.0, nickel=24.0)
    loads(tale, 20)
    tale.add("bath", "nickel chloride hexahydrate", 400.0)
    tale.log("removal", tank="bath", volume_l=2.0, to="spill")
    found = balance_of(tale)
    assert found.consistency is not None
    assert found.consistency.by_metals_mol.value == pytest.approx(found.by_charge_mol.value, rel=0.02)


def test_metal_that_nobody_logged_breaks_the_consistency_and_is_named():
    """3 kg of nickel chloride come to 25 mol of charge: far beyond two titrations of 2 %."""
    tale = bath("zinc-nickel-chloride-potassium", zinc=32.0, nickel=24.0)
    tale.read("bath", zinc=32.0, nickel=24.0)
    loads(tale, 5)
    for _ in range(3):
        tale.day((tale.moment - type(tale)().moment).days + 1)
        tale.read("bath", zinc=32.0, nickel=42.5)
    found = balance_of(tale)
    assert found.consistency is not None and not found.consistency.closes
    names = [e.name for e in found.explanations]
    assert "unlogged nickel chloride hexahydrate" in names and "titrant of nickel" in names
    strains = [e.strain for e in found.explanations]
    assert strains == sorted(strains)
    assert "do not agree" in " ".join(sentences(found))


def test_ph_drift_is_by_one_method_and_broken_by_acid():
    """+0.1 per 50 Ah by meter; a strip reading far off and an acid dose between change nothing of the slope."""
    tale = bath("watts-nickel")
    for k in range(6):
        tale.day(3 * k + 1)
        if k == 3:
            tale.add("bath", "sulfuric acid 96%", 3.0, "mL")
        ph = 4.0 + 0.1 * (k % 3)
        tale.log("reading", tank="bath", values=[{"of": "ph", "value": round(ph, 2), "unit": "pH", "method": "pH meter"}])
        if k == 1:
            tale.log("reading", tank="bath", values=[{"of": "ph", "value": 5.0, "unit": "pH", "method": "pH strip"}])
        tale.log("run", parts=[{"description": "plates", "area_dm2": 4.0}],
                 steps=[{"tank": "bath", "minutes": 60.0, "charge": {"charge_ah": 50.0}}])  # fmt: skip
    drift = balance_of(tale).drift
    assert drift is not None and drift.readings == 6
    assert drift.per_100_ah.value == pytest.approx(0.2, abs=1e-6)
    assert "pH moves by +0.20 per 100 Ah" in " ".join(sentences(balance_of(tale)))


def test_caustic_of_a_zincate_bath_is_titrated_and_closes():
    tale = bath("alkaline-zinc", zinc=7.5, free_alkali=90.0)
    tale.log("anode", tank="bath", anode="zinc-1", action="hung", metal="zinc", mass_g=3000.0, area_dm2=4.0)
    tale.log("anode", tank="bath", anode="zinc-1", action="lifted")
    loads(tale, 20)
    found = balance_of(tale)
    assert found.reagent == "sodium hydroxide"
    assert found.per_100_ah_g is not None and found.per_100_ah_g.value == pytest.approx(1.026 * 39.997 / 0.98, rel=0.05)
    assert found.held_mol is not None and found.closes
    tale.read("bath", free_alkali=60.0)
    tale.read("bath", free_alkali=60.0)
    off = balance_of(tale)
    assert not off.closes and off.gap_mol.value > 0  # 30 g/L are gone that nothing accounts for


def test_caustic_dragged_in_is_no_gap():
    """A degreaser's lye on the parts is more caustic in the bath, and the balance knows where it came from."""
    tale = Telling()
    tale.tank("clean", "degrease", 1, "alkaline-degreaser", 20.0)
    tale.tank("bath", "plate", 2, "alkaline-zinc", 40.0)
    tale.log("make_up", tank="clean", volume_l=20.0)
    tale.log("make_up", tank="bath", volume_l=40.0, contents={"zinc": 7.5, "free alkali": 90.0})
    for k in range(30):
        tale.day(k + 1)
        steps = [{"tank": "clean", "minutes": 10.0}, {"tank": "bath", "minutes": 60.0, "charge": {"charge_ah": 1.0}}]
        tale.log("run", parts=[{"description": "rails", "area_dm2": 30.0}], steps=steps)
    found = balance_of(tale)
    assert abs(found.gap_mol.value) < 0.3  # where 3 mol left with the parts and 0.7 came with them
    assert found.closes


def test_no_balance_of_a_bath_that_lays_nothing_down():
    tale = Telling()
    tale.tank("pickle", "pickle", 1, "bisulfate-pickle", 20.0)
    tale.log("make_up", tank="pickle", volume_l=20.0)
    assert acid_balance(tale.state("pickle"), load(), tale.entries, tale.moment) is None
    tale.tank("bath", "plate", 2, "watts-nickel", 40.0)
    assert acid_balance(tale.state("bath"), load(), tale.entries, tale.moment) is None


# --- the jar plan ------------------------------------------------------------------------------------------------------------


def test_quarters_with_a_wait_and_a_reading_between():
    plan = jar_plan(bath("watts-nickel").state("bath"), load(), Jar(100.0, 6.0, 0.1))
    adds = [s.step for s in plan.steps if s.step.action == "add"]
    assert [a.amount for a in adds] == [pytest.approx(6.6625 / 4, abs=0.005)] * 4
    order = [s.step.action for s in plan.steps]
    for place, action in enumerate(order):
        if action == "add":
            assert order[place + 1 : place + 3] == ["wait", "measure"]
    assert [s.step.step for s in plan.steps] == list(range(1, len(order) + 1))
    assert "Acid into water" in adds[0].caution and "Nickel salts" in adds[0].caution
    assert plan.doubts == ()


def test_more_than_the_balance_allows_is_measured_again_before_anything_goes_in():
    state = bath("watts-nickel").state("bath")
    plan = jar_plan(state, load(), 0.5, bound_mol=Estimate(0.1, 0.05, 0.15, "mol"))
    assert "more than the balance allows: measure again" in plan.doubts[0]
    assert [s.step.action for s in plan.steps].count("add") == 1
    assert plan.steps[1].step.of == "jar test"
    within = jar_plan(state, load(), 0.14, bound_mol=Estimate(0.1, 0.05, 0.15, "mol"))
    assert within.doubts == () and [s.step.action for s in within.steps].count("add") == 4


def test_chlorine_is_warned_of_where_bleach_could_meet_the_acid():
    plan = jar_plan(bath("zinc-nickel-chloride-potassium").state("bath"), load(), 0.2)
    caution = next(s.step.caution for s in plan.steps if s.step.action == "add")
    assert "hypochlorite" in caution and "chlorine" in caution.casefold()


@pytest.mark.parametrize(
    ("recipe", "reagent", "says"),
    [
        ("watts-nickel", "nitric acid 68%", "nitrate"),
        ("zinc-nickel-chloride-potassium", "sulfuric acid 96%", "take hydrochloric acid 37%"),
        ("alkaline-zinc", "sulfuric acid 96%", "acid never goes in"),
        ("watts-nickel", "sodium hydroxide", "nickel hydroxide"),
        ("watts-nickel", "boric acid", "neither acid nor base"),
    ],
)
def test_what_does_not_belong_is_refused_with_what_does(recipe: str, reagent: str, says: str):
    with pytest.raises(ValueError, match=says):
        jar_plan(bath(recipe).state("bath"), load(), 0.2, reagent)


@pytest.mark.parametrize("bad", [(0.0, 6.0, 0.1), (100.0, 0.0, 0.1), (100.0, 6.0, -1.0), (float("nan"), 6.0, 0.1)])
def test_a_jar_that_cannot_be(bad: tuple[float, float, float]):
    with pytest.raises(ValueError, match="lies above 0"):
        Jar(*bad)


def test_no_jar_for_an_empty_tank_and_none_that_took_nothing():
    tale = Telling()
    tale.tank("bath", "plate", 1, "watts-nickel", 40.0)
    with pytest.raises(ValueError, match="no pH to mend"):
        jar_plan(tale.state("bath"), load(), 0.2)
    with pytest.raises(ValueError, match="asks for no dose"):
        jar_plan(bath("watts-nickel").state("bath"), load(), 0.0)


def test_words_that_are_never_used():
    for tale, tank in ((back(told()), "electrolyte"), (bath("watts-nickel"), "bath")):
        text = " ".join(sentences(balance_of(tale, tank))).casefold()
        plan = jar_plan(tale.state(tank), load(), 0.2)
        text += " ".join([*plan.lines, *(f"{s.step.why} {s.step.caution}" for s in plan.steps)]).casefold()
        assert not any(word in text for word in BANNED)
