"""One of several, chosen with the arrows and Enter, by its number, or with a click."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.screen import ModalScreen
from textual.widgets import Button, OptionList, Static
from textual.widgets.option_list import Option

from bathkeeper.tui.plain import say


class ChooseScreen(ModalScreen[int | None]):
    """Dismissed with the place of what was chosen, counted from 0, or None."""

    CSS_PATH = ["modal.tcss", "choose.tcss"]
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "close", "Back", show=False),
        *(Binding(str(n), f"take({n - 1})", f"Number {n}", show=False) for n in range(1, 10)),
    ]

    def __init__(self, title: str, words: Sequence[str]) -> None:
        super().__init__()
        self._title, self._words = title, list(words)

    def compose(self) -> ComposeResult:
        with Vertical(classes="box"):
            yield Static(say(self._title), classes="box-title", markup=False)
            options = [Option(say(f"{n if n < 10 else ' '} {word}")) for n, word in enumerate(self._words, start=1)]
            yield OptionList(*options, id="choices", markup=False)
            with Horizontal(classes="buttons"):
                yield Button("Back (Esc)", id="back")

    def on_mount(self) -> None:
        choices = self.query_one("#choices", OptionList)
        choices.highlighted = 0
        choices.focus()

    @on(OptionList.OptionSelected)
    def _selected(self, event: OptionList.OptionSelected) -> None:
        self.dismiss(event.option_index)

    def action_take(self, place: int) -> None:
        if place < len(self._words):
            self.dismiss(place)

    @on(Button.Pressed, "#back")
    def action_close(self) -> None:
        self.dismiss(None)
