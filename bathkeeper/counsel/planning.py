"""Plans: offered, accepted, ticked off step by step, looked at again, given up."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import TYPE_CHECKING, Any

import msgspec

from bathkeeper.advice.open_plans import OpenPlan, StepState, plan_named, plans_of, rest_done
from bathkeeper.advice.steps import Advice
from bathkeeper.answers.shapes import NotFound
from bathkeeper.catalogue.loader import CatalogueError
from bathkeeper.counsel.shapes import KINDS, Accepted, CounselError, Offer, PlanKind, Recheck, Ticked
from bathkeeper.estimate.state import TankState
from bathkeeper.estimate.view import tank_view
from bathkeeper.estimate.world import World
from bathkeeper.findings import Because
from bathkeeper.workshop import Workshop, now

if TYPE_CHECKING:
    from bathkeeper.accounts.shelf import Shelf
    from bathkeeper.advice.bringing import DragOutRinse, ShelfItem

DOSING = ("dose", "make up", "refresh")
TREATED_WITH = {"activated carbon": "carbon", "zinc dust": "zinc dust"}
"""Reagent -> what a treatment with it is called; hydrogen peroxide of any strength is told by its formula."""


class Planning:
    """The plans of one workshop."""

    def __init__(self, workshop: Workshop) -> None:
        self.workshop = workshop

    # -- the shelf ---------------------------------------------------------------------------------------------------------

    def shelf(self, at: datetime | None = None) -> dict[str, Shelf]:
        """Everything that was ever bought, counted or used, by name."""
        from bathkeeper.accounts.shelf import shelf

        moment = at or now()
        return shelf(self.workshop.entries(at=moment)[::-1], self.workshop.at(moment).catalogue, moment)

    def at_hand(self, at: datetime | None = None) -> tuple[str, ...]:
        """Names of the reagents that are on the shelf, as far as anybody knows."""
        shelves = self.shelf(at).values()
        return tuple(s.name for s in shelves if s.what == "reagent" and (s.amount is None or s.amount.value > 0))

    # -- offers --------------------------------------------------------------------------------------------------------------

    def plan(
        self,
        tank: str,
        kind: PlanKind = "dose",
        *,
        peroxide: str | None = None,
        cathode_dm2: float | None = None,
        volume_l: float | None = None,
        room_l: float | None = None,
        rinse: bool = True,
        days: float | None = None,
        at: datetime | None = None,
    ) -> Offer:
        """A plan for a tank; nothing is written.

        Args:
            kind: what it is for; see ``KINDS``.
            peroxide: the hydrogen peroxide really bought, by its name in the catalogue.
            cathode_dm2: area of the dummy sheet.
            volume_l: how much is made up; the tank's working volume when not given.
            room_l: litres free above the present level, where that is known better than from the tank's full volume.
            rinse: whether a still rinse behind the tank may stand in for water.
            days: how long the line will rest (lay-up).

        Raises:
            NotFound: no such tank. CounselError: no plan can be made there; says why and what would be right.
        """
        if kind not in KINDS:
            raise CounselError(f"no plan is called `{kind}`; there are {', '.join(KINDS)}")
        moment = at or now()
        world = self.workshop.at(moment)
        state = state_of(world, tank)
        try:
            if kind in DOSING:
                return self._dosing(world, state, kind, volume_l, room_l, rinse, moment)
            if kind in ("lay up", "wake up"):
                return Offer(kind, tank, moment, self._resting(world, state, kind, days, moment))
            from bathkeeper.advice.treating import treatment_plan

            advice = treatment_plan(kind, state, world.catalogue, peroxide=peroxide, cathode_dm2=cathode_dm2)  # type: ignore[arg-type]
            return Offer(kind, tank, moment, advice)
        except CatalogueError:
            raise
        except ValueError as problem:
            raise CounselError(str(problem)) from problem

    def _dosing(
        self, world: World, state: TankState, kind: PlanKind, volume_l: float | None, room_l: float | None, rinse: bool,
        at: datetime,
    ) -> Offer:  # fmt: skip
        from bathkeeper.advice.dosing import dose, make_up_plan, refresh

        items, hints = self._items(world, state, at)
        scale = world.workshop.scale_resolution_g if world.workshop is not None else None
        scale_g = scale if scale is not None else 1.0
        if kind == "make up":
            volume = volume_l if volume_l is not None else state.working_volume_l
            if state.recipe is None:
                raise ValueError(f"{state.name} has no recipe, so nothing says what it should hold: name one")
            if volume is None:
                raise ValueError(f"{state.name} has no working volume on record: say how much is made up")
            made = make_up_plan(state.recipe, volume, world.catalogue, items, scale_g, tank=state.name)
        else:
            water = _drag_out_rinse(world, state) if rinse else None
            if kind == "dose":
                near = _near_an_edge(state, world)
                made = dose(
                    state, world.catalogue, items, scale_g=scale_g, rinse=water, at=at, room_l=room_l, near=near
                )
            else:
                made = refresh(state, world.catalogue, items, scale_g=scale_g, rinse=water, at=at, room_l=room_l)
        return Offer(kind, state.name, at, made.advice, made, tuple(hints))

    def _items(self, world: World, state: TankState, at: datetime) -> tuple[list[ShelfItem], list[str]]:
        """What is on the shelf, as the dosing takes it. A book without any stock entry is no empty shelf: then what was used
        before and what the recipe is made up with are taken to be at hand, and that is said."""
        from bathkeeper.advice.bringing import ShelfItem
        from bathkeeper.entries import Stock

        shelves = self.shelf(at)
        catalogue = world.catalogue
        kept = any(isinstance(e, Stock) for e in self.workshop.entries(at=at))
        names = [n for n, s in shelves.items() if s.what == "reagent"]
        hints = []
        if not kept and state.recipe is not None:
            names += [s.reagent for s in state.recipe.make_up if s.reagent not in names]
            hints.append("no stock is on record: what was used before and what the make-up takes are reckoned to be at hand")
        items = []
        for name in names:
            if name not in catalogue.reagents:
                continue
            own = shelves.get(name)
            amount = own.amount.value if own is not None and own.amount is not None else None
            lot = next((lot.name for lot in own.lots if lot.left > 0), None) if own is not None else None
            items.append(ShelfItem(catalogue.reagents[name], amount, own.price_per_unit if own is not None else None, lot))
        return items, hints

    def _resting(self, world: World, state: TankState, kind: PlanKind, days: float | None, at: datetime) -> Advice:
        """The checklist before the line rests, or before it works again, as a plan."""
        from bathkeeper.advice.laying_up import lay_up, wake_up

        if kind == "lay up" and days is None:
            raise ValueError("say for how many days the line will rest")
        lists = lay_up(world, at, days or 0.0, shelf=self.at_hand(at)) if kind == "lay up" else wake_up(world, at)
        found = next((c.advice for c in lists if c.tank == state.name), None)
        if found is None:
            raise ValueError(f"{state.name} {state.why_empty if state.recipe is not None else 'has no recipe'}: nothing to do")
        return found

    # -- accepting and ending ------------------------------------------------------------------------------------------------

    def accept(self, offer: Offer, at: datetime | None = None, note: str | None = None) -> Accepted:
        """Writes the plan; an open plan of the same purpose for the tank gives it its place.

        Raises:
            CounselError: the offer has no steps. BookError: the book cannot be written.
        """
        if not offer.steps:
            near = "; the nearest there is (`nearest`) can be accepted in its place" if offer.nearest is not None else ""
            why = "nothing is needed" if offer.feasible else "no plan meets every limit" + near
            raise CounselError(f"{offer.tank}: {why}, so there is no plan to accept")
        moment = at or now()
        before = [p for p in self.open_plans(moment) if p.tank == offer.tank and p.purpose == offer.advice.purpose]
        raw: dict[str, Any] = {
            "kind": "plan", "at": moment, "tank": offer.tank, "purpose": offer.advice.purpose,
            "steps": msgspec.to_builtins(offer.advice.plan_steps),
        }  # fmt: skip
        if before:
            raw["dropped"] = before[-1].id
        if note:
            raw["note"] = note
        logged = self.workshop.log(raw)
        return Accepted(self.plan_of(logged.entry.id), before[-1] if before else None)

    def drop(self, plan: str, reason: str, at: datetime | None = None) -> OpenPlan:
        """Gives an open plan up, with a reason.

        Raises:
            NotFound: no such plan. CounselError: it is not open, or there is no reason.
        """
        found = self._open(plan)
        if not reason.strip():
            raise CounselError("say why the plan is given up; a reason of a few words is enough")
        raw = {"kind": "plan", "tank": found.tank, "purpose": found.purpose, "dropped": found.id, "note": reason}
        self.workshop.log({**raw, "at": at or now()})
        return self.plan_of(found.id)

    # -- plans in the book ---------------------------------------------------------------------------------------------------

    def plans(self, at: datetime | None = None) -> list[OpenPlan]:
        """Every plan that was accepted up to a moment, oldest first, and how far it is."""
        return plans_of(self.workshop.entries(at=at)[::-1])

    def open_plans(self, at: datetime | None = None, tank: str | None = None) -> list[OpenPlan]:
        """Plans with steps left to do, oldest first."""
        return [p for p in self.plans(at) if p.is_open and tank in (None, p.tank)]

    def plan_of(self, id: str, at: datetime | None = None) -> OpenPlan:
        """A plan by its id, or the beginning or end of it, or by its tank when that has just one open plan.

        Raises:
            NotFound: none, or several.
        """
        plans = self.plans(at)
        found = plan_named(id, plans)
        if found is not None:
            return found
        of_tank = [p for p in plans if p.tank == id and p.is_open]
        if len(of_tank) == 1:
            return of_tank[0]
        known = ", ".join(f"{p.id[-8:]} ({p.tank}, {p.purpose})" for p in plans if p.is_open) or "none is open"
        raise NotFound(f"{'several plans are' if of_tank else 'no plan is'} called `{id}`; open plans: {known}")

    def _open(self, id: str) -> OpenPlan:
        found = self.plan_of(id)
        if not found.is_open:
            raise CounselError(f"the plan {found.id[-8:]} for {found.tank} is {found.state}; only an open plan can be changed")
        return found

    def tick(
        self,
        plan: str,
        step: int,
        *,
        amount: float | None = None,
        values: Sequence[Mapping[str, Any]] = (),
        note: str | None = None,
        to: str | None = None,
        at: datetime | None = None,
    ) -> Ticked:
        """Writes what does a step: an addition, removal, reading, treatment or remark that names plan and step.

        Args:
            amount: what was really weighed, measured out, taken out or passed, in the step's unit; the plan's when not given.
            values: of a measurement, as in a reading entry; without them a ``note`` says why nothing was measured.
            to: where solution that was taken out went.

        Raises:
            NotFound: no such plan or step. CounselError: it is done already, or what it needs is missing; says what.
            EntryError: the entry cannot be. BookError: the book cannot be written.
        """
        found = self._open(plan)
        state = _step(found, step)
        if state.done:
            raise CounselError(
                f"step {step} is done already by {state.done_by[-1][-8:]}; to change what it says, correct that entry"
            )
        moment = at or now()
        raw = self._doing(found, state, amount, values, note, to, moment)
        logged = self.workshop.log(raw)
        after = self.plan_of(found.id)
        lines = self._said(after, step)
        recheck = self.recheck(after.id, moment if at is not None else None) if _changes_bath(after) else None
        if recheck is not None and not recheck.lands:
            lines += [f"with the steps that are left: {line}" for line in recheck.still_out]
            lines.append(f"the rest of the plan no longer lands where it should: ask for a new plan for {after.tank}")
        return Ticked(logged.entry, tuple(logged.changes), after, tuple(lines), recheck)

    def _said(self, plan: OpenPlan, number: int) -> list[str]:
        lines = []
        skipped = [str(s.step.step) for s in plan.steps if not s.done and s.step.step < number]
        if skipped:
            lines.append(f"before it {'step' if len(skipped) == 1 else 'steps'} {', '.join(skipped)} are still to do")
        did = plan.steps[number - 1]
        if not did.as_planned and did.really is not None:
            lines.append(f"{did.really:.4g} {did.step.unit} in place of the plan's {did.step.amount:.4g} {did.step.unit}")
        if plan.state == "done":
            lines.append("that was the last step: the plan is done")
        return lines

    def _doing(
        self, plan: OpenPlan, state: StepState, amount: float | None, values: Sequence[Mapping[str, Any]], note: str | None,
        to: str | None, at: datetime,
    ) -> dict[str, Any]:  # fmt: skip
        step = state.step
        raw: dict[str, Any] = {"at": at, "tank": plan.tank, "plan": plan.id, "step": step.step}
        if note:
            raw["note"] = note
        quantity = amount if amount is not None else step.amount
        if step.action == "add":
            if quantity is None or quantity <= 0:
                raise CounselError(f"step {step.step} adds {step.reagent}: an amount above 0 {step.unit} is wanted")
            item = {"reagent": step.reagent, "amount": quantity, "unit": step.unit}
            tank = self.workshop.world.tanks.get(plan.tank)
            if plan.purpose == "make up" and (tank is None or not tank.alive):
                return self._filling(plan, item, at)
            if plan.purpose == "treat":
                return {**raw, "kind": "treatment", "what": self._treatment(str(step.reagent)), "items": [item]}
            return {**raw, "kind": "addition", "items": [item]}
        if step.action == "remove":
            if quantity is None or quantity <= 0:
                raise CounselError(f"step {step.step} takes solution out: litres above 0 are wanted")
            poured = step.of is not None and step.of in self.workshop.world.tanks  # a rinse that stands in for water
            raw |= {"kind": "removal", "volume_l": quantity}
            if poured:
                raw |= {"tank": step.of, "to": plan.tank}
            elif to is not None:
                raw["to"] = to
            return raw
        if step.action == "measure" and values:
            return {**raw, "kind": "reading", "values": [dict(v) for v in values]}
        if step.action == "measure" and not note:
            of = step.of or "what it says"
            raise CounselError(f"step {step.step} measures {of}: say what it read, or in a note why nothing was measured")
        if step.action == "plate" and plan.purpose == "treat" and quantity is not None and step.unit == "Ah":
            return {**raw, "kind": "treatment", "what": "dummy", "charge_ah": quantity}
        told = note or step.why or step.action
        raw.pop("note", None)
        return {**raw, "kind": "remark", "text": f"{step.action}: {told}"}

    def _filling(self, plan: OpenPlan, item: Mapping[str, Any], at: datetime) -> dict[str, Any]:
        """The first water of a make-up begins the bath's life; everything else is added to it."""
        if item["reagent"] != "water":
            raise CounselError(f"{plan.tank} is empty: the water of the plan goes in first")
        return {
            "kind": "make_up", "at": at, "tank": plan.tank, "volume_l": item["amount"], "reagents": [dict(item)],
            "note": f"water of the plan {plan.id}",
        }  # fmt: skip

    def _treatment(self, name: str) -> str:
        reagent = self.workshop.catalogue.reagents.get(name)
        if reagent is not None and reagent.formula == "H2O2":
            return "peroxide"
        return TREATED_WITH.get(name, name)

    def recheck(self, plan: str, at: datetime | None = None) -> Recheck:
        """Where the steps that are left would bring the tank, from what it holds now.

        Raises:
            NotFound: no such plan.
        """
        found = self.plan_of(plan, at)
        moment = at or now()
        world = rest_done(self.workshop.at(moment), found, moment)
        state = state_of(world, found.tank)
        if not state.alive:
            return Recheck(found, {}, ())
        view = tank_view(state, world.catalogue.metals)
        after = {**view.species, **view.ratios}
        out = []
        for name, content in after.items():
            if content.state not in ("low", "high") or content.dragged_in:
                continue
            limit = content.window.get(content.state)
            unit = "" if content.unit in ("fraction", "ratio") else f" {content.unit}"
            edge = f", {'below' if content.state == 'low' else 'above'} its {content.state} limit {limit:.3g}" if limit else ""
            out.append(f"{content.title or name} would be {content.value:.3g}{unit}{edge}")
        return Recheck(found, after, tuple(out))

    def why_step(self, plan: str, step: int) -> tuple[str, Because]:
        """(what, because) of a plan's step: reckoned again as of the plan's moment, with the entries that did it.

        Raises:
            NotFound: no such plan or step.
        """
        found = self.plan_of(plan)
        state = _step(found, step)
        told = self._reason(found, state)
        own = state.step
        amount = f" {own.amount:.4g} {own.unit}" if own.amount is not None else ""
        what = f"step {own.step} of the plan of {found.entry.at:%d %b %Y} for {found.tank}: {own.action}{amount}"
        what += f" {own.reagent or own.of or ''}".rstrip() + (f" ({own.why})" if own.why else "")
        text = told.text
        if state.done:
            really = f", {state.really:.4g} {own.unit}" if state.really is not None else ""
            text += f". Done by {', '.join(i[-8:] for i in state.done_by)}{really}."
        entries = tuple(dict.fromkeys((*told.entries, found.id, *state.done_by)))
        return what, Because(text=text, entries=entries, formula=told.formula, sources=told.sources)

    def _reason(self, plan: OpenPlan, state: StepState) -> Because:
        own = state.step
        kind = _kind_of(plan, self._treatment)
        peroxide = next((s.step.reagent for s in plan.steps if s.step.action == "add"), None) if kind == "peroxide" else None
        volume = sum(s.step.amount or 0.0 for s in plan.steps if s.step.reagent == "water") or None
        try:
            whole = volume if kind == "make up" else None
            offer = self.plan(plan.tank, kind, peroxide=peroxide, volume_l=whole, at=plan.entry.at)
        except (CounselError, CatalogueError, NotFound):
            return Because(text=own.why or own.action)
        near = offer.nearest
        steps = [*offer.steps, *(near.steps if near is not None else ())]
        alike = [a for a in steps if (a.step.action, a.step.reagent, a.step.of) == (own.action, own.reagent, own.of)]
        exact = [a for a in alike if a.step.step == own.step] or alike
        return exact[0].because if exact else Because(text=own.why or own.action)


