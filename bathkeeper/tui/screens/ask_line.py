"""A question that one line answers: what was read, a note, a reason. What was understood stands below while it is typed."""

from __future__ import annotations

from collections.abc import Callable
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.events import Key
from textual.screen import ModalScreen
from textual.widgets import Button, Input, Static

from bathkeeper.tui.plain import say
from bathkeeper.tui.widgets.lines import LineInput, after_typing


class AskLine(ModalScreen[str | None]):
    """Dismissed with the text, or None. ``check`` says what was understood, or raises ValueError with what would be right."""

    CSS_PATH = ["modal.tcss"]
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "close", "Back", show=False),
        Binding("ctrl+s,f10", "done", "Done", show=False, priority=True),
    ]

    def __init__(self, title: str, words: str, hint: str, done: str, check: Callable[[str], str]) -> None:
        super().__init__()
        self._title, self._words, self._hint, self._done, self._check = title, words, hint, done, check

    def compose(self) -> ComposeResult:
        with Vertical(classes="box"):
            yield Static(say(self._title), classes="box-title", markup=False)
            yield Static(say(self._words, lines=True), classes="box-words", markup=False)
            yield LineInput(placeholder=self._hint, id="line", max_length=2000)
            yield Static(id="understood", classes="box-words", markup=False)
            with Horizontal(classes="buttons"):
                yield Button(say(f"{self._done} (Enter)"), id="done", variant="primary")
                yield Button("Back (Esc)", id="back")

    def on_mount(self) -> None:
        self.query_one("#line").focus()

    @property
    def _text(self) -> str:
        return self.query_one("#line", Input).value.strip()

    @on(Input.Changed)
    def _typed(self) -> None:
        said = ""
        if self._text:
            try:
                said = f"= {self._check(self._text)}"
            except ValueError:
                said = "…"
        self.query_one("#understood", Static).update(say(said, "$text-success" if said.startswith("=") else ""))

    def on_key(self, event: Key) -> None:
        """Keys that were hit while the question opened go into its line."""
        if self.focused is None and (event.is_printable or event.key == "enter"):
            event.stop()
            line = self.query_one("#line", LineInput)
            line.focus()
            line.post_message(event)

    @on(Input.Submitted)
    @on(Button.Pressed, "#done")
    def action_done(self) -> None:
        after_typing(self, self._answer)

    def _answer(self) -> None:
        try:
            self._check(self._text)
        except ValueError as problem:
            self.query_one("#understood", Static).update(say(f"!! {problem}", "$text-error"))
            self.query_one("#line").focus()
            return
        self.dismiss(self._text)

    @on(Button.Pressed, "#back")
    def action_close(self) -> None:
        self.dismiss(None)
