"""Why something is due, or why a content is what it is: the words, the formula, the entries, the sources."""

from __future__ import annotations

from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Button, Static

from bathkeeper.findings import Because
from bathkeeper.tui.plain import clean, join, say


class WhyScreen(ModalScreen[bool]):
    """Scrolls with the arrows; closed with Escape or Enter. True when the keeper confirms the doubtful reading it is about."""

    CSS_PATH = ["modal.tcss"]
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,w,q", "close", "Close", show=False),
        Binding("f5", "copy", "Copy", show=False),
        Binding("y", "confirm", "Confirm the reading", show=False),
        Binding("down", "scroll(1)", "Down", show=False),
        Binding("up", "scroll(-1)", "Up", show=False),
        Binding("pagedown", "scroll(8)", "Page down", show=False),
        Binding("pageup", "scroll(-8)", "Page up", show=False),
    ]

    def __init__(self, what: str, because: Because, entries: list[str], can_confirm: bool = False) -> None:
        super().__init__()
        self._can_confirm = can_confirm
        self._what, self._because, self._entries = what, because, entries

    def compose(self) -> ComposeResult:
        with Vertical(classes="box"):
            yield Static(say(self._what), classes="box-title", markup=False)
            with VerticalScroll(id="reasons", can_focus=False):
                yield Static(self._reasons(), classes="box-words", markup=False)
            with Horizontal(classes="buttons"):
                if self._can_confirm:
                    yield Button("It is right (y)", id="confirm", variant="warning")
                yield Button("Copy (F5)", id="copy")
                yield Button("Close (Esc)", id="close", variant="primary")

    def on_mount(self) -> None:
        self.query_one("#close").focus()

    def _reasons(self) -> Content:
        parts: list[tuple[str, str] | str] = [self._because.text, "\n"]
        if self._because.formula:
            parts += [("\nReckoned as\n", "bold"), self._because.formula, "\n"]
        if self._entries:
            parts.append((f"\nEntries that it rests on ({len(self._because.entries)})\n", "bold"))
            parts += [f"{clean(e)}\n" for e in self._entries]
            if len(self._because.entries) > len(self._entries):
                parts.append(f"… and {len(self._because.entries) - len(self._entries)} more\n")
        if self._because.sources:
            parts.append(("\nSources\n", "bold"))
            parts += [f"{clean(s)}\n" for s in self._because.sources]
        return join(parts)

    def action_scroll(self, by: int) -> None:
        self.query_one("#reasons").scroll_relative(y=by, animate=False)

    @on(Button.Pressed, "#close")
    def action_close(self) -> None:
        self.dismiss(False)

    @on(Button.Pressed, "#confirm")
    def action_confirm(self) -> None:
        if self._can_confirm:
            self.dismiss(True)

    @on(Button.Pressed, "#copy")
    def action_copy(self) -> None:
        self.app.copy_to_clipboard(f"{clean(self._what)}\n\n{self._reasons().plain}")
        self.notify("Copied.", markup=False)
