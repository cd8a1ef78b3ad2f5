"""The line, home of the app: the tanks as vessels, and beside them what is due, most urgent first, each with its why."""

from __future__ import annotations

from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.content import Content
from textual.widgets import Button, OptionList, Static
from textual.widgets.option_list import Option

from bathkeeper.due.words import SIGNS
from bathkeeper.estimate.view import TankView
from bathkeeper.findings import Finding
from bathkeeper.tui.desk import Snapshot
from bathkeeper.tui.live_words import STYLES as STATE_STYLES
from bathkeeper.tui.live_words import offer
from bathkeeper.tui.plain import clean, fit, join, say
from bathkeeper.tui.screens.advising import AdvisingScreen
from bathkeeper.tui.widgets.keys import KeyLine
from bathkeeper.tui.widgets.lines import Words
from bathkeeper.tui.widgets.vessel import STYLE, Vessel, VesselRow

EMPTY = """There is no line in this book yet.

Press  l  to set up a line from the template (it asks only for the workshop's name),
or  s  to look at the sample, half a year of an invented workshop.

The book is kept at"""


class LineScreen(AdvisingScreen):
    """Vessels above, what is due below."""

    topic = "line"
    parts = (Vessel, VesselRow)
    AUTO_FOCUS = ""
    CSS_PATH = ["base.tcss", "line.tcss"]
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("w", "why", "Why"),
        Binding("l", "app.lay_out", "Set up a line", show=False),
        Binding("s", "app.sample", "Sample", show=False),
        Binding("d", "due", "Due", show=False),
    ]

    def compose(self) -> ComposeResult:
        yield from self.top()
        with Vertical(id="empty"):
            yield Static(id="empty-words", markup=False)
            yield Button("Set up a line (l)", id="lay-out", variant="primary")
            yield Button("Open the sample (s)", id="sample")
        with Vertical(id="filled"):
            yield VesselRow(id="row")
            yield Static(id="detail", markup=False)
            yield Words("under-way")
            yield OptionList(id="due", markup=False)
        yield KeyLine()

    async def on_mount(self) -> None:
        self.query_one("#due").tooltip = Content("Enter: why")
        await self.show(self.keeper.snapshot)

    def heading(self, snapshot: Snapshot) -> str:
        urgent = sum(f.level == "now" for f in snapshot.due)
        return f"{urgent} due now, {len(snapshot.due) - urgent} later" if snapshot.due else ""

    async def show(self, snapshot: Snapshot) -> None:
        await super().show(snapshot)
        empty = not snapshot.tanks
        self.query_one("#empty").display = empty
        self.query_one("#filled").display = not empty
        if empty:
            words = "Opening the book …" if self.keeper.opening else f"{EMPTY} {clean(snapshot.path)}"
            self.query_one("#empty-words", Static).update(say(words, lines=True))
            for button in self.query(Button):
                button.display = not self.keeper.opening
            if not self.keeper.opening and self.focused is None:
                self.query_one("#lay-out").focus()
            return
        await self.query_one(VesselRow).show(snapshot)
        self._show_due(snapshot)
        self._show_detail()
        self.show_live()

    def show_live(self) -> None:
        """A line for the run that is under way, and how to go on with it."""
        seen, words = self.keeper.at_bench.seen, self.query_one("#under-way", Words)
        wanted = seen.run is not None or bool(seen.trouble)
        if words.display != wanted:
            words.display = wanted
        if seen.run is not None:
            now = self.keeper.at_bench.tick()
            words.say(say(fit(offer(seen.run, now), self.size.width - 2), f"bold {STATE_STYLES[seen.run.state(now)]}"))
        elif seen.trouble:
            words.say(say(fit(f"!! {seen.trouble}", (self.size.width - 2) * 2), "$text-error"))

    def on_resize(self) -> None:
        self.call_after_refresh(self._redraw)

    def _redraw(self) -> None:
        self._show_due(self.keeper.snapshot)
        self._show_detail()

    def _show_due(self, snapshot: Snapshot) -> None:
        due = self.query_one("#due", OptionList)
        place = due.highlighted
        due.clear_options()
        width = max((due.scrollable_content_region.width or self.size.width) - 2, 20)
        options = [Option(finding_lines(f, width)) for f in snapshot.due]
        due.add_options(options or [Option(say(f"{SIGNS['keep']} Nothing is due.", STYLE["keep"]), disabled=True)])
        if place is not None and options:
            due.highlighted = min(place, len(options) - 1)

    def _show_detail(self) -> None:
        tank = self.query_one(VesselRow).chosen or self._last_tank
        view = self.keeper.snapshot.tank(tank) if tank else None
        if view is None:
            return
        warning = self.keeper.snapshot.warnings(view.tank)
        lines = [say(fit(numbers(view, self.keeper.snapshot.title(view.tank)), self.size.width - 2), "bold")]
        lines.append(say(fit(f"▲ {warning[0]}", (self.size.width - 2) * 2), "$text-warning") if warning else say(""))
        self.query_one("#detail", Static).update(Content("\n").join(lines))

    _last_tank: str | None = None

    @on(Vessel.Chosen)
    def _chosen(self, message: Vessel.Chosen) -> None:
        self._last_tank = message.tank
        self._show_detail()

    @on(Vessel.Opened)
    def _opened(self, message: Vessel.Opened) -> None:
        self.keeper.open_tank(message.tank)

    @on(OptionList.OptionSelected, "#due")
    def _due_selected(self, event: OptionList.OptionSelected) -> None:
        self._ask_why(event.option_index)

    def _ask_why(self, place: int) -> None:
        due = self.keeper.snapshot.due
        if 0 <= place < len(due):
            self.keeper.find_why(due[place].id)

    @on(Button.Pressed, "#lay-out")
    def _lay_out_pressed(self) -> None:
        self.keeper.action_lay_out()

    @on(Button.Pressed, "#sample")
    def _sample_pressed(self) -> None:
        self.keeper.action_sample()

    @property
    def tank(self) -> str | None:
        """The tank that a form should begin with: that of the due item under the cursor, or the chosen one."""
        due = self.query_one("#due", OptionList)
        findings = self.keeper.snapshot.due
        if due.has_focus and due.highlighted is not None and due.highlighted < len(findings):
            return findings[due.highlighted].tank
        return self.query_one(VesselRow).chosen or self._last_tank

    def action_due(self) -> None:
        due = self.query_one("#due", OptionList)
        due.focus()
        if due.highlighted is None and due.option_count:
            due.highlighted = 0

    def action_why(self) -> None:
        """Of the due item under the cursor, or of the most urgent one of the chosen tank."""
        due = self.query_one("#due", OptionList)
        if due.has_focus and due.highlighted is not None:
            self._ask_why(due.highlighted)
            return
        findings = self.keeper.snapshot.due
        own = next((i for i, f in enumerate(findings) if f.tank == self.tank), None)
        if own is None:
            self.notify("Nothing is due of this tank.", markup=False)
        else:
            self._ask_why(own)


