"""Waste by keyboard at 80x24: containers, the account, a page, the plan, everything done to a container, receipts."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest
from textual.pilot import Pilot

from bathkeeper.entries import Container
from bathkeeper.tui.screens.container import ContainerScreen
from bathkeeper.tui.screens.disposal import DisposalScreen
from bathkeeper.tui.screens.entry_form import EntryForm
from bathkeeper.tui.screens.waste import WasteScreen
from bathkeeper.workshop import Workshop
from tests.tui.helpers import LARGE, NOW, SMALL, app_on, book, drive, seen, type_text, until, until_seen

NEVER = ("optimal", "guaranteed", "safe to pour", "compliant", "non-hazardous")
HOSTILE = "[/] =1+1 \\ 亜鉛 ‮x"


def yard(folder: Path, name: str = "drum-1") -> Path:
    """The small book with its pickle dumped into a drum nine days ago, and rags in a bin."""
    path = book(folder)
    workshop = Workshop.open(path)
    day = timedelta(days=1)
    workshop.log_all([
        {"kind": "workshop", "at": NOW - 18 * day, "name": "Test Bench", "country": "England", "keeper": "household"},
        {"kind": "removal", "at": NOW - 9 * day, "tank": "pickle", "all": True, "to": name},
        {"kind": "container", "at": NOW - 8 * day, "container": name, "action": "labelled", "codes": ["11 01 05*"]},
        {"kind": "container", "at": NOW - 8 * day, "container": "bin", "action": "put in", "what": "rags", "mass_kg": 0.6},
    ])  # fmt: skip
    return path


async def waste(pilot: Pilot[None]) -> WasteScreen:
    """The screen of waste, once it has looked."""
    await pilot.press("e")
    await until(pilot, lambda: isinstance(pilot.app.screen, WasteScreen) and pilot.app.screen.look is not None)
    screen = pilot.app.screen
    assert isinstance(screen, WasteScreen)
    return screen


async def form(pilot: Pilot[None], *keys: str) -> EntryForm:
    """The form of a container that the keys open, once it stands."""
    await pilot.press(*keys)
    await until(pilot, lambda: isinstance(pilot.app.screen, EntryForm) and bool(pilot.app.screen._fields))
    screen = pilot.app.screen
    assert isinstance(screen, EntryForm)
    return screen


async def set_field(pilot: Pilot[None], screen: EntryForm, key: str, text: str) -> None:
    """Puts the cursor into a field and types."""
    row = next(r for r in screen._rows() if r.field.key == key)
    row.control.focus()
    await pilot.pause()
    await type_text(pilot, text)


def last(path: Path) -> Container:
    entry = Workshop.open(path).entries()[0]
    assert isinstance(entry, Container)
    return entry


@pytest.mark.parametrize("size", [SMALL, LARGE])
def test_the_containers_the_account_and_what_was_handed_over(tmp_path: Path, size: tuple[int, int]) -> None:
    async def steps(pilot: Pilot[None]) -> None:
        await waste(pilot)
        await until_seen(pilot, "drum-1", "bath of pickle", "9 of 365 days", "label ✓", "11 01 05*", "rags", "unaccounted for")
        await pilot.press("2")
        await until_seen(pilot, "What came in", "in containers", "Unaccounted for")
        await pilot.press("end")
        await until_seen(pilot, "Metals unaccounted for")
        await pilot.press("3")
        await until_seen(pilot, "Nothing was handed over yet")
        assert not [w for w in NEVER if w in seen(pilot).casefold()]
        await pilot.press("escape")
        await until(pilot, lambda: not isinstance(pilot.app.screen, WasteScreen))

    drive(app_on(yard(tmp_path), tmp_path), steps, size)


def test_a_containers_page_and_its_plan(tmp_path: Path) -> None:
    async def steps(pilot: Pilot[None]) -> None:
        await waste(pilot)
        await pilot.press("1", "enter")  # in one go: the list has the cursor at once
        await until(pilot, lambda: isinstance(pilot.app.screen, ContainerScreen) and pilot.app.screen.look is not None)
        await until_seen(pilot, "Container drum-1", "What it holds", "free acid", "Where it came from")
        await pilot.press("p")
        await until(pilot, lambda: isinstance(pilot.app.screen, DisposalScreen))
        await until_seen(pilot, "Candidate codes, never final", "11 01 05*")
        await pilot.press("end")
        await until_seen(pilot, "Last step", "Hand it over to the local authority or a licensed")
        assert not [w for w in NEVER if w in seen(pilot).casefold()]

    drive(app_on(yard(tmp_path), tmp_path), steps)


def test_a_hand_over_and_its_receipt_by_keyboard(tmp_path: Path) -> None:
    path = yard(tmp_path)

    async def steps(pilot: Pilot[None]) -> None:
        await waste(pilot)
        screen = await form(pilot, "h")
        await set_field(pilot, screen, "to", "quay desk")
        await set_field(pilot, screen, "reference", "H-7")
        next(r for r in screen._rows() if r.field.key == "all").text = "yes"
        await until_seen(pilot, "emptied")  # what it will change
        await pilot.press("ctrl+s")
        await until(pilot, lambda: isinstance(pilot.app.screen, WasteScreen))
        await pilot.press("3")
        await until_seen(pilot, "drum-1 to quay desk", "H-7", "receipt")
        screen = await form(pilot, "r")
        await set_field(pilot, screen, "receipt", "R-1")
        await pilot.press("ctrl+s")
        await until(pilot, lambda: isinstance(pilot.app.screen, WasteScreen))
        await until_seen(pilot, "receipt R-1")

    drive(app_on(path, tmp_path), steps)
    workshop = Workshop.open(path)
    handed = workshop.at(NOW).containers["drum-1"].handed[0]
    assert (handed.to, handed.reference, handed.receipt) == ("quay desk", "H-7", "R-1")
    assert handed.codes == ("11 01 05*",)


@pytest.mark.parametrize(
    ("key", "texts", "action"),
    [
        ("c", {"tray": "no"}, "checked"),
        ("t", {"values:ph": "1.5"}, "tested"),
        ("m", {"to": "drum-9"}, "moved"),
        ("x", {"treatment": "settled"}, "treated"),
        ("n", {"container": "drum-8", "form": "drum"}, "opened"),
    ],
)
def test_what_is_done_to_a_container_has_one_key_each(tmp_path: Path, key: str, texts: dict[str, str], action: str) -> None:
    path = yard(tmp_path)

    async def steps(pilot: Pilot[None]) -> None:
        await waste(pilot)
        screen = await form(pilot, key)
        for name, text in texts.items():
            row = next(r for r in screen._rows() if r.field.key == name)
            row.control.focus()
            await pilot.pause()
            if row.field.choices:
                while row.text != text:
                    await pilot.press("right")
            else:
                await type_text(pilot, text)
        await pilot.press("ctrl+s")
        await until(pilot, lambda: isinstance(pilot.app.screen, WasteScreen))

    drive(app_on(path, tmp_path), steps)
    assert last(path).action == action


def test_mixing_is_asked_about_before_it_is_written(tmp_path: Path) -> None:
    path = yard(tmp_path)
    workshop = Workshop.open(path)
    start = NOW - timedelta(days=6)
    workshop.log_all([
        {"kind": "make_up", "at": start, "tank": "degreaser", "volume_l": 20.0, "contents": {"free alkali": 20.0}},
        {"kind": "removal", "at": start + timedelta(hours=1), "tank": "degreaser", "all": True, "to": "drum-2"},
    ])  # fmt: skip

    async def steps(pilot: Pilot[None]) -> None:
        await waste(pilot)
        screen = await form(pilot, "m")
        await set_field(pilot, screen, "to", "drum-2")
        await until_seen(pilot, "never together")
        await pilot.press("escape")

    drive(app_on(path, tmp_path), steps)
    assert not [e for e in Workshop.open(path).entries() if isinstance(e, Container) and e.action == "moved"]


def test_an_empty_yard_says_which_key_is_next(tmp_path: Path) -> None:
    async def steps(pilot: Pilot[None]) -> None:
        await waste(pilot)
        await until_seen(pilot, "No container is on record yet", "n opens one")
        await pilot.press("h")
        await until_seen(pilot, "There is no container yet")

    drive(app_on(book(tmp_path), tmp_path), steps)


def test_hostile_names_are_only_names(tmp_path: Path) -> None:
    async def steps(pilot: Pilot[None]) -> None:
        await waste(pilot)
        await until_seen(pilot, "[/] =1+1")
        await pilot.press("1", "enter")
        await until(pilot, lambda: isinstance(pilot.app.screen, ContainerScreen) and pilot.app.screen.look is not None)
        await until_seen(pilot, "[/] =1+1")
        await pilot.press("p")
        await until_seen(pilot, "Candidate codes")

    drive(app_on(yard(tmp_path, HOSTILE), tmp_path), steps)


def test_the_register_and_the_statement_are_written_by_their_key(tmp_path: Path) -> None:
    path = yard(tmp_path)

    async def steps(pilot: Pilot[None]) -> None:
        await waste(pilot)
        await pilot.press("d")
        await until_seen(pilot, "Write a report", "Waste register of a period")
        await pilot.press("ctrl+s")
        await until(pilot, lambda: isinstance(pilot.app.screen, WasteScreen))
        await pilot.press("1", "enter")
        await until(pilot, lambda: isinstance(pilot.app.screen, ContainerScreen) and pilot.app.screen.look is not None)
        await pilot.press("d")
        await until_seen(pilot, "Content statement of a container", "drum-1")
        await pilot.press("ctrl+s")
        await until(pilot, lambda: isinstance(pilot.app.screen, ContainerScreen))

    drive(app_on(path, tmp_path), steps)
    made = sorted(p.name for p in path.parent.glob("*.pdf"))
    assert len(made) == 2 and made[0].startswith("register") and "drum-1" in made[1]


def test_a_check_is_written_about_the_container_under_the_cursor_whatever_signs_its_name_holds(tmp_path: Path) -> None:
    path = yard(tmp_path, HOSTILE)

    async def steps(pilot: Pilot[None]) -> None:
        await waste(pilot)
        screen = await form(pilot, "c")
        row = next(r for r in screen._rows() if r.field.key == "tray")
        row.control.focus()
        await pilot.pause()
        while row.text != "no":
            await pilot.press("right")
        await pilot.press("ctrl+s")
        await until(pilot, lambda: isinstance(pilot.app.screen, WasteScreen))
        await pilot.press("1", "enter")
        await until(pilot, lambda: isinstance(pilot.app.screen, ContainerScreen) and pilot.app.screen.look is not None)
        await pilot.press("d")
        await until_seen(pilot, "Content statement")
        await pilot.press("ctrl+s")
        await until(pilot, lambda: isinstance(pilot.app.screen, ContainerScreen))

    drive(app_on(path, tmp_path), steps)
    assert last(path).container == HOSTILE and len(list(path.parent.glob("statement-*.pdf"))) == 1
