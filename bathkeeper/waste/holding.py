"""What a species of a waste vessel is to an acid-base sum: an acid, a metal, boric acid, ammonium, alkali, or unknown."""

from __future__ import annotations

import re

import msgspec

from bathkeeper.calculators.substances import Substance, substance, substances
from bathkeeper.catalogue.loader import plain_name
from bathkeeper.catalogue.schema import Species
from bathkeeper.chemistry.formulas import atoms, molar_mass
from bathkeeper.findings import Estimate
from bathkeeper.waste.spreads import sound, times
from bathkeeper.waste.stream import Stream

NEUTRAL = ("chloride", "sulfate", "nitrate", "potassium", "sodium", "sulfamate")
NEUTRAL_FORMULAS = ("Cl", "SO4", "NO3", "K", "Na", "NaCl", "KCl", "Na2SO4", "K2SO4", "NaNO3", "KNO3")
"""What neither takes nor gives base, by name and by formula."""
CHROMIUM_VI = ("CrO3", "CrO4", "Cr2O7")
COMPLEXING = ("edta", "citrate", "citric", "tartrate", "tartaric", "gluconate", "amine", "carrier", "complex", "pyrophosphate",
              "diphosphate", "second part", "ammonia")  # fmt: skip
"""Words of what holds metals in solution. Ammonium, EDTA, citrate, tartrate, triethanolamine and diphosphate: seen in studies
of zinc precipitation; carriers and the second parts of passivates: practice."""
COMPLEXING_FORMULAS = ("C10H14N2Na2O8", "C10H16N2O8", "C6H15NO3", "C6H8O7", "C4H6O6")
FALLEN_OUT = ("sludge", "filters", "carbon", "rags", "empty packaging", "resin")
"""Kinds of waste whose metals have already fallen out of solution."""

NOTHING = Estimate(0.0, 0.0, 0.0, "mol")


class Content(msgspec.Struct, frozen=True, kw_only=True):
    """One species of a vessel. ``is_``: acid, alkali, carbonate, boric acid, ammonium, metal, chromium(VI), neutral or unknown;
    ``mol`` of what counts in it, 0 where nobody knows; ``equivalents`` per mol."""

    name: str
    is_: str
    mol: Estimate = NOTHING
    equivalents: float = 0.0
    metal: Substance | None = None
    hydroxide_held: float = 0.0
    counts_weak: bool = False
    contaminant: bool = False
    complexing: bool = False
    iron_of_no_stated_charge: bool = False


def content_of(name: str, amount: Estimate, species: Species | None) -> Content:
    """What a species is and how many mol of it there are; ``unknown`` for what the catalogue cannot tell, never an error."""
    grams = sound(amount)
    formula = _formula(species)
    word = plain_name(name)
    complexing = grams is None or grams.high > 0
    complexing = complexing and (any(w in word for w in COMPLEXING) or _anhydrous(formula) in COMPLEXING_FORMULAS)
    if _is_chromium_vi(word, formula):
        return Content(name=name, is_="chromium(VI)")
    if grams is None or amount.unit == "mL":
        return Content(name=name, is_="unknown", complexing=complexing)
    if species is not None and species.kind in ("acid", "alkali"):
        return _acid_or_alkali(name, grams, species, formula, complexing)
    if species is None and (named := _named_acid_or_base(name)) is not None:
        return Content(
            name=name,
            is_="carbonate" if named.carbonates else "acid" if named in substances("acid").values() else "alkali",
            mol=_mol(grams, named.formula),
            equivalents=float(named.equivalents),
        )
    if word == "boric acid" or _anhydrous(formula) == "H3BO3":
        return Content(name=name, is_="boric acid", mol=_mol(grams, formula or "H3BO3"), equivalents=1.0)
    if word == "ammonia" or _anhydrous(formula) in ("NH3", "NH4OH"):
        return Content(name=name, is_="unknown", complexing=grams.high > 0)
    if word == "ammonium" or "NH4" in formula:
        each = max(formula.count("NH4"), 1) * (2 if "(NH4)2" in formula else 1)
        mol = times(_mol(grams, formula or "NH4"), each, "mol")
        return Content(name=name, is_="ammonium", mol=mol, equivalents=1.0, complexing=grams.high > 0)
    if "CO3" in formula:
        both = 1.0 if "HCO3" in formula else 2.0
        return Content(name=name, is_="carbonate", mol=_mol(grams, formula), equivalents=both)
    metal, per = _metal(name, formula)
    if metal is not None:
        return Content(
            name=name,
            is_="metal",
            mol=times(_mol(grams, formula or metal.symbol), per, "mol"),
            equivalents=float(metal.charge),
            metal=metal,
            hydroxide_held=species.hydroxide_held if species is not None else 0.0,
            contaminant=species is not None and species.kind == "contaminant",
            iron_of_no_stated_charge=metal.symbol == "Fe" and "(ii" not in word,
        )
    if not complexing and (word in NEUTRAL or _anhydrous(formula) in NEUTRAL_FORMULAS):
        return Content(name=name, is_="neutral")
    return Content(name=name, is_="unknown", complexing=complexing)


