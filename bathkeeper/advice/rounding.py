"""From exact amounts to what scale, cylinder and bucket can tell: round, re-check exactly, mend, or search anew."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator

from bathkeeper.advice.linear import best
from bathkeeper.advice.wanted import Mix, Task, faults, mixed

REACH = 2  # steps of the scale that a neighbour may lie away
MOST_NEIGHBOURS = 4000
TIGHTER = (1e-6, 1e-5, 1e-4)  # sides of a window, for what the solver's own tolerance leaves open


def rounded(task: Task, exact: Mix) -> Mix | None:
    """A plan in whole steps that breaks nothing, near to the exact one; None where no plan in whole steps holds."""
    nearest = on_the_grid(task, exact)
    if not faults(task, nearest):
        return nearest
    for neighbour in itertools.islice(_neighbours(task, exact), MOST_NEIGHBOURS):
        if not faults(task, neighbour):
            return neighbour
    roomy = best(task, roundable=True)
    if roomy is not None and not faults(task, within := on_the_grid(task, roomy)):
        return within
    for tighten in (0.0, *TIGHTER):
        found = best(task, whole_steps=True, tighten=tighten)
        if found is None:
            return None
        if not faults(task, found):
            return found
    return None


def on_the_grid(task: Task, exact: Mix) -> Mix:
    """Every amount to its nearest step, what is taken out up to the next one; then water so that the level is not passed."""
    amounts = [_steps(a / m.grid, m.most, m.grid) * m.grid for m, a in zip(task.means, exact.amounts, strict=True)]
    out = math.ceil(exact.out_l / task.grid_l - 1e-6) * task.grid_l
    return _watered(task, min(out, _floor(task.most_out_l, task.grid_l)), amounts)


def _watered(task: Task, out_l: float, amounts: list[float]) -> Mix:
    """With plain water (the first means) up to the level, never above."""
    amounts[0] = 0.0
    volume, _ = mixed(task, Mix(out_l, tuple(amounts)))
    amounts[0] = max(_floor(task.level_l - volume, task.grid_l), 0.0)
    return Mix(_clean(out_l), tuple(_clean(a) for a in amounts))


def _neighbours(task: Task, exact: Mix) -> Iterator[Mix]:
    """Plans a few steps away in what is used, nearest first."""
    used = [j for j, a in enumerate(exact.amounts) if a > 0 and j > 0]
    reach = REACH if len(used) <= 4 else 1
    steps = sorted(itertools.product(range(-reach, reach + 1), repeat=min(len(used), 6) + 1), key=lambda s: sum(map(abs, s)))
    base = on_the_grid(task, exact)
    for step in steps:
        amounts = list(base.amounts)
        for j, k in zip(used, step[1:], strict=False):
            means = task.means[j]
            amounts[j] = _steps(amounts[j] / means.grid + k, means.most, means.grid) * means.grid
        out = base.out_l + step[0] * task.grid_l if exact.out_l > 0 else base.out_l
        if 0 <= out <= task.most_out_l:
            yield _watered(task, out, amounts)


def _steps(number: float, most: float | None, grid: float) -> int:
    """The nearest whole number of steps, not below none nor beyond the shelf."""
    steps = max(round(number), 0)
    return steps if most is None else min(steps, math.floor(most / grid + 1e-9))


def _floor(amount: float, grid: float) -> float:
    return math.floor(amount / grid + 1e-6) * grid


def _clean(amount: float) -> float:
    """Without the dust that steps of 0.01 leave behind."""
    return round(amount, 9)
