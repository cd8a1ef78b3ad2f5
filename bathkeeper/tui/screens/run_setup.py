"""Setting up a run: what hangs on the hooks, what is wished, and at once what to set; one key starts it."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType

from bathkeeper.tui.screens.base import BookScreen
from bathkeeper.tui.widgets.keys import KeyLine


class SetupScreen(BookScreen):
    """Ctrl+S or F10 starts."""

    topic = "run to come"
    CSS_PATH = ["base.tcss"]
    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape", "back", "Back")]

    def __init__(self, like: str | None = None) -> None:
        super().__init__()
        self._like = like

    def compose(self) -> ComposeResult:
        yield from self.top()
        yield KeyLine()

    def action_back(self) -> None:
        self.dismiss(None)
