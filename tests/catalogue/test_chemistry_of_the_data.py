"""The data recomputed: formula masses by an outside library, mass balances of wear effects, published metal contents."""

from __future__ import annotations

import math

import molmass
import periodictable
import pytest

from bathkeeper.catalogue.loader import load
from bathkeeper.catalogue.schema import Effect
from bathkeeper.chemistry.formulas import mass_fraction, molar_mass


def mass(formula: str) -> float:
    """Molar mass by molmass, an outside library."""
    return float(molmass.Formula(formula).mass)


def test_no_formula_or_group_of_the_catalogue_is_unreadable() -> None:
    assert load().check() == []


# per cent by mass from IUPAC atomic masses, computed apart from this project
METAL_CONTENT = [
    ("zinc chloride", "zinc", 47.97),
    ("zinc chloride", "chloride", 52.03),
    ("nickel chloride hexahydrate", "nickel", 24.69),
    ("nickel chloride hexahydrate", "chloride", 29.83),
    ("nickel sulfate hexahydrate", "nickel", 22.33),
    ("nickel sulfate heptahydrate", "nickel", 20.90),
    ("nickel carbonate", "nickel", 49.45),
    ("nickel sulfamate", "nickel", 23.40),
    ("zinc oxide", "zinc", 80.34),
    ("zinc sulfate heptahydrate", "zinc", 22.74),
    ("copper sulfate pentahydrate", "copper", 25.45),
    ("ammonium chloride", "chloride", 66.28),
    ("potassium chloride", "chloride", 47.55),
]


@pytest.mark.parametrize(("name", "species", "per_cent"), METAL_CONTENT)
def test_what_a_gram_brings(name: str, species: str, per_cent: float) -> None:
    reagent = load().reagent(name)
    assert reagent.purity == 1.0
    assert 100 * mass_fraction(reagent.formula, reagent.brings[species]) == pytest.approx(per_cent, abs=0.011)


def test_formula_masses_agree_with_molmass() -> None:
    for reagent in load().reagents.values():
        if reagent.formula:
            parts = reagent.formula.split(".")
            total = mass(parts[0])
            for part in parts[1:]:
                count = part[: len(part) - len(part.lstrip("0123456789"))]
                total += int(count or 1) * mass(part[len(count) :])
            assert molar_mass(reagent.formula) == pytest.approx(total, rel=2e-4), reagent.name


@pytest.mark.parametrize(
    ("name", "mol_per_l"),
    # evergainful.com.my acid-base table: 12.1, 18 and 15.6 mol/L; liquisearch.com hydrochloric acid table: 2.87 mol/L at 10 %
    [
        ("hydrochloric acid 37%", 12.1),
        ("sulfuric acid 96%", 18.0),
        ("nitric acid 69.6%", 15.6),
        ("hydrochloric acid 10%", 2.87),
    ],
)
def test_strength_of_acids_from_purity_and_density(name: str, mol_per_l: float) -> None:
    acid = load().reagent(name)
    assert acid.density_g_ml is not None
    assert 1000 * acid.density_g_ml * acid.purity / mass(acid.formula) == pytest.approx(mol_per_l, rel=0.01)


# equivalents of acid per mol, by the reaction
EQUIVALENTS = {
    "hydrochloric acid 37%": 1,
    "sulfuric acid 96%": 2,
    "nitric acid 68%": 1,
    "sodium bisulfate": 1,
    "sodium hydroxide": -1,
    "potassium hydroxide": -1,
    "potassium carbonate": -2,
    "sodium carbonate": -2,
    "sodium bicarbonate": -1,
    "nickel carbonate": -2,
    "zinc oxide": -2,
    "zinc dust": -2,
    "trisodium phosphate": -2,
    "sodium metasilicate": -2,
    "boric acid": 0,
    "zinc chloride": 0,
    "potassium chloride": 0,
    "hydrogen peroxide 3%": 0,
}


@pytest.mark.parametrize(("name", "equivalents"), EQUIVALENTS.items())
def test_acid_equivalents(name: str, equivalents: int) -> None:
    assert load().reagent(name).acid_equivalents == equivalents


def effects_of(recipe: str, wear: str) -> dict[tuple[str, str | None], Effect]:
    term = next(w for w in load().recipes[recipe].wear if w.name == wear)
    return {(e.to, e.parameter): e for e in term.effects}


