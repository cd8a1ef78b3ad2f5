"""An app that works in threads: jobs beside the screen, whose every error becomes a sentence."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

from textual.app import App
from textual.message import Message
from textual.message_pump import MessagePump

from bathkeeper.catalogue.loader import CatalogueError
from bathkeeper.entries import EntryError
from bathkeeper.logbook.book import BookError
from bathkeeper.runs.again import AgainError
from bathkeeper.runs.live import LiveError
from bathkeeper.runs.parts import PartError
from bathkeeper.tui import messages
from bathkeeper.tui.crash import note_crash
from bathkeeper.tui.desk import Desk
from bathkeeper.workshop import NotFound, Workshop

T = TypeVar("T")


class WorkingApp(App[None]):
    """Asks the workshop on its ``desk`` in threads and posts the answers as messages."""

    desk: Desk

    def work(self, job: Callable[[], Message | None], *, to: MessagePump | None = None, group: str = "ask") -> None:
        """Runs a job in a thread; the message that it returns is posted, and what it raises becomes a sentence."""

        def run() -> None:
            try:
                message = job()
            except Exception as problem:  # the edge: whatever it is, the app goes on
                message = self.sentence_of(problem)
            if message is not None:
                (to or self).post_message(message)

        self.run_worker(run, thread=True, exit_on_error=False, group=group)

    def ask(
        self, question: Callable[[Workshop], T], answer: Callable[[T], Message | None], *, to: MessagePump | None = None
    ) -> None:
        """Asks the workshop in a thread and posts the answer as a message."""
        self.work(lambda: answer(self.desk.ask(question)), to=to)

    def sentence_of(self, problem: Exception) -> messages.Failed:
        if isinstance(problem, BookError):
            return messages.Failed(problem.title, problem.message)
        if isinstance(problem, (EntryError, NotFound, CatalogueError, LiveError, PartError, AgainError)):
            return messages.Failed("That could not be done", str(problem))
        log = note_crash(problem)
        return messages.Failed("Something went wrong inside", f"Nothing was written. The particulars are in {log}.")
