"""How many keys the commonest entries take, from the opening of the app until they are in the book: printed, twelve at most."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from textual.pilot import Pilot

from bathkeeper.entries import to_plain
from bathkeeper.tui.app import BathkeeperApp
from bathkeeper.tui.screens.entry_form import EntryForm
from bathkeeper.tui.screens.form_rows import FieldRow
from bathkeeper.tui.screens.run_history import HistoryScreen
from bathkeeper.tui.widgets.vessel import Vessel
from bathkeeper.workshop import Workshop
from tests.tui.helpers import NOW, SMALL, app_on, book, drive, until

MOST = 12
RUN = {"description": "hinges", "count": 4, "area_dm2": 3.2}
STEPS = [{"tank": "pickle", "minutes": 2.0}, {"tank": "electrolyte", "minutes": 45.0, "charge": {"current_a": 6.4}}]
TO_THE_ELECTROLYTE = ("right",) * 5  # the app opens on the first tank of the line


def with_yesterday(folder: Path) -> Path:
    """A book whose last day left other things than those asked for in front: two readings at once, an addition of salt."""
    path = book(folder)
    at, hour = NOW - timedelta(days=1), timedelta(hours=1)
    values = [{"of": "zinc", "value": 30.5, "unit": "g/L"}, {"of": "ph", "value": 5.6, "unit": "pH"}]
    items = [{"reagent": "potassium chloride", "amount": 150.0, "unit": "g"}]
    Workshop.open(path).log_all(
        [
            {"kind": "run", "at": at, "parts": [RUN], "steps": STEPS},
            {"kind": "reading", "at": at + hour, "tank": "electrolyte", "values": values},
            {"kind": "addition", "at": at + 2 * hour, "tank": "electrolyte", "items": items},
        ]
    )
    return path


def entries(path: Path) -> dict[str, dict[str, Any]]:
    return {e.id: to_plain(e) for e in Workshop.open(path).entries()}  # type: ignore[arg-type]


def settled(app: BathkeeperApp) -> bool:
    """Whether the screen has what the next key is meant for."""
    screen = app.screen
    if isinstance(screen, HistoryScreen):
        return screen.chosen is not None
    rows = bool(screen.query(FieldRow)) if isinstance(screen, EntryForm) else True
    return rows and app.focused is not None


@pytest.mark.parametrize(
    ("what", "keys", "expected"),
    [
        (
            "yesterday's run again with another area",
            ("v", "l", "4", "full_stop", "8", "enter"),
            # half as much again of area, so of current; the time stays, and with both the coating
            {
                "kind": "run",
                "parts": ({**RUN, "count": 6, "area_dm2": 4.8},),
                "steps": (STEPS[0], {**STEPS[1], "charge": {"current_a": pytest.approx(9.6)}}),
            },
        ),
        (
            "a pH strip",
            (*TO_THE_ELECTROLYTE, "m", "tab", "5", "full_stop", "4", "ctrl+s"),
            {"kind": "reading", "tank": "electrolyte", "values": ({"of": "ph", "value": 5.4, "unit": "pH"},)},
        ),
        (
            "a water top-up",
            (*TO_THE_ELECTROLYTE, "a", "tab", "2", "full_stop", "5", "ctrl+s"),
            {"kind": "addition", "tank": "electrolyte", "items": ({"reagent": "water", "amount": 2.5, "unit": "L"},)},
        ),
    ],
    ids=["run again", "pH strip", "water"],
)
def test_the_commonest_entries_take_few_keys(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], what: str, keys: Sequence[str], expected: dict[str, Any]
) -> None:
    path = with_yesterday(tmp_path)
    before, app = entries(path), app_on(path, tmp_path)

    async def steps(pilot: Pilot[None]) -> None:
        await until(pilot, lambda: isinstance(app.focused, Vessel))
        await pilot.press(*keys[: keys.count("right")])
        for key in keys[keys.count("right") :]:
            await pilot.press(key)
            await until(pilot, lambda: settled(app))
        await until(pilot, lambda: len(entries(path)) > len(before))

    drive(app, steps, SMALL)
    (made,) = (plain for id, plain in entries(path).items() if id not in before)
    assert {name: made[name] for name in expected} == expected
    with capsys.disabled():
        print(f"\n{what}: {len(keys)} keystrokes: {' '.join(keys)}")
    assert len(keys) <= MOST
