"""Advice about a tank: anodes, acid balance, signs of age, what is behind a defect, rest and wake-up; a section each."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal
from textual.message import Message
from textual.widgets import Button, OptionList, Static

from bathkeeper.counsel import Counsel
from bathkeeper.tui import advised
from bathkeeper.tui.advice_rows import Row, options_of_rows, row_at
from bathkeeper.tui.advice_sections import SECTIONS, causes_rows, rows_of_section, sections_for
from bathkeeper.tui.desk import Snapshot
from bathkeeper.tui.plain import fit, say
from bathkeeper.tui.screens.base import BookScreen
from bathkeeper.tui.screens.line import numbers
from bathkeeper.tui.screens.tank import refill
from bathkeeper.tui.widgets.keys import KeyLine


@dataclass(frozen=True)
class Asked:
    """What is shown: a section, and in the section of defects the one (or the run) whose causes are asked for."""

    section: str
    of: tuple[str, str] | None = None


class AdviceSeen(Message):
    """A section was worked out."""

    def __init__(self, asked: Asked, found: list[Row]) -> None:
        super().__init__()
        self.asked = asked
        self.found = found


class AdviceScreen(BookScreen):
    """``section``: the one it begins with; the first that the tank has when not told."""

    topic = "advice"
    CSS_PATH = ["base.tcss", "advice.tcss"]
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "back", "Back"),
        Binding("w", "why", "Why"),
        Binding("p", "plan", "Plan"),
        Binding("y", "stock", "Stock"),
        *(Binding(str(n), f"nth({n})", f"Section {n}", show=False) for n in range(1, len(SECTIONS) + 1)),
    ]

    def __init__(self, tank: str, section: str = "") -> None:
        super().__init__()
        self.tank = tank
        self.asked = Asked(section)
        self._rows: list[Row] = []
        self._seen: Asked | None = None
        self._able: list[str] = []

    def compose(self) -> ComposeResult:
        yield from self.top()
        yield Static(id="detail", markup=False)
        with Horizontal(id="choices"):
            view = self.keeper.snapshot.tank(self.tank)
            self._able = sections_for(view) if view is not None else list(SECTIONS)
            for number, id in enumerate(self._able, start=1):
                yield Button(f"{number} {SECTIONS[id]}", id=id, compact=True)
        yield OptionList(id="advice", markup=False)
        yield KeyLine()

    async def on_mount(self) -> None:
        self.query_one("#advice").focus()
        if self.asked.section not in self._able:
            self.asked = Asked(self._able[0])
        self._mark()
        await self.show(self.keeper.snapshot)

    def heading(self, snapshot: Snapshot) -> str:
        return f"Advice: {self.tank}"

    async def show(self, snapshot: Snapshot) -> None:
        await super().show(snapshot)
        view = snapshot.tank(self.tank)
        if view is not None:
            self.query_one("#detail", Static).update(
                say(fit(numbers(view, snapshot.title(self.tank)), self.size.width - 2), "bold")
            )
        self._ask()

    def _ask(self) -> None:
        asked, tank, moment = self.asked, self.tank, self.keeper.clock()
        if self._seen is None or self._seen != asked:
            self._rows = [Row("Reckoning …", sign="·")]
            self._redraw()
        advised.ask(self.keeper, lambda c: found_for(c, asked, tank, moment), lambda found: AdviceSeen(asked, found), to=self)

    def on_advice_seen(self, message: AdviceSeen) -> None:
        if message.asked == self.asked:
            fresh = self._seen != message.asked
            self._rows, self._seen = message.found, message.asked
            self._redraw(fresh)

    def on_refused(self, message: advised.Refused) -> None:
        self._rows, self._seen = [Row(message.text, "$text-warning", "!")], self.asked
        self._redraw()

    def on_resize(self) -> None:
        self.call_after_refresh(self._redraw)

    def _redraw(self, from_top: bool = False) -> None:
        where = self.query_one("#advice", OptionList)
        if from_top:
            where.highlighted = None
            where.scroll_home(animate=False)
        refill(where, options_of_rows(self._rows, max(self.size.width - 6, 40)))

    def _mark(self) -> None:
        for button in self.query("#choices Button").results(Button):
            button.variant = "primary" if button.id == self.asked.section else "default"

    # -- what keys do ----------------------------------------------------------------------------------------------------

    def action_nth(self, number: int) -> None:
        """The section with that number, where the tank has so many."""
        if number <= len(self._able):
            self.action_section(self._able[number - 1])

    def action_section(self, id: str) -> None:
        """Another section."""
        self.asked = Asked(id)
        self._mark()
        self._ask()
        self.query_one("#advice").focus()

    @on(Button.Pressed)
    def _pressed(self, event: Button.Pressed) -> None:
        self.action_section(event.button.id or "anodes")

    @on(OptionList.OptionSelected, "#advice")
    def _selected(self, event: OptionList.OptionSelected) -> None:
        row = self._rows[event.option_index] if event.option_index < len(self._rows) else None
        if row is None:
            return
        if row.leads is None:
            self._why(row)
        elif row.leads[0] == "plan":
            self._open_plan(row.leads[1])
        elif row.leads[0] == "back":
            self.asked = replace(self.asked, of=None)
            self._ask()
        elif row.leads[0] == "entry":
            self.keeper.find_entry(row.leads[1])
        else:
            self.asked = replace(self.asked, of=row.leads)
            self._ask()

    def action_why(self) -> None:
        """Of the row under the cursor."""
        row = row_at(self.query_one("#advice", OptionList), self._rows)
        if row is not None:
            self._why(row)

    def _why(self, row: Row) -> None:
        if row.why is not None:
            self.keeper.tell_why(*row.why)

    def action_plan(self) -> None:
        """The plan that belongs to the section: lay-up and wake-up lists, a refresh beside the signs, else a dose."""
        row = row_at(self.query_one("#advice", OptionList), self._rows)
        lead = row.leads[1] if row is not None and row.leads is not None and row.leads[0] == "plan" else None
        self._open_plan(lead or {"rest": "lay up", "wake": "wake up", "signs": "refresh"}.get(self.asked.section, "dose"))

    def _open_plan(self, kind: str) -> None:
        from bathkeeper.tui.screens.plan import PlanScreen

        self.app.push_screen(PlanScreen(self.tank, kind))  # type: ignore[arg-type]

    def action_stock(self) -> None:
        """What is on the shelf."""
        from bathkeeper.tui.screens.stock import StockScreen

        self.app.push_screen(StockScreen())

    def action_back(self) -> None:
        """From the causes of a defect back to the defects; else to where one came from."""
        if self.asked.of is not None:
            self.asked = replace(self.asked, of=None)
            self._ask()
        else:
            self.dismiss(None)


def found_for(counsel: Counsel, asked: Asked, tank: str, at: datetime) -> list[Row]:
    """The rows of what is asked."""
    if asked.of is not None:
        return causes_rows(counsel, tank, asked.of, at)
    return rows_of_section(counsel, asked.section, tank, at)
