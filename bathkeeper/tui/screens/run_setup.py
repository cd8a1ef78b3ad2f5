"""Setting up a run: what hangs on the hooks, what is wished, and at once what to set; one key starts it."""

from __future__ import annotations

import re
from typing import Any, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.content import Content
from textual.message import Message
from textual.timer import Timer
from textual.widgets import Button, Input, Static, TextArea

from bathkeeper.bench import Bench
from bathkeeper.runs.library import KnownPart
from bathkeeper.runs.live import KINDS, LiveRun
from bathkeeper.runs.past import PastRun
from bathkeeper.tui.at_bench import ActRefused, LiveShown
from bathkeeper.tui.desk import Snapshot
from bathkeeper.tui.field import Field
from bathkeeper.tui.plain import clean, fit, rows, say
from bathkeeper.tui.planning import MEASURES, Outlook, Wished, outlook
from bathkeeper.tui.screens.base import BookScreen
from bathkeeper.tui.screens.form_rows import FieldRow
from bathkeeper.tui.widgets.choice import Choice
from bathkeeper.tui.widgets.keys import KeyLine
from bathkeeper.tui.widgets.lines import Words, after_typing

PAUSE_S = 0.25  # after the last keystroke, before it is worked out
DRAFT = "run to come"
NOT_LIKE = "no run; from the recipes"
COUNT = re.compile(r"^\s*\d+\s*(?:x|×|off|pcs)?\s+", re.IGNORECASE)
EXAMPLES = {"area": "or parts", "thickness": "wanted", "minutes": "as last", "current": "by area"}


class SetupKnown(Message):
    """What the screen needs of the book: ``parts`` known by name, ``likes``: label -> id of runs to do again."""

    def __init__(self, parts: dict[str, KnownPart], likes: dict[str, str]) -> None:
        super().__init__()
        self.parts = parts
        self.likes = likes


class OutlookFound(Message):
    """What was typed, worked out; ``turn``: which keystroke it belongs to, ``to_start``: the keeper wants to begin."""

    def __init__(self, found: Outlook, turn: int, to_start: bool) -> None:
        super().__init__()
        self.found = found
        self.turn = turn
        self.to_start = to_start


def label_of(run: PastRun) -> str:
    """A run in a few words."""
    area = f", {run.area_dm2:.3g} dm²" if run.area_dm2 else ""
    return f"{run.at:%d %b} {run.title}{area}"[:60]


