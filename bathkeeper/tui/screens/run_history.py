"""The runs that were: searched, looked at, done again, and the good compared with the bad."""

from __future__ import annotations

from typing import Any, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal
from textual.message import Message
from textual.widgets import Input, OptionList, Static
from textual.widgets.option_list import Option

from bathkeeper.answers.shapes import Logged
from bathkeeper.bench import Bench
from bathkeeper.runs.history import search
from bathkeeper.runs.past import PastRun
from bathkeeper.tui.desk import Snapshot
from bathkeeper.tui.field import with_unit
from bathkeeper.tui.history_words import columns, details, row
from bathkeeper.tui.messages import Written
from bathkeeper.tui.plain import fit, say
from bathkeeper.tui.screens.ask_line import AskLine
from bathkeeper.tui.screens.base import BookScreen
from bathkeeper.tui.screens.error import ErrorScreen
from bathkeeper.tui.screens.run_finish import FinishScreen
from bathkeeper.tui.widgets.choice import Choice
from bathkeeper.tui.widgets.keys import KeyLine
from bathkeeper.tui.widgets.lines import LineInput
from bathkeeper.units.door import understand
from bathkeeper.units.numerals import Preferences

ALL, EVERY = "all", "every tank"
RESULTS = {ALL: None, "good": "good", "bad": "bad", "not said": "none"}
MOST = 400  # rows that are listed; a search finds the older ones


class RunsFound(Message):
    """Every run of the book, newest first."""

    def __init__(self, runs: list[PastRun], prefs: Preferences) -> None:
        super().__init__()
        self.runs = runs
        self.prefs = prefs


class Sifted(Message):
    """Those of them that are asked for; ``turn``: which keystroke it belongs to."""

    def __init__(self, runs: list[PastRun], turn: int) -> None:
        super().__init__()
        self.runs = runs
        self.turn = turn


class Compared(Message):
    """Good loads beside bad ones, in lines."""

    def __init__(self, title: str, lines: list[str]) -> None:
        super().__init__()
        self.title = title
        self.lines = lines


