"""The plan as a linear programme: additions, water and what is taken out, each window an inequality (HiGHS, by scipy).

Every window is linear in what is put in, because low <= M/V <= high is M - low V >= 0 and M - high V <= 0, with mass M and
volume V linear both; so is a ratio. Rows are scaled to sides of their window, columns to the scale's step where amounts are
whole steps. scipy is imported when a plan is asked for and not before.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from importlib import import_module

import numpy as np
from numpy.typing import NDArray

from bathkeeper.advice.wanted import Mix, Task, Wish, edges

Vector = NDArray[np.float64]

# What a plan is weighed by, all in sides of a window [practice].
WASTE = 20.0  # the whole bath taken out
EDGE, NEAR_EDGE = 8.0, 0.8  # what lands in the outer fifth of its window is soon out again
REAGENT, REAGENT_TO_TARGET = 0.15, 0.02  # one more thing to weigh
STRANGE = 0.3  # on top, for what the bath is not made up with
ABOVE_LEVEL = 4.0  # the level raised by the whole bath
PRICE = 0.02  # 10 g/L of the dearest reagent on the shelf
USUAL_G_L = 10.0
VIOLATION = 1e4  # of a window, where a compromise is all that there is
MILP_SECONDS, MILP_GAP = 3.0, 0.05  # for plans in whole steps, sought only where rounding finds none


@dataclass(frozen=True)
class Row:
    """A condition on (out, amounts): ``low <= row . x <= high``; a conflict calls it ``name``; ``wish`` is what it is of."""

    name: str
    row: Vector
    low: float
    high: float
    wish: str = ""
    up: bool = False


def volume_row(task: Task) -> tuple[float, Vector]:
    """(constant, row) of the litres afterwards, over (out, amounts)."""
    return task.volume_l, np.array([-1.0, *(m.litres for m in task.means)])


def mass_row(task: Task, species: Sequence[str]) -> tuple[float, Vector]:
    """(constant, row) of the grams of some species together."""
    now = sum(task.masses.get(s, 0.0) for s in species)
    out = -now / task.volume_l if task.volume_l > 0 else 0.0
    return now, np.array([out, *(sum(m.per_unit.get(s, 0.0) for s in species) for m in task.means)])


def scale_of(task: Task, wish: Wish) -> float:
    """What a wish's numbers are divided by before its side: litres, or the grams that the ratio is of."""
    if not wish.is_ratio:
        return max(task.level_l, 1e-9)
    goals = {w.name: w.goal for w in task.wishes if not w.is_ratio}
    nominal = sum(goals.get(s, 0.0) for s in wish.whole) * task.level_l
    return max(nominal, sum(task.masses.get(s, 0.0) for s in wish.whole), 1e-9)


def gap_row(task: Task, wish: Wish, level: float) -> tuple[float, Vector]:
    """(constant, row) of value - level, as mass: above 0 where the wish lies above."""
    top, top_row = mass_row(task, wish.parts)
    bottom, bottom_row = mass_row(task, wish.whole) if wish.is_ratio else volume_row(task)
    return top - level * bottom, top_row - level * bottom_row


