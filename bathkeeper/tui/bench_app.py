"""The app's side of the bench: moving the live run from threads, watching it whoever moves it, sounding the bell."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, TypeVar

from textual.message import Message
from textual.message_pump import MessagePump

from bathkeeper.entries import EntryError
from bathkeeper.logbook.book import BookError
from bathkeeper.runs.live import LiveError, LiveRun
from bathkeeper.tui import messages
from bathkeeper.tui.at_bench import ActRefused, AtBench, LiveSeen, LiveShown, RunLogged, seen_by
from bathkeeper.tui.plain import clean
from bathkeeper.tui.screens.base import BookScreen
from bathkeeper.tui.working import WorkingApp
from bathkeeper.workshop import Logged, Workshop

if TYPE_CHECKING:
    from bathkeeper.bench import Bench

T = TypeVar("T")


class BenchApp(WorkingApp):
    """An app with one live run, which ``at_bench`` remembers as it was last seen."""

    at_bench: AtBench

    def ask_bench(
        self, question: Callable[[Bench], T], answer: Callable[[T], Message | None], *, to: MessagePump | None = None
    ) -> None:
        """Asks the bench in a thread and posts the answer as a message."""
        self.ask(lambda w: question(self.at_bench.of(w)), answer, to=to)

    def act(self, do: Callable[[Bench], LiveRun], *, to: MessagePump) -> None:
        """Moves the live run in a thread: LiveShown or ActRefused goes to ``to``, what was seen to every screen."""

        def job() -> Message:
            seen = self.desk.ask(lambda w: seen_by(self.at_bench.of(w), do(self.at_bench.of(w))))
            self.post_message(LiveShown(seen))
            return LiveShown(seen)

        self.work(lambda: self._at_bench_or_refused(job), to=to, group="act")

    def end_run(self, end: Callable[[Bench], Logged | None], *, to: MessagePump) -> None:
        """Ends the live run in a thread: RunLogged or ActRefused goes to ``to``, and the book is drawn anew."""

        def job() -> Message:
            logged = self.desk.ask(lambda w: end(self.at_bench.of(w)))
            self.at_bench.is_over()
            self.post_message(messages.BookShown(self.desk.snapshot()))
            return RunLogged(list(logged.changes) if logged is not None else None)

        self.work(lambda: self._at_bench_or_refused(job), to=to, group="act")

    def _at_bench_or_refused(self, job: Callable[[], Message]) -> Message:
        try:
            return job()
        except Exception as problem:  # the edge: whatever it is, the keys work again
            self.post_message(LiveShown(self._seen_live()))
            if isinstance(problem, (LiveError, EntryError)):
                return ActRefused("That cannot be done now", str(problem))
            failed = self.sentence_of(problem)
            return ActRefused(failed.title, failed.text)

    def _seen_live(self) -> LiveSeen:
        def look(workshop: Workshop) -> tuple[LiveSeen, bool]:
            bench, before = self.at_bench.of(workshop), workshop.world
            return seen_by(bench, bench.live()), workshop.world is not before

        try:
            seen, book_changed = self.desk.ask(look)
            if book_changed:  # the look at a run that is over took up the book, so that nobody else would notice
                self.post_message(messages.BookShown(self.desk.snapshot()))
            return seen
        except BookError as problem:
            return LiveSeen(trouble=f"{problem.title}: {problem.message}")

    def look_at_bench(self) -> None:
        """Looks where the live run stands, whoever moved it, and sounds the bell when a step's time is up."""
        if self.at_bench.rings():
            self.bell()
        if self.at_bench.looking or not self.desk.is_open:
            return
        self.at_bench.looking = True

        def job() -> Message:
            try:
                return LiveShown(self._seen_live())
            finally:
                self.at_bench.looking = False

        self.work(job, group="bench")

    def on_live_shown(self, message: LiveShown) -> None:
        if not self.at_bench.take(message.seen):
            return
        for line in message.seen.told:
            self.notify(clean(line), markup=False)
        for screen in self.book_screens():
            screen.call_later(screen.show_live)

    def book_screens(self) -> list[BookScreen]:
        """The screens that show the book, topmost last. Whoever has news for one hands it over by its ``call_later``: a screen
        takes it up when all its parts stand, and one that is being taken down never does."""
        return [screen for screen in self.screen_stack if isinstance(screen, BookScreen)]

    def open_bench(self, like: str | None = None) -> None:
        """The live run where there is one; else setting one up, like a run of the book if named."""
        from bathkeeper.tui.screens.run_live import LiveScreen
        from bathkeeper.tui.screens.run_setup import SetupScreen

        if self.at_bench.seen.run is not None:
            self.push_screen(LiveScreen())
        else:
            self.push_screen(SetupScreen(like))
