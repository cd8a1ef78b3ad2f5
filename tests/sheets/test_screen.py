"""The import screen by keyboard: path, questions, a column changed, the dry run, the import; hostile cells stay text."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.pilot import Pilot

from bathkeeper.tui.screens.import_sheet import ImportSheetScreen
from bathkeeper.tui.screens.line import LineScreen
from bathkeeper.workshop import Workshop
from tests.tui.helpers import LARGE, SMALL, app_on, book, drive, type_text, until, until_seen

from .helpers import csv_file


async def opened(pilot: Pilot[None], path: Path) -> ImportSheetScreen:
    pilot.app.open_import_sheet()  # type: ignore[attr-defined]
    await until(pilot, lambda: isinstance(pilot.app.screen, ImportSheetScreen) and pilot.app.screen.focused is not None)
    screen = pilot.app.screen
    assert isinstance(screen, ImportSheetScreen)
    screen.query_one("#file").value = str(path)  # type: ignore[attr-defined]
    await pilot.press("enter")
    return screen


@pytest.mark.parametrize("size", [SMALL, LARGE])
def test_a_sheet_comes_in_by_keyboard(tmp_path: Path, size: tuple[int, int]) -> None:
    path = book(tmp_path)
    before = len(Workshop.open(path).entries())
    sheet = csv_file(tmp_path, "Date,Zn,pH,Moon", "05/06/2025,31,5.4,[red]full[/]", "07/06/2025,x,5.3,\x1b[31mnew")

    async def steps(pilot: Pilot[None]) -> None:
        screen = await opened(pilot, sheet)
        await until_seen(pilot, "is taken as", "reading: ph", "not taken", "[red]full[/]", "2 questions")
        await pilot.press("f8")
        await until_seen(pilot, "month, day, year")
        await pilot.press("1")
        await until_seen(pilot, "In which unit")
        await pilot.press("f8")
        await until(pilot, lambda: pilot.app.screen is not screen)
        await type_text(pilot, "g/L")
        await pilot.press("enter")
        await until(pilot, lambda: screen.looked is not None and not screen.looked.open)
        screen.query_one("#rows").highlighted = 3  # type: ignore[attr-defined]
        await pilot.press("enter")
        await until_seen(pilot, "taken as what?")
        await type_text(pilot, "remark text")
        await pilot.press("enter")
        await until_seen(pilot, "remark: text")
        await pilot.press("f4")
        await until_seen(
            pilot, "2 entries from 1 rows would come in", "!!     3 Zn", "does not begin with a number", "[red]full[/]"
        )
        await pilot.press("escape")
        await until_seen(pilot, "is taken as")
        await pilot.press("ctrl+s")
        await until_seen(pilot, "would come in")
        assert len(Workshop.open(path).entries()) == before  # nothing before it was shown
        await pilot.press("ctrl+s")
        await until(pilot, lambda: isinstance(pilot.app.screen, LineScreen))
        await until_seen(pilot, "2 entries came in")

    drive(app_on(path, tmp_path), steps, size)
    kinds = [e.kind for e in Workshop.open(path).entries() if e.at.year == 2025]
    assert sorted(kinds) == ["reading", "remark"]

    async def again(pilot: Pilot[None]) -> None:
        await opened(pilot, sheet)
        await until_seen(pilot, "by the mapping notes of this book")
        await pilot.press("f4")
        await until_seen(pilot, "0 entries", "2 are there already")

    drive(app_on(path, tmp_path), again, size)


def test_files_that_cannot_be_read_are_told_in_a_sentence(tmp_path: Path) -> None:
    async def steps(pilot: Pilot[None]) -> None:
        await opened(pilot, tmp_path / "none.csv")
        await until_seen(pilot, "There is no file")
        screen = pilot.app.screen
        screen.query_one("#file").value = str(csv_file(tmp_path, "a,b", "1,2", name="x.csv"))  # type: ignore[attr-defined]
        screen.query_one("#file").focus()
        await pilot.press("enter")
        await until_seen(pilot, "no row of headings")
        await pilot.press("f2", "f3", "f4", "f5", "f6", "f7", "ctrl+s", "escape")
        await until(pilot, lambda: isinstance(pilot.app.screen, LineScreen))

    drive(app_on(book(tmp_path), tmp_path), steps)
