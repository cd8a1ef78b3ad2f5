"""Waste at 80x24: nothing covers whom to ask, runs together or is cut, and an unlabelled drum wants looking at."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

from rich.cells import cell_len
from textual.pilot import Pilot
from textual.widgets._toast import Toast

from bathkeeper.ledger import Ledger
from bathkeeper.tui.waste_fields import EXAMPLES
from bathkeeper.tui.waste_words import amount_words, attention, container_lines
from bathkeeper.tui.widgets.keys import KeyLine
from bathkeeper.units.numerals import Preferences
from bathkeeper.workshop import Workshop
from tests.tui.helpers import NOW, app_on, drive, seen
from tests.tui.test_waste_screen import waste, yard

ROOM = 17  # cells of a field on a small screen
DAY = timedelta(days=1)


def more(folder: Path) -> Path:
    """The yard with a pail that holds liquid and sludge, and 0.707 kg of rags."""
    path = yard(folder)
    Workshop.open(path).log_all([
        {"kind": "container", "at": NOW - 5 * DAY, "container": "pail", "action": "put in", "what": "other", "volume_l": 1.5},
        {"kind": "container", "at": NOW - 5 * DAY, "container": "pail", "action": "put in", "what": "sludge", "mass_kg": 1.5},
        {"kind": "container", "at": NOW - 23 * DAY, "container": "rags-2", "action": "put in", "what": "rags", "mass_kg": .707},
    ])  # fmt: skip
    return path


def test_a_notice_covers_neither_the_keys_nor_whom_to_ask(tmp_path: Path) -> None:
    async def steps(pilot: Pilot[None]) -> None:
        await waste(pilot)
        pilot.app.notify("a line\nand another\nand a third", title="drum-1", timeout=60)
        await pilot.pause(0.2)
        (toast,) = pilot.app.screen.query(Toast)
        assert toast.region.bottom <= pilot.app.screen.query_one("#whom").region.y
        assert toast.region.bottom < pilot.app.screen.query_one(KeyLine).region.y
        assert "licensed contractor decides" in seen(pilot)

    drive(app_on(yard(tmp_path), tmp_path), steps)


def test_amounts_stand_apart_and_tell_solids_too(tmp_path: Path) -> None:
    held = {c.container: c for c in Ledger(Workshop.open(more(tmp_path))).containers(NOW)}
    assert amount_words(held["pail"], Preferences(), short=True) == "1.5 L + 1.5 kg solid"
    for name in ("pail", "rags-2", "drum-1"):
        first = str(container_lines(held[name], Preferences(), 74)).split("\n")[0]
        assert "…" not in first and " of 365 days" in first and cell_len(first) <= 74, first
    assert "0.707 kg " in str(container_lines(held["rags-2"], Preferences(), 74))


def test_a_container_without_a_label_wants_looking_at(tmp_path: Path) -> None:
    held = {c.container: c for c in Ledger(Workshop.open(more(tmp_path))).containers(NOW)}
    assert {n for n, c in held.items() if attention(c)} == {"bin", "pail", "rags-2"}


def test_no_example_of_a_field_is_cut() -> None:
    assert [text for text in EXAMPLES.values() if cell_len(text) > ROOM] == []
