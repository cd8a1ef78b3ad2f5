"""The shipped catalogue: loads whole, is looked up by the words people use, and does not drag the chemistry in."""

from __future__ import annotations

import pickle
import subprocess
import sys
from importlib.resources import files
from itertools import pairwise
from pathlib import Path

import pytest

from bathkeeper.catalogue.loader import CatalogueError, load, plain_name, read
from bathkeeper.entries import ROLES

RECIPES = {
    "alkaline-degreaser": "degrease",
    "electrolytic-rust-removal": "rust removal",
    "running-rinse": "rinse",
    "still-rinse": "rinse",
    "bisulfate-pickle": "pickle",
    "hydrochloric-pickle": "pickle",
    "hydrochloric-pickle-inhibited": "pickle",
    "sulfuric-pickle": "pickle",
    "sulfuric-pickle-inhibited": "pickle",
    "zinc-nickel-chloride-potassium": "plate",
    "zinc-nickel-chloride-ammonium": "plate",
    "alkaline-zinc-nickel-generator": "plate",
    "alkaline-zinc-nickel-zinc-anodes": "plate",
    "alkaline-zinc-nickel-concentrates": "plate",
    "zinc-chloride-ammonium": "plate",
    "zinc-chloride-low-ammonium": "plate",
    "zinc-chloride-potassium": "plate",
    "alkaline-zinc": "plate",
    "alkaline-zinc-generator": "plate",
    "alkaline-zinc-high": "plate",
    "watts-nickel": "plate",
    "nickel-sulfamate": "plate",
    "acid-copper": "plate",
    "nitric-dip": "acid dip",
    "nitric-dip-zinc": "acid dip",
    "trivalent-passivate-clear": "passivate",
    "trivalent-passivate-coloured": "passivate",
    "trivalent-passivate-zinc-blue": "passivate",
    "trivalent-passivate-zinc-coloured": "passivate",
    "trivalent-passivate-zinc-thick": "passivate",
    "trivalent-passivate-zinc-black": "passivate",
    "trivalent-passivate-zinc-nickel-black": "passivate",
    "trivalent-passivate-zinc-nickel-thick": "passivate",
    "seal-topcoat": "seal",
    "drying": "dry",
}


def test_the_recipes_of_a_line_are_there() -> None:
    assert {n: r.role for n, r in load().recipes.items()} == RECIPES
    assert set(RECIPES.values()) == set(ROLES)


def test_a_recipe_is_read_when_it_is_asked_for() -> None:
    """A start need not parse what no tank of the book uses."""
    code = (
        "from bathkeeper.catalogue import shelf; from bathkeeper.catalogue.loader import load; c = load(); "
        "opened = []; old = shelf.read_toml; "
        "shelf.read_toml = lambda f, folder='': opened.append(f.name) or old(f, folder); "
        "assert len(c.recipes) > 30 and 'watts-nickel' in c.recipes; "
        "c.recipe('bisulfate-pickle'); c.recipe('bisulfate-pickle'); "
        "print([f for f in opened if not f.startswith(('common', 'pickles', 'chloride', 'alkaline.', 'nickel', 'passivates'))])"
    )
    shown = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert shown.stdout.strip() == "['bisulfate_pickle.toml']"


def test_the_shelf_survives_a_pickle() -> None:
    """Worlds are kept between starts; a recipe unpickled is the one on the shelf."""
    again = pickle.loads(pickle.dumps(load()))
    assert again.recipe("watts-nickel") == load().recipe("watts-nickel")
    own = load().with_definitions([("recipe", "mine", {"based_on": "watts-nickel"})])
    assert pickle.loads(pickle.dumps(own)).recipe("mine").species == own.recipe("watts-nickel").species
    folder = Path(str(files("bathkeeper.catalogue")))
    assert pickle.loads(pickle.dumps(read(folder))).recipe("watts-nickel").name == "watts-nickel"