class HistoryScreen(BookScreen):
    """/ searches, Enter shows a run in full, a sets it up again."""

    topic = "past runs"
    parts = (Choice,)
    AUTO_FOCUS = ""
    CSS_PATH = ["base.tcss", "run_history.tcss"]
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("a,f2", "again", "Plate again", key_display="a"),
        Binding("l,f3", "log_again", "Log again", key_display="l"),
        Binding("w,f5", "outcome", "What came out", key_display="w"),
        Binding("c,f6", "compare", "Compare", key_display="c"),
        Binding("slash,f7", "search", "Search", key_display="/"),
        Binding("d", "report", "Write its certificate", show=False),
        Binding("escape", "leave", "Back"),
        Binding("down", "list(1)", "To the list", show=False),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._every: list[PastRun] = []
        self._runs: list[PastRun] = []
        self._prefs = Preferences()
        self._turn = 0

    def compose(self) -> ComposeResult:
        yield from self.top()
        tanks = [t.tank for t in self.keeper.snapshot.tanks if t.role != "dry"]
        with Horizontal(id="asked"):
            yield LineInput(placeholder="search: parts, defect, tank, day …", id="search", compact=True)
            yield Choice(list(RESULTS), id="verdict")
            yield Choice([EVERY, *tanks], id="tank")
        yield Static(id="columns", markup=False)
        yield OptionList(id="runs", markup=False)
        yield Static(id="detail", markup=False)
        yield KeyLine()

    async def on_mount(self) -> None:
        self.query_one("#runs").focus()
        await self.show(self.keeper.snapshot)

    def heading(self, snapshot: Snapshot) -> str:
        shown = f"{len(self._runs)} of " if len(self._runs) < len(self._every) else ""
        return f"Runs: {shown}{len(self._every)}" if self._every else "Runs that were"

    async def show(self, snapshot: Snapshot) -> None:
        await super().show(snapshot)
        self.keeper.ask_bench(lambda b: RunsFound(b.runs(), b.workshop.preferences), lambda found: found, to=self)

    def on_runs_found(self, message: RunsFound) -> None:
        self._every, self._prefs = message.runs, message.prefs
        self._sift()

    @on(Input.Changed)
    @on(Choice.Changed)
    def _sift(self) -> None:
        self._turn += 1
        turn, every, words = self._turn, self._every, self.query_one("#search", Input).value
        result = RESULTS[self.query_one("#verdict", Choice).value]
        tank = self.query_one("#tank", Choice).value

        def job() -> Sifted:
            return Sifted(search(every, words, tank=None if tank == EVERY else tank, result=result), turn)

        self.keeper.work(job, to=self)

    async def on_sifted(self, message: Sifted) -> None:
        if message.turn == self._turn:
            self._runs = message.runs
            await super().show(self.keeper.snapshot)
            self._redraw()

    def on_resize(self) -> None:
        self.call_after_refresh(self._redraw)

    def _redraw(self) -> None:
        if not self.query("#runs"):
            return
        runs = self.query_one("#runs", OptionList)
        place = runs.highlighted
        width = max((runs.scrollable_content_region.width or self.size.width) - 2, 60)
        self.query_one("#columns", Static).update(say(columns(width)))
        options = [Option(row(r, width, self._prefs)) for r in self._runs[:MOST]]
        if len(self._runs) > MOST:
            options.append(Option(say(f"… and {len(self._runs) - MOST} older: search for them"), disabled=True))
        nothing = "No run fits; clear the search, or choose all." if self._every else "No run is logged yet."
        runs.clear_options()
        runs.add_options(options or [Option(say(nothing), disabled=True)])
        if self._runs:
            runs.highlighted = min(place or 0, len(self._runs[:MOST]) - 1)
        self._show_detail()

    @on(OptionList.OptionHighlighted, "#runs")
    def _show_detail(self) -> None:
        run = self.chosen
        self.query_one("#detail", Static).update(details(run, self._prefs) if run is not None else say(""))

    @property
    def chosen(self) -> PastRun | None:
        """The run under the cursor."""
        place = self.query_one("#runs", OptionList).highlighted
        return self._runs[place] if place is not None and place < len(self._runs) else None

    @on(OptionList.OptionSelected, "#runs")
    def _selected(self) -> None:
        if self.chosen is not None:
            self.keeper.find_entry(self.chosen.id)

    @on(Input.Submitted)
    @on(Choice.Done)
    def action_list(self, by: int = 1) -> None:
        self.query_one("#runs").focus()

    def action_search(self) -> None:
        self.query_one("#search").focus()

    def action_leave(self) -> None:
        """From the search to the list, clearing it; from the list back."""
        box = self.query_one("#search", Input)
        if box.has_focus or box.value:
            box.value = ""
            self.query_one("#runs").focus()
        else:
            self.dismiss(None)

    # -- acts ----------------------------------------------------------------------------------------------------------

    def action_again(self) -> None:
        """Sets the run up again, to be walked by timer."""
        run = self.chosen
        if run is not None:
            self.dismiss(None)
            self.keeper.open_bench(run.id)

    def action_log_again(self) -> None:
        """Logs it once more as done, with another area if one is typed; the currents follow."""
        run, prefs = self.chosen, self._prefs
        if run is None:
            return

        def area_of(text: str) -> float | None:
            return understand(with_unit(text, "dm2"), "area", prefs).value if text else None

        def check(text: str) -> str:
            area = area_of(text)
            return f"{area:g} dm2; the currents follow, density and times stay" if area is not None else "as it was"

        def answered(text: str | None) -> None:
            if text is None:
                return
            area, at = area_of(text), self.keeper.clock()

            def write(bench: Bench) -> tuple[Logged, tuple[str, ...]]:
                made = bench.repeat_run(run.id, at, area_dm2=area)
                return bench.workshop.log(made.raw), made.lines

            self.keeper.write(
                lambda w: write(self.keeper.at_bench.of(w)),
                lambda done: Written("Logged: the run once more", [*done[1], *done[0].changes]),
            )

        was = f"{run.area_dm2:g} dm2" if run.area_dm2 else "not on record"
        words = f"{run.title}, {run.at:%d %b}. Area then: {was}. Another area, or Enter as it was; logged as done now."
        self.app.push_screen(AskLine("Log this run once more?", words, "area, for example 4.1", "Log it", check), answered)

    def action_outcome(self) -> None:
        """Says what came out, now that it is known."""
        run = self.chosen
        if run is None:
            return
        at = self.keeper.clock()

        def answered(told: dict[str, Any] | None) -> None:
            if told:
                text = told.pop("note", "")
                self.keeper.write(
                    lambda w: self.keeper.at_bench.of(w).note_outcome(run.id, at, text=text, **told),
                    lambda logged: Written("Logged: what came out", logged.changes),
                )

        title = fit(f"What came out: {run.title}, {run.at:%d %b}", 80)
        leave_out = ("mass_before_g", "mass_after_g")
        self.app.push_screen(FinishScreen(None, at, self._prefs, title, "Log it", leave_out), answered)

    def action_report(self) -> None:
        """The form of a report, about the run under the cursor."""
        from bathkeeper.tui.screens.report import ReportScreen

        if self.chosen is not None:
            self.app.push_screen(ReportScreen("run", self.chosen.id))

    def action_compare(self) -> None:
        """Good loads of the run's tank beside the bad ones; of a run with a defect, beside those with that defect."""
        run = self.chosen
        if run is None:
            return
        tank, of, prefs = run.tank, run.defect, self._prefs
        title = f"{tank}: good loads beside {'those with ' + of if of else 'bad ones'}"
        self.keeper.ask_bench(
            lambda bench: bench.compare(tank, of=of), lambda found: Compared(title, found.lines(prefs)), to=self
        )

    def on_compared(self, message: Compared) -> None:
        self.app.push_screen(ErrorScreen(message.title, "\n\n".join(message.lines)))
