"""A tank: contents against their windows, trend, entries, anodes, what was learned, what to do; one tab each."""

from __future__ import annotations

from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, VerticalScroll
from textual.content import Content
from textual.widgets import Button, OptionList, Static, TabbedContent, TabPane
from textual.widgets.option_list import Option

from bathkeeper.estimate.view import TankView
from bathkeeper.tui import messages
from bathkeeper.tui.ahead import with_ahead
from bathkeeper.tui.desk import Snapshot
from bathkeeper.tui.plain import clean, fit, rows, say
from bathkeeper.tui.screens import tank_words
from bathkeeper.tui.screens.advising import AdvisingScreen
from bathkeeper.tui.screens.entries import options_of, rows_of
from bathkeeper.tui.screens.line import finding_lines, numbers
from bathkeeper.tui.widgets.bar import content_line, indicator_line
from bathkeeper.tui.widgets.keys import KeyLine
from bathkeeper.tui.widgets.trend import TrendPlot

TABS = (
    ("contents", "Contents"),
    ("trend", "Trend"),
    ("entries", "Entries"),
    ("anodes", "Anodes"),
    ("learned", "Learned"),
    ("todo", "To do"),
)


class TankScreen(AdvisingScreen):
    """Tabs by 1 to 6; Enter on a line shows why, or the entry in full."""

    topic = "tank"
    CSS_PATH = ["base.tcss", "tank.tcss"]
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "back", "Line"),
        *(Binding(str(n), f"tab('{id}')", title, show=False) for n, (id, title) in enumerate(TABS, start=1)),
        Binding("left_square_bracket", "neighbour(-1)", "Tank before", show=False),
        Binding("right_square_bracket", "neighbour(1)", "Tank after", show=False),
        Binding("comma", "species(-1)", "Content before", show=False),
        Binding("full_stop", "species(1)", "Content after", show=False),
        Binding("x", "axis", "By date or Ah", show=False),
        Binding("d", "report", "Write its history", show=False),
    ]

    def __init__(self, tank: str) -> None:
        super().__init__()
        self.tank = tank
        self._of: str | None = None
        self._by_charge = False
        self._entries = messages.EntriesFound([], 0)
        self._asks: list[str | None] = []

    def compose(self) -> ComposeResult:
        yield from self.top()
        yield Static(id="detail", markup=False)
        with TabbedContent(id="tabs"):
            with TabPane("1 Contents", id="contents"):
                yield OptionList(id="contents-list", markup=False)
            with TabPane("2 Trend", id="trend"):
                with Horizontal(id="trend-keys"):
                    yield Button("◀ ,", id="before", compact=True)
                    yield Static(id="trend-of", markup=False)
                    yield Button(". ▶", id="after", compact=True)
                    yield Button("by Ah (x)", id="axis", compact=True)
                yield TrendPlot(id="plot")
            with TabPane("3 Entries", id="entries"):
                yield OptionList(id="entries-list", markup=False)
            with TabPane("4 Anodes", id="anodes"), VerticalScroll():
                yield Static(id="anodes-words", markup=False)
            with TabPane("5 Learned", id="learned"), VerticalScroll():
                yield Static(id="learned-words", markup=False)
            with TabPane("6 To do", id="todo"):
                yield OptionList(id="todo-list", markup=False)
        yield KeyLine()

    async def on_mount(self) -> None:
        self.query_one("#contents-list").focus()
        await self.show(self.keeper.snapshot)

    def heading(self, snapshot: Snapshot) -> str:
        standing = snapshot.standing(self.tank)
        about = standing.about if standing.about not in standing.word else ""
        return f"{self.tank}  {standing.sign} {standing.word} {about}".rstrip()

    @property
    def view(self) -> TankView | None:
        return self.keeper.snapshot.tank(self.tank)

    def on_resize(self) -> None:
        self.call_after_refresh(self._redraw)

    async def show(self, snapshot: Snapshot) -> None:
        await super().show(snapshot)
        if self.view is None:
            self.dismiss(None)
            return
        self._redraw()
        self._find_entries()
        self._find_trend()

    @property
    def _width(self) -> int:
        return max(self.size.width - 6, 40)  # padding of the pane and the list, and a scroll bar

    def _redraw(self) -> None:
        view, snapshot = self.view, self.keeper.snapshot
        if view is None:
            return
        warning = snapshot.warnings(self.tank)
        lines = [say(fit(numbers(view, snapshot.title(self.tank)), self.size.width - 2), "bold")]
        if warning:
            lines.append(say(fit(f"▲ {warning[0]}", (self.size.width - 2) * 2), "$text-warning"))
        self.query_one("#detail", Static).update(rows(lines))
        self._show_contents(view)
        self._show_entries()
        self.query_one("#anodes-words", Static).update(tank_words.anodes(view, self._width))
        self.query_one("#learned-words", Static).update(tank_words.learned(view, self._width))
        self._show_todo(snapshot)

    def _show_contents(self, view: TankView) -> None:
        options: list[Option] = []
        asks: list[str | None] = []

        def add(line: Content, ask: str | None = None) -> None:
            options.append(Option(line, disabled=ask is None))
            asks.append(ask)

        if not view.alive and not view.indicators:
            what = (
                "This is a place, not a bath."
                if view.role == "dry"
                else "No filling is on record. Press f to log the make-up: the bath's life counts from it."
            )
            add(say(what))
        for name, content in view.species.items():
            add(content_line(content, self._width), f"{self.tank}.{name}")
        if view.ratios:
            add(say("Ratios", "$foreground-muted"))
        for name, content in view.ratios.items():
            add(content_line(content, self._width), f"{self.tank}.{name}")
        if view.indicators:
            add(say("Read, not reckoned", "$foreground-muted"))
        for name, indicator in view.indicators.items():
            add(indicator_line(name, indicator, self._width), "")
        for jump in view.jumps[-3:]:
            add(say(tank_words.jump(jump), "$text-warning"))
        self._asks = asks
        refill(self.query_one("#contents-list", OptionList), options)

    def _show_todo(self, snapshot: Snapshot) -> None:
        own = [f for f in snapshot.due if f.tank == self.tank]
        options = [Option(finding_lines(f, self._width)) for f in own] or [
            Option(say("✓ Nothing is due of this tank.", "$text-success"), disabled=True)
        ]
        occasions = ("make_up", "addition", "run", "removal", "anode")
        warned = snapshot.warnings(self.tank, *occasions)
        if warned:
            options.append(Option(say("Cautions", "$foreground-muted"), disabled=True))
            options += [Option(say(f"▲ {clean(w)}", "$text-warning"), disabled=True) for w in dict.fromkeys(warned)]
        refill(self.query_one("#todo-list", OptionList), options)

    # -- entries and trend, asked for beside the screen -----------------------------------------------------------------

    def _find_entries(self) -> None:
        self.keeper.ask(lambda w: rows_of(w, self.tank), lambda found: found, to=self)

    def on_entries_found(self, message: messages.EntriesFound) -> None:
        self._entries = message
        self._show_entries()

    def _show_entries(self) -> None:
        options = options_of(self._entries, self._width + 1, "Nothing is logged of this tank yet.")
        refill(self.query_one("#entries-list", OptionList), options)

    def _find_trend(self) -> None:
        view = self.view
        kept = [n for n, c in view.species.items() if not c.dragged_in] if view is not None else []
        plot = self.query_one(TrendPlot)
        if not kept:
            plot.show(None, self._by_charge)
            self.query_one("#trend-of", Static).update("")
            return
        if self._of not in kept:
            self._of = kept[0]
        of, moment = self._of, self.keeper.clock()
        self.keeper.ask(
            lambda w: with_ahead(w, self.tank, str(of), moment), lambda found: messages.TrendFound(*found), to=self
        )

    def on_trend_found(self, message: messages.TrendFound) -> None:
        if message.trend.of != self._of:
            return
        how = "by ampere-hours" if self._by_charge else "by date"
        self.query_one("#trend-of", Static).update(say(fit(f" {message.trend.of} in {message.trend.unit}, {how} ", 44), "bold"))
        self.query_one("#axis", Button).label = Content("by date (x)" if self._by_charge else "by Ah (x)")
        self.query_one(TrendPlot).show(message.trend, self._by_charge, message.ahead)

    # -- what keys and clicks do ----------------------------------------------------------------------------------------

    @on(OptionList.OptionSelected, "#contents-list")
    def _content_selected(self, event: OptionList.OptionSelected) -> None:
        ask = self._asks[event.option_index]
        if ask:
            self.keeper.find_why(ask)

    @on(OptionList.OptionSelected, "#entries-list")
    def _entry_selected(self, event: OptionList.OptionSelected) -> None:
        if event.option_index < len(self._entries.rows):
            self.keeper.find_entry(self._entries.rows[event.option_index][0])

    @on(OptionList.OptionSelected, "#todo-list")
    def _todo_selected(self, event: OptionList.OptionSelected) -> None:
        own = [f for f in self.keeper.snapshot.due if f.tank == self.tank]
        if event.option_index < len(own):
            self.keeper.find_why(own[event.option_index].id)

    def action_back(self) -> None:
        self.dismiss(None)

    def action_tab(self, id: str) -> None:
        self.query_one(TabbedContent).active = id
        pane = self.query_one(f"#{id}", TabPane)
        inside = next((w for w in pane.query("OptionList, VerticalScroll, Button") if w.can_focus), None)
        if inside is not None:
            self.call_after_refresh(inside.focus)

    def action_neighbour(self, by: int) -> None:
        names = [t.tank for t in self.keeper.snapshot.tanks]
        self.keeper.open_tank(names[(names.index(self.tank) + by) % len(names)])

    def action_species(self, by: int) -> None:
        view = self.view
        kept = [n for n, c in view.species.items() if not c.dragged_in] if view is not None else []
        if kept:
            self._of = kept[(kept.index(self._of) + by) % len(kept)] if self._of in kept else kept[0]
            self._find_trend()

    def action_report(self) -> None:
        """The form of a report, about this tank."""
        from bathkeeper.tui.screens.report import ReportScreen

        self.app.push_screen(ReportScreen("bath", self.tank))

    def action_axis(self) -> None:
        self._by_charge = not self._by_charge
        self._find_trend()

    @on(Button.Pressed)
    def _pressed(self, event: Button.Pressed) -> None:
        if event.button.id == "axis":
            self.action_axis()
        else:
            self.action_species(-1 if event.button.id == "before" else 1)


def refill(where: OptionList, options: list[Option]) -> None:
    """New lines, the cursor where it was; on the first one that can be chosen when there was none."""
    place = where.highlighted
    where.clear_options()
    where.add_options(options)
    able = [i for i, o in enumerate(options) if not o.disabled]
    if able:
        where.highlighted = place if place in able else able[0]
