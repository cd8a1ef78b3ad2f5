"""Light, dark and without colour; help, palette and footer tell the keys that there are."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.pilot import Pilot
from textual.widgets import Button

from bathkeeper.tui.commands import LOGS
from bathkeeper.tui.screens.entry_form import EntryForm, FieldRow
from bathkeeper.tui.screens.help import KEY_NAMES, PAGES, HelpScreen
from bathkeeper.tui.screens.tank import TankScreen
from bathkeeper.tui.widgets.keys import KeyLine
from bathkeeper.tui.widgets.vessel import Vessel
from tests.tui.helpers import SMALL, app_on, book, drive, seen, until, until_seen


@pytest.mark.parametrize("look", ["textual-dark", "textual-light", "no colour"])
def test_every_look_says_the_states_in_words(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, look: str) -> None:
    if look == "no colour":
        monkeypatch.setenv("NO_COLOR", "1")
    app = app_on(book(tmp_path), tmp_path)

    async def steps(pilot: Pilot[None]) -> None:
        if look != "no colour":
            app.theme = look
        await pilot.pause()
        assert app.no_color == (look == "no colour")
        for vessel in app.screen.query(Vessel):
            assert f"{vessel.standing.sign} {vessel.standing.word}" in seen(pilot)
        app.open_tank("electrolyte")
        await until_seen(pilot, "✓  in")

    drive(app, steps)


def contrast(one: tuple[int, int, int], other: tuple[int, int, int]) -> float:
    """WCAG 2.1 contrast ratio (w3.org/TR/WCAG21, relative luminance)."""

    def luminance(rgb: tuple[int, int, int]) -> float:
        parts = [c / 255 / 12.92 if c / 255 <= 0.03928 else ((c / 255 + 0.055) / 1.055) ** 2.4 for c in rgb]
        return 0.2126 * parts[0] + 0.7152 * parts[1] + 0.0722 * parts[2]

    bright, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (bright + 0.05) / (dark + 0.05)


@pytest.mark.parametrize("look", ["textual-dark", "textual-light"])
def test_state_words_can_be_told_from_their_ground(tmp_path: Path, look: str) -> None:
    app = app_on(book(tmp_path), tmp_path)

    async def steps(pilot: Pilot[None]) -> None:
        app.theme = look
        await pilot.pause()
        for strip in app.screen._compositor.render_strips():
            for segment in strip:
                style = segment.style
                if style is None or style.color is None or style.bgcolor is None or not any(c.isalpha() for c in segment.text):
                    continue
                if style.color.triplet is None or style.bgcolor.triplet is None:
                    continue
                ratio = contrast(style.color.triplet, style.bgcolor.triplet)
                assert ratio >= 4.0, (segment.text, ratio)

    drive(app, steps)


def pressed_names() -> dict[str, str]:
    return {v: k for k, v in KEY_NAMES.items()}


def test_help_names_the_real_keys_of_the_line(tmp_path: Path) -> None:
    app = app_on(book(tmp_path), tmp_path)

    async def steps(pilot: Pilot[None]) -> None:
        await pilot.press("question_mark")
        await until(pilot, lambda: isinstance(app.screen, HelpScreen))
        told = {what: keys for keys, what in app.screen.keys}  # type: ignore[attr-defined]
        await pilot.press("escape")
        live = {(b.description, k) for k, (_, b, _, _) in app.screen.active_bindings.items()}
        for what, keys in told.items():
            for key in keys.split():
                name = pressed_names().get(key, key.lower())
                assert (what, name) in live, (what, key)
        assert told["Run"] == "r F2" and told["Why"] == "w" and told["Undo"] == "u F8"

    drive(app, steps)


def test_every_screen_has_help_with_a_way_out(tmp_path: Path) -> None:
    app = app_on(book(tmp_path), tmp_path)

    async def steps(pilot: Pilot[None]) -> None:
        for topic in ("line", "tank", "form"):
            if topic == "tank":
                app.open_tank("pickle")
                await until(pilot, lambda: isinstance(app.screen, TankScreen))
            if topic == "form":
                app.action_log("reading")
                await until(pilot, lambda: isinstance(app.screen, EntryForm) and bool(app.screen.query(FieldRow)))
            await pilot.press("f1")
            await until(pilot, lambda: isinstance(app.screen, HelpScreen))
            close = app.screen.query_one("#close", Button)
            assert close.region.bottom <= SMALL[1] and PAGES[topic] in app.screen._page().plain  # type: ignore[attr-defined]
            await pilot.press("enter")
            await until(pilot, lambda: not isinstance(app.screen, HelpScreen))

    drive(app, steps)


def test_letters_and_function_keys_open_the_same_form(tmp_path: Path) -> None:
    app = app_on(book(tmp_path), tmp_path)

    async def steps(pilot: Pilot[None]) -> None:
        for number, (kind, what) in enumerate(LOGS.items()):
            letter, twin = what.rpartition("(")[2].rstrip(")").lower().split(", ")
            live = app.screen.active_bindings
            assert live[letter].binding.action == live[twin].binding.action == f"log('{kind}')"
            await pilot.press(twin if number % 2 else letter)
            await until(pilot, lambda: isinstance(app.screen, EntryForm))
            assert app.screen.kind == kind  # type: ignore[attr-defined]
            await pilot.press("escape")
            await until(pilot, lambda: not isinstance(app.screen, EntryForm))

    drive(app, steps)


def test_the_bottom_line_can_be_clicked(tmp_path: Path) -> None:
    app = app_on(book(tmp_path), tmp_path)

    async def steps(pilot: Pilot[None]) -> None:
        for word, there in (("Measure", EntryForm), ("Help", HelpScreen)):
            line = app.screen.query_one(KeyLine)
            await pilot.click(line, offset=(seen(pilot).splitlines()[-1].index(word), 0))
            await until(pilot, lambda there=there: isinstance(app.screen, there))  # type: ignore[misc]
            await pilot.press("escape")
            await until(pilot, lambda there=there: not isinstance(app.screen, there))  # type: ignore[misc]
        await pilot.click(KeyLine, offset=(SMALL[0] - 2, 0))
        await until_seen(pilot, "Log: a reading")

    drive(app, steps)


def test_the_palette_does_what_it_says(tmp_path: Path) -> None:
    app = app_on(book(tmp_path), tmp_path)

    async def steps(pilot: Pilot[None]) -> None:
        await pilot.press("ctrl+p")
        await until(pilot, lambda: app.screen.is_modal)
        await pilot.press(*"pickle")
        await until_seen(pilot, "Tank: pickle")
        await pilot.press("enter")
        await until(pilot, lambda: isinstance(app.screen, TankScreen))

    drive(app, steps)
