"""Writing a report: which, about what, of which period, in which form and where to; made beside the screen."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar, cast

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.message import Message
from textual.screen import ModalScreen
from textual.widgets import Button, Input, Static

from bathkeeper.answers.shapes import NotFound
from bathkeeper.logbook.book import BookError
from bathkeeper.moments import moment
from bathkeeper.reports.making import MACHINES, PERIODS, SUBJECTS, TITLES, make, make_labels, suggested, write
from bathkeeper.reports.model import ReportError
from bathkeeper.reports.write import write_new
from bathkeeper.tui.field import Field
from bathkeeper.tui.plain import clean, say
from bathkeeper.tui.screens.form_rows import FieldRow
from bathkeeper.tui.widgets.choice import Choice
from bathkeeper.tui.widgets.lines import Fields, after_typing
from bathkeeper.workshop import Workshop

if TYPE_CHECKING:
    from bathkeeper.tui.app import BathkeeperApp

BY_TITLE = {title: kind for kind, title in TITLES.items()}
ENDINGS = {"PDF": "pdf", "text": "txt", "CSV, all tables": "zip", "JSON": "json"}
WORDS = "It goes to a new file; a name alone lies beside the book, in {}. Nothing is overwritten."


class ReportWritten(Message):
    """A report lies where ``place`` says."""

    def __init__(self, place: Path) -> None:
        super().__init__()
        self.place = place


class ReportRefused(Message):
    """It could not be made or written; in a sentence."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.text = text


