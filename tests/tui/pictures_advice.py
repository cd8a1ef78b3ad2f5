"""Draws the advice screens of the sample book at two sizes: ``python -m tests.tui.pictures_advice FOLDER``."""

from __future__ import annotations

import asyncio
import shutil
import sys
import tempfile
from collections.abc import Awaitable, Callable
from pathlib import Path

from textual.pilot import Pilot

from bathkeeper.counsel import PlanKind
from bathkeeper.sample import sample_path
from bathkeeper.tui.app import BathkeeperApp
from bathkeeper.tui.screens.advice import AdviceScreen
from bathkeeper.tui.screens.plan import PlanScreen
from bathkeeper.tui.screens.stock import StockScreen
from bathkeeper.workshop import Workshop
from tests.tui.helpers import LARGE, SMALL, seen, until

Steps = Callable[[Pilot[None]], Awaitable[None]]


def app_of(pilot: Pilot[None]) -> BathkeeperApp:
    assert isinstance(pilot.app, BathkeeperApp)
    return pilot.app


def plan(tank: str, kind: PlanKind, *keys: str) -> Steps:
    async def steps(pilot: Pilot[None]) -> None:
        app_of(pilot).push_screen(PlanScreen(tank, kind))
        await until(pilot, lambda: isinstance(s := pilot.app.screen, PlanScreen) and s.look.manner is not None)
        for key in keys:
            await pilot.press(key)
            await pilot.pause(0.6)

    return steps


def advice(tank: str, section: str, *keys: str) -> Steps:
    async def steps(pilot: Pilot[None]) -> None:
        app_of(pilot).push_screen(AdviceScreen(tank, section))
        await until(pilot, lambda: isinstance(pilot.app.screen, AdviceScreen) and "Reckoning" not in seen(pilot))
        for key in keys:
            await pilot.press(key)
            await pilot.pause(0.6)

    return steps


async def stock(pilot: Pilot[None]) -> None:
    app_of(pilot).push_screen(StockScreen())
    await until(pilot, lambda: isinstance(s := pilot.app.screen, StockScreen) and s.look is not None)


async def line(pilot: Pilot[None]) -> None:
    await pilot.press("d")


PICTURES: dict[str, Steps] = {
    "line": line,
    "plan_offer": plan("electrolyte", "refresh"),
    "plan_open": plan("electrolyte", "refresh", "a", "enter", "enter", "enter", "enter"),
    "plan_tick": plan("pickle", "refresh", "a", "down", "enter"),
    "plan_kinds": plan("electrolyte", "dose", "k"),
    "stock": stock,
    "advice_anodes": advice("electrolyte", "anodes"),
    "advice_acid": advice("electrolyte", "acid"),
    "advice_signs": advice("pickle", "signs"),
    "advice_defects": advice("electrolyte", "defect"),
    "advice_causes": advice("electrolyte", "defect", "down", "enter"),
    "advice_rest": advice("electrolyte", "rest"),
}


def shelf_of(workshop: Workshop) -> None:
    """Some stock in the copy, so that there is a shelf to draw."""
    at = workshop.entries()[0].at
    for name, amount, unit, price in (
        ("zinc chloride", 5000.0, "g", 41.0), ("nickel chloride hexahydrate", 900.0, "g", 38.5),
        ("sodium bisulfate", 2000.0, "g", 12.0), ("carrier", 500.0, "mL", 22.0),
    ):  # fmt: skip
        workshop.log({"kind": "stock", "at": at, "reagent": name, "action": "bought", "amount": amount, "unit": unit,
                      "price": price, "lot": "A17"})  # fmt: skip
    for name, amount in (("zinc chloride", 4200.0), ("sodium bisulfate", 1950.0)):
        workshop.log({"kind": "stock", "at": at, "reagent": name, "action": "counted", "amount": amount, "unit": "g"})


def draw(steps: Steps, size: tuple[int, int], to: Path) -> None:
    """One picture of a copy of the sample book at the moment of its last entry."""
    with tempfile.TemporaryDirectory() as folder:
        book = Path(folder) / "sample.logbook.jsonl"
        shutil.copyfile(sample_path(), book)
        workshop = Workshop.open(book)
        moment = workshop.entries()[0].at
        shelf_of(workshop)
        app = BathkeeperApp(book, clock=lambda: moment, state_folder=Path(folder))

        async def session() -> None:
            async with app.run_test(size=size) as pilot:
                await until(pilot, lambda: bool(app.snapshot.tanks))
                await steps(pilot)
                await pilot.pause(0.8)
                to.write_text(app.export_screenshot(), encoding="utf-8")
                to.with_suffix(".txt").write_text(seen(pilot), encoding="utf-8")

        asyncio.run(session())


def main() -> None:
    folder = Path(sys.argv[1])
    wanted = sys.argv[2:] or list(PICTURES)
    folder.mkdir(parents=True, exist_ok=True)
    for name in wanted:
        for size in (SMALL, LARGE):
            draw(PICTURES[name], size, folder / f"{name}_{size[0]}.svg")


if __name__ == "__main__":
    main()
