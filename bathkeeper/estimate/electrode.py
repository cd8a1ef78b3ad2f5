"""What charge does in a tank: metal laid down, anodes dissolved, acid used, hydrogen made (all to first order in a short
step)."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from bathkeeper.catalogue.schema import Metal
from bathkeeper.chemistry.constants import MOL_PER_AH, MOLAR_VOLUME_25C_L
from bathkeeper.chemistry.formulas import molar_mass
from bathkeeper.estimate.changes import Changes
from bathkeeper.estimate.dual import Dual, exp, power
from bathkeeper.estimate.state import TankState

LOWEST_MODELLED_A_DM2 = 0.5  # below this an alloy bath turns to normal codeposition, where the composition rule does not hold
MOST_PIECES = 200  # beyond, a charge has emptied the bath of its metal many times over
LARGEST_SHARE_OF_A_METAL = 0.02  # a charge is cut into steps that move no metal by more than this


@dataclass(frozen=True)
class BranchCharge:
    """Charge as read on one supply (Ah), and the anodes on it; no anodes named means all that the tank has."""

    supply: str
    charge_ah: float
    anodes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Plating:
    """One step's charge: its branches, and what the composition rule asks for. ``area`` in dm2 is None when unknown."""

    branches: tuple[BranchCharge, ...]
    area: float | None
    minutes: float | None
    temperature_c: float | None

    @property
    def read_ah(self) -> float:
        return sum(b.charge_ah for b in self.branches)


def plate(state: TankState, plating: Plating, metals: Mapping[str, Metal], noise: str) -> TankState:
    """The tank after the charge. ``noise`` names the state entry that holds this run's own charge error (log scale)."""
    recipe = state.recipe
    if recipe is None or recipe.electrode is None or plating.read_ah <= 0:
        return state
    per_step = max(LARGEST_SHARE_OF_A_METAL * _least_metal_g(state, recipe.electrode.deposit), 0.5)
    pieces = min(max(1, math.ceil(1.3 * plating.read_ah / per_step)), MOST_PIECES)
    for _ in range(pieces):
        state = _short_step(state, plating, 1.0 / pieces, metals, noise)
    return state


def deposit_fractions(state: TankState, density_a_dm2: float | None, temperature_c: float | None) -> dict[str, Dual]:
    """Mass fractions of the deposit now; the base metal takes what the others leave.

    w = w0 (r/r0)^a exp(b dT) (j/j0)^c with r the alloy metal's share of the metals in solution.
    """
    assert state.recipe is not None and state.recipe.electrode is not None
    metals = state.recipe.electrode.deposit
    reference = state.recipe.electrode.reference
    fractions: dict[str, Dual] = {}
    rest: Dual | float = 1.0
    for metal in metals[1:]:
        w = state.parameter(f"deposit_{metal}")
        total = state.gauss.dual(f"mass:{metals[0]}") + sum(state.gauss.dual(f"mass:{m}") for m in metals[1:])
        mass = state.gauss.dual(f"mass:{metal}")
        if reference is not None and total.value > 0 and mass.value > 1e-9:
            w = w * power(mass / total / reference.ratio, state.parameter("ratio_exponent"))
            if temperature_c is not None:
                w = w * exp(state.parameter("per_degree") * (temperature_c - reference.temperature_c))
            if density_a_dm2 is not None:
                j = max(density_a_dm2, LOWEST_MODELLED_A_DM2)
                w = w * exp(state.parameter("density_exponent") * math.log(j / reference.density_a_dm2))
        elif mass.value <= 1e-9:
            w = w * 0.0
        if w.value > 0.9:
            w = w * (0.9 / w.value)
        fractions[metal] = w
        rest = rest - w
    one = state.gauss.dual("volume") * 0.0 + 1.0
    fractions[metals[0]] = rest if isinstance(rest, Dual) else one
    return fractions


def deposit_g_per_ah(state: TankState, fractions: Mapping[str, Dual], metals: Mapping[str, Metal]) -> Dual:
    """Grams of deposit per Ah that passed: efficiency x 3600/F / e, e the electrons per gram of deposit."""
    e: Dual | float = 0.0
    for metal, w in fractions.items():
        e = w * (metals[metal].electrons / molar_mass(metals[metal].symbol)) + e
    return state.parameter("cathode_efficiency") * MOL_PER_AH / e


def _short_step(state: TankState, plating: Plating, part: float, metals: Mapping[str, Metal], noise: str) -> TankState:
    recipe = state.recipe
    assert recipe is not None and recipe.electrode is not None
    changes = Changes(state)
    own_error = exp(state.gauss.dual(noise))
    zero = state.gauss.dual("volume") * 0.0
    charge: Dual = zero
    hydroxide: Dual = zero  # mol OH- made, beside what splitting water would make and use up in equal amounts
    for branch in plating.branches:
        passed = exp(state.gauss.dual(f"gain:{branch.supply}")) * own_error * (branch.charge_ah * part)
        charge = charge + passed
        for metal, share, names in _anode_shares(state, branch.anodes):
            dissolving = passed * share * state.parameter(f"anode_efficiency_{metal}")
            m = metals[metal]
            grams = dissolving * (MOL_PER_AH * molar_mass(m.symbol) / m.electrons)
            if names:
                taken = _off_anodes(state, names, grams)
                for name, part_g in taken.items():
                    changes.add("anodes dissolved", f"anode:{name}", -part_g)
                given = sum(p.value for p in taken.values())
                if given < grams.value:  # no more metal than the anodes have
                    dissolving, grams = dissolving * (given / grams.value), grams * (given / grams.value)
            changes.add("anodes dissolved", f"mass:{metal}", grams)
            hydroxide = hydroxide - dissolving * (MOL_PER_AH * _beyond_water(state, metal, m))
    cathode: Dual = zero
    if recipe.electrode.deposit:
        density = plating.read_ah * 60 / plating.minutes / plating.area if plating.minutes and plating.area else None
        fractions = deposit_fractions(state, density, plating.temperature_c)
        deposit = deposit_g_per_ah(state, fractions, metals) * charge
        for metal, w in fractions.items():
            there = state.gauss.dual(f"mass:{metal}")
            laid_down = deposit * w
            changes.add("deposit", f"mass:{metal}", -(laid_down if laid_down.value < there.value else there))
            m = metals[metal]
            hydroxide = hydroxide + laid_down * (m.electrons / molar_mass(m.symbol) * _beyond_water(state, metal, m))
        cathode = state.parameter("cathode_efficiency") * charge
        _book_hydroxide(changes, hydroxide)
    hydrogen_l = (charge.value - cathode.value) * MOL_PER_AH / 2 * MOLAR_VOLUME_25C_L
    after = changes.applied()
    counters = replace(after.counters, hydrogen_l=after.counters.hydrogen_l + hydrogen_l)
    return replace(after, counters=counters)