def is_solid(stream: Stream) -> bool:
    """Whether nothing but solid waste went in; False where nobody told the kinds."""
    return bool(stream.kinds) and all(k in FALLEN_OUT for k in stream.kinds)


def kilograms_of(stream: Stream) -> float | None:
    """Of the vessel's content, by its mass or its litres (taken for as heavy as water where no density is known)."""
    mass = sound(stream.mass_kg) if stream.mass_kg is not None else None
    if mass is not None and mass.value > 1e-6:
        return mass.value
    volume = sound(stream.volume_l) if stream.volume_l is not None else None
    if volume is None or volume.value <= 1e-6:
        return None
    density = stream.density_g_ml
    return volume.value * (density if density is not None and 0.5 < density < 3 else 1.0)


def _acid_or_alkali(name: str, grams: Estimate, species: Species, formula: str, complexing: bool) -> Content:
    known = substance(formula, "acid" if species.kind == "acid" else "base") if formula else None
    equivalents = species.equivalents or (float(known.equivalents) if known is not None else 0.0)
    if not formula or equivalents <= 0:
        return Content(name=name, is_="unknown", complexing=complexing)
    return Content(
        name=name,
        is_=species.kind,
        mol=_mol(grams, formula),
        equivalents=equivalents,
        counts_weak=species.counts_weak,
        complexing=complexing,
    )


def _named_acid_or_base(name: str) -> Substance | None:
    """What no recipe names goes by the plain name of an acid or base."""
    found = substance(name, "acid", "base")
    return found if found is not None and found.formula else None


def _formula(species: Species | None) -> str:
    """The species' formula where it is one, else nothing."""
    if species is None or not species.formula:
        return ""
    try:
        molar_mass(species.formula)
    except ValueError:
        return ""
    return species.formula


def _anhydrous(formula: str) -> str:
    return re.split("[.·]", formula)[0].strip()


def _mol(grams: Estimate, formula: str) -> Estimate:
    return times(grams, 1.0 / molar_mass(formula), "mol")


def _is_chromium_vi(word: str, formula: str) -> bool:
    named = "chrom" in word and ("(vi)" in word.replace(" ", "") or "hexavalent" in word)
    return named or word in ("chromic acid", "chromate", "dichromate") or any(c in formula for c in CHROMIUM_VI)


def _metal(name: str, formula: str) -> tuple[Substance | None, float]:
    """(the dissolved metal, atoms of it in the formula): by the species' name, else by the one metal of its formula."""
    elements = atoms(formula) if formula else {}
    named = next(
        (m for m in substances("ion").values() if plain_name(name) in (plain_name(w) for w in (m.name, *m.aliases))), None
    )
    if named is not None and (not elements or named.symbol in elements):
        return named, elements.get(named.symbol, 1.0)
    found = [m for m in substances("ion").values() if m.symbol in elements]
    if len({m.symbol for m in found}) == 1:
        return found[0], elements[found[0].symbol]
    return None, 0.0
