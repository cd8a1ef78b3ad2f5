"""A text to read and to copy: what went wrong and what would be right, or an entry in full."""

from __future__ import annotations

from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.screen import ModalScreen
from textual.widgets import Button, Static, TextArea

from bathkeeper.tui.plain import clean, say


class ErrorScreen(ModalScreen[None]):
    """The text can be marked with the keyboard or mouse, and copied whole."""

    CSS_PATH = ["modal.tcss"]
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "close", "Close", show=False),
        Binding("f5", "copy", "Copy", show=False),
    ]

    def __init__(self, title: str, text: str) -> None:
        super().__init__()
        self._heading, self._text = title, text

    def compose(self) -> ComposeResult:
        with Vertical(classes="box"):
            yield Static(say(self._heading), classes="box-title", markup=False)
            yield TextArea(clean(self._text, lines=True), read_only=True, soft_wrap=True, id="text")
            with Horizontal(classes="buttons"):
                yield Button("Copy (F5)", id="copy")
                yield Button("Close (Esc)", id="close", variant="primary")

    def on_mount(self) -> None:
        self.query_one("#close").focus()

    def action_close(self) -> None:
        self.dismiss(None)

    @on(Button.Pressed, "#close")
    def _close_pressed(self) -> None:
        self.dismiss(None)

    @on(Button.Pressed, "#copy")
    def action_copy(self) -> None:
        self.app.copy_to_clipboard(clean(f"{self._heading}\n{self._text}", lines=True))
        self.notify("Copied.", markup=False)
