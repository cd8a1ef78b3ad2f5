"""Waste: the containers with their age and checklist, where every litre went, what was handed over; one side each."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal
from textual.content import Content
from textual.message import Message
from textual.widgets import Button, OptionList, Static
from textual.widgets.option_list import Option

from bathkeeper.ledger import HandOver, Held, Ledger, WasteStatus
from bathkeeper.tui.account_words import account_lines, account_rows
from bathkeeper.tui.advice_rows import MUTED, Row, heading, options_of_rows, row_at
from bathkeeper.tui.desk import Snapshot
from bathkeeper.tui.plain import clean, say
from bathkeeper.tui.screens.containing import ContainingScreen
from bathkeeper.tui.screens.tank import refill
from bathkeeper.tui.waste_words import attention, container_lines, handed_row, name_width
from bathkeeper.tui.widgets.keys import KeyLine
from bathkeeper.tui.widgets.lines import Words
from bathkeeper.units.numerals import Preferences
from bathkeeper.workshop import Workshop

SIDES = (("containers", "Containers"), ("account", "Where every litre went"), ("handed", "Handed over"))
NOTHING = (
    "No container is on record yet. n opens one. Solution that is taken out (o on the line) to a name that is no tank opens "
    "one of that name by itself."
)
NOTHING_HANDED = "Nothing was handed over yet. h on a container opens the form."
WIDE = 100


@dataclass(frozen=True)
class WasteLook:
    """The status and how the workshop writes numbers."""

    status: WasteStatus
    prefs: Preferences


def _account(look: WasteLook, width: int) -> Content:
    return account_lines(look.status.account, look.status.unaccounted_g, look.prefs, width)


class WasteSeen(Message):
    """The waste was looked at."""

    def __init__(self, look: WasteLook) -> None:
        super().__init__()
        self.look = look


class WasteScreen(ContainingScreen):
    """1 to 3 turn to the other sides; Enter opens a container, an entry, or the papers of a hand-over."""

    topic = "waste"
    CSS_PATH = ["base.tcss", "waste.tcss"]
    BINDINGS: ClassVar[list[BindingType]] = [
        *(Binding(str(n), f"side('{id}')", title, show=False) for n, (id, title) in enumerate(SIDES, start=1)),
        Binding("w", "why", "Why", show=False),
    ]

    def __init__(self, side: str = "containers") -> None:
        super().__init__()
        self._side = side
        self.look: WasteLook | None = None
        self._rows: list[Row] = []

    def compose(self) -> ComposeResult:
        yield from self.top()
        with Horizontal(id="choices"):
            for number, (id, title) in enumerate(SIDES, start=1):
                yield Button(f"{number} {title}", id=f"side-{id}", compact=True)
        yield OptionList(id="containers", markup=False)
        yield OptionList(id="rows", markup=False)
        yield Static(id="account", markup=False)
        yield Words("whom")
        yield KeyLine()

    async def on_mount(self) -> None:
        self.action_side(self._side)
        await self.show(self.keeper.snapshot)

    def heading(self, snapshot: Snapshot) -> str:
        if self.look is None:
            return "Waste"
        held = [c for c in self.look.status.containers if not c.empty]
        wants = sum(attention(c) for c in held)
        looked = f", {wants} to look at" if wants else ""
        return f"Waste: {len(held)} container{'' if len(held) == 1 else 's'} in use{looked}"

    async def show(self, snapshot: Snapshot) -> None:
        await super().show(snapshot)
        moment = self.keeper.clock()

        def question(workshop: Workshop) -> WasteLook:
            return WasteLook(Ledger(workshop).status(moment), workshop.preferences)

        self.keeper.ask(question, WasteSeen, to=self)

    async def on_waste_seen(self, message: WasteSeen) -> None:
        self.look = message.look
        await ContainingScreen.show(self, self.keeper.snapshot)
        self._redraw()

    def on_resize(self) -> None:
        self.call_after_refresh(self._redraw)

    def _redraw(self) -> None:
        look = self.look
        if look is None or not self.query("#containers"):
            return
        status, width = look.status, max(self.size.width - 6, 40)
        where = self.query_one("#containers", OptionList)
        name_w = name_width([c.container for c in status.containers], width)
        options = [Option(container_lines(c, look.prefs, width, name_w)) for c in status.containers]
        refill(where, options or [Option(say(NOTHING), disabled=True)])
        self._rows = self._other_rows(look)
        refill(self.query_one("#rows", OptionList), options_of_rows(self._rows, width))
        self.query_one("#account", Static).update(_account(look, self.size.width - 4))
        which = f"{status.rule_set_title}; {status.rule_set_date}"
        whom = f"▲ The authority or a licensed contractor decides, not this program. {which}."
        self.query_one("#whom", Words).say(say(whom, MUTED))

    def _other_rows(self, look: WasteLook) -> list[Row]:
        if self._side == "account":
            status = look.status
            return account_rows(status.account, status.unaccounted_g, look.prefs, status.ask_first)
        if not look.status.handed_over:
            return [Row(NOTHING_HANDED, MUTED, "·")]
        return [heading("Newest first"), *(handed_row(h, look.prefs) for h in reversed(look.status.handed_over))]

    # -- what keys are about -----------------------------------------------------------------------------------------------

    @property
    def chosen(self) -> Held | None:
        place = self.query_one("#containers", OptionList).highlighted
        if self.look is None or place is None or place >= len(self.look.status.containers):
            return None
        return self.look.status.containers[place]

    @property
    def hand_overs(self) -> list[HandOver]:
        return list(self.look.status.handed_over) if self.look is not None else []

    @property
    def handed(self) -> HandOver | None:
        if self._side != "handed":
            waiting = [h for h in self.hand_overs if h.waits]
            return waiting[-1] if waiting else None
        place = self.query_one("#rows", OptionList).highlighted
        listed = self.hand_overs[::-1]
        under = listed[place - 1] if place is not None and 0 < place <= len(listed) else None
        return under if under is not None and under.waits else None

    # -- what keys do ------------------------------------------------------------------------------------------------------

    def action_side(self, id: str) -> None:
        """Another side."""
        self._side = id
        for name, _ in SIDES:
            self.query_one(f"#side-{name}", Button).variant = "primary" if name == id else "default"
        self.query_one("#containers").display = id == "containers"
        self.query_one("#rows").display = id != "containers"
        self.query_one("#account").display = id == "containers"
        rows = self.query_one("#rows", OptionList)
        rows.highlighted = None
        self._redraw()
        rows.scroll_home(animate=False)
        self.set_focus(self.query_one("#containers" if id == "containers" else "#rows"))  # at once: the next key is for it

    @on(Button.Pressed)
    def _pressed(self, event: Button.Pressed) -> None:
        self.action_side((event.button.id or "side-containers").removeprefix("side-"))

    @on(OptionList.OptionSelected, "#containers")
    def _open(self) -> None:
        from bathkeeper.tui.screens.container import ContainerScreen

        if self.chosen is not None:
            self.app.push_screen(ContainerScreen(self.chosen.container))

    @on(OptionList.OptionSelected, "#rows")
    def action_why(self) -> None:
        """What the row under the cursor rests on, or the entry that it tells of."""
        row = row_at(self.query_one("#rows", OptionList), self._rows) if self._side != "containers" else None
        if row is not None and row.leads is not None:
            self.keeper.find_entry(row.leads[1])
        elif row is not None and row.why is not None:
            self.keeper.tell_why(clean(row.why[0]), row.why[1])

    def action_report(self) -> None:
        """Here it is the register of a period, about everything that was kept and handed over."""
        self.open_report("register")
