"""Which reagent feeds a bath with what it lacks: the salt of a metal, the acid for its pH."""

from __future__ import annotations

from collections.abc import Collection, Iterable

from bathkeeper.catalogue.loader import Catalogue, CatalogueError
from bathkeeper.catalogue.schema import Reagent, Recipe
from bathkeeper.chemistry.formulas import mass_fraction, molar_mass


def salts_of(species: str, recipe: Recipe, catalogue: Catalogue) -> list[Reagent]:
    """Reagents that bring a species and nothing that the bath does not hold anyway, those of its own make-up first.

    Acids, bases and metals as powder are left out: they move the pH and are a treatment, not a feed.
    """
    own = [s.reagent for s in recipe.make_up]
    found = [
        r
        for r in catalogue.reagents.values()
        if species in r.brings and set(r.brings) <= set(recipe.species) and not r.acid_equivalents and r.formula
    ]
    return sorted(found, key=lambda r: (own.index(r.name) if r.name in own else len(own), r.form != "solid", -r.purity))


def species_g_per_g(reagent: Reagent, species: str) -> float:
    """Grams of a species that a gram out of the bag brings."""
    return reagent.purity * mass_fraction(reagent.formula, reagent.brings[species])


def acid_of(recipe: Recipe, catalogue: Catalogue, shelf: Collection[str] = ()) -> Reagent | None:
    """The acid that this bath takes without a stranger in it: one on the shelf, else the usual strength.

    Hydrochloric where chloride is its salt, sulfuric where sulfate is; never nitric. None where neither is at home.
    """
    kinds: list[str] = []
    if "chloride" in recipe.species and not {"sulfate", "sulfamate"} & set(recipe.species):
        kinds.append("hydrochloric acid")
    elif "sulfate" in recipe.species or recipe.species:
        kinds.append("sulfuric acid")
    acids = [r for r in catalogue.reagents.values() if r.acid_equivalents > 0 and r.name.startswith(tuple(kinds))]
    on_shelf = [r for r in acids if r.name in shelf]
    strongest = sorted(on_shelf or acids, key=lambda r: -r.purity)
    return strongest[0] if strongest else None


def acid_ml(reagent: Reagent, mol: float) -> float:
    """mL out of the bottle that hold so many equivalents (mol H+)."""
    assert reagent.density_g_ml is not None
    per_ml = reagent.density_g_ml * reagent.purity * reagent.acid_equivalents / molar_mass(reagent.formula)
    return mol / per_ml


def known(catalogue: Catalogue, names: Iterable[str]) -> list[Reagent]:
    """The catalogue's reagents of these names; unknown ones are left out."""
    found = []
    for name in names:
        try:
            found.append(catalogue.reagent(name))
        except CatalogueError:
            continue
    return found
