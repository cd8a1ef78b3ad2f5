"""Text that could be markup, move the cursor or fill the screen, through every screen."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len
from textual.pilot import Pilot
from textual.widgets import TabbedContent

from bathkeeper.tui.plain import clean, fit, pad, say
from bathkeeper.tui.screens.entry_form import EntryForm, FieldRow
from bathkeeper.tui.screens.line import LineScreen
from bathkeeper.tui.screens.tank import TABS, TankScreen
from bathkeeper.workshop import Workshop
from tests.tui.helpers import LARGE, NOW, SMALL, app_on, book, drive, seen, until

NAMES = [
    "[/]", "[pH=4.2]", "Ni [g/L]", "\\", "bath 🛁👨‍👩‍👧", "حوض النيكل", "esc\x1b[31mred\x1b]0;t\x07", "a.b=c:d",
    "[@click=app.quit]x[/]", "\u202eabc", "x" * 120,
]  # fmt: skip
TEXTS = [*NAMES, "two\nlines\r\nthree", "5" * 5000, "\x00\x07\x9b31m", "[bold"]


def hostile_book(folder: Path) -> Path:
    path = book(folder, "[/] W [b]\x1b[2J")
    workshop = Workshop.open(path)
    start, minute = NOW - timedelta(hours=12), timedelta(minutes=1)
    raws: list[dict[str, object]] = []
    for number, name in enumerate(NAMES):
        recipe = "zinc-nickel-chloride-potassium"
        raws.append({"kind": "tank", "tank": name, "role": "plate", "order": 30 + number, "recipe": recipe})
        raws.append({"kind": "make_up", "tank": name, "volume_l": 40.0, "note": name})
        raws.append({"kind": "anode", "tank": name, "anode": name, "action": "hung", "metal": "zinc", "mass_g": 500.0})
        raws.append(
            {
                "kind": "run",
                "parts": [{"description": name, "area_dm2": 2.0}],
                "result": name,
                "steps": [{"tank": name, "minutes": 30.0, "charge": {"current_a": 4.0}, "supply": name}],
            }
        )
        raws.append({"kind": "reading", "tank": name, "values": [{"of": "zinc", "value": 60.0, "unit": "g/L"}], "note": name})
        raws.append(
            {
                "kind": "reading",
                "tank": name,
                "values": [{"of": name, "value": 1.0, "unit": "g/L"}, {"of": "panel", "unit": "verdict", "word": name}],
            }
        )
    for text in TEXTS:
        for name in ("electrolyte", NAMES[0]):
            raws.append({"kind": "remark", "tank": name, "text": text or "-", "defect": text})
    workshop.log_all([{**raw, "at": start + number * minute} for number, raw in enumerate(raws)])
    return path


@pytest.mark.parametrize("size", [SMALL, LARGE])
def test_every_screen_survives_and_shows_it_plainly(tmp_path: Path, size: tuple[int, int]) -> None:
    path = hostile_book(tmp_path)

    def sound(pilot: Pilot[None]) -> str:
        text = seen(pilot)
        assert not any((ord(c) < 32 and c != "\n") or c in "\x7f\x9b\u202e" for c in text)
        return text

    async def steps(pilot: Pilot[None]) -> None:
        app = pilot.app
        await pilot.press("end")
        assert "[/] W [b]" in sound(pilot)
        await pilot.press("d", "end")
        for name in NAMES[5:] if size == LARGE else NAMES[:5]:
            app.open_tank(name)  # type: ignore[attr-defined]

            def opened(name: str = name) -> bool:
                return isinstance(app.screen, TankScreen) and app.screen.tank == name and bool(app.screen._entries.rows)

            await until(pilot, opened)
            assert fit(name, 20)[:10].rstrip("…") in sound(pilot)
            for number in range(1, len(TABS) + 1) if name in (NAMES[0], NAMES[8]) else (3,):
                await pilot.press(str(number))
                sound(pilot)
            if name in (NAMES[1], NAMES[6]):
                await pilot.press("3", "end", "enter")
                await until(pilot, lambda: app.screen.is_modal)
                sound(pilot)
                await pilot.press("escape")
        assert app.screen.query_one(TabbedContent)
        for kind in ("run", "reading", "anode") if size == SMALL else ("removal",):
            app.action_log(kind)  # type: ignore[attr-defined]
            await until(pilot, lambda: isinstance(app.screen, EntryForm) and bool(app.screen.query(FieldRow)))
            row = next(r for r in app.screen.query(FieldRow) if not r.field.choices)
            row.control.value = NAMES[1]
            await pilot.pause(0.05)
            sound(pilot)
            await pilot.press("escape")
            await until(pilot, lambda: not isinstance(app.screen, EntryForm))
        await pilot.press("escape")
        await until(pilot, lambda: isinstance(app.screen, LineScreen))
        await pilot.press("u")
        await until(pilot, lambda: app.screen.is_modal)
        sound(pilot)
        await pilot.press("escape")
        await pilot.press("ctrl+p")
        await until(pilot, lambda: app.screen.is_modal)
        await pilot.press("T", "colon", "space", "left_square_bracket", "slash")
        await until(pilot, lambda: "Tank: [/]" in seen(pilot))
        sound(pilot)

    drive(app_on(path, tmp_path), steps, size)


@given(st.text(max_size=60), st.integers(1, 40))
def test_a_fitted_line_is_one_line_within_its_width_and_has_nothing_that_a_terminal_obeys(text: str, width: int) -> None:
    line = fit(text, width)
    assert cell_len(line) <= width and "\n" not in line
    assert cell_len(pad(text, width, "centre")) == width
    assert not any(ord(c) < 32 or 0x7F <= ord(c) < 0xA0 for c in clean(text))
    assert say(text).plain == clean(text) and not say(text).spans
