"""The dosing plan: offered with its reasons, accepted, then ticked off step by step with what was really weighed."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from functools import partial
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.message import Message
from textual.widgets import OptionList, Static

from bathkeeper.advice.open_plans import OpenPlan
from bathkeeper.counsel import KINDS, Accepted, Counsel, CounselError, Offer, PlanKind, Recheck, Ticked
from bathkeeper.findings import Because
from bathkeeper.tui import advised
from bathkeeper.tui.advice_rows import Row, options_of_rows, row_at
from bathkeeper.tui.advice_said import Done, Manner, SaidError, step_done
from bathkeeper.tui.advice_sections import REST_DAYS
from bathkeeper.tui.desk import Snapshot
from bathkeeper.tui.plain import clean, fit, rows, say
from bathkeeper.tui.plan_words import offer_rows, plan_rows, plan_state, step_head
from bathkeeper.tui.screens.ask_line import AskLine
from bathkeeper.tui.screens.base import BookScreen
from bathkeeper.tui.screens.choose import ChooseScreen
from bathkeeper.tui.screens.confirm import ConfirmScreen
from bathkeeper.tui.screens.tank import refill
from bathkeeper.tui.widgets.keys import KeyLine

ABOUT: dict[PlanKind, str] = {
    "dose": "Dose: every content back into its window",
    "refresh": "Refresh: every content back to its target",
    "make up": "Make up: fill the empty tank",
    "peroxide": "Treat: peroxide, for iron and what carbon leaves",
    "carbon": "Treat: carbon, for organic dirt",
    "zinc dust": "Treat: zinc dust, for nobler metals",
    "dummy": "Treat: dummy plating, for copper and the like",
    "lay up": "Lay up: before the line rests",
    "wake up": "Wake up: before it works again",
}
ABOUT_PURPOSE = {
    "dose": "Dosing plan", "refresh": "Refreshing plan", "make up": "Make-up plan", "treat": "Treatment plan",
    "lay up": "Lay-up list", "wake up": "Wake-up list",
}  # fmt: skip
PURPOSE = {k: k if k in ("dose", "refresh", "make up", "lay up", "wake up") else "treat" for k in KINDS}


@dataclass(frozen=True)
class Look:
    """A plan as it stands: one in the book, or an offer, or why there is none."""

    plan: OpenPlan | None = None
    recheck: Recheck | None = None
    offer: Offer | None = None
    refused: str = ""
    manner: Manner | None = None
    others: int = 0


class PlanSeen(Message):
    """A plan was looked at."""

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.look = look


class PlanAccepted(Message):
    """An offer is in the book."""

    def __init__(self, accepted: Accepted) -> None:
        super().__init__()
        self.accepted = accepted


class StepTicked(Message):
    """A step is done."""

    def __init__(self, ticked: Ticked) -> None:
        super().__init__()
        self.ticked = ticked


class PlanDropped(Message):
    """A plan was given up."""


class WhyTold(Message):
    """Why a step of a plan is there."""

    def __init__(self, what: str, because: Because) -> None:
        super().__init__()
        self.what = what
        self.because = because


class PlanScreen(BookScreen):
    """``kind``: what the plan is for; None: the open plan of the tank, or what its state asks for. ``anew``: an offer even
    where there is an open plan."""

    topic = "plan"
    CSS_PATH = ["base.tcss", "plan.tcss"]
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "back", "Back"),
        Binding("a", "accept", "Accept"),
        Binding("space", "tick", "Tick off", key_display="⏎"),
        Binding("w", "why", "Why"),
        Binding("k", "kinds", "Kind"),
        Binding("n", "anew", "New offer"),
        Binding("x", "drop", "Give up"),
        Binding("o", "in_book", "Open plan", show=False),
    ]

    def __init__(self, tank: str, kind: PlanKind | None = None, *, anew: bool = False) -> None:
        super().__init__()
        self.tank = tank
        self.kind = kind
        self._anew = anew
        self._plan_id: str | None = None
        self.look = Look()
        self._looked = False
        self._rows: list[Row] = []

    def compose(self) -> ComposeResult:
        yield from self.top()
        yield Static(id="detail", markup=False)
        yield OptionList(id="steps", markup=False)
        yield KeyLine()

    async def on_mount(self) -> None:
        self.query_one("#steps").focus()
        await self.show(self.keeper.snapshot)

    def heading(self, snapshot: Snapshot) -> str:
        return f"Plan: {self.tank}"

    async def show(self, snapshot: Snapshot) -> None:
        await super().show(snapshot)
        self._ask()

    def on_resize(self) -> None:
        self.call_after_refresh(self._redraw)

    # -- asking ----------------------------------------------------------------------------------------------------------

    def _ask(self) -> None:
        question = partial(
            look_at, tank=self.tank, kind=self.kind, anew=self._anew, plan_id=self._plan_id, moment=self.keeper.clock()
        )
        advised.ask(self.keeper, question, PlanSeen, to=self)

    def on_plan_seen(self, message: PlanSeen) -> None:
        self.look = message.look
        self._looked = True
        if message.look.offer is not None:
            self.kind = message.look.offer.kind
        self._redraw()
        self.refresh_bindings()

    def on_refused(self, message: advised.Refused) -> None:
        if self._looked:
            self.notify(clean(message.text), severity="warning", markup=False, timeout=10)
            return
        self.look, self._looked = Look(refused=message.text), True
        self._redraw()

    def _redraw(self) -> None:
        if not self.query("#steps"):
            return
        width = max(self.size.width - 6, 40)
        look = self.look
        if not self._looked:
            self._rows = [Row("Reckoning …", sign="·")]
        elif look.refused:
            self._rows = [Row(look.refused, "$text-warning", "!")]
        elif look.plan is not None:
            self._rows = plan_rows(look.plan, look.recheck)
        elif look.offer is not None:
            self._rows = offer_rows(look.offer)
        self.query_one("#detail", Static).update(
            rows([say(fit(line, self.size.width - 2), style) for line, style in self._detail()])
        )
        where = self.query_one("#steps", OptionList)
        refill(where, options_of_rows(self._rows, width))
        self._to_next(where)

    _shown_for: tuple[str | None, int] = (None, -1)

    def _to_next(self, where: OptionList) -> None:
        """Once after each step the cursor goes to the next one."""
        plan = self.look.plan
        if plan is None or self._shown_for == (plan.id, plan.done):
            return
        self._shown_for = (plan.id, plan.done)
        if plan.next is not None:
            where.highlighted = plan.next.step.step - 1

    def _detail(self) -> list[tuple[str, str]]:
        look = self.look
        if not self._looked:
            return [(f"{self.tank}: reckoning", "bold")]
        if look.plan is not None:
            lands = look.recheck is None or look.recheck.lands or not look.plan.is_open
            more = "" if lands else "  !! the rest no longer lands in the windows: n for a new offer"
            return [
                (f"{ABOUT_PURPOSE[look.plan.purpose]}", "bold"),
                (plan_state(look.plan) + more, "" if lands else "$text-error bold"),
            ]
        about = ABOUT[self.kind] if self.kind is not None else "Plan"
        if look.offer is None:
            return [(about, "bold"), ("! no plan of this kind here: k for another kind", "$text-warning")]
        if look.offer.nothing_needed:
            return [(about, "bold"), ("✓ nothing is needed", "$text-success")]
        if not look.offer.feasible:
            can = ": a accepts the nearest" if look.offer.nearest is not None and look.offer.nearest.steps else ""
            return [(about, "bold"), (f"!! two limits conflict{can}", "$text-error bold")]
        others = f"; {look.others} open plan of this tank (o)" if look.others else ""
        return [(about, "bold"), (f"□ an offer, nothing is written yet: a accepts it{others}", "")]

    # -- what keys do ----------------------------------------------------------------------------------------------------

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        plan, offer = self.look.plan, self.look.offer
        if action in ("tick", "drop"):
            return plan is not None and plan.is_open
        if action == "accept":
            return offer is not None and self._to_accept(offer) is not None
        if action == "anew":
            return plan is not None
        if action == "in_book":
            return plan is None and self.look.others > 0
        return True

    @staticmethod
    def _to_accept(offer: Offer) -> Offer | None:
        shown = offer if offer.feasible else offer.nearest
        return shown if shown is not None and shown.steps else None

    @on(OptionList.OptionSelected, "#steps")
    def _selected(self, event: OptionList.OptionSelected) -> None:
        row = self._rows[event.option_index] if event.option_index < len(self._rows) else None
        if row is None:
            return
        lead, what = row.leads or ("", "")
        if lead == "tick" and self.check_action("tick", ()):
            self._tick(int(what))
        elif lead == "ask":
            self.keeper.find_why(what)
        elif lead == "way":
            self._accept_way(int(what))
        else:
            self._why(row)

    def action_why(self) -> None:
        """Of the row under the cursor."""
        row = row_at(self.query_one("#steps", OptionList), self._rows)
        if row is not None:
            self._why(row)

    def _why(self, row: Row) -> None:
        lead, what = row.leads or ("", "")
        plan = self.look.plan
        if lead == "ask":
            self.keeper.find_why(what)
        elif plan is not None and lead in ("tick", "why"):
            number = int(what)
            advised.ask(self.keeper, lambda c: c.why_step(plan.id, number), lambda told: WhyTold(*told), to=self)
        elif row.why is not None:
            self.keeper.tell_why(*row.why)

    def on_why_told(self, message: WhyTold) -> None:
        self.keeper.tell_why(message.what, message.because)

    def action_tick(self) -> None:
        row = row_at(self.query_one("#steps", OptionList), self._rows)
        if row is not None and row.leads is not None and row.leads[0] == "tick":
            self._tick(int(row.leads[1]))
        elif self.look.plan is not None and self.look.plan.next is not None:
            self._tick(self.look.plan.next.step.step)

    def _tick(self, number: int) -> None:
        plan, manner = self.look.plan, self.look.manner
        if plan is None or manner is None:
            return
        step = plan.steps[number - 1].step
        now = self.keeper.clock()

        def understood(text: str) -> Done:
            return step_done(text, step, plan.tank, manner, now)

        def told(text: str | None) -> None:
            if text is None:
                return
            done = understood(text)
            moment = self.keeper.clock()

            def do(counsel: Counsel) -> Ticked:
                return counsel.tick(
                    plan.id, number, amount=done.amount, values=done.values, note=done.note, to=done.to, at=moment
                )

            advised.act(self.keeper, do, StepTicked, to=self)

        caution = f"\n▲ {step.caution}" if step.caution else ""
        words = f"{step.why}{caution}\n{ask_words(step.action, step.unit)}"
        hint = f"Enter: {step_head(step).partition(' ')[2]}" if step.action != "measure" else f"what {step.of or 'it'} read"
        self.app.push_screen(AskLine(f"Step {step_head(step)}", words, hint, "Tick off", lambda t: understood(t).echo), told)

    def on_step_ticked(self, message: StepTicked) -> None:
        ticked = message.ticked
        self._plan_id = ticked.plan.id
        lines = [clean(line) for line in (*ticked.changes[:4], *ticked.lines)] or ["The estimate does not change."]
        bad = ticked.recheck is not None and not ticked.recheck.lands
        self.notify("\n".join(lines), title="Ticked off", markup=False, timeout=8, severity="warning" if bad else "information")

    def action_accept(self) -> None:
        offer = self.look.offer
        taken = self._to_accept(offer) if offer is not None else None
        if offer is None or taken is None:
            return
        if offer.feasible:
            self._accept(taken)
            return
        about = "No plan meets all of these together:\n" + "\n".join(f"· {c}" for c in offer.conflict)
        still = taken.dosing.still_open if taken.dosing is not None else ()
        about += "\n\nWith the nearest, this stays open:\n" + "\n".join(f"· {s}" for s in still)

        def answered(yes: bool | None) -> None:
            if yes:
                self._accept(taken)

        self.app.push_screen(ConfirmScreen("Accept the nearest plan there is?", about, "Accept it"), answered)

    def _accept_way(self, number: int) -> None:
        offer = self.look.offer
        if offer is None or offer.dosing is None:
            return
        way = replace(offer, advice=offer.dosing.alternatives[number], dosing=None)

        def answered(yes: bool | None) -> None:
            if yes:
                self._accept(way)

        about = "\n".join(way.advice.lines)
        self.app.push_screen(ConfirmScreen("Accept this other way?", about, "Accept it"), answered)

    def _accept(self, offer: Offer) -> None:
        moment = self.keeper.clock()
        advised.act(self.keeper, lambda c: c.accept(offer, moment), PlanAccepted, to=self)

    def on_plan_accepted(self, message: PlanAccepted) -> None:
        self._plan_id, self._anew = message.accepted.plan.id, False
        ended = message.accepted.ended
        text = f"It takes the place of the plan of {ended.entry.at:%d %b}." if ended is not None else "Enter ticks a step off."
        self.notify(text, title="The plan is in the book", markup=False)
        self._ask()

    def action_anew(self) -> None:
        """An offer reckoned from what the tank holds now."""
        plan = self.look.plan
        if plan is not None and self.kind is None:
            self.kind = plan.purpose if plan.purpose in KINDS else None
        self._plan_id, self._anew, self._looked = None, True, False
        self._redraw()
        self._ask()

    def action_in_book(self) -> None:
        self._plan_id, self._anew, self.kind, self._looked = None, False, None, False
        self._ask()

    def action_kinds(self) -> None:
        def chosen(place: int | None) -> None:
            if place is not None:
                self.kind, self._plan_id, self._anew, self._looked = KINDS[place], None, False, False
                self._redraw()
                self._ask()

        self.app.push_screen(ChooseScreen(f"A plan for {self.tank}", [ABOUT[k] for k in KINDS]), chosen)

    def action_drop(self) -> None:
        plan = self.look.plan
        if plan is None:
            return

        def reason(text: str) -> str:
            if not text.strip():
                raise SaidError("say why, in a few words; it stands in the book beside the plan")
            return f"given up: {text}"

        def told(text: str | None) -> None:
            if text is not None:
                moment = self.keeper.clock()
                advised.act(self.keeper, lambda c: c.drop(plan.id, text, moment), lambda _: PlanDropped(), to=self)

        words = f"{plan.done} of {len(plan.steps)} steps are done and stay in the book; the rest is not to be done."
        self.app.push_screen(AskLine("Give this plan up?", words, "why", "Give it up", reason), told)

    def on_plan_dropped(self) -> None:
        self._plan_id = None
        self.notify("The plan is given up; its entries stay in the book.", markup=False)
        self._ask()

    def action_back(self) -> None:
        self.dismiss(None)


def ask_words(action: str, unit: str | None) -> str:
    """What may be typed to tick a step off."""
    if action == "measure":
        return "Type what it read (a number alone is in the bath's unit), or in words why nothing was measured."
    if action == "remove":
        return f"Enter: as planned. Else how many {unit}, and where to: 2 L to waste-1. A note goes behind ;"
    if unit is not None and action in ("add", "plate"):
        return (
            f"Enter: as planned. Else what was really {'weighed' if unit == 'g' else 'given'}, in {unit}. A note goes behind ;"
        )
    return "Enter: done. What you type becomes a note."


def look_at(counsel: Counsel, *, tank: str, kind: PlanKind | None, anew: bool, plan_id: str | None, moment: datetime) -> Look:
    """The plan that is asked for, as it stands; nothing is written."""
    view = counsel.workshop.tank(tank, moment)
    contents = {**view.species, **view.ratios}
    units = {name: content.unit for name, content in contents.items()} | {"ph": "pH", "pH": "pH"}
    manner = Manner(counsel.workshop.preferences, counsel.workshop.vocabulary, units)
    open_ones = counsel.open_plans(moment, tank)
    if plan_id is not None:
        plan = counsel.plan_of(plan_id, moment)
        return Look(plan, counsel.recheck(plan.id, moment) if plan.is_open else None, manner=manner)
    wanted = [p for p in open_ones if kind is None or p.purpose == PURPOSE[kind]]
    if wanted and not anew:
        return Look(wanted[-1], counsel.recheck(wanted[-1].id, moment), manner=manner)
    chosen: PlanKind = kind or ("dose" if view.alive else "make up")
    try:
        days = REST_DAYS if chosen == "lay up" else None
        return Look(offer=counsel.plan(tank, chosen, days=days, at=moment), manner=manner, others=len(open_ones))
    except CounselError as problem:
        return Look(refused=str(problem), manner=manner, others=len(open_ones))
