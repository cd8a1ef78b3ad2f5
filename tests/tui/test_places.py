"""Safety and the calculators, by keyboard alone, at both sizes, with help that names the real keys."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.pilot import Pilot
from textual.widgets import OptionList, Static

from bathkeeper.answers.matrix import Grid
from bathkeeper.calculators.registry import CALCULATORS, ask
from bathkeeper.tui.app import BathkeeperApp
from bathkeeper.tui.screens.calculators import CalculatorForm, CalculatorsScreen, fields_of
from bathkeeper.tui.screens.entry_form import EntryForm
from bathkeeper.tui.screens.form_rows import FieldRow
from bathkeeper.tui.screens.help import PAGES, HelpScreen, keys_of
from bathkeeper.tui.screens.line import LineScreen
from bathkeeper.tui.screens.safety import SafetyScreen, grid_content
from bathkeeper.tui.screens.why import WhyScreen
from tests.tui.helpers import LARGE, SMALL, app_on, book, drive, seen, type_text, until, until_seen
from tests.tui.test_forms import newest
from tests.tui.test_hostile import NAMES, hostile_book


@pytest.mark.parametrize("size", [SMALL, LARGE])
def test_safety_by_tank_and_the_grid(tmp_path: Path, size: tuple[int, int]) -> None:
    async def steps(pilot: Pilot[None]) -> None:
        await pilot.press("h")
        await until(pilot, lambda: isinstance(pilot.app.screen, SafetyScreen))
        await until_seen(pilot, "pickle", "hydrogen")
        screen = pilot.app.screen
        assert isinstance(screen, SafetyScreen)
        ranks = [("now", "soon", "later").index(f.level) if f else -1 for f in screen._findings]
        firsts = [ranks[i + 1] for i, rank in enumerate(ranks) if rank == -1]
        assert firsts == sorted(firsts)  # the tank with the most urgent one stands first
        await pilot.press("enter")
        await until(pilot, lambda: isinstance(pilot.app.screen, WhyScreen))
        close = pilot.app.screen.query_one("#close")
        assert close.region.bottom <= size[1] - 1
        await pilot.press("escape")
        await until(pilot, lambda: isinstance(pilot.app.screen, SafetyScreen) and screen.query_one("#findings").has_focus)
        await pilot.press("2")
        await until_seen(pilot, "X must never meet", "1 degreaser", "acid-dip")
        grid = next(line for line in seen(pilot).splitlines() if "acid-dip" in line)
        assert grid.split("acid-dip")[1].split() == ["X", "X", "o", "X"]
        await pilot.press("escape")
        await until(pilot, lambda: isinstance(pilot.app.screen, LineScreen))

    drive(app_on(book(tmp_path), tmp_path), steps, size)


def test_a_grid_of_hostile_names_keeps_its_columns() -> None:
    names = tuple(NAMES)
    rows = tuple(" ".join("X" * n) for n in range(len(names)))
    lines = grid_content(Grid(names, ("", " ".join("1" * (len(names) - 1))), rows, (NAMES[0],)), 80).plain.splitlines()
    assert all(c.isprintable() for line in lines for c in line)
    assert lines[-1].startswith("Of these no such pair is known: [/]")


def test_safety_of_hostile_names(tmp_path: Path) -> None:
    async def steps(pilot: Pilot[None]) -> None:
        await pilot.press("h")
        await until(pilot, lambda: bool(pilot.app.screen.query("#findings")) and bool(pilot.app.screen._findings))  # type: ignore[attr-defined]
        for keys in (("end", "enter"), ("escape", "2")):
            await pilot.press(*keys)
            await pilot.pause()
            text = seen(pilot)
            assert not any((ord(c) < 32 and c != "\n") or c in "\x7f\x9b\u202e" for c in text)

    drive(app_on(hostile_book(tmp_path), tmp_path), steps)


def test_calculators_are_listed_and_answer_while_one_types(tmp_path: Path) -> None:
    async def steps(pilot: Pilot[None]) -> None:
        await pilot.press("k")
        await until(pilot, lambda: isinstance(pilot.app.screen, CalculatorsScreen))
        assert pilot.app.screen.query_one(OptionList).option_count == len(CALCULATORS)
        place = list(CALCULATORS).index("hull")
        await pilot.press(*["down"] * place, "enter")
        await until(pilot, lambda: isinstance(pilot.app.screen, CalculatorForm))
        assert "2A" in seen(pilot)  # the example, in place of a text
        await type_text(pilot, "2A")
        await pilot.press("enter")
        await type_text(pilot, "2.54cm")
        wanted = ask(CALCULATORS["hull"], {"current": "2A", "at": "2.54cm"}).lines[0]
        await until_seen(pilot, wanted[:40])
        await pilot.press("f9")
        await until(pilot, lambda: isinstance(pilot.app.screen, WhyScreen))
        text = pilot.app.screen._reasons().plain  # type: ignore[attr-defined]
        assert "Inputs as understood" in text and "Reckoned as" in text and "Sources" in text
        await pilot.press("escape")
        await type_text(pilot, "furlong")
        await until_seen(pilot, "!! at: ")
        await pilot.press("f7")
        await until_seen(pilot, "F6 fills in an example")

    drive(app_on(book(tmp_path), tmp_path), steps)


def test_without_a_book_calculators_work(tmp_path: Path) -> None:
    async def steps(pilot: Pilot[None]) -> None:
        await pilot.press("k")
        await until(pilot, lambda: isinstance(pilot.app.screen, CalculatorsScreen))
        await pilot.press("enter", "f6")
        await until_seen(pilot, "dm²")
        assert "Log as reading" not in seen(pilot)
        for key in ("h", "b", "g"):
            await pilot.press("escape", "escape", key)
            assert isinstance(pilot.app.screen, LineScreen)  # these are about a book

    drive(app_on(tmp_path / "none.logbook.jsonl", tmp_path), steps, filled=False)


def test_a_titration_is_logged_as_a_reading(tmp_path: Path) -> None:
    path = book(tmp_path)

    async def steps(pilot: Pilot[None]) -> None:
        app = pilot.app
        assert isinstance(app, BathkeeperApp)
        app.open_calculator("titrate")
        await until(pilot, lambda: isinstance(app.screen, CalculatorForm) and bool(app.screen.query(FieldRow)))
        await pilot.press("f6")
        next(r for r in app.screen.query(FieldRow) if r.field.key == "used").text = "10mL"
        await until_seen(pilot, "g/L for each mL")
        await pilot.press("ctrl+s")
        await until_seen(pilot, "Choose the tank")
        tank = next(r for r in app.screen.query(FieldRow) if r.field.key == "log to")
        assert tank.control.has_focus
        await pilot.press("e")
        assert tank.text == "electrolyte"
        await pilot.press("enter")
        await type_text(pilot, "L7")
        await pilot.press("ctrl+s")
        await until_seen(pilot, "Logged: a reading")

    drive(app_on(path, tmp_path), steps)
    value = newest(path)["values"][0]
    wanted = ask(CALCULATORS["titrate"], {"of": "zinc", "titrant": "EDTA 0.1M", "sample": "2mL", "used": "10mL"})
    assert value["of"] == "zinc" and value["value"] == pytest.approx(wanted.values["concentration_g_l"])
    assert value["lot"] == "L7" and value["spread"] > 0 and newest(path)["tank"] == "electrolyte"


def test_every_calculator_has_a_form_whose_examples_can_be_answered() -> None:
    for one in CALCULATORS.values():
        keys = [f.key for f in fields_of(one, [])]
        assert keys == [i.name for i in one.inputs] and all(f.placeholder for f in fields_of(one, []) if not f.choices)
        for example in one.examples:
            assert set(example) <= set(keys)


def test_hostile_texts_in_a_calculator_are_refused_plainly(tmp_path: Path) -> None:
    async def steps(pilot: Pilot[None]) -> None:
        app = pilot.app
        assert isinstance(app, BathkeeperApp)
        app.open_calculator("dilute")
        await until(pilot, lambda: isinstance(app.screen, CalculatorForm) and bool(app.screen.query(FieldRow)))
        rows = list(app.screen.query(FieldRow))
        for name in ("[/]", "esc\x1b[31mred", "5" * 300, "[@click=app.quit]x[/]"):
            for row in rows:
                row.text = name
            await until_seen(pilot, "!! ")
            text = seen(pilot)
            assert not any((ord(c) < 32 and c != "\n") or c in "\x7f\x9b\u202e" for c in text)
            await pilot.press("f7")
            await until(pilot, lambda: "!! " not in str(app.screen.query_one("#answer", Static).content))

    drive(app_on(book(tmp_path), tmp_path), steps)


def test_help_of_the_new_screens_names_their_real_keys(tmp_path: Path) -> None:
    app = app_on(book(tmp_path), tmp_path)

    async def steps(pilot: Pilot[None]) -> None:
        for where, topic in (("safety", "safety"), ("entries", "entries"), ("calculators", "calculators")):
            app.action_go(where)
            await until(pilot, lambda: not isinstance(app.screen, LineScreen))
            await pilot.press("f1")
            await until(pilot, lambda: isinstance(app.screen, HelpScreen))
            assert PAGES[topic] in app.screen._page().plain  # type: ignore[attr-defined]
            await pilot.press("escape", "escape")
            await until(pilot, lambda: isinstance(app.screen, LineScreen))
        app.open_calculator("titrate")
        await until(pilot, lambda: isinstance(app.screen, CalculatorForm) and bool(app.screen.query(FieldRow)))
        told = {what: keys for keys, what in keys_of(app.screen)}
        assert told["Log as reading"] == "Ctrl+S F10" and told["Why"] == "w F9"
        await pilot.press("escape")
        app.action_log("definition")
        await until(pilot, lambda: isinstance(app.screen, EntryForm) and bool(app.screen.query(FieldRow)))
        told = {what: keys for keys, what in keys_of(app.screen)}
        assert told["Take over"] == "F8" and "Part more" not in told and "As last time" not in told
        live = {b.description for _, b, enabled, _ in app.screen.active_bindings.values() if enabled}
        assert set(told) <= live | {"Next word", "Word before"}
        await pilot.press("escape")
        await until(pilot, lambda: isinstance(app.screen, LineScreen))
        told = {what: keys for keys, what in keys_of(app.screen)}
        assert (told["Hazards"], told["Calculators"], told["Book"], told["Settings"]) == ("h", "k", "b", "g")

    drive(app, steps)


@pytest.mark.parametrize("size", [SMALL, LARGE])
def test_substances_and_what_to_do_first(tmp_path: Path, size: tuple[int, int]) -> None:
    async def steps(pilot: Pilot[None]) -> None:
        await pilot.press("h")
        await until_seen(pilot, "hydrogen")
        await pilot.press("3")
        await until_seen(pilot, "By substance", "nickel dichloride", "(H350i)")
        await pilot.press("down", "down", "enter")
        await until(pilot, lambda: isinstance(pilot.app.screen, WhyScreen))
        await until_seen(pilot, "Annex VI")
        await pilot.press("escape")
        await until(pilot, lambda: isinstance(pilot.app.screen, SafetyScreen))
        await pilot.press("4")
        await until_seen(pilot, "What to do first", "in the eyes", "from memory")
        await pilot.press("end")
        await until_seen(pilot, "fresh air")

    drive(app_on(book(tmp_path), tmp_path), steps, size)
