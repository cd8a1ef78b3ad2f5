"""The app: one book, its screens, its keys, and the edge at which every error becomes a sentence."""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any, ClassVar, TypeVar

from rich.text import Text
from textual.binding import Binding, BindingType
from textual.command import CommandPalette
from textual.message import Message
from textual.message_pump import MessagePump

from bathkeeper.due.words import rule_of
from bathkeeper.findings import Because
from bathkeeper.logbook.book import default_path
from bathkeeper.logbook.clock import Clock as BenchClock
from bathkeeper.sample import copy_dated, sample_path
from bathkeeper.tui import messages, tell
from bathkeeper.tui.at_bench import AtBench
from bathkeeper.tui.bench_app import BenchApp
from bathkeeper.tui.commands import BookCommands
from bathkeeper.tui.crash import note_crash
from bathkeeper.tui.desk import Clock, Desk, Snapshot
from bathkeeper.tui.drafts import Drafts
from bathkeeper.tui.fields import TITLES
from bathkeeper.tui.looks import Looks
from bathkeeper.tui.plain import clean
from bathkeeper.tui.screens.base import BookScreen
from bathkeeper.tui.screens.confirm import ConfirmScreen
from bathkeeper.tui.screens.entry import EntryScreen
from bathkeeper.tui.screens.error import ErrorScreen
from bathkeeper.tui.screens.help import HelpScreen
from bathkeeper.tui.screens.line import LineScreen
from bathkeeper.tui.screens.naming import NamingScreen
from bathkeeper.tui.screens.tank import TankScreen
from bathkeeper.tui.screens.why import WhyScreen
from bathkeeper.workshop import Workshop, now

T = TypeVar("T")
BENCH_EVERY_S = 1.0  # how often the live run is looked at: one stat when nobody has moved it
LOOK_EVERY_S = 0.5  # how often the book is looked at for entries of other programs: one stat when there are none
REDRAW_EVERY_S = 60.0  # the estimate moves with time even when nobody writes
TEMPLATE = "zinc-nickel-line"


