"""Safety by keyboard at 80x24: dangers in full, containers in the grid, substances, hydrogen with its air, first help."""

from __future__ import annotations

import json
from datetime import timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner
from textual.pilot import Pilot
from textual.widgets import OptionList

from bathkeeper.cli.program import program
from bathkeeper.tui.screens.line import LineScreen
from bathkeeper.tui.screens.safety import SafetyScreen
from bathkeeper.tui.screens.why import WhyScreen
from bathkeeper.workshop import Workshop
from tests.tui.helpers import LARGE, NOW, SMALL, app_on, book, drive, seen, until, until_seen

NEVER = ("optimal", "guaranteed", "safe to pour", "compliant", "non-hazardous")
HOSTILE = "[red]=1+1 \\ 亜鉛 ‮x"


def shop(folder: Path, drum: str = "drum-1") -> Path:
    """The small book with pickle in one drum and degreaser in another: acid and alkali."""
    path = book(folder)
    workshop = Workshop.open(path)
    start, hour = NOW - timedelta(days=6), timedelta(hours=1)
    workshop.log_all([
        {"kind": "make_up", "at": start, "tank": "degreaser", "volume_l": 20.0, "contents": {"free alkali": 20.0}},
        {"kind": "removal", "at": start + hour, "tank": "degreaser", "volume_l": 5.0, "to": "drum-2"},
        {"kind": "removal", "at": start + 2 * hour, "tank": "pickle", "volume_l": 5.0, "to": drum},
    ])  # fmt: skip
    return path


async def safety(pilot: Pilot[None]) -> SafetyScreen:
    """The screen of safety, once it has looked."""
    await pilot.press("h")
    await until(pilot, lambda: isinstance(pilot.app.screen, SafetyScreen) and pilot.app.screen._found is not None)
    screen = pilot.app.screen
    assert isinstance(screen, SafetyScreen)
    return screen


async def read_through(pilot: Pilot[None], where: str) -> str:
    """All that stands on a side, read by scrolling down a line at a time: every line as it was drawn."""
    pane = pilot.app.screen.query_one(where)
    lines: dict[str, None] = {}
    pane.scroll_home(animate=False)
    await pilot.pause()
    while True:
        lines |= dict.fromkeys(line.strip() for line in seen(pilot).splitlines())
        if pane.scroll_y >= pane.max_scroll_y:
            return "\n".join(lines)
        pane.scroll_relative(y=5, animate=False)
        await pilot.pause()


@pytest.mark.parametrize("size", [SMALL, LARGE])
def test_every_side_by_its_key_and_nothing_is_cut_off(tmp_path: Path, size: tuple[int, int]) -> None:
    async def steps(pilot: Pilot[None]) -> None:
        await safety(pilot)
        for key, where, words in (
            ("1", "#findings", ("pickle", "drum-1", "acid into water")),
            ("2", "#scroll", ("must never meet", "drum-1", "drum-2")),
            ("3", "#rows", ("nickel dichloride", "(H350i)", "safety data sheet", "from memory")),
            ("4", "#rows", ("in the eyes", "15 to 20", "hydrogen", "m3 fresh air", "licensed practice")),
        ):
            await pilot.press(key)
            await until(pilot, lambda where=where: pilot.app.screen.query_one(where).display)  # type: ignore[misc]
            text = " ".join((await read_through(pilot, where)).split())
            assert not [w for w in words if w not in text], f"side {key}:\n{text}"
            assert not [w for w in NEVER if w in text.casefold()]
            if key != "2":  # names at the grid's edge are shortened, they stand in full on the other sides
                assert "…" not in text
        await pilot.press("escape")
        await until(pilot, lambda: isinstance(pilot.app.screen, LineScreen))

    drive(app_on(shop(tmp_path), tmp_path), steps, size)


def test_a_substance_tells_its_source_by_enter(tmp_path: Path) -> None:
    async def steps(pilot: Pilot[None]) -> None:
        await safety(pilot)
        await pilot.press("3", "down")
        await until(pilot, lambda: pilot.app.screen.query_one("#rows", OptionList).highlighted is not None)
        await pilot.press("down", "enter")
        await until(pilot, lambda: isinstance(pilot.app.screen, WhyScreen))
        await until_seen(pilot, "CLP Annex VI")
        await pilot.press("escape")
        await until(pilot, lambda: isinstance(pilot.app.screen, SafetyScreen))

    drive(app_on(shop(tmp_path), tmp_path), steps)


def test_the_hydrogen_of_the_last_run_tells_how_it_was_reckoned(tmp_path: Path) -> None:
    async def steps(pilot: Pilot[None]) -> None:
        screen = await safety(pilot)
        await pilot.press("4", "end")
        rows = pilot.app.screen.query_one("#rows", OptionList)
        await until(pilot, lambda: rows.highlighted == len(screen._rows) - 1)
        await pilot.press("up", "w")
        await until(pilot, lambda: isinstance(pilot.app.screen, WhyScreen))
        await until_seen(pilot, "1 %", "no flame")

    drive(app_on(shop(tmp_path), tmp_path), steps)


def test_the_sides_can_be_clicked(tmp_path: Path) -> None:
    async def steps(pilot: Pilot[None]) -> None:
        await safety(pilot)
        await pilot.click("#first")
        await until_seen(pilot, "What to do first")
        await pilot.click("#meet")
        await until_seen(pilot, "must never meet", "drum-1")

    drive(app_on(shop(tmp_path), tmp_path), steps)


def test_an_empty_line_still_says_what_to_do_first(tmp_path: Path) -> None:
    path = tmp_path / "small.logbook.jsonl"
    Workshop.open(path, create=True).lay_out("Bare", "zinc-nickel-line", NOW - timedelta(days=1))

    async def steps(pilot: Pilot[None]) -> None:
        await safety(pilot)
        await pilot.press("3")
        await until_seen(pilot, "No harmonised substance is known")
        await pilot.press("4")
        await until_seen(pilot, "in the eyes")
        assert "No run with a charge is on record" in await read_through(pilot, "#rows")

    drive(app_on(path, tmp_path), steps)


def test_a_hostile_drum_is_only_a_name(tmp_path: Path) -> None:
    async def steps(pilot: Pilot[None]) -> None:
        await safety(pilot)
        for key, where in (("1", "#findings"), ("2", "#scroll"), ("3", "#rows")):
            await pilot.press(key)
            text = await read_through(pilot, where)
            assert "[red]=1+1" in text and "\u202e" not in text

    drive(app_on(shop(tmp_path, HOSTILE), tmp_path), steps)


def test_the_command_line_gives_the_same_answers(tmp_path: Path) -> None:
    path = shop(tmp_path)
    held: dict[str, list[str]] = {}

    async def steps(pilot: Pilot[None]) -> None:
        found = (await safety(pilot))._found
        assert found is not None
        held["substances"] = [s.name for s in found.dangers.substances]
        held["grid"] = sorted(found.dangers.must_not_meet)
        held["first"] = [f.title for f in found.dangers.first_response]

    drive(app_on(path, tmp_path), steps)
    done = CliRunner().invoke(program, ["--book", str(path), "safety", "--json", "--at", NOW.isoformat()])
    assert done.exit_code == 0, done.output
    told = json.loads(done.output)
    told = told.get("answer", told)
    assert [s["name"] for s in told["substances"]] == held["substances"] and held["substances"]
    assert sorted(told["must_not_meet"]) == held["grid"]
    assert [f["title"] for f in told["first_response"]] == held["first"]
    assert told["hydrogen"][0]["litres"] > 0 and told["hydrogen_source"]
