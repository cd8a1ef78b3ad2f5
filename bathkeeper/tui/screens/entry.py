"""An entry in full, as it is stored, with the way to withdraw it."""

from __future__ import annotations

from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.screen import ModalScreen
from textual.widgets import Button, Static, TextArea

from bathkeeper.tui.plain import clean, say


class EntryScreen(ModalScreen[bool]):
    """The text can be marked and copied. True when the keeper wants the entry withdrawn; that is asked once more."""

    CSS_PATH = ["modal.tcss"]
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "close", "Close", show=False),
        Binding("f5", "copy", "Copy", show=False),
        Binding("f8", "withdraw", "Withdraw", show=False),
    ]

    def __init__(self, title: str, text: str) -> None:
        super().__init__()
        self._heading, self._text = title, text

    def compose(self) -> ComposeResult:
        with Vertical(classes="box"):
            yield Static(say(self._heading), classes="box-title short", markup=False)
            yield TextArea(clean(self._text, lines=True), read_only=True, soft_wrap=True, id="text")
            with Horizontal(classes="buttons"):
                yield Button("Withdraw it (F8)", id="withdraw")
                yield Button("Copy (F5)", id="copy")
                yield Button("Close (Esc)", id="close", variant="primary")

    def on_mount(self) -> None:
        self.query_one("#close").focus()

    @on(Button.Pressed, "#close")
    def action_close(self) -> None:
        self.dismiss(False)

    @on(Button.Pressed, "#withdraw")
    def action_withdraw(self) -> None:
        self.dismiss(True)

    @on(Button.Pressed, "#copy")
    def action_copy(self) -> None:
        self.app.copy_to_clipboard(clean(f"{self._heading}\n{self._text}", lines=True))
        self.notify("Copied.", markup=False)
