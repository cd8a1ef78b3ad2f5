"""The end of a live run: what came out of it, in as few fields as there are things to say; all may stay empty."""

from __future__ import annotations

from datetime import datetime
from typing import Any, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.events import DescendantFocus, Key
from textual.screen import ModalScreen
from textual.widgets import Button, Input, Static

from bathkeeper.catalogue.defects import find_defect, load_defects
from bathkeeper.catalogue.loader import CatalogueError
from bathkeeper.runs.live import LiveRun
from bathkeeper.tui.field import Field
from bathkeeper.tui.plain import clean, fit, join, say
from bathkeeper.tui.screens.form_rows import FieldRow
from bathkeeper.tui.widgets.choice import Choice
from bathkeeper.tui.widgets.lines import Fields, after_typing
from bathkeeper.units.door import UnitError, figures, understand
from bathkeeper.units.numerals import Preferences

DEFECTS = tuple(name.replace("_", " ") for name in load_defects())
FIELDS = (
    Field("result", "result", lambda text: [], choices=("", "good", "bad")),
    Field("defect", "defect", lambda text: [], "dull, burnt, pitting …", suggest=DEFECTS),
    Field("rejects", "pieces refused", lambda text: [], "0, 1, 2 …"),
    Field("mass_before_g", "mass before", lambda text: [], "of the whole load", unit="g"),
    Field("mass_after_g", "mass after", lambda text: [], "of the whole load", unit="g"),
    Field("photos", "photo", lambda text: [], "file name; several by ;"),
    Field("note", "note", lambda text: []),
)


def outcome(texts: dict[str, str], prefs: Preferences) -> tuple[dict[str, Any], dict[str, str], dict[str, str]]:
    """(fields for ``Bench.finish``, what was understood by field, what was not and what would be right)."""
    told: dict[str, Any] = {}
    echo: dict[str, str] = {}
    refused: dict[str, str] = {}
    for key, text in texts.items():
        try:
            told[key] = _one(key, text, prefs)
        except (ValueError, UnitError, CatalogueError) as problem:
            refused[key] = str(problem)
            continue
        if key == "defect":
            echo[key] = load_defects()[told[key]].title
        elif key.startswith("mass"):
            echo[key] = f"{figures(told[key])} g"
    before, after = told.get("mass_before_g"), told.get("mass_after_g")
    if before is not None and after is not None:
        echo["mass_after_g"] += f", {after - before:+.3g} g"
    return told, echo, refused


def _one(key: str, text: str, prefs: Preferences) -> Any:
    if key == "defect":
        return find_defect(text).name
    if key == "rejects":
        if not text.isdigit():
            raise ValueError(f"`{text}` is no number of pieces; write for example 0 or 2")
        return int(text)
    if key.startswith("mass"):
        value = understand(f"{text} g" if text.replace(".", "").replace(",", "").isdigit() else text, "mass", prefs).value
        if value <= 0:
            raise ValueError("a mass is above zero; leave it empty where the parts were not weighed")
        return value
    if key == "photos":
        return [p.strip() for p in text.split(";") if p.strip()]
    return text


class FinishScreen(ModalScreen[dict[str, Any] | None]):
    """Dismissed with the fields that were filled, or None. Ctrl+S or F10 finishes from any field."""

    CSS_PATH = ["modal.tcss", "run_live.tcss"]
    AUTO_FOCUS = ""
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("ctrl+s,f10", "done", "Finish", show=False, priority=True),
        Binding("escape", "close", "Back", show=False),
        Binding("f4", "offer", "Offer", show=False),
        Binding("down", "app.focus_next", "Next field", show=False),
        Binding("up", "app.focus_previous", "Field before", show=False),
    ]

    def __init__(
        self,
        run: LiveRun | None,
        at: datetime,
        prefs: Preferences,
        title: str = "What came out?",
        done: str = "Finish",
        leave_out: tuple[str, ...] = (),
    ) -> None:
        super().__init__()
        self._run, self._at, self._prefs, self._title, self._done = run, at, prefs, title, done
        self._fields = [f for f in FIELDS if f.key not in leave_out]

    def compose(self) -> ComposeResult:
        with Vertical(classes="box"):
            yield Static(say(self._title), classes="box-title", markup=False)
            yield Static(self._words(), classes="box-words", markup=False)
            with Fields(id="fields"):
                for field in self._fields:
                    yield FieldRow(field, "", 14)
            yield Static(id="offers", markup=False)
            with Horizontal(classes="buttons"):
                yield Button(say(f"{self._done} (Ctrl+S)"), id="done", variant="primary")
                yield Button("Back (Esc)", id="back")

    def _words(self) -> Any:
        run = self._run
        if run is None:
            return say("All fields may stay empty but one.")
        open_steps = [s.tank for s in run.stays if not s.visits and not s.skipped]
        ends = f"The run ends at {self._at:%H:%M}" + (f", out of {run.step.tank}." if run.step is not None else ".")
        lines: list[tuple[str, str] | str] = [f"{ends} All fields may stay empty."]
        if open_steps:
            lines.append((f"\n! Not done: {clean(', '.join(open_steps))}.", "$text-warning"))
        doubts = [*(p.what for p in run.problems), *run.doubts()]
        lines += [(f"\n? {clean(d)}", "$text-warning") for d in doubts[:2]]
        return join(lines)

    def on_mount(self) -> None:
        self._rows()[0].control.focus()

    def _rows(self) -> list[FieldRow]:
        return list(self.query(FieldRow))

    def _checked(self) -> tuple[dict[str, Any], dict[str, str]]:
        texts = {r.field.key: r.text.strip() for r in self._rows() if r.text.strip()}
        told, echo, refused = outcome(texts, self._prefs)
        for row in self._rows():
            row.show(echo.get(row.field.key, ""), refused.get(row.field.key, ""))
        return told, refused

    @on(Input.Changed)
    @on(Choice.Changed)
    def _typed(self) -> None:
        self._checked()

    @on(Input.Submitted)
    @on(Choice.Done)
    def _onward(self) -> None:
        self.focus_next()

    def on_descendant_focus(self, event: DescendantFocus) -> None:
        row = next((r for r in self._rows() if r.control is event.widget), None)
        offered = f"F4 offers: {' · '.join(row.field.suggest)}" if row is not None and row.field.suggest else ""
        self.query_one("#offers", Static).update(say(fit(offered, 88)))

    def action_offer(self) -> None:
        row = next((r for r in self._rows() if r.control.has_focus), None)
        if row is not None:
            row.offer()

    def on_key(self, event: Key) -> None:
        """Keys that were hit while the question opened go into its first field."""
        if self.focused is None and event.is_printable and event.character:
            event.stop()
            self._rows()[0].control.focus()
            self._rows()[0].control.post_message(event)

    @on(Button.Pressed, "#done")
    def action_done(self) -> None:
        after_typing(self, self._finish)

    def _finish(self) -> None:
        told, refused = self._checked()
        if refused:
            next(r for r in self._rows() if r.field.key in refused).control.focus()
        elif self._run is None and not told:
            self.notify("Nothing is said yet: choose a result, or name a defect.", markup=False)
        else:
            self.dismiss(told)

    @on(Button.Pressed, "#back")
    def action_close(self) -> None:
        self.dismiss(None)
