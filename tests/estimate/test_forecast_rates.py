"""The forecast's rates against the filter's own physics, on random states of every recipe of the catalogue."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import msgspec
import numpy as np
import pytest

from bathkeeper.catalogue.loader import load
from bathkeeper.catalogue.schema import Recipe
from bathkeeper.estimate.electrode import BranchCharge, Plating, plate
from bathkeeper.estimate.gauss import Gauss
from bathkeeper.estimate.paths import draw_cloud
from bathkeeper.estimate.rates import Moved, Use, film_l, passed_time, plated, worn
from bathkeeper.estimate.state import TankState
from bathkeeper.estimate.usage import BranchUse
from bathkeeper.estimate.wear import Exposure, drag_in, drag_out, pass_time, wear
from tests.estimate.helpers import Book

CATALOGUE = load()
RECIPES = [n for n, r in CATALOGUE.recipes.items() if r.role != "dry"]
SMALL = 1e-3  # of a usual load, so that first order is all there is
ERRORS = [("run:charge", 0.0, 0.0), ("run:area", 0.0, 0.0)]


def a_state(recipe: str, seed: int) -> TankState:
    """A tank of the recipe at a random place of what is believed of it, sure of itself; half of the seeds lift their anodes."""
    rng = np.random.default_rng([seed, len(recipe)])
    made = CATALOGUE.recipe(recipe)
    book = Book()
    book.tank("bath", made.role, 1, recipe, 40.0, surface_dm2=12.0)
    book.make_up("bath", 40.0)
    if made.electrode is not None:
        for i, metal in enumerate([*made.electrode.anodes, *made.electrode.anodes[:1], *made.electrode.inert[:1]]):
            area = {"area_dm2": 2.0 + i} if rng.random() < 0.7 else {}
            book.anode(f"bar-{i}", "hung", metal=metal, mass_g=float(rng.uniform(500, 2000)), **area)
            if rng.random() < 0.5:
                book.anode(f"bar-{i}", "lifted")
    state = book.state()
    gauss = state.gauss.extended([("gain:main", 0.0, 0.02**2), ("gain:second", 0.0, 0.02**2)])
    mean = gauss.mean + 0.5 * np.sqrt(np.diag(gauss.cov)) * rng.standard_normal(len(gauss.names))
    for i, name in enumerate(gauss.names):
        if name == "volume" or name.startswith(("mass:", "anode:")):
            mean[i] = abs(mean[i]) + 1e-3
    return state.with_gauss(Gauss(gauss.names, mean, np.zeros_like(gauss.cov), gauss.index))


def moved(before: TankState, after: TankState) -> dict[str, float]:
    names = [n for n in before.gauss.names if n == "volume" or n.startswith(("mass:", "anode:"))]
    return {n: after.gauss.value(n) - before.gauss.value(n) for n in names}


def same(ours: Moved, real: dict[str, float], size: float) -> list[str]:
    """What differs, by name; ``size``: the scale of the largest change."""
    return [
        f"{n}: {float(ours[n][0]) if n in ours else 0.0:g} and {real[n]:g}"
        for n in real
        if abs((float(ours[n][0]) if n in ours else 0.0) - real[n]) > 2e-3 * abs(real[n]) + 1e-7 * size
    ]


def together(*parts: Moved) -> Moved:
    total: Moved = {}
    for part in parts:
        for name, amount in part.items():
            total[name] = total.get(name, np.zeros(1)) + amount
    return total


@pytest.mark.parametrize("recipe", RECIPES)
@pytest.mark.parametrize("seed", range(4))
def test_a_bit_of_use_moves_what_the_filter_moves(recipe: str, seed: int) -> None:
    state = a_state(recipe, seed)
    named = tuple(state.anodes)[:1] if seed == 3 else ()
    wired = {"main": 0.7, "second": 0.3}
    charge, area, minutes = 5.0 * SMALL, 4.3 * SMALL, 45.0
    plating = Plating(
        tuple(BranchCharge(s, charge * p, named if s == "main" else ()) for s, p in wired.items()), area, minutes, 33.0
    )
    exposure = Exposure(
        area_dm2=area, minutes=minutes, charge_ah=charge, heated_h=2.5 * SMALL, temperature_c=33.0, stripped_g=3.0 * SMALL,
        area_name="run:area", charge_name="run:charge", supply="main",
    )  # fmt: skip
    real = state.with_gauss(state.gauss.extended(ERRORS))
    real = plate(real, plating, CATALOGUE.metals, "run:charge")
    by_run = any(t.exposure == "run" for t in CATALOGUE.recipe(recipe).wear)
    if not by_run:  # a thousandth of a run is none to the filter: compared apart, below
        real, _ = wear(real, exposure)
    real, _ = drag_out(real, exposure)
    cloud, _ = draw_cloud(state, CATALOGUE.metals, 1, np.random.default_rng(0))
    one = np.ones(1)
    use = Use(
        charge * one, area * one, SMALL * one, minutes, 2.5, 3.0, 33.0, charge * 60 / minutes / area,
        tuple(BranchUse(s, p, named if s == "main" else ()) for s, p in wired.items()),
    )  # fmt: skip
    if by_run:
        cloud.state = replace(state, recipe=_only_drag_out(state))
    ours = together(plated(cloud, use), worn(cloud, use))
    real_moved = moved(state, real)
    assert any(abs(v) > 0 for v in real_moved.values())
    assert not same(ours, real_moved, max(abs(v) for v in real_moved.values()))
    back, _ = drag_in(state.with_gauss(state.gauss.extended(ERRORS)), None, exposure)
    assert float(film_l(cloud, use)[0]) == pytest.approx(moved(state, back)["volume"], rel=1e-6)


def _only_drag_out(state: TankState) -> Recipe:
    assert state.recipe is not None
    return msgspec.structs.replace(state.recipe, wear=tuple(t for t in state.recipe.wear if t.name == "drag-out"))


def test_water_run_through_moves_what_the_filter_moves() -> None:
    state = a_state("running-rinse", 1)
    exposure = Exposure(0.0, 0.0, 0.0, 0.0, None, 0.0, "run:area", "run:charge", None)
    real, _ = wear(state.with_gauss(state.gauss.extended(ERRORS)), exposure)
    cloud, _ = draw_cloud(state, CATALOGUE.metals, 1, np.random.default_rng(0))
    ours = worn(cloud, Use(np.zeros(1), np.zeros(1), np.ones(1)))
    assert not same(ours, moved(state, real), 1.0)


@pytest.mark.parametrize("recipe", RECIPES)
@pytest.mark.parametrize("seed", range(4))
def test_a_bit_of_time_moves_what_the_filter_moves(recipe: str, seed: int) -> None:
    state = a_state(recipe, seed)
    real = pass_time(state, state.now + timedelta(days=0.5))
    cloud, _ = draw_cloud(state, CATALOGUE.metals, 1, np.random.default_rng(0))
    real_moved = moved(state, real)
    assert not same(passed_time(cloud, 0.5), real_moved, max(abs(v) for v in real_moved.values()) + 1e-3)


def test_a_spent_anode_gives_no_more_than_it_has_and_the_others_carry_on() -> None:
    state = a_state("zinc-nickel-chloride-potassium", 0)
    bars = [n for n, a in state.anodes.items() if a.metal == "zinc"]
    state = replace(state, anodes={n: replace(a, hung=True) for n, a in state.anodes.items()})
    state = state.with_gauss(state.gauss.replaced({f"anode:{bars[0]}": (0.5, 0.0)}))
    cloud, _ = draw_cloud(state, CATALOGUE.metals, 1, np.random.default_rng(0))
    ours = plated(cloud, Use(np.full(1, 100.0), np.full(1, 86.0), np.full(1, 20.0), branches=(BranchUse("main", 1.0),)))
    assert float(ours[f"anode:{bars[0]}"][0]) == pytest.approx(-0.5)
    plating = Plating((BranchCharge("main", 100.0),), 86.0, None, None)
    real = moved(state, plate(state.with_gauss(state.gauss.extended(ERRORS)), plating, CATALOGUE.metals, "run:charge"))
    assert float(ours[f"anode:{bars[1]}"][0]) == pytest.approx(real[f"anode:{bars[1]}"], rel=0.02)
