"""A container of waste: what it holds as ranges, where that came from, what may not touch it, codes, checks, what was done."""

from __future__ import annotations

from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.message import Message
from textual.widgets import OptionList

from bathkeeper.ledger import HandOver, Held, Ledger
from bathkeeper.tui.advice_rows import MUTED, Row, options_of_rows, row_at
from bathkeeper.tui.desk import Snapshot
from bathkeeper.tui.plain import clean, rows, say
from bathkeeper.tui.screens.containing import ContainingScreen
from bathkeeper.tui.screens.tank import refill
from bathkeeper.tui.waste_words import Look, head_lines, look_at, rows_of
from bathkeeper.tui.widgets.keys import KeyLine
from bathkeeper.tui.widgets.lines import Words
from bathkeeper.workshop import NotFound, Workshop

GONE = "No container of that name is on record any more; what named it was taken back. Esc goes back."


class ContainerSeen(Message):
    """The container was looked at; None where it is not on record any more."""

    def __init__(self, look: Look | None, hand_overs: list[HandOver]) -> None:
        super().__init__()
        self.look = look
        self.hand_overs = hand_overs


class ContainerScreen(ContainingScreen):
    """Enter or w: what a row rests on, or the entry that it tells of. [ and ] go to the containers beside it."""

    topic = "container"
    CSS_PATH = ["base.tcss", "waste.tcss"]
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("w", "why", "Why", show=False),
        Binding("left_square_bracket", "neighbour(-1)", "Container before", show=False),
        Binding("right_square_bracket", "neighbour(1)", "Container after", show=False),
    ]

    def __init__(self, container: str) -> None:
        super().__init__()
        self.container = container
        self.look: Look | None = None
        self._handed: list[HandOver] = []
        self._rows: list[Row] = [Row("Looking …", MUTED, "·")]

    def compose(self) -> ComposeResult:
        yield from self.top()
        yield Words("head")
        yield OptionList(id="page", markup=False)
        yield KeyLine()

    async def on_mount(self) -> None:
        self.query_one("#page").focus()
        await self.show(self.keeper.snapshot)

    def heading(self, snapshot: Snapshot) -> str:
        return f"Container {clean(self.container)}"

    async def show(self, snapshot: Snapshot) -> None:
        await super().show(snapshot)
        name, moment = self.container, self.keeper.clock()

        def question(workshop: Workshop) -> ContainerSeen:
            ledger = Ledger(workshop)
            try:
                return ContainerSeen(look_at(ledger, name, moment), ledger.hand_overs(moment))
            except NotFound:
                return ContainerSeen(None, [])

        self.keeper.ask(question, lambda seen: seen, to=self)

    def on_container_seen(self, message: ContainerSeen) -> None:
        if message.look is not None and message.look.held.container != self.container:
            return  # the keeper has gone on to another one
        self.look, self._handed = message.look, message.hand_overs
        self._rows = rows_of(message.look) if message.look is not None else [Row(GONE, "$text-warning", "?")]
        self._redraw()

    def on_resize(self) -> None:
        self.call_after_refresh(self._redraw)

    def _redraw(self) -> None:
        if not self.query("#page"):
            return
        head = head_lines(self.look, self.size.width - 2) if self.look is not None else []
        self.query_one("#head", Words).say(rows([say(text, style) for text, style in head]))
        refill(self.query_one("#page", OptionList), options_of_rows(self._rows, max(self.size.width - 6, 40)))

    @property
    def chosen(self) -> Held | None:
        return self.look.held if self.look is not None else None

    @property
    def hand_overs(self) -> list[HandOver]:
        return self._handed

    @on(OptionList.OptionSelected, "#page")
    def action_why(self) -> None:
        """What the row under the cursor rests on, or the entry that it tells of."""
        row = row_at(self.query_one("#page", OptionList), self._rows)
        if row is not None and row.leads is not None:
            self.keeper.find_entry(row.leads[1])
        elif row is not None and row.why is not None:
            self.keeper.tell_why(clean(row.why[0]), row.why[1])

    def action_neighbour(self, by: int) -> None:
        """The container before or after this one."""
        names = list(self.look.beside) if self.look is not None else []
        if len(names) > 1 and self.container in names:
            self.container = names[(names.index(self.container) + by) % len(names)]
            where = self.query_one("#page", OptionList)
            where.highlighted = None
            where.scroll_home(animate=False)
            self.call_later(self.show, self.keeper.snapshot)
