"""A question before something is done that cannot be unsaid; names what it is about."""

from __future__ import annotations

from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.screen import ModalScreen
from textual.widgets import Button, Static

from bathkeeper.tui.plain import say


class ConfirmScreen(ModalScreen[bool]):
    """Dismissed with True for yes. Enter on the button or y says yes; Escape or n says no."""

    CSS_PATH = ["modal.tcss"]
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("y", "answer(True)", "Yes", show=False),
        Binding("n,escape", "answer(False)", "No", show=False),
    ]

    def __init__(self, question: str, about: str, yes: str, no: str = "Leave it (n)") -> None:
        super().__init__()
        self._question, self._about, self._yes, self._no = question, about, yes, no

    def compose(self) -> ComposeResult:
        with Vertical(classes="box"):
            yield Static(say(self._question), classes="box-title", markup=False)
            with VerticalScroll():
                yield Static(say(self._about, lines=True), classes="box-words", markup=False)
            with Horizontal(classes="buttons"):
                yield Button(say(self._yes + " (y)"), id="yes", variant="warning")
                yield Button(say(self._no), id="no")

    def on_mount(self) -> None:
        self.query_one("#yes").focus()

    def action_answer(self, yes: bool) -> None:
        self.dismiss(yes)

    @on(Button.Pressed)
    def _pressed(self, event: Button.Pressed) -> None:
        self.dismiss(event.button.id == "yes")