def rows_of(task: Task, tighten: float = 0.0, slack_l: float = 0.0) -> list[Row]:
    """Every condition that a plan has to meet. ``tighten``: sides of a window to stay inside by; ``slack_l``: litres that the
    level may be missed by."""
    rows = []
    for wish in task.wishes:
        for up, edge in edges(wish):
            constant, row = gap_row(task, wish, edge)
            scale = scale_of(task, wish) * wish.side(up)
            constant, row = constant / scale, row / scale
            words = f"{wish.title} {'at most' if up else 'at least'} {edge:g} {wish.unit}".strip()
            if up:
                rows.append(Row(words, row, -np.inf, -constant - tighten, wish.name, True))
            else:
                rows.append(Row(words, row, -constant + tighten, np.inf, wish.name))
    volume, row = volume_row(task)
    rows.append(Row(f"the level of {task.level_l:g} L", row, task.level_l - slack_l - volume, np.inf))
    rows.append(Row(f"no more than {task.full_l:g} L in the tank", row, -np.inf, task.full_l - volume))
    water = np.array([-1.0, *(1.0 if m.kind != "reagent" else 0.0 for m in task.means)])
    rows.append(Row(f"water up to the level of {task.level_l:g} L only", water, -np.inf, task.level_l - volume))
    for j, means in enumerate(task.means):
        if means.most is not None:
            row = np.zeros(len(task.means) + 1)
            row[j + 1] = 1.0
            what = f"{means.most:g} {means.unit} of {means.name}"
            rows.append(Row(f"{what} on the shelf" if means.kind == "reagent" else f"{what} there", row, -np.inf, means.most))
    row = np.zeros(len(task.means) + 1)
    row[0] = 1.0
    share = f"{task.most_out_l / task.volume_l:.0%} of the bath" if task.volume_l > 0 else "nothing"
    rows.append(Row(f"no more than {share} taken out", row, -np.inf, task.most_out_l))
    return rows


def best(
    task: Task, *, whole_steps: bool = False, roundable: bool = False, tighten: float = 0.0, elastic: bool = False
) -> Mix | None:
    """The best plan by the weights above; None where none meets every condition.

    ``whole_steps``: amounts in steps of scale, cylinder and bucket. ``roundable``: so far inside every window that rounding
    cannot break it. ``elastic``: windows may be broken at a price, so that
    there always is one (shelf and tank are never broken).
    """
    optimize = import_module("scipy.optimize")

    n = len(task.means) + 1
    free = task.full_l < task.volume_l - task.most_out_l
    if free:
        return None
    wishes = [w for w in task.wishes if w.weight > 0]
    used = [j for j, m in enumerate(task.means) if m.kind == "reagent"]
    d0, p0 = n, n + len(wishes)
    y0 = p0 + len(wishes)
    e0 = y0 + len(used)
    rows = rows_of(task, tighten, 1.25 * task.grid_l if whole_steps else 0.0)
    if roundable:
        rows = [_inside(task, r) for r in rows]
    soft = [r for r in rows if r.wish] if elastic else []
    s0 = e0 + 1
    size = s0 + len(soft)
    A: list[Vector] = []
    low: list[float] = []
    high: list[float] = []

    def put(row: Vector, least: float, most: float, **extra: float) -> None:
        full = np.zeros(size)
        full[:n] = row
        for place, value in extra.items():
            full[int(place[1:])] = value
        A.append(full)
        low.append(least)
        high.append(most)

    k = 0
    for r in rows:
        if elastic and r.wish:
            put(r.row, r.low, r.high, **{f"v{s0 + k}": -1.0 if r.up else 1.0})
            k += 1
        else:
            put(r.row, r.low, r.high)
    for i, wish in enumerate(wishes):
        constant, row = gap_row(task, wish, wish.goal)
        for up in (True, False):
            scale = scale_of(task, wish) * wish.side(up) * (1.0 if up else -1.0)
            put(row / scale, -np.inf, -constant / scale, **{f"v{d0 + i}": -1.0})
            near = wish.out or task.to_target or not up
            if near and (wish.out or not wish.is_ratio):
                put(row / scale, -np.inf, NEAR_EDGE - constant / scale, **{f"v{p0 + i}": -1.0})
    tops = [_top(task, j) for j in range(len(task.means))]
    for i, j in enumerate(used):
        row = np.zeros(n)
        row[j + 1] = 1.0
        put(row, -np.inf, 0.0, **{f"v{y0 + i}": -tops[j]})
    volume, row = volume_row(task)
    put(row, -np.inf, task.level_l - volume, **{f"v{e0}": -1.0})

    cost = np.zeros(size)
    cost[0] = WASTE / max(task.volume_l, 1e-9)
    for j, price in enumerate(_prices(task)):
        cost[j + 1] = price
    for i, wish in enumerate(wishes):
        cost[d0 + i], cost[p0 + i] = wish.weight, EDGE
    for i, j in enumerate(used):
        cost[y0 + i] = (REAGENT_TO_TARGET if task.to_target else REAGENT) + (0.0 if task.means[j].native else STRANGE)
    cost[e0] = ABOVE_LEVEL / max(task.level_l, 1e-9)
    cost[s0:] = VIOLATION
    upper = np.full(size, np.inf)
    upper[0] = task.most_out_l
    upper[1:n] = tops
    upper[y0:e0] = 1.0
    whole = np.zeros(size)
    whole[y0:e0] = 0 if whole_steps else 1
    columns = np.ones(size)
    if whole_steps:
        columns[:n] = [task.grid_l, *(m.grid for m in task.means)]
        whole[:n] = 1
        upper[:n] = np.floor(upper[:n] / columns[:n] + 1e-9)
    found = optimize.milp(
        cost * columns,
        constraints=optimize.LinearConstraint(np.array(A) * columns, np.array(low), np.array(high)),
        integrality=whole,
        bounds=optimize.Bounds(np.zeros(size), upper),
        options={"time_limit": MILP_SECONDS, "mip_rel_gap": MILP_GAP if whole_steps else 1e-9},
    )
    if found.x is None:
        return None
    x = found.x * columns
    if whole_steps:
        x[:n] = np.round(found.x[:n]) * columns[:n]
    x[:n] = np.clip(x[:n], 0.0, None)
    return Mix(float(x[0]), tuple(float(a) if a > 1e-9 else 0.0 for a in x[1:n]))


