"""Writing a report from the app: by the keyboard, to a file beside the book, and what is refused."""

from __future__ import annotations

from pathlib import Path

from textual.pilot import Pilot

from bathkeeper.tui.screens.line import LineScreen
from bathkeeper.tui.screens.report import ReportScreen
from tests.tui.helpers import app_on, book, drive, seen, type_text, until, until_seen


def test_a_bath_is_written_beside_the_book(tmp_path: Path) -> None:
    path = book(tmp_path)

    async def steps(pilot: Pilot[None]) -> None:
        app = pilot.app
        await until(pilot, lambda: isinstance(app.screen, LineScreen))
        app.push_screen(ReportScreen("bath", "electrolyte"))
        await until_seen(pilot, "Write a report", "History of a bath", "bath-electrolyte")
        await pilot.press("ctrl+s")
        await until(pilot, lambda: isinstance(app.screen, LineScreen))
        made = list(path.parent.glob("bath-electrolyte-*.pdf"))
        assert len(made) == 1 and made[0].read_bytes().startswith(b"%PDF")

    drive(app_on(path, tmp_path), steps)


def test_a_wrong_name_is_said_and_can_be_mended(tmp_path: Path) -> None:
    path = book(tmp_path)

    async def steps(pilot: Pilot[None]) -> None:
        app = pilot.app
        await until(pilot, lambda: isinstance(app.screen, LineScreen))
        app.push_screen(ReportScreen("bath", ""))
        await until_seen(pilot, "Write a report")
        await pilot.press("down")
        await type_text(pilot, "[red]nowhere")
        await pilot.press("ctrl+s")
        await until_seen(pilot, "no tank is called")
        assert "[red]nowhere" in seen(pilot)
        await pilot.press("escape")
        await until(pilot, lambda: isinstance(app.screen, LineScreen))
        assert not list(path.parent.glob("*.pdf"))

    drive(app_on(path, tmp_path), steps)


def test_one_key_begins_the_report_of_what_the_screen_is_about(tmp_path: Path) -> None:
    path = book(tmp_path)

    async def steps(pilot: Pilot[None]) -> None:
        app = pilot.app
        await until(pilot, lambda: isinstance(app.screen, LineScreen))
        for keys, title in (
            (("enter", "d"), "History of a bath"),
            (("e", "d"), "Waste register"),
            (("v", "down", "d"), "Certificate"),
        ):
            for key in keys:
                await pilot.press(key)
                await pilot.pause(0.8)
            await until_seen(pilot, "Write a report", title)
            for _ in range(2):
                await pilot.press("escape")
                await pilot.pause()
            await until(pilot, lambda: isinstance(app.screen, LineScreen))

    drive(app_on(path, tmp_path), steps)
