"""Safety: what can hurt in this workshop by tank and by substance, the grid of what must not meet, and what to do first."""

from __future__ import annotations

from typing import ClassVar

import msgspec
from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, ScrollableContainer
from textual.content import Content
from textual.widgets import Button, OptionList, Static
from textual.widgets.option_list import Option

from bathkeeper.answers.hazards import by_tank
from bathkeeper.answers.matrix import LEGEND, Grid, grid
from bathkeeper.counsel.dangers import dangers_of
from bathkeeper.findings import Finding
from bathkeeper.tui import messages
from bathkeeper.tui.advice_rows import Row, options_of_rows, row_at
from bathkeeper.tui.danger_rows import danger_lines, response_rows, substance_rows
from bathkeeper.tui.desk import Snapshot
from bathkeeper.tui.plain import fit, join, pad, rows, say
from bathkeeper.tui.screens.base import BookScreen
from bathkeeper.tui.screens.tank import refill
from bathkeeper.tui.widgets.keys import KeyLine
from bathkeeper.workshop import Workshop

LONGEST_NAME = 24
SIDES = (("hazards", "By tank"), ("meet", "Must not meet"), ("substances", "Substances"), ("first", "First help"))


class SafetyScreen(BookScreen):
    """Enter on a line: why, with its source. 1 to 4 turn to the other sides."""

    topic = "safety"
    CSS_PATH = ["base.tcss", "safety.tcss"]
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "back", "Back"),
        Binding("w", "why", "Why"),
        *(Binding(str(n), f"side('{id}')", title) for n, (id, title) in enumerate(SIDES, start=1)),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._findings: list[Finding | None] = []
        self._found: messages.SafetyFound | None = None
        self._side = "hazards"
        self._rows: list[Row] = []

    def compose(self) -> ComposeResult:
        yield from self.top()
        with Horizontal(id="choices"):
            for number, (id, title) in enumerate(SIDES, start=1):
                yield Button(f"{number} {title}", id=id, compact=True)
        yield OptionList(id="findings", markup=False)
        yield OptionList(id="rows", markup=False)
        with ScrollableContainer(id="scroll"):
            yield Static(id="grid", markup=False)
        yield KeyLine()

    async def on_mount(self) -> None:
        self.action_side("hazards")
        await self.show(self.keeper.snapshot)

    def heading(self, snapshot: Snapshot) -> str:
        return "Safety"

    async def show(self, snapshot: Snapshot) -> None:
        await super().show(snapshot)
        moment = self.keeper.clock()

        def question(workshop: Workshop) -> messages.SafetyFound:
            dangers = dangers_of(workshop, moment)
            return messages.SafetyFound(dangers, grid(dangers.must_not_meet))

        self.keeper.ask(question, lambda found: found, to=self)

    def on_safety_found(self, message: messages.SafetyFound) -> None:
        self._found = message
        self._redraw()

    def on_resize(self) -> None:
        self.call_after_refresh(self._redraw)

    def _redraw(self) -> None:
        if self._found is None:
            return
        width = max(self.size.width - 6, 40)
        options: list[Option] = []
        self._findings = []
        for tank, findings in by_tank(self._found.findings):
            options.append(Option(say(fit(tank, width), "bold underline"), disabled=True))
            self._findings.append(None)
            for finding in findings:
                options.append(Option(danger_lines(finding, width)))
                self._findings.append(finding)
        nothing = Option(say("Nothing is on record that could hurt. The usual care holds all the same."), disabled=True)
        refill(self.query_one("#findings", OptionList), options or [nothing])
        self.query_one("#grid", Static).update(grid_content(self._found.grid, self.size.width - 6))
        made = {"substances": substance_rows, "first": response_rows}.get(self._side)
        self._rows = made(self._found.dangers) if made is not None else []
        refill(self.query_one("#rows", OptionList), options_of_rows(self._rows, width))

    @on(OptionList.OptionSelected, "#rows")
    def _row_selected(self) -> None:
        self.action_why()

    @on(OptionList.OptionSelected, "#findings")
    def _selected(self, event: OptionList.OptionSelected) -> None:
        self._tell_why(event.option_index)

    def action_why(self) -> None:
        """Of the line under the cursor."""
        if self._side in ("substances", "first"):
            row = row_at(self.query_one("#rows", OptionList), self._rows)
            if row is not None and row.why is not None:
                self.keeper.tell_why(*row.why)
            return
        place = self.query_one("#findings", OptionList).highlighted
        if place is not None:
            self._tell_why(place)

    def _tell_why(self, place: int) -> None:
        finding = self._findings[place] if place < len(self._findings) else None
        if finding is not None:
            because = msgspec.structs.replace(finding.because, text=f"{finding.why}\n\n{finding.because.text}".strip())
            self.keeper.tell_why(finding.what, because)

    def action_side(self, id: str) -> None:
        """One of the four sides: the findings by tank, the grid, the substances, what to do first."""
        self._side = id
        where = {"hazards": "#findings", "meet": "#scroll"}.get(id, "#rows")
        for side, _ in SIDES:
            self.query_one(f"#{side}", Button).variant = "primary" if side == id else "default"
        for one in ("#findings", "#scroll", "#rows"):
            self.query_one(one).display = one == where
        self.query_one("#rows", OptionList).highlighted = None
        self._redraw()
        self.set_focus(self.query_one(where))  # at once: the next key is for it

    @on(Button.Pressed)
    def _pressed(self, event: Button.Pressed) -> None:
        self.action_side(event.button.id or "hazards")

    def action_back(self) -> None:
        self.dismiss(None)


def grid_content(grid: Grid, width: int) -> Content:
    """The grid with names at the left, numbered like the columns."""
    if not grid.names:
        return say("Of what is on record here, no two are known that must not meet.", lines=True)
    room = min(max(len(n) for n in grid.names), LONGEST_NAME)
    lines = [say(legend, "$foreground-muted") for legend in _legend(width)]
    lines += [join([" " * (room + 4), (head, "$foreground-muted")]) for head in grid.heads if head.strip()]
    for number, (name, cells) in enumerate(zip(grid.names, grid.rows, strict=True), start=1):
        parts: list[Content | tuple[object, str] | str] = [(f"{number:>2} ", "$foreground-muted"), pad(name, room), " "]
        for sign in cells:
            parts.append((sign, {"X": "$text-error bold", "o": "$text-warning"}.get(sign, "$foreground-muted")))
        lines.append(join(parts))
    if grid.apart:
        lines += [say(""), say(f"Of these no such pair is known: {', '.join(grid.apart)}", "$foreground-muted")]
    return rows(lines)


def _legend(width: int) -> list[str]:
    return [LEGEND] if len(LEGEND) <= width else [part.strip() for part in LEGEND.split("   ")]
