"""Keys that arrive in one burst (a slow machine, a macro, a line over ssh): none is lost and none is overtaken."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from pathlib import Path

from textual.events import Key
from textual.pilot import Pilot

from bathkeeper.entries import Run
from bathkeeper.tui.screens.run_finish import FinishScreen
from bathkeeper.tui.screens.run_live import LiveScreen
from bathkeeper.tui.screens.run_setup import SetupScreen
from bathkeeper.workshop import Workshop
from tests.runs.live_bench import FakeClock, workshop
from tests.tui.helpers import SMALL, drive, until
from tests.tui.test_bench import app_at, run_of

NAMES = {" ": "space", ".": "full_stop"}


def burst(pilot: Pilot[None], *keys: str) -> None:
    """Hands all keys to the app at once, as a terminal does when it was kept waiting."""
    for key in keys:
        one = len(key) == 1
        pilot.app.post_message(Key(NAMES.get(key, key), key if one else None))


def through(tmp_path: Path, steps: Callable[[Pilot[None]], Awaitable[None]]) -> Path:
    path, clock = tmp_path / "small.logbook.jsonl", FakeClock()
    workshop(path)
    drive(app_at(path, tmp_path / "state", clock), steps, SMALL)
    return path


def test_starting_waits_for_what_was_typed(tmp_path: Path) -> None:
    async def steps(pilot: Pilot[None]) -> None:
        await pilot.press("p")
        await until(pilot, lambda: isinstance(pilot.app.screen, SetupScreen))
        burst(pilot, *"20x M8x30 hex bolt", "ctrl+s")
        await until(pilot, lambda: isinstance(pilot.app.screen, LiveScreen))
        (part,) = run_of(pilot.app).plan.parts
        assert part["count"] == 20

    through(tmp_path, steps)


def test_finishing_waits_for_the_result(tmp_path: Path) -> None:
    async def steps(pilot: Pilot[None]) -> None:
        await pilot.press("p")
        await until(pilot, lambda: isinstance(pilot.app.screen, SetupScreen))
        await pilot.press(*"M8x30", "ctrl+s")
        await until(pilot, lambda: isinstance(pilot.app.screen, LiveScreen))
        await pilot.press("enter")
        await until(pilot, lambda: run_of(pilot.app).step is not None and not pilot.app.screen._busy)  # type: ignore[attr-defined]
        await pilot.press("f")
        await until(pilot, lambda: isinstance(pilot.app.screen, FinishScreen))
        burst(pilot, *"good", "ctrl+s")
        await until(pilot, lambda: not isinstance(pilot.app.screen, FinishScreen | LiveScreen))

    path = through(tmp_path, steps)
    (run,) = [e for e in Workshop.open(path).entries() if isinstance(e, Run)]
    assert run.result == "good"
