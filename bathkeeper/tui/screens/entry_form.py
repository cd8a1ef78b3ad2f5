"""A form for an entry: fields from the entry's type, what was understood beside each, what it will change below.

The same form logs an entry, corrects one (filled as it was, with a reason), and changes the workshop's settings.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any, ClassVar

import msgspec
from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal
from textual.content import Content
from textual.events import DescendantFocus
from textual.timer import Timer
from textual.widgets import Button, Input, TextArea

from bathkeeper.entries import KINDS
from bathkeeper.tui import fields, messages
from bathkeeper.tui.checking import Checked, check, foresee
from bathkeeper.tui.desk import Snapshot
from bathkeeper.tui.field import Field
from bathkeeper.tui.gathering import Facts, facts
from bathkeeper.tui.mending import mended
from bathkeeper.tui.plain import clean, fit, join, say
from bathkeeper.tui.run_fields import Shape
from bathkeeper.tui.screens.base import BookScreen
from bathkeeper.tui.screens.confirm import ConfirmScreen
from bathkeeper.tui.screens.form_rows import BodyRow, FieldRow
from bathkeeper.tui.waste_fields import ACTION, HEAD
from bathkeeper.tui.widgets.choice import Choice
from bathkeeper.tui.widgets.keys import KeyLine
from bathkeeper.tui.widgets.lines import Fields, Words, after_typing
from bathkeeper.workshop import Logged, Workshop

PAUSE_S = 0.25  # after the last keystroke, before the form is checked
OCCASION = {"run": "run", "addition": "addition", "removal": "removal", "make_up": "make_up", "anode": "anode"}
TANKLESS = ("remark", "calibration", "definition", "workshop", "tank", "container")
OF_WORKSHOP = ("calibration", "definition", "workshop")


class EntryForm(BookScreen):
    """Tab or Enter goes on, Ctrl+S or F10 logs, Escape leaves and keeps what was typed.

    ``tank``: the one it begins with; ``correct``: the id of the entry that it corrects; ``begin``: texts that fields begin
    with, by key; ``only``: the keys that are asked, where not all are."""

    topic = "form"
    parts = (Choice,)
    AUTO_FOCUS = ""
    CSS_PATH = ["base.tcss", "entry_form.tcss"]
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f1", "help", "Help"),
        Binding("ctrl+s,f10", "log_it", "Log it", key_display="^S", priority=True),
        Binding("f2", "part(1)", "Part more"),
        Binding("f3", "part(-1)", "Part less", show=False),
        Binding("f5", "branch(1)", "Branch more"),
        Binding("f9", "branch(-1)", "Branch less", show=False),
        Binding("f8", "take_over", "Take over"),
        Binding("f4", "offer", "Offer"),
        Binding("f6", "as_last_time", "As last time"),
        Binding("f7", "clear", "Clear"),
        Binding("escape", "leave", "Leave"),
        Binding("down", "app.focus_next", "Next field", show=False),
        Binding("up", "app.focus_previous", "Field before", show=False),
    ]

    def __init__(
        self,
        kind: str,
        tank: str | None,
        correct: str | None = None,
        *,
        begin: Mapping[str, str] | None = None,
        only: tuple[str, ...] = (),
    ) -> None:
        super().__init__()
        self.kind = kind
        self.correct = correct
        self._begin = dict(begin or {})
        self._only = only
        self._action = self._begin.get(ACTION, "")  # of a container's form: what is done to it decides what is asked
        self._tank = None if kind in OF_WORKSHOP else tank
        self._facts: Facts | None = None
        self._fields: list[Field] = []
        self._shape: Shape | None = None
        self._turn = 0
        self._timer: Timer | None = None
        self._kept: dict[str, str] = {}
        self._drafted = False
        self._logged = False
        self._insisted = False

    def compose(self) -> ComposeResult:
        yield from self.top()
        yield Words("caution")
        yield Fields(id="fields")
        yield Words("offers")
        yield Words("result")
        with Horizontal(id="buttons"):
            done = "Correct it" if self.correct else "Keep it" if self.kind == "workshop" else "Log it"
            yield Button(f"{done} (Ctrl+S)", id="log-it", variant="primary", compact=True)
            yield Button("As last time (F6)", id="as-last-time", compact=True)
            yield Button("Leave (Esc)", id="leave", compact=True)
        yield KeyLine()

    async def on_mount(self) -> None:
        self._kept = self.keeper.drafts.get(self._draft)
        self._drafted = bool(self._kept)
        self._action = self._kept.get(ACTION, self._action) if self.kind == "container" else ""
        if self.kind not in TANKLESS and self._kept.get("tank") in {t.tank for t in self.keeper.snapshot.tanks}:
            self._tank = self._tank or self._kept["tank"]
        self.query_one("#as-last-time").display = not self._about_what_is
        await self.show(self.keeper.snapshot)
        self._ask_facts()

    @property
    def _draft(self) -> str:
        about = self.correct or (self._tank if self.kind == "tank" else None)
        paper = self._begin.get("reference") or self._begin.get("of") or ""
        begun = (self._begin.get("container"), self._begin.get(ACTION), f"receipt {paper}" if self._only else "")
        about = about or " ".join(w for w in begun if w)
        return f"{self.kind} {about}" if about else self.kind

    @property
    def _about_what_is(self) -> bool:
        """Whether the form is about something that there is already, rather than something that happened."""
        return self.correct is not None or self.kind in ("workshop", "tank", "definition")

    def heading(self, snapshot: Snapshot) -> str:
        title = fields.TITLES[self.kind]
        return f"Correct: {title[0].lower()}{title[1:]}" if self.correct else title

    def _ask_facts(self) -> None:
        tank, view = self._tank, self.keeper.snapshot.tank(self._tank) if self._tank else None
        if self.kind not in TANKLESS and self.correct is None and (view is None or view.role == "dry"):
            wet = [t.tank for t in self.keeper.snapshot.tanks if t.role != "dry" and t.in_service]
            plating = [t.tank for t in self.keeper.snapshot.tanks if t.role == "plate" and t.in_service]
            tank = self._tank = next(iter([*plating, *wet]), None)
        container = self._begin.get("container", "")
        self.keeper.ask(lambda w: facts(w, self.kind, tank, self.correct, container), messages.FormReady, to=self)

    async def on_form_ready(self, message: messages.FormReady) -> None:
        self._facts = message.facts
        await self._build()

    async def _build(self, stay: tuple[str, ...] = ()) -> None:
        """Lays the rows down anew, with what was typed in them; ``stay``: keys of those that stay, so that the one with the
        cursor loses no key that is hit meanwhile."""
        known = self._facts
        if known is None:
            return
        typed = {**self._kept, **self._texts(empty=True)}
        focused = next((r.field.key for r in self._rows() if r.control.has_focus), None)
        if self._shape is None:
            self._shape = Shape.typed(self._kept) if self._kept and self.kind == "run" else Shape.of(known.last)
        self._fields = [
            msgspec.structs.replace(f, default=self._begin.get(f.key, f.default))
            for f in fields.fields_of(self.kind, self._tank, known, self._shape, self._action)
            if not self._only or f.key in self._only
        ]
        area = self.query_one("#fields", Fields)
        staying = [r for r in self._rows() if r.field.key in stay]
        await area.remove_children([c for c in area.children if c not in staying])
        fresh = not self._kept or (self.kind == "container" and not self._drafted)
        width = 35 if self.size.width >= 100 else 19
        rows: list[FieldRow] = []
        for field in [f for f in self._fields if f.key not in stay]:
            text = typed.get(field.key, field.default if fresh or field.choices else "")
            rows.append((BodyRow if field.long else FieldRow)(field, text, width))
        for row in rows if self.kind != "container" else ():
            if row.field.key == "tank" and isinstance(row.control, Choice) and str(self._tank or "") in row.control.words:
                row.control._value = str(self._tank or "")
        await area.mount_all(rows)
        rows = [*staying, *rows]
        told = [k for k in HEAD if k in self._begin]
        first = next((r for r in rows if r.field.key not in told and (r.field.key != "tank" or not r.field.choices)), rows[0])
        first = next((r for r in rows if r.field.key == focused), first)
        first.control.focus()
        self._show_about(first.field)
        self._show_beside()
        self._check_soon()

    def _rows(self) -> list[FieldRow]:
        return list(self.query(FieldRow))

    def _texts(self, empty: bool = False) -> dict[str, str]:
        return {r.field.key: r.text for r in self._rows() if empty or r.text.strip()}

    # -- while typing ---------------------------------------------------------------------------------------------------

    @on(Input.Changed)
    def _typed(self) -> None:
        self._check_soon()

    @on(TextArea.Changed)
    def _typed_long(self, event: TextArea.Changed) -> None:
        if not event.text_area.read_only:
            self._check_soon()

    @on(Choice.Changed)
    async def _chosen(self, event: Choice.Changed) -> None:
        row = next(r for r in self._rows() if r.control is event.choice)
        if row.field.key == ACTION and self.kind == "container" and row.text != self._action:
            self._action = row.text
            self._kept = {**self._kept, **self._texts(empty=True)}
            await self._build(HEAD)
            return
        if row.field.key == "tank" and self.kind not in ("run", *TANKLESS) and row.text != (self._tank or ""):
            self._kept = {k: v for k, v in {**self._kept, **self._texts()}.items() if k != "tank"}
            self._tank = row.text or None
            if self._tank is not None:
                self._ask_facts()
                return
        self._check_soon()

    @on(Input.Submitted)
    @on(Choice.Done)
    def _onward(self) -> None:
        self.focus_next()

    def on_descendant_focus(self, event: DescendantFocus) -> None:
        row = next((r for r in self._rows() if r.control is event.widget), None)
        if row is not None:
            self._show_about(row.field)

    def _show_about(self, field: Field) -> None:
        """The caution of the tank that a field is about, and what is offered for it."""
        tank = field.about or self._tank
        occasion = OCCASION.get(self.kind)
        warned = self.keeper.snapshot.warnings(tank, *([occasion] if occasion else [])) if tank else []
        text = "  ".join(f"▲ {clean(w)}" for w in warned[:2])
        self.query_one("#caution", Words).say(
            say(fit(f"{clean(tank or '')}: {text}", (self.size.width - 2) * 3) if text else "")
        )
        offers = self.query_one("#offers", Words)
        if bool(field.suggest) != offers.display:
            offers.display = bool(field.suggest)
        offers.say(say(fit(f"F4 offers: {' · '.join(field.suggest)}", self.size.width - 2), "$foreground-muted"))

    def _show_beside(self) -> None:
        known, texts = self._facts, self._texts()
        for row in self.query(BodyRow):
            if known is not None:
                row.show_beside(known.beside(texts.get("of", ""), texts.get("name", "").strip()))

    def _check_soon(self) -> None:
        self._turn += 1
        if self._timer is not None:
            self._timer.stop()
        self._timer = self.set_timer(PAUSE_S, lambda: self._check(to_log=False))
        self._keep()

    def _keep(self) -> None:
        """What differs from what the form began with is a draft."""
        began = {r.field.key: r.began for r in self._rows()}
        texts = self._texts()
        if not self._logged and began:
            aside = () if self.kind == "tank" else ("tank",)
            worth = any(texts.get(key, "") != text.strip() for key, text in began.items() if key not in aside)
            self.keeper.drafts.keep(self._draft, texts if worth else {})

    def _check(self, to_log: bool) -> None:
        self._show_beside()
        known, turn, texts, now = self._facts, self._turn, self._texts(), self.keeper.clock()
        if known is None:
            return
        kind, asked, desk, correcting = self.kind, self._fields, self.keeper.desk, self.correct is not None
        began = {r.field.key: r.began for r in self._rows()}
        slow = self._about_what_is  # it goes back over everything since then

        def job() -> messages.FormChecked:
            checked = check(kind, asked, texts, known.vocabulary, now)
            if correcting:
                checked = mended(checked, known.last, asked, began, texts, now)
            if slow and checked.raw is not None and not to_log:
                self.post_message(messages.FormChecked(replace(checked, pending=True), turn, to_log))
            return messages.FormChecked(foresee(desk, checked), turn, to_log)

        self.keeper.work(job, to=self)

    def on_form_checked(self, message: messages.FormChecked) -> None:
        if message.turn != self._turn and not message.to_log:
            return
        checked = message.checked
        for row in self._rows():
            refused = checked.refused.get(row.field.key, "")
            waits = row.field.key == "reason" and not self._insisted  # asked for, but not before the keeper is done
            row.show(checked.echo.get(row.field.key, ""), "" if waits else refused)
        self.query_one("#result", Words).say(self._result(checked, message.to_log or self._insisted))
        if message.to_log:
            self._log_or_ask(checked)

    def _result(self, checked: Checked, insisted: bool) -> Content:
        if self.keeper.snapshot.damage is not None:
            return join(
                [("Nothing can be logged: the book is damaged. ", "$text-error bold"), self.keeper.snapshot.damage.right]
            )
        if set(checked.refused) == {"reason"} and not insisted:
            return say("· Say why it is corrected; then what it will change is shown here.", "$foreground-muted")
        if checked.refused:
            return say("!! Something above is not understood; nothing is lost.", "$text-error")
        untouched = not any(r.text.strip() and not r.field.choices for r in self._rows())
        if checked.trouble and not insisted and untouched:
            last = "" if self._about_what_is else " F6 takes over the last entry of this kind."
            return say(f"· What it will change is shown here.{last}", "$foreground-muted")
        if checked.trouble:
            return say(f"{'!!' if insisted else '·'} {checked.trouble}", "$text-error" if insisted else "$foreground-muted")
        if checked.pending:
            return say("· Working out what it will change …", "$foreground-muted")
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
        after_typing(self, self._log_now)

    def _log_now(self) -> None:
        self._turn += 1
        if self._timer is not None:
            self._timer.stop()  # what was typed last is looked at now
        self._insisted = True
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
                self.keeper.write(lambda w: self._write(w, raw), lambda logged: messages.FormLogged(logged.changes), to=self)

        if checked.doubts:
            self.app.push_screen(
                ConfirmScreen("Is that right?", "\n".join(checked.doubts), "Log it as it is", "Back to the form (n)"), log
            )
        else:
            log()

    def _write(self, workshop: Workshop, raw: dict[str, Any]) -> Logged:
        if self.correct is not None:
            return workshop.correct(self.correct, raw["reason"], raw["replacement"], self.keeper.clock())
        if self.kind == "workshop":
            asked = set(KINDS["workshop"].__struct_fields__) - {"id", "at", "schema", "typed", "by"}
            return workshop.change_settings({name: raw.get(name) for name in asked}, self.keeper.clock())
        return workshop.log(raw)

    def on_form_logged(self, message: messages.FormLogged) -> None:
        self._logged = True
        self.keeper.drafts.keep(self._draft, {})
        title = fields.TITLES[self.kind].lower()
        done = "Corrected" if self.correct else "Changed" if self.kind == "workshop" else "Logged"
        self.keeper.post_message(messages.Written(f"{done}: {title}", message.changes))
        self.dismiss(None)

    # -- what keys do ---------------------------------------------------------------------------------------------------

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Keys that only some forms have."""
        if action in ("part", "branch"):
            return self.kind == "run"
        if action == "take_over":
            return self.kind == "definition"
        if action in ("as_last_time", "clear"):
            return not self._about_what_is
        return True

    def action_leave(self) -> None:
        self._keep()
        self.dismiss(None)

    def action_as_last_time(self) -> None:
        """Fills what is empty with what the last similar entry had."""
        for row in self._rows():
            if not row.text.strip() and row.field.last:
                row.text = clean(row.field.last)

    def action_clear(self) -> None:
        """Empties what was typed and chosen; what the form is about (begun with, or what is done, or the tank) stays."""
        for row in self._rows():
            if row.field.choices and (row.field.key == ACTION or (row.field.key == "tank" and self.kind not in TANKLESS)):
                continue
            row.text = row.began if row.field.choices or row.field.key in self._begin else ""

    def _focused_row(self) -> FieldRow | None:
        return next((r for r in self._rows() if r.control.has_focus), None)

    def action_offer(self) -> None:
        """Goes through what is offered for the field with the cursor."""
        row = self._focused_row()
        if row is None or not row.field.suggest:
            self.notify("Nothing is offered for this field.", markup=False)
        else:
            row.offer()

    async def action_part(self, by: int) -> None:
        """One more kind of parts in the run, or one less."""
        await self._reshape((self._shape or Shape()).with_parts(by))

    async def action_branch(self, by: int) -> None:
        """One more supply with anodes of its own in the tank whose step has the cursor, or one less."""
        row = self._focused_row()
        tank = row.field.about if row is not None else None
        if tank is None:
            self.notify("Go to the step of a tank first: its branches are added there.", markup=False)
            return
        await self._reshape((self._shape or Shape()).with_branches(tank, by))
        here = next((r for r in self._rows() if r.field.about == tank), None)
        if here is not None:
            here.control.focus()

    async def _reshape(self, shape: Shape) -> None:
        texts = self._texts(empty=True)
        for tank in set(shape.branches) - set((self._shape or Shape()).branches):  # a step told in one go becomes the first
            if texts.get(f"steps:{tank}"):
                texts[f"branch:{tank}:1:charge"] = texts[f"steps:{tank}"].partition("@")[0]
        for tank in set((self._shape or Shape()).branches) - set(shape.branches):
            texts[f"steps:{tank}"] = texts.get(f"branch:{tank}:1:charge", "")
        self._shape, self._kept = shape, texts
        await self._build()

    def action_take_over(self) -> None:
        """Puts what stands beside a definition into it."""
        for row in self.query(BodyRow):
            row.text = row.beside.text
            row.control.focus()

    @on(Button.Pressed)
    def _pressed(self, event: Button.Pressed) -> None:
        {"log-it": self.action_log_it, "as-last-time": self.action_as_last_time, "leave": self.action_leave}[
            event.button.id or ""
        ]()
