"""A small book, a frozen clock, and ways to drive the app and to read its screen."""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from textual.pilot import Pilot

from bathkeeper.tui.app import BathkeeperApp
from bathkeeper.workshop import Workshop

NOW = datetime(2026, 6, 20, 12, 0, tzinfo=UTC)
SMALL, LARGE = (80, 24), (120, 40)
PATIENCE_S = 10.0


def book(folder: Path, name: str = "Test Bench") -> Path:
    """A line from the template with a filled electrolyte and pickle, an anode, a run, readings, one addition."""
    path = folder / "small.logbook.jsonl"
    workshop = Workshop.open(path, create=True)
    start = NOW - timedelta(days=19)
    workshop.lay_out(name, "zinc-nickel-line", start)
    minute = timedelta(minutes=1)
    told: list[dict[str, Any]] = [
        {"kind": "make_up", "tank": "electrolyte", "volume_l": 40.0, "contents": {"zinc": 32.0, "nickel": 24.0}},
        {"kind": "make_up", "tank": "pickle", "volume_l": 20.0},
        {"kind": "anode", "tank": "electrolyte", "anode": "zinc-1", "action": "hung", "metal": "zinc", "mass_g": 2000.0},
        {
            "kind": "run",
            "parts": [{"description": "mixed brackets", "count": 6, "area_dm2": 3.2}],
            "steps": [
                {"tank": "pickle", "minutes": 2.0},
                {"tank": "electrolyte", "minutes": 45.0, "charge": {"current_a": 6.5}},
            ],
        },
        {"kind": "reading", "tank": "electrolyte", "values": [
            {"of": "zinc", "value": 31.5, "unit": "g/L"}, {"of": "ph", "value": 5.4, "unit": "pH"}]},
        {"kind": "addition", "tank": "electrolyte", "items": [{"reagent": "water", "amount": 1.0, "unit": "L"}]},
    ]  # fmt: skip
    workshop.log_all([{**entry, "at": start + (number + 20) * minute} for number, entry in enumerate(told)])
    return path


def app_on(path: Path, folder: Path) -> BathkeeperApp:
    """The app with a frozen clock, its drafts in a folder of the test's own."""
    app = BathkeeperApp(path, clock=lambda: NOW, state_folder=folder)
    app.animation_level = "none"
    return app


def drive(
    app: BathkeeperApp, steps: Callable[[Pilot[None]], Awaitable[None]], size: tuple[int, int] = SMALL, filled: bool = True
) -> None:
    """Runs steps against the app; with ``filled``, once the book is on the screen."""

    async def session() -> None:
        async with app.run_test(size=size, notifications=True, tooltips=True) as pilot:
            await until(pilot, lambda: bool(app.snapshot.tanks) if filled else not app.opening)
            await pilot.pause()
            await steps(pilot)

    asyncio.run(session())


async def until(pilot: Pilot[None], condition: Callable[[], bool]) -> None:
    """Waits for a condition, not for a time; fails when it does not come."""
    waited = 0.0
    while not condition():
        assert waited < PATIENCE_S, f"did not come about; the screen says:\n{seen(pilot)}"
        await pilot.pause(0.04)
        waited += 0.04
    await pilot.pause()


async def until_seen(pilot: Pilot[None], *words: str) -> None:
    """Waits until every one of the words stands on the screen."""

    def all_there() -> bool:
        text = seen(pilot)
        return all(w in text for w in words)

    await until(pilot, all_there)


async def type_text(pilot: Pilot[None], text: str) -> None:
    """Types a text, key by key."""
    names = {" ": "space", "*": "asterisk", ".": "full_stop", ",": "comma", "/": "slash", "=": "equals_sign", "-": "minus"}
    await pilot.press(*(names.get(c, c) for c in text))


def seen(pilot: Pilot[None]) -> str:
    """What stands on the screen now, line by line."""
    strips = pilot.app.screen._compositor.render_strips()
    return "\n".join("".join(segment.text for segment in strip).rstrip() for strip in strips)
