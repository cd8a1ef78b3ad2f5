"""The data recomputed: formula masses by an outside library, mass balances of wear effects, published metal contents."""

from __future__ import annotations

import math
import re

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
    ("nitric-dip-zinc", "coating dissolved", "free acid", "acid_per_zinc", -mass("HNO3") / ZN),
    *[
        (f"{name}{inhibitor}", wear, to, parameter, value)
        for name, per_h in (("hydrochloric-pickle", mass("HCl")), ("sulfuric-pickle", mass("H2SO4") / 2))
        for inhibitor in ("", "-inhibited")
        for wear, to, parameter, value in [
            ("rust dissolved", "free acid", "acid_per_rust", -per_h / FE),
            ("steel dissolved", "free acid", None, -2 * per_h / FE),
            ("coating stripped", "free acid", None, -2 * per_h / NI),
            ("coating stripped", "free acid", "stripped_zinc", 2 * per_h * (1 / NI - 1 / ZN)),
        ]
    ],
    *[
        (f"zinc-{name}", "idle zinc to acid", "acid", None, -2 / ZN)
        for name in ("chloride-ammonium", "chloride-low-ammonium", "chloride-potassium", "nickel-chloride-ammonium")
    ],
    ("zinc-nickel-chloride-ammonium", "idle zinc to acid", "nickel", "idle_cemented", -NI / ZN),
    *[
        (f"alkaline-zinc{name}", "carbonate from air", "free alkali", None, -2 * mass("NaOH") / mass("Na2CO3"))
        for name in ("", "-high", "-generator", "-nickel-generator", "-nickel-zinc-anodes", "-nickel-concentrates")
    ],
    *[
        (f"alkaline-zinc{name}", "idle zinc to zincate", "free alkali", None, -2 * mass("NaOH") / ZN)
        for name in ("", "-high", "-nickel-zinc-anodes")
    ],
    *[
        (f"alkaline-zinc{name}", "zinc generator", "free alkali", None, -2 * mass("NaOH") / ZN)
        for name in ("-generator", "-nickel-generator")
    ],
    ("acid-copper", "copper dissolved by air", "free acid", None, -mass("H2SO4") / mass("Cu")),
    *[
        (f"trivalent-passivate-{kind}", wear, to, None, value)
        for kind in ("zinc-blue", "zinc-coloured", "zinc-thick", "zinc-black")
        for wear, to, value in [("coating dissolved", "acid", -2 / ZN), ("iron dissolved", "acid", -2 / FE)]
    ],
    *[
        (f"trivalent-passivate-{kind}", wear, to, None, value)
        for kind in ("clear", "coloured", "zinc-nickel-black", "zinc-nickel-thick")
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


def test_evaporation_priors_follow_their_formula() -> None:
    """L. Kirman's still-surface formula in gal/(ft2.h) with T in degF, times 40.745 L/m2 per gal/ft2, at the degC it names."""
    seen = {}
    for recipe in load().recipes.values():
        prior = recipe.parameters.get("evaporation_hot")
        if prior is None:
            continue
        said = re.search(r"at (\d+) degC", prior.source)
        assert said is not None, recipe.name
        litres_m2_h = 40.745 * math.exp(-(7.2 - 0.03236 * (float(said[1]) * 1.8 + 32)))
        assert prior.value == pytest.approx(litres_m2_h / 100, rel=0.03), recipe.name
        seen[recipe.name] = float(said[1])
    # the table printed with the formula: 0.77 L/m2.h at 38 degC, 2.82 at 60
    assert (
        seen["alkaline-degreaser"] == 60 and load().recipes["alkaline-degreaser"].parameters["evaporation_hot"].value == 0.0282
    )
    for name, celsius in seen.items():
        target = load().recipes[name].indicators["temperature"].target or 0.0
        assert target < 28 or celsius == target, name


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
        inert = ("graphite", "titanium", "coated titanium", "stainless steel", "nickel-plated steel")
        assert (metal.electrons == 0) == (metal.name in inert)


def test_fresh_degreaser_starts_at_its_ratio() -> None:
    """pfonline.com, three-indicator titration: 3.8 mL over 3.4 mL for a fresh cleaner, 6.0 over 3.4 for a worn one."""
    recipe = load().recipes["alkaline-degreaser"]
    ratio = recipe.ratios["total_to_free"]
    assert ratio.target == pytest.approx(3.8 / 3.4, abs=0.01)
    assert ratio.high is not None and ratio.high > 6.0 / 3.4


def test_the_inhibitor_spares_what_its_source_says() -> None:
    """0.01 M organic inhibitor: 88 % less steel lost at 30 degC (Scientific Reports 2023, s41598-023-41165-7, table 4)."""
    for acid in ("hydrochloric", "sulfuric"):
        bare, inhibited = (load().recipes[f"{acid}-pickle{i}"].parameters["iron_rate"] for i in ("", "-inhibited"))
        assert 1 - inhibited.value / bare.value == pytest.approx(0.88, abs=0.015)
    # and the bare one lies where the papers are: 4.02 and 5.07 g/m2.h in 1 M acid, per dm2 and minute, with room above
    bare = load().recipes["hydrochloric-pickle"].parameters["iron_rate"]
    assert bare.factor is not None
    for g_m2_h in (4.02, 5.07):
        assert bare.value / bare.factor < g_m2_h / 6000 < bare.value * bare.factor


# oz/gal as printed (Metal Finishing Guidebook 2012-13, p. 374), 7.489 g/L each; the sheet's own g/L are rounded
PRINTED_OZ_GAL = [
    ("zinc-chloride-ammonium", "zinc", 2.0, 4.0),
    ("zinc-chloride-low-ammonium", "zinc", 3.0, 5.0),
    ("zinc-chloride-potassium", "zinc", 2.0, 4.0),
    ("zinc-chloride-potassium", "boric acid", 3.0, 5.0),
    ("alkaline-zinc", "zinc", 0.8, 1.2),
    ("alkaline-zinc", "free alkali", 10.0, 14.0),
    ("alkaline-zinc-high", "zinc", 1.8, 3.0),
    ("alkaline-zinc-high", "free alkali", 16.0, 20.0),
]


@pytest.mark.parametrize(("recipe", "species", "low", "high"), PRINTED_OZ_GAL)
def test_windows_of_zinc_baths_are_the_printed_ones(recipe: str, species: str, low: float, high: float) -> None:
    window = load().recipes[recipe].species[species]
    assert window.status == "seen"
    assert window.low == pytest.approx(low * 7.489, abs=0.6) and window.high == pytest.approx(high * 7.489, abs=0.6)


@pytest.mark.parametrize(
    ("recipe", "species", "salt", "low", "high"),
    [
        ("zinc-chloride-ammonium", "ammonium", "NH4Cl", 120, 150),
        ("zinc-chloride-low-ammonium", "ammonium", "NH4Cl", 30, 45),
        ("zinc-chloride-low-ammonium", "potassium", "KCl", 120, 150),
        ("zinc-chloride-potassium", "potassium", "KCl", 187, 225),
        ("acid-copper", "copper", "CuSO4.5H2O", 195, 248),
        ("watts-nickel", "sulfate", "NiSO4.6H2O", 225, 300),
        ("watts-nickel", "chloride", "NiCl2.6H2O", 30, 45),
        ("nickel-sulfamate", "chloride", "NiCl2.6H2O", 15, 30),
    ],
)
def test_windows_told_as_salts(recipe: str, species: str, salt: str, low: float, high: float) -> None:
    """g/L of the salt as printed (Metal Finishing Guidebook; Wikipedia on nickel; a sulfamate sheet), to the ion."""
    part = {"ammonium": "NH4", "potassium": "K", "copper": "Cu", "sulfate": "SO4", "chloride": "Cl2"}[species]
    crystal = 5 if "5H2O" in salt else 6 if "6H2O" in salt else 0
    share = mass(part) / (mass(salt.split(".")[0]) + crystal * mass("H2O"))
    window = load().recipes[recipe].species[species]
    assert window.low == pytest.approx(low * share, rel=0.02) and window.high == pytest.approx(high * share, rel=0.015)
