"""The law of dosing plans: what is offered holds by other arithmetic; where nothing is offered, brute force finds nothing."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from bathkeeper.advice.dosing import DosingPlan, DragOutRinse, ShelfItem, dose, make_up_plan, refresh
from bathkeeper.catalogue.loader import load
from bathkeeper.catalogue.schema import Ratio, Recipe
from bathkeeper.estimate.state import TankState
from tests.advice.brute import Question, Vessel, search
from tests.advice.tanks import AT, recipe, tank, window

CATALOGUE = load()
PLATING = sorted(n for n, r in CATALOGUE.recipes.items() if r.role == "plate")
SIDE = sorted(n for n, r in CATALOGUE.recipes.items() if r.role in ("pickle", "degrease", "acid dip", "passivate"))
SALTS = (
    "zinc chloride", "nickel chloride hexahydrate", "nickel sulfate hexahydrate", "potassium chloride", "boric acid",
    "nickel chloride solution", "brightener",
)  # fmt: skip
WORDS = ("optimal", "guarantee", "compliant", "safe to pour", "non-hazardous")
QUICK = {"deadline": None, "suppress_health_check": [HealthCheck.too_slow], "derandomize": True}


def own(of: Recipe) -> list[ShelfItem]:
    names = dict.fromkeys(s.reagent for s in of.make_up if s.reagent != "water")
    return [ShelfItem(CATALOGUE.reagents[n]) for n in names]


def question(state: TankState, plan_full: float, shelf: Sequence[ShelfItem], scale_g: float) -> Question:
    """The same task for the brute force: level, grids and the most that may go are the plan's stated rules."""
    volume, working = state.volume_l, state.working_volume_l
    level = min(working if volume <= working else volume, plan_full)
    return Question(
        volume_l=volume,
        masses={s: state.gauss.value(f"mass:{s}") for s in state.species},
        level_l=level,
        full_l=plan_full,
        most_out_l=0.8 * volume,
        grid_l=0.1 if level >= 100 else 0.01 if level >= 2 else 0.001,
        windows={**state.recipe.species, **state.recipe.ratios},
        species=state.species,
        shelf=[(i.reagent, i.available) for i in shelf],
        scale_g=scale_g,
        ml=1.0 if level >= 20 else 0.1,
    )


def kept(
    plan: DosingPlan, state: TankState, shelf: Sequence[ShelfItem], full: float, scale_g: float, rinse: Any = None
) -> None:
    """An offered plan, step by step."""
    reagents = {i.reagent.name: i.reagent for i in shelf}
    vessel = Vessel(state.volume_l, {s: state.gauss.value(f"mass:{s}") for s in state.species})
    used: dict[str, float] = {}
    for advised in plan.steps:
        step = advised.step
        vessel.do(step, reagents, state.species, rinse)
        if step.action == "add" and step.reagent != "water":
            used[step.reagent] = used.get(step.reagent, 0.0) + step.amount
            if step.unit == "g":
                assert abs(step.amount / scale_g - round(step.amount / scale_g)) < 1e-6, "not weighable"
        if step.action == "remove" and step.of is not None:
            used[step.of] = used.get(step.of, 0.0) + step.amount
    assert vessel.out({**state.recipe.species, **state.recipe.ratios}) == []
    if plan.steps:
        assert vessel.highest <= full + 1e-6
    for item in shelf:
        assert item.available is None or used.get(item.reagent.name, 0.0) <= item.available + 1e-6
    if rinse is not None:
        assert used.get(rinse.tank, 0.0) <= rinse.volume_l + 1e-6
    for name, after in plan.after.items():
        of = {**state.recipe.species, **state.recipe.ratios}[name]
        assert after.after.value == pytest.approx(vessel.value(of, name), rel=2e-4, abs=1e-9)
        assert after.state == "in"
        assert after.after.low <= after.after.value <= after.after.high
    said = " ".join([*plan.advice.lines, *plan.advice.doubts, *(f"{a.step.why} {a.step.caution}" for a in plan.steps)]).lower()
    assert not [w for w in WORDS if w in said]


def windows(draw: Any, target: float, kind: str = "salt") -> Any:
    low = target * draw(st.floats(0.5, 0.92))
    high = target * draw(st.floats(1.08, 1.6))
    none_low, none_high = draw(st.sampled_from([(False, False)] * 6 + [(True, False), (False, True)]))
    if kind == "contaminant":
        return window(None, 0.0, high, kind)
    return window(None if none_low else low, target, None if none_high else high, kind)


