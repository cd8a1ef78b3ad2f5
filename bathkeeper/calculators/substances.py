"""Substances as a label names them: ``sulfuric acid 96%``, ``EDTA 0.1M``, ``iron(II) 60g/L``; name, strength, equivalents."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files
from typing import Literal

import msgspec

from bathkeeper.calculators.model import CalcError
from bathkeeper.catalogue.loader import plain_formula, plain_name
from bathkeeper.chemistry.formulas import molar_mass
from bathkeeper.chemistry.solution_density_laliberte_2009 import SOLUTES, density_from_g_l, density_g_cm3
from bathkeeper.refusals import near, shorten
from bathkeeper.units.door import Preferences, UnitError, figures, number, understand

Family = Literal["acid", "base", "titrant", "ion"]
_PLURAL = {"acid": "acids", "base": "bases", "titrant": "titrants", "ion": "metals"}


class Substance(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One entry of ``substances.toml``."""

    name: str
    formula: str = ""
    symbol: str = ""
    equivalents: int = 0
    charge: int = 0
    carbonates: int = 0
    normality: bool = True
    heat_kj_per_eq: float = 0.0
    solid_kj_per_eq: float = 0.0
    highest_ph: float | None = None
    aliases: tuple[str, ...] = ()
    about: str = ""
    caution: str = ""

    @property
    def molar_mass_g_mol(self) -> float:
        return molar_mass(self.formula or self.symbol)


@dataclass(frozen=True)
class Strong:
    """A substance with its strength in solution. ``percent_w_w`` and ``density_g_ml``: where it was told by weight."""

    substance: Substance
    concentration_g_l: float
    percent_w_w: float | None = None
    density_g_ml: float | None = None
    echo: str = ""

    @property
    def equivalents_l(self) -> float:
        """Equivalents in a litre (N)."""
        return self.concentration_g_l / self.substance.molar_mass_g_mol * (self.substance.equivalents or self.substance.charge)


@lru_cache(maxsize=1)
def _tables() -> dict[str, dict[str, Substance]]:
    raw = tomllib.loads((files("bathkeeper.calculators") / "substances.toml").read_text(encoding="utf-8"))
    return {
        family: {name: msgspec.convert({"name": name, **body}, Substance) for name, body in table.items()}
        for family, table in raw.items()
    }


def substances(family: Family) -> Mapping[str, Substance]:
    """Every substance of a family by name."""
    return _tables()[family]


def substance(text: str, *families: Family) -> Substance | None:
    """A substance by name, alias or formula in the families named, the first that has it; None when none has."""
    word = plain_name(text)
    for family in families:
        for one in substances(family).values():
            if word in (plain_name(one.name), *(plain_name(a) for a in one.aliases)):
                return one
    for family in families:
        for one in substances(family).values():
            if one.formula and plain_formula(text) == plain_formula(one.formula):
                return one
    return None


def need(text: str, input: str, *families: Family) -> Substance:
    """The same. Raises CalcError with the near misses."""
    found = substance(text, *families)
    if found is None:
        known = [name for family in families for name in substances(family)]
        what = " or ".join(_PLURAL[f][:-1] for f in families)
        raise CalcError(f"{input}: there is no {what} `{shorten(text)}` here{near(text, known)}", input)
    return found


def split(text: str) -> tuple[str, str]:
    """``EDTA 0.1M`` -> (``EDTA``, ``0.1M``); ``iron(II) 60g/L``; the strength begins at a free-standing number."""
    match = re.fullmatch(r"(.*?\S)\s+([-+]?[0-9][0-9.,]*(?:[eE][+-]?[0-9]+)?\s*\S.*|[-+]?[0-9][0-9.,]*)", text.strip())
    return (match[1], match[2]) if match else (text.strip(), "")


def strong(text: str, input: str, example: str, prefs: Preferences, *families: Family, temperature_c: float = 20.0) -> Strong:
    """A substance with its strength: g/L, mol/L, N, % w/w (a bare % of a liquid is by weight), as solution density allows.

    Raises CalcError: unknown substance, no strength, or one that cannot be.
    """
    name, strength = split(text)
    if not strength and re.match(r"\s*[-+]?[0-9]", text):
        raise CalcError(f"{input}: `{shorten(text)}` does not say of what; write for example {example}", input)
    one = need(name, input, *families)
    if not strength:
        raise CalcError(f"{input}: how strong the {one.name} is, is missing; write for example {example}", input)
    percent = re.fullmatch(r"([-+0-9.,eE]+)\s*(?:%|percent|% ?w/w|%ww)", strength.strip())
    try:
        if percent:
            return _by_weight(one, number(percent[1], prefs), text, input, temperature_c)
        if not one.normality and re.search(r"[0-9]\s*m?N$|eq/L$", strength):
            raise CalcError(f"{input}: {one.name} has no one normality; {one.about}", input)
        equivalents = float(one.equivalents or one.charge)
        said = understand(
            strength, "concentration", prefs, molar_mass_g_mol=one.molar_mass_g_mol, equivalents_per_mol=equivalents
        )
    except UnitError as problem:
        raise CalcError(f"{input}: {problem}", input) from None
    if said.value <= 0:
        raise CalcError(f"{input}: `{shorten(text)}` has a strength of zero; write for example {example}", input)
    if said.value > 3000:
        raise CalcError(f"{input}: `{shorten(text)}` is stronger than any solution; write for example {example}", input)
    return Strong(one, said.value, echo=f"{one.name} {said.echo}")


def density_of(one: Substance, percent_w_w: float, temperature_c: float = 20.0) -> float | None:
    """Density of a solution, g/mL; None where the model does not know the substance or does not reach so far."""
    formula = _model_name(one)
    if formula is None or percent_w_w / 100.0 > SOLUTES[formula].largest_fraction:
        return None
    return density_g_cm3({formula: percent_w_w / 100.0}, temperature_c)


def density_at(one: Substance, concentration_g_l: float, temperature_c: float = 20.0) -> float | None:
    """The same from g/L."""
    formula = _model_name(one)
    if formula is None:
        return None
    try:
        return density_from_g_l({formula: concentration_g_l}, temperature_c)
    except ValueError:
        return None


def _model_name(one: Substance) -> str | None:
    return next((name for name in SOLUTES if plain_formula(name) == plain_formula(one.formula)), None)


BOTTLED = {("H2SO4", 96.0): 1.84, ("HNO3", 69.6): 1.41}
"""g/mL of what the density model does not reach (acid-base table, evergainful.com.my)."""


def _by_weight(one: Substance, percent: float, text: str, input: str, temperature_c: float) -> Strong:
    if not 0 < percent <= 100:
        raise CalcError(f"{input}: `{shorten(text)}` has to be above 0 and up to 100 %; write for example 20%", input)
    density = density_of(one, percent, temperature_c) or BOTTLED.get((one.formula, percent))
    if density is None:
        raise CalcError(
            f"{input}: the density of {one.name} at {percent:g} % is not known here, so % cannot become g/L; write it in g/L",
            input,
        )
    grams = 10.0 * percent * density
    echo = f"{one.name} {figures(percent)} % by weight, {figures(density)} g/mL, {figures(grams)} g/L"
    return Strong(one, grams, percent, density, echo)
