"""Many possible futures of one tank: contents and parameters drawn from what is believed, use drawn from what is usual."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from bathkeeper.catalogue.schema import Metal
from bathkeeper.estimate.gauss import Matrix
from bathkeeper.estimate.rates import Array, Cloud, Moved, Use, film_l, natural_of, passed_time, plated, worn
from bathkeeper.estimate.state import HALF_YEAR_DAYS, TankState, walk_rates
from bathkeeper.estimate.usage import Usage
from bathkeeper.estimate.wear import STRAY_WANDER

LONGEST_STEP_DAYS = 2.0
FEWEST_STEPS, MOST_STEPS = 45, 400
LARGEST_PART_OF_A_METAL = 0.03  # that a step may move
PARAMETERS_WANDER_TIMES = 12  # over the horizon: how often the slow walk of the parameters is drawn
LEVEL_SD = 0.004  # of the working volume, standard deviation: where a filling to the mark ends up [practice]
HABIT_CHANGES = 0.1  # standard deviation of the logarithm of how much more or less is plated than before [practice]
SPENT = 0.02  # of a metal's target: from there on nobody plates, and what the bath would come to is no forecast [practice]
SMALLEST_CV2 = 1e-3  # below it a scatter is none


@dataclass(frozen=True)
class Inflow:
    """What parts bring in: nothing when ``dry``, else a film of water with ``contents`` in g/L (mL/L), as thick as the tank
    before drags out (``ml_per_dm2``; None: as this tank does)."""

    dry: bool = False
    contents: Mapping[str, float] = field(default_factory=dict)
    ml_per_dm2: float | None = None


@dataclass(frozen=True)
class Watched:
    """An edge that paths may cross: row of the watched values, limit, and whether it is crossed falling."""

    row: int
    limit: float
    falling: bool


@dataclass(frozen=True)
class Futures:
    """When each path crossed each watched edge (infinity: not within the horizon), and where the paths are on the way.

    ``days``, ``charge_ah``, ``runs``: (edges, paths). ``fan_days``: (points,); ``fan_charge_ah``: its median, (points,);
    ``fan``: (points, rows, quantiles) of the watched values.
    """

    days: Matrix
    charge_ah: Matrix
    runs: Matrix
    fan_days: Array
    fan_charge_ah: Array
    fan: Array


def draw_cloud(state: TankState, metals: Mapping[str, Metal], paths: int, rng: np.random.Generator) -> tuple[Cloud, Moved]:
    """(states drawn from the tank's Gaussian, their parameters on the filter's scale). Drawn in opposite pairs, so that a few
    thousand paths already have the mean right."""
    gauss = state.gauss
    half = rng.standard_normal(((paths + 1) // 2, len(gauss.names)))
    normal = np.concatenate([half, -half])[:paths]
    scale = np.sqrt(np.maximum(np.diag(gauss.cov), 1e-300))
    values, vectors = np.linalg.eigh(gauss.cov / np.outer(scale, scale))
    root = vectors * np.sqrt(np.maximum(values, 0.0))
    drawn = gauss.mean + (normal @ root.T) * scale
    column = {n: np.ascontiguousarray(drawn[:, i]) for n, i in gauss.index.items()}
    amounts = {
        n: np.maximum(x, 0.0) for n, x in column.items() if n == "volume" or n.startswith(("mass:", "anode:"))
    }  # fmt: skip
    scales = {n: x for n, x in column.items() if n.startswith(("theta:", "gain:")) or n == "drag_in"}
    cloud = Cloud(state, amounts, {}, {}, np.exp(column["habit:area"]), metals)
    _naturalise(cloud, scales)
    return cloud, scales


def futures(
    state: TankState,
    metals: Mapping[str, Metal],
    usage: Usage,
    inflow: Inflow,
    watched: Sequence[Watched],
    values_of: Callable[[Cloud], Matrix],
    *,
    horizon_days: float,
    first_top_up_days: float,
    heated_h: float,
    paths: int,
    quantiles: Sequence[float],
    fan_points: int,
    rng: np.random.Generator,
) -> Futures:
    """Runs the paths. ``values_of`` gives the watched values, (rows, paths), of a cloud; no dosing but water up to the working
    level every ``usage.top_up_days``."""
    cloud, scales = draw_cloud(state, metals, paths, rng)
    for supply in {b.supply for b in usage.branches} - set(cloud.gains):
        cloud.gains[supply] = np.ones(paths)
    steps = _steps(state, usage, horizon_days)
    dt = horizon_days / steps
    runs, charge, area = _drawn_use(usage, dt, steps, paths, rng)
    full = state.working_volume_l or state.volume_l
    density = usage.charge_ah * 60 / usage.minutes / usage.area_dm2 if usage.minutes > 0 and usage.area_dm2 > 0 else 0.0
    rates = {n: r for n, r in zip(state.gauss.names, walk_rates(state), strict=True) if r > 0 and n in scales}
    strays = _strays(state)
    wander_every = max(1, round(steps / PARAMETERS_WANDER_TIMES))

    rows = np.array([w.row for w in watched], dtype=int)
    limits = np.array([w.limit for w in watched])[:, None]
    signs = np.array([1.0 if w.falling else -1.0 for w in watched])[:, None]
    crossed = [np.full((len(watched), paths), math.inf) for _ in range(3)]
    counted = np.zeros((3, paths))  # days, Ah, runs so far
    usable = np.ones(paths, dtype=bool)
    values = values_of(cloud)
    margin = signs * (values[rows] - limits)
    for found in crossed:
        found[margin <= 0] = 0.0
    fan_at = sorted({round(k * steps / fan_points) for k in range(fan_points + 1)})
    fan_days, fan_charge, fan = [0.0], [0.0], [np.quantile(values, quantiles, axis=1).T]
    next_top_up = first_top_up_days
    for k in range(steps):
        if k % wander_every == 0 and rates:
            for name, rate in rates.items():
                scales[name] = scales[name] + math.sqrt(rate * dt * wander_every) * rng.standard_normal(paths)
            _naturalise(cloud, scales)
        cloud.move(passed_time(cloud, dt))
        cloud.move({n: math.sqrt(v * dt) * rng.standard_normal(paths) for n, v in strays.items()})
        if usage.runs_per_week > 0:
            use = Use(
                charge[k], area[k], runs[k], usage.minutes, heated_h, usage.stripped_g, usage.temperature_c, density or None,
                usage.branches,
            )  # fmt: skip
            cloud.move(_dragged_in(cloud, scales, inflow, use))
            cloud.move(plated(cloud, use))
            cloud.move(worn(cloud, use))
        step = np.array([np.full(paths, dt), charge[k], runs[k]])
        values = values_of(cloud)
        margin = _note(crossed, margin, signs * (values[rows] - limits), counted, step, usable)
        counted += step
        usable &= _has_metal(cloud)
        if (k + 1) * dt >= next_top_up - 1e-9:
            level = full * (1.0 + LEVEL_SD * rng.standard_normal(paths))
            cloud.amounts["volume"] = np.maximum(cloud.amounts["volume"], level)
            next_top_up = max(next_top_up + usage.top_up_days, (k + 1) * dt)
            values = values_of(cloud)
            margin = _note(crossed, margin, signs * (values[rows] - limits), counted, 0.0 * step, usable)
        if k + 1 in fan_at:
            fan_days.append((k + 1) * dt)
            fan_charge.append(float(np.median(counted[1])))
            fan.append(np.quantile(values, quantiles, axis=1).T)
    return Futures(crossed[0], crossed[1], crossed[2], np.array(fan_days), np.array(fan_charge), np.array(fan))


def _note(
    crossed: list[Matrix], before: Matrix, after: Matrix, counted: Matrix, step: Matrix, usable: NDArray[np.bool_]
) -> Matrix:
    """Notes which edges were crossed for the first time in a step, and where within it; returns the margins after it."""
    edge, path = np.nonzero((after <= 0) & np.isinf(crossed[0]) & usable)
    if len(edge):
        was, now = before[edge, path], after[edge, path]
        part = was / np.maximum(was - now, 1e-300)
        for found, total, change in zip(crossed, counted, step, strict=True):
            found[edge, path] = total[path] + part * change[path]
    return after


def _strays(state: TankState) -> dict[str, float]:
    """Variance a day of contaminants that no wear term explains, as ``wear.pass_time`` lets them wander."""
    assert state.recipe is not None
    explained = {e.to for t in state.recipe.wear for e in t.effects}
    return {
        f"mass:{n}": (STRAY_WANDER * s.high * state.working_volume_l) ** 2 / HALF_YEAR_DAYS
        for n, s in state.recipe.species.items()
        if state.entry.role == "plate" and s.kind == "contaminant" and s.high and n not in explained
    }


def _has_metal(cloud: Cloud) -> NDArray[np.bool_]:
    """Which paths could still be plated from."""
    recipe = cloud.state.recipe
    found = np.ones(cloud.amounts["volume"].shape, dtype=bool)
    for metal in recipe.electrode.deposit if recipe is not None and recipe.electrode is not None else ():
        found &= cloud.concentration(metal) > SPENT * (cloud.state.species[metal].target or 0.0)
    return found


def _naturalise(cloud: Cloud, scales: Moved) -> None:
    """Parameters and gains in their own units, from the filter's scales."""
    assert cloud.state.recipe is not None
    for name, prior in cloud.state.recipe.parameters.items():
        cloud.natural[name] = natural_of(prior, scales[f"theta:{name}"])
    for name, x in scales.items():
        if name.startswith("gain:"):
            cloud.gains[name[5:]] = np.exp(x)


