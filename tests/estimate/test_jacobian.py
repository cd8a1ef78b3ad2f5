"""Every derivative that the covariance rests on, against central differences of the same function."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from bathkeeper.catalogue.loader import load
from bathkeeper.entries import Value
from bathkeeper.estimate.dual import Dual, exp, log, power, sigmoid
from bathkeeper.estimate.electrode import BranchCharge, Plating, deposit_fractions, plate
from bathkeeper.estimate.gauss import Gauss
from bathkeeper.estimate.measure import RunRecord, displaced_l, expect
from bathkeeper.estimate.state import TankState
from bathkeeper.estimate.wear import Exposure, drag_out, pass_time, wear
from tests.estimate.helpers import BATH, TWO_POINT, Book

CHARGE, AREA = "run:charge", "run:area"
METALS = dict(load().metals)
RECIPES = sorted(n for n, r in load().recipes.items() if r.role != "dry")


def in_use(recipe: str) -> TankState:
    """A tank with everything in it above zero, parameters off their priors, and a run's own errors in the state."""
    role = load().recipes[recipe].role
    book = Book()
    if role == "rinse":
        book.bath()
    book.tank("tank", role, 6, recipe, 40.0, level_table=TWO_POINT)
    book.make_up("tank", 40.0)
    if recipe == BATH:
        book.anode("zinc-1", "hung", "tank", metal="zinc", mass_g=4000.0, area_dm2=5.0)
        book.anode("zinc-2", "hung", "tank", metal="zinc", mass_g=3000.0, area_dm2=4.0)
        book.anode("nickel-1", "hung", "tank", metal="nickel", mass_g=1500.0, area_dm2=2.5)
    state = book.state("tank")
    g = state.gauss.extended(
        [
            ("gain:main", 0.01, 4e-4),
            ("gain:second", -0.02, 4e-4),
            ("bias:lot", 0.01, 1e-4),
            ("offset:pH strip", 0.05, 0.01),
            (CHARGE, 0.0, 1e-4),
            (AREA, 0.0, 1e-3),
        ]
    )
    rng = np.random.default_rng(len(recipe))
    mean = g.mean.copy()
    for name, i in g.index.items():
        if name.startswith("mass:"):
            mean[i] = max(mean[i], 40.0) * rng.uniform(0.8, 1.2)
        elif name.startswith("theta:"):
            mean[i] += rng.uniform(-0.1, 0.1)
    mean[g.index["acid"]], mean[g.index["habit:area"]] = -1.3, 0.03
    return state.with_gauss(g.with_mean(mean))


def code_jacobian(state: TankState, step: Callable[[TankState], TankState]) -> np.ndarray:
    """d(mean after)/d(mean before) as the covariance saw it: a twin of every entry is put beside it, fully correlated and left
    alone, so that afterwards the covariance between entries and twins is the Jacobian itself."""
    g, n = state.gauss, len(state.gauss.names)
    names = g.names + tuple(f"twin:{i}" for i in range(n))
    cov = np.block([[np.eye(n), np.eye(n)], [np.eye(n), np.eye(n)]])
    both = Gauss(names, np.concatenate([g.mean, np.zeros(n)]), cov, {m: i for i, m in enumerate(names)})
    return step(state.with_gauss(both)).gauss.cov[:n, n:]


def slope_jacobian(state: TankState, step: Callable[[TankState], TankState]) -> np.ndarray:
    mean = state.gauss.mean
    columns = []
    for i in range(len(mean)):
        h = 1e-5 * max(abs(mean[i]), 0.1)
        up, down = mean.copy(), mean.copy()
        up[i] += h
        down[i] -= h
        after = [step(state.with_gauss(state.gauss.with_mean(m))).gauss.mean for m in (up, down)]
        columns.append((after[0] - after[1]) / (2 * h))
    return np.array(columns).T


def assert_same(state: TankState, step: Callable[[TankState], TankState]) -> None:
    code, slopes = code_jacobian(state, step), slope_jacobian(state, step)
    size = np.maximum(np.abs(slopes).max(axis=1, keepdims=True), 1e-6)
    off = np.abs(code - slopes) / size
    i, k = np.unravel_index(int(off.argmax()), off.shape)
    names = state.gauss.names
    assert off.max() < 2e-6, f"d {names[i]} / d {names[k]}: {code[i, k]:.9g} by the code, {slopes[i, k]:.9g} by differences"


