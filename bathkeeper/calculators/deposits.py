"""What a deposit is, as typed: ``zinc``, ``copper(I)`` or ``zinc-nickel:13%``; grams an Ah and density of it."""

from __future__ import annotations

import re
from dataclasses import dataclass

from bathkeeper.calculators.model import CalcError
from bathkeeper.catalogue.loader import Catalogue
from bathkeeper.catalogue.schema import Metal
from bathkeeper.chemistry import alloy
from bathkeeper.chemistry.formulas import molar_mass
from bathkeeper.units.door import Preferences, UnitError, figures, understand

EXAMPLE = "zinc, copper(I) or zinc-nickel:13%"


@dataclass(frozen=True)
class Deposit:
    """A metal or an alloy of metals of the catalogue; ``fractions`` by mass."""

    title: str
    metals: tuple[Metal, ...]
    fractions: dict[str, float]

    @property
    def molar_masses_g_mol(self) -> dict[str, float]:
        return {m.name: molar_mass(m.symbol) for m in self.metals}

    @property
    def electrons(self) -> dict[str, float]:
        return {m.name: float(m.electrons) for m in self.metals}

    @property
    def g_per_ah(self) -> float:
        """At 100 % efficiency."""
        return alloy.deposit_g_per_ah(self.fractions, self.molar_masses_g_mol, self.electrons)

    @property
    def density_g_cm3(self) -> float:
        """By volume mixing."""
        return alloy.density_g_cm3(self.fractions, {m.name: m.density_g_cm3 for m in self.metals})

    @property
    def sources(self) -> tuple[str, ...]:
        known = (f"density of {m.name}, {m.status}: {m.source or 'an editable default'}" for m in self.metals)
        mixed = ("density of the alloy: by volume mixing of its metals",) if len(self.metals) > 1 else ()
        return ("atomic masses: IUPAC, as in periodictable", *known, *mixed)

    @property
    def cautions(self) -> tuple[str, ...]:
        return tuple(m.caution for m in self.metals if m.caution)


def deposit_of(text: str, input: str, catalogue: Catalogue, prefs: Preferences) -> Deposit:
    """A deposit as typed. Raises CalcError: unknown metal, an alloy without its share, a metal that is not plated."""
    alloyed = re.fullmatch(r"\s*(.+?)\s*-\s*([^:]+?)\s*(?::\s*(.+))?", text)
    if not alloyed:
        if ":" in text:
            raise CalcError(f"{input}: `{text.strip()}` is not understood; write for example {EXAMPLE}", input)
        metal = _metal(text, input, catalogue)
        return Deposit(metal.name, (metal,), {metal.name: 1.0})
    base, other = (_metal(alloyed[i], input, catalogue) for i in (1, 2))
    if base.name == other.name:
        raise CalcError(f"{input}: an alloy has two metals; write for example {EXAMPLE}", input)
    if not alloyed[3]:
        name = f"{base.name}-{other.name}"
        raise CalcError(f"{input}: how much {other.name} is in {name} is missing; write for example {name}:13%", input)
    if "%" not in alloyed[3]:
        raise CalcError(f"{input}: `{text.strip()}` needs a percent sign; write for example {EXAMPLE}", input)
    try:
        share = understand(alloyed[3], "fraction", prefs).value
    except UnitError as problem:
        raise CalcError(f"{input}: {problem}", input) from None
    if not 0 < share < 1:
        raise CalcError(f"{input}: `{text.strip()}` is no alloy; the share has to be above 0 and below 100 %", input)
    title = f"{base.name}-{other.name} with {figures(share * 100)} % {other.name}"
    return Deposit(title, (base, other), {base.name: 1.0 - share, other.name: share})


def _metal(text: str, input: str, catalogue: Catalogue) -> Metal:
    try:
        metal = catalogue.metal(text.strip())
    except ValueError as problem:
        raise CalcError(f"{input}: {problem}", input) from None
    if metal.electrons < 1:
        raise CalcError(f"{input}: {metal.name} is not laid down by current; write for example {EXAMPLE}", input)
    return metal


def valence_note(deposit: Deposit, catalogue: Catalogue) -> str:
    """``copper: 2 electrons an atom (copper(I): 1)``: the valence has to be visible, because it is worth a factor."""
    notes = []
    for metal in deposit.metals:
        others = [m for m in catalogue.metals.values() if m.symbol == metal.symbol and m.electrons not in (0, metal.electrons)]
        beside = f" ({', '.join(f'{m.name}: {m.electrons}' for m in others)})" if others else ""
        notes.append(f"{metal.name}: {metal.electrons} electron{'s' if metal.electrons > 1 else ''} an atom{beside}")
    return ", ".join(notes)
