"""Density and conductivity coefficients recomputed: the density model by finite difference, ions by hand."""

from __future__ import annotations

import re

import molmass
import pytest

from bathkeeper.catalogue.loader import load
from bathkeeper.chemistry.solution_density_laliberte_2009 import density_from_g_l

ZNCL2, NICL2 = "ZnCl2", "NiCl2"
# recipe -> (degC, {species: {salt: share of the species that it brings}})
AS_SALTS: dict[str, tuple[float, dict[str, dict[str, float]]]] = {
    "zinc-nickel-chloride-potassium": (25, {"zinc": {ZNCL2: 1}, "nickel": {NICL2: 1}, "potassium": {"KCl": 1}}),
    "zinc-nickel-chloride-ammonium": (35, {"zinc": {ZNCL2: 1}, "nickel": {NICL2: 1}, "ammonium": {"NH4Cl": 1}}),
    "zinc-chloride-ammonium": (25, {"zinc": {ZNCL2: 1}, "ammonium": {"NH4Cl": 1}}),
    "zinc-chloride-low-ammonium": (25, {"zinc": {ZNCL2: 1}, "ammonium": {"NH4Cl": 1}, "potassium": {"KCl": 1}}),
    "zinc-chloride-potassium": (25, {"zinc": {ZNCL2: 1}, "potassium": {"KCl": 1}}),
    # 260 g/L NiSO4.6H2O and 40 g/L NiCl2.6H2O: 58.06 and 9.88 g/L nickel
    "watts-nickel": (55, {"nickel": {"NiSO4": 58.06 / 67.94, NICL2: 9.88 / 67.94}}),
    "acid-copper": (25, {"copper": {"CuSO4": 1}, "free acid": {"H2SO4": 1}}),
    "bisulfate-pickle": (25, {"free acid": {"NaHSO4": 1}}),
    **{f"hydrochloric-pickle{i}": (20, {"free acid": {"HCl": 1}, "iron": {"FeCl2": 1}}) for i in ("", "-inhibited")},
    **{f"sulfuric-pickle{i}": (25, {"free acid": {"H2SO4": 1}, "iron": {"FeSO4": 1}}) for i in ("", "-inhibited")},
    **{
        f"alkaline-zinc{i}": (25, {"free alkali": {"NaOH": 1}, "carbonate": {"Na2CO3": 1}})
        for i in ("", "-generator", "-high", "-nickel-generator", "-nickel-zinc-anodes", "-nickel-concentrates")
    },
}
CARRIED_BY = {"zinc": "Zn", "nickel": "Ni", "potassium": "K", "ammonium": "NH4", "copper": "Cu", "iron": "Fe"}


def salt_g(species: str, salt: str) -> float:
    """Grams of salt that hold one gram of the species; acids, lye and carbonate are counted whole."""
    carrier = CARRIED_BY.get(species)
    return 1.0 if carrier is None else float(molmass.Formula(salt).mass / molmass.Formula(carrier).mass)


def composition(recipe: str) -> dict[str, float]:
    comp: dict[str, float] = {}
    for species, salts in AS_SALTS[recipe][1].items():
        for salt, share in salts.items():
            target = load().recipes[recipe].species[species].target or 0.0
            comp[salt] = comp.get(salt, 0.0) + share * target * salt_g(species, salt)
    return comp


@pytest.mark.parametrize("recipe", AS_SALTS)
def test_density_coefficients_follow_the_model(recipe: str) -> None:
    celsius, species = AS_SALTS[recipe]
    base = composition(recipe)
    for name, salts in species.items():
        up = {s: c + salts.get(s, 0.0) * salt_g(name, s) for s, c in base.items()}
        slope = density_from_g_l(up, celsius) - density_from_g_l(base, celsius)
        stated = load().recipes[recipe].density[name]
        assert stated.value == pytest.approx(slope, rel=0.06), name
        assert stated.status == "derived" and "Laliberte" in stated.source


def test_no_coefficient_of_the_model_is_left_out() -> None:
    for name, recipe in load().recipes.items():
        for species, k in recipe.density.items():
            if k.status == "derived":
                assert species in AS_SALTS[name][1], (name, species)


@pytest.mark.parametrize("recipe", AS_SALTS)
def test_a_bath_at_its_target_weighs_what_the_model_says(recipe: str) -> None:
    """The model, with boric acid and zincate, which it does not know, by their coefficients from memory."""
    bath = load().recipes[recipe]
    stated = bath.density_at_target
    assert stated is not None and stated.temperature_c == AS_SALTS[recipe][0]
    outside = sum(k.value * (bath.species[s].target or 0.0) for s, k in bath.density.items() if k.status == "memory")
    assert stated.value == pytest.approx(density_from_g_l(composition(recipe), stated.temperature_c) + outside, abs=5e-4)


# g/mL: HCl 10 % 1.048 at 104.8 g/L (liquisearch.com); H2SO4 10 % 1.0661 at 106.6 g/L, CuSO4 left out (engineeringtoolbox.com)
# and the waste-acid formula 0.9971 + 0.00446 C(HCl) at 25 degC, C in g/100 mL (ASM, pickling)
@pytest.mark.parametrize(
    ("recipe", "printed"),
    [("hydrochloric-pickle", 1.048 - 4.8 * 0.000446), ("sulfuric-pickle", 1.0661 + 43.4 * (1.1398 - 1.0661) / (228 - 106.6))],
)
def test_pickle_densities_agree_with_printed_tables(recipe: str, printed: float) -> None:
    stated = load().recipes[recipe].density_at_target
    assert stated is not None and stated.value == pytest.approx(printed, abs=0.004)


def test_iron_in_hydrochloric_acid_weighs_what_the_waste_acid_formula_says() -> None:
    """ASM, pickling: 0.00815 g/mL per g/100 mL FeCl2, 4.406 times 10 g/L iron by formula masses."""
    coefficient = load().recipes["hydrochloric-pickle"].density["iron"]
    assert coefficient.value == pytest.approx(0.00815 / 4.406, rel=0.04)


# ions at infinite dilution, S.cm2/mol of charge: CRC Handbook table, as in the open data of the package `chemicals`
IONS = {
    "half-Zn": 52.8, "half-Ni": 49.6, "half-Cu": 53.6, "half-Fe": 54.0, "third-Cr": 67.0, "K": 73.48, "NH4": 73.5, "Na": 50.08,
    "H": 349.65, "Cl": 76.31, "half-SO4": 80.0, "NO3": 71.42, "OH": 198.0, "half-CO3": 69.3, "NH2SO3": 48.3,
}  # fmt: skip
ANIONS = ("Cl", "half-SO4", "NO3", "OH", "half-CO3", "NH2SO3")
PRINTED = re.compile(r"limiting conductivities (.+) S\.cm2/mol .* ([\d.]+) g/mol$")


def test_conductivity_coefficients_follow_the_ions() -> None:
    seen = 0
    for recipe in load().recipes.values():
        for species, k in recipe.conductivity.items():
            found = PRINTED.search(k.source)
            if found is None:
                continue
            total = charge = 0.0
            for term in found[1].split(" + "):
                count, ion, value = re.fullmatch(r"(?:(\d) )?([\w-]+) ([\d.]+)", term).groups()  # type: ignore[union-attr]
                assert float(value) == IONS[ion], (recipe.name, species, ion)
                total += float(count or 1) * IONS[ion]
                charge += float(count or 1) * (-1 if ion in ANIONS else 1)
            assert charge == 0, (recipe.name, species)
            assert k.value == pytest.approx(total / float(found[2]), abs=0.006), (recipe.name, species)
            seen += 1
    assert seen > 30
