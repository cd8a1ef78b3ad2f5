"""From what is due to what is done about it: where a finding leads, and questions to the counsel beside the screen."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, TypeVar

from textual.message import Message
from textual.message_pump import MessagePump

from bathkeeper.answers.shapes import NotFound
from bathkeeper.counsel import Counsel, CounselError
from bathkeeper.due.words import rule_of
from bathkeeper.entries import EntryError
from bathkeeper.estimate.view import TankView
from bathkeeper.findings import Finding
from bathkeeper.tui import messages
from bathkeeper.workshop import Workshop

if TYPE_CHECKING:
    from bathkeeper.tui.app import BathkeeperApp

T = TypeVar("T")
Place = Literal["plan", "advice", "stock", "log", "why"]
TREATED = {"peroxide": "peroxide", "carbon": "carbon", "dummy": "dummy", "zinc_dust": "zinc dust"}
SECTION_OF = {
    "age": "signs", "replace": "signs", "refresh": "signs", "signs": "signs", "spent": "signs", "dwell": "signs",
    "anode": "anodes", "anodes": "anodes", "split": "anodes", "idle": "anodes",
    "acid": "acid", "defect": "defect",
}  # fmt: skip
"""Rule of a finding -> the section of the advice screen that is about it."""
LOGGED_AS = {"reading": "reading", "doubt": "reading", "panel": "reading", "calibration": "calibration"}
STOCK_RULES = ("stock", "reorder", "shelf")


@dataclass(frozen=True)
class Way:
    """Where a finding leads: a plan of a kind, a section of the advice, the stock, a form for an entry, or just its reasons."""

    place: Place
    what: str = ""


class Refused(Message):
    """The counsel could not; in a sentence, with what would be right."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.text = text


def way_of(finding: Finding, view: TankView | None) -> Way:
    """Where the one key that does something about a finding leads."""
    rule, subject = rule_of(finding)
    if rule in STOCK_RULES:
        return Way("stock", subject)
    if rule == "make_up":
        return Way("plan", "make up")
    if rule in TREATED:
        return Way("plan", TREATED[rule])
    if rule in SECTION_OF:
        return Way("advice", SECTION_OF[rule])
    if rule in LOGGED_AS:
        return Way("log", LOGGED_AS[rule])
    if rule in ("low", "high"):
        if subject == "ph":  # acid is dosed by a jar test, never by a plan
            return Way("advice", "acid") if view is not None and view.role == "plate" else Way("log", "reading")
        if subject == "temperature":
            return Way("why")
    if rule in ("low", "high", "dose", "plan", "forecast"):
        return Way("plan", "dose")
    return Way("why")


def ask(
    app: BathkeeperApp, question: Callable[[Counsel], T], answer: Callable[[T], Message | None], *, to: MessagePump
) -> None:
    """Asks the counsel in a thread; its answer, or Refused, goes to ``to``."""

    def job() -> Message | None:
        try:
            return answer(app.desk.ask(lambda w: question(Counsel(w))))
        except (CounselError, NotFound, EntryError) as problem:
            return Refused(str(problem))

    app.work(job, to=to, group="counsel")


def act(app: BathkeeperApp, do: Callable[[Counsel], T], answer: Callable[[T], Message | None], *, to: MessagePump) -> None:
    """Lets the counsel write to the book in a thread, then draws everything anew; the answer, or Refused, goes to ``to``."""

    def job() -> Message | None:
        try:
            result = app.desk.ask(lambda w: do(Counsel(w)))
        except (CounselError, NotFound, EntryError) as problem:
            return Refused(str(problem))
        app.post_message(messages.BookShown(app.desk.snapshot()))
        return answer(result)

    app.work(job, to=to, group="counsel")


def log(app: BathkeeperApp, raw: dict[str, object], what: str) -> None:
    """Writes one entry and says what it changed."""

    def do(workshop: Workshop) -> list[str]:
        return list(workshop.log(raw).changes)

    app.write(do, lambda changes: messages.Written(what, changes))
