"""What all screens of the book share: the line at the top, the banner of a damaged book, help, and being drawn anew."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar, cast

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.screen import Screen
from textual.widget import Widget
from textual.widgets import Static

from bathkeeper.tui.desk import Snapshot
from bathkeeper.tui.plain import clean, fit, join, say

if TYPE_CHECKING:
    from bathkeeper.tui.app import BathkeeperApp


class BookScreen(Screen[None]):
    """A screen that shows the book. ``topic`` is its page of help."""

    topic: ClassVar[str] = "line"
    parts: ClassVar[tuple[type[Widget], ...]] = ()  # widgets whose keys help tells as well
    CSS_PATH = ["base.tcss"]
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("question_mark,f1", "help", "Help", key_display="?"),
    ]

    @property
    def keeper(self) -> BathkeeperApp:
        """The app, by its own type."""
        return cast("BathkeeperApp", self.app)

    def top(self) -> ComposeResult:
        """The two lines that every screen begins with."""
        yield Static(id="top", markup=False)
        yield Static(id="banner", markup=False)

    def heading(self, snapshot: Snapshot) -> str:
        """What the top line says behind the workshop's name."""
        return ""

    async def show(self, snapshot: Snapshot) -> None:
        """Draws a snapshot: the top line and the banner here, the rest in each screen's own."""
        moment = f"{snapshot.status.as_of:%d %b %Y %H:%M}" if snapshot.status is not None else ""
        room = self.size.width - len(moment) - 3
        title = fit(f"{clean(snapshot.name)}  {self.heading(snapshot)}", room)
        self.query_one("#top", Static).update(join([(" " + title.ljust(room), "bold"), (" " + moment + " ", "")]))
        banner = self.query_one("#banner", Static)
        text = banner_text(snapshot)
        banner.display = text is not None
        if text is not None:
            banner.update(text)

    def show_live(self) -> None:
        """Draws where the live run stands as last seen, on screens that tell it; once a second."""

    def action_help(self) -> None:
        self.keeper.show_help(self.topic)


def banner_text(snapshot: Snapshot) -> Content | None:
    """What has to be said above everything else: damage, read-only, entries that could not be used."""
    if snapshot.damage is not None:
        what, right = snapshot.damage.what, snapshot.damage.right
        return join([("!! This book is damaged, so nothing can be logged: ", "bold"), what, ". ", right])
    if snapshot.read_only:
        return say("! This book may only be read: ask its owner for permission to write, or use a copy of your own.")
    if snapshot.problems:
        more = f" (and {len(snapshot.problems) - 1} more: see `bathkeeper check`)" if len(snapshot.problems) > 1 else ""
        return join([("! ", "bold"), snapshot.problems[0].what, "; ", snapshot.problems[0].right, more])
    return None
