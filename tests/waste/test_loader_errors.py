"""A data file that cannot be used is named, with the field and what would be right."""

from __future__ import annotations

import shutil
from importlib.resources import as_file, files

import pytest

from bathkeeper.catalogue.typed import CatalogueError
from bathkeeper.waste.loader import read


@pytest.fixture
def folder(tmp_path):
    with as_file(files("bathkeeper.waste")) as here:
        shutil.copytree(here, tmp_path / "w", ignore=shutil.ignore_patterns("*.py", "__pycache__"))
    return tmp_path / "w"


def test_the_copy_reads(folder):
    assert len(read(folder).rules) == 8


@pytest.mark.parametrize(
    ("file", "old", "new", "told"),
    [
        ("codes.toml", 'entry = "AH"', 'entry = "AX"', ("codes.toml, code `11 01 05*`, entry", "one of AH, MH")),
        ("codes.toml", 'pair = "11 01 10"', 'pair = "11 01 77"', ("codes.toml", "11 01 09*", "pair", "no code `11 01 77`")),
        ("codes.toml", 'code = "11 01 05*"', 'code = "11 01 05"', ("11 01 05", "asterisk belongs to AH and MH")),
        ("codes.toml", 'code = "11 01 06*"', 'code = "11 01 05*"', ("codes.toml, code `11 01 05*`", "twice")),
        ("mapping.toml", 'code = "11 01 05*"', 'code = "11 05 03*"', ("mapping.toml", "never to be offered", "galvanising")),
        ("mapping.toml", 'roles = ["pickle"]', 'roles = ["pickel"]', ("mapping.toml, mapped `11 01 05*`", "roles", "pickle")),
        ("mapping.toml", 'why = "spent degreaser"', "", ("mapping.toml, mapped `11 01 13*`, why", "is missing")),
        ("substances.toml", '"H314 1B"', '"H314"', ("substances.toml, substance `zinc chloride`", "with the category")),
        ("substances.toml", 'edition = "December 2021"', "", ("`nickel sulfate`", "edition")),
        ("triggers.toml", "percent = 1.0", 'percent = "one"', ("triggers.toml, trigger `HP 4 corrosive`, percent", "a number")),
        ("triggers.toml", "percent = 1.0", "percent = inf", ("HP 4 corrosive", "percent", "finite")),
        ("triggers.toml", 'hp = "HP 4"', 'hp = "HP 99"', ("triggers.toml", "no title of `HP 99`")),
        ("rules/us-federal.toml", 'name = "month-small"', 'name = "months-small"', ("thresholds.month-small", "is missing")),
        ("rules/us-federal.toml", 'trips = "above"', 'trips = "over"', ("rules/us-federal.toml", "trips", "at or above")),
        ("rules/england.toml", "days = 365", "days = -365", ("rules/england.toml", "warn_days between 0 and days")),
        ("rules/england.toml", 'status = "seen"', 'status = "heard"', ("rules/england.toml", "status", "one of seen")),
        ("rules/england.toml", "keep_years = 2", "keep_years = 0", ("rules/england.toml", "keep_years lies above 0")),
        ("rules/wales.toml", 'extends = "england"', 'extends = "englnd"', ("wales.toml, extends", "Did you mean `england`")),
        ("rules/england.toml", 'system = "list of waste"', 'system = "list of waste"\nextends = "wales"', ("circle",)),
        ("rules/wales.toml", '"Essex"', '"Sussex"', ("rules/wales.toml, without", "no line `Sussex`")),
        ("rules/wales.toml", 'name = "wales"', 'name = "welsh"', ("rules/wales.toml, name", "file's own name")),
        ("rules/wales.toml", '"cymru"', '"scotland"', ("places", "`scotland` is a place of `scotland` already")),
        ("rules/wales.toml", 'within = "uk"', 'within = "uq"', ("rules/wales.toml, within", "uq")),
        ("rules/other.toml", "[[routes]]", "[[rutes]]", ("other.toml, rutes", "no such table")),
        ("rules/eu-germany.toml", "max_mg_l = 2.0\n", "max_mg_l = 2.0\nlow = 3.0\n", ("eu-germany.toml", "either max_mg_l")),
        ("rules/eu.toml", "title =", "title", ("eu.toml", "not readable as TOML")),
    ],
)
def test_a_mistake_is_named(folder, file, old, new, told):
    path = folder / file
    text = path.read_text("utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), "utf-8")
    with pytest.raises(CatalogueError) as caught:
        read(folder)
    for words in told:
        assert words in str(caught.value), str(caught.value)


@pytest.mark.parametrize(
    "gone", ["codes.toml", "mapping.toml", "substances.toml", "triggers.toml", "rules/other.toml", "rules"]
)
def test_a_missing_file_is_named(folder, gone):
    path = folder / gone
    shutil.rmtree(path) if path.is_dir() else path.unlink()
    with pytest.raises(CatalogueError, match="missing"):
        read(folder)


def test_a_file_that_is_no_text_is_named(folder):
    (folder / "codes.toml").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(CatalogueError, match=r"codes\.toml: not readable"):
        read(folder)