def finding_lines(finding: Finding, width: int, *, tank: bool = True) -> Content:
    """Two lines: sign, tank (unless it stands above) and what; then why."""
    sign = SIGNS[finding.level]
    by = f"  by {finding.by:%d %b}" if finding.by is not None else ""
    where = f"{clean(finding.tank)}: " if tank else ""
    head = f"{sign:<2} {where}{clean(finding.what)}{by}"
    return join([(fit(head, width), STYLE[finding.level]), "\n", (fit(f"   {finding.why}", width), "$foreground-muted")])


def numbers(view: TankView, title: str) -> str:
    """A tank in one line: what it is, how full, how old, what it has done since its make-up."""
    parts = [view.tank]
    if view.alive:
        full = f" of {view.working_volume_l:g}" if view.working_volume_l else ""
        parts.append(f"{view.volume_l.value:.1f}{full} L")
        if view.life_days is not None:
            parts.append(f"{view.life_days:.0f} d old")
        if view.charge_ah["since_make_up"] > 0:
            parts.append(f"{view.charge_ah['since_make_up']:.0f} Ah")
        if view.area_dm2["since_make_up"] > 0:
            parts.append(f"{view.area_dm2['since_make_up']:.0f} dm²")
    return " · ".join([*parts, title or view.role])
