"""A form for an entry: fields from the entry's type, what was understood beside each, what it will change below."""

from __future__ import annotations

from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, VerticalScroll
from textual.content import Content
from textual.events import DescendantFocus
from textual.suggester import SuggestFromList
from textual.timer import Timer
from textual.widget import Widget
from textual.widgets import Button, Input, Static

from bathkeeper.tui import fields, messages
from bathkeeper.tui.checking import Checked, check, foresee
from bathkeeper.tui.desk import Snapshot
from bathkeeper.tui.plain import clean, fit, join, pad, say
from bathkeeper.tui.screens.base import BookScreen
from bathkeeper.tui.screens.confirm import ConfirmScreen
from bathkeeper.tui.widgets.choice import Choice
from bathkeeper.tui.widgets.keys import KeyLine

UNIT_WIDTH = 5
PAUSE_S = 0.25  # after the last keystroke, before the form is checked
OCCASION = {"run": "run", "addition": "addition", "removal": "removal", "make_up": "make_up", "anode": "anode"}


class FieldRow(Horizontal):
    """Label with unit, field and echo in one line; the reason of a refusal below. Few widgets: a form has thirty of them."""

    def __init__(self, field: fields.Field, text: str, label_width: int) -> None:
        super().__init__()
        self.field = field
        self._label = join([pad(field.label, label_width), " ", (pad(field.unit, UNIT_WIDTH) + " ", "$foreground-muted")])
        self._echo = Static(classes="echo", markup=False)
        self._below: Static | None = None
        self.control: Input | Choice
        if field.choices:
            self.control = Choice(field.choices, text or field.default)
        else:
            # a placeholder is never parsed as markup, only drawn
            suggester = SuggestFromList(field.suggest, case_sensitive=False) if field.suggest else None
            hint = fit(field.placeholder, 60)
            self.control = Input(text, placeholder=hint, compact=True, select_on_focus=True, suggester=suggester)

    def compose(self) -> ComposeResult:
        yield Static(self._label, classes="label", markup=False)
        yield self.control
        yield self._echo

    @property
    def text(self) -> str:
        return self.control.value

    def show(self, echo: str, refused: str) -> None:
        said = echo.removeprefix(f"{self.field.label} ")  # the label stands there already
        self._echo.update(say(f"= {said}") if said else "")
        if refused and self._below is None and isinstance(self.parent, Widget):
            self._below = Static(classes="refused", markup=False)
            self.parent.mount(self._below, after=self)
        if self._below is not None:
            self._below.display = bool(refused)
            self._below.update(say(f"!! {refused}") if refused else "")


