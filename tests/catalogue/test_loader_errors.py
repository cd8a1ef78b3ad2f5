"""A slip in a file of the catalogue: the error names the file and the field, and what would be right."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from importlib.resources import as_file, files
from pathlib import Path

import pytest

from bathkeeper.catalogue.loader import CatalogueError, read

Spoil = Callable[[str, str, str], Path]
ZINC_NICKEL = "recipes/zinc_nickel_chloride_potassium.toml"
PICKLE = "recipes/bisulfate_pickle.toml"
DEGREASER = "recipes/alkaline_degreaser.toml"


@pytest.fixture
def spoil(tmp_path: Path) -> Spoil:
    """A copy of the catalogue with one text in one file replaced (its first occurrence)."""
    with as_file(files("bathkeeper.catalogue")) as shipped:
        shutil.copytree(shipped, tmp_path / "catalogue", ignore=shutil.ignore_patterns("*.py", "__pycache__"))

    def replaced(file: str, old: str, new: str) -> Path:
        path = tmp_path / "catalogue" / file
        text = path.read_text(encoding="utf-8")
        assert old in text, f"{file} no longer holds {old!r}"
        path.write_text(text.replace(old, new, 1), encoding="utf-8")
        return tmp_path / "catalogue"

    return replaced


def test_the_copy_itself_is_sound(spoil: Spoil) -> None:
    assert read(spoil("metals.toml", "electrons = 2", "electrons = 2")).recipes


@pytest.mark.parametrize(
    ("file", "old", "new", "said"),
    [
        (ZINC_NICKEL, "low = 25", "lwo = 25", ["species.zinc.lwo: no such field", "`low`"]),
        (ZINC_NICKEL, "[species.zinc]", "[speceis.zinc]", ["speceis: no such field", "`species`"]),
        (ZINC_NICKEL, 'role = "plate"', 'role = "plating"', ["role: expected one of degrease,", "plate", "got `plating`"]),
        (ZINC_NICKEL, 'role = "plate"', "", ["role", "is missing"]),
        (ZINC_NICKEL, "low = 25\ntarget = 32", "low = 45\ntarget = 32", ["species.zinc: a window must rise"]),
        (ZINC_NICKEL, "low = 25", 'low = "25"', ["species.zinc.low: expected a number, got `25`"]),
        (ZINC_NICKEL, "low = 25", "low = nan", ["low: only finite numbers"]),
        (
            ZINC_NICKEL,
            'status = "memory"',
            'status = "rumour"',
            ["species.zinc.status: expected one of seen, derived, memory, practice"],
        ),
        (
            ZINC_NICKEL,
            'status = "memory"\nsource = "typical workshop window; no readable published make-up"',
            "",
            ["species.zinc.status: is missing"],
        ),
        (
            ZINC_NICKEL,
            'status = "memory"\nsource = "typical workshop window; no readable published make-up"',
            'status = "seen"',
            ["species.zinc: status `seen` needs a `source`"],
        ),
        (
            ZINC_NICKEL,
            'parts = ["nickel"]',
            'parts = ["nikel"]',
            ["ratios.nickel_of_metal.parts", "no species `nikel`", "`nickel`"],
        ),
        (
            ZINC_NICKEL,
            'rate = "idle_zinc"',
            'rate = "idle_zink"',
            ["wear.`idle zinc to acid`.rate", "no parameter `idle_zink`", "`idle_zinc`"],
        ),
        (ZINC_NICKEL, 'to = "zinc"', 'to = "zink"', ["wear.`idle zinc to acid`.effects.number 1.to", "`zink`", "`zinc`"]),
        (ZINC_NICKEL, 'to = "anode:zinc"', 'to = "anode:zink"', ["no metal `zink`", "`zinc`"]),
        (ZINC_NICKEL, 'anode_metal = "zinc"', "", ["wear.`idle zinc to acid`.anode_metal: is missing"]),
        (
            ZINC_NICKEL,
            'exposure = "anode_dm2_day"',
            'exposure = "fortnight"',
            ["wear.`idle zinc to acid`.exposure", "expected one of ah,"],
        ),
        (
            ZINC_NICKEL,
            'parameter = "idle_cemented"',
            'parameter = "cemented"',
            ["effects.number 4.parameter", "no parameter `cemented`"],
        ),
        (
            ZINC_NICKEL,
            "[parameters.cathode_efficiency]",
            "[parameters.cathode_eficiency]",
            ["cathode_efficiency: is missing; the electrode"],
        ),
        (ZINC_NICKEL, "[parameters.brightener_use]", "[parameters.carrier_use]", ["no parameter `brightener_use`"]),
        (ZINC_NICKEL, "[parameters.ph_slope]", "[parameters.ph_slop]", ["parameters.ph_slop: nothing uses it"]),
        (
            ZINC_NICKEL,
            'anodes = ["zinc", "nickel"]',
            'anodes = ["zinc", "unobtainium"]',
            ["electrode.anodes: there is no metal `unobtainium`"],
        ),
        (
            ZINC_NICKEL,
            'anodes = ["zinc", "nickel"]',
            'anodes = ["zinc", "graphite"]',
            ["electrode.anodes: graphite does not dissolve"],
        ),
        (
            ZINC_NICKEL,
            'deposit = ["zinc", "nickel"]',
            'deposit = ["zinc", "cobalt"]',
            ["electrode.deposit", "no species `cobalt`"],
        ),
        (ZINC_NICKEL, "factor = 1.02", "factor = 0.5", ["parameters.anode_efficiency_zinc: a log prior needs"]),
        (ZINC_NICKEL, "days = 30", "days = 0", []),  # charge_ah still stands
        (ZINC_NICKEL, "[readings.ph]\ndays = 10", "[readings.ph]\ndays = 0", ["readings.ph: give at least one of days"]),
        (
            PICKLE,
            'slowed_by = "free acid"',
            'slowed_by = "free_acids"',
            ["wear.`iron dissolved`.slowed_by", "no species `free_acids`"],
        ),
        (PICKLE, "low = 50\ntarget = 100", "low = 50", ["slowed_by: species.free acid needs a `target`"]),
        (PICKLE, 'formula = "NaHSO4"', "", ["species.free acid: an acid is counted as a compound"]),
        (
            PICKLE,
            'name = "bisulfate-pickle"',
            'name = "alkaline-degreaser"',
            ["name: `alkaline-degreaser` is taken by recipes/alkaline_degreaser"],
        ),
        (
            PICKLE,
            '[[wear.effects]]\nto = "solution"',
            '[[wear.effects]]\nto = "water"',
            ["species.cadmium: nothing changes it"],
        ),
        (
            "reagents.toml",
            "purity = 0.372",
            "purity = 37.2",
            ["reagent `hydrochloric acid 37%`, purity: 37.2 is not a mass fraction"],
        ),
        ("reagents.toml", "density_g_ml = 1.18\n", "", ["reagent `hydrochloric acid 37%`, density_g_ml: is missing"]),
        ("reagents.toml", 'form = "solid"', 'form = "powder"', ["reagent `zinc chloride`, form: expected one of solid,"]),
        ("reagents.toml", 'aliases = ["lye", ', 'aliases = ["dry acid", ', ["aliases: `dry acid` already means", "sodium"]),
        ("reagents.toml", "[reagent.brightener]", "[brightener]", ["brightener: no such table"]),
        ("methods.toml", '"ph" = "pH strip"', '"ph" = "pH stripe"', ["default.ph: no method `pH stripe`", "`pH strip`"]),
        ("methods.toml", '"anything else" =', '"whatever" =', ["default.anything else: is missing"]),
        ("methods.toml", "absolute = 0.05\nstatus", "absolute = -0.05\nstatus", ["absolute: a half-width cannot be below 0"]),
        (
            "spreads.toml",
            "relative = 0.05",
            "relativ = 0.05",
            ["spread `charge constant`, relativ: no such field", "`relative`"],
        ),
        ("metals.toml", "electrons = 2", "electrons = 2.5", ["metal `zinc`, electrons: expected a whole number, got `2.5`"]),
        (
            "templates.toml",
            'recipe = "bisulfate-pickle"',
            'recipe = "bisulphate-pickle"',
            ["`pickle`.recipe: there is no recipe", "`bisulfate-pickle`"],
        ),
        (
            "templates.toml",
            'recipe = "bisulfate-pickle"',
            'recipe = "nitric-dip"',
            ["`pickle`.role: is pickle, but its recipe nitric-dip is for acid dip"],
        ),
        ("templates.toml", 'tank = "rinse-2"', 'tank = "rinse-1"', ["`rinse-1`: this tank stands twice"]),
        (DEGREASER, "[life]", "[life", ["not readable as TOML", "line"]),
    ],
)
def test_a_slip_is_named(spoil: Spoil, file: str, old: str, new: str, said: list[str]) -> None:
    folder = spoil(file, old, new)
    if not said:
        read(folder)
        return
    with pytest.raises(CatalogueError) as caught:
        read(folder)
    message = str(caught.value)
    assert message.startswith(file), message
    for part in said:
        assert part in message, message


def test_a_missing_file_is_named(spoil: Spoil) -> None:
    folder = spoil("metals.toml", "Zn", "Zn")
    (folder / "spreads.toml").unlink()
    with pytest.raises(CatalogueError, match=r"spreads\.toml: this file of the catalogue is missing"):
        read(folder)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('formula = "ZnCl2"', 'formula = "ZnCl2.6H20x"', "reagent `zinc chloride`, formula"),
        (
            'brings = { zinc = "Zn", chloride = "Cl" }',
            'brings = { zinc = "Ni", chloride = "Cl" }',
            "reagent `zinc chloride`, brings.zinc",
        ),
    ],
)
def test_a_formula_that_cannot_be_is_found_by_the_check(spoil: Spoil, old: str, new: str, said: str) -> None:
    faults = read(spoil("reagents.toml", old, new)).check()
    assert any(f.startswith(said) for f in faults), faults
