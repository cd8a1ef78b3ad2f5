"""Draws the pictures for the README from the sample book: ``python -m tests.tui.pictures [FOLDER]``."""

from __future__ import annotations

import asyncio
import shutil
import sys
import tempfile
from collections.abc import Awaitable, Callable
from pathlib import Path

from textual.pilot import Pilot

from bathkeeper.sample import sample_path
from bathkeeper.tui.app import BathkeeperApp
from bathkeeper.tui.screens.tank import TankScreen
from bathkeeper.tui.widgets.trend import TrendPlot
from bathkeeper.tui.widgets.vessel import VesselRow
from bathkeeper.workshop import Workshop
from tests.tui.helpers import LARGE, until

TANK = "electrolyte"


async def line(pilot: Pilot[None]) -> None:
    pilot.app.screen.query_one(VesselRow).choose(TANK)


async def tank(pilot: Pilot[None]) -> None:
    app = pilot.app
    assert isinstance(app, BathkeeperApp)
    app.open_tank(TANK)
    await until(pilot, lambda: isinstance(app.screen, TankScreen))
    await pilot.press("2", "full_stop")
    await until(pilot, lambda: (t := app.screen.query_one(TrendPlot).trend) is not None and t.of == "nickel")


def draw(steps: Callable[[Pilot[None]], Awaitable[None]], to: Path) -> None:
    """One picture of the sample book at the moment of its last entry, 120 by 40."""
    with tempfile.TemporaryDirectory() as folder:
        book = Path(folder) / "sample.logbook.jsonl"
        shutil.copyfile(sample_path(), book)
        moment = Workshop.open(book).entries()[0].at
        app = BathkeeperApp(book, clock=lambda: moment, state_folder=Path(folder))

        async def session() -> None:
            async with app.run_test(size=LARGE) as pilot:
                await until(pilot, lambda: bool(app.snapshot.tanks))
                await steps(pilot)
                await pilot.pause(0.5)
                to.write_text(app.export_screenshot(), encoding="utf-8")

        asyncio.run(session())


def main() -> None:
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).resolve().parents[2] / "sample_data" / "screens"
    folder.mkdir(parents=True, exist_ok=True)
    for name, steps in (("line", line), ("tank", tank)):
        draw(steps, folder / f"{name}.svg")
        print(folder / f"{name}.svg")


if __name__ == "__main__":
    main()
