"""The dosing plan: the smallest set of weighed additions that brings a bath back into all its windows, or why there is none.

A plan that is offered (``feasible``) lands every species and every ratio in its window after rounding, by the estimate's means,
from what is on the shelf, without the tank ever standing above full. How: advice/linear.py; in which order: advice/ordering.py.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime

from bathkeeper.advice.bringing import DragOutRinse, Means, ShelfItem, litre_grid, means_of
from bathkeeper.advice.conflicts import compromise, conflict, open_limits, unfed
from bathkeeper.advice.doubting import Doubt, doubts_of, measured_first
from bathkeeper.advice.feeds import salts_of
from bathkeeper.advice.instead import alternatives
from bathkeeper.advice.linear import best
from bathkeeper.advice.ordering import SALT_ROOM_L_PER_G, WASTE, Setting, main_species, ordered
from bathkeeper.advice.rounding import rounded
from bathkeeper.advice.steps import Advice, Advised, Purpose, numbered
from bathkeeper.advice.wanted import Mix, Task, Wish, mixed, wishes_of
from bathkeeper.catalogue.loader import Catalogue
from bathkeeper.catalogue.schema import Reagent, Recipe
from bathkeeper.estimate.dual import Dual
from bathkeeper.estimate.state import Z95, TankState
from bathkeeper.findings import Estimate

__all__ = ["After", "Amount", "DosingPlan", "DragOutRinse", "ShelfItem", "dose", "make_up_plan", "refresh"]

LEVEL_SLACK = 0.02  # of the working level: a mark is not read closer [practice]
RIM = 0.02  # above the mark, where nobody said how much the tank holds when full [practice]
MOST_OUT = 0.8  # of the bath; beyond it is a new make-up and no correction [practice]
REPLACE_FROM = 0.5  # of the bath taken out, from which replacing it is named [practice]
FRESH_ENOUGH = 0.1  # sides of its window from target, within which refreshing does nothing [practice]


@dataclass(frozen=True)
class Amount:
    """So much of a means in its unit (g, mL; L of water, of a drag-out rinse)."""

    amount: float
    unit: str
    lot: str | None = None


@dataclass(frozen=True)
class After:
    """A species or ratio before and after, with its 95 % interval, its window, and where the mean will stand."""

    name: str
    title: str
    before: Estimate
    after: Estimate
    low: float | None
    target: float | None
    high: float | None
    state: str


@dataclass(frozen=True)
class DosingPlan:
    """A plan, or why there is none. ``amounts`` by reagent, ``water``, or the rinse tank's name; ``exact`` the same before
    rounding. ``conflict`` names what cannot be met together; ``nearest`` breaks the windows least and says which stay open
    (``still_open``). ``alternatives``: other ways for what is too high. ``cost`` in the workshop's currency, None where no
    price is known."""

    tank: str
    purpose: Purpose
    feasible: bool
    nothing_needed: bool
    advice: Advice
    amounts: Mapping[str, Amount]
    exact: Mapping[str, float]
    after: Mapping[str, After]
    waste_l: float
    level_l: float
    cost: float | None
    conflict: tuple[str, ...] = ()
    still_open: tuple[str, ...] = ()
    nearest: DosingPlan | None = None
    alternatives: tuple[Advice, ...] = field(default=())
    doubts: tuple[Doubt, ...] = field(default=())

    @property
    def steps(self) -> tuple[Advised, ...]:
        return self.advice.steps


def dose(
    state: TankState, catalogue: Catalogue, shelf: Sequence[ShelfItem], *, scale_g: float = 1.0,
    rinse: DragOutRinse | None = None, at: datetime, room_l: float | None = None, near: Collection[str] = (),
) -> DosingPlan:  # fmt: skip
    """What to put into a living bath, and what to take out, to have every species and ratio in its window.

    ``scale_g``: what solids are weighed to. ``rinse``: a drag-out rinse that may stand in for water. ``at``: the moment that
    the state speaks of. ``room_l``: litres free above the present level, where it is known better than from the tank's full
    volume. ``near``: species that will leave their window soon, to be brought back with the others (low), or told how to be
    kept in (high).

    Raises:
        ValueError: an empty tank, one without a recipe or without windows, a scale or room that cannot be.
    """
    return _planned(state, catalogue, shelf, scale_g, rinse, room_l, "dose", near)


def refresh(
    state: TankState, catalogue: Catalogue, shelf: Sequence[ShelfItem], *, scale_g: float = 1.0,
    rinse: DragOutRinse | None = None, at: datetime, room_l: float | None = None,
) -> DosingPlan:  # fmt: skip
    """What brings a pickle, degreaser, acid dip or passivate back to its strength when fresh; what dirt stays is told.

    Arguments and errors as for :func:`dose`.
    """
    return _planned(state, catalogue, shelf, scale_g, rinse, room_l, "refresh")


def make_up_plan(
    recipe: Recipe, volume_l: float, catalogue: Catalogue, shelf: Sequence[ShelfItem], scale_g: float = 1.0, *, tank: str = ""
) -> DosingPlan:
    """How to fill a tank fresh: every species at its target as nearly as the shelf allows.

    Raises:
        ValueError: a recipe without contents, a volume or scale that cannot be.
    """
    _checked(scale_g, volume_l, "volume")
    if not any(s.target or s.low for s in recipe.species.values()):
        raise ValueError(f"{recipe.title} holds nothing that is put in: fill it with water")
    means, left_out = means_of(recipe, recipe.species, catalogue, shelf, scale_g=scale_g, level_l=volume_l, rinse=None)
    masses = dict.fromkeys(recipe.species, 0.0)
    wishes = wishes_of(recipe, 0.0, masses, to_target=True)
    task = Task(0.0, masses, volume_l, volume_l, 0.0, litre_grid(volume_l), tuple(means), wishes, to_target=True)
    scene = _Scene(tank or recipe.title, recipe, catalogue, task, "make up", left_out, None)
    return scene.plan()


def _planned(
    state: TankState, catalogue: Catalogue, shelf: Sequence[ShelfItem], scale_g: float, rinse: DragOutRinse | None,
    room_l: float | None, purpose: Purpose, near: Collection[str] = (),
) -> DosingPlan:  # fmt: skip
    recipe = state.recipe
    if recipe is None:
        raise ValueError(f"{state.name} has no recipe, so nothing says what it should hold: name one")
    if not state.alive or state.volume_l <= 1e-6:
        raise ValueError(f"{state.name} {state.why_empty}: a make-up plan fills it")
    if not recipe.species:
        raise ValueError(f"{state.name} ({recipe.title}) has no contents with windows: nothing to dose")
    _checked(scale_g, state.volume_l, "volume")
    if room_l is not None and not (math.isfinite(room_l) and room_l >= 0):
        raise ValueError(f"the room left in the tank is 0 L or more, got {room_l:g}")
    volume = state.volume_l
    working = state.working_volume_l or volume
    full = state.entry.full_volume_l or max(working, volume) * (1 + RIM)
    if room_l is not None:
        full = volume + room_l
    level = min(working if volume <= working else volume, full)
    masses = {s: max(state.gauss.value(f"mass:{s}"), 0.0) for s in state.species}
    to_target = purpose == "refresh"
    means, left_out = means_of(recipe, state.species, catalogue, shelf, scale_g=scale_g, level_l=level, rinse=rinse)
    task = Task(
        volume, masses, level, full, MOST_OUT * volume, litre_grid(level), tuple(means),
        wishes_of(recipe, max(volume, level), masses, to_target=to_target, near=near),
        to_target=to_target,
    )  # fmt: skip
    return _Scene(state.name, recipe, catalogue, task, purpose, left_out, state, frozenset(near)).plan()


def _checked(scale_g: float, volume_l: float, what: str) -> None:
    if not (math.isfinite(scale_g) and 0 < scale_g <= 1000):
        raise ValueError(f"a scale weighs to more than 0 g and at most 1000 g, such as 1 or 0.1; got {scale_g:g}")
    if not (math.isfinite(volume_l) and volume_l > 0):
        raise ValueError(f"the {what} has to be above 0 L, got {volume_l:g}")


@dataclass(frozen=True)
class _Scene:
    """Everything that the plan of one tank is told from."""

    tank: str
    recipe: Recipe
    catalogue: Catalogue
    task: Task
    purpose: Purpose
    left_out: Sequence[tuple[Reagent | None, str]]
    state: TankState | None
    near: frozenset[str] = frozenset()

    def plan(self) -> DosingPlan:
        task = self.task
        if self._nothing_needed():
            nothing = Mix(0.0, (0.0,) * len(task.means))
            return self._told(nothing, nothing, feasible=True, nothing_needed=True)
        exact = best(task)
        mix = rounded(task, exact) if exact is not None else None
        if exact is not None and mix is not None:
            return self._told(mix, exact, feasible=True)
        return self._refused()

    def _nothing_needed(self) -> bool:
        task = self.task
        if task.volume_l < task.level_l * (1 - LEVEL_SLACK) or task.volume_l > task.full_l:
            return False
        if any(w.out or w.standing(w.value(task.volume_l, task.masses)) != "in" for w in task.wishes):
            return False
        if self.purpose == "dose":
            return True
        values = [(w, w.value(task.volume_l, task.masses)) for w in task.wishes if w.weight >= 1 and not w.is_ratio]
        return all(abs(v - w.goal) <= FRESH_ENOUGH * w.side(v > w.goal) for w, v in values)

    def _refused(self) -> DosingPlan:
        task = self.task
        conflicting = conflict(task)
        lines = []
        for name in unfed(task, conflicting):
            conflicting = (*conflicting, f"nothing on the shelf brings {name}")
            salts = [r.title or r.name for r in salts_of(name, self.recipe, self.catalogue)[:3]]
            lines += [f"{name}: {', '.join(salts)} would bring it"] if salts else []
        lines.insert(0, f"no plan: these conflict: {'; '.join(conflicting)}")
        lines += [text for reagent, text in self.left_out if reagent is not None and self._would_help(reagent)]
        if any("taken out" in c for c in conflicting):
            lines.append(f"more than {MOST_OUT:.0%} would have to go: replace it with a fresh make-up")
        mix = compromise(task)
        nearest = None
        if mix is not None:
            volume, masses = mixed(task, mix)
            still_open = tuple(open_limits(task, volume, masses))
            nearest = self._told(mix, mix, feasible=False, conflict=conflicting, still_open=still_open)
        nothing = Mix(0.0, (0.0,) * len(task.means))
        plan = self._told(nothing, nothing, feasible=False, conflict=conflicting, lines=lines)
        return replace(plan, nearest=nearest, advice=replace(plan.advice, steps=()))

    def _told(
        self, mix: Mix, exact: Mix, *, feasible: bool, nothing_needed: bool = False, conflict: tuple[str, ...] = (),
        still_open: tuple[str, ...] = (), lines: Sequence[str] = (),
    ) -> DosingPlan:  # fmt: skip
        task, state = self.task, self.state
        now = {w.name: self._estimate(w, None) for w in task.wishes}
        doubts = doubts_of(task, mix, now) if state is not None else []
        acting = mix.out_l > 0 or any(a > 0 for a in mix.amounts)
        steps: list[Advised] = []
        if acting:
            steps = [*measured_first(doubts), *ordered(task, mix, self._setting(mix, doubts))]
        volume, _ = mixed(task, mix)
        instead = alternatives(state, self.catalogue, task, mix.out_l, self.near) if state is not None else []
        told = [*lines, *self._lines(mix, nothing_needed, acting, still_open)]
        told += [f"or: {line}" for a in instead for line in a.lines]
        return DosingPlan(
            tank=self.tank,
            purpose=self.purpose,
            feasible=feasible,
            nothing_needed=nothing_needed,
            advice=Advice(self.tank, self.purpose, numbered(steps), tuple(told), tuple(d.line for d in doubts if d.line)),
            amounts={m.name: Amount(round(a, 9), m.unit, m.lot) for m, a in mix.used(task)},
            exact={m.name: a for m, a in exact.used(task)} | ({"out": exact.out_l} if exact.out_l > 0 else {}),
            after={w.name: self._after(w, mix, now[w.name]) for w in task.wishes},
            waste_l=mix.out_l,
            level_l=volume,
            cost=_cost(task, mix),
            conflict=conflict,
            still_open=still_open,
            alternatives=tuple(instead),
            doubts=tuple(doubts),
        )

    def _setting(self, mix: Mix, doubts: Sequence[Doubt]) -> Setting:
        state = self.state
        entries: list[str] = []
        temperature = None
        if state is not None:
            entries = [s.entry for n, s in state.seen.items() if n in state.species and not s.doubtful]
            entries += [state.make_up_entry] if state.make_up_entry else []
            seen = state.seen.get("temperature")
            temperature = seen.value if seen is not None and not seen.doubtful else None
        wide = frozenset(d.wish.name for d in doubts)
        return Setting(
            self.recipe, self.purpose, temperature, wide, lambda m, a: self._why(mix, m, a), tuple(dict.fromkeys(entries))
        )

    def _why(self, mix: Mix, means: Means, amount: float) -> str:
        """What a means is for: its main species from and to, and what else comes with it."""
        if self.purpose == "make up":
            own = next((s.why for s in self.recipe.make_up if s.reagent == means.name), "")
            if own:
                return own
        task = self.task
        main = main_species(task, means)
        if main is None:
            return means.name
        volume, masses = mixed(task, mix)
        before, after = main.value(*_diluted(task, mix)), main.value(volume, masses)
        words = f"{main.title} {before:.3g} to {after:.3g} {main.unit}"
        other = [
            f"{w.title} {means.per_unit[w.name] * amount / volume:+.2g} {w.unit}"
            for w in task.wishes
            if w.name != main.name and w.name in means.per_unit and means.per_unit[w.name]
        ]
        return words + (f" (with it {', '.join(other)})" if other else "")

    def _lines(self, mix: Mix, nothing_needed: bool, acting: bool, still_open: Sequence[str]) -> list[str]:
        task = self.task
        lines = [f"nearest compromise; {o}" for o in still_open]
        if nothing_needed:
            lines.append("every species and ratio is in its window by the estimate: nothing to dose")
        if not acting:
            return lines
        if mix.out_l > 0:
            share = mix.out_l / task.volume_l
            lines.append(f"{mix.out_l:.4g} L ({share:.1%}) go to waste, and everything in them. {WASTE}")
            if share >= REPLACE_FROM:
                lines.append("that is most of the bath: a fresh make-up may be the better use of it")
        free = [m.name for m, _ in mix.used(task) if m.kind == "reagent" and m.most is None]
        if free:
            lines.append(f"taken as enough, because nobody counted it: {', '.join(free)}")
        unpriced = [m.name for m, _ in mix.used(task) if m.kind == "reagent" and m.price is None]
        if unpriced and _cost(task, mix) is not None:
            lines.append(f"cost without {', '.join(unpriced)}: no price on record")
        solids = sum(a for m, a in mix.used(task) if m.unit == "g")
        if solids * SALT_ROOM_L_PER_G > LEVEL_SLACK * task.level_l and self.purpose != "make up":
            lines.append(f"the salts take about {solids * SALT_ROOM_L_PER_G:.1g} L of room: see that it is free")
        return [*lines, *(text for reagent, text in self.left_out if reagent is None)]

    def _would_help(self, reagent: Reagent) -> bool:
        return any(w.out and w.name in reagent.brings for w in self.task.wishes)

    def _after(self, wish: Wish, mix: Mix, before: Estimate) -> After:
        after = self._estimate(wish, mix)
        return After(wish.name, wish.title, before, after, wish.low, wish.target, wish.high, wish.standing(after.value))

    def _estimate(self, wish: Wish, mix: Mix | None) -> Estimate:
        """Of a wish now (no mix) or afterwards, the state's own uncertainty carried on and that of what is put in on top."""
        task, state = self.task, self.state
        if mix is None:
            mix = Mix(0.0, (0.0,) * len(task.means))
        volume, masses = mixed(task, mix)
        value = wish.value(volume, masses)
        variance = _variance_put_in(task, wish, mix, self.catalogue, volume, masses)
        if state is not None:
            variance += _variance_there(state, task, wish, mix)
        half = Z95 * math.sqrt(max(variance, 0.0))
        return Estimate(value, max(value - half, 0.0), value + half, wish.unit)


