"""A keeper's own definitions: they override by name, may rest on the catalogue, and a bad one is named field by field."""

from __future__ import annotations

from typing import Any

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bathkeeper.catalogue.loader import Catalogue, CatalogueError, load
from bathkeeper.catalogue.schema import Recipe

BASE = "zinc-nickel-chloride-potassium"
MINIMAL: dict[str, Any] = {
    "role": "plate",
    "species": {"copper": {"kind": "metal", "unit": "g/L", "low": 45, "target": 55, "high": 65}},
    "parameters": {"drag_out": {"value": 2.0, "factor": 3, "unit": "mL/dm2", "scale": "log"}},
    "wear": [{"name": "drag-out", "exposure": "dm2", "rate": "drag_out", "effects": [{"to": "solution", "amount": -0.001}]}],
    "readings": {"copper": {"days": 30}},
}


def defined(*definitions: tuple[str, str, dict[str, Any]]) -> Catalogue:
    return load().with_definitions(definitions)


def test_numbers_of_a_keeper_are_practice_of_the_keepers_own() -> None:
    recipe = defined(("recipe", "copper", MINIMAL)).recipe("copper")
    assert recipe.title == recipe.summary == "copper"
    for table in (
        recipe.species["copper"],
        recipe.parameters["drag_out"],
        recipe.wear[0].effects[0],
        recipe.readings["copper"],
    ):
        assert (table.status, table.source) == ("practice", "keeper's own")


def test_a_stated_status_stays() -> None:
    body = {
        **MINIMAL,
        "species": {"copper": {**MINIMAL["species"]["copper"], "status": "seen", "source": "the product's sheet"}},
    }
    assert defined(("recipe", "copper", body)).recipe("copper").species["copper"].status == "seen"


def test_based_on_changes_only_what_is_given() -> None:
    shipped = load().recipe(BASE)
    mine = defined(
        ("recipe", "mine", {"based_on": BASE, "species": {"zinc": {"low": 20}}, "parameters": {"drag_out": {"value": 2.0}}})
    ).recipe("mine")
    assert (mine.species["zinc"].low, mine.species["zinc"].target) == (20, shipped.species["zinc"].target)
    assert (mine.species["zinc"].status, mine.species["zinc"].source) == ("practice", "keeper's own")
    assert mine.species["nickel"] == shipped.species["nickel"]
    assert mine.parameters["drag_out"].factor == shipped.parameters["drag_out"].factor
    assert mine.wear == shipped.wear and mine.electrode == shipped.electrode
    assert mine.title == "mine"


def test_a_title_alone_does_not_take_a_source_away() -> None:
    mine = defined(("recipe", "mine", {"based_on": BASE, "parameters": {"deposit_nickel": {"title": "Ni"}}})).recipe("mine")
    assert mine.parameters["deposit_nickel"].status == "seen"


def test_named_lists_merge_and_cautions_add_up() -> None:
    shipped = load().recipe(BASE)
    body = {
        "based_on": BASE,
        "wear": [{"name": "drag-out", "about": "racks of mine"}],
        "cautions": [{"text": "The heater must be covered.", "when": "run"}],
    }
    mine = defined(("recipe", "mine", body)).recipe("mine")
    assert [w.name for w in mine.wear] == [w.name for w in shipped.wear]
    assert next(w for w in mine.wear if w.name == "drag-out").about == "racks of mine"
    assert mine.cautions[:-1] == shipped.cautions and mine.cautions[-1].text == "The heater must be covered."


def test_null_takes_something_out() -> None:
    mine = defined(("recipe", "mine", {"based_on": BASE, "species": {"carrier": None}})).recipe("mine")
    assert set(load().recipe(BASE).species) - set(mine.species) == {"carrier"}


def test_the_same_name_overrides_and_the_last_one_holds() -> None:
    first, second = ({"based_on": BASE, "species": {"zinc": {"low": low}}} for low in (20, 22))
    assert defined(("recipe", BASE, first), ("recipe", BASE, second)).recipe(BASE).species["zinc"].low == 22
    one_by_one = load().with_definitions([("recipe", BASE, first)]).with_definitions([("recipe", BASE, second)])
    assert one_by_one.recipe(BASE).species["zinc"].low == 22
    assert load().recipe(BASE).species["zinc"].low == 25


def test_own_recipes_may_rest_on_each_other_in_any_order() -> None:
    chain: list[tuple[str, str, dict[str, Any]]] = [
        ("recipe", "b", {"based_on": "a", "title": "B"}),
        ("recipe", "a", {"based_on": BASE, "species": {"zinc": {"low": 21}}}),
    ]
    assert defined(*chain).recipe("b").species["zinc"].low == 21