def exposure(**changed: float) -> Exposure:
    usual = Exposure(
        area_dm2=4.3, minutes=20.0, charge_ah=5.0, heated_h=2.75, temperature_c=27.0, stripped_g=5.5,
        area_name=AREA, charge_name=CHARGE, supply="main",
    )  # fmt: skip
    return replace(usual, **changed)


def test_dual_functions() -> None:
    x0, y0, h = 1.7, 0.6, 1e-6

    def both(x: Dual, y: Dual) -> list[Dual]:
        return [
            x + y, x - y, 2.0 - x, x * y, x * 3.0, 3.0 * y, x / y, x / 4.0, 4.0 / y, -x, exp(x), log(x), sigmoid(x - 2.0),
            power(x, y), power(x, 0.7), exp(x * y) / (1.0 + log(x)),
        ]  # fmt: skip

    found = both(Dual(x0, np.array([1.0, 0.0])), Dual(y0, np.array([0.0, 1.0])))
    flat = np.zeros(2)
    for k, (dx, dy) in enumerate([(h, 0.0), (0.0, h)]):
        up, down = both(Dual(x0 + dx, flat), Dual(y0 + dy, flat)), both(Dual(x0 - dx, flat), Dual(y0 - dy, flat))
        slopes = [(a.value - b.value) / (2 * h) for a, b in zip(up, down, strict=True)]
        assert [f.grad[k] for f in found] == pytest.approx(slopes, rel=1e-8, abs=1e-8)
    assert found[-1].value == pytest.approx(math.exp(x0 * y0) / (1 + math.log(x0)))


@pytest.mark.parametrize(
    "branches",
    [
        (BranchCharge("main", 5.0),),
        (BranchCharge("main", 4.0, ("zinc-1", "zinc-2")), BranchCharge("second", 0.7, ("nickel-1",))),
        (BranchCharge("main", 60.0),),
    ],
    ids=["one bus", "two supplies", "long"],
)
def test_plating(branches: tuple[BranchCharge, ...]) -> None:
    plating = Plating(branches, 4.3, 45.0, 33.0)
    assert_same(in_use(BATH), lambda s: plate(s, plating, METALS, CHARGE))


def test_plating_without_anodes_on_record() -> None:
    state = replace(in_use(BATH), anodes={})
    assert_same(state, lambda s: plate(s, Plating((BranchCharge("main", 5.0),), None, None, None), METALS, CHARGE))


def test_rust_removal_charge() -> None:
    state = in_use("electrolytic-rust-removal")
    assert_same(state, lambda s: plate(s, Plating((BranchCharge("main", 5.0),), 4.0, 30.0, 20.0), METALS, CHARGE))


@pytest.mark.parametrize("recipe", RECIPES)
def test_wear_of_a_run(recipe: str) -> None:
    assert_same(in_use(recipe), lambda s: wear(s, exposure())[0])


@pytest.mark.parametrize("recipe", RECIPES)
def test_drag_out(recipe: str) -> None:
    assert_same(in_use(recipe), lambda s: drag_out(s, exposure(area_dm2=43.0))[0])


@pytest.mark.parametrize("recipe", RECIPES)
def test_time(recipe: str) -> None:
    assert_same(in_use(recipe), lambda s: pass_time(s, s.now + timedelta(days=9)))