class SetupScreen(BookScreen):
    """Ctrl+S or F10 starts, Escape leaves and keeps what was typed. ``like``: id of a run to do again; else the last one."""

    topic = "run to come"
    parts = (Choice,)
    AUTO_FOCUS = ""
    CSS_PATH = ["base.tcss", "run_setup.tcss"]
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f1", "help", "Help"),
        Binding("ctrl+s,f10", "start", "Start", key_display="^S", priority=True),
        Binding("f4", "offer", "Known parts"),
        Binding("f7", "clear", "Clear"),
        Binding("f9", "why", "Why"),
        Binding("escape", "leave", "Leave"),
        Binding("down", "app.focus_next", "Next field", show=False),
        Binding("up", "app.focus_previous", "Field before", show=False),
        Binding("pagedown,ctrl+down", "scroll(6)", "Read on", show=False),
        Binding("pageup,ctrl+up", "scroll(-6)", "Read back", show=False),
    ]

    def __init__(self, like: str | None = None) -> None:
        super().__init__()
        self._like = like
        self._known: dict[str, KnownPart] = {}
        self._likes: dict[str, str] = {}
        self._found: Outlook | None = None
        self._turn = 0
        self._offered = 0
        self._timer: Timer | None = None
        self._starting = False
        self._gone = False

    def compose(self) -> ComposeResult:
        yield from self.top()
        plating = [t.tank for t in self.keeper.snapshot.tanks if t.role == "plate" and t.in_service]
        with Horizontal(id="both"):
            with Vertical(id="asked"):
                yield FieldRow(Field("kind", "kind of run", lambda text: [], choices=KINDS), "", 11)
                with Horizontal(id="parts-row"):
                    yield Static("parts, one kind a line", id="parts-label", markup=False)
                    yield TextArea("", id="parts", soft_wrap=False, tab_behavior="focus", compact=True)
                    yield Static(id="understood", markup=False)
                yield Static(id="offers", markup=False)
                with Vertical(id="measures"):
                    for name, (_, unit) in MEASURES.items():
                        yield FieldRow(Field(name, name, lambda text: [], EXAMPLES[name], unit=unit), "", 9)
                if len(plating) > 1:
                    yield FieldRow(Field("tank", "tank", lambda text: [], choices=("", *plating)), "", 11)
                yield Static(id="like-row", markup=False)
            with VerticalScroll(id="told", can_focus=False):
                yield Words("head")
                yield Words("lines")
        with Horizontal(id="buttons"):
            yield Button("Start (Ctrl+S)", id="start", variant="primary", compact=True)
            yield Button("Leave (Esc)", id="leave", compact=True)
        yield KeyLine()

    async def on_mount(self) -> None:
        await self.show(self.keeper.snapshot)
        self.query_one("#parts").focus()
        self.keeper.ask_bench(lambda bench: self._gather(bench), lambda found: found, to=self)

    def _gather(self, bench: Bench) -> SetupKnown:
        plates = {t.tank for t in self.keeper.snapshot.tanks if t.role == "plate"}
        past = [r for r in bench.runs() if r.tank in plates]
        last = [r for r in past if r.id == self._like] or past[:1]
        return SetupKnown(bench.known_parts(), {label_of(r): r.id for r in last})

    async def on_setup_known(self, message: SetupKnown) -> None:
        self._known, self._likes = message.parts, message.likes
        choices = (*self._likes, NOT_LIKE)
        row = FieldRow(Field("like", "like", lambda text: [], choices=tuple(choices)), "", 11)
        await self.query_one("#asked").mount(row, after=self.query_one("#like-row"))
        self.query_one("#like-row").display = False
        kept = self.keeper.drafts.get(DRAFT) if self._like is None else {}
        if not self._area.text:  # what was typed meanwhile stays
            self._area.text = kept.get("parts", "")
        for one in self._rows():
            if one.field.key in kept and not one.text.strip():
                one.text = kept[one.field.key]
        names = " · ".join(clean(n) for n in list(self._known)[:12])
        offers = f"F4 offers: {names}" if names else "Parts named in runs with an area are offered here from then on."
        self.query_one("#offers", Static).update(say(fit(offers, self.size.width - 2)))
        self._work_soon()

    def heading(self, snapshot: Snapshot) -> str:
        return "A run to come"

    def show_live(self) -> None:
        """A run that is under way takes the place of one to come."""
        if self.keeper.at_bench.seen.run is not None and not self._starting:
            self.notify("A run is under way already; here it is.", markup=False)
            self._to_live()

    def _to_live(self) -> None:
        from bathkeeper.tui.screens.run_live import LiveScreen

        if not self._gone and self.app.screen is self:
            self._gone = True
            self.app.switch_screen(LiveScreen())

    # -- what was typed ------------------------------------------------------------------------------------------------

    @property
    def _area(self) -> TextArea:
        return self.query_one("#parts", TextArea)

    def _rows(self) -> list[FieldRow]:
        return list(self.query(FieldRow))

    def _texts(self) -> dict[str, str]:
        return {r.field.key: r.text.strip() for r in self._rows()}

    def _wished(self) -> Wished:
        texts = self._texts()
        like = self._likes.get(texts.get("like", ""))
        measures = {name: texts.get(name, "") for name in MEASURES}
        return Wished(texts.get("kind") or "plate", self._area.text, like, texts.get("tank") or None, measures)

    @on(Input.Changed)
    @on(TextArea.Changed)
    @on(Choice.Changed)
    def _typed(self) -> None:
        self._work_soon()

    @on(Input.Submitted)
    @on(Choice.Done)
    def _onward(self) -> None:
        self.focus_next()

    def _work_soon(self) -> None:
        self._turn += 1
        if self._timer is not None:
            self._timer.stop()
        self._timer = self.set_timer(PAUSE_S, lambda: self._work(to_start=False))

    def _work(self, to_start: bool) -> None:
        wished, known, turn = self._wished(), self._known, self._turn
        self.keeper.ask_bench(
            lambda bench: outlook(bench, wished, known), lambda found: OutlookFound(found, turn, to_start), to=self
        )

    def on_outlook_found(self, message: OutlookFound) -> None:
        if message.turn != self._turn and not message.to_start:
            return
        self._found = message.found
        self._draw(message.found)
        if message.to_start:
            self._start(message.found)

    # -- drawing -------------------------------------------------------------------------------------------------------

    def _draw(self, found: Outlook) -> None:
        where = self.query_one("#understood", Static)
        width = max(where.size.width - 1, 20)
        tall = self.size.height >= 34
        beside: list[Content] = []
        for text, why in found.part_lines[int(self._area.scroll_offset.y) :]:
            told = f"= {text}" if text else f"!! {why}" if why else ""
            beside.append(say(fit(told, width * 2 if tall else width), "$text-error" if why else "$text-success"))
        where.update(rows(beside))
        lines: list[Content] = [say(f"!! {why}", "$text-error") for _, why in found.part_lines if why]
        lines += [say(f"!! {name}: {text}", "$text-error") for name, text in found.refused.items()]
        if found.trouble:
            lines.append(say(f"!! {found.trouble}", "$text-error"))
        for line in found.lines:
            caution = line.startswith(("caution: ", "thread "))
            lines.append(say(f"▲ {line.removeprefix('caution: ')}" if caution else line, "$text-warning" if caution else ""))
        if not any(why for _, why in found.part_lines):  # beside the parts there is room for the area alone
            lines += [say(f"= {text}", "$text-success") for text, _ in found.part_lines if text]
        self.query_one("#head", Words).say(say(found.head, lines=True))
        self.query_one("#head").display = bool(found.head)
        self.query_one("#lines", Words).say(rows(lines))

    def on_resize(self) -> None:
        if self._found is not None:
            found = self._found
            self.call_after_refresh(lambda: self._draw(found))

    # -- what keys do --------------------------------------------------------------------------------------------------

    def action_start(self) -> None:
        """Works out what was typed last, then begins."""
        after_typing(self, self._work_and_start)

    def _work_and_start(self) -> None:
        self._turn += 1
        if self._timer is not None:
            self._timer.stop()
        self._work(to_start=True)

    def _start(self, found: Outlook) -> None:
        plan = found.plan
        if plan is None:
            self.notify("Something is not understood yet; it says so below.", severity="warning", markup=False)
            return
        if self._starting:
            return
        self._starting = True
        at = self.keeper.at_bench.now()

        def begin(bench: Bench) -> LiveRun:
            return bench.start(plan, at)

        self.keeper.act(begin, to=self)

    def on_live_shown(self, message: LiveShown) -> None:
        message.stop()
        self.keeper.drafts.keep(DRAFT, {})
        self.keeper.at_bench.take(message.seen)
        self._to_live()

    def on_act_refused(self, message: ActRefused) -> None:
        message.stop()
        self._starting = False
        self.notify(clean(message.text), title=clean(message.title), severity="warning", markup=False, timeout=8)

    def action_offer(self) -> None:
        """Puts the next known part into the line with the cursor; a count that stands there stays."""
        names = [clean(n) for n in self._known]
        if not names:
            self.notify("No part is known by name yet; runs with an area teach them.", markup=False)
            return
        area = self._area
        row = area.cursor_location[0]
        line = area.document.get_line(row)
        count = COUNT.match(line)
        name = names[self._offered % len(names)]
        self._offered += 1
        area.replace(f"{count[0] if count else ''}{name}", (row, 0), (row, len(line)))
        area.move_cursor((row, len(area.document.get_line(row))))
        area.focus()

    def action_clear(self) -> None:
        self._area.text = ""
        for row in self._rows():
            if not row.field.choices:
                row.text = ""

    def action_why(self) -> None:
        """Formula and sources of what is to be set."""
        setting = self._found.setting if self._found is not None else None
        if setting is None:
            self.notify("There is nothing worked out yet.", markup=False)
        else:
            self.keeper.tell_why("What to set", setting.because)

    def action_scroll(self, by: int) -> None:
        self.query_one("#told").scroll_relative(y=by, animate=False)

    def action_leave(self) -> None:
        texts: dict[str, Any] = {**{k: t for k, t in self._texts().items() if k in MEASURES}, "parts": self._area.text}
        self.keeper.drafts.keep(DRAFT, texts if any(t.strip() for t in texts.values()) else {})
        self._gone = True
        self.dismiss(None)

    @on(Button.Pressed)
    def _pressed(self, event: Button.Pressed) -> None:
        {"start": self.action_start, "leave": self.action_leave}[event.button.id or ""]()


