"""The calculators: a list, and for each a form whose answer is worked out while one types."""

from __future__ import annotations

from typing import Any, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.events import DescendantFocus
from textual.timer import Timer
from textual.widgets import Input, OptionList, Static
from textual.widgets.option_list import Option

from bathkeeper.calculators import registry
from bathkeeper.calculators.reading import as_reading, fitting
from bathkeeper.catalogue.loader import Catalogue
from bathkeeper.findings import Because
from bathkeeper.tui import messages
from bathkeeper.tui.desk import Snapshot
from bathkeeper.tui.field import Field
from bathkeeper.tui.plain import clean, fit, join, say
from bathkeeper.tui.screens.base import BookScreen
from bathkeeper.tui.screens.confirm import ConfirmScreen
from bathkeeper.tui.screens.form_rows import FieldRow
from bathkeeper.tui.screens.tank import refill
from bathkeeper.tui.widgets.choice import Choice
from bathkeeper.tui.widgets.keys import KeyLine
from bathkeeper.tui.widgets.lines import Fields
from bathkeeper.units.numerals import Preferences
from bathkeeper.workshop import Workshop

PAUSE_S = 0.2
TANK, LOT = "log to", "log lot"
NOT_INPUTS = (TANK, LOT)


class CalculatorsScreen(BookScreen):
    """Every calculator of the registry; Enter opens its form."""

    topic = "calculators"
    CSS_PATH = ["base.tcss", "calculators.tcss"]
    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape", "back", "Back")]

    def compose(self) -> ComposeResult:
        yield from self.top()
        yield OptionList(id="calculators", markup=False)
        yield KeyLine()

    async def on_mount(self) -> None:
        self.query_one("#calculators").focus()
        await self.show(self.keeper.snapshot)

    def heading(self, snapshot: Snapshot) -> str:
        return "Calculators"

    async def show(self, snapshot: Snapshot) -> None:
        await super().show(snapshot)
        self._redraw()

    def on_resize(self) -> None:
        self.call_after_refresh(self._redraw)

    def _redraw(self) -> None:
        width = max(self.size.width - 4, 40)
        options = [
            Option(join([(fit(c.title, width), "bold"), "\n", (fit(f"   {c.help}", width), "$foreground-muted")]))
            for c in registry.CALCULATORS.values()
        ]
        refill(self.query_one("#calculators", OptionList), options)

    @on(OptionList.OptionSelected, "#calculators")
    def _selected(self, event: OptionList.OptionSelected) -> None:
        self.app.push_screen(CalculatorForm(list(registry.CALCULATORS.values())[event.option_index]))

    def action_back(self) -> None:
        self.dismiss(None)