def _variance_there(state: TankState, task: Task, wish: Wish, mix: Mix) -> float:
    """What the estimate of the present contents leaves open of a wish afterwards."""
    g = state.gauss
    volume_now = g.dual("volume")
    kept: Dual = 1.0 - mix.out_l / volume_now if mix.out_l > 0 else volume_now * 0.0 + 1.0

    def mass(names: Sequence[str]) -> Dual:
        total: Dual = volume_now * 0.0
        for s in names:
            put_in = sum(m.per_unit.get(s, 0.0) * a for m, a in zip(task.means, mix.amounts, strict=True))
            total = total + g.dual(f"mass:{s}") * kept + put_in
        return total

    added = sum(m.litres * a for m, a in zip(task.means, mix.amounts, strict=True))
    bottom = mass(wish.whole) if wish.is_ratio else volume_now - mix.out_l + added
    if bottom.value <= 1e-9:
        return 0.0
    return g.variance_of(mass(wish.parts) / bottom)


def _variance_put_in(
    task: Task, wish: Wish, mix: Mix, catalogue: Catalogue, volume_l: float, masses: Mapping[str, float]
) -> float:
    """What scale, cylinder and purity leave open: independent from reagent to reagent."""
    weighed, measured = catalogue.spreads["amount weighed"], catalogue.spreads["amount measured"]
    purity = catalogue.spreads["amount purity"]
    bottom = sum(masses.get(s, 0.0) for s in wish.whole) if wish.is_ratio else volume_l
    if bottom <= 0:
        return 0.0
    value = wish.value(volume_l, masses)
    total = 0.0
    for means, amount in mix.used(task):
        if means.kind != "reagent":
            continue
        how = weighed if means.unit == "g" else measured
        relative = (how.relative + purity.relative + how.absolute / max(amount, how.absolute)) / Z95
        top = sum(means.per_unit.get(s, 0.0) for s in wish.parts)
        under = sum(means.per_unit.get(s, 0.0) for s in wish.whole) if wish.is_ratio else 0.0
        total += (relative * amount * (top - value * under) / bottom) ** 2
    return total


def _diluted(task: Task, mix: Mix) -> tuple[float, dict[str, float]]:
    """The bath when so much is taken out and the level made up with water, nothing dosed yet."""
    amounts = tuple(a if m.kind != "reagent" else 0.0 for m, a in zip(task.means, mix.amounts, strict=True))
    volume, masses = mixed(task, Mix(mix.out_l, amounts))
    return max(volume, task.level_l), masses


def _cost(task: Task, mix: Mix) -> float | None:
    priced = [m.price * a for m, a in mix.used(task) if m.kind == "reagent" and m.price is not None]
    return sum(priced) if priced else None
