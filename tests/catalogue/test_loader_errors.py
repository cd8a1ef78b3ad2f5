"""A slip in a file of the catalogue: the error names the file and the field, and what would be right."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from importlib.resources import as_file, files
from pathlib import Path

import pytest

from bathkeeper.catalogue.loader import CatalogueError, load, read
from bathkeeper.catalogue.shelf import Shelf

Spoil = Callable[[str, str, str], Path]
ZINC_NICKEL = "recipes/zinc_nickel_chloride_potassium.toml"
PICKLE = "recipes/bisulfate_pickle.toml"
DEGREASER = "recipes/alkaline_degreaser.toml"
LYE_ZINC = "recipes/alkaline_zinc.toml"
LYE_ZINC_NICKEL = "recipes/alkaline_zinc_nickel_zinc_anodes.toml"
COMMON = "pieces/common.toml"
ALKALINE = "pieces/alkaline.toml"


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
            ["name: is `alkaline-degreaser`, but the file's own name says `bisulfate-pickle`"],
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
        # pieces
        (LYE_ZINC, '"lye meets"', '"lye meats"', ["pieces: there is no piece `lye meats`", "`lye meets`"]),
        (PICKLE, 'pieces = ["acid meets"]', 'pieces = "acid meets"', ["pieces: expected a list of names of pieces"]),
        (PICKLE, 'pieces = ["acid meets"]', "pieces = [1]", ["pieces: expected a list of names of pieces"]),
        (COMMON, "[piece.drag-out.parameters", "[pieces.drag-out.parameters", ["pieces: no such table", "[piece.NAME]"]),
        (COMMON, "factor = 3", "faktor = 3", ["piece `drag-out`, parameters.drag_out.faktor: no such field", "`factor`"]),
        (COMMON, 'scale = "log"', 'scale = "lag"', ["piece `drag-out`, parameters.drag_out.scale: expected one of log,"]),
        (COMMON, 'unit = "mL/dm2"\n', "", ["piece `drag-out`, parameters.drag_out.unit: is missing"]),
        (COMMON, 'source = "mL to L"', "", ["piece `drag-out`, wear.`drag-out`.effects.number 1: status `derived` needs a"]),
        (
            COMMON,
            "target = 0.0\nhigh = 60",
            "target = 95\nhigh = 60",
            ["piece `carbonate from air`, species.carbonate: a window"],
        ),
        (
            COMMON,
            "[piece.drag-out.parameters.drag_out]",
            '[piece.spare.species.x]\nkind = "metal"\nunit = "g/L"\ntarget = 1\nstatus = "practice"\n\n'
            "[piece.drag-out.parameters.drag_out]",
            ["piece `spare`: no recipe uses it"],
        ),
        (
            COMMON,
            "[piece.drag-out.parameters.drag_out]",
            "[piece.zincate.parameters.drag_out]",
            ["piece `zincate`: the name is taken by"],
        ),
        # what a recipe lays over its pieces states its source anew
        (
            "recipes/trivalent_passivate_zinc_thick.toml",
            'high = 10\ngive_up_high = 20\nstatus = "memory"',
            "high = 10\ngive_up_high = 20",
            ["species.zinc.status: is missing"],
        ),
        # what dissolved metal holds, and anodes that only carry current
        (
            ZINC_NICKEL,
            'kind = "metal"',
            'kind = "metal"\nhydroxide_held = 4',
            ["species.zinc.hydroxide_held: only a metal in a bath"],
        ),
        (
            LYE_ZINC,
            "hydroxide_held = 4",
            "hydroxyde_held = 4",
            ["species.zinc.hydroxyde_held: no such field", "`hydroxide_held`"],
        ),
        (ALKALINE, 'inert = ["steel", ', 'inert = ["stele", ', ["electrode.inert: there is no metal `stele`", "`steel`"]),
        (
            LYE_ZINC,
            'name = "alkaline-zinc"',
            'name = "alkaline-zinc"\nelectrode = { inert = ["zinc"] }',
            ["electrode.inert: zinc also stands in electrode.anodes"],
        ),
        # what must not meet
        (
            PICKLE,
            'what = "hydrogen peroxide 35%"',
            'what = "hydrogen peroxid"',
            ["must_not_meet.`hydrogen peroxid`: is no role, recipe or reagent"],
        ),
        (
            PICKLE,
            'why = "Heat and peroxo acid, which chars and burns."',
            "",
            ["must_not_meet.`hydrogen peroxide 35%`.why: is missing"],
        ),
        (
            COMMON,
            'why = "Hydrogen, heat."\nstatus = "seen"',
            'why = "Hydrogen, heat."',
            ["must_not_meet.`aluminium`.status: is missing"],
        ),
        (
            COMMON,
            'what = "cyanide"',
            'what = "cyanid"',
            ["piece `acid meets`, must_not_meet.`cyanid`: is no role, recipe or reagent", "`cyanide`"],
        ),
        # making up
        (
            PICKLE,
            'reagent = "sodium bisulfate"',
            'reagent = "sodium bisulphite"',
            ["make_up.number 2.reagent: there is no reagent"],
        ),
        (PICKLE, 'reagent = "water"\n', "", ["make_up.number 1.reagent: is missing"]),
        (PICKLE, "amount_g_l = 100.0", "amount_g = 100.0", ["make_up.number 2.amount_g: no such field", "`amount_g_l`"]),
        (PICKLE, "amount_g_l = 100.0", "", ["make_up.number 2: a step needs exactly one of amount_g_l"]),
        (PICKLE, "amount_g_l = 100.0", "amount_g_l = 100.0\namount_ml_l = 9.0", ["make_up.number 2: a step needs exactly one"]),
        (PICKLE, "amount_g_l = 100.0", "amount_g_l = -100.0", ["make_up.number 2: an amount must be above 0"]),
        (PICKLE, "amount_g_l = 100.0", "amount_ml_l = 100.0", ["make_up.number 2.amount_ml_l: sodium bisulfate is a solid"]),
        (PICKLE, "amount_ml_l = 800.0", "amount_g_l = 800.0", ["make_up.number 1.amount_g_l: water is measured by volume"]),
        (PICKLE, "amount_g_l = 100.0", "to_the_mark = true", ["make_up.number 2.to_the_mark: only water fills up"]),
        (PICKLE, "amount_ml_l = 800.0", "to_the_mark = true", ["make_up.number 1.reagent: water comes first, some of it"]),
        (PICKLE, "to_the_mark = true", "amount_ml_l = 200.0", ["make_up.number 3: the last step is water with to_the_mark"]),
        (
            PICKLE,
            'status = "derived"\nsource = "amount',
            'status = "seen"\nfrom = "amount',
            ["make_up.number 2.from: no such field"],
        ),
        (
            "recipes/hydrochloric_pickle_inhibited.toml",
            'reagent = "water"\namount_ml_l = 700.0',
            'reagent = "hydrochloric acid 37%"\namount_ml_l = 700.0',
            ["make_up.number 1.reagent: water comes first", "not hydrochloric acid 37%"],
        ),
        # density at target, water
        (
            ZINC_NICKEL,
            "temperature_c = 25\nstatus",
            "temperature = 25\nstatus",
            ["density_at_target.temperature: no such field"],
        ),
        (
            ZINC_NICKEL,
            'water = "GOST 9.314 category 2"',
            'water = "GOST 9.314"',
            ["water: there is no water quality `GOST 9.314`"],
        ),
        ("water.toml", "ph_low = 6.0", "ph_lo = 6.0", ["water `GOST 9.314 category 1`, ph_lo: no such field", "`ph_low`"]),
        ("water.toml", "ph_low = 6.0", "ph_low = 9.5", ["ph_low must not be above ph_high"]),
        ("water.toml", "iron_mg_l = 0.3", "iron_mg_l = -0.3", ["a limit cannot be below 0"]),
        ("water.toml", "conductivity_us_cm = 800", "", ["water `tap`", "at least one limit"]),
        ("water.toml", 'use = "rinsing before and between rough steps"', "", ["use: is missing"]),
        (
            "water.toml",
            'source = "GOST 6709: residue',
            '# source = "GOST 6709: residue',
            ["water `distilled`: status `seen` needs a `source`"],
        ),
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


def test_a_missing_folder_is_named(spoil: Spoil) -> None:
    folder = spoil("metals.toml", "Zn", "Zn")
    shutil.rmtree(folder / "pieces")
    with pytest.raises(CatalogueError, match=r"pieces/: this folder of the catalogue is missing"):
        read(folder)


def test_a_slip_in_one_recipe_does_not_keep_the_others_from_loading(spoil: Spoil) -> None:
    """Whoever does not use a spoiled recipe is not stopped by it; whoever asks for it is told."""
    folder = spoil(ZINC_NICKEL, "low = 25", "lwo = 25")
    shelf = Shelf(folder, load().metals, load().reagents, load().water)
    assert shelf["bisulfate-pickle"].role == "pickle"
    with pytest.raises(CatalogueError, match=r"^recipes/zinc_nickel_chloride_potassium\.toml, species\.zinc\.lwo"):
        shelf["zinc-nickel-chloride-potassium"]


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
