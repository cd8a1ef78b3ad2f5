"""An old spreadsheet comes in: the file, what its columns are taken as, what that would bring, and the import."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import ClassVar, Literal

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.message import Message
from textual.widgets import Input, OptionList, Static
from textual.widgets.option_list import Option

from bathkeeper.catalogue.own_sheets import SheetMapping
from bathkeeper.headlines import sentence
from bathkeeper.logbook.exchange import Imported
from bathkeeper.sheets.asking import Question, answered
from bathkeeper.sheets.making import MappingError
from bathkeeper.sheets.roles import role_of_words, role_words, with_role, with_unit
from bathkeeper.sheets.taking import Looked, Plan, look, read, take
from bathkeeper.tui.desk import Snapshot
from bathkeeper.tui.plain import clean, fit, join, pad, rows, say
from bathkeeper.tui.screens.ask_line import AskLine
from bathkeeper.tui.screens.base import BookScreen
from bathkeeper.tui.screens.choose import ChooseScreen
from bathkeeper.tui.screens.tank import refill
from bathkeeper.tui.widgets.keys import KeyLine
from bathkeeper.tui.widgets.lines import LineInput
from bathkeeper.workshop import Workshop

MOST_SHOWN = 2000  # lines of the dry run on the screen; the command line prints all
ORDERS: tuple[Literal["dmy", "mdy", "ymd"], ...] = ("dmy", "mdy", "ymd")
MARKS: tuple[Literal["point", "comma"], ...] = ("point", "comma")


class SheetLooked(Message):
    """A file was read, its mapping found or proposed; or it cannot be, in a sentence."""

    def __init__(self, looked: Looked | None, trouble: str = "") -> None:
        super().__init__()
        self.looked, self.trouble = looked, trouble


class SheetPlanned(Message):
    """What an import would bring."""

    def __init__(self, plan: Plan | None, trouble: str = "") -> None:
        super().__init__()
        self.plan, self.trouble = plan, trouble


class SheetTaken(Message):
    """The import is done."""

    def __init__(self, done: Imported, left_out: int) -> None:
        super().__init__()
        self.done, self.left_out = done, left_out


class ImportSheetScreen(BookScreen):
    """Enter in the path reads the file; the columns can be changed; F4 shows what would come, Ctrl+S imports it."""

    topic = "old spreadsheet"
    CSS_PATH = ["base.tcss", "import_sheet.tcss"]
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "back", "Back"),
        Binding("f2", "role", "Taken as"),
        Binding("f3", "unit", "Unit"),
        Binding("f4", "dry_run", "What would come"),
        Binding("f5", "order", "Dates", show=False),
        Binding("f6", "mark", "Decimal mark", show=False),
        Binding("f7", "unlikely", "Unlikely too", show=False),
        Binding("f8", "ask", "Questions"),
        Binding("ctrl+s,f10", "import_it", "Import", key_display="^S", priority=True),
    ]

    def __init__(self) -> None:
        super().__init__()
        self.looked: Looked | None = None
        self.plan: Plan | None = None
        self._trouble = ""
        self._unlikely = False
        self._busy = False

    def compose(self) -> ComposeResult:
        yield from self.top()
        yield LineInput(placeholder="The file: notes.csv or notes.xlsx, then Enter", id="file", max_length=2000, compact=True)
        yield Static(id="about", markup=False)
        yield Static(id="heads", markup=False)
        yield OptionList(id="rows", markup=False)
        yield KeyLine()

    async def on_mount(self) -> None:
        self.query_one("#file").focus()
        await self.show(self.keeper.snapshot)
        self._redraw()

    def heading(self, snapshot: Snapshot) -> str:
        return "Import an old spreadsheet"

    # -- the file ---------------------------------------------------------------------------------------------------------

    @on(Input.Submitted, "#file")
    def _read_file(self) -> None:
        text = self.query_one("#file", Input).value.strip()
        if not text or self._busy:
            return
        self._busy, self.looked, self.plan, self._trouble = True, None, None, ""
        self._redraw("Reading …")

        def question(workshop: Workshop) -> Message:
            try:
                return SheetLooked(look(workshop, Path(text)))
            except MappingError as problem:
                return SheetLooked(None, str(problem))

        self._ask(question)

    def _ask(self, question: Callable[[Workshop], Message]) -> None:
        """Asks in a thread; what goes wrong is told by the app, and the screen is free again."""

        def job() -> Message | None:
            try:
                return self.keeper.desk.ask(question)
            except Exception as problem:  # the app's own edge says it
                failed = self.keeper.sentence_of(problem)
                return SheetLooked(self.looked, f"{failed.title}. {failed.text}")

        self.keeper.work(job, to=self)

    def on_sheet_looked(self, message: SheetLooked) -> None:
        self._busy = False
        self.looked, self._trouble = message.looked, message.trouble
        self._redraw()
        if self.looked is not None:
            self.query_one("#rows").focus()

    # -- drawing ----------------------------------------------------------------------------------------------------------

    def on_resize(self) -> None:
        self.call_after_refresh(self._redraw)

    def _redraw(self, waiting: str = "") -> None:
        if not self.query("#rows"):
            return
        where = self.query_one("#rows", OptionList)
        about = self.query_one("#about", Static)
        if self._trouble:
            about.update(say(f"!! {self._trouble}", "$text-error"))
        elif waiting:
            about.update(say(waiting, "$foreground-muted"))
        elif self.looked is None:
            about.update(
                say("Its columns are shown, and what is taken from them, before anything is written.", "$foreground-muted")
            )
        elif self.plan is not None:
            about.update(self._about_plan(self.plan))
        else:
            about.update(self._about_sheet(self.looked))
        heads = ""
        options: list[Option] = []
        width = max(self.size.width - 6, 40)
        if self.plan is not None:
            heads, options = "row    what", self._plan_options(self.plan, width)
        elif self.looked is not None:
            wide = (width - 2) // 3
            heads = pad("column", wide + 1) + pad("such as", wide + 1) + "is taken as"
            options = [Option(self._column(self.looked, n, name, wide)) for n, name in enumerate(self.looked.heads.names)]
        self.query_one("#heads", Static).update(say(heads, "bold"))
        refill(where, options or [Option(say(""), disabled=True)])

    def _about_sheet(self, looked: Looked) -> Content:
        mapping = looked.mapping
        how = {
            "saved": f"read by the mapping {looked.name} of this book",
            "given": "",
            "proposed": "proposed; change what is wrong",
        }
        told = [
            f"sheet {looked.grid.name}: {how[looked.origin]}",
            f"dates {mapping.date_order or 'as they stand'} (F5) · decimal {mapping.decimal or 'as it stands'} (F6)"
            f" · tank {mapping.tank or mapping.tank_column or '?'} · F4 shows what would come",
        ]
        lines = [say(fit(line, self.size.width - 2)) for line in told]
        if looked.open:
            many = f" ({len(looked.open)} questions; F8 answers)"
            lines.append(say(fit(f"? {looked.open[0].text}", self.size.width - 2 - len(many)) + many, "$text-warning bold"))
        return rows(lines)

    def _about_plan(self, plan: Plan) -> Content:
        out = plan.refused_rows + len({f.row for f in plan.unlikely})
        told = f"{len(plan.entries)} entries from {plan.taken_rows} rows would come in; {plan.already} are there already"
        unlikely = "yes" if self._unlikely else "no"
        also = f"{out} rows stay out, {len(plan.passed)} make no entry; F7: unlikely ones too ({unlikely})"
        return rows([say(told, "bold"), say(also), say("Ctrl+S imports · Esc goes back to the columns", "$foreground-muted")])

    @staticmethod
    def _column(looked: Looked, place: int, name: str, wide: int) -> Content:
        cells = (line.cell(place) for line in looked.grid.lines if line.number >= looked.mapping.first_row)
        some = list(dict.fromkeys(c.text for c in cells if c.filled))[:3]
        role = role_words(looked.mapping, name)
        style = "$foreground-muted" if role == "not taken" else "bold"
        return join([(pad(name, wide) + " ", ""), (pad(" · ".join(some), wide) + " ", ""), (fit(role, wide), style)])

    @staticmethod
    def _plan_options(plan: Plan, width: int) -> list[Option]:
        options = []
        for fault in (*plan.refused, *plan.unlikely, *plan.passed, *plan.left):
            where = f" {fault.column}:" if fault.column else ""
            line = f"!! {fault.row:>5}{where} {fault.what}. {fault.right}"
            options.append(Option(say(clean(line)[:600], "$text-error")))
        for number, entry in plan.entries:
            options.append(Option(say(fit(f"✓ {number:>6} {entry.at:%Y-%m-%d %H:%M:%S} {sentence(entry)}", width))))
        more = len(options) - MOST_SHOWN
        return [*options[:MOST_SHOWN], *([Option(say(f"… and {more} more"), disabled=True)] if more > 0 else [])]

    # -- changing ---------------------------------------------------------------------------------------------------------

    @property
    def _chosen(self) -> str | None:
        place = self.query_one("#rows", OptionList).highlighted
        if self.looked is None or self.plan is not None or place is None or place >= len(self.looked.heads.names):
            return None
        return self.looked.heads.names[place]

    def _change(self, mapping: SheetMapping) -> None:
        looked = self.looked
        if looked is None:
            return
        self.plan = None

        def question(workshop: Workshop) -> Message:
            return SheetLooked(looked.with_mapping(mapping, workshop.vocabulary))

        self._ask(question)

    @on(OptionList.OptionSelected, "#rows")
    def action_role(self) -> None:
        """Asks what the column under the cursor is taken as."""
        looked, name = self.looked, self._chosen
        if looked is None or name is None:
            return

        def understood(text: str) -> str:
            return role_of_words(text).words

        def told(text: str | None) -> None:
            if text is not None:
                role = role_of_words(text)
                changed = with_role(looked.mapping, name, role)
                self._change(changed)

        about = (
            "date, time, tank, by, nothing; or a kind of entry, the word that its form has, and the unit: reading zinc g/L; "
            "addition zinc chloride = g; run current A; run minutes min; remark text."
        )
        self.app.push_screen(
            AskLine(f"{fit(name, 50)}: taken as what?", about, "reading zinc g/L", "Take it", understood), told
        )

    def action_unit(self) -> None:
        """Asks for the unit of the numbers in a column that have none."""
        looked, name = self.looked, self._chosen
        if looked is None or name is None:
            return

        def told(text: str | None) -> None:
            if text is not None:
                self._change(with_unit(looked.mapping, name, text))

        about = "The unit of numbers that have none; one inside a cell wins. Which gallon or ounce has to be said: oz/usgal."
        self.app.push_screen(AskLine(f"{fit(name, 50)}: in which unit?", about, "g/L", "Take it", lambda t: t[:40]), told)

    def action_order(self) -> None:
        """Goes through the orders of day, month and year."""
        if self.looked is not None:
            now = self.looked.mapping.date_order
            self._set("dates", ORDERS[(ORDERS.index(now) + 1) % 3] if now is not None else ORDERS[0])

    def action_mark(self) -> None:
        """Goes through the decimal marks."""
        if self.looked is not None:
            self._set("decimal", MARKS[self.looked.mapping.decimal == "point"])

    def _set(self, key: str, answer: str) -> None:
        looked = self.looked
        if looked is None:
            return

        def question(workshop: Workshop) -> Message:
            try:
                mapping = answered(looked.mapping, key, answer, workshop.vocabulary)
                return SheetLooked(looked.with_mapping(mapping, workshop.vocabulary))
            except ValueError as problem:
                return SheetLooked(looked, str(problem))

        self.plan = None
        self._ask(question)

    def action_ask(self) -> None:
        """Asks the first of what the sheet leaves open."""
        if self.looked is None or not self.looked.open:
            self.notify("Nothing is open: F4 shows what would come.", markup=False)
            return
        question: Question = self.looked.open[0]
        if question.choices:

            def chosen(place: int | None) -> None:
                if place is not None:
                    self._set(question.key, question.choices[place][0])

            self.app.push_screen(ChooseScreen(question.text, [words for _, words in question.choices]), chosen)
            return

        def told(text: str | None) -> None:
            if text is not None:
                self._set(question.key, text)

        self.app.push_screen(AskLine("In which unit?", question.text, "g/L", "Take it", lambda t: t[:40]), told)

    # -- what would come, and the import --------------------------------------------------------------------------------------

    def action_unlikely(self) -> None:
        """Takes rows with unlikely values too, or not."""
        self._unlikely = not self._unlikely
        if self.plan is not None:
            self.action_dry_run()

    def action_dry_run(self) -> None:
        """Shows row by row what would be written and what not, and why."""
        looked, unlikely, moment = self.looked, self._unlikely, self.keeper.clock()
        if looked is None or self._busy:
            return
        if looked.open:
            self.notify("This sheet leaves something open; F8 asks it.", severity="warning", markup=False)
            return
        self._busy = True

        def question(workshop: Workshop) -> Message:
            try:
                return SheetPlanned(read(workshop, looked, moment, unlikely=unlikely))
            except MappingError as problem:
                return SheetPlanned(None, str(problem))

        self._ask(question)

    def on_sheet_planned(self, message: SheetPlanned) -> None:
        self._busy = False
        self.plan, self._trouble = message.plan, message.trouble
        self._redraw()
        self.query_one("#rows").focus()

    def action_import_it(self) -> None:
        """Imports what was shown; shows it first where it was not."""
        plan, moment = self.plan, self.keeper.clock()
        if plan is None:
            self.action_dry_run()
            return
        if not plan.entries:
            self.notify("Nothing of it is new.", markup=False)
            return
        out = plan.refused_rows + len({f.row for f in plan.unlikely})
        self.keeper.write(lambda w: take(w, plan, moment), lambda done: SheetTaken(done, out), to=self)

    def on_sheet_taken(self, message: SheetTaken) -> None:
        said = (
            f"{message.done.added} entries came in, {message.done.already} were there already; {message.left_out} rows stay out"
        )
        self.notify(said, title="Imported", markup=False, timeout=8)
        self.dismiss(None)

    def action_back(self) -> None:
        if self.plan is not None:
            self.plan = None
            self._redraw()
        else:
            self.dismiss(None)
