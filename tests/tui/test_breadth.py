"""By keyboard alone: the forms of every other kind, parts and branches of a run, settings, corrections."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest
from textual.pilot import Pilot
from textual.widgets import OptionList, TextArea

from bathkeeper.catalogue.loader import load
from bathkeeper.tui.app import BathkeeperApp
from bathkeeper.tui.screens.confirm import ConfirmScreen
from bathkeeper.tui.screens.entries import EntriesScreen
from bathkeeper.tui.screens.entry import EntryScreen
from bathkeeper.tui.screens.entry_form import EntryForm
from bathkeeper.tui.screens.form_rows import BodyRow, FieldRow
from bathkeeper.tui.screens.tank import TankScreen
from bathkeeper.tui.toml_text import starting_point, toml
from bathkeeper.workshop import Workshop
from tests.tui.helpers import NOW, app_on, book, drive, seen, type_text, until, until_seen
from tests.tui.test_forms import newest, row


async def opened(pilot: Pilot[None]) -> EntryForm:
    """The form, once its rows are there."""
    await until(pilot, lambda: isinstance(pilot.app.screen, EntryForm) and bool(pilot.app.screen.query(FieldRow)))
    screen = pilot.app.screen
    assert isinstance(screen, EntryForm)
    return screen


async def by_palette(pilot: Pilot[None], word: str, words: str) -> EntryForm:
    """A form by a word of its line in the palette."""
    await pilot.press("ctrl+p")
    await until(pilot, lambda: pilot.app.screen.is_modal)
    await type_text(pilot, word)
    await until_seen(pilot, words)
    await pilot.press("enter")
    return await opened(pilot)


async def log(pilot: Pilot[None]) -> None:
    """Logs a form that is understood, and says yes to what is doubted."""
    await pilot.press("ctrl+s")
    await until(pilot, lambda: not isinstance(pilot.app.screen, EntryForm))
    if isinstance(pilot.app.screen, ConfirmScreen):
        await pilot.press("y")
    await until(pilot, lambda: not isinstance(pilot.app.screen, (EntryForm, ConfirmScreen)))


def test_a_treatment_a_calibration_and_a_new_tank(tmp_path: Path) -> None:
    path = book(tmp_path)

    async def steps(pilot: Pilot[None]) -> None:
        app = pilot.app
        assert isinstance(app, BathkeeperApp)
        app.open_tank("electrolyte")
        await until(pilot, lambda: isinstance(app.screen, TankScreen))
        await pilot.press("t")
        form = await opened(pilot)
        assert row(form, "what").control.has_focus and "F4 offers: carbon" in seen(pilot)
        await pilot.press("f4")
        row(form, "items:activated carbon").control.focus()
        await type_text(pilot, "40")
        await until_seen(pilot, "= 40 g")
        await log(pilot)
        assert newest(path)["items"] == [{"reagent": "activated carbon", "amount": 40.0, "unit": "g"}]
        assert newest(path)["what"] == "carbon" and newest(path)["tank"] == "electrolyte"

        app.action_log("calibration")
        form = await opened(pilot)
        await pilot.press("enter")
        row(form, "name").text, row(form, "against").text = "bench-1", "clamp meter"
        await pilot.press("down", "down")
        await until_seen(pilot, "· calibration: result is missing")
        assert "!!" not in seen(pilot)  # what is not there yet is no fault of the fields that are
        await type_text(pilot, "5.1/5.0")
        await until_seen(pilot, "= 1.02")
        await log(pilot)
        assert (newest(path)["what"], newest(path)["name"], newest(path)["result"]) == ("supply", "bench-1", 1.02)

        app.action_new_tank()
        form = await opened(pilot)
        assert row(form, "place").text == "12"  # behind the last one
        await type_text(pilot, "seal-1")
        await pilot.press("enter", "s")
        row(form, "working_volume_l").control.focus()
        await type_text(pilot, "15")
        await until_seen(pilot, "= 15 L")
        await log(pilot)
        entry = newest(path)
        assert (entry["tank"], entry["role"], entry["order"], entry["working_volume_l"]) == ("seal-1", "seal", 12, 15.0)

        app.action_log("tank")
        form = await opened(pilot)
        assert row(form, "tank").text == "electrolyte" and row(form, "working_volume_l").text == "40 L"
        row(form, "in_service").control.focus()
        await pilot.press("n")
        await until_seen(pilot, "This will change")
        await log(pilot)
        assert newest(path)["in_service"] is False and newest(path)["recipe"] == "zinc-nickel-chloride-potassium"

    drive(app_on(path, tmp_path), steps)


def test_a_removal_is_offered_tanks_and_containers(tmp_path: Path) -> None:
    path = book(tmp_path)
    raw = {"kind": "removal", "at": "2026-06-10T10:00:00Z", "tank": "pickle", "volume_l": 0.5, "to": "drum-7"}
    Workshop.open(path).log(raw)

    async def steps(pilot: Pilot[None]) -> None:
        pilot.app.action_log("removal")  # type: ignore[attr-defined]
        form = await opened(pilot)
        row(form, "to").control.focus()
        await until_seen(pilot, "F4 offers: drum-7 · rust-removal")
        await pilot.press("f4")
        assert row(form, "to").text == "drum-7"
        await pilot.press(*["f4"] * 11)
        assert row(form, "to").text == "sample"

    drive(app_on(path, tmp_path), steps)


def test_a_definition_starts_from_the_catalogue_and_its_faults_stand_under_it(tmp_path: Path) -> None:
    path = book(tmp_path)

    async def steps(pilot: Pilot[None]) -> None:
        form = await by_palette(pilot, "defin", "Set up: a definition of your own")
        await pilot.press("l")
        assert row(form, "of").text == "limit"
        await pilot.press("enter")
        await type_text(pilot, "my zinc")
        body = form.query_one(BodyRow)
        await until(pilot, lambda: "high = " in body.beside.text)
        assert isinstance(body.control, TextArea)
        body.control.focus()
        await type_text(pilot, "of ")
        await pilot.press("equals_sign", "quotation_mark", *"zinc", "quotation_mark", "enter")
        await until_seen(pilot, "!! definition of limit `my zinc`")
        lines = seen(pilot).splitlines()
        assert next(i for i, line in enumerate(lines) if "!! definition" in line) > next(
            i for i, line in enumerate(lines) if "Yours, as TOML" in line
        )
        body.control.text = 'of = "zinc"\ntank = "electrolyte"\nhigh = 38.0'
        await until_seen(pilot, "This will change")
        await log(pilot)
        entry = newest(path)
        assert entry["of"] == "limit" and entry["body"] == {"of": "zinc", "tank": "electrolyte", "high": 38.0}

    drive(app_on(path, tmp_path), steps)
    assert Workshop.open(path).tank("electrolyte").species["zinc"].window["high"] == 38.0


def test_the_catalogues_reagent_can_be_taken_over(tmp_path: Path) -> None:
    path = book(tmp_path)

    async def steps(pilot: Pilot[None]) -> None:
        pilot.app.action_log("definition")  # type: ignore[attr-defined]
        form = await opened(pilot)
        row(form, "of").text = "reagent"
        row(form, "name").text = "zinc chloride"
        await until(pilot, lambda: 'based_on = "zinc chloride"' in form.query_one(BodyRow).beside.text)
        await pilot.press("f8")
        assert form.query_one(BodyRow).text == form.query_one(BodyRow).beside.text
        await until_seen(pilot, "This will change")
        await log(pilot)

    drive(app_on(path, tmp_path), steps)
    mine, theirs = Workshop.open(path).catalogue.reagent("zinc chloride"), load().reagent("zinc chloride")
    assert mine.brings == theirs.brings and mine.cautions == theirs.cautions


def test_every_starting_point_can_be_read_and_taken_over() -> None:
    catalogue = load()
    for of, shelf in (("recipe", catalogue.recipes), ("reagent", catalogue.reagents), ("method", catalogue.methods)):
        for name in list(shelf)[:4]:
            body = tomllib.loads(starting_point(catalogue, of, name))
            assert body["based_on"] == name
            assert catalogue.with_definitions([(of, name, body)]).own[of][name] == body
    for of in ("supply", "limit", "replacement rule", "use plan", "part"):
        text = starting_point(catalogue, of, "x")  # nothing of that name: the fields that there are
        assert tomllib.loads(text) == {} and "may be left out" in text


@pytest.mark.parametrize(
    "table",
    [
        {"a": 1, "b": {"c d": [1.5, "x\x1b[2J\u202e\U000e0001"], "e": {}}, "f": [{"g": True}, {"g": False}]},
        {"a": {"b": {"c": 1e-9}}, '"': "\\", "": [], "n": [[1], [2]]},
        {"rows": [{"name": "x", "in": {"y": 2}}]},
    ],
)  # fmt: skip
def test_toml_can_be_read_back(table: dict[str, Any]) -> None:
    text = toml(table)
    assert tomllib.loads(text) == table and all(c == "\n" or c.isprintable() for c in text)


def test_parts_and_branches_of_a_run(tmp_path: Path) -> None:
    path = book(tmp_path)

    async def steps(pilot: Pilot[None]) -> None:
        pilot.app.action_log("run")  # type: ignore[attr-defined]
        form = await opened(pilot)
        await pilot.press("f2", "f2", "f3")
        await until(pilot, lambda: any(r.field.key == "area_dm2#2" for r in form.query(FieldRow)))
        assert not any(r.field.key == "area_dm2#3" for r in form.query(FieldRow))
        for key, text in {"description#2": "pins", "area_dm2#2": "1", "property_class#2": "10.9"}.items():
            row(form, key).text = text
        row(form, "safety_critical#2").control.focus()
        await pilot.press("y")
        row(form, "steps:electrolyte").control.focus()
        await pilot.press("f5", "f5")
        await until(pilot, lambda: any(r.field.key == "branch:electrolyte:2:supply" for r in form.query(FieldRow)))
        assert row(form, "branch:electrolyte:1:charge").text == "6.5A*45min"  # the step told in one go is the first branch
        await until_seen(pilot, "a branch needs its supply or its anodes")
        for key, text in {"1:supply": "bench-1", "1:volts": "3.2", "2:anodes": "nickel-1", "2:charge": "0.9A*45min"}.items():
            row(form, f"branch:electrolyte:{key}").text = text
        await until_seen(pilot, "This will change")
        await log(pilot)

    drive(app_on(path, tmp_path), steps)
    entry = newest(path)
    assert entry["parts"] == [
        {"description": "mixed brackets", "count": 6, "area_dm2": 3.2},
        {"description": "pins", "area_dm2": 1.0, "property_class": "10.9", "safety_critical": True},
    ]
    assert entry["steps"][1] == {
        "tank": "electrolyte", "minutes": 45.0, "branches": [
            {"charge": {"current_a": 6.5}, "supply": "bench-1", "volts": 3.2},
            {"charge": {"current_a": 0.9}, "anodes": ["nickel-1"]}],
    }  # fmt: skip


def test_settings_are_changed_and_the_rest_is_carried_on(tmp_path: Path) -> None:
    path = book(tmp_path)
    Workshop.open(path).change_settings({"country": "Norway", "units": {"mass": "oz"}, "ounce": "troy"}, NOW)

    async def steps(pilot: Pilot[None]) -> None:
        await pilot.press("g")
        form = await opened(pilot)
        assert row(form, "name").text == "Test Bench" and row(form, "country").text == "Norway"
        keys = [r.field.key for r in form.query(FieldRow)]  # more of them than the screen has lines
        row(form, keys[17]).control.focus()
        await pilot.press("down", "down", "down")
        assert row(form, keys[20]).control.has_focus and row(form, keys[20]).region.bottom <= 24
        await pilot.press("up")
        assert row(form, keys[19]).control.has_focus
        row(form, "gallon").control.focus()
        await pilot.press("u")
        row(form, "units:volume").control.focus()
        await type_text(pilot, "usgal")
        row(form, "units:mass").text = ""
        row(form, "embrittlement_rule").control.focus()
        await pilot.press("a")
        await until_seen(pilot, "This will change")
        await log(pilot)
        await until_seen(pilot, "Changed: settings of the workshop")

    drive(app_on(path, tmp_path), steps)
    now = Workshop.open(path).settings()
    assert (now["gallon"], now["ounce"], now["country"]) == ("us", "troy", "Norway")
    assert now["units"] == {"volume": "usgal"} and now["embrittlement_rule"] == "ASTM B850"


def test_an_entry_is_corrected_in_its_own_form(tmp_path: Path) -> None:
    path = book(tmp_path)

    async def steps(pilot: Pilot[None]) -> None:
        app = pilot.app
        assert isinstance(app, BathkeeperApp)
        app.open_tank("electrolyte")
        await until(pilot, lambda: isinstance(app.screen, TankScreen) and bool(app.screen._entries.rows))
        await pilot.press("3", "down", "enter")
        await until(pilot, lambda: isinstance(app.screen, EntryScreen))
        await pilot.press("f4")
        form = await opened(pilot)
        assert row(form, "values:zinc").text == "31.5 g/L" and "Correct: a reading" in seen(pilot)
        row(form, "values:zinc").control.focus()
        await type_text(pilot, "30.5")
        await pilot.press("ctrl+s")
        await until(pilot, lambda: row(form, "reason").control.has_focus)
        await until_seen(pilot, "!! say why it is corrected")
        await type_text(pilot, "misread")
        await until_seen(pilot, "This will change")
        await pilot.press("ctrl+s")
        await until(pilot, lambda: isinstance(app.screen, TankScreen))
        await until_seen(pilot, "corrected: zinc 30.5 g/L")
        await pilot.press("enter")
        await until(pilot, lambda: isinstance(app.screen, EntryScreen))
        text = app.screen.query_one(TextArea).text
        assert "misread" in text and "As it was logged" in text and "31.5" in text

    drive(app_on(path, tmp_path), steps)
    workshop = Workshop.open(path)
    reading = next(e for e in workshop.entries("electrolyte") if e.kind == "reading")
    assert reading.values[0].value == 30.5 and reading.values[1].value == 5.4  # type: ignore[union-attr]
    assert workshop.history(reading.id).corrections[0].reason == "misread"


def test_entries_of_no_tank_are_in_the_book(tmp_path: Path) -> None:
    path = book(tmp_path)
    raw = {"kind": "calibration", "what": "supply", "name": "s", "against": "c", "result": 1.01, "at": "2026-06-19T10:00:00Z"}
    Workshop.open(path).log(raw)

    async def steps(pilot: Pilot[None]) -> None:
        await pilot.press("b")
        await until(pilot, lambda: isinstance(pilot.app.screen, EntriesScreen))
        await until_seen(pilot, "supply s reads 1.01 times c", "19 entries in force")
        assert pilot.app.screen.query_one(OptionList).highlighted == 0
        await pilot.press("enter")
        await until(pilot, lambda: isinstance(pilot.app.screen, EntryScreen))
        await pilot.press("f4")
        form = await opened(pilot)
        assert row(form, "result").text == "1.01" and row(form, "name").text == "s"

    drive(app_on(path, tmp_path), steps)


def test_the_look_is_remembered(tmp_path: Path) -> None:
    path = book(tmp_path)

    async def choose(pilot: Pilot[None]) -> None:
        pilot.app.theme = "textual-light"
        await until(pilot, lambda: (tmp_path / "looks.json").exists())

    async def look(pilot: Pilot[None]) -> None:
        assert pilot.app.theme == "textual-light"

    drive(app_on(path, tmp_path), choose)
    drive(app_on(path, tmp_path), look)
    for spoilt in ('{"theme": 3}', '{"theme": "no such"}', "[", ""):
        (tmp_path / "looks.json").write_text(spoilt)
        assert app_on(path, tmp_path).theme == "textual-dark"
