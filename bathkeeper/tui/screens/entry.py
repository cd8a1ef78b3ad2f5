"""An entry in full, with what became of it, and the ways to correct and to withdraw it."""

from __future__ import annotations

from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.screen import ModalScreen
from textual.widgets import Button, Static, TextArea

from bathkeeper.tui.plain import clean, say


class EntryScreen(ModalScreen[str | None]):
    """The text can be marked and copied. Dismissed with ``correct`` or ``withdraw`` when the keeper wants that; withdrawing is
    asked once more."""

    CSS_PATH = ["modal.tcss"]
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "close", "Close", show=False),
        Binding("f5", "copy", "Copy", show=False),
        Binding("f4", "correct", "Correct", show=False),
        Binding("f8", "withdraw", "Withdraw", show=False),
    ]

    def __init__(self, title: str, text: str, can_correct: bool = True) -> None:
        super().__init__()
        self._heading, self._text, self._can_correct = title, text, can_correct

    def compose(self) -> ComposeResult:
        with Vertical(classes="box"):
            yield Static(say(self._heading), classes="box-title short", markup=False)
            yield TextArea(clean(self._text, lines=True), read_only=True, soft_wrap=True, id="text")
            with Horizontal(classes="buttons"):
                if self._can_correct:
                    yield Button("Correct (F4)", id="correct")
                    yield Button("Withdraw (F8)", id="withdraw")
                yield Button("Copy (F5)", id="copy")
                yield Button("Close (Esc)", id="close", variant="primary")

    def on_mount(self) -> None:
        self.query_one("#close").focus()

    @on(Button.Pressed, "#close")
    def action_close(self) -> None:
        self.dismiss(None)

    @on(Button.Pressed, "#withdraw")
    def action_withdraw(self) -> None:
        if self._can_correct:
            self.dismiss("withdraw")

    @on(Button.Pressed, "#correct")
    def action_correct(self) -> None:
        if self._can_correct:
            self.dismiss("correct")

    @on(Button.Pressed, "#copy")
    def action_copy(self) -> None:
        self.app.copy_to_clipboard(clean(f"{self._heading}\n{self._text}", lines=True))
        self.notify("Copied.", markup=False)