def test_an_own_bag_of_a_known_salt() -> None:
    catalogue = defined(("reagent", "zinc chloride", {"based_on": "zinc chloride", "purity": 0.97}))
    bag = catalogue.reagent("ZnCl2")
    assert (bag.purity, bag.brings, bag.status) == (0.97, {"zinc": "Zn", "chloride": "Cl"}, "practice")
    assert len(bag.cautions) == len(load().reagent("ZnCl2").cautions)


def test_an_own_acid_brings_what_its_formula_brings() -> None:
    acid = defined(("reagent", "my acid", {"form": "liquid", "formula": "HCl", "purity": 0.2, "density_g_ml": 1.1})).reagent(
        "my acid"
    )
    assert (acid.acid_equivalents, acid.brings) == (1.0, {"chloride": "Cl"})
    assert "Acid into water, never water into acid." in acid.cautions


def test_an_own_method() -> None:
    method = defined(("method", "my kit", {"of": ["zinc"], "unit": "g/L", "relative": 0.07})).method("my_kit")
    assert (method.relative, method.status) == (0.07, "practice")


def test_other_kinds_are_kept_as_they_are() -> None:
    catalogue = defined(("part", "bracket", {"area_dm2": 0.4}), ("limit", "mine", {"recipe": BASE, "of": "nickel", "high": 1}))
    assert catalogue.own["part"] == {"bracket": {"area_dm2": 0.4}} and catalogue.own["limit"]["mine"]["high"] == 1
    assert catalogue.recipes == load().recipes


@pytest.mark.parametrize(
    ("kind", "name", "body", "said"),
    [
        ("recipe", "x", {}, ["recipe `x`", "role: is missing", "expected one of degrease"]),
        ("recipe", "x", {"role": "plating"}, ["role: expected one of", "got `plating`"]),
        ("recipe", "x", {"role": "plate", "species": 3}, ["species: expected a table, got `3`"]),
        (
            "recipe",
            "x",
            {"role": "plate", "species": {"zinc": {"kind": "metal", "unit": "g/L", "hihg": 1}}},
            ["species.zinc.hihg", "`high`"],
        ),
        ("recipe", "x", {"based_on": BASE, "species": {"zinc": {"low": 50}}}, ["species.zinc: a window must rise"]),
        ("recipe", "x", {"based_on": BASE, "species": {"zinc": None}}, ["no species `zinc`"]),
        ("recipe", "x", {"based_on": "zinc-nickle-chloride-potassium"}, ["based_on: there is no recipe", f"`{BASE}`"]),
        ("recipe", "x", {"based_on": 7}, ["based_on: expected the name of a recipe, got 7"]),
        ("recipe", "x", {"based_on": "x"}, ["based_on: there is no recipe `x`"]),
        (
            "recipe",
            "x",
            {**MINIMAL, "species": {"copper": {**MINIMAL["species"]["copper"], "formula": "Qq2"}}},
            ["species.copper.formula", "Qq"],
        ),
        ("recipe", "x", {**MINIMAL, "name": "y"}, ["name: the body says `y`"]),
        ("reagent", "zinc chloride", {"purity": 0.97}, ["form: is missing", 'add based_on = "zinc chloride"']),
        ("reagent", "salt", {"form": "solid", "formula": "NiCl2.6H20x"}, ["reagent `salt`, formula", "NiCl2.6H20x"]),
        ("reagent", "salt", {"form": "solid", "formula": "KCl", "brings": {"zinc": "Zn"}}, ["brings.zinc", "KCl holds no Zn"]),
        ("reagent", "salt", {"form": "solid"}, ["formula: is missing"]),
        ("reagent", "salt", {"form": "solid", "formula": "KCl", "purity": 98}, ["purity: 98 is not a mass fraction"]),
        ("reagent", "salt", {"form": "solid", "formula": "KCl", "cautions": 5}, ["cautions: expected a list of text"]),
        ("method", "m", {"of": ["zinc"], "unit": "g/L"}, ["relative: give `relative` or `absolute`"]),
        ("method", "m", {"of": "zinc", "unit": "g/L", "relative": 0.1}, ["of: expected a list of text"]),
        ("colour", "m", {}, ["cannot define a `colour`", "recipe, reagent, method"]),
    ],
)
def test_a_bad_body_is_named(kind: str, name: str, body: dict[str, Any], said: list[str]) -> None:
    with pytest.raises(CatalogueError) as caught:
        defined((kind, name, body))
    for part in ("definition", f"`{name}`", *said):
        assert part in str(caught.value), str(caught.value)


def test_a_circle_is_refused() -> None:
    with pytest.raises(CatalogueError, match=r"based_on: goes round in a circle \(.*a.*b.*\)"):
        defined(("recipe", "a", {"based_on": "b"}), ("recipe", "b", {"based_on": "a"}))


def test_a_shipped_recipe_written_out_in_full_is_itself() -> None:
    body = msgspec.to_builtins(load().recipe(BASE))
    assert defined(("recipe", BASE, body)).recipe(BASE) == load().recipe(BASE)


