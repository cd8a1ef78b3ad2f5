"""What a bath has and should have, as the plain numbers that a plan is searched in, and the exact re-check of a plan."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

from bathkeeper.advice.bringing import Means
from bathkeeper.catalogue.schema import Ratio, Recipe, Species

EXACT = 1e-9  # relative: an edge reached to the last digit is inside
OUT_WEIGHT, IN_WEIGHT = 1.0, 0.2  # of a deviation from target, for what is outside its window and for what is inside [practice]
LEAST_SIDE = 0.05  # of a window: what a side counts at least, so that a target on an edge does not rule all [practice]


@dataclass(frozen=True)
class Wish:
    """A window on a species (``whole`` empty, g/L or mL/L) or on a ratio of ``parts`` to ``whole``. ``weight``: how much its
    distance from the target counts; ``out``: it lies outside now."""

    name: str
    title: str
    unit: str
    parts: tuple[str, ...]
    whole: tuple[str, ...]
    low: float | None
    target: float | None
    high: float | None
    kind: str
    weight: float = IN_WEIGHT
    out: bool = False
    source: str = ""

    @property
    def is_ratio(self) -> bool:
        return bool(self.whole)

    def side(self, up: bool) -> float:
        """From target to edge: the unit that a deviation is counted in."""
        low, high = self.low, self.high
        goal = self.goal
        width = (high - low) if low is not None and high is not None else (high if high is not None else low) or goal or 1.0
        edge = high if up else low
        reach = abs(edge - goal) if edge is not None else max(abs(goal), width / 2)
        return max(reach, LEAST_SIDE * width, 1e-12)

    @property
    def goal(self) -> float:
        if self.target is not None:
            return self.target
        if self.low is not None and self.high is not None:
            return (self.low + self.high) / 2
        return self.low if self.low is not None else 0.0

    def value(self, volume_l: float, masses: Mapping[str, float]) -> float:
        """Of a bath; a ratio of nothing to nothing is 0."""
        top = sum(masses.get(s, 0.0) for s in self.parts)
        bottom = sum(masses.get(s, 0.0) for s in self.whole) if self.whole else volume_l
        return top / bottom if bottom > 0 else 0.0

    def standing(self, value: float) -> str:
        """``in``, ``low`` or ``high``."""
        if self.low is not None and value < self.low - EXACT * max(abs(self.low), 1e-12):
            return "low"
        return "high" if self.high is not None and value > self.high + EXACT * max(abs(self.high), 1e-12) else "in"

    def beyond(self, value: float) -> float:
        """How far outside, in units of its own side; 0 inside."""
        if self.low is not None and value < self.low:
            return (self.low - value) / self.side(up=False)
        return (value - self.high) / self.side(up=True) if self.high is not None and value > self.high else 0.0


@dataclass(frozen=True)
class Task:
    """A bath to be brought into its windows. Litres; ``masses`` in g (mL of additives). ``level_l``: where it should stand;
    ``full_l``: never above; ``most_out_l``: what may be taken out; ``grid_l``: what litres are told to."""

    volume_l: float
    masses: Mapping[str, float]
    level_l: float
    full_l: float
    most_out_l: float
    grid_l: float
    means: tuple[Means, ...]
    wishes: tuple[Wish, ...]
    to_target: bool = False


@dataclass(frozen=True)
class Mix:
    """A plan in bare numbers: litres out, then the amount of each of the task's means, in their units and order."""

    out_l: float
    amounts: tuple[float, ...]

    def used(self, task: Task) -> list[tuple[Means, float]]:
        return [(m, a) for m, a in zip(task.means, self.amounts, strict=True) if a > 0]


def mixed(task: Task, mix: Mix) -> tuple[float, dict[str, float]]:
    """(litres, masses) afterwards: what was taken out went first and took everything in proportion."""
    kept = 1.0 - mix.out_l / task.volume_l if task.volume_l > 0 else 1.0
    masses = {s: m * kept for s, m in task.masses.items()}
    volume = task.volume_l - mix.out_l
    for means, amount in zip(task.means, mix.amounts, strict=True):
        volume += means.litres * amount
        for s, per_unit in means.per_unit.items():
            masses[s] = masses.get(s, 0.0) + per_unit * amount
    return volume, masses


def faults(task: Task, mix: Mix) -> list[str]:
    """Everything that a plan breaks, by exact arithmetic; empty when it holds."""
    volume, masses = mixed(task, mix)
    found = [f"{w.name} {w.standing(v)}" for w in task.wishes if w.standing(v := w.value(volume, masses)) != "in"]
    found += [f"{s} below nothing" for s, m in masses.items() if m < -1e-9 and task.masses.get(s, 0.0) >= 0]
    found += [
        f"{m.name} beyond the shelf"
        for m, a in zip(task.means, mix.amounts, strict=True)
        if a < 0 or (m.most is not None and a > m.most + 1e-9)
    ]
    if volume > task.full_l + 1e-9:
        found.append("above full")
    if volume < task.level_l - 1.5 * task.grid_l:
        found.append("below the level")
    if mix.out_l < 0 or mix.out_l > task.most_out_l + 1e-9:
        found.append("too much taken out")
    return found


def wishes_of(
    recipe: Recipe, volume_l: float, masses: Mapping[str, float], *, to_target: bool, near: Collection[str] = ()
) -> tuple[Wish, ...]:
    """The windows of a recipe as wishes, each weighed by whether it is met at (volume, masses); those in ``near`` that run low
    count as if they were out already."""
    found = [_of_species(n, s) for n, s in recipe.species.items()] + [_of_ratio(n, r) for n, r in recipe.ratios.items()]
    some = [w for w in found if w.low is not None or w.high is not None or w.target is not None]
    return weighed(some, volume_l, masses, to_target=to_target, near=near)


def weighed(
    wishes: Sequence[Wish], volume_l: float, masses: Mapping[str, float], *, to_target: bool, near: Collection[str] = ()
) -> tuple[Wish, ...]:
    """The wishes with their weights: much for what is out of its window, little for the rest, none for dirt."""
    found = []
    for wish in wishes:
        value = wish.value(volume_l, masses)
        # what nears its high edge is no reason to throw bath away before it is there
        out = wish.standing(value) != "in" or (wish.name in near and not wish.is_ratio and value < wish.goal)
        weight = 0.0 if wish.kind == "contaminant" else OUT_WEIGHT if out or to_target else IN_WEIGHT
        if wish.is_ratio:
            weight = IN_WEIGHT  # met by its species; a target of its own would ask for doses that nobody needs
        found.append(replace(wish, out=out, weight=weight))
    return tuple(found)


def _of_species(name: str, s: Species) -> Wish:
    low = None if s.kind == "contaminant" else s.low
    source = f"{name} window: {s.status}{', ' + s.source if s.source else ''}"
    return Wish(name, s.title or name, s.unit, (name,), (), low, s.target, s.high, s.kind, source=source)


def _of_ratio(name: str, r: Ratio) -> Wish:
    source = f"{r.title or name} window: {r.status}{', ' + r.source if r.source else ''}"
    return Wish(name, r.title or name, "", r.parts, r.whole, r.low, r.target, r.high, "ratio", source=source)


def edges(wish: Wish) -> Sequence[tuple[bool, float]]:
    """(is the high one, value) of each edge that there is."""
    return [(up, v) for up, v in ((False, wish.low), (True, wish.high)) if v is not None]