class EntryForm(BookScreen):
    """Tab or Enter goes on, Ctrl+S or F10 logs, Escape leaves and keeps what was typed."""

    topic = "form"
    parts = (Choice,)
    AUTO_FOCUS = ""
    CSS_PATH = ["base.tcss", "entry_form.tcss"]
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f1", "help", "Help"),
        Binding("ctrl+s,f10", "log_it", "Log it", key_display="^S", priority=True),
        Binding("f6", "as_last_time", "As last time"),
        Binding("f7", "clear", "Clear"),
        Binding("escape", "leave", "Leave"),
        Binding("down", "app.focus_next", "Next field", show=False),
        Binding("up", "app.focus_previous", "Field before", show=False),
    ]

    def __init__(self, kind: str, tank: str | None) -> None:
        super().__init__()
        self.kind = kind
        self._tank = tank
        self._facts: fields.Facts | None = None
        self._fields: list[fields.Field] = []
        self._turn = 0
        self._timer: Timer | None = None
        self._kept: dict[str, str] = {}
        self._logged = False

    def compose(self) -> ComposeResult:
        yield from self.top()
        yield Static(id="caution", markup=False)
        yield VerticalScroll(id="fields", can_focus=False)
        yield Static(id="result", markup=False)
        with Horizontal(id="buttons"):
            yield Button("Log it (Ctrl+S)", id="log-it", variant="primary", compact=True)
            yield Button("As last time (F6)", id="as-last-time", compact=True)
            yield Button("Leave (Esc)", id="leave", compact=True)
        yield KeyLine()

    async def on_mount(self) -> None:
        self._kept = self.keeper.drafts.get(self.kind)
        if self._kept.get("tank") in {t.tank for t in self.keeper.snapshot.tanks}:
            self._tank = self._tank or self._kept["tank"]
        await self.show(self.keeper.snapshot)
        self._ask_facts()

    def heading(self, snapshot: Snapshot) -> str:
        return fields.TITLES[self.kind]

    def _ask_facts(self) -> None:
        tank = self._tank
        if tank is None or self.keeper.snapshot.tank(tank) is None or (self.keeper.snapshot.tank(tank) or _dry).role == "dry":
            wet = [t.tank for t in self.keeper.snapshot.tanks if t.role != "dry" and t.in_service]
            plating = [t.tank for t in self.keeper.snapshot.tanks if t.role == "plate" and t.in_service]
            tank = self._tank = next(iter([*plating, *wet]), None) if self.kind != "remark" else None
        self.keeper.ask(lambda w: fields.facts(w, self.kind, tank), messages.FormReady, to=self)

    async def on_form_ready(self, message: messages.FormReady) -> None:
        typed = {**self._kept, **self._texts()}
        focused = next((r.field.key for r in self._rows() if r.control.has_focus), None)
        self._facts = message.facts
        self._fields = fields.fields_of(self.kind, self._tank, message.facts)
        area = self.query_one("#fields", VerticalScroll)
        await area.remove_children()
        fresh = not self._kept
        width = 35 if self.size.width >= 100 else 19
        rows = [FieldRow(f, typed.get(f.key, f.default if fresh or f.choices else ""), width) for f in self._fields]
        for row in rows:
            if row.field.key == "tank" and isinstance(row.control, Choice) and self._tank in row.control.words:
                row.control._value = str(self._tank)
        await area.mount_all(rows)
        first = next((r for r in rows if r.field.key != "tank"), rows[0])
        first = next((r for r in rows if r.field.key == focused), first)
        first.control.focus()
        self._show_caution(first.field)
        self._check_soon()

    def _rows(self) -> list[FieldRow]:
        return list(self.query(FieldRow))

    def _texts(self) -> dict[str, str]:
        return {r.field.key: r.text for r in self._rows() if r.text.strip()}

    # -- while typing ---------------------------------------------------------------------------------------------------

    @on(Input.Changed)
    def _typed(self) -> None:
        self._check_soon()

    @on(Choice.Changed)
    def _chosen(self, event: Choice.Changed) -> None:
        row = next(r for r in self._rows() if r.control is event.choice)
        if row.field.key == "tank" and self.kind not in ("run", "remark") and row.text != self._tank:
            self._kept = {k: v for k, v in {**self._kept, **self._texts()}.items() if k != "tank"}
            self._tank = row.text
            self._ask_facts()
        else:
            self._check_soon()

    @on(Input.Submitted)
    @on(Choice.Done)
    def _onward(self) -> None:
        self.focus_next()

    def on_descendant_focus(self, event: DescendantFocus) -> None:
        row = next((r for r in self._rows() if r.control is event.widget), None)
        if row is not None:
            self._show_caution(row.field)

    def _show_caution(self, field: fields.Field) -> None:
        tank = field.about or self._tank
        occasion = OCCASION.get(self.kind)
        warned = self.keeper.snapshot.warnings(tank, *([occasion] if occasion else [])) if tank else []
        text = "  ".join(f"▲ {clean(w)}" for w in warned[:2])
        self.query_one("#caution", Static).update(
            say(fit(f"{clean(tank or '')}: {text}", (self.size.width - 2) * 3)) if text else ""
        )

    def _check_soon(self) -> None:
        self._turn += 1
        if self._timer is not None:
            self._timer.stop()
        self._timer = self.set_timer(PAUSE_S, lambda: self._check(to_log=False))
        self._keep()

    def _keep(self) -> None:
        """What differs from what the form began with is a draft."""
        defaults = {f.key: f.default for f in self._fields}
        texts = self._texts()
        if not self._logged:
            worth = any(text != defaults.get(key, "") for key, text in texts.items() if key != "tank")
            self.keeper.drafts.keep(self.kind, texts if worth else {})

    def _check(self, to_log: bool) -> None:
        known, turn, texts, now = self._facts, self._turn, self._texts(), self.keeper.clock()
        if known is None:
            return
        kind, asked, desk = self.kind, self._fields, self.keeper.desk

        def job() -> messages.FormChecked:
            return messages.FormChecked(foresee(desk, check(kind, asked, texts, known.vocabulary, now)), turn, to_log)

        self.keeper.work(job, to=self)

    def on_form_checked(self, message: messages.FormChecked) -> None:
        if message.turn != self._turn and not message.to_log:
            return
        checked = message.checked
        for row in self._rows():
            row.show(checked.echo.get(row.field.key, ""), checked.refused.get(row.field.key, ""))
        self.query_one("#result", Static).update(self._result(checked, message.to_log))
        if message.to_log:
            self._log_or_ask(checked)

    def _result(self, checked: Checked, insisted: bool) -> Content:
        if self.keeper.snapshot.damage is not None:
            return join(
                [("Nothing can be logged: the book is damaged. ", "$text-error bold"), self.keeper.snapshot.damage.right]
            )
        if checked.refused:
            return say("!! Something above is not understood; nothing is lost.", "$text-error")
        if checked.trouble and not insisted and not any(r.text.strip() and not r.field.choices for r in self._rows()):
            return say("· What it will change is shown here. F6 takes over the last entry of this kind.", "$foreground-muted")
        if checked.trouble:
            return say(f"{'!!' if insisted else '·'} {checked.trouble}", "$text-error" if insisted else "$foreground-muted")
        parts: list[tuple[str, str] | str] = [("This will change  ", "bold")]
        plating = {t.tank for t in self.keeper.snapshot.tanks if t.role == "plate"}
        told = sorted(checked.changes, key=lambda line: not any(line.startswith(f"{t}:") for t in plating))
        parts.append("\n".join(fit(line, self.size.width - 20) for line in told[:4]) if told else "nothing in the estimate")
        if len(told) > 4:
            parts.append(f"  … and {len(told) - 4} more")
        for doubt in checked.doubts[:2]:
            parts.append((f"\n? {clean(doubt)}", "$text-warning bold"))
        return join(parts)

    # -- logging --------------------------------------------------------------------------------------------------------

    def action_log_it(self) -> None:
        self._turn += 1
        self._check(to_log=True)

    def _log_or_ask(self, checked: Checked) -> None:
        raw = checked.raw
        if raw is None:
            wrong = next((r for r in self._rows() if r.field.key in checked.refused), None)
            if wrong is not None:
                wrong.control.focus()
            return

        def log(sure: bool | None = True) -> None:
            if sure:
                self.keeper.write(lambda w: w.log(raw), lambda logged: messages.FormLogged(logged.changes), to=self)

        if checked.doubts:
            self.app.push_screen(
                ConfirmScreen("Is that right?", "\n".join(checked.doubts), "Log it as it is", "Back to the form (n)"), log
            )
        else:
            log()

    def on_form_logged(self, message: messages.FormLogged) -> None:
        self._logged = True
        self.keeper.drafts.keep(self.kind, {})
        self.keeper.post_message(messages.Written(f"Logged: {fields.TITLES[self.kind].lower()}", message.changes))
        self.dismiss(None)

    def action_leave(self) -> None:
        self._keep()
        self.dismiss(None)

    def action_as_last_time(self) -> None:
        """Fills what is empty with what the last similar entry had."""
        for row in self._rows():
            if not row.text.strip() and row.field.last:
                row.control.value = row.field.last

    def action_clear(self) -> None:
        for row in self._rows():
            if not row.field.choices:
                row.control.value = ""

    @on(Button.Pressed)
    def _pressed(self, event: Button.Pressed) -> None:
        {"log-it": self.action_log_it, "as-last-time": self.action_as_last_time, "leave": self.action_leave}[
            event.button.id or ""
        ]()


class _Dry:
    role = "dry"


_dry = _Dry()
