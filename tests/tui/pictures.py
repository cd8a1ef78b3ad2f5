"""Draws pictures of the app: ``python -m tests.tui.pictures [FOLDER]``, those of the bench at both sizes with ``--bench``."""

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
from bathkeeper.tui.screens.run_setup import SetupScreen
from bathkeeper.tui.screens.tank import TankScreen
from bathkeeper.tui.widgets.trend import TrendPlot
from bathkeeper.tui.widgets.vessel import VesselRow
from bathkeeper.workshop import Workshop
from tests.runs.live_bench import FakeClock
from tests.tui.helpers import LARGE, SMALL, seen, type_text, until, until_seen

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


# -- the bench ---------------------------------------------------------------------------------------------------------

Bench = Callable[[Pilot[None], FakeClock], Awaitable[None]]


async def setup(pilot: Pilot[None], clock: FakeClock) -> None:
    """Parts typed, one of them known by name, a thickness wished."""
    await pilot.press("p")
    await until_seen(pilot, "Set ")
    await type_text(pilot, "20x M8x30 hex bolt 8.8")
    await pilot.press("enter")
    await type_text(pilot, "2x plate 100x60x2 mm")
    await pilot.press("tab", "tab")
    await type_text(pilot, "8")
    screen = pilot.app.screen
    assert isinstance(screen, SetupScreen)
    await until(pilot, lambda: (f := screen._found) is not None and f.setting is not None and f.setting.wish.thickness_um == 8)


async def running(pilot: Pilot[None], clock: FakeClock) -> None:
    """In the electrolyte, a third of the time gone."""
    await setup(pilot, clock)
    await pilot.press("f10")
    await until_seen(pilot, "WAITING")
    while "NOW  electrolyte" not in seen(pilot):
        await pilot.press("enter")
        await pilot.pause(0.7)
        clock.go(1)
    clock.go(9)
    await pilot.pause(1.2)


async def over_time(pilot: Pilot[None], clock: FakeClock) -> None:
    await running(pilot, clock)
    clock.go(40)
    await until_seen(pilot, "OVER TIME")
    await pilot.pause(1.2)


async def paused(pilot: Pilot[None], clock: FakeClock) -> None:
    await running(pilot, clock)
    await pilot.press("space")
    await until_seen(pilot, "PAUSED")


async def under_way(pilot: Pilot[None], clock: FakeClock) -> None:
    await running(pilot, clock)
    await pilot.press("escape")
    await until_seen(pilot, "A run is under way")


async def finishing(pilot: Pilot[None], clock: FakeClock) -> None:
    await running(pilot, clock)
    await pilot.press("f", "tab")
    await until_seen(pilot, "What came out?")


async def saying(pilot: Pilot[None], clock: FakeClock) -> None:
    await running(pilot, clock)
    await pilot.press("c")
    await until_seen(pilot, "What does it show?")
    await type_text(pilot, "6.5A 35C")


async def history(pilot: Pilot[None], clock: FakeClock) -> None:
    await pilot.press("v")
    await until_seen(pilot, "came out", "then:")


OF_THE_BENCH: tuple[Bench, ...] = (setup, running, over_time, paused, under_way, finishing, saying, history)


def draw_bench(steps: Bench, size: tuple[int, int], to: Path, theme: str = "") -> None:
    """One picture of the bench on the sample book, with a clock that stands."""
    with tempfile.TemporaryDirectory() as folder:
        book = Path(folder) / "sample.logbook.jsonl"
        shutil.copyfile(sample_path(), book)
        clock = FakeClock(Workshop.open(book).entries()[0].at)
        app = BathkeeperApp(book, clock=clock.wall, state_folder=Path(folder), bench_clock=clock)

        async def session() -> None:
            async with app.run_test(size=size) as pilot:
                await until(pilot, lambda: bool(app.snapshot.tanks))
                if theme:
                    app.theme = theme
                await steps(pilot, clock)
                await pilot.pause(0.6)
                to.write_text(app.export_screenshot(), encoding="utf-8")

        asyncio.run(session())


def bench_pictures(folder: Path) -> None:
    """Every state of the bench at both sizes, and once on a light ground."""
    for steps in OF_THE_BENCH:
        for size in (SMALL, LARGE):
            draw_bench(steps, size, folder / f"{steps.__name__}-{size[0]}.svg")
            print(folder / f"{steps.__name__}-{size[0]}.svg")
    draw_bench(over_time, SMALL, folder / "over_time-light.svg", "textual-light")
    draw_bench(setup, SMALL, folder / "setup-light.svg", "textual-light")


def main() -> None:
    if "--bench" in sys.argv:
        place = next((Path(a) for a in sys.argv[1:] if a != "--bench"), Path("bench-pictures"))
        place.mkdir(parents=True, exist_ok=True)
        bench_pictures(place)
        return
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).resolve().parents[2] / "sample_data" / "screens"
    folder.mkdir(parents=True, exist_ok=True)
    for name, steps in (("line", line), ("tank", tank)):
        draw(steps, folder / f"{name}.svg")
        print(folder / f"{name}.svg")


if __name__ == "__main__":
    main()