class BathkeeperApp(BenchApp):
    """The logbook on screen. ``book``: a path, opened when there is one, or an open workshop; ``clock`` tells the time."""

    TITLE = "bathkeeper"
    COMMANDS = {BookCommands}
    ENABLE_COMMAND_PALETTE = True
    HORIZONTAL_BREAKPOINTS = [(0, "-narrow"), (100, "-wide")]
    VERTICAL_BREAKPOINTS = [(0, "-short"), (34, "-tall")]
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("r,f2", "log('run')", "Run", key_display="r"),
        Binding("m,f3", "log('reading')", "Measure", key_display="m"),
        Binding("a,f4", "log('addition')", "Add", key_display="a"),
        Binding("o,f5", "log('removal')", "Take out", key_display="o", show=False),
        Binding("f,f6", "log('make_up')", "Fill", key_display="f", show=False),
        Binding("n,f7", "log('anode')", "Anode", key_display="n", show=False),
        Binding("c,f9", "log('remark')", "Remark", key_display="c", show=False),
        Binding("t,f11", "log('treatment')", "Treat", key_display="t", show=False),
        Binding("u,f8", "undo", "Undo", key_display="u"),
        Binding("h", "go('safety')", "Hazards", show=False),
        Binding("e", "go('waste')", "Waste", show=False),
        Binding("k", "go('calculators')", "Calculators", show=False),
        Binding("b", "go('entries')", "Book", show=False),
        Binding("g", "go('settings')", "Settings", show=False),
        Binding("p,f12", "go('bench')", "Plate", key_display="p"),
        Binding("v,f10", "go('runs')", "Past runs", show=False),
        Binding("q", "quit", "Quit"),
        Binding("ctrl+q", "quit", "Quit", show=False, priority=True),
    ]

    def __init__(
        self,
        book: Path | Workshop | None = None,
        *,
        clock: Clock = now,
        state_folder: Path | None = None,
        bench_clock: BenchClock | None = None,
    ) -> None:
        super().__init__()
        self.at_bench = AtBench(bench_clock)
        workshop = book if isinstance(book, Workshop) else None
        path = workshop.book.path if workshop is not None else Path(book) if isinstance(book, Path) else default_path()
        self.desk = Desk(path, clock, workshop)
        self.clock = clock
        self._state_folder = state_folder
        self.drafts = Drafts(path, state_folder)
        self.snapshot = self.desk.snapshot() if workshop is not None else Snapshot(path)
        self.opening = workshop is None and path.exists()
        self.crash_log: Path | None = None
        self._looking = False
        self.looks = Looks(state_folder)
        chosen = self.looks.theme
        if chosen is not None and chosen in self.available_themes:
            self.theme = chosen

    def on_mount(self) -> None:
        self.theme_changed_signal.subscribe(self, lambda theme: self.looks.remember(theme.name))
        self.push_screen(LineScreen())
        if self.opening:
            self.work(self._open, group="open")
        self.set_interval(LOOK_EVERY_S, self._look)
        self.set_interval(REDRAW_EVERY_S, self._look_afresh)
        self.set_interval(BENCH_EVERY_S, self.look_at_bench)

    # -- the book ------------------------------------------------------------------------------------------------------

    def _open(self) -> Message:
        self.desk.open()
        return messages.BookShown(self.desk.snapshot())

    def _look(self) -> None:
        """Looks for entries of others, unless the last look is still under way."""
        if not self._looking and not self.opening:
            self._looking = True
            self.work(lambda: self._refreshed(always=False), group="look")

    def _look_afresh(self) -> None:
        self.work(lambda: self._refreshed(always=True), group="look")

    def _refreshed(self, always: bool) -> Message | None:
        try:
            if self.desk.refresh() or (always and self.desk.is_open):
                return messages.BookShown(self.desk.snapshot())
            return None
        finally:
            self._looking = False

    def on_book_shown(self, message: messages.BookShown) -> None:
        if message.snapshot.path != self.snapshot.path:
            self.drafts = Drafts(message.snapshot.path, self._state_folder)
        self.snapshot = message.snapshot
        self.opening = False
        for screen in self.book_screens():
            screen.call_later(screen.show, message.snapshot)
        if self.screen_stack:
            self.screen.refresh_bindings()
        self.look_at_bench()

    def on_failed(self, message: messages.Failed) -> None:
        self.opening = False
        self.push_screen(ErrorScreen(message.title, message.text))
        for screen in self.book_screens():
            if isinstance(screen, LineScreen) and not self.snapshot.tanks:
                screen.call_later(screen.show, self.snapshot)

    def on_written(self, message: messages.Written) -> None:
        lines = [clean(line) for line in message.changes[:6]] or ["The estimate does not change."]
        self.notify("\n".join(lines), title=clean(message.what), markup=False, timeout=8)

    def write(self, act: Callable[[Workshop], T], told: Callable[[T], Message], *, to: MessagePump | None = None) -> None:
        """Writes to the book in a thread, then says what changed and draws everything anew."""

        def job() -> Message:
            result = self.desk.ask(act)
            self.post_message(messages.BookShown(self.desk.snapshot()))
            return told(result)

        self.work(job, to=to)

    # -- going places --------------------------------------------------------------------------------------------------

    def open_tank(self, tank: str) -> None:
        """The screen of a tank; from another tank's screen it takes that one's place."""
        if isinstance(self.screen, TankScreen):
            self.switch_screen(TankScreen(tank))
        else:
            self.push_screen(TankScreen(tank))

    def find_why(self, id: str) -> None:
        """Looks up why something is due, or why a content is what it is, and shows it."""
        moment = self.clock()

        def question(workshop: Workshop) -> messages.WhyFound:
            what, because = workshop.why(id, moment)
            told = [tell.by_id(workshop, i) for i in because.entries[:40]]
            finding = next((f for f in self.snapshot.due if f.id == id), None)
            doubted = finding is not None and rule_of(finding)[0] == "doubt" and because.entries
            confirm = (finding.tank, because.entries[0]) if finding is not None and doubted else None
            return messages.WhyFound(what, because, told, confirm)

        self.ask(question, lambda found: found)

    def on_why_found(self, message: messages.WhyFound) -> None:
        def answered(confirmed: bool | None) -> None:
            if confirmed and message.confirm is not None:
                tank, id = message.confirm
                raw = {"kind": "reading", "at": self.clock().isoformat(), "tank": tank, "confirms": [id]}
                self.write(lambda w: w.log(raw), lambda logged: messages.Written("Reading confirmed", logged.changes))

        self.push_screen(WhyScreen(message.what, message.because, message.entries, message.confirm is not None), answered)

    def tell_why(self, what: str, because: Because) -> None:
        """Shows reasons that are known already, with the entries that they rest on."""
        if not because.entries:
            self.push_screen(WhyScreen(what, because, []))
            return
        self.ask(
            lambda w: messages.WhyFound(what, because, [tell.by_id(w, i) for i in because.entries[:40]]), lambda found: found
        )

    def find_entry(self, id: str) -> None:
        """Shows an entry in full."""
        self.ask(lambda w: tell.in_full(w, id), lambda found: messages.EntryFound(id, *found))

    def on_entry_found(self, message: messages.EntryFound) -> None:
        def answered(wanted: str | None) -> None:
            if wanted == "withdraw":
                self.ask(lambda w: self._undoing(w, message.id, message.title, "Withdraw this entry?"), lambda found: found)
            elif wanted == "correct":
                self.correct(message.kind, message.tank, message.id)

        self.push_screen(EntryScreen(message.title, message.text, message.kind in TITLES), answered)

    def correct(self, kind: str, tank: str | None, id: str) -> None:
        """An entry in its own form, filled as it is."""
        from bathkeeper.tui.screens.entry_form import EntryForm

        self.push_screen(EntryForm(kind, tank, id))

    def action_go(self, where: str) -> None:
        """Opens safety, waste, the calculators, the book's entries or the settings."""
        from bathkeeper.tui.screens.calculators import CalculatorsScreen
        from bathkeeper.tui.screens.entries import EntriesScreen
        from bathkeeper.tui.screens.safety import SafetyScreen
        from bathkeeper.tui.screens.waste import WasteScreen

        if where == "settings":
            self.action_log("workshop")
            return
        if where == "bench":
            self.open_bench()
            return
        if where == "runs":
            from bathkeeper.tui.screens.run_history import HistoryScreen

            self.push_screen(HistoryScreen())
            return
        screens: dict[str, type[BookScreen]] = {
            "safety": SafetyScreen, "waste": WasteScreen, "calculators": CalculatorsScreen, "entries": EntriesScreen,
        }  # fmt: skip
        self.push_screen(screens[where]())

    def show_help(self, topic: str) -> None:
        self.push_screen(HelpScreen(topic, self.screen))

    def action_show_help_of(self, topic: str) -> None:
        self.show_help(topic)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Logging and undoing belong to the screens of the book; under a question or a form they wait."""
        if action in ("log", "undo", "lay_out", "sample", "quit", "go") and self.screen_stack:
            if isinstance(self.screen, CommandPalette):
                return True
            plain = isinstance(self.screen, (LineScreen, TankScreen))
            if action == "quit":
                return True
            if action == "go":
                if parameters in (("bench",), ("runs",)):
                    return plain and bool(self.snapshot.tanks)
                return plain and (parameters == ("calculators",) or self.snapshot.status is not None)
            return plain and (action not in ("log", "undo") or bool(self.snapshot.tanks))
        return True

    # -- writing -------------------------------------------------------------------------------------------------------

    def action_log(self, kind: str) -> None:
        """A form for an entry, on the tank that the cursor is on."""
        from bathkeeper.tui.screens.entry_form import EntryForm

        tank = self.screen.tank if isinstance(self.screen, (LineScreen, TankScreen)) else None
        self.push_screen(EntryForm(kind, tank))

    def open_calculator(self, name: str) -> None:
        """The form of a calculator."""
        from bathkeeper.calculators.registry import calculator
        from bathkeeper.tui.screens.calculators import CalculatorForm

        self.push_screen(CalculatorForm(calculator(name)))

    def open_import_sheet(self) -> None:
        """Takes in an old spreadsheet."""
        from bathkeeper.tui.screens.import_sheet import ImportSheetScreen

        self.push_screen(ImportSheetScreen())

    def action_new_tank(self) -> None:
        """The form of a tank that is not there yet."""
        from bathkeeper.tui.screens.entry_form import EntryForm

        self.push_screen(EntryForm("tank", None))

    def action_undo(self) -> None:
        def question(workshop: Workshop) -> messages.UndoFound:
            entry = workshop.last_logged()
            if entry is None:
                return messages.UndoFound(None, "")
            return self._undoing(workshop, entry.id, tell.sentence(entry))

        self.ask(question, lambda found: found)

    def on_undo_found(self, message: messages.UndoFound) -> None:
        if message.id is None:
            self.notify("There is nothing to take back: the book has no entries.", markup=False)
        else:
            self._ask_to_withdraw(message.id, message.question, message.sentence, message.doubts)

    def _undoing(self, workshop: Workshop, id: str, sentence: str, question: str = "") -> messages.UndoFound:
        """With what withdrawing it would take from under papers that somebody else holds."""
        raw = {"kind": "correction", "at": self.clock(), "corrects": id, "reason": "undone", "withdraw": True}
        return messages.UndoFound(id, sentence, workshop.doubts_about(raw, self.clock()), question)

    def _ask_to_withdraw(self, id: str, question: str, sentence: str, doubts: Sequence[str]) -> None:
        def answered(yes: bool | None) -> None:
            if yes:
                self.write(
                    lambda w: w.correct(id, "undone", None, self.clock()),
                    lambda logged: messages.Written("Taken back", logged.changes),
                )

        asked = "".join(f"\n\n? {clean(doubt)}." for doubt in doubts)
        text = f"{sentence}{asked}\n\nThe entry stays in the book; a correction withdraws it."
        self.push_screen(ConfirmScreen(question, text, "Take it back"), answered)

    def action_lay_out(self) -> None:
        """Sets up a line from the template; only the name is asked."""
        if self.snapshot.tanks:
            self.notify("This book has a line already.", markup=False)
            return

        def named(name: str | None) -> None:
            if name:
                self.work(lambda: self._laid_out(name))

        self.push_screen(NamingScreen(), named)

    def _laid_out(self, name: str) -> Message:
        self.desk.open(create=True)
        entries = self.desk.ask(lambda w: w.lay_out(name, TEMPLATE, self.clock()))
        self.post_message(messages.BookShown(self.desk.snapshot()))
        return messages.Written(
            f"{name} is set up", [f"{len(entries) - 1} places; log a make-up (f) for each tank that is filled"]
        )

    def action_sample(self) -> None:
        """Lays a copy of the sample on the desk; the keeper's own book is left alone."""
        self.work(self._sample)

    def _sample(self) -> Message:
        source = sample_path()
        place = Path(tempfile.mkdtemp(prefix="bathkeeper-demo-")) / source.name
        copy_dated(source, place, self.clock())
        self.desk.change_to(place)
        return messages.BookShown(self.desk.snapshot())

    # -- the edge ------------------------------------------------------------------------------------------------------

    def _fatal_error(self) -> None:
        """Textual prints a traceback with the values of all variables here, a keeper's book among them; there is no public door
        to keep it from that. The traceback goes to a file without values, the person gets a sentence."""
        problem = sys.exc_info()[1]
        if self.crash_log is not None:
            return  # what follows from the first one says nothing new
        self.crash_log = note_crash(problem) if problem is not None else None
        self.panic(
            Text(
                f"bathkeeper had to stop. Every entry that was logged is safe in {self.desk.path}.\n"
                f"What happened is in {self.crash_log}."
            )
        )

    def get_css_variables(self) -> dict[str, str]:
        """Textual's, but on a light ground words of state are dark enough to be read (its own: 3.3:1)."""
        variables = super().get_css_variables()
        if not self.current_theme.dark:  # in place: Textual keeps the same mapping for the styles of contents
            variables.update(
                {"text-warning": "#6b4200", "text-success": "#1b5e2c", "text-accent": "#7a3e00"}
                | {"foreground-muted": "#1F1F1FC0"}
            )
        return variables

    def get_system_commands(self, screen: Any) -> Any:
        """Textual's own commands, without those that make no sense here."""
        for command in super().get_system_commands(screen):
            if command.title in ("Theme", "Quit", "Keys"):
                yield command


def run(path: Path | None = None) -> None:
    """Opens the app on a book (the default one when not told) until the keeper leaves."""
    BathkeeperApp(path).run()
