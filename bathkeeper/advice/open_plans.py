"""How far accepted plans are: which steps are done, by which entries, what was really weighed, what was given up or replaced.

Nothing of it is stored: an entry that names a plan and a step does that step, and a plan entry that names another in
``dropped`` gives it up. A make-up that is logged after a make-up plan does the steps whose reagents it holds.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Literal

from bathkeeper.entries import (
    Addition,
    AnyEntry,
    Item,
    MakeUp,
    Plan,
    PlanStep,
    Reading,
    Remark,
    Removal,
    Treatment,
    Unknown,
)
from bathkeeper.estimate.solutions import addition, removal
from bathkeeper.estimate.world import World
from bathkeeper.findings import Because

State = Literal["open", "done", "given up", "superseded"]
LEAST_ID = 6  # signs of an id that are enough, from its beginning or its end
DOERS = (Addition, Removal, Reading, Treatment, Remark)


@dataclass(frozen=True)
class StepState:
    """A step and what did it. ``really`` is the amount of all that did it, in the step's unit; None where no amount belongs to
    it or none is told."""

    step: PlanStep
    done_by: tuple[str, ...] = ()
    done_at: datetime | None = None
    really: float | None = None

    @property
    def done(self) -> bool:
        return bool(self.done_by)

    @property
    def as_planned(self) -> bool:
        """Whether what was really put in or taken out is the plan's amount, within what shows in three figures."""
        planned = self.step.amount
        return self.really is None or planned is None or abs(self.really - planned) <= 0.005 * planned


@dataclass(frozen=True)
class OpenPlan:
    """An accepted plan and how far it is. ``ended_by``: the entry that gave it up or took its place."""

    entry: Plan
    steps: tuple[StepState, ...]
    state: State
    ended_by: str | None = None
    ended_at: datetime | None = None

    @property
    def id(self) -> str:
        return self.entry.id

    @property
    def tank(self) -> str:
        return self.entry.tank

    @property
    def purpose(self) -> str:
        return self.entry.purpose

    @property
    def is_open(self) -> bool:
        return self.state == "open"

    @property
    def done(self) -> int:
        """How many steps are done."""
        return sum(s.done for s in self.steps)

    @property
    def next(self) -> StepState | None:
        """The first step that is not done; None when the plan is finished or ended."""
        return next((s for s in self.steps if not s.done), None) if self.is_open else None

    @property
    def left(self) -> tuple[StepState, ...]:
        """The steps that are not done yet."""
        return tuple(s for s in self.steps if not s.done)

    @property
    def because(self) -> Because:
        """What the state of the plan rests on."""
        done = [i for s in self.steps for i in s.done_by]
        return Because(
            text=f"accepted on {self.entry.at:%d %b %Y}; a step is done when an entry names the plan and the step",
            entries=tuple(dict.fromkeys((self.id, *done, *([self.ended_by] if self.ended_by else [])))),
        )


@dataclass
class _Account:
    """A plan while the entries are read."""

    entry: Plan
    done: dict[int, list[tuple[str, datetime, float | None]]] = field(default_factory=dict)
    ended: tuple[State, str, datetime] | None = None

    def does(self, number: int, entry: AnyEntry, amount: float | None) -> None:
        if 1 <= number <= len(self.entry.steps):
            self.done.setdefault(number, []).append((entry.id, entry.at, amount))

    def closed(self) -> OpenPlan:
        steps = []
        for step in self.entry.steps:
            did = self.done.get(step.step, [])
            amounts = [a for _, _, a in did if a is not None]
            steps.append(
                StepState(
                    step,
                    tuple(i for i, _, _ in did),
                    max((at for _, at, _ in did), default=None),
                    sum(amounts) if amounts else None,
                )
            )
        state: State = "done" if all(s.done for s in steps) else "open"
        if self.ended is not None and state == "open":
            return OpenPlan(self.entry, tuple(steps), *self.ended)
        return OpenPlan(self.entry, tuple(steps), state)


def plans_of(entries: Iterable[AnyEntry | Unknown], at: datetime | None = None) -> list[OpenPlan]:
    """Every plan with steps from the entries in force (up to ``at``), oldest first, and how far it is."""
    known = sorted((e for e in entries if not isinstance(e, Unknown) and (at is None or e.at <= at)), key=lambda e: e.order)
    accounts = {e.id: _Account(e) for e in known if isinstance(e, Plan) and e.steps}
    for entry in known:
        if isinstance(entry, Plan):
            if entry.dropped is not None and (gone := _named(entry.dropped, accounts)) is not None and gone.ended is None:
                gone.ended = ("superseded" if entry.steps else "given up", entry.id, entry.at)
        elif isinstance(entry, DOERS) and entry.plan is not None:
            account = _named(entry.plan, accounts)
            if account is not None:
                _done(account, entry)
        elif isinstance(entry, MakeUp):
            for account in accounts.values():
                if account.entry.purpose == "make up" and account.entry.tank == entry.tank and account.entry.at <= entry.at:
                    _made_up(account, entry)
    return [a.closed() for a in accounts.values()]


