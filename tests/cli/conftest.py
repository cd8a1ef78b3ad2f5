"""A small book to ask and to write in, and a way to run verbs, shut off from the tester's own files."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from bathkeeper.cli.program import program
from bathkeeper.workshop import Workshop

Run = Callable[..., Result]
START = datetime.now(UTC).replace(microsecond=0) - timedelta(days=20)


@pytest.fixture(autouse=True)
def shut_off(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A home of its own: no book, no state, no memory of other tests."""
    home = tmp_path_factory.mktemp("home")
    monkeypatch.delenv("BATHKEEPER_BOOK", raising=False)
    for name, folder in {
        "HOME": "", "BATHKEEPER_CACHE": "cache", "XDG_STATE_HOME": "state", "XDG_DATA_HOME": "data", "XDG_CACHE_HOME": "cache2",
    }.items():
        monkeypatch.setenv(name, str(home / folder))
    monkeypatch.setenv("COLUMNS", "80")
    return home


@pytest.fixture(scope="session")
def small_book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A zinc-nickel line laid out twenty days ago, its electrolyte made up, read, worked and dosed. Not to be written in."""
    folder = tmp_path_factory.mktemp("small")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("BATHKEEPER_CACHE", str(folder / "cache"))
        workshop = Workshop.new(folder / "small.logbook.jsonl", "Test Bench", "zinc-nickel-line", START)
        for days, raw in enumerate(ENTRIES, start=1):
            workshop.log({"at": START + timedelta(days=days), **raw})
    return workshop.book.path


ENTRIES: tuple[dict[str, Any], ...] = (
    {"kind": "make_up", "tank": "electrolyte", "volume_l": 40.0, "contents": {"zinc": 32.0, "nickel": 24.0}},
    {"kind": "make_up", "tank": "pickle", "volume_l": 20.0},
    {"kind": "anode", "tank": "electrolyte", "anode": "zinc-1", "action": "hung", "metal": "zinc", "mass_g": 2000.0},
    {"kind": "run", "note": "first load",
     "parts": [{"description": "brackets", "count": 4, "area_dm2": 3.2}],
     "steps": [{"tank": "pickle", "minutes": 2.0}, {"tank": "electrolyte", "minutes": 45.0, "charge": {"current_a": 6.5}}]},
    {"kind": "reading", "tank": "electrolyte",
     "values": [{"of": "zinc", "value": 31.5, "unit": "g/L"}, {"of": "ph", "value": 5.4, "unit": "pH"}]},
    {"kind": "addition", "tank": "electrolyte", "items": [{"reagent": "water", "amount": 1.0, "unit": "L"}]},
    {"kind": "reading", "tank": "electrolyte", "values": [{"of": "nickel", "value": 18.0, "unit": "g/L"}]},
    {"kind": "reading", "tank": "electrolyte", "values": [{"of": "nickel", "value": 18.1, "unit": "g/L"}]},
)


@pytest.fixture
def book(small_book: Path, tmp_path: Path) -> Path:
    """A copy of the small book to write in."""
    return Path(shutil.copyfile(small_book, tmp_path / "shed.logbook.jsonl"))


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch) -> Run:
    """Runs the program in this process; ``book``: the one that is meant."""

    def go(*words: object, book: Path | None = None) -> Result:
        if book is not None:
            monkeypatch.setenv("BATHKEEPER_BOOK", str(book))
        return CliRunner().invoke(program, [str(w) for w in words], prog_name="bathkeeper")

    return go


TANKS = (
    ("electrolyte", "plate", "zinc-nickel-chloride-ammonium", 40.0),
    ("pickle", "pickle", "hydrochloric-pickle", 20.0),
    ("acid-dip", "acid dip", "nitric-dip", 20.0),
    ("degreaser", "degrease", "alkaline-degreaser", 20.0),
)


@pytest.fixture(scope="session")
def yard_book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Four tanks made up twenty days ago; cans of nitric dip, of cleaner and of plating bath. Not to be written in."""
    folder = tmp_path_factory.mktemp("yard")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("BATHKEEPER_CACHE", str(folder / "cache"))
        shop = Workshop.open(folder / "yard.logbook.jsonl", create=True)
        raws: list[dict[str, Any]] = [{"kind": "workshop", "at": START, "name": "Invented yard", "country": "England"}]
        for order, (tank, role, recipe, litres) in enumerate(TANKS, start=1):
            raws.append({"kind": "tank", "at": START, "tank": tank, "role": role, "recipe": recipe, "order": order,
                         "working_volume_l": litres})  # fmt: skip
            raws.append({"kind": "make_up", "at": START + timedelta(hours=1), "tank": tank, "volume_l": litres})
        for tank, can in (("acid-dip", "can-nitric"), ("degreaser", "can-alk"), ("electrolyte", "can-zinc")):
            raws.append({"kind": "removal", "at": START + timedelta(days=1), "tank": tank, "volume_l": 3.0, "to": can})
        shop.log_all(raws)
    return shop.book.path


@pytest.fixture
def yard(yard_book: Path, tmp_path: Path) -> Path:
    """A copy to write in."""
    return Path(shutil.copyfile(yard_book, tmp_path / "yard.logbook.jsonl"))


def lines(book: Path) -> int:
    return len(book.read_bytes().splitlines())


def asked(run: Run, book: Path, *words: object) -> str:
    """What is asked about an entry, in one line; nothing was written."""
    before = lines(book)
    result = run("log", *words, book=book)
    said = " ".join(result.output.split())
    assert result.exit_code != 0 and lines(book) == before, said
    return said


def written(run: Run, book: Path, *words: object) -> str:
    before = lines(book)
    result = run("log", *words, book=book)
    assert result.exit_code == 0, result.output
    assert lines(book) == before + 1
    return " ".join(result.output.split())


def told(run: Run, book: Path, *words: object) -> str:
    """What a waste verb answers, in one line."""
    result = run("waste", *words, book=book)
    assert result.exit_code == 0, result.output
    return " ".join(result.stdout.split())


def hurt(book: Path, number: int = 14) -> None:
    """Changes one digit or letter in a line of a book."""
    lines = book.read_bytes().split(b"\n")
    lines[number - 1] = lines[number - 1].replace(b'"kind"', b'"kinb"')
    book.write_bytes(b"\n".join(lines))