def test_drag_out_tells_the_variance_of_what_it_took() -> None:
    """Of each amount, from the slopes of the amount itself: what is the same at every load (rate, habit of area) is told
    apart from what is this load's own."""
    state = in_use(BATH)
    _, out = drag_out(state, exposure())
    mean, cov = state.gauss.mean, state.gauss.cov
    lasting = [state.gauss.index[n] for n in ("theta:drag_out", "habit:area")]
    grads = {name: np.zeros(len(mean)) for name in out.amounts}
    litres = np.zeros(len(mean))
    for i in range(len(mean)):
        h = 1e-5 * max(abs(mean[i]), 0.1)
        pair = []
        for sign in (1, -1):
            moved = mean.copy()
            moved[i] += sign * h
            pair.append(drag_out(state.with_gauss(state.gauss.with_mean(moved)), exposure())[1])
        litres[i] = (pair[0].volume_l - pair[1].volume_l) / (2 * h)
        for name, grad in grads.items():
            grad[i] = (pair[0].amounts[name][0] - pair[1].amounts[name][0]) / (2 * h)
    for name, (_, variance) in out.amounts.items():
        own = grads[name].copy()
        own[lasting] = 0.0
        assert variance == pytest.approx(float(own @ cov @ own), rel=1e-5)
    log = litres[lasting] / out.volume_l
    assert out.log_variance == pytest.approx(float(log @ cov[np.ix_(lasting, lasting)] @ log), rel=1e-5)


READINGS = [
    Value(of="zinc", value=33.0, unit="g/L", lot="lot"),
    Value(of="volume", value=40.0, unit="L"),
    Value(of="level", value=40.0, unit="L"),
    Value(of="level", value=400.0, unit="mm"),
    Value(of="ph", value=5.4, unit="pH"),
    Value(of="density", value=1.2, unit="g/cm3"),
    Value(of="nickel_share", value=5.0, unit="%"),
]
ON_PARTS = [
    Value(of="deposit_nickel", value=13.0, unit="%"),
    Value(of="thickness", value=12.0, unit="um"),
]


def assert_expectation(state: TankState, value: Value, record: RunRecord | None) -> None:
    method = load().default_method(value.of, value.unit)
    mean = state.gauss.mean
    found = expect(state, value, method, METALS, record, 30.0)
    assert found is not None
    slopes = []
    for i in range(len(mean)):
        h = 1e-5 * max(abs(mean[i]), 0.1)
        pair = []
        for sign in (1, -1):
            moved = mean.copy()
            moved[i] += sign * h
            there = expect(state.with_gauss(state.gauss.with_mean(moved)), value, method, METALS, record, 30.0)
            assert there is not None
            pair.append(there.h.value)
        slopes.append((pair[0] - pair[1]) / (2 * h))
    size = max(float(np.abs(slopes).max()), 1e-9)
    assert np.abs(found.h.grad - slopes).max() / size < 1e-6
    assert np.abs(slopes).max() > 0, "a reading that hangs on nothing teaches nothing"


@pytest.mark.parametrize("value", READINGS, ids=[f"{v.of} in {v.unit}" for v in READINGS])
def test_expectation_of_a_reading(value: Value) -> None:
    assert_expectation(in_use(BATH), value, None)


DENSITY_OF_ALLOY = "a thickness forgets that the density of the deposit moves with its composition: measure.py takes w.value"


@pytest.mark.parametrize(
    "value",
    [
        pytest.param(v) if v.of == "thickness" else v
        for v in ON_PARTS
    ],
    ids=[v.of for v in ON_PARTS],
)
def test_expectation_of_a_reading_on_parts(value: Value) -> None:
    plating = Plating((BranchCharge("main", 4.0, ("zinc-1",)), BranchCharge("second", 0.7, ("nickel-1",))), 4.3, 45.0, 33.0)
    assert_expectation(in_use(BATH), value, RunRecord("tank", plating, 1e-4, 1e-3))


def test_expectation_of_a_rinse() -> None:
    assert_expectation(in_use("still-rinse"), Value(of="conductivity", value=9.0, unit="mS/cm"), None)


def test_deposit_fractions_and_displacement() -> None:
    state = in_use(BATH)
    for what in (lambda s: deposit_fractions(s, 2.0, 30.0)["nickel"], lambda s: displaced_l(s, METALS)):
        found = what(state)
        for i, mean in enumerate(state.gauss.mean):
            h = 1e-5 * max(abs(mean), 0.1)
            pair = []
            for sign in (1, -1):
                moved = state.gauss.mean.copy()
                moved[i] += sign * h
                pair.append(what(state.with_gauss(state.gauss.with_mean(moved))).value)
            assert found.grad[i] == pytest.approx((pair[0] - pair[1]) / (2 * h), rel=1e-5, abs=1e-9)