class ReportScreen(ModalScreen[None]):
    """``kind`` and ``subject``: what the form begins with. Ctrl+S or F10 writes."""

    CSS_PATH = ["modal.tcss", "report.tcss"]
    AUTO_FOCUS = ""
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("ctrl+s,f10", "write", "Write", show=False, priority=True),
        Binding("escape", "close", "Back", show=False),
        Binding("f4", "offer", "Offer", show=False),
        Binding("down", "app.focus_next", "Next field", show=False),
        Binding("up", "app.focus_previous", "Field before", show=False),
    ]

    def __init__(self, kind: str = "register", subject: str = "", offers: tuple[str, ...] = ()) -> None:
        super().__init__()
        self._begin = {"kind": TITLES[kind], "about": subject}
        self._offers = offers
        self._names = {clean(name): name for name in (*offers, subject)}  # a field shows a name without what cannot be seen
        self._suggested = ""  # the file's name as it was put there by us; once changed it is the keeper's
        self.busy = False

    @property
    def keeper(self) -> BathkeeperApp:
        """The app, by its own type."""
        return cast("BathkeeperApp", self.app)

    def compose(self) -> ComposeResult:
        fields = (
            Field("kind", "report", lambda text: [], choices=tuple(BY_TITLE)),
            Field("about", "about", lambda text: [], "a container, a tank, or a run's id; F4 offers", suggest=self._offers),
            Field("since", "since", lambda text: [], "2026-05-01; the beginning of the book"),
            Field("until", "until", lambda text: [], "2026-06-30; now"),
            Field("form", "form", lambda text: [], choices=tuple(ENDINGS)),
            Field("file", "file", lambda text: []),
        )
        with Vertical(classes="box"):
            yield Static("Write a report", classes="box-title", markup=False)
            yield Static(say(WORDS.format(clean(str(self.keeper.desk.path.parent)))), classes="box-words", markup=False)
            with Fields(id="fields"):
                for field in fields:
                    yield FieldRow(field, self._begin.get(field.key, ""), 14)
            yield Static(id="refused", classes="box-words", markup=False)
            with Horizontal(classes="buttons"):
                yield Button("Write it (Ctrl+S)", id="write", variant="primary")
                yield Button("Back (Esc)", id="back")

    def on_mount(self) -> None:
        self._rows()["kind"].control.focus()
        self._name_file()

    def _rows(self) -> dict[str, FieldRow]:
        return {row.field.key: row for row in self.query(FieldRow)}

    def _texts(self) -> dict[str, str]:
        return {key: row.text.strip() for key, row in self._rows().items()}

    @on(Choice.Changed)
    @on(Input.Changed)
    def _changed(self) -> None:
        self._name_file()

    def _name_file(self) -> None:
        """A name for the file, as long as the keeper gave none."""
        texts = self._texts()
        kind = BY_TITLE[texts["kind"]]
        if kind == "labels" and texts["form"] != "PDF":
            self._rows()["form"].text = "PDF"
            return
        if texts["file"] != self._suggested:
            return
        about = texts["about"] if kind in SUBJECTS or kind == "labels" else None
        place = suggested(self.keeper.desk.path, kind, about or None, self.keeper.clock(), ENDINGS[texts["form"]])
        if clean(place.name) != self._suggested:
            self._suggested = clean(place.name)
            self._rows()["file"].text = self._suggested

    def action_offer(self) -> None:
        row = next((r for r in self._rows().values() if r.control.has_focus), None)
        if row is not None:
            row.offer()

    @on(Choice.Done)
    def _onward(self) -> None:
        self.focus_next()

    @on(Input.Submitted)
    def _entered(self) -> None:
        if self._rows()["file"].control.has_focus:
            self.action_write()
        else:
            self.focus_next()

    @on(Button.Pressed, "#write")
    def action_write(self) -> None:
        after_typing(self, self._write)

    def _write(self) -> None:
        if self.busy:
            return
        texts, now = self._texts(), self.keeper.clock()
        texts["about"] = self._names.get(texts["about"], texts["about"])

        def job() -> Message:
            try:
                return ReportWritten(self.keeper.desk.ask(lambda w: written(w, texts, now)))
            except (ReportError, NotFound, ValueError) as problem:
                return ReportRefused(str(problem))
            except BookError as problem:
                return ReportRefused(f"{problem.title}. {problem.message}")

        self.busy = True
        self._say("Writing …", "$foreground-muted")
        self.keeper.work(job, to=self, group="report")

    def on_report_refused(self, message: ReportRefused) -> None:
        self.busy = False
        self._say(f"!! {message.text}", "$text-error")

    def on_failed(self, message: Message) -> None:
        self.busy = False

    def on_report_written(self, message: ReportWritten) -> None:
        self.busy = False
        self.app.notify(clean(f"Written to {message.place}"), title="Report", markup=False, timeout=15)
        self.dismiss(None)

    def _say(self, text: str, style: str) -> None:
        self.query_one("#refused", Static).update(say(text, style))

    @on(Button.Pressed, "#back")
    def action_close(self) -> None:
        self.dismiss(None)


def written(workshop: Workshop, texts: dict[str, str], now: datetime) -> Path:
    """Makes the report that a form asks for and writes it; returns where it lies.

    Raises:
        ReportError, NotFound, ValueError, BookError: what was wrong and what would be right.
    """
    kind, ending = BY_TITLE[texts["kind"]], ENDINGS[texts["form"]]
    if not texts["file"]:
        raise ReportError("name the file that it goes to")
    place = workshop.book.path.parent / Path(texts["file"]).expanduser()
    order = workshop.preferences.date_order
    since = _day(texts["since"], now, order, start=True) if texts["since"] else None
    until = _day(texts["until"], now, order, start=False) if texts["until"] else None
    if kind == "labels":
        names = [n.strip() for n in texts["about"].split(";") if n.strip()]
        return write_new(place, make_labels(workshop, names, until, made_at=now))
    subject = texts["about"] or None if kind in SUBJECTS else None
    form = "text" if ending == "txt" else ending
    made = make(
        workshop, kind, subject, since if kind in PERIODS else None, until, exact=form in MACHINES, made_at=now
    )  # fmt: skip
    return write(made, place, format=form)


def _day(text: str, now: datetime, order: str | None, *, start: bool) -> datetime:
    found = moment(text, now, end_of_day=True, order=order)
    if start and found.time() == found.time().max:
        return found.replace(hour=0, minute=0, second=0, microsecond=0)
    return found