ZN, NI, FE = mass("Zn"), mass("Ni"), mass("Fe")
NICKEL_WITH_ZINC = 0.13 / 0.87  # coating of 13 % nickel
BALANCES = [
    ("zinc-nickel-chloride-potassium", "idle zinc to acid", "acid", None, -2 / ZN),
    ("zinc-nickel-chloride-potassium", "idle zinc to acid", "acid", "idle_cemented", 2 / ZN),
    ("zinc-nickel-chloride-potassium", "idle zinc to acid", "nickel", "idle_cemented", -NI / ZN),
    ("bisulfate-pickle", "iron dissolved", "free acid", "acid_per_iron", -mass("NaHSO4") / FE),
    ("bisulfate-pickle", "coating stripped", "free acid", None, -2 * mass("NaHSO4") / NI),
    ("bisulfate-pickle", "coating stripped", "free acid", "stripped_zinc", 2 * mass("NaHSO4") * (1 / NI - 1 / ZN)),
    ("nitric-dip", "coating dissolved", "free acid", "acid_per_zinc", -mass("HNO3") / ZN),
    ("nitric-dip", "coating dissolved", "nickel", None, NICKEL_WITH_ZINC),
    ("nitric-dip", "iron dissolved", "free acid", None, -2.5 * mass("HNO3") / FE),
    ("alkaline-degreaser", "carbonate from air", "free alkali", None, -2 * mass("NaOH") / mass("Na2CO3")),
    *[
        (f"trivalent-passivate-{kind}", wear, to, None, value)
        for kind in ("clear", "coloured")
        for wear, to, value in [
            ("coating dissolved", "nickel", NICKEL_WITH_ZINC),
            ("coating dissolved", "acid", -(2 / ZN + NICKEL_WITH_ZINC * 2 / NI)),
            ("iron dissolved", "acid", -2 / FE),
        ]
    ],
]


@pytest.mark.parametrize(("recipe", "wear", "to", "parameter", "expected"), BALANCES)
def test_mass_balance_of_wear(recipe: str, wear: str, to: str, parameter: str | None, expected: float) -> None:
    assert effects_of(recipe, wear)[to, parameter].amount == pytest.approx(expected, rel=3e-3 if to == "nickel" else 4e-4)


def test_stripping_keeps_the_grams() -> None:
    """Zinc and nickel out of a gram of coating add up to the gram, whatever the share."""
    effects = effects_of("bisulfate-pickle", "coating stripped")
    for share in (0.0, 0.87, 1.0):
        grams = sum(e.amount * (share if p else 1.0) for (to, p), e in effects.items() if to in ("zinc", "nickel"))
        assert grams == pytest.approx(1.0)


def test_dissolving_a_gram_of_iron_takes_4_30_g_of_bisulfate() -> None:
    """4.30 g NaHSO4 per g iron as metal, 2 H+ per Fe: IUPAC masses, computed apart from this project."""
    effect = effects_of("bisulfate-pickle", "iron dissolved")["free acid", "acid_per_iron"]
    assert -2 * effect.amount == pytest.approx(4.30, abs=0.005)


@pytest.mark.parametrize(
    # L. Kirman's still-surface formula in gal/(ft2.h) with T in degF, times 40.745 L/m2 per gal/ft2
    ("recipe", "celsius"),
    [
        ("zinc-nickel-chloride-potassium", 35),
        ("alkaline-degreaser", 60),
        ("trivalent-passivate-coloured", 40),
        ("trivalent-passivate-clear", 25),
    ],
)
def test_evaporation_priors_follow_their_formula(recipe: str, celsius: float) -> None:
    litres_m2_h = 40.745 * math.exp(-(7.2 - 0.03236 * (celsius * 1.8 + 32)))
    assert load().recipes[recipe].parameters["evaporation_hot"].value == pytest.approx(litres_m2_h / 100, rel=0.03)


def test_drag_out_prior_covers_the_published_range() -> None:
    """Metal Finishing Guidebook 2012-13, p. 103, table II: 16.3 mL/m2 (vertical, well drained) to 407 (horizontal)."""
    for recipe in load().recipes.values():
        prior = recipe.parameters.get("drag_out")
        if prior is None:
            assert recipe.role == "dry"
            continue
        assert prior.factor is not None and prior.value / prior.factor > 0.163 and prior.value * prior.factor > 4.07


def test_metal_densities_and_masses_agree_with_periodictable() -> None:
    for metal in load().metals.values():
        element = periodictable.elements.symbol(metal.symbol)
        assert element.symbol == metal.symbol
        if metal.name not in ("graphite",):  # electrode graphite is porous
            assert metal.density_g_cm3 == pytest.approx(element.density, rel=0.01), metal.name
        assert (metal.electrons == 0) == (metal.name in ("graphite", "titanium", "coated titanium", "stainless steel"))


def test_fresh_degreaser_starts_at_its_ratio() -> None:
    """pfonline.com, three-indicator titration: 3.8 mL over 3.4 mL for a fresh cleaner, 6.0 over 3.4 for a worn one."""
    recipe = load().recipes["alkaline-degreaser"]
    ratio = recipe.ratios["total_to_free"]
    assert ratio.target == pytest.approx(3.8 / 3.4, abs=0.01)
    assert ratio.high is not None and ratio.high > 6.0 / 3.4
