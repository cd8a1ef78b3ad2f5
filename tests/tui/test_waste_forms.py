"""The form of a container by its fields alone, what it begins with, and the list of containers within its width."""

from __future__ import annotations

from datetime import timedelta
from functools import lru_cache
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rich.cells import cell_len
from textual.pilot import Pilot

from bathkeeper.entries import CONTAINER_ACTIONS
from bathkeeper.entries.waste import BELONGS, Papers
from bathkeeper.ledger import Held, Ledger
from bathkeeper.phrases import spoken
from bathkeeper.tui import fields
from bathkeeper.tui.checking import check
from bathkeeper.tui.gathering import facts
from bathkeeper.tui.waste_begin import begin_of
from bathkeeper.tui.waste_words import container_lines, head_lines, look_at, name_width, rows_of
from bathkeeper.units.numerals import Preferences
from bathkeeper.workshop import Workshop
from tests.tui.helpers import NOW, app_on, drive, seen, until_seen
from tests.tui.test_hostile import NAMES
from tests.tui.test_waste_screen import form, waste, yard

DAY = timedelta(days=1)


def handed_before(folder: Path) -> Workshop:
    """The yard, with an earlier drum handed over and its receipt in."""
    workshop = Workshop.open(yard(folder))
    workshop.log_all([
        {"kind": "container", "at": NOW - 7 * DAY, "container": "can", "action": "put in", "what": "other", "volume_l": 5.0},
        {"kind": "container", "at": NOW - 6 * DAY, "container": "can", "action": "handed over", "all": True, "to": "quay desk",
         "mass_kg": 5.2, "reference": "TB-09", "codes": ["x"], "papers": {"carrier": "own car", "weighed": True}},
        {"kind": "container", "at": NOW - 5 * DAY, "container": "can", "action": "handed over", "reference": "TB-09",
         "receipt": "R-1"},
        {"kind": "container", "at": NOW - 4 * DAY, "container": "bin", "action": "checked", "lid": True, "tray": False},
        {"kind": "container", "at": NOW - 3 * DAY, "container": "drum-1", "action": "checked", "lid": False},
    ])  # fmt: skip
    return workshop


@pytest.mark.parametrize("action", CONTAINER_ACTIONS)
def test_only_what_belongs_to_an_action_is_asked(tmp_path: Path, action: str) -> None:
    asked = fields.fields_of("container", None, facts(Workshop.open(yard(tmp_path)), "container", None), action=action)
    keys = {f.key.partition(":")[0] for f in asked}
    assert [f.key for f in asked][:2] == ["action", "container"]
    assert {n for n in keys if n in BELONGS} == {n for n, actions in BELONGS.items() if action in actions}
    if action == "handed over":
        assert {f.key for f in asked if f.key.startswith("papers:")} == {f"papers:{n}" for n in Papers.__struct_fields__}


@pytest.mark.parametrize("name", NAMES)
def test_any_name_comes_back_as_it_was(tmp_path: Path, name: str) -> None:
    known = facts(Workshop.open(yard(tmp_path)), "container", None)
    asked = fields.fields_of("container", None, known, action="moved")
    texts = {"container": name, "action": "moved", "all": "yes", "to": f"to {name}"[:120].strip()}
    raw = check("container", asked, texts, known.vocabulary, NOW).raw
    assert raw is not None and (raw["container"], raw["to"]) == (name, texts["to"])


def test_a_hand_over_begins_with_nothing_that_nobody_said(tmp_path: Path) -> None:
    workshop = handed_before(tmp_path)
    begin = begin_of("handed over", Ledger(workshop).container("drum-1", NOW))
    assert begin == {"action": "handed over", "container": "drum-1", "codes": "11 01 05*"}
    asked = fields.fields_of("container", None, facts(workshop, "container", None, container="drum-1"), action="handed over")
    of = {f.key: f for f in asked}
    assert "TB-09" in of["reference"].placeholder and of["reference"].default == ""
    assert "quay desk" in of["to"].suggest and of["to"].default == "" and of["all"].default == ""


def test_logging_a_hand_over_at_once_logs_nothing(tmp_path: Path) -> None:
    workshop = handed_before(tmp_path)
    before = len(workshop.entries())

    async def steps(pilot: Pilot[None]) -> None:
        await waste(pilot)
        await form(pilot, "h")
        await pilot.press("ctrl+s")
        await until_seen(pilot, "Say how much was handed over: all of it, litres or weight")
        assert "receipt=" not in seen(pilot) and "write for example" not in seen(pilot)

    drive(app_on(workshop.book.path, tmp_path), steps)
    assert len(Workshop.open(workshop.book.path).entries()) == before


