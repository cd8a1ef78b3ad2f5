"""Every screen on a small book, at both sizes."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.pilot import Pilot
from textual.widgets import OptionList, TabbedContent

from bathkeeper.tui.screens.line import LineScreen
from bathkeeper.tui.screens.tank import TABS, TankScreen
from bathkeeper.tui.screens.why import WhyScreen
from bathkeeper.tui.widgets.vessel import Vessel
from bathkeeper.workshop import Workshop
from tests.tui.helpers import LARGE, SMALL, app_on, book, drive, seen, until, until_seen

PLACES = (
    *("degreaser", "rust-removal", "rinse-1", "pickle", "rinse-2", "electrolyte"),
    *("rinse-3", "acid-dip", "passivate", "rinse-4", "dry"),
)
EMPTY = "make up"


@pytest.mark.parametrize("size", [SMALL, LARGE])
def test_the_line_shows_all_places_with_their_states(tmp_path: Path, size: tuple[int, int]) -> None:
    async def steps(pilot: Pilot[None]) -> None:
        text = seen(pilot)
        for place in PLACES:
            assert place in text
        assert text.count(EMPTY) >= 7  # the seven wet tanks that were not filled, each below its own vessel
        for vessel in pilot.app.screen.query(Vessel):
            region = vessel.region
            assert region.right <= size[0] and region.bottom < size[1], vessel.view.tank
            assert f"{vessel.standing.sign} {vessel.standing.word}" in text

    drive(app_on(book(tmp_path), tmp_path), steps, size)


def test_arrows_go_from_tank_to_tank_and_enter_opens(tmp_path: Path) -> None:
    async def steps(pilot: Pilot[None]) -> None:
        await pilot.press("home", "right", "right", "right")
        assert isinstance(pilot.app.focused, Vessel) and pilot.app.focused.view.tank == "pickle"
        await pilot.press("down")
        assert pilot.app.focused.view.tank == "rinse-4"
        await pilot.press("up", "left")
        assert pilot.app.focused.view.tank == "rinse-1"
        await pilot.press("left", "left", "left")
        assert pilot.app.focused.view.tank == "dry"
        await pilot.press("enter")
        await until(pilot, lambda: isinstance(pilot.app.screen, TankScreen))
        await until_seen(pilot, "dry", "Drying", "Bake for embrittlement")
        await pilot.press("escape")
        assert isinstance(pilot.app.screen, LineScreen)

    drive(app_on(book(tmp_path), tmp_path), steps)


def test_a_click_opens_a_tank(tmp_path: Path) -> None:
    async def steps(pilot: Pilot[None]) -> None:
        await pilot.click(pilot.app.screen.query(Vessel)[5])
        await until(pilot, lambda: isinstance(pilot.app.screen, TankScreen))
        await until_seen(pilot, "zinc", "nickel", "├", "◆", "in")

    drive(app_on(book(tmp_path), tmp_path), steps)


@pytest.mark.parametrize("size", [SMALL, LARGE])
def test_every_tab_of_a_tank(tmp_path: Path, size: tuple[int, int]) -> None:
    expected = {
        "contents": ("zinc", "boric acid", "Ratios", "pH"),
        "trend": ("zinc in g/L, by date", "estimate", "window", "●"),
        "entries": ("addition", "water 1 L", "reading", "make-up"),
        "anodes": ("zinc-1", "100 Ah of the present habits", "acid used"),
        "learned": ("Only assumed", "cathode efficiency"),
        "todo": ("Cautions", "Nickel salts"),
    }

    async def steps(pilot: Pilot[None]) -> None:
        pilot.app.open_tank("electrolyte")  # type: ignore[attr-defined]
        await until(pilot, lambda: isinstance(pilot.app.screen, TankScreen))
        for number, (id, _) in enumerate(TABS, start=1):
            await pilot.press(str(number))
            await until(pilot, lambda id=id: pilot.app.screen.query_one(TabbedContent).active == id)  # type: ignore[misc]
            if id == "learned":
                pilot.app.screen.query_one("#learned VerticalScroll").scroll_end(animate=False)
            await until_seen(pilot, *expected[id]) if id != "learned" else await until_seen(pilot, "Only assumed")
        await pilot.press("2", "x")
        await until_seen(pilot, "by ampere-hours", "0 Ah")
        await pilot.press("full_stop")
        await until_seen(pilot, "nickel in g/L")

    drive(app_on(book(tmp_path), tmp_path), steps, size)


def test_why_names_the_entries_and_the_source(tmp_path: Path) -> None:
    async def steps(pilot: Pilot[None]) -> None:
        pilot.app.open_tank("electrolyte")  # type: ignore[attr-defined]
        await until(pilot, lambda: isinstance(pilot.app.screen, TankScreen))
        await pilot.press("enter")
        await until(pilot, lambda: isinstance(pilot.app.screen, WhyScreen))
        text = pilot.app.screen._reasons().plain  # type: ignore[attr-defined]
        assert "Kalman filter" in text and "reading electrolyte: zinc 31.5 g/L" in text and "typical workshop window" in text
        await pilot.press("escape")
        assert isinstance(pilot.app.screen, TankScreen)

    drive(app_on(book(tmp_path), tmp_path), steps, LARGE)


def test_due_is_listed_most_urgent_first_with_its_why(tmp_path: Path) -> None:
    path = book(tmp_path)
    values = [{"of": "ph", "value": 6.3, "unit": "pH"}]
    Workshop.open(path).log({"kind": "reading", "at": "2026-06-20T11:00:00Z", "tank": "electrolyte", "values": values})

    async def steps(pilot: Pilot[None]) -> None:
        due = pilot.app.screen.query_one("#due", OptionList)
        levels = [f.level for f in pilot.app.snapshot.due]  # type: ignore[attr-defined]
        assert levels == sorted(levels, key=("now", "soon", "later").index) and due.option_count == len(levels)
        await pilot.press("d", "enter")
        await until(pilot, lambda: isinstance(pilot.app.screen, WhyScreen))

    drive(app_on(path, tmp_path), steps)


def test_thirty_tanks_scroll_rather_than_vanish(tmp_path: Path) -> None:
    path = book(tmp_path)
    workshop = Workshop.open(path)
    common = {"kind": "tank", "at": "2026-06-01T00:00:00Z", "role": "rinse"}
    workshop.log_all([{**common, "tank": f"extra-{n}", "order": 20 + n} for n in range(20)])

    async def steps(pilot: Pilot[None]) -> None:
        vessels = list(pilot.app.screen.query(Vessel))
        assert len(vessels) == 31
        await pilot.press("end")
        await until(pilot, lambda: pilot.app.focused is vessels[-1] and vessels[-1].region.bottom <= 24)
        assert "extra-19" in seen(pilot)

    drive(app_on(path, tmp_path), steps)
