"""A field of one line that holds nothing a terminal would obey, and the list that such fields stand in."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import Screen
from textual.widgets import Input, Static

from bathkeeper.tui.plain import clean


class LineInput(Input):
    """Whatever is pasted or filled in, it comes out as plain text on one line."""

    def validate_value(self, value: str) -> str:
        """The text without control signs."""
        return clean(value)


class Words(Static):
    """Text that is laid out anew only when it has changed."""

    def __init__(self, id: str) -> None:
        super().__init__(id=id, markup=False)
        self._said = Content("")

    def say(self, content: Content) -> None:
        """Shows it."""
        if not content.is_same(self._said):  # equal contents may differ in style
            self._said = content
            self.update(content)


class Fields(VerticalScroll, can_focus=False, inherit_bindings=False):
    """Scrolls to the field with the cursor; the arrow keys are the form's, to go from field to field."""


def after_typing(screen: Screen[Any], act: Callable[[], None]) -> None:
    """Acts when the field with the cursor has taken every key that was hit before: a priority key would overtake them."""
    if screen.focused is None:
        act()
    else:
        screen.focused.call_later(act)