TEMPLATES = {
    "zinc-nickel-line": "zinc-nickel-chloride-potassium",
    "zinc-line-potassium": "zinc-chloride-potassium",
    "alkaline-zinc-line": "alkaline-zinc",
    "alkaline-zinc-nickel-line": "alkaline-zinc-nickel-generator",
    "nickel-line-watts": "watts-nickel",
}


def test_templates_are_lines_that_make_sense() -> None:
    """Each has one plating tank; a rinse stands between acid and lye, and before and after the plating tank."""
    templates = load().templates
    assert {n: next(p.recipe for p in t.places if p.role == "plate") for n, t in templates.items()} == TEMPLATES
    for template in templates.values():
        roles = [p.role for p in template.places]
        plate = roles.index("plate")
        assert roles[plate - 1] == roles[plate + 1] == "rinse" and roles[0] == "degrease" and roles[-1] == "dry"
        wet = [load().recipes[p.recipe] for p in template.places if p.recipe]
        for before, after in pairwise(wet):
            met = {m.what for m in before.must_not_meet} | {m.what for m in after.must_not_meet}
            assert "rinse" in (before.role, after.role) or not {before.role, after.role, before.name, after.name} & met


def test_the_template_is_the_line_in_process_order() -> None:
    places = load().templates["zinc-nickel-line"].places
    assert [p.tank for p in places] == [
        "degreaser",
        "rust-removal",
        "rinse-1",
        "pickle",
        "rinse-2",
        "electrolyte",
        "rinse-3",
        "acid-dip",
        "passivate",
        "rinse-4",
        "dry",
    ]
    assert {p.tank: p.working_volume_l for p in places if p.working_volume_l != 20} == {"electrolyte": 40, "dry": None}
    flows = {p.tank: load().recipes[p.recipe].flow for p in places if p.recipe and p.role == "rinse"}
    assert flows == {"rinse-1": "running", "rinse-2": "running", "rinse-3": "still", "rinse-4": "running"}


def test_every_wet_bath_drags_out_and_evaporates() -> None:
    for recipe in load().recipes.values():
        if recipe.role == "dry":
            continue
        effects = {(w.exposure, e.to) for w in recipe.wear for e in w.effects}
        assert ("dm2", "solution") in effects and ("surface_day", "water") in effects, recipe.name
        target = recipe.indicators["temperature"].target if "temperature" in recipe.indicators else None
        if target is not None and target >= load().spreads["heated above"].absolute:
            assert ("surface_heated_h", "water") in effects, recipe.name


@pytest.mark.parametrize(
    ("said", "meant"),
    [
        ("zinc chloride", "zinc chloride"),
        ("Zinc Chloride", "zinc chloride"),
        ("zinc_chloride", "zinc chloride"),
        ("ZnCl2", "zinc chloride"),
        ("NiCl2·6H2O", "nickel chloride hexahydrate"),
        ("NiCl₂*6H₂O", "nickel chloride hexahydrate"),
        ("nickel chloride", "nickel chloride hexahydrate"),
        ("muriatic acid", "hydrochloric acid 31%"),
        ("hydrochloric acid 37 %", "hydrochloric acid 37%"),
        ("lye", "sodium hydroxide"),
        ("dry acid", "sodium bisulfate"),
        ("washing soda", "sodium carbonate"),
        ("NaHSO4", "sodium bisulfate"),
        ("water", "water"),
        ("H2O", "water"),
    ],
)
def test_reagents_by_name_alias_or_formula(said: str, meant: str) -> None:
    assert load().reagent(said).name == meant


@pytest.mark.parametrize("said", ["hydrochloric acid", "HCl", "H2O2", "hydrogen peroxide", "sulfuric acid", "HNO3", "NiCl2"])
def test_an_open_strength_names_nothing(said: str) -> None:
    with pytest.raises(CatalogueError, match=r"does not say which or how strong; it may be \w"):
        load().reagent(said)


