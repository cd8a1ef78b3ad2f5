"""Setting up a line from the template: asks the workshop's name and nothing else."""

from __future__ import annotations

from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.screen import ModalScreen
from textual.widgets import Button, Input, Static

from bathkeeper.tui.plain import say
from bathkeeper.tui.widgets.lines import LineInput

WORDS = """Degreaser, rust removal, rinses, pickle, electrolyte, acid dip, passivate and a place to dry:
11 places, volumes of 20 L and 40 L. All of it can be changed later. What you type here stands at the top of every screen."""


class NamingScreen(ModalScreen[str | None]):
    """Dismissed with the name, or None."""

    CSS_PATH = ["modal.tcss"]
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "close", "Back", show=False),
        Binding("ctrl+s,f10", "set_up", "Set up", show=False),
    ]

    def compose(self) -> ComposeResult:
        with Vertical(classes="box"):
            yield Static("Set up a line", classes="box-title", markup=False)
            yield Static(say(WORDS, lines=True), classes="box-words", markup=False)
            yield LineInput(placeholder="What is your workshop called?", id="name", max_length=120)
            yield Static(id="refused", classes="box-words", markup=False)
            with Horizontal(classes="buttons"):
                yield Button("Set it up (Enter)", id="set-up", variant="primary")
                yield Button("Back (Esc)", id="back")

    def on_mount(self) -> None:
        self.query_one("#name").focus()

    def action_close(self) -> None:
        self.dismiss(None)

    @on(Input.Submitted)
    @on(Button.Pressed, "#set-up")
    def action_set_up(self) -> None:
        name = self.query_one("#name", Input).value.strip()
        if name:
            self.dismiss(name)
        else:
            self.query_one("#refused", Static).update(
                say("A workshop needs a name; any will do, for example Back shed.", "$text-error")
            )
            self.query_one("#name").focus()

    @on(Button.Pressed, "#back")
    def _back(self) -> None:
        self.dismiss(None)