@st.composite
def synthetic(draw: Any) -> tuple[TankState, list[ShelfItem], float, float, DragOutRinse | None]:
    """A tank of made-up windows on one to five species, anywhere from empty of them to twice too much, and a poor shelf."""
    targets = {"zinc": 32.0, "nickel": 24.0, "chloride": 120.0, "potassium": 60.0, "sulfate": 40.0, "boric acid": 25.0}
    names = draw(st.lists(st.sampled_from(sorted(targets)), min_size=1, max_size=4, unique=True))
    species = {n: windows(draw, targets[n]) for n in names}
    if draw(st.booleans()):
        species["iron"] = windows(draw, 0.1, "contaminant")
    if draw(st.booleans()):
        species["brightener"] = replace(windows(draw, 1.0, "additive"), unit="mL/L")
    ratios = {}
    if {"zinc", "nickel"} <= set(species) and draw(st.booleans()):
        low = draw(st.floats(0.3, 0.42))
        high = low + draw(st.floats(0.02, 0.2))
        ratios["share"] = Ratio(parts=("nickel",), whole=("nickel", "zinc"), unit="", low=low, high=high, status="practice")
    # every stranger of a salt is tracked by nobody: the recipe makes itself up with the whole shelf, so that all of it belongs
    chosen = draw(st.lists(st.sampled_from(SALTS), min_size=1, max_size=3, unique=True))
    from bathkeeper.catalogue.schema import MakeUpStep

    made = tuple(MakeUpStep(reagent=n, amount_g_l=1.0, why="test", status="practice") for n in chosen)
    of = recipe(species, ratios, make_up=made)
    volume = draw(st.floats(3.0, 60.0))
    working = volume * draw(st.floats(0.95, 1.25))
    full = draw(st.none() | st.floats(1.0, 1.2).map(lambda f: f * max(working, volume)))
    contents = {n: (s.target or s.high or 1.0) * draw(st.floats(0.3, 1.5)) for n, s in species.items()}
    if "iron" in species:
        contents["iron"] = draw(st.floats(0.0, 0.15))
    shelf = []
    for name in chosen:
        reagent = CATALOGUE.reagents[name]
        if reagent.form == "solid":
            reagent = replace(reagent, purity=draw(st.sampled_from([1.0, 0.97, 0.9])))
        shelf.append(
            ShelfItem(reagent, draw(st.none() | st.floats(0.0, 40.0 * volume)), draw(st.none() | st.floats(0.001, 0.2)))
        )
    scale = draw(st.sampled_from([0.1, 1.0, 5.0, 25.0]))
    rinse = None
    if draw(st.integers(0, 3)) == 0:
        rinse = DragOutRinse("rinse", draw(st.floats(0.5, 10.0)), {n: draw(st.floats(0.0, 5.0)) for n in names})
    return tank(of, contents, volume, working, full), shelf, full or max(working, volume) * 1.02, scale, rinse


@settings(max_examples=150, **QUICK)
@given(synthetic())
def test_offered_plans_hold_and_refused_ones_are_not_there(case: Any) -> None:
    state, shelf, full, scale, rinse = case
    plan = dose(state, CATALOGUE, shelf, scale_g=scale, rinse=rinse, at=AT)
    if plan.feasible:
        kept(plan, state, shelf, full, scale, rinse)
        return
    assert plan.conflict and plan.steps == () and plan.nearest is not None
    assert plan.nearest.still_open or "steps of" in " ".join(plan.conflict)
    found = search(question(state, full, shelf, scale))
    assert found is None, f"no plan was offered, but {found} would do; {plan.conflict}"


@pytest.mark.parametrize("name", PLATING)
def test_every_plating_recipe_from_a_disturbed_bath(name: str) -> None:
    of = CATALOGUE.recipes[name]

    @settings(max_examples=8, **QUICK)
    @given(st.data())
    def one(data: Any) -> None:
        contents = {}
        for n, s in of.species.items():
            usual = (s.target or 0.0) or (s.high or 0.0) / 3
            contents[n] = usual * data.draw(st.floats(0.6, 1.3 if s.kind != "contaminant" else 1.0), label=n)
        level = data.draw(st.floats(0.85, 1.01), label="level")
        state = tank(of, contents, 40.0 * level, 40.0, 42.0)
        shelf = own(of)
        plan = dose(state, CATALOGUE, shelf, at=AT)
        if plan.feasible:
            kept(plan, state, shelf, 42.0, 1.0)
        else:
            assert search(question(state, 42.0, shelf, 1.0)) is None, plan.conflict

    one()


@pytest.mark.parametrize("name", PLATING + SIDE)
def test_make_up_from_empty(name: str) -> None:
    of = CATALOGUE.recipes[name]
    plan = make_up_plan(of, 40.0, CATALOGUE, own(of))
    assert plan.feasible, plan.conflict
    vessel = Vessel(0.0, dict.fromkeys(of.species, 0.0))
    reagents = {i.reagent.name: i.reagent for i in own(of)}
    for advised in plan.steps:
        vessel.do(advised.step, reagents, of.species)
    assert vessel.out({**of.species, **of.ratios}) == []
    assert vessel.highest <= 40.0 + 1e-9 and vessel.volume_l == pytest.approx(40.0, abs=0.02)
    first = next(a.step for a in plan.steps if a.step.action == "add")
    assert first.reagent == "water"
    for species, w in of.species.items():
        if w.kind in ("metal", "acid", "alkali") and not w.counts_weak:
            assert vessel.value(w, species) == pytest.approx(w.target, rel=0.01), species


@pytest.mark.parametrize("name", SIDE)
@pytest.mark.parametrize("left", [0.4, 0.7, 0.95])
def test_refreshing_brings_back_the_strength(name: str, left: float) -> None:
    of = CATALOGUE.recipes[name]
    contents = {n: s.target * left if s.kind != "contaminant" else 0.3 * s.high for n, s in of.species.items()}
    state = tank(of, contents, 19.0, 20.0, 22.0)
    plan = refresh(state, CATALOGUE, own(of), at=AT)
    assert plan.feasible, plan.conflict
    kept(plan, state, own(of), 22.0, 1.0)
    for species, w in of.species.items():
        if w.kind in ("acid", "metal") or (w.kind == "alkali" and not w.counts_weak):
            assert plan.after[species].after.value == pytest.approx(w.target, rel=0.07), (
                species
            )  # a weak pickle has no room for more
        if w.kind == "contaminant":
            assert plan.after[species].after.value > 0  # what is not taken out stays
