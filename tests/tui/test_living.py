"""The book while the app is open: other writers, undo, an empty book, a damaged one, and what nobody foresaw."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from textual.pilot import Pilot
from textual.widgets import Input, TextArea

from bathkeeper.tui.screens.confirm import ConfirmScreen
from bathkeeper.tui.screens.entry import EntryScreen
from bathkeeper.tui.screens.entry_form import EntryForm, FieldRow
from bathkeeper.tui.screens.error import ErrorScreen
from bathkeeper.tui.screens.line import LineScreen
from bathkeeper.tui.screens.naming import NamingScreen
from bathkeeper.tui.screens.tank import TankScreen
from bathkeeper.tui.screens.why import WhyScreen
from bathkeeper.workshop import Workshop
from tests.tui.helpers import LARGE, app_on, book, drive, seen, type_text, until, until_seen

WRITER = """
import sys
from pathlib import Path
from bathkeeper.workshop import Workshop
Workshop.open(Path(sys.argv[1])).log({"kind": "removal", "at": "2026-06-20T11:50:00Z", "tank": "electrolyte", "volume_l": 8.0})
"""


def test_an_entry_of_another_process_appears_by_itself(tmp_path: Path) -> None:
    path = book(tmp_path)

    async def steps(pilot: Pilot[None]) -> None:
        app = pilot.app
        before = app.snapshot.tank("electrolyte").volume_l.value  # type: ignore[attr-defined]
        pilot.app.open_tank("electrolyte")  # type: ignore[attr-defined]
        await until(pilot, lambda: isinstance(app.screen, TankScreen))
        subprocess.run([sys.executable, "-c", WRITER, str(path)], check=True, timeout=60)
        await until(pilot, lambda: app.snapshot.tank("electrolyte").volume_l.value < before - 7)  # type: ignore[attr-defined]
        await pilot.press("3")
        await until_seen(pilot, "taken out", "8 L")
        await pilot.press("escape")
        await until_seen(pilot, "!! heater", "level is down to")  # a heater that comes out of the liquid goes before the water

    drive(app_on(path, tmp_path), steps)


def test_undo_names_the_entry_and_withdraws_it(tmp_path: Path) -> None:
    path = book(tmp_path)

    async def steps(pilot: Pilot[None]) -> None:
        await pilot.press("u")
        await until(pilot, lambda: isinstance(pilot.app.screen, ConfirmScreen))
        assert "addition electrolyte: water 1 L" in seen(pilot)
        await pilot.press("n")
        assert len(Workshop.open(path).entries("electrolyte")) == 6
        await pilot.press("f8")
        await until(pilot, lambda: isinstance(pilot.app.screen, ConfirmScreen))
        await pilot.press("enter")
        await until_seen(pilot, "Taken back")

    drive(app_on(path, tmp_path), steps)
    kinds = [e.kind for e in Workshop.open(path).entries("electrolyte")]
    assert "addition" not in kinds and len(kinds) == 5
    assert path.read_text().count('"kind":"addition"') == 1  # withdrawn, not erased


def test_any_entry_can_be_withdrawn_from_its_tank(tmp_path: Path) -> None:
    path = book(tmp_path)

    async def steps(pilot: Pilot[None]) -> None:
        pilot.app.open_tank("electrolyte")  # type: ignore[attr-defined]
        await until(pilot, lambda: isinstance(pilot.app.screen, TankScreen) and bool(pilot.app.screen._entries.rows))
        await pilot.press("3", "down", "enter")
        await until(pilot, lambda: isinstance(pilot.app.screen, EntryScreen))
        assert "reading electrolyte: zinc 31.5 g/L" in seen(pilot) and "line 17" in pilot.app.screen.query_one(TextArea).text
        await pilot.press("f8")
        await until(pilot, lambda: isinstance(pilot.app.screen, ConfirmScreen))
        await pilot.press("y")
        await until_seen(pilot, "Taken back")

    drive(app_on(path, tmp_path), steps)
    assert "reading" not in [e.kind for e in Workshop.open(path).entries("electrolyte")]


def test_a_reading_in_doubt_can_be_confirmed(tmp_path: Path) -> None:
    path = book(tmp_path)
    values = [{"of": "zinc", "value": 60.0, "unit": "g/L"}]
    Workshop.open(path).log({"kind": "reading", "at": "2026-06-20T11:00:00Z", "tank": "electrolyte", "values": values})

    async def steps(pilot: Pilot[None]) -> None:
        app = pilot.app
        ids = [f.id for f in app.snapshot.due]  # type: ignore[attr-defined]
        place = ids.index("electrolyte.doubt.zinc")
        await pilot.press("d", "home", *["down"] * place)
        assert app.screen.tank == "electrolyte"  # type: ignore[attr-defined]
        await pilot.press("enter")
        await until(pilot, lambda: isinstance(app.screen, WhyScreen))
        assert "It is right (y)" in seen(pilot)
        await pilot.press("y")
        await until_seen(pilot, "Reading confirmed")
        await until(pilot, lambda: "electrolyte.doubt.zinc" not in [f.id for f in app.snapshot.due])  # type: ignore[attr-defined]

    drive(app_on(path, tmp_path), steps)
    assert Workshop.open(path).tank("electrolyte").species["zinc"].value > 50


def test_an_empty_place_says_what_to_press_and_a_line_is_set_up(tmp_path: Path) -> None:
    path = tmp_path / "new" / "fresh.logbook.jsonl"
    path.parent.mkdir()

    async def steps(pilot: Pilot[None]) -> None:
        text = seen(pilot)
        assert "There is no line in this book yet" in text and "Set up a line (l)" in text and "Open the sample (s)" in text
        await pilot.press("r")
        assert isinstance(pilot.app.screen, LineScreen)  # nothing to log on yet
        await pilot.press("l")
        await until(pilot, lambda: isinstance(pilot.app.screen, NamingScreen))
        await pilot.press("enter")
        await until_seen(pilot, "A workshop needs a name")
        assert not path.exists()
        await type_text(pilot, "Back shed")
        await pilot.press("enter")
        await until(pilot, lambda: bool(pilot.app.snapshot.tanks))  # type: ignore[attr-defined]
        await until_seen(pilot, "Back shed", "electrolyte", "dry", "make up")
        await pilot.press("f")
        await until(pilot, lambda: isinstance(pilot.app.screen, EntryForm) and bool(pilot.app.screen.query(FieldRow)))

    drive(app_on(path, tmp_path), steps, filled=False)
    assert len(Workshop.open(path).entries()) == 12


def test_the_sample_is_a_copy(tmp_path: Path) -> None:
    path = tmp_path / "none.logbook.jsonl"

    async def steps(pilot: Pilot[None]) -> None:
        await pilot.press("s")
        await until(pilot, lambda: len(pilot.app.snapshot.tanks) == 11)  # type: ignore[attr-defined]
        assert "sample_data" not in str(pilot.app.desk.path)  # type: ignore[attr-defined]

    drive(app_on(path, tmp_path), steps, filled=False)
    assert not path.exists()


def damaged(path: Path) -> Path:
    lines = path.read_bytes().splitlines(keepends=True)
    lines[14] = lines[14].replace(b"32", b"33", 1) if b"32" in lines[14] else lines[14].replace(b"tank", b"tonk", 1)
    path.write_bytes(b"".join(lines))
    return path


def test_a_damaged_book_is_shown_named_and_left_alone(tmp_path: Path) -> None:
    path = damaged(book(tmp_path))
    before = path.read_bytes()

    async def steps(pilot: Pilot[None]) -> None:
        await until_seen(pilot, "This book is damaged", "line 15")
        await pilot.press("m")
        await until(pilot, lambda: isinstance(pilot.app.screen, EntryForm) and bool(pilot.app.screen.query(FieldRow)))
        screen = pilot.app.screen
        next(r for r in screen.query(FieldRow) if r.field.key == "values:volume").control.value = "18"
        await until_seen(pilot, "Nothing can be logged")
        await pilot.press("ctrl+s")
        await until(pilot, lambda: isinstance(pilot.app.screen, ErrorScreen))
        assert "line 15" in pilot.app.screen.query_one(TextArea).text
        await pilot.press("escape")
        assert isinstance(pilot.app.screen, EntryForm)
        assert next(r for r in screen.query(FieldRow) if r.field.key == "values:volume").text == "18"

    drive(app_on(path, tmp_path), steps, LARGE)
    assert path.read_bytes() == before


def test_a_file_that_is_no_book_is_told(tmp_path: Path) -> None:
    path = tmp_path / "photo.jsonl"
    path.write_bytes(b"\x89PNG\r\n\x1a\n" * 50)

    async def steps(pilot: Pilot[None]) -> None:
        await until(pilot, lambda: isinstance(pilot.app.screen, ErrorScreen))
        assert str(path) in pilot.app.screen.query_one(TextArea).text.replace("\n", "")

    drive(app_on(path, tmp_path), steps, filled=False)
    assert path.read_bytes() == b"\x89PNG\r\n\x1a\n" * 50


def test_a_fault_inside_a_job_is_a_sentence_and_the_app_goes_on(tmp_path: Path) -> None:
    app = app_on(book(tmp_path), tmp_path)

    async def steps(pilot: Pilot[None]) -> None:
        secret = "the keeper's own words"
        app.ask(lambda w: 1 / len(secret[:0]), lambda x: None)
        await until(pilot, lambda: isinstance(app.screen, ErrorScreen))
        assert "particulars are in" in app.screen.query_one(TextArea).text
        await pilot.press("escape")
        assert isinstance(app.screen, LineScreen)

    drive(app, steps)
    log = next(tmp_path.rglob("errors.log")).read_text()
    assert "ZeroDivisionError" in log and "the keeper's own words" not in log.replace('secret = "the keeper', "")


def test_a_fault_in_a_handler_ends_with_a_sentence_without_values(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    app = app_on(book(tmp_path), tmp_path)

    async def steps(pilot: Pilot[None]) -> None:
        def bad() -> None:
            secret_note = "hunter" + "2"
            raise ValueError(len(secret_note))

        app.call_later(bad)
        await pilot.pause(0.2)

    with pytest.raises(ValueError, match="7"):
        drive(app, steps)
    shown = "".join(capsys.readouterr())
    assert "bathkeeper had to stop" in shown and "small.logbook.jsonl" in shown.replace("\n", "")
    assert "hunter2" not in shown and "hunter2" not in next(tmp_path.rglob("errors.log")).read_text()


def test_typing_letters_into_a_field_opens_no_forms(tmp_path: Path) -> None:
    async def steps(pilot: Pilot[None]) -> None:
        await pilot.press("c")
        await until(pilot, lambda: isinstance(pilot.app.screen, EntryForm) and bool(pilot.app.screen.query(FieldRow)))
        await type_text(pilot, "quark mafc?".replace("?", ""))
        depth = len(pilot.app.screen_stack)
        assert isinstance(pilot.app.focused, Input) and pilot.app.focused.value == "quark mafc" and depth == 3

    drive(app_on(book(tmp_path), tmp_path), steps)
