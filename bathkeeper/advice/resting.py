"""What a bath does while nobody uses it: boric acid falls out in the cold, water goes, weak solutions freeze."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise

from bathkeeper.catalogue.schema import Metal
from bathkeeper.chemistry.formulas import molar_mass
from bathkeeper.estimate.learned import learned
from bathkeeper.estimate.state import TankState
from bathkeeper.findings import Estimate

BORIC_ACID = ((0.0, 2.77), (10.0, 3.65), (20.0, 4.87), (25.0, 5.74), (30.0, 6.77), (40.0, 8.9), (50.0, 11.39), (60.0, 14.89))
"""Solubility of boric acid: (degC, g in 100 g of water)."""

BORIC_SOURCE = (
    "seen: boric acid in 100 g of water 2.77 g at 0, 3.65 at 10, 4.87 at 20, 6.77 at 30, 8.9 at 40 degC (en.chemister.ru, "
    "id 397); about 30 g/L in a cold nickel bath (pfonline.com, crystals in nickel tank)"
)
WATER_KG_L = 0.9  # in a litre of a plating bath [practice]
CRYOSCOPIC = 1.86  # K kg/mol of water [memory of handbook tables]
FROST_SOURCE = "derived: 1.86 K for each mol of dissolved particles in a kg of water (memory), taken as ideal"


def boric_soluble_g_l(temperature_c: float) -> float:
    """Grams of boric acid that a litre of a plating bath keeps dissolved, by straight lines between the rows of the table.

    Raises:
        ValueError: outside 0 to 60 degC.
    """
    if not BORIC_ACID[0][0] <= temperature_c <= BORIC_ACID[-1][0]:
        raise ValueError(f"the table of boric acid runs from 0 to 60 degC, got {temperature_c:g}")
    for (t0, s0), (t1, s1) in pairwise(BORIC_ACID):
        if temperature_c <= t1:
            return 10.0 * WATER_KG_L * (s0 + (s1 - s0) * (temperature_c - t0) / (t1 - t0))
    raise AssertionError(temperature_c)


@dataclass(frozen=True)
class Crystals:
    """Boric acid that lies on the bottom at a temperature: g/L and g; ``soluble_g_l`` is what stays in solution."""

    content_g_l: float
    soluble_g_l: float
    temperature_c: float
    grams: float


def crystals(state: TankState, temperature_c: float) -> Crystals | None:
    """What falls out of a bath that holds boric acid; None of one that holds none."""
    if "boric acid" not in state.species or not state.alive:
        return None
    content, _ = state.concentration("boric acid")
    soluble = boric_soluble_g_l(min(max(temperature_c, BORIC_ACID[0][0]), BORIC_ACID[-1][0]))
    return Crystals(content, soluble, temperature_c, max(content - soluble, 0.0) * state.volume_l)


def freezes_c(state: TankState, metals: Mapping[str, Metal]) -> float:
    """About where the first ice shows, degC, by what is on record of its contents, without additives and what nobody tracks."""
    mol_l = 0.0
    for name, species in state.species.items():
        formula = species.formula or (metals[name].symbol if name in metals else "")
        if not formula or species.kind == "additive":
            continue
        content, _ = state.concentration(name)
        ions = (species.equivalents or 1.0) + 1.0 if species.kind in ("acid", "alkali") else 1.0
        mol_l += ions * max(content, 0.0) / molar_mass(formula)
    return min(-CRYOSCOPIC * mol_l / WATER_KG_L, 0.0) + 0.0


def evaporates_l(state: TankState, days: float) -> Estimate | None:
    """Litres that an open cold tank loses; None where the recipe knows of no evaporation."""
    found = learned(state).get("evaporation_cold")
    if found is None:
        return None
    extent = state.surface_dm2 * days
    most = state.volume_l
    return Estimate(min(found.value * extent, most), min(found.low * extent, most), min(found.high * extent, most), "L")


def displaced_l(state: TankState, anodes: list[str], metals: Mapping[str, Metal]) -> float:
    """Litres by which the mark falls when these anodes are lifted: their own volume, no evaporation."""
    return sum(
        state.gauss.value(f"anode:{n}") / metals[state.anodes[n].metal].density_g_cm3 / 1000
        for n in anodes
        if state.anodes[n].metal in metals
    )