def _inside(task: Task, r: Row) -> Row:
    """A window's row drawn in by as much as rounding may move it: half a step of what is weighed, two of litres."""
    if not r.wish:
        return r
    steps = np.array([2 * task.grid_l, *(m.grid * (0.5 if m.kind == "reagent" else 2.0) for m in task.means)])
    by = float(np.abs(r.row) @ steps)
    return replace(r, low=r.low + by, high=r.high - by)


def possible(task: Task, rows: Sequence[Row]) -> bool:
    """Whether some plan meets these conditions, amounts as fine as one likes."""
    optimize = import_module("scipy.optimize")

    n = len(task.means) + 1
    A, b = [], []
    for r in rows:
        if np.isfinite(r.high):
            A.append(r.row)
            b.append(r.high)
        if np.isfinite(r.low):
            A.append(-r.row)
            b.append(-r.low)
    if not A:
        return True
    return bool(
        optimize.linprog(
            np.zeros(n),
            A_ub=np.array(A),
            b_ub=np.array(b),
            bounds=[(0, task.most_out_l), *[(0, None)] * (n - 1)],
            method="highs",
        ).status
        == 0
    )


def _top(task: Task, j: int) -> float:
    """More than could ever be of use of a means, so that its step of being used at all has a bound."""
    means = task.means[j]
    room = task.full_l
    if means.kind != "reagent":
        return min(room, means.most) if means.most is not None else room
    sums = sum(max(m.per_unit.get(w.name, 0.0), 0.0) > 0 for m in task.means for w in task.wishes if not w.is_ratio)
    tops = [room / means.litres if means.litres > 0 else np.inf]
    for wish in task.wishes:
        per = means.per_unit.get(wish.name, 0.0)
        if not wish.is_ratio and per > 0:
            ceiling = wish.high if wish.high is not None else 10 * max(wish.goal, wish.low or 0.0, 1.0)
            tops.append(4 * (1 + (sums > 0)) * ceiling * room / per)
    top = min(tops)
    if not np.isfinite(top):
        top = 1000.0 * room
    return float(min(top, means.most)) if means.most is not None else float(top)


def _prices(task: Task) -> list[float]:
    """A small weight on every unit put in: by price where it is known, the middle of the known ones where it is not."""
    known = sorted(m.price for m in task.means if m.kind == "reagent" and m.price)
    dearest, middle = (known[-1], known[len(known) // 2]) if known else (1.0, 1.0)
    usual = USUAL_G_L * max(task.level_l, 1e-9)
    return [
        PRICE * ((m.price if m.price is not None else middle) / dearest) / usual if m.kind == "reagent" else 0.0
        for m in task.means
    ]
