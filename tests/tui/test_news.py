"""News for a screen that does not stand yet, or no longer: it is taken up when all parts stand, and never by half a screen."""

from __future__ import annotations

from pathlib import Path

from textual.pilot import Pilot

from bathkeeper.tui.at_bench import LiveSeen, LiveShown
from bathkeeper.tui.messages import BookShown
from bathkeeper.tui.screens.advice import AdviceScreen
from bathkeeper.tui.screens.line import LineScreen
from bathkeeper.tui.screens.plan import PlanScreen
from bathkeeper.tui.screens.stock import StockScreen
from bathkeeper.tui.screens.tank import TankScreen
from tests.tui.helpers import app_on, book, drive, until_seen

TROUBLE = "the file of the run cannot be read"


def test_news_for_a_screen_that_is_only_being_put_up(tmp_path: Path) -> None:
    app = app_on(book(tmp_path), tmp_path / "state")

    async def steps(pilot: Pilot[None]) -> None:
        for screen in (
            LineScreen(), TankScreen("electrolyte"), StockScreen(), AdviceScreen("electrolyte"), PlanScreen("electrolyte"),
        ):  # fmt: skip
            app.push_screen(screen)
            app.on_live_shown(LiveShown(LiveSeen(trouble=TROUBLE)))
            app.on_book_shown(BookShown(app.snapshot))
            await pilot.pause()
            app.pop_screen()
            app.on_live_shown(LiveShown(LiveSeen()))
            app.on_book_shown(BookShown(app.snapshot))
        await pilot.pause()

    drive(app, steps)


def test_news_that_came_too_early_is_shown_all_the_same(tmp_path: Path) -> None:
    app = app_on(book(tmp_path), tmp_path / "state")

    async def steps(pilot: Pilot[None]) -> None:
        app.push_screen(LineScreen())
        app.on_live_shown(LiveShown(LiveSeen(trouble=TROUBLE)))
        app.at_bench.looking = True  # no look of its own that would find nothing wrong
        await until_seen(pilot, TROUBLE)

    drive(app, steps)
