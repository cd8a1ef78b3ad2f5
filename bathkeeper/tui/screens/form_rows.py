"""The rows of a form: label, unit, field and echo in one line, the reason of a refusal below; and a text of several lines."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.suggester import SuggestFromList
from textual.widget import Widget
from textual.widgets import Input, Static, TextArea

from bathkeeper.tui.field import Field
from bathkeeper.tui.plain import clean, fit, join, pad, say
from bathkeeper.tui.widgets.choice import Choice
from bathkeeper.tui.widgets.lines import LineInput

UNIT_WIDTH = 5


class FieldRow(Horizontal):
    """Few widgets: a form has thirty of these. ``began``: what the field begins with when there is no draft."""

    def __init__(self, field: Field, text: str, label_width: int) -> None:
        super().__init__()
        self.field = field
        self.began = field.default
        hidden = {clean(s): s for s in field.suggest if clean(s) != s}
        self._meant = {shown: name for shown, name in hidden.items() if shown not in field.suggest}
        self._label = join([pad(field.label, label_width), " ", (pad(field.unit, UNIT_WIDTH) + " ", "$foreground-muted")])
        self._echo = Static(classes="echo", markup=False)
        self._below: Static | None = None
        self._shown = ("", "")
        self.control: Input | Choice | TextArea
        if field.choices:
            self.control = Choice(field.choices, text or field.default)
            self.began = Choice(field.choices, field.default).value
        elif field.long:
            self.control = TextArea(text, soft_wrap=True, classes="body", tab_behavior="focus")
        else:
            # a placeholder is never parsed as markup, only drawn; what a field cannot show it does not hold
            self.began = clean(field.default)
            suggester = SuggestFromList([clean(s) for s in field.suggest], case_sensitive=False) if field.suggest else None
            hint = fit(field.placeholder, 60)
            self.control = LineInput(clean(text), placeholder=hint, compact=True, select_on_focus=True, suggester=suggester)

    def compose(self) -> ComposeResult:
        yield Static(self._label, classes="label", markup=False)
        yield self.control
        yield self._echo

    @property
    def text(self) -> str:
        """What stands in the field; a known name that cannot be shown whole is meant whole, or another one would be written."""
        if isinstance(self.control, TextArea):
            return self.control.text
        return self._meant.get(self.control.value, self.control.value) if self._meant else self.control.value

    @text.setter
    def text(self, text: str) -> None:
        if isinstance(self.control, TextArea):
            self.control.text = text
        else:
            self.control.value = text

    def offer(self) -> None:
        """Puts the next of what is offered into the field."""
        offered = [clean(s) for s in self.field.suggest]
        if offered and isinstance(self.control, Input):
            here = offered.index(self.control.value) + 1 if self.control.value in offered else 0
            self.control.value = offered[here % len(offered)]
            self.control.cursor_position = len(self.control.value)

    def show(self, echo: str, refused: str) -> None:
        """What was understood of the text, or why it was not."""
        said = echo
        key = next(iter(self.field.words("")), "").partition("=")[0]
        for word in (self.field.label, key, self.field.label.replace(" ", "_")):  # it stands there already
            said = said.removeprefix(f"{word} ")
        if (said, refused) == self._shown:
            return
        self._shown = (said, refused)
        self._echo.update(say(f"= {said}") if said else "", layout=False)
        if refused and self._below is None and isinstance(self.parent, Widget):
            self._below = Static(classes="refused", markup=False)
            self.parent.mount(self._below, after=self)
        if self._below is not None:
            self._below.display = bool(refused)
            self._below.update(say(f"!! {refused}") if refused else "")


class BodyRow(FieldRow):
    """A text of several lines, and beside it what it may start from."""

    def __init__(self, field: Field, text: str, label_width: int) -> None:
        super().__init__(field, text, label_width)
        self.beside = TextArea("", read_only=True, soft_wrap=True, classes="beside", tab_behavior="focus")

    def compose(self) -> ComposeResult:
        with Vertical():
            yield Static("Yours, as TOML", classes="over", markup=False)
            yield self.control
        with Vertical():
            yield Static("To start from (F8 takes it over)", classes="over", markup=False)
            yield self.beside

    def show_beside(self, text: str) -> None:
        """What there is to start from."""
        plain = clean(text, lines=True)
        if plain != self.beside.text:
            self.beside.text = plain
