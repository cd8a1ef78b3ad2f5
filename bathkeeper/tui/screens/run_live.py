"""The live run: the present step and its clock big enough for arm's length, what comes next, and every step with its mark."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.content import Content

from bathkeeper.bench import Bench, saying
from bathkeeper.runs.live import LiveRun, Tick
from bathkeeper.tui import live_words
from bathkeeper.tui.at_bench import ActRefused, LiveSeen, LiveShown, RunLogged
from bathkeeper.tui.desk import Snapshot
from bathkeeper.tui.messages import Written
from bathkeeper.tui.plain import clean, fit, pad, rows, say
from bathkeeper.tui.screens.ask_line import AskLine
from bathkeeper.tui.screens.base import BookScreen
from bathkeeper.tui.screens.run_finish import FinishScreen
from bathkeeper.tui.widgets.big import biggest
from bathkeeper.tui.widgets.keys import KeyLine
from bathkeeper.tui.widgets.lines import Words

TICK_S = 0.5  # the clock on the screen is never more than this behind
MARK_STYLES = {"NOW": "bold", "next": "bold", "done": "$foreground-muted", "skip": "$foreground-muted", "": ""}


class LiveScreen(BookScreen):
    """Enter goes on, Space pauses; Escape goes back to the line while the run goes on."""

    topic = "live run"
    AUTO_FOCUS = ""
    CSS_PATH = ["base.tcss", "run_live.tcss"]
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter,f2", "next", "Next", key_display="⏎"),
        Binding("space,f3", "pause", "Pause", key_display="Space"),
        Binding("c,f4", "say", "Say", key_display="c"),
        Binding("s,f6", "skip", "Skip", key_display="s"),
        Binding("r,f5", "repeat", "Repeat", key_display="r"),
        Binding("b,f7", "back", "Back", key_display="b"),
        Binding("f,f10", "finish", "Finish", key_display="f"),
        Binding("n,f8", "note", "Note", key_display="n"),
        Binding("o,f9", "out", "Out", show=False),
        Binding("a,f12", "abandon", "Abandon", show=False),
        Binding("escape", "leave", "Line"),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._busy = False
        self._ending = False  # this window is ending the run: what a look finds meanwhile is its own doing
        self._ended = False

    def compose(self) -> ComposeResult:
        yield from self.top()
        with Horizontal(id="live"):
            with Vertical(id="now"):
                for name in ("state", "here", "clock", "caption", "electric", "next-word", "next", "hint", "oven", "odd"):
                    yield Words(name)
            with VerticalScroll(id="steps-area", can_focus=False):
                yield Words("steps")
        yield KeyLine()

    async def on_mount(self) -> None:
        await self.show(self.keeper.snapshot)
        self.set_interval(TICK_S, self.draw)
        self.draw()

    @property
    def seen(self) -> LiveSeen:
        """What the app saw last of the live run."""
        return self.keeper.at_bench.seen

    def heading(self, snapshot: Snapshot) -> str:
        run = self.seen.run
        if run is None:
            return "Live run"
        load = ", ".join(str(p.get("description", "parts")) for p in run.plan.parts) or "no parts"
        area = f", {run.plan.area_dm2:.3g} dm²" if run.plan.area_dm2 else ""
        return f"{run.plan.kind}: {clean(load)}{area}"

    # -- drawing -------------------------------------------------------------------------------------------------------

    def show_live(self) -> None:
        """Follows the run, whoever moved it; when it is over elsewhere the line comes back."""
        if self.seen.run is None and not self._ended and not self._ending:
            self._end(self.seen.trouble or "The run is over: another window finished or abandoned it.")
            return
        self.draw()

    def _end(self, why: str = "") -> None:
        if self._ended:
            return
        self._ended = True
        if why:
            self.app.notify(clean(why), markup=False)
        while self.app.screen is not self and self in self.app.screen_stack and self.app.screen.is_modal:
            self.app.pop_screen()
        self.dismiss(None)

    def on_resize(self) -> None:
        self.call_after_refresh(self.draw)

    def draw(self) -> None:
        """Everything, at this moment; only what has changed is laid out anew."""
        run = self.seen.run
        if run is None or not self.query("#steps"):
            return
        now = self.keeper.at_bench.tick()
        area = self.query_one("#now")
        width = max(area.scrollable_content_region.width or self.size.width - 34, 20)
        tall = self.size.height >= 34
        for name, content in self._pieces(run, now, width, tall):
            words = self.query_one(f"#{name}", Words)
            words.say(content)
            wanted = bool(content.plain)
            if words.display != wanted:
                words.display = wanted
        self._draw_steps(run, now)

    def _pieces(self, run: LiveRun, now: Tick, width: int, tall: bool) -> Iterator[tuple[str, Content]]:
        state = run.state(now)
        style = live_words.STYLES[state]
        here, seen = run.step, self.seen
        number = f"step {run.number + 1} of {len(run.stays)}" if run.number >= 0 else f"{len(run.stays)} steps"
        word = f" {live_words.SIGNS[state]} {state.upper()}  {number}"
        yield "state", say(pad(word, width), f"reverse {style}")
        if here is not None:
            yield "here", _big(here.tank, width, 5 if tall else 3, "bold")
        elif run.last_step is not None:
            yield "here", say(fit(f"Parts are out of {run.last_step.tank}", width), "bold")
        else:
            yield "here", say("Parts are in no tank yet", "bold")
        yield "clock", _big(live_words.face(run, now), width, 10 if tall else 5, style)
        yield "caption", say(fit(live_words.caption(run, now), width))
        yield "electric", say(fit(live_words.electric(run, seen.charge_ah, seen.prefs), width), "bold")
        following, hint = live_words.next_words(run)
        planned = live_words.wanted(run.next_step, seen.prefs) if run.next_step is not None else ""
        yield "next-word", say(fit(f"NEXT  {planned}", width), "bold")
        yield "next", _big(following, width, 5 if tall else 3, "$text-accent")
        yield "hint", say(fit(hint, width * (4 if tall else 2)))
        oven = live_words.oven_words(run, now)
        yield "oven", say(fit(oven[0], width * 3), oven[1]) if oven is not None else say("")
        yield "odd", say(fit(f"? {seen.odd[-1]}", width * 2)) if seen.odd else say("")

    def _draw_steps(self, run: LiveRun, now: Tick) -> None:
        area = self.query_one("#steps-area")
        width = max(area.scrollable_content_region.width, 20)
        told = [live_words.step_row(run, stay, now) for stay in run.stays]
        lines = [say(f"{pad('Steps', width - 3)}min", "$foreground-muted")]
        for mark, tank, minutes in told:
            name = max(width - 5 - len(minutes) - 1, 6)
            lines.append(say(f"{mark:<4} {pad(tank, name)} {minutes}", MARK_STYLES[mark]))
        if run.notes:
            lines += [say(""), say(fit(f"Notes: {len(run.notes)}", width), "$foreground-muted")]
            lines += [say(fit(f"· {note}", width)) for note in run.notes[-3:]]
        self.query_one("#steps", Words).say(rows(lines))
        place = max(run.number, 0)
        if place > area.size.height - 4:
            area.scroll_to(y=place - area.size.height + 4, animate=False)

    # -- acts ----------------------------------------------------------------------------------------------------------

    def _do(self, act: Callable[[Bench], LiveRun]) -> None:
        """One act at a time: a key that is hit twice moves the run on once."""
        if self._busy or self.seen.run is None:
            return
        self._busy = True
        self.keeper.act(act, to=self)

    def _move(self, name: str, *args: Any) -> None:
        run = self.seen.run
        if run is not None:
            at, moves = self.keeper.at_bench.now(), run.moves
            self._do(lambda bench: getattr(bench, name)(*args, at, seen=moves))

    def on_live_shown(self, message: LiveShown) -> None:
        message.stop()
        self._busy = False
        self.keeper.at_bench.take(message.seen)
        self.draw()

    def on_act_refused(self, message: ActRefused) -> None:
        message.stop()
        self._busy = self._ending = False
        self.notify(clean(message.text), title=clean(message.title), severity="warning", markup=False, timeout=8)
        self.show_live()  # another window may have been quicker to end it

    def action_next(self) -> None:
        """Into the next tank; out of the last one; then the end."""
        run = self.seen.run
        if run is not None and run.settled:
            self.action_finish()
        else:
            self._move("enter_next")

    def action_pause(self) -> None:
        run = self.seen.run
        if run is not None:
            self._move("resume" if run.phase == "paused" else "pause")

    def action_skip(self) -> None:
        self._move("skip")

    def action_repeat(self) -> None:
        self._move("repeat")

    def action_out(self) -> None:
        self._move("leave")

    def action_back(self) -> None:
        """Into the tank before; between tanks, into the one that the parts came out of."""
        run = self.seen.run
        if run is None:
            return
        before = [s for s in run.entered if s.number < run.number]
        stay = run.last_step if run.step is None else before[-1] if before else None
        if stay is None:
            self.notify("There is no tank before this one.", markup=False)
        else:
            self._move("enter", stay.number)

    def action_say(self) -> None:
        run, prefs = self.seen.run, self.seen.prefs
        if run is None:
            return
        at = self.keeper.at_bench.now()

        def answered(text: str | None) -> None:
            current = self.seen.run
            if not text or current is None:
                return
            told = saying.sayings(text, prefs, current)

            def act(bench: Bench) -> LiveRun:
                made = current
                for one in told:
                    made = bench.say(at, **one)
                return made

            self._do(act)

        names = [c.supply for s in run.stays for c in s.channels if c.supply]
        several = f" Put the supply first: {', '.join(dict.fromkeys(names))}." if len(set(names)) > 1 else ""
        words = f"Current, the supply's counter, voltage, temperature of the bath, or true minutes.{several}"
        check = lambda text: saying.echo(saying.sayings(text, prefs, run))  # noqa: E731
        self.app.push_screen(AskLine("What does it show?", words, saying.EXAMPLE, "Say it", check), answered)

    def action_note(self) -> None:
        at = self.keeper.at_bench.now()

        def answered(text: str | None) -> None:
            if text:
                self._do(lambda bench: bench.say(at, note=text))

        def check(text: str) -> str:
            if not text:
                raise ValueError("a note needs a word or two, for example gassing at the hooks")
            return "goes into the run's note"

        self.app.push_screen(AskLine("Note on this run", "It stands in the run's entry.", "", "Keep it", check), answered)

    def action_abandon(self) -> None:
        run = self.seen.run
        if run is None:
            return
        at, moves = self.keeper.at_bench.now(), run.moves

        def answered(reason: str | None) -> None:
            if reason:
                self._close(lambda bench: bench.abandon(at, reason, seen=moves))

        def check(text: str) -> str:
            if not text:
                raise ValueError("say why in a word or two, for example contact fell off")
            return "what was done so far is written, with this reason"

        done = "What was done so far goes into the book." if run.entered else "Nothing was done yet; nothing is written."
        self.app.push_screen(AskLine("Give this run up?", done, "why", "Abandon", check), answered)

    def action_finish(self) -> None:
        """Asks what came out; the run ends at the moment when this was asked."""
        run = self.seen.run
        if run is None:
            return
        at, moves = self.keeper.at_bench.now(), run.moves

        def answered(outcome: dict[str, Any] | None) -> None:
            if outcome is not None:
                self._close(lambda bench: bench.finish(at, seen=moves, **outcome))

        self.app.push_screen(FinishScreen(run, at, self.seen.prefs), answered)

    def _close(self, end: Callable[[Bench], Any]) -> None:
        """Ends the run in a thread, then draws the book anew."""
        if self._busy:
            return
        self._busy = self._ending = True
        self.keeper.end_run(end, to=self)

    def on_run_logged(self, message: RunLogged) -> None:
        message.stop()
        self._busy = False
        if message.changes is None:
            self._end("Nothing was done, so nothing was written.")
        else:
            self.keeper.post_message(Written("Logged: the run through the line", message.changes))
            self._end()

    def action_leave(self) -> None:
        self._ended = True
        self.dismiss(None)

    async def show(self, snapshot: Snapshot) -> None:
        await super().show(snapshot)
        self.draw()


def _big(text: str, width: int, height: int, style: str) -> Content:
    """As big as there is room for; a plain line where no picture fits."""
    picture = biggest(text, width, height)
    return say("\n".join(picture), style if len(picture) > 1 else f"bold {style}", lines=True)


