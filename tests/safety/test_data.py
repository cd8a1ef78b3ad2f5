"""The data files: a source beside every number, errors that name file and field, no promises."""

from __future__ import annotations

import re
import shutil
import tomllib
from importlib.resources import as_file, files

import pytest

from bathkeeper.catalogue.typed import CatalogueError
from bathkeeper.safety.loader import load, read

FILES = ("rules.toml", "threads.toml", "groups.toml", "meetings.toml", "hazards.toml")
RANGES = {
    "from",
    "to",
    "above",
    "below",
    "g",
    "f",
    "e",
}  # the ends of a range and a row's columns, part of the table they stand in


def tables_with_numbers(raw, path=""):
    if isinstance(raw, dict):
        numbers = [k for k, v in raw.items() if isinstance(v, (int, float)) and not isinstance(v, bool)]
        numbers += [k for k, v in raw.items() if isinstance(v, list) and any(isinstance(x, (int, float)) for x in v)]
        if numbers and not set(raw) <= RANGES:
            yield path, raw
        for key, value in raw.items():
            yield from tables_with_numbers(value, f"{path}.{key}")
    elif isinstance(raw, list):
        for number, value in enumerate(raw):
            yield from tables_with_numbers(value, f"{path}[{number}]")


@pytest.mark.parametrize("file", FILES)
def test_every_number_has_a_status_and_every_fact_its_source(file):
    raw = tomllib.loads((files("bathkeeper.safety") / file).read_text(encoding="utf-8"))
    for path, table in tables_with_numbers(raw):
        assert table.get("status") in ("seen", "derived", "memory", "practice"), path
        if table["status"] in ("seen", "derived"):
            assert len(table.get("source", "")) > 5, path


@pytest.mark.parametrize("file", FILES)
def test_no_word_promises_what_nobody_can_keep(file):
    text = (files("bathkeeper.safety") / file).read_text(encoding="utf-8").casefold()
    for word in ("optimal", "guaranteed", "safe to pour", "compliant", "non-hazardous"):
        assert word not in text, word
    assert not re.search(r"\bsafe(ly)?\b", text)


@pytest.fixture
def spoil(tmp_path):
    with as_file(files("bathkeeper.safety")) as shipped:
        shutil.copytree(shipped, tmp_path / "safety", ignore=shutil.ignore_patterns("*.py", "__pycache__"))

    def replaced(file, old, new):
        path = tmp_path / "safety" / file
        text = path.read_text(encoding="utf-8")
        assert old in text, old
        path.write_text(text.replace(old, new, 1), encoding="utf-8")
        return tmp_path / "safety"

    return replaced


def test_the_copy_itself_is_sound(spoil):
    assert read(spoil("rules.toml", "hours = 8", "hours = 8")) == load()


@pytest.mark.parametrize(
    ("file", "old", "new", "said"),
    [
        ("rules.toml", "hours = 8", "huors = 8", ["rules.toml", "ASTM B850", "huors: no such field", "`hours`"]),
        ("rules.toml", "hours = 8", 'hours = "8"', ["rules.toml", "hours: expected a number"]),
        ("rules.toml", "hours = 10", "hours = 7", ["rules.toml", "ASTM B850", "would bake less than"]),
        ("rules.toml", "from = 1101", "from = 1050", ["rules.toml", "overlap"]),
        ("rules.toml", "[limit.stress_relief]", "[limit.stress]", ["rules.toml", "limit.stress_relief: is missing"]),
        ("rules.toml", '[class."4.6"]', '[clas."4.6"]', ["rules.toml, clas: no such table"]),
        ("rules.toml", 'date = "1998, reapproved 2009"', "", ["rules.toml", "date", "is missing"]),
        ("rules.toml", "value = 1000", "value = nan", ["rules.toml", "only finite numbers"]),
        ("threads.toml", "pitch_mm = 0.45", "", ["threads.toml", "M2.5", "pitch_mm", "is missing"]),
        ("threads.toml", "local_um = { g = 5, f = 8 }", "local_um = { g = 5, h = 8 }", ["threads.toml", "M2.5", "local_um.h"]),
        ("threads.toml", "times = 4", "times = ", ["threads.toml", "not readable as TOML"]),
        ("groups.toml", 'groups = ["alkali"]', 'groups = ["alkalo"]', ["groups.toml", "no group `alkalo`", "`alkali`"]),
        (
            "groups.toml",
            "concentrate_from = 0.10",
            "concentrate_from = true",
            ["groups.toml", "concentrate_from: expected a number"],
        ),
        ("meetings.toml", '"hypochlorite"]', '"bleach"]', ["meetings.toml", "no group `bleach`"]),
        (
            "meetings.toml",
            'verdict = "never"',
            'verdict = "newer"',
            ["meetings.toml", "number 1", "verdict: expected one of never"],
        ),
        ("hazards.toml", "[hazard.nickel]", "[hazard.nickle]", ["hazards.toml", "hazard.nickel: is missing"]),
        (
            "hazards.toml",
            "[hazard.cyanide]",
            "[hazard.new]\nwhat='x'\nwhy='x'\nlevel='now'\nstatus='practice'\n[hazard.cyanide]",
            ["hazards.toml", "hazard.new: nothing asks for it"],
        ),
        ("hazards.toml", 'level = "later"', 'level = "whenever"', ["hazards.toml", "level: expected one of now, soon, later"]),
    ],
)
def test_a_slip_names_file_and_field(spoil, file, old, new, said):
    with pytest.raises(CatalogueError) as caught:
        read(spoil(file, old, new))
    for part in said:
        assert part in str(caught.value), str(caught.value)


def test_a_missing_file(spoil):
    folder = spoil("rules.toml", "hours = 8", "hours = 8")
    (folder / "threads.toml").unlink()
    with pytest.raises(CatalogueError, match=r"threads\.toml: this file of the safety data is missing"):
        read(folder)