def _near_an_edge(state: TankState, world: World) -> list[str]:
    """The species that `due` calls near or past a limit, and the metal that a ratio near its low edge is short of."""
    from bathkeeper.due.contents import content_findings

    found = []
    for finding in content_findings(tank_view(state, world.catalogue.metals)):
        _, rule, subject = finding.id.removeprefix(state.name).split(".", 2)
        if rule in ("low", "high") and state.recipe is not None:
            ratio = state.recipe.ratios.get(subject)
            found += list(ratio.parts) if ratio is not None else [subject]
    return found


def state_of(world: World, tank: str) -> TankState:
    state = world.tanks.get(tank)
    if state is None:
        raise NotFound(f"no tank is called `{tank}`; there are {', '.join(world.tanks) or 'none yet'}")
    return state


def _step(plan: OpenPlan, number: int) -> StepState:
    if not 1 <= number <= len(plan.steps):
        raise NotFound(f"the plan {plan.id[-8:]} has steps 1 to {len(plan.steps)}, no step {number}")
    return plan.steps[number - 1]


def _changes_bath(plan: OpenPlan) -> bool:
    """Whether the plan is one that has windows to land in."""
    return plan.purpose in DOSING and plan.state in ("open", "done")


def _kind_of(plan: OpenPlan, called: Any) -> PlanKind:
    if plan.purpose != "treat":
        return plan.purpose  # type: ignore[return-value]
    reagent = next((s.step.reagent for s in plan.steps if s.step.action == "add" and s.step.reagent), None)
    return called(reagent) if reagent is not None else "dummy"


def _drag_out_rinse(world: World, state: TankState) -> DragOutRinse | None:
    """The still rinse right behind a tank, in process order, as it stands now; None where there is none in use."""
    from bathkeeper.advice.bringing import DragOutRinse

    line = world.line()
    names = [t.name for t in line]
    if state.name not in names or names.index(state.name) + 1 >= len(line):
        return None
    rinse = line[names.index(state.name) + 1]
    recipe = rinse.recipe
    if rinse.entry.role != "rinse" or not rinse.alive or recipe is None or recipe.flow != "still":
        return None
    contents = {s: max(rinse.concentration(s)[0], 0.0) for s in rinse.species}
    return DragOutRinse(rinse.name, rinse.volume_l, contents)