def _beyond_water(state: TankState, metal: str, m: Metal) -> float:
    """OH- that an electron makes by laying the metal down, beyond the one that it would make by splitting water.

    A metal that binds ``held`` OH- an atom (zincate 4, a simple salt none) sets them free: held/n - 1 an electron.
    """
    species = state.species.get(metal)
    return (species.hydroxide_held if species is not None else 0.0) / m.electrons - 1.0


def _book_hydroxide(changes: Changes, mol: Dual) -> None:
    """Puts base made at the electrodes (mol; below zero, acid) on what the bath counts acid and caustic by.

    With efficiencies eta this is d OH- = (eta_c - eta_a) Q 3600/F in a zincate bath (metal up, caustic down) and
    d H+ = (eta_c - eta_a) Q 3600/F in an acid one. A bath with neither as a species keeps it on the acid balance.
    """
    counted = False
    own = changes.state.recipe.species if changes.state.recipe is not None else {}
    for name, species in own.items():
        if species.kind in ("acid", "alkali") and species.formula:
            sign = 1.0 if species.kind == "alkali" else -1.0
            grams_per_mol = molar_mass(species.formula) / (species.equivalents or 1.0)
            changes.add("acid balance", f"mass:{name}", mol * (sign * grams_per_mol))
            counted = True
    if not counted:
        changes.add("acid balance", "acid", -mol)


def _anode_shares(state: TankState, named: Sequence[str]) -> list[tuple[str, Dual, tuple[str, ...]]]:
    """(metal, share of the branch's current, anodes) of a branch.

    With no anodes on record the bath is fed by the recipe's own metals, and a base metal of which no anode was ever logged is
    there all the same. Hung anodes count before lifted ones; lifted ones must
    have been in for the run when no other of their metal hangs. A metal without an anode efficiency in the recipe (steel in
    rust removal, inert anodes) carries current without dissolving by it.
    """
    assert state.recipe is not None and state.recipe.electrode is not None
    one = state.gauss.dual("volume") * 0.0 + 1.0
    known = {n: a for n, a in state.anodes.items() if not a.retired and (not named or n in named)}
    by_metal: dict[str, tuple[str, ...]] = {}
    for metal in dict.fromkeys(a.metal for a in known.values()):
        of_metal = {n: a for n, a in known.items() if a.metal == metal}
        hung = tuple(n for n, a in of_metal.items() if a.hung)
        by_metal[metal] = hung or tuple(of_metal)
    if not by_metal:
        by_metal = dict.fromkeys(state.recipe.electrode.anodes, ())
    elif not named:
        base = state.recipe.electrode.anodes[:1]
        never = [m for m in base if all(a.metal != m for a in state.anodes.values())]
        by_metal = {**dict.fromkeys(never, ()), **by_metal}
    shares: dict[str, Dual] = {}
    left = one
    for metal in by_metal:
        if len(by_metal) > 1 and _has(state, f"anode_share_{metal}"):
            shares[metal] = state.parameter(f"anode_share_{metal}")
            left = left - shares[metal]
    rest = [m for m in by_metal if m not in shares]
    for metal in rest:
        shares[metal] = left / float(len(rest))
    return [(m, shares[m], by_metal[m]) for m in by_metal if _has(state, f"anode_efficiency_{m}")]


def _off_anodes(state: TankState, names: Sequence[str], grams: Dual) -> dict[str, Dual]:
    """How much each anode gives: by area (equally where one is not known), and a spent one no more than it has."""
    areas = {n: state.anodes[n].area_dm2 for n in names}
    weights = {n: a if a is not None and all(areas.values()) else 1.0 for n, a in areas.items()}
    given: dict[str, Dual] = {}
    left, open_names = grams, list(names)
    while open_names:
        total = sum(weights[n] for n in open_names)
        shares = {n: left * (weights[n] / total) for n in open_names}
        spent = [n for n in open_names if shares[n].value > state.gauss.value(f"anode:{n}")]
        if not spent:
            return given | shares
        for name in spent:
            given[name] = state.gauss.dual(f"anode:{name}")
            left = left - given[name]
            open_names.remove(name)
    return given


def _has(state: TankState, parameter: str) -> bool:
    return state.recipe is not None and parameter in state.recipe.parameters


def _least_metal_g(state: TankState, metals: Sequence[str]) -> float:
    return min((state.gauss.value(f"mass:{m}") for m in metals), default=0.0)