def _dragged_in(cloud: Cloud, scales: Moved, inflow: Inflow, use: Use) -> Moved:
    if inflow.dry:
        return {}
    if "drag_in" in scales and inflow.contents:
        litres = np.exp(scales["drag_in"]) * cloud.area_factor * use.area_dm2 / 1000
    elif inflow.ml_per_dm2 is not None:
        litres = inflow.ml_per_dm2 * cloud.area_factor * use.area_dm2 / 1000
    else:
        litres = film_l(cloud, use)
    return {"volume": litres} | {f"mass:{s}": c * litres for s, c in inflow.contents.items() if c > 0}


def _steps(state: TankState, usage: Usage, horizon_days: float) -> int:
    """So many that no step is long and none moves much of a metal."""
    wanted = max(FEWEST_STEPS, horizon_days / LONGEST_STEP_DAYS)
    electrode = state.recipe.electrode if state.recipe is not None else None
    if electrode is not None and electrode.deposit:
        least = min(state.gauss.value(f"mass:{m}") for m in electrode.deposit)
        wanted = max(wanted, 1.3 * usage.charge_ah_per_day * horizon_days / max(LARGEST_PART_OF_A_METAL * least, 0.5))
    return min(math.ceil(wanted), MOST_STEPS)


def _drawn_use(usage: Usage, dt: float, steps: int, paths: int, rng: np.random.Generator) -> tuple[Array, Array, Array]:
    """(runs, Ah, dm2) of every step and path, (steps, paths).

    Runs come as a gamma process: so many a day, scattered as their gaps were. How many a day and how large they are on the
    average is itself known only from so many runs, and habits change. Large loads are large in Ah and dm2 alike.
    """
    if usage.runs_per_week <= 0:
        return np.zeros((steps, paths)), np.zeros((steps, paths)), np.zeros((steps, paths))
    seen = max(usage.runs, 1)
    size_cv2 = max((_cv2(usage.charge_ah, usage.charge_sd_ah), _cv2(usage.area_dm2, usage.area_sd_dm2)))
    if usage.source == "plan":
        rate, size = _scattered(HABIT_CHANGES**2, paths, rng), np.ones(paths)
    else:
        rate = _scattered(usage.gap_cv2 / seen + HABIT_CHANGES**2, paths, rng)
        size = _scattered(size_cv2 / seen, paths, rng)
    expected = usage.runs_per_week / 7 * dt * rate
    cv2 = usage.gap_cv2
    runs = np.broadcast_to(expected, (steps, paths)) if cv2 < SMALLEST_CV2 else rng.gamma(expected / cv2, cv2, (steps, paths))
    runs = np.maximum(runs, 1e-9)
    deviation = np.zeros_like(runs)
    if size_cv2 >= SMALLEST_CV2:
        deviation = rng.gamma(runs / size_cv2, size_cv2) / runs - 1.0
    charge_part = math.sqrt(_cv2(usage.charge_ah, usage.charge_sd_ah) / max(size_cv2, 1e-12))
    area_part = math.sqrt(_cv2(usage.area_dm2, usage.area_sd_dm2) / max(size_cv2, 1e-12))
    charge = usage.charge_ah * size * runs * (1.0 + charge_part * deviation)
    area = usage.area_dm2 * size * runs * (1.0 + area_part * deviation)
    return np.asarray(runs), np.asarray(charge), np.asarray(area)


def _cv2(mean: float, sd: float) -> float:
    return (sd / mean) ** 2 if mean > 0 else 0.0


def _scattered(cv2: float, paths: int, rng: np.random.Generator) -> Array:
    """Factors around 1 of this squared coefficient of variation."""
    return rng.gamma(1.0 / cv2, cv2, paths) if cv2 >= SMALLEST_CV2 / 100 else np.ones(paths)
