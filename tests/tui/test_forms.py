"""Entries logged by keyboard alone, refusals, drafts, doubts."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import msgspec
import pytest
from textual.pilot import Pilot
from textual.widgets import Input

from bathkeeper.entries import CONTAINER_ACTIONS, KINDS
from bathkeeper.tui import fields
from bathkeeper.tui.gathering import facts
from bathkeeper.tui.screens.confirm import ConfirmScreen
from bathkeeper.tui.screens.entry_form import EntryForm, FieldRow
from bathkeeper.tui.screens.line import LineScreen
from bathkeeper.tui.widgets.vessel import Vessel
from bathkeeper.workshop import Workshop
from tests.tui.helpers import LARGE, SMALL, app_on, book, drive, seen, type_text, until, until_seen


async def form(pilot: Pilot[None], key: str) -> EntryForm:
    """Opens the form behind a key, on the electrolyte."""
    next(v for v in pilot.app.screen.query(Vessel) if v.view.tank == "electrolyte").focus()
    await pilot.press(key)
    await until(pilot, lambda: isinstance(pilot.app.screen, EntryForm) and bool(pilot.app.screen.query(FieldRow)))
    screen = pilot.app.screen
    assert isinstance(screen, EntryForm)
    return screen


def row(screen: EntryForm, key: str) -> FieldRow:
    return next(r for r in screen.query(FieldRow) if r.field.key == key)


def newest(path: Path) -> dict[str, Any]:
    entry = Workshop.open(path).last_logged()
    assert entry is not None
    plain: dict[str, Any] = json.loads(msgspec.json.encode(entry))
    return plain


@pytest.mark.parametrize("size", [SMALL, LARGE])
def test_a_reading_by_keyboard_alone(tmp_path: Path, size: tuple[int, int]) -> None:
    path = book(tmp_path)

    async def steps(pilot: Pilot[None]) -> None:
        screen = await form(pilot, "m")
        assert row(screen, "values:zinc").control.has_focus  # what was read last comes first
        await type_text(pilot, "33.5")
        await pilot.press("enter")
        await type_text(pilot, "5.5")
        await until_seen(pilot, "= 33.5 g/L", "= 5.5", "This will change")
        await pilot.press("ctrl+s")
        await until(pilot, lambda: isinstance(pilot.app.screen, LineScreen))
        await until_seen(pilot, "Logged: a reading")

    drive(app_on(path, tmp_path), steps, size)
    entry = newest(path)
    assert entry["kind"] == "reading" and entry["tank"] == "electrolyte" and str(entry["at"]).startswith("2026-06-20T12:00")
    assert entry["values"] == [{"of": "zinc", "value": 33.5, "unit": "g/L"}, {"of": "ph", "value": 5.5, "unit": "pH"}]


def test_a_run_begins_with_the_last_one_and_is_logged_with_one_key(tmp_path: Path) -> None:
    path = book(tmp_path)

    async def steps(pilot: Pilot[None]) -> None:
        screen = await form(pilot, "r")
        assert row(screen, "description").text == "mixed brackets" and row(screen, "steps:electrolyte").text == "6.5A*45min"
        await type_text(pilot, "hinges")  # what stood there is selected, so typing takes its place
        await pilot.press("enter")
        await type_text(pilot, "4")
        await until_seen(pilot, "4.875 Ah")
        await pilot.press("f10")
        await until(pilot, lambda: isinstance(pilot.app.screen, LineScreen))

    drive(app_on(path, tmp_path), steps, LARGE)
    entry = newest(path)
    assert entry["parts"] == [{"description": "hinges", "count": 4, "area_dm2": 3.2}]
    assert entry["steps"] == [
        {"tank": "pickle", "minutes": 2.0}, {"tank": "electrolyte", "minutes": 45.0, "charge": {"current_a": 6.5}},
    ]  # fmt: skip


def test_an_addition_in_another_unit_by_its_function_key(tmp_path: Path) -> None:
    path = book(tmp_path)

    async def steps(pilot: Pilot[None]) -> None:
        screen = await form(pilot, "f4")
        row(screen, "items:zinc chloride").control.focus()
        await type_text(pilot, "0.12kg")
        await until_seen(pilot, "= 120 g", "electrolyte: zinc")
        await pilot.press("ctrl+s")
        await until(pilot, lambda: isinstance(pilot.app.screen, LineScreen))

    drive(app_on(path, tmp_path), steps)
    assert newest(path)["items"] == [{"reagent": "zinc chloride", "amount": 120.0, "unit": "g"}]


def test_the_other_kinds(tmp_path: Path) -> None:
    path = book(tmp_path)
    told: list[tuple[str, dict[str, str], dict[str, object]]] = [
        ("o", {"volume_l": "0.5", "to": "sample"}, {"kind": "removal", "volume_l": 0.5, "to": "sample"}),
        ("n", {"anode": "zinc-1", "mass_g": "1.9kg"}, {"kind": "anode", "action": "weighed", "mass_g": 1900.0}),
        ("c", {"text": "a=b [/] foam"}, {"kind": "remark", "text": "a=b [/] foam"}),
        ("f", {"volume_l": "38 L", "contents:zinc": "30"}, {"kind": "make_up", "volume_l": 38.0, "contents": {"zinc": 30.0}}),
    ]

    async def steps(pilot: Pilot[None]) -> None:
        for key, texts, expected in told:
            screen = await form(pilot, key)
            for name, text in texts.items():
                row(screen, name).control.value = text
            await until_seen(pilot, "This will change")
            await pilot.press("ctrl+s")
            await until(pilot, lambda: isinstance(pilot.app.screen, (LineScreen, ConfirmScreen)))
            if isinstance(pilot.app.screen, ConfirmScreen):  # a full tank filled anew is asked about
                await pilot.press("y")
                await until(pilot, lambda: isinstance(pilot.app.screen, LineScreen))
            entry = newest(path)
            assert {k: entry[k] for k in expected} == expected

    drive(app_on(path, tmp_path), steps)


def test_a_refusal_stands_under_its_field_and_loses_nothing(tmp_path: Path) -> None:
    path = book(tmp_path)
    before = path.read_bytes()

    async def steps(pilot: Pilot[None]) -> None:
        screen = await form(pilot, "m")
        row(screen, "values:zinc").control.value = "thirty"
        row(screen, "values:ph").control.value = "5.4"
        await pilot.press("ctrl+s")
        await until_seen(pilot, "!! zinc: `thirty` has no number to read", "= 5.4")
        assert isinstance(pilot.app.screen, EntryForm) and row(screen, "values:zinc").control.has_focus
        assert row(screen, "values:zinc").text == "thirty"
        lines = seen(pilot).splitlines()
        at = next(i for i, line in enumerate(lines) if line.lstrip().startswith("zinc "))
        assert "has no number" in lines[at + 1]

    drive(app_on(path, tmp_path), steps)
    assert path.read_bytes() == before


def test_what_was_typed_is_there_again_even_after_a_restart(tmp_path: Path) -> None:
    path = book(tmp_path)

    async def leave(pilot: Pilot[None]) -> None:
        screen = await form(pilot, "m")
        row(screen, "values:nickel").control.value = "2,9 oz/ [/"
        await pilot.press("escape")
        await until(pilot, lambda: isinstance(pilot.app.screen, LineScreen))

    async def come_back(pilot: Pilot[None]) -> None:
        screen = await form(pilot, "m")
        assert row(screen, "values:nickel").text == "2,9 oz/ [/"
        row(screen, "values:nickel").control.value = "24.5"
        await pilot.press("ctrl+s")
        await until(pilot, lambda: isinstance(pilot.app.screen, LineScreen))
        screen = await form(pilot, "m")
        assert row(screen, "values:nickel").text == ""  # logged, so no draft any more

    drive(app_on(path, tmp_path), leave)
    drive(app_on(path, tmp_path), come_back)


def test_an_unlikely_value_is_asked_about(tmp_path: Path) -> None:
    path = book(tmp_path)
    before = path.read_bytes()

    async def steps(pilot: Pilot[None]) -> None:
        screen = await form(pilot, "a")
        row(screen, "items:water").control.value = "200"
        await until_seen(pilot, "? 200 L in one addition")
        await pilot.press("ctrl+s")
        await until(pilot, lambda: isinstance(pilot.app.screen, ConfirmScreen))
        await pilot.press("n")
        assert isinstance(pilot.app.screen, EntryForm) and row(screen, "items:water").text == "200"

    drive(app_on(path, tmp_path), steps)
    assert path.read_bytes() == before


def test_as_last_time_fills_only_what_is_empty(tmp_path: Path) -> None:
    async def steps(pilot: Pilot[None]) -> None:
        screen = await form(pilot, "m")
        row(screen, "values:zinc").control.value = "30"
        await pilot.press("f6")
        assert row(screen, "values:zinc").text == "30" and row(screen, "values:ph").text == "5.4"
        await pilot.press("f7")
        assert not any(r.text for r in screen.query(FieldRow) if isinstance(r.control, Input))

    drive(app_on(book(tmp_path), tmp_path), steps)


def test_another_tank_has_other_fields(tmp_path: Path) -> None:
    async def steps(pilot: Pilot[None]) -> None:
        screen = await form(pilot, "m")
        row(screen, "tank").control.focus()
        await pilot.press("p", "p")  # passivate, then round to the pickle
        await until(pilot, lambda: any(r.field.key == "values:free acid" for r in screen.query(FieldRow)))
        assert row(screen, "tank").text == "pickle" and row(screen, "tank").control.has_focus

    drive(app_on(book(tmp_path), tmp_path), steps)


def test_the_caution_of_the_tank_stands_where_its_step_is_typed(tmp_path: Path) -> None:
    async def steps(pilot: Pilot[None]) -> None:
        screen = await form(pilot, "r")
        row(screen, "steps:acid-dip").control.focus()
        await until_seen(pilot, "acid-dip: ▲ Nitrate")

    drive(app_on(book(tmp_path), tmp_path), steps)


@pytest.mark.parametrize("kind", list(fields.TITLES))
def test_every_field_of_an_entry_type_is_asked_or_left_out_on_purpose(tmp_path: Path, kind: str) -> None:
    known = facts(Workshop.open(book(tmp_path)), kind, "electrolyte")
    actions = CONTAINER_ACTIONS if kind == "container" else ("",)
    asked = [f for action in actions for f in fields.fields_of(kind, "electrolyte", known, action=action)]
    keys = {f.key.partition(":")[0] for f in asked}
    spelled = {"parts": "description", "reagents": "reagents"}
    for name in KINDS[kind].__struct_fields__:
        left_out = fields.NOT_ASKED | fields.NOT_ASKED_OF.get(kind, set())
        assert spelled.get(name, name) in keys or name in left_out, name
    one = fields.fields_of(kind, "electrolyte", known, action=actions[0])
    assert len({f.key for f in one}) == len(one) and all(f.label for f in asked)
