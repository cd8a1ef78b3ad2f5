"""The plan for handing a container over, as a page that scrolls; it ends with the authority or a licensed contractor."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.message import Message
from textual.widgets import Static

from bathkeeper.ledger import HandOver, Held, Ledger
from bathkeeper.tui.advice_rows import MUTED, wrapped
from bathkeeper.tui.desk import Snapshot
from bathkeeper.tui.plain import clean, rows, say
from bathkeeper.tui.screens.containing import ContainingScreen
from bathkeeper.tui.widgets.keys import KeyLine
from bathkeeper.waste.plan_text import plan_lines
from bathkeeper.workshop import NotFound, Workshop

READING = 76  # a line of prose longer than this is hard to come back from
WARNED = ("must not touch it:", "before anything else:", "last step:")
GONE = ["No container of that name is on record any more; what named it was taken back. Esc goes back."]


class PlanSeen(Message):
    """The plan was made."""

    def __init__(self, lines: list[str], held: Held | None, hand_overs: list[HandOver]) -> None:
        super().__init__()
        self.lines = lines
        self.held = held
        self.hand_overs = hand_overs


class DisposalScreen(ContainingScreen):
    """Scrolls with the arrows and PageDown; h hands it over."""

    topic = "disposal"
    CSS_PATH = ["base.tcss", "waste.tcss"]
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f5", "copy", "Copy"),
        Binding("down,j", "scroll(1)", "Down", show=False),
        Binding("up,k", "scroll(-1)", "Up", show=False),
        Binding("pagedown,space", "scroll(15)", "Page down", show=False),
        Binding("pageup", "scroll(-15)", "Page up", show=False),
        Binding("home", "end(-1)", "To the beginning", show=False),
        Binding("end", "end(1)", "To the last step", show=False),
    ]

    def __init__(self, container: str) -> None:
        super().__init__()
        self.container = container
        self._lines: list[str] = ["Reckoning …"]
        self._held: Held | None = None
        self._handed: list[HandOver] = []

    def compose(self) -> ComposeResult:
        yield from self.top()
        with VerticalScroll(id="plan", can_focus=False):
            yield Static(id="plan-words", markup=False)
        yield KeyLine()

    async def on_mount(self) -> None:
        await self.show(self.keeper.snapshot)

    def heading(self, snapshot: Snapshot) -> str:
        return f"Plan for handing over {clean(self.container)}"

    async def show(self, snapshot: Snapshot) -> None:
        await super().show(snapshot)
        name, moment = self.container, self.keeper.clock()

        def question(workshop: Workshop) -> PlanSeen:
            ledger = Ledger(workshop)
            try:
                lines = plan_lines(ledger.plan(name, moment), workshop.preferences)
                return PlanSeen(lines, ledger.container(name, moment), ledger.hand_overs(moment))
            except NotFound:
                return PlanSeen(GONE, None, [])

        self.keeper.ask(question, lambda seen: seen, to=self)

    def on_plan_seen(self, message: PlanSeen) -> None:
        self._lines, self._held, self._handed = message.lines, message.held, message.hand_overs
        self._redraw()

    def on_resize(self) -> None:
        self.call_after_refresh(self._redraw)

    def _redraw(self) -> None:
        if self.query("#plan-words"):
            width = min(max(self.size.width - 4, 40), READING + 20)
            self.query_one("#plan-words", Static).update(plan_content(self._lines, width))

    @property
    def chosen(self) -> Held | None:
        return self._held

    @property
    def hand_overs(self) -> list[HandOver]:
        return self._handed

    def action_plan(self) -> None:
        """It is open already."""

    def action_scroll(self, by: int) -> None:
        self.query_one("#plan").scroll_relative(y=by, animate=False)

    def action_end(self, way: int) -> None:
        plan = self.query_one("#plan")
        plan.scroll_end(animate=False) if way > 0 else plan.scroll_home(animate=False)

    def action_copy(self) -> None:
        """The plan as text, to be printed or sent along."""
        self.app.copy_to_clipboard("\n".join(self._lines))
        self.notify("Copied.", markup=False)


def plan_content(lines: list[str], width: int) -> Content:
    """The lines of a plan as they are drawn: headings bold with a blank line before, what belongs to them hanging below."""
    told: list[Content] = []
    heading = ""
    for line in lines:
        bare = clean(line).strip()
        depth = len(line) - len(line.lstrip(" "))
        if depth == 0 and bare.endswith(":"):
            heading = bare
            style = "$text-warning bold" if bare in WARNED else "bold"
            told += [say(""), say(bare[0].upper() + bare[1:-1], f"{style} underline")]
        elif depth == 0:
            told.append(say(wrapped(bare, width, "", "  "), "bold" if not heading and not told else MUTED, lines=True))
        else:
            indent = " " * depth
            box = bare.startswith("[ ]")
            style = "$text-warning" if heading in WARNED else ""
            text = "□" + bare[3:] if box else bare
            told.append(say(wrapped(text, width, indent, indent + "  "), style, lines=True))
    return rows(told)
