"""The shipped catalogue: loads whole, is looked up by the words people use, and does not drag the chemistry in."""

from __future__ import annotations

import subprocess
import sys

import pytest

from bathkeeper.catalogue.loader import CatalogueError, load, plain_name
from bathkeeper.entries import ROLES

RECIPES = {
    "alkaline-degreaser": "degrease",
    "electrolytic-rust-removal": "rust removal",
    "running-rinse": "rinse",
    "still-rinse": "rinse",
    "bisulfate-pickle": "pickle",
    "zinc-nickel-chloride-potassium": "plate",
    "nitric-dip": "acid dip",
    "trivalent-passivate-clear": "passivate",
    "trivalent-passivate-coloured": "passivate",
    "drying": "dry",
}


def test_the_recipes_of_a_line_are_there() -> None:
    assert {n: r.role for n, r in load().recipes.items()} == RECIPES
    assert set(RECIPES.values()) == set(ROLES) - {"seal"}


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
    with pytest.raises(CatalogueError, match=r"no recipe `zinc-nickel`.*Did you mean `zinc-nickel-chloride-potassium`"):
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
    ions = {"sulfate", "sodium", "ammonium", "nitrate", "phosphate", "copper"}
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