KEYS = st.sampled_from(
    [*(f.encode_name for f in msgspec.structs.fields(Recipe)), "based_on", "purity", "of", "unit", "zinc", "effects", "low"]
)
PLAIN = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-5, 5)
    | st.floats(allow_nan=False)
    | st.sampled_from(["plate", BASE, "HCl", "g/L", "zinc chloride"]),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(KEYS, inner, max_size=4),
    max_leaves=12,
)


@settings(max_examples=150, deadline=None)
@given(st.sampled_from(["recipe", "reagent", "method", "part"]), st.dictionaries(KEYS, PLAIN, max_size=6))
def test_no_body_whatever_brings_the_catalogue_down(kind: str, body: dict[str, Any]) -> None:
    """Either a catalogue or a CatalogueError: never another exception."""
    for given_body in (
        body,
        {**body, "based_on": BASE if kind == "recipe" else "zinc chloride" if kind == "reagent" else "pH strip"},
    ):
        try:
            defined((kind, "x", given_body))
        except CatalogueError as problem:
            assert "definition" in str(problem)


def test_what_must_not_meet_adds_up_and_a_make_up_is_replaced() -> None:
    """A hazard does not go away by being left out; a keeper's own way of making up stands alone."""
    body = {
        "based_on": BASE,
        "must_not_meet": [{"what": "alkaline-zinc", "why": "Ruins both."}],
        "make_up": [
            {"reagent": "water", "amount_ml_l": 600, "why": "first"},
            {"reagent": "zinc chloride", "amount_g_l": 60, "why": "then"},
            {"reagent": "water", "to_the_mark": True, "why": "last"},
        ],
    }
    mine, shipped = defined(("recipe", "mine", body)).recipe("mine"), load().recipe(BASE)
    assert mine.must_not_meet[:-1] == shipped.must_not_meet and len(shipped.must_not_meet) >= 3
    added, step = mine.must_not_meet[-1], mine.make_up[1]
    assert (added.what, added.status, added.source) == ("alkaline-zinc", "practice", "keeper's own")
    assert [s.reagent for s in mine.make_up] == ["water", "zinc chloride", "water"]
    assert (step.status, step.source) == ("practice", "keeper's own")


@pytest.mark.parametrize(
    ("body", "said"),
    [
        ({"must_not_meet": [{"what": "blech", "why": "Gas."}]}, r"must_not_meet\.`blech`: is no role, recipe or reagent"),
        (
            {"make_up": [{"reagent": "zinc chloride", "amount_g_l": 60, "why": "x"}]},
            r"make_up\.number 1\.reagent: water comes first",
        ),
        (
            {"make_up": [{"reagent": "water", "amount_g_l": 60, "why": "x"}]},
            r"make_up\.number 1\.amount_g_l: water is measured",
        ),
        ({"make_up": [{"reagent": "water", "why": "x"}]}, r"make_up\.number 1: a step needs exactly one"),
        ({"water": "rain"}, r"water: there is no water quality `rain`"),
        ({"electrode": {"inert": ["gold"]}}, r"electrode\.inert: there is no metal `gold`"),
        ({"species": {"zinc": {"hydroxide_held": 4}}}, r"species\.zinc\.hydroxide_held: only a metal in a bath"),
        ({"species": {"zinc": {"treatment": 4}}}, r"species\.zinc\.treatment: expected a text"),
        ({"density_at_target": {"value": 1.2}}, None),
        ({"density_at_target": {"value": "1.2"}}, r"density_at_target\.value: expected a number"),
    ],
)
def test_a_bad_new_field_of_a_keeper_is_named(body: dict[str, Any], said: str | None) -> None:
    definition = ("recipe", "mine", {"based_on": BASE, **body})
    if said is None:
        assert defined(definition).recipe("mine").density_at_target is not None
        return
    with pytest.raises(CatalogueError, match=rf"^definition of recipe `mine`, {said}"):
        defined(definition)


def test_a_keepers_own_recipes_stand_over_the_shelf() -> None:
    """By name, in listings and in counts; of one name the keeper's; the rest is still read only when asked for."""
    catalogue = defined(
        ("recipe", "mine", {"based_on": BASE}), ("recipe", "watts-nickel", {"based_on": "watts-nickel", "summary": "x"})
    )
    assert len(catalogue.recipes) == len(load().recipes) + 1 and set(catalogue.recipes) == {*load().recipes, "mine"}
    assert catalogue.recipe("watts-nickel").summary == "x" and load().recipe("watts-nickel").summary != "x"
    assert "mine" in catalogue.recipes and "acid-copper" in catalogue.recipes and "theirs" not in catalogue.recipes
    assert catalogue.recipes.get("theirs") is None
    assert catalogue.recipe("acid-copper") is load().recipe("acid-copper")