def plan_named(id: str, plans: Sequence[OpenPlan]) -> OpenPlan | None:
    """A plan by its id, or by an unambiguous beginning or end of it (six signs or more); None where none or several fit."""
    fitting = [p for p in plans if p.id == id] or [p for p in plans if _fits(id, p.id)]
    return fitting[0] if len(fitting) == 1 else None


def rest_done(world: World, plan: OpenPlan, at: datetime) -> World:
    """The workshop as it would be if the steps that are left were done as planned at a moment.

    Solution poured over from a rinse (a removal ``of`` a tank) goes from there into the plan's tank."""
    for step in (s.step for s in plan.left):
        name = f"{plan.id}.{step.step}"
        if step.action == "add" and step.reagent and step.amount and step.unit in ("g", "mL", "L"):
            item = Item(reagent=step.reagent, amount=step.amount, unit=step.unit)
            world = addition(world, Addition(id=name, at=at, tank=plan.tank, items=(item,)))
        elif step.action == "remove" and step.amount:
            poured = step.of is not None and step.of in world.tanks
            tank, to = (str(step.of), plan.tank) if poured else (plan.tank, None)
            world = removal(world, Removal(id=name, at=at, tank=tank, volume_l=step.amount, to=to))
    return world


def _fits(short: str, whole: str) -> bool:
    return len(short) >= LEAST_ID and (whole.startswith(short) or whole.endswith(short))


def _named(id: str, accounts: dict[str, _Account]) -> _Account | None:
    if id in accounts:
        return accounts[id]
    fitting = [a for whole, a in accounts.items() if _fits(id, whole)]
    return fitting[0] if len(fitting) == 1 else None


def _done(account: _Account, entry: Addition | Removal | Reading | Treatment | Remark) -> None:
    if entry.step is not None:
        if 1 <= entry.step <= len(account.entry.steps):
            account.does(entry.step, entry, _amount(account.entry.steps[entry.step - 1], entry))
        return
    if isinstance(entry, (Addition, Treatment)):  # the plan alone is named: the first open step of each reagent is meant
        for item in entry.items:
            step = _open_step(account, item.reagent)
            if step is not None:
                account.does(step.step, entry, _amount(step, entry))


def _open_step(account: _Account, reagent: str) -> PlanStep | None:
    adding = [s for s in account.entry.steps if s.action == "add" and s.reagent == reagent and s.step not in account.done]
    return adding[0] if adding else None


def _made_up(account: _Account, entry: MakeUp) -> None:
    if entry.contents:  # told by what it holds, not by what was weighed: the whole plan is overtaken
        for step in account.entry.steps:
            if step.action == "add" and step.step not in account.done:
                account.does(step.step, entry, None)
        return
    named = {i.reagent for i in entry.reagents} | {"water"}
    for reagent in named:
        open_one = _open_step(account, reagent)
        if open_one is not None:
            amounts = [_in_unit(i.amount, i.unit, open_one.unit) for i in entry.reagents if i.reagent == reagent]
            told = [a for a in amounts if a is not None]
            account.does(open_one.step, entry, sum(told) if told else None)


def _amount(step: PlanStep, entry: Addition | Removal | Reading | Treatment | Remark) -> float | None:
    """What an entry really did of a step, in the step's unit."""
    if isinstance(entry, Removal):
        return entry.volume_l if step.unit == "L" else None
    if isinstance(entry, Treatment) and step.unit == "Ah":
        return entry.charge_ah
    if isinstance(entry, (Addition, Treatment)):
        told = [_in_unit(i.amount, i.unit, step.unit) for i in entry.items if i.reagent == step.reagent]
        amounts = [a for a in told if a is not None]
        return sum(amounts) if amounts else None
    return None


def _in_unit(amount: float, unit: str, wanted: str | None) -> float | None:
    if unit == wanted:
        return amount
    factors = {("mL", "L"): 0.001, ("L", "mL"): 1000.0}
    factor = factors.get((unit, wanted or ""))
    return amount * factor if factor is not None else None
