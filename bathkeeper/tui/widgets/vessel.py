"""The line drawn as what it is: vessels in process order, each filled to its real level, its state in a word below."""

from __future__ import annotations

import math
from typing import ClassVar

from textual import events
from textual.app import RenderResult
from textual.binding import Binding, BindingType
from textual.containers import Grid
from textual.content import Content
from textual.message import Message
from textual.widget import Widget

from bathkeeper.due.words import Standing
from bathkeeper.estimate.view import TankView
from bathkeeper.tui.desk import Snapshot
from bathkeeper.tui.plain import join, pad, rows, say

BLOCKS = " ▁▂▃▄▅▆▇█"
NARROWEST = 13  # cells of a vessel with its gap
STYLE = {
    "now": "$text-error bold",
    "soon": "$text-warning bold",
    "later": "$foreground-muted",
    "keep": "$text-success",
    "none": "$foreground-muted",
}


def wall_rows(fraction: float, height: int) -> list[str]:
    """The filling of each row of a vessel, top first, as one block sign: eighths of a row are drawn."""
    eighths = round(min(max(fraction, 0.0), 1.0) * height * 8)
    if fraction > 0:
        eighths = max(eighths, 1)
    return [BLOCKS[min(max(eighths - row * 8, 0), 8)] for row in reversed(range(height))]


class Vessel(Widget, can_focus=True):
    """One tank of the row. Enter or a click opens it."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("enter", "open", "Open the tank")]

    class Opened(Message):
        """The keeper wants to see this tank."""

        def __init__(self, tank: str) -> None:
            super().__init__()
            self.tank = tank

    class Chosen(Message):
        """The cursor is on this tank."""

        def __init__(self, tank: str) -> None:
            super().__init__()
            self.tank = tank

    def __init__(self, view: TankView, standing: Standing) -> None:
        super().__init__()
        self.view = view
        self.standing = standing

    def show(self, view: TankView, standing: Standing) -> None:
        self.view, self.standing = view, standing
        self.refresh()

    def action_open(self) -> None:
        self.post_message(self.Opened(self.view.tank))

    def on_click(self, event: events.Click) -> None:
        event.stop()
        self.action_open()

    def on_focus(self) -> None:
        self.post_message(self.Chosen(self.view.tank))

    def render(self) -> RenderResult:
        width, height = self.size
        if width < 3 or height < 3:
            return Content("")
        roomy = height >= 8  # a line more below the word for what it is about
        wall = max(height - (4 if roomy else 3), 1)
        name = pad(self.view.tank, width)
        if name.endswith(" "):
            name = ("▸" if self.has_focus else " ") + name[:-1]
        lines = [say(name, "bold reverse" if self.has_focus else "bold")]
        lines += self._drawing(width, wall)
        word = f"{self.standing.sign} {self.standing.word}"
        lines.append(say(pad(word, width), STYLE[self.standing.level]))
        if roomy:
            about = self.standing.about if self.standing.about not in self.standing.word else ""
            lines.append(say(pad(f"   {about}" if about else "", width), "$foreground-muted"))
        return rows(lines)

    def _drawing(self, width: int, height: int) -> list[Content]:
        inner = width - 2
        if self.view.role == "dry":
            rack = [
                "┄" * width if row % 2 == 0 else pad("no bath", width, "centre") if row == 1 else " " * width
                for row in range(height)
            ]
            return [*(say(r, "$foreground-muted") for r in rack), say("▔" * width, "$foreground-muted")]
        full = self.view.working_volume_l
        litres = self.view.volume_l.value if self.view.alive else 0.0
        fraction = litres / full if full else (1.0 if litres > 0 else 0.0)
        label = f" {litres:.{1 if litres < 100 else 0}f} L " if self.view.alive else " empty "
        lines: list[Content] = []
        for number, block in enumerate(wall_rows(fraction, height)):
            filled = block * inner
            if number == height - 1 and len(label) <= inner:
                left = (inner - len(label)) // 2
                middle: list[tuple[str, str]] = [
                    (filled[:left], "$primary"),
                    (label, "bold"),
                    (filled[left + len(label) :], "$primary"),
                ]
            else:
                middle = [(filled, "$primary")]
            lines.append(join([("│", "$foreground-muted"), *middle, ("│", "$foreground-muted")]))
        lines.append(say("└" + "─" * inner + "┘", "$foreground-muted"))
        return lines


class VesselRow(Grid, can_focus=False):
    """All tanks, in as few rows as their names stay readable in. Arrows move between them."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("left", "move(-1)", "Tank before", show=False),
        Binding("right", "move(1)", "Tank after", show=False),
        Binding("up", "row(-1)", "Row above", show=False),
        Binding("down", "row(1)", "Row below", show=False),
        Binding("home", "end(0)", "First tank", show=False),
        Binding("end", "end(-1)", "Last tank", show=False),
    ]

    def __init__(self, id: str | None = None) -> None:
        super().__init__(id=id)
        self._columns = 1

    @property
    def vessels(self) -> list[Vessel]:
        return list(self.query(Vessel))

    @property
    def chosen(self) -> str | None:
        """The tank under the cursor."""
        return next((v.view.tank for v in self.vessels if v.has_focus), None)

    async def show(self, snapshot: Snapshot) -> None:
        """Draws the tanks of a snapshot; the cursor stays where it was."""
        before = self.vessels
        if [v.view.tank for v in before] == [t.tank for t in snapshot.tanks]:
            for vessel, view in zip(before, snapshot.tanks, strict=True):
                vessel.show(view, snapshot.standing(view.tank))
            return
        chosen = self.chosen
        await self.remove_children()
        await self.mount_all([Vessel(view, snapshot.standing(view.tank)) for view in snapshot.tanks])
        self._lay_out()
        focused = self.screen.focused
        if chosen is not None or focused is None or not focused.is_on_screen or not focused.display:
            self.choose(chosen)

    def choose(self, tank: str | None) -> None:
        """Puts the cursor on a tank; on the first one when it is not there."""
        found = [v for v in self.vessels if v.view.tank == tank] or self.vessels
        if found:
            found[0].focus()

    def on_resize(self) -> None:
        self._lay_out()

    def _lay_out(self) -> None:
        count = len(self.vessels)
        if not count or not self.size.width:
            return
        rows_needed = math.ceil(count / max(self.size.width // NARROWEST, 1))
        self._columns = math.ceil(count / rows_needed)
        self.styles.grid_size_columns = self._columns
        self.styles.grid_size_rows = rows_needed

    def action_move(self, by: int) -> None:
        vessels = self.vessels
        place = next((i for i, v in enumerate(vessels) if v.has_focus), None)
        if place is not None:
            vessels[(place + by) % len(vessels)].focus()

    def action_row(self, by: int) -> None:
        vessels = self.vessels
        place = next((i for i, v in enumerate(vessels) if v.has_focus), None)
        if place is None:
            return
        target = place + by * self._columns
        if 0 <= target < len(vessels):
            vessels[target].focus()
        elif by > 0 and place // self._columns < (len(vessels) - 1) // self._columns:
            vessels[-1].focus()
        else:  # past the edge of the row: on to what is above or below it
            self.screen.focus_next() if by > 0 and self._is_below() else None

    def _is_below(self) -> bool:
        self.vessels[-1].focus()
        return True

    def action_end(self, which: int) -> None:
        self.vessels[which].focus()
