"""Why there is no plan: the few conditions that cannot be met together, and the compromise that breaks the windows least."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace

from bathkeeper.advice.linear import Row, best, possible, rows_of
from bathkeeper.advice.rounding import on_the_grid
from bathkeeper.advice.wanted import Mix, Task

NEARLY_ALL = 0.999


def conflict(task: Task) -> tuple[str, ...]:
    """Conditions that conflict, none of which could be left out: the rest can be met without any one of them.

    Where amounts as fine as one likes would do, it is the steps of scale and cylinder that conflict.
    """
    rows = rows_of(task)
    limit = next(r for r in rows if r.name.endswith("taken out"))
    rows = [r for r in rows if r is not limit]
    if possible(task, rows):
        coarse = {m.name: f"{m.name} in steps of {m.grid:g} {m.unit}" for m in task.means if m.kind == "reagent"}
        narrow = min((w for w in task.wishes if w.weight > 0), key=lambda w: w.side(True) / max(w.goal, 1e-9), default=None)
        return (*coarse.values(), *((f"{narrow.title} within its window",) if narrow is not None else ()))
    # windows go last, so that a conflict is told by what is wanted rather than by what merely bounds it; species after ratios
    ratios = {w.name for w in task.wishes if w.is_ratio}
    kept = sorted(rows, key=lambda r: (bool(r.wish), r.wish not in ratios, _distance(task, r)))
    for row in list(kept):
        rest = [r for r in kept if r is not row]
        if not possible(task, rest):
            kept = rest
    freed = replace(task, most_out_l=NEARLY_ALL * task.volume_l)
    asked_too_much = task.volume_l > 0 and possible(freed, kept)
    return (*(r.name for r in kept), *([limit.name] if asked_too_much else []))


def _distance(task: Task, row: Row) -> float:
    """How badly a window is broken now: what is broken most is kept longest."""
    for wish in task.wishes:
        if wish.name == row.wish:
            return wish.beyond(wish.value(task.volume_l, task.masses))
    return 0.0


def compromise(task: Task) -> Mix | None:
    """The plan that breaks the windows least in all, in sides of each window; shelf and tank are kept. None where the tank
    itself is too full to take anything."""
    exact = best(task, elastic=True)
    return on_the_grid(task, exact) if exact is not None else None


def open_limits(task: Task, volume_l: float, masses: dict[str, float]) -> list[str]:
    """The windows that are still broken, in words."""
    left = []
    for wish in task.wishes:
        value = wish.value(volume_l, masses)
        standing = wish.standing(value)
        if standing != "in":
            edge = wish.low if standing == "low" else wish.high
            left.append(f"{wish.title} stays {standing}: {value:.3g} against {edge:g} {wish.unit}".rstrip())
    return left


def unfed(task: Task, conflicting: Collection[str]) -> list[str]:
    """Species that have to rise and that nothing at hand brings."""
    names = []
    for wish in task.wishes:
        wanted = wish.low is not None and any(c.startswith(f"{wish.title} at least") for c in conflicting)
        if wanted and not wish.is_ratio and not any(m.per_unit.get(wish.name, 0.0) > 0 for m in task.means):
            names.append(wish.name)
    return names