def test_clearing_a_receipt_keeps_what_it_is_for(tmp_path: Path) -> None:
    workshop = handed_before(tmp_path)
    workshop.log({"kind": "container", "at": NOW - 2 * DAY, "container": "drum-1", "action": "handed over", "all": True,
                  "to": "quay desk"})  # fmt: skip
    hand_over = workshop.entries()[0].id

    async def steps(pilot: Pilot[None]) -> None:
        await waste(pilot)
        for again in (False, True):
            screen = await form(pilot, "r")
            texts = {r.field.key: r for r in screen._rows()}
            assert texts["container"].text == "drum-1" and texts["of"].text == hand_over and not texts["receipt"].text
            if not again:
                texts["receipt"].text = "RC-7"
                await pilot.press("f7")
                await pilot.pause(0.4)
                assert texts["container"].text == "drum-1" and texts["of"].text == hand_over and not texts["receipt"].text
                await pilot.press("ctrl+s")
                await until_seen(pilot, "Write what the receipt is called")
                await pilot.press("escape")
                await pilot.pause()
        texts["receipt"].text = "RC-7"
        await pilot.press("ctrl+s")
        await until_seen(pilot, "Logged")

    drive(app_on(workshop.book.path, tmp_path), steps)
    assert Ledger(Workshop.open(workshop.book.path)).hand_overs(NOW + DAY)[-1].receipt == "RC-7"


def test_taking_back_a_fill_tells_which_paper_rests_on_it(tmp_path: Path) -> None:
    workshop = handed_before(tmp_path)
    fill = next(e for e in workshop.entries() if e.kind == "container" and getattr(e, "container", "") == "can"
                and getattr(e, "action", "") == "put in")  # fmt: skip
    app = app_on(workshop.book.path, tmp_path)
    found = app._undoing(workshop, fill.id, "put in", "Withdraw this entry?")
    assert found.question == "Withdraw this entry?" and "TB-09" in found.doubts[0]


def test_liquid_of_a_tank_is_refused_in_words_of_the_form(tmp_path: Path) -> None:
    known = facts(Workshop.open(yard(tmp_path)), "container", None)
    asked = fields.fields_of("container", None, known, action="put in")
    assert [f.label for f in asked if f.key.startswith("items:")] == ["chemicals by name"]
    texts = {"container": "drum-1", "action": "put in", "what": "bath", "tank": known.names["tank"][0], "volume_l": "2"}
    checked = check("container", asked, texts, known.vocabulary, NOW)
    said = checked.trouble + " ".join(checked.refused.values())
    assert "taken out of that tank" in said and "=" not in said


def test_a_page_tells_of_a_refused_load_and_of_the_way_that_waste_came(tmp_path: Path) -> None:
    workshop = handed_before(tmp_path)
    workshop.log_all([
        {"kind": "container", "at": NOW - 2 * DAY, "container": "drum-1", "action": "handed over", "volume_l": 1.0,
         "to": "quay desk", "reference": "TB-10", "papers": {"refused": "wrong label"}},
        {"kind": "container", "at": NOW - DAY, "container": "drum-1", "action": "moved", "volume_l": 1.0, "to": "drum-2"},
    ])  # fmt: skip
    pages = ["\n".join([r.text for r in rows] + [text for r in rows for text, _ in r.more])
             for rows in (rows_of(look_at(Ledger(workshop), name, NOW)) for name in ("drum-1", "drum-2"))]  # fmt: skip
    assert "refused" in pages[0] and "wrong label" in pages[0] and "no receipt yet" not in pages[0]
    assert "by way of drum-1" in pages[1] and "of pickle" in pages[1]


def test_clearing_takes_choices_back_too(tmp_path: Path) -> None:
    async def steps(pilot: Pilot[None]) -> None:
        await waste(pilot)
        screen = await form(pilot, "c")
        rows = {r.field.key: r for r in screen._rows()}
        rows["lid"].text = "no"
        await pilot.press("f7")
        assert rows["lid"].text == "" and rows["action"].text == "checked" and rows["container"].text == "drum-1"

    drive(app_on(yard(tmp_path), tmp_path), steps)


def test_why_and_how_it_looks_are_asked_and_how_it_looked_is_begun_with(tmp_path: Path) -> None:
    workshop = handed_before(tmp_path)
    workshop.log_all([
        {"kind": "container", "at": NOW - 2 * DAY, "container": "drum-1", "action": "tested", "colour": "green",
         "physical_form": "liquid", "values": [{"of": "ph", "value": 1.0, "unit": "pH"}]},
    ])  # fmt: skip
    begin = begin_of("handed over", Ledger(workshop).container("drum-1", NOW))
    assert (begin["physical_form"], begin["colour"], "why" in begin) == ("liquid", "green", False)
    known = facts(workshop, "container", None)
    asked = fields.fields_of("container", None, known, action="put in")
    texts = {"container": "drum-1", "action": "put in", "what": "sludge", "mass_kg": "2 kg"}
    texts |= {"why": "it settled", "colour": "grey"}
    raw = check("container", asked, texts, known.vocabulary, NOW).raw
    assert raw is not None and (raw["why"], raw["colour"]) == ("it settled", "grey")
    removal = facts(workshop, "removal", "electrolyte")
    asked = fields.fields_of("removal", "electrolyte", removal)
    assert next(f for f in asked if f.key == "why").label == "why it became waste"
    texts = {"tank": "electrolyte", "volume_l": "1 L", "why": "too much iron"}
    raw = check("removal", asked, texts, removal.vocabulary, NOW).raw
    assert raw is not None and raw["why"] == "too much iron"


