"""One of a few words, chosen with the left and right arrows, by the first letter, or by clicking."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from textual import events
from textual.app import RenderResult
from textual.binding import Binding, BindingType
from textual.message import Message
from textual.widget import Widget

from bathkeeper.tui.plain import clean, fit, say


class Choice(Widget, can_focus=True):
    """Shows the chosen word between two arrows. An empty word is a choice as well: nothing said."""

    DEFAULT_CSS = """
    Choice { height: 1; background: $panel; }
    Choice:focus { background: $primary-muted; text-style: bold; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("left", "step(-1)", "Word before", show=False),
        Binding("right,space", "step(1)", "Next word", show=False),
        Binding("enter", "done", "Next field", show=False),
    ]

    class Changed(Message):
        """Another word was chosen."""

        def __init__(self, choice: Choice) -> None:
            super().__init__()
            self.choice = choice

        @property
        def control(self) -> Choice:
            return self.choice

    class Done(Message):
        """On to the next field."""

    def __init__(self, words: Sequence[str], value: str = "", id: str | None = None) -> None:
        super().__init__(id=id)
        self.words = list(words)
        self._value = value if value in self.words else self.words[0] if self.words else ""

    @property
    def value(self) -> str:
        return self._value

    @value.setter
    def value(self, word: str) -> None:
        if word in self.words and word != self._value:
            self._value = word
            self.refresh()
            self.post_message(self.Changed(self))

    def render(self) -> RenderResult:
        return say(f"◂ {fit(self._value or '–', max(self.size.width - 4, 1))} ▸")

    def action_step(self, by: int) -> None:
        if self.words:
            self.value = self.words[(self.words.index(self._value) + by) % len(self.words)]

    def action_done(self) -> None:
        self.post_message(self.Done())

    def on_click(self, event: events.Click) -> None:
        self.action_step(-1 if event.x < 2 else 1)

    def on_key(self, event: events.Key) -> None:
        """A letter goes to the next word that begins with it."""
        if event.character and event.character.isalnum() and self.words:
            here = self.words.index(self._value)
            for word in [*self.words[here + 1 :], *self.words[: here + 1]]:
                if clean(word).casefold().startswith(event.character.casefold()):
                    self.value = word
                    event.stop()
                    return
