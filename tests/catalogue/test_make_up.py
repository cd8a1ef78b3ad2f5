"""Making a bath up by its steps: grams from formula masses, every content in its window, an order that cannot hurt."""

from __future__ import annotations

import molmass
import pytest

from bathkeeper.catalogue.loader import load
from bathkeeper.catalogue.schema import Recipe

WET = [name for name, r in load().recipes.items() if r.role not in ("dry", "rinse")]


def mass(formula: str) -> float:
    """Molar mass by molmass, an outside library; hydrate parts added up."""
    first, *water = formula.split(".")
    total = float(molmass.Formula(first).mass)
    for part in water:
        count = part[: len(part) - len(part.lstrip("0123456789"))]
        total += int(count or 1) * float(molmass.Formula(part[len(count) :]).mass)
    return total


def brought_by_the_steps(recipe: Recipe) -> dict[str, float]:
    """g/L (mL/L of additives) after the steps; acid and lye by their equivalents, less what dissolved metal holds."""
    contents: dict[str, float] = {}
    base_mol = 0.0
    for step in recipe.make_up:
        reagent = load().reagents[step.reagent]
        if reagent.form == "water":
            continue
        if reagent.form == "additive":
            assert reagent.additive in recipe.species, (recipe.name, step.reagent)
            contents[reagent.additive] = contents.get(reagent.additive, 0.0) + (step.amount_ml_l or 0.0)
            continue
        grams = step.amount_g_l if step.amount_g_l is not None else (step.amount_ml_l or 0.0) * (reagent.density_g_ml or 0.0)
        mol = grams * reagent.purity / mass(reagent.formula)
        for brought, group in reagent.brings.items():
            per_mol = mass(reagent.formula) if group == "whole" else mass(group) * times(reagent.formula, group)
            contents[brought] = contents.get(brought, 0.0) + mol * per_mol
        if not reagent.weak_base:
            base_mol -= reagent.acid_equivalents * mol
    for name, species in recipe.species.items():
        if species.hydroxide_held:
            base_mol -= species.hydroxide_held * contents[name] / mass({"zinc": "Zn"}[name])
    for name, species in recipe.species.items():
        if species.kind in ("acid", "alkali") and species.equivalents and not species.counts_weak:
            sign = 1 if species.kind == "alkali" else -1
            contents[name] = sign * base_mol * mass(species.formula) / species.equivalents
    return contents


def times(formula: str, group: str) -> int:
    """How often an element stands in a formula; a group of several elements stands once in those of the shelf."""
    known = molmass.Formula(formula.split(".")[0]).composition()
    return int(known[group].count) if group in known else 1


@pytest.mark.parametrize("name", WET)
def test_the_steps_give_the_target(name: str) -> None:
    recipe = load().recipes[name]
    contents = brought_by_the_steps(recipe)
    for species, amount in contents.items():
        if species not in recipe.species:
            continue
        window = recipe.species[species]
        assert window.low is None or amount >= window.low, (species, amount)
        assert window.high is None or amount <= window.high, (species, amount)
        if species != "chloride":  # several salts bring it, each for its metal
            assert amount == pytest.approx(window.target, rel=0.02), (species, amount)
    for species, window in recipe.species.items():
        if window.kind != "contaminant" and window.target and not window.counts_weak:
            assert contents.get(species, 0.0) > 0, f"no step brings {species}"


@pytest.mark.parametrize(
    ("name", "reagent", "grams"),
    [
        # by hand from IUPAC masses: 32/0.4797, 24/0.2469, 105/0.5244
        ("zinc-nickel-chloride-potassium", "zinc chloride", 66.7),
        ("zinc-nickel-chloride-potassium", "nickel chloride hexahydrate", 97.2),
        ("zinc-nickel-chloride-potassium", "potassium chloride", 200.2),
        # 90 g/L free and 2 x 39.997/65.38 for each of 7.5 g/L zinc: 90 + 9.18; 7.5/0.8034
        ("alkaline-zinc", "sodium hydroxide", 99.2),
        ("alkaline-zinc", "zinc oxide", 9.34),
    ],
)
def test_steps_worked_by_hand(name: str, reagent: str, grams: float) -> None:
    step = next(s for s in load().recipes[name].make_up if s.reagent == reagent)
    assert step.amount_g_l == pytest.approx(grams, rel=3e-3)


@pytest.mark.parametrize(
    ("name", "reagent", "ml"),
    # 100 g/L over 12.1 mol/L x 36.458; 150 over 18.0 x 98.07 (evergainful.com.my acid-base table)
    [("hydrochloric-pickle", "hydrochloric acid 37%", 226.7), ("sulfuric-pickle", "sulfuric acid 96%", 85.0)],
)
def test_acids_worked_by_hand(name: str, reagent: str, ml: float) -> None:
    step = next(s for s in load().recipes[name].make_up if s.reagent == reagent)
    assert step.amount_ml_l == pytest.approx(ml, rel=0.01)


def test_every_tank_that_holds_something_can_be_made_up() -> None:
    for name, recipe in load().recipes.items():
        assert bool(recipe.make_up) == (recipe.role != "dry"), name
        assert recipe.water or recipe.role == "dry", name


@pytest.mark.parametrize("name", WET)
def test_the_order_cannot_hurt(name: str) -> None:
    """Water first, the mark last; additives after everything that makes heat; lye before the oxide that needs it."""
    steps = load().recipes[name].make_up
    reagents = [load().reagents[s.reagent] for s in steps]
    forms = [r.form for r in reagents]
    assert forms[0] == forms[-1] == "water" and steps[-1].to_the_mark
    assert "water" not in forms[1:-1]
    assert (steps[0].amount_ml_l or 0) >= 350
    first_additive = forms.index("additive") if "additive" in forms else len(forms) - 1
    assert set(forms[first_additive:-1]) <= {"additive"}
    names = [s.reagent for s in steps]
    if "zinc oxide" in names:
        assert names.index("sodium hydroxide") < names.index("zinc oxide")
    litres = sum(s.amount_ml_l or 0.0 for s in steps) / 1000
    assert litres < 1.0, "liquids alone would overflow"


def test_boric_acid_is_not_asked_of_cold_water() -> None:
    """Solubility 47 g/L at 20 degC (en.chemister.ru 397, per litre by density): above it the water has to be hot."""
    for recipe in load().recipes.values():
        for step in recipe.make_up:
            if step.reagent == "boric acid":
                assert "hot" in step.why, recipe.name
                assert (step.amount_g_l or 0) < 133 / 2, "more than half of what 60 degC holds in half the water"