def test_near_misses_are_offered() -> None:
    with pytest.raises(CatalogueError, match=r"no reagent `zinc cloride` .*Did you mean `zinc chloride`"):
        load().reagent("zinc cloride")
    with pytest.raises(CatalogueError, match=r"no recipe `bisulphate-pickle`.*Did you mean `bisulfate-pickle`"):
        load().recipe("bisulphate-pickle")
    with pytest.raises(
        CatalogueError, match=r"no recipe `zinc-nickel`.*Did you mean `zinc-nickel-chloride-ammonium` or `zinc-nickel-c"
    ):
        load().recipe("zinc-nickel")
    with pytest.raises(CatalogueError, match=r"no method `pH metre`.*Did you mean `pH meter`"):
        load().method("pH metre")
    with pytest.raises(CatalogueError, match=r"no metal `nikel`.*Did you mean `nickel`"):
        load().metal("nikel")


def test_methods_and_metals_by_everyday_word() -> None:
    catalogue = load()
    assert catalogue.method("EDTA").name == "EDTA titration"
    assert catalogue.method("ph_strip").name == "pH strip"
    assert catalogue.method("zinc by difference").by_difference_from == "nickel"
    assert catalogue.metal("Ni").name == catalogue.metal("Nickel").name == "nickel"
    assert (catalogue.metal("copper(I)").electrons, catalogue.metal("copper").electrons) == (1, 2)


@pytest.mark.parametrize(
    ("of", "unit", "method"),
    [
        ("ph", None, "pH strip"),
        ("free_acid", None, "acid titration"),
        ("free acid", None, "acid titration"),
        ("zinc", None, "titration, unstated"),
        ("gold", None, "titration, unstated"),
        ("level", "mm", "level mark"),
        ("level", "L", "level mark in litres"),
        ("density", "g/cm3", "hydrometer"),
        ("density", "degBe", "hydrometer in degrees Baume"),
        ("deposit_nickel", "%", "deposit, unstated"),
        ("nickel_share", "%", "anode share by clamp meter"),
        ("brightener", "mL/L", "additive, unstated"),
    ],
)
def test_the_default_method_of_a_quantity(of: str, unit: str | None, method: str) -> None:
    assert load().default_method(of, unit).name == method


def test_a_default_method_speaks_the_unit_it_was_asked_in() -> None:
    for of, unit in [
        ("level", "mm"),
        ("level", "L"),
        ("density", "degBe"),
        ("ph", "pH"),
        ("temperature", "degC"),
        ("conductivity", "mS/cm"),
    ]:
        assert load().default_method(of, unit).unit == unit


def test_every_word_for_a_reagent_means_one() -> None:
    words = [(plain_name(w), r.name) for r in load().reagents.values() for w in (r.name, *r.aliases)]
    assert len({w for w, _ in words}) == len(words)
    for word, name in words:
        assert load().reagent(word).name == name


def test_everything_a_reagent_brings_is_asked_for_by_someone_or_an_everyday_ion() -> None:
    """A slip in a species name would silently lose grams."""
    species = {s for r in load().recipes.values() for s in r.species}
    ions = {"sulfate", "sodium", "calcium", "ammonium", "nitrate", "phosphate", "copper"}
    for reagent in load().reagents.values():
        assert set(reagent.brings) <= species | ions, reagent.name
        assert reagent.additive is None or reagent.additive in species | {"wetter"}


def test_loading_imports_neither_the_chemistry_nor_the_heavy_libraries() -> None:
    heavy = ("periodictable", "numpy", "pint", "scipy", "textual", "bathkeeper.chemistry.formulas")
    code = (
        "import sys; from bathkeeper.catalogue.loader import load; load().reagent('ZnCl2'); "
        f"print([m for m in {heavy!r} if m in sys.modules])"
    )
    shown = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert shown.stdout.strip() == "[]"


def test_load_reads_once() -> None:
    assert load() is load()