class CalculatorForm(BookScreen):
    """One question: its inputs, and the answer below."""

    topic = "calculator"
    parts = (Choice,)
    AUTO_FOCUS = ""
    CSS_PATH = ["base.tcss", "entry_form.tcss", "calculators.tcss"]
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f1", "help", "Help"),
        Binding("w,f9", "why", "Why", key_display="F9"),
        Binding("f4", "offer", "Offer"),
        Binding("f6", "example", "Example"),
        Binding("f7", "clear", "Clear"),
        Binding("ctrl+s,f10", "log_it", "Log as reading", key_display="^S", priority=True),
        Binding("escape", "back", "Back"),
        Binding("down", "app.focus_next", "Next field", show=False),
        Binding("up", "app.focus_previous", "Field before", show=False),
    ]

    def __init__(self, one: registry.Calculator) -> None:
        super().__init__()
        self.one = one
        self.answer: registry.Answer | None = None
        self._habits: tuple[Preferences, Catalogue | None] = (Preferences(), None)
        self._turn = 0
        self._examples = 0
        self._timer: Timer | None = None

    def compose(self) -> ComposeResult:
        yield from self.top()
        yield Fields(id="fields")
        yield Static(id="about", markup=False)
        with VerticalScroll(id="answer-area", can_focus=False):
            yield Static(id="answer", markup=False)
        yield KeyLine()

    async def on_mount(self) -> None:
        if self.keeper.desk.is_open:
            self.keeper.ask(lambda w: (w.preferences, w.catalogue), messages.HabitsFound, to=self)
        tanks = [t.tank for t in self.keeper.snapshot.tanks if t.role != "dry"]
        width = 35 if self.size.width >= 100 else 19
        asked = fields_of(self.one, tanks if self.one.logs else [])
        await self.query_one("#fields").mount_all([FieldRow(f, "", width) for f in asked])
        self._rows()[0].control.focus()
        self._show_about(self._rows()[0].field)
        await self.show(self.keeper.snapshot)
        self._ask_soon()

    def on_habits_found(self, message: messages.HabitsFound) -> None:
        self._habits = message.habits
        self._ask_soon()

    def heading(self, snapshot: Snapshot) -> str:
        return self.one.title

    def _rows(self) -> list[FieldRow]:
        return list(self.query(FieldRow))

    def _texts(self) -> dict[str, Any]:
        """What was typed by input; several of a repeated one are parted by semicolons."""
        texts: dict[str, Any] = {}
        for row in self._rows():
            if row.field.key not in NOT_INPUTS and row.text.strip():
                repeated = self.one.input(row.field.key).repeated
                parted = tuple(t.strip() for t in row.text.split(";") if t.strip())
                texts[row.field.key] = parted if repeated else row.text.strip()
        return texts

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Only what was measured in a bath can be logged."""
        return self.one.logs and bool(self.keeper.snapshot.tanks) if action == "log_it" else True

    # -- while typing ---------------------------------------------------------------------------------------------------

    @on(Input.Changed)
    @on(Choice.Changed)
    def _typed(self) -> None:
        self._ask_soon()

    @on(Input.Submitted)
    @on(Choice.Done)
    def _onward(self) -> None:
        self.focus_next()

    def on_descendant_focus(self, event: DescendantFocus) -> None:
        row = next((r for r in self._rows() if r.control is event.widget), None)
        if row is not None:
            self._show_about(row.field)

    def _show_about(self, field: Field) -> None:
        if field.key in NOT_INPUTS:
            text = "Ctrl+S writes the answer into the book as a reading of this tank."
        else:
            one = self.one.input(field.key)
            needed = "Needed. " if one.required else f"Else {one.default}. " if one.default else ""
            several = "Several are parted by semicolons. " if one.repeated else ""
            offered = f"F4 offers: {' · '.join(field.suggest)}" if field.suggest else ""
            text = f"{one.help} {needed}{several}{offered}".rstrip()
        self.query_one("#about", Static).update(say(fit(text, (self.size.width - 2) * 2), "$foreground-muted"))

    def _ask_soon(self) -> None:
        self._turn += 1
        if self._timer is not None:
            self._timer.stop()
        self._timer = self.set_timer(PAUSE_S, self._ask)

    def _ask(self) -> None:
        texts, turn, (prefs, catalogue) = self._texts(), self._turn, self._habits

        def job() -> messages.Answered:
            try:
                return messages.Answered(turn, registry.ask(self.one, texts, prefs, catalogue), None)
            except registry.CalcError as problem:
                return messages.Answered(turn, None, problem)

        self.keeper.work(job, to=self)

    def on_answered(self, message: messages.Answered) -> None:
        if message.turn != self._turn:
            return
        self.answer, problem = message.answer, message.problem
        filled = self._texts()
        for row in self._rows():
            wrong = problem is not None and problem.input == row.field.key and row.field.key in filled
            row.show("", str(problem) if wrong else "")
        where = self.query_one("#answer", Static)
        if self.answer is not None:
            where.update(join(self._lines(self.answer)))
        elif problem is not None and problem.input in filled:
            where.update(say("!! Something above is not understood; nothing is lost.", "$text-error"))
        elif not filled:
            where.update(say("· The answer stands here as soon as there is one. F6 fills in an example.", "$foreground-muted"))
        else:
            where.update(say(f"· {problem}", "$foreground-muted"))

    def _lines(self, answer: registry.Answer) -> list[tuple[object, str] | str]:
        lines: list[tuple[object, str] | str] = [("\n".join(clean(line) for line in answer.lines), "bold")]
        lines += [(f"\n? {clean(o)}", "$text-warning") for o in answer.open]
        lines += [(f"\n▲ {clean(c)}", "$text-warning") for c in answer.cautions]
        return lines

    # -- what keys do ---------------------------------------------------------------------------------------------------

    def action_why(self) -> None:
        """Inputs as understood, formula, sources."""
        if self.answer is None:
            self.notify("There is no answer yet.", markup=False)
            return
        answer = self.answer
        text = "\n".join([*answer.lines, *answer.open, *answer.cautions])
        inputs = "\n".join(f"  {line}" for line in answer.inputs_understood)
        because = Because(text=f"{text}\n\nInputs as understood\n{inputs}", formula=answer.formula, sources=answer.sources)
        self.keeper.tell_why(self.one.title, because)

    def action_offer(self) -> None:
        """Goes through what is offered for the field with the cursor."""
        row = next((r for r in self._rows() if r.control.has_focus), None)
        if row is None or not row.field.suggest:
            self.notify("Nothing is offered for this field.", markup=False)
        else:
            row.offer()

    def action_example(self) -> None:
        """Fills in an example that can be answered, the next one each time."""
        example = self.one.examples[self._examples % len(self.one.examples)]
        self._examples += 1
        for row in self._rows():
            if row.field.key not in NOT_INPUTS:
                text = example.get(row.field.key, "")
                row.text = text if isinstance(text, str) else "; ".join(text)

    def action_clear(self) -> None:
        for row in self._rows():
            row.text = ""

    def action_log_it(self) -> None:
        """Writes the answer as a reading, after the doubts that a form would have too."""
        told = {r.field.key: r.text.strip() for r in self._rows()}
        tank, answer = told.get(TANK, ""), self.answer
        if answer is None or not tank:
            what = "There is no answer to log yet." if answer is None else "Choose the tank that it is a reading of, below."
            self.notify(what, markup=False)
            next(r for r in self._rows() if r.field.key == TANK).control.focus()
            return

        def question(workshop: Workshop) -> messages.ReadingReady:
            fitting(answer, workshop.recipe(tank), tank)
            raw = {**as_reading(answer, tank, told.get(LOT) or None), "at": self.keeper.clock().isoformat()}
            return messages.ReadingReady(raw, workshop.doubts_about(raw, self.keeper.clock()))

        self.keeper.ask(question, lambda found: found, to=self)

    def on_reading_ready(self, message: messages.ReadingReady) -> None:
        def log(sure: bool | None = True) -> None:
            if sure:
                self.keeper.write(
                    lambda w: w.log(message.raw), lambda logged: messages.Written("Logged: a reading", logged.changes)
                )

        if message.doubts:
            self.app.push_screen(
                ConfirmScreen("Is that right?", "\n".join(message.doubts), "Log it as it is", "Back to the form (n)"), log
            )
        else:
            log()

    def action_back(self) -> None:
        self.dismiss(None)


def fields_of(one: registry.Calculator, tanks: list[str]) -> list[Field]:
    """A field for each input, its example in place of a text; of what can be logged also the tank and the lot."""
    asked = []
    for i in one.inputs:
        choices = ("", *i.choices) if i.kind == "choice" else ()
        example = f"{i.example}" + ("" if i.required else f" (else {i.default})" if i.default else "")
        suggest = i.choices if i.kind != "choice" else ()
        asked.append(Field(i.name, i.label, lambda text: [], example, choices=choices, suggest=suggest))
    if tanks:
        asked.append(Field(TANK, "log it to", lambda text: [], choices=("", *tanks)))
        asked.append(Field(LOT, "lot of titrant", lambda text: [], "if you number them"))
    return asked
