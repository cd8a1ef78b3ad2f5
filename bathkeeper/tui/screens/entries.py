"""Every entry of the book, newest first; Enter shows one in full, where it can be corrected or withdrawn."""

from __future__ import annotations

from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.widgets import OptionList
from textual.widgets.option_list import Option

from bathkeeper.headlines import KIND_WORDS, what
from bathkeeper.tui import messages
from bathkeeper.tui.desk import Snapshot
from bathkeeper.tui.plain import fit, join, pad, say
from bathkeeper.tui.screens.base import BookScreen
from bathkeeper.tui.widgets.keys import KeyLine
from bathkeeper.workshop import Workshop

NEWEST = 300  # entries that are listed; older ones by the command line
MARK = "corrected: "


def rows_of(workshop: Workshop, tank: str | None) -> messages.EntriesFound:
    """The newest entries in force, of a tank if named, as lists show them; corrected ones say so."""
    entries, prefs, corrected = workshop.entries(tank), workshop.preferences, workshop.corrected()
    rows = []
    for entry in entries[:NEWEST]:
        where = f"{of}: " if tank is None and (of := getattr(entry, "tank", None)) else ""
        said = (MARK if entry.id in corrected else "") + where + what(entry, prefs)
        rows.append((entry.id, f"{entry.at:%d %b %y %H:%M}", KIND_WORDS.get(entry.kind, entry.kind), said))
    return messages.EntriesFound(rows, len(entries))


def options_of(message: messages.EntriesFound, width: int, nothing: str) -> list[Option]:
    """A line for each, and how many more there are."""
    options = []
    for _, when, kind, said in message.rows:
        mark, rest = (MARK, said.removeprefix(MARK)) if said.startswith(MARK) else ("", said)
        told = fit(rest, width - 30 - len(mark))
        head = [(f"{when}  ", "$foreground-muted"), (f"{pad(kind, 11)} ", "bold"), (mark, "$text-warning")]
        options.append(Option(join([*head, told])))
    if message.total > len(message.rows):
        older = message.total - len(message.rows)
        options.append(Option(say(f"… and {older} older: `bathkeeper export entries` has them all"), disabled=True))
    return options or [Option(say(nothing), disabled=True)]


class EntriesScreen(BookScreen):
    """The whole book."""

    topic = "entries"
    CSS_PATH = ["base.tcss", "entries.tcss"]
    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape", "back", "Back")]

    def __init__(self) -> None:
        super().__init__()
        self._found = messages.EntriesFound([], 0)

    def compose(self) -> ComposeResult:
        yield from self.top()
        yield OptionList(id="entries-list", markup=False)
        yield KeyLine()

    async def on_mount(self) -> None:
        self.query_one("#entries-list").focus()
        await self.show(self.keeper.snapshot)

    def heading(self, snapshot: Snapshot) -> str:
        return f"{self._found.total} entries in force" if self._found.total else "Entries"

    async def show(self, snapshot: Snapshot) -> None:
        await super().show(snapshot)
        self.keeper.ask(lambda w: rows_of(w, None), lambda found: found, to=self)

    async def on_entries_found(self, message: messages.EntriesFound) -> None:
        self._found = message
        await super().show(self.keeper.snapshot)
        self._redraw()

    def on_resize(self) -> None:
        self.call_after_refresh(self._redraw)

    def _redraw(self) -> None:
        from bathkeeper.tui.screens.tank import refill

        options = options_of(self._found, max(self.size.width - 4, 40), "Nothing is logged yet.")
        refill(self.query_one("#entries-list", OptionList), options)

    @on(OptionList.OptionSelected, "#entries-list")
    def _selected(self, event: OptionList.OptionSelected) -> None:
        if event.option_index < len(self._found.rows):
            self.keeper.find_entry(self._found.rows[event.option_index][0])

    def action_back(self) -> None:
        self.dismiss(None)