def test_as_last_time_takes_no_amount_code_reference_or_receipt_over(tmp_path: Path) -> None:
    known = facts(handed_before(tmp_path), "container", None, container="drum-1")
    last = {f.key: f.last for f in fields.fields_of("container", None, known, action="handed over") if f.last}
    assert last == {"action": "handed over", "to": "quay desk", "papers:carrier": "own car"}
    last = {f.key: f.last for f in fields.fields_of("container", None, known, action="checked") if f.last}
    assert last == {"action": "checked", "lid": "no"}  # the drum's own last look, not the bin's


def test_what_is_wanting_is_said_of_the_entry_and_not_of_the_name(tmp_path: Path) -> None:
    workshop = Workshop.open(yard(tmp_path))
    known = facts(workshop, "container", None)
    for action in ("checked", "tested", "treated", "put in", "handed over", "moved"):
        asked = fields.fields_of("container", None, known, action=action)
        checked = check("container", asked, {"container": "drum-1", "action": action}, known.vocabulary, NOW)
        assert checked.raw is None and checked.trouble and not checked.refused, action
        assert "=" not in checked.trouble and "for example" not in checked.trouble
    asked = fields.fields_of("container", None, known, action="handed over")
    texts = {"container": "drum-1", "action": "handed over", "all": "yes", "to": "quay desk", "codes": "11 01 05*"}
    assert check("container", asked, texts, known.vocabulary, NOW).echo["to"] == "to quay desk"


def test_the_action_is_changed_by_keyboard_and_what_was_typed_stays(tmp_path: Path) -> None:
    async def steps(pilot: Pilot[None]) -> None:
        await waste(pilot)
        screen = await form(pilot, "i")
        mass = next(r for r in screen._rows() if r.field.key == "mass_kg")
        mass.control.value = "2.5"  # type: ignore[union-attr]
        action = next(r for r in screen._rows() if r.field.key == "action")
        action.control.focus()
        await pilot.press("right", "right", "right", "right", "right", "right")  # through all that is between, at once
        await until_seen(pilot, "◂ handed over ▸", "to whom", "paper's reference")
        texts = {r.field.key: r.text for r in screen._rows()}
        assert texts["mass_kg"] == "2.5" and "what" not in texts and "to" in texts
        assert action.control.has_focus
        await pilot.press("left", "left", "left")
        await until_seen(pilot, "◂ labelled ▸", "codes on the label")
        await pilot.press("right", "right", "right")
        await until_seen(pilot, "◂ handed over ▸", "2.5")

    drive(app_on(yard(tmp_path), tmp_path), steps)


def test_nothing_in_the_list_is_cut_off_at_eighty_columns(tmp_path: Path) -> None:
    async def steps(pilot: Pilot[None]) -> None:
        await waste(pilot)
        await until_seen(pilot, "bath of pickle", "unaccounted for")
        assert "…" not in seen(pilot)

    drive(app_on(yard(tmp_path), tmp_path), steps)


@settings(derandomize=True, deadline=None, max_examples=25)
@given(width=st.integers(74, 200))
def test_a_container_is_two_lines_within_the_width(width: int) -> None:
    name_w = name_width([h.container for h in _held()], width)
    for held in _held():
        lines = container_lines(held, Preferences(), width, name_w).plain.split("\n")
        assert len(lines) == 2 and all(cell_len(line) <= width for line in lines), lines


@lru_cache(maxsize=1)
def _held() -> list[Held]:
    """Containers of any name: made once, since every width looks at the same."""
    found: list[Held] = []
    with TemporaryDirectory() as folder:
        for number, name in enumerate(NAMES):
            place = Path(folder) / str(number)
            place.mkdir()
            found += Ledger(Workshop.open(yard(place, name))).containers(NOW)
    return found


def test_a_page_tells_every_source_and_marks_what_is_from_memory(tmp_path: Path) -> None:
    workshop = handed_before(tmp_path)
    look = look_at(Ledger(workshop), "drum-1", NOW)
    rows = rows_of(look)
    said = "\n".join([r.text for r in rows] + [text for r in rows for text, _ in r.more])
    assert "11 01 05*" in said and "(from memory: check)" in said and "free acid" in said and "HP 4" in said
    assert rows[-1].text == look.ask_first and "England" in said
    for row in rows:
        if row.why is not None:
            assert row.why[1].sources or row.why[1].entries, row.text


def test_the_head_of_a_page_says_in_full_that_something_unknown_is_in_it(tmp_path: Path) -> None:
    workshop = Workshop.open(yard(tmp_path))
    said = [text for text, _ in head_lines(look_at(Ledger(workshop), "bin", NOW), 78)]
    assert "? something unknown went in as well: this is the least that is there" in said
    assert not any("…" in line for line in said)


def test_units_of_kilograms_are_told_like_grams() -> None:
    assert spoken.unit_of("mass_kg") == "kg" and spoken.unit_of("mass_g") == "g"
