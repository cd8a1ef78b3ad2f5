"""Treatments as plans, with the doses worked out beside them."""

from __future__ import annotations

import pytest

from bathkeeper.advice.treating import dummy_ah, peroxide_ml, treatment_plan
from bathkeeper.catalogue.loader import load
from tests.stories.telling import Telling


def bath(recipe: str, role: str = "plate", **contents: float) -> Telling:
    tale = Telling()
    tale.tank("bath", role, 1, recipe, 40.0)
    tale.log("make_up", tank="bath", volume_l=40.0, contents=contents)
    return tale


def test_the_usual_dose_in_the_strength_that_was_bought() -> None:
    """100 mL of 35 % in 1000 L (Metal Finishing Guidebook 2012-13, p. 376): 40 L take 4.0 mL, which hold 4 x 1.13 x 0.35 =
    1.582 g H2O2; 3 % (1.01 g/mL) holds 0.0303 g/mL: 52.2 mL; 12 % (1.04): 12.7 mL."""
    assert peroxide_ml(40, 0.35, 1.13) == pytest.approx(4.0)
    assert peroxide_ml(40, 0.03, 1.01) == pytest.approx(52.2, abs=0.05)
    assert peroxide_ml(40, 0.12, 1.04) == pytest.approx(12.7, abs=0.05)
    with pytest.raises(ValueError, match="mass fraction"):
        peroxide_ml(40, 35, 1.13)


def test_the_least_charge_of_a_dummy_is_faradays() -> None:
    """0.8 g of copper (20 mg/L in 40 L): 2 x 0.8 / 63.546 mol x 96485.33 / 3600 = 0.675 Ah (copper 1.1855 g/Ah, printed)."""
    assert dummy_ah(0.8, 63.546, 2) == pytest.approx(0.8 / 1.1855, rel=1e-3)
    assert dummy_ah(0.8, 63.546, 2, 0.05) == pytest.approx(20 * dummy_ah(0.8, 63.546, 2))


def test_peroxide_is_diluted_halved_and_measured_between() -> None:
    state = bath("zinc-chloride-potassium", zinc=35.0, iron=0.12).state("bath")
    plan = treatment_plan("peroxide", state, load(), peroxide="hydrogen peroxide 35%")
    actions = [(s.action, s.reagent, s.amount) for s in plan.plan_steps]
    assert [s.step for s in plan.plan_steps] == list(range(1, len(actions) + 1))
    assert actions.count(("add", "hydrogen peroxide 35%", 2.0)) == 2
    between = actions.index(("add", "hydrogen peroxide 35%", 2.0))
    assert ("measure", None, None) in actions[between + 1 : len(actions)]
    assert any("of water first" in s.why for s in plan.plan_steps)
    assert any("destroys brightener" in line for line in plan.lines)
    assert all(a.because.text for a in plan.steps)


def test_weak_peroxide_needs_no_diluting() -> None:
    state = bath("zinc-chloride-potassium", zinc=35.0).state("bath")
    plan = treatment_plan("peroxide", state, load(), peroxide="hydrogen peroxide 3%")
    assert not any("of water first" in s.why for s in plan.plan_steps)
    assert sum(s.amount or 0.0 for s in plan.plan_steps if s.action == "add") == pytest.approx(52, abs=0.1)


def test_what_would_harm_is_refused_with_what_to_do_instead() -> None:
    with pytest.raises(ValueError, match="refresh or replace"):
        treatment_plan("peroxide", bath("trivalent-passivate-clear", "passivate").state("bath"), load())
    with pytest.raises(ValueError, match="zinc dust"):
        treatment_plan("peroxide", bath("alkaline-zinc").state("bath"), load())
    with pytest.raises(ValueError, match="dummy instead"):
        treatment_plan("zinc dust", bath("watts-nickel").state("bath"), load())
    with pytest.raises(ValueError, match="no hydrogen peroxide"):
        treatment_plan("peroxide", bath("watts-nickel").state("bath"), load(), peroxide="boric acid")


def test_dummying_says_amperes_amp_hours_and_looks_in_between() -> None:
    state = bath("watts-nickel", nickel=75.0, copper=0.05).state("bath")
    plan = treatment_plan("dummy", state, load(), cathode_dm2=4.0)
    plated = [s for s in plan.plan_steps if s.action == "plate"]
    assert plated and all(s.unit == "Ah" for s in plated)
    assert "0.2 to 0.5 A/dm2" in plated[0].why
    assert any(s.action == "measure" and s.of == "panel" for s in plan.plan_steps)
    if "copper" in state.species:
        assert any("by Faraday at the very least" in line for line in plan.lines)


@pytest.mark.parametrize("kind", ["peroxide", "carbon", "zinc dust", "dummy"])
def test_every_plating_recipe_gets_a_plan_or_a_reason(kind: str) -> None:
    for name, recipe in load().recipes.items():
        if recipe.role != "plate":
            continue
        try:
            plan = treatment_plan(kind, bath(name).state("bath"), load())  # type: ignore[arg-type]
        except ValueError as refusal:
            assert len(str(refusal)) > 20
        else:
            assert plan.steps and all(s.why for s in plan.plan_steps)
