"""What screens of containers share: one key for everything that is done to the container under the cursor."""

from __future__ import annotations

from typing import ClassVar

from textual.binding import Binding, BindingType

from bathkeeper.ledger import HandOver, Held
from bathkeeper.tui.screens.base import BookScreen
from bathkeeper.tui.screens.entry_form import EntryForm
from bathkeeper.tui.waste_begin import RECEIPT_ONLY, begin_of, begin_receipt

DOINGS: dict[str, str] = {
    "check": "checked",
    "label": "labelled",
    "test": "tested",
    "move": "moved",
    "put_in": "put in",
    "treat": "treated",
    "hand_over": "handed over",
}
"""Action of the screen -> what is done to the container."""


class ContainingScreen(BookScreen):
    """Forms begin with the container and with what is known of it."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "back", "Back"),
        Binding("p", "plan", "Plan"),
        Binding("h", "doing('hand_over')", "Hand over"),
        Binding("c", "doing('check')", "Check"),
        Binding("l", "doing('label')", "Label"),
        Binding("t", "doing('test')", "Test"),
        Binding("m", "doing('move')", "Move"),
        Binding("i", "doing('put_in')", "Put in"),
        Binding("n", "new", "New"),
        Binding("r", "receipt", "Receipt"),
        Binding("x", "doing('treat')", "Treated", show=False),
        Binding("d", "report", "Report"),
    ]

    @property
    def chosen(self) -> Held | None:
        """The container that keys are about."""
        return None

    @property
    def hand_overs(self) -> list[HandOver]:
        """All of them, oldest first."""
        return []

    @property
    def handed(self) -> HandOver | None:
        """The hand-over that a receipt would be for: the one under the cursor, or the latest without one."""
        name = self.chosen.container if self.chosen is not None else None
        waiting = [h for h in self.hand_overs if h.waits and name in (None, h.container)]
        return waiting[-1] if waiting else None

    def action_doing(self, what: str) -> None:
        """Opens the form of what is done to the container."""
        if self.chosen is None:
            self.notify("There is no container yet: n opens one.", markup=False)
        elif what == "hand_over" and self.chosen.empty:
            self.notify("It is empty: there is nothing to hand over.", markup=False)
        else:
            self.app.push_screen(EntryForm("container", None, begin=begin_of(DOINGS[what], self.chosen)))

    def action_new(self) -> None:
        """Opens the form of a container that is not there yet."""
        self.app.push_screen(EntryForm("container", None, begin=begin_of("opened", None)))

    def action_receipt(self) -> None:
        """Opens the form of a receipt that has come."""
        handed = self.handed
        if handed is None:
            self.notify("No hand-over waits for its receipt here.", markup=False)
        else:
            self.app.push_screen(EntryForm("container", None, begin=begin_receipt(handed), only=RECEIPT_ONLY))

    def action_report(self) -> None:
        """Opens the form of the report that belongs here: the content statement of the container."""
        if self.chosen is None:
            self.notify("There is no container here to write about.", markup=False)
        else:
            self.open_report("statement", self.chosen.container)

    def open_report(self, kind: str, subject: str = "") -> None:
        """Opens the form of a report, beginning with what is known."""
        from bathkeeper.tui.screens.report import ReportScreen

        offers = (self.chosen.container,) if self.chosen is not None else ()
        self.app.push_screen(ReportScreen(kind, subject, offers))

    def action_plan(self) -> None:
        """Opens the plan for handing the container over."""
        from bathkeeper.tui.screens.disposal import DisposalScreen

        if self.chosen is None:
            self.notify("There is no container yet: n opens one.", markup=False)
        else:
            self.app.push_screen(DisposalScreen(self.chosen.container))

    def action_back(self) -> None:
        """To where one came from."""
        self.dismiss(None)
