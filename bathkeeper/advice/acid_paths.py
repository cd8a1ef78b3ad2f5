"""Where acid (or caustic) goes in a plating bath: through the electrodes, by metal that dissolves without current, out with
the solution; each as believed now, with its spread.

Everything here is in mol of H+ in an acid bath and of OH- in a caustic one, above zero where it is used.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Literal

from bathkeeper.catalogue.schema import Effect, Metal, Species, Wear
from bathkeeper.chemistry.formulas import molar_mass
from bathkeeper.entries import Anode, AnyEntry, Unknown
from bathkeeper.estimate.dual import Dual
from bathkeeper.estimate.electrode import BranchCharge, Plating, plate
from bathkeeper.estimate.state import Z95, TankState
from bathkeeper.estimate.wear import ANODE_AREA_DM2_PER_KG
from bathkeeper.findings import Estimate

HUNDRED_AH = 100.0
NO_ERROR, TRIAL_SUPPLY = "trial charge", "trial supply"
Kind = Literal["acid", "caustic"]


@dataclass(frozen=True)
class Counted:
    """What a bath counts its acid or caustic by: a species of its own (``species``, mol per gram), else the acid balance."""

    kind: Kind
    species: str | None
    mol_per_g: float

    @property
    def name(self) -> str:
        return f"mass:{self.species}" if self.species is not None else "acid"

    def mol(self, amount: float) -> float:
        """From the unit that flows are kept in (g of the species, else mol) to mol."""
        return amount * self.mol_per_g if self.species is not None else amount


def counted(state: TankState) -> Counted:
    """How this bath counts: free alkali, free acid, or nothing but the acid balance."""
    assert state.recipe is not None
    for name, species in state.recipe.species.items():
        if species.kind in ("acid", "alkali") and species.formula:
            mol_per_g = (species.equivalents or 1.0) / molar_mass(species.formula)
            return Counted("caustic" if species.kind == "alkali" else "acid", name, mol_per_g)
    return Counted("acid", None, 1.0)


def per_100_ah(state: TankState, metals: Mapping[str, Metal]) -> Estimate:
    """What 100 Ah use at the electrodes, mol: one Ah on the anodes that are there, as the tank itself would book it.

    In an acid bath that is (mean anode efficiency - cathode efficiency) x 3600/F; spread: what is not known of efficiencies
    and of the split.
    """
    by = counted(state)
    before = state.gauss.value(by.name)
    blank = state.gauss.replaced({by.name: (before, 0.0)}).extended([(NO_ERROR, 0.0, 0.0), (f"gain:{TRIAL_SUPPLY}", 0.0, 0.0)])
    trial = plate(replace(state, gauss=blank), Plating((BranchCharge(TRIAL_SUPPLY, 1.0),), None, None, None), metals, NO_ERROR)
    used = HUNDRED_AH * by.mol(before - trial.gauss.value(by.name))
    half = HUNDRED_AH * by.mol(Z95 * math.sqrt(max(trial.gauss.variance(by.name), 0.0)))
    return Estimate(used, used - half, used + half, "mol")


def gains(state: TankState) -> tuple[float, float]:
    """(true / read, its 95 % half-width) of the current sources, the mean of those on record; (1, 0) where there is none."""
    names = [n for n in state.gauss.names if n.startswith("gain:")]
    if not names:
        return 1.0, 0.0
    mean = sum(state.gauss.value(n) for n in names) / len(names)
    variance = sum(state.gauss.variance(n) for n in names) / len(names)
    return math.exp(mean), Z95 * math.sqrt(max(variance, 0.0))


@dataclass(frozen=True)
class Dissolved:
    """Chemical dissolution since the make-up by one wear term: what it used (mol), and what it put in (g by metal).

    ``most_mol``: had none of it gone a way that uses no acid (zinc that plates nickel out)."""

    term: str
    used_mol: Estimate
    most_mol: float
    metals_g: dict[str, float]
    dm2_days: float


def dissolved(state: TankState, entries: Iterable[AnyEntry | Unknown], until: datetime) -> list[Dissolved]:
    """What dissolved without current since the make-up, at the rates as they are believed now (not as when it was booked)."""
    assert state.recipe is not None
    by = counted(state)
    hung = {a.metal: 0.0 for a in state.anodes.values()}
    for name, info in state.anodes.items():
        area = info.area_dm2 or ANODE_AREA_DM2_PER_KG * max(info.start_mass_g, 1.0) / 1000
        hung[info.metal] += area * _days_hung(state, name, entries, until)
    days = (until - state.made_up).total_seconds() / 86_400 if state.made_up is not None else 0.0
    found = []
    for term in state.recipe.wear:
        if not any(e.to == (by.species or "acid") for e in term.effects):
            continue
        exposure = _exposure(state, term, hung, days)
        if exposure <= 0:
            continue
        zero: Dual = state.gauss.dual("volume") * 0.0
        used, most, metals = zero, 0.0, dict[str, float]()
        for effect in term.effects:
            amount = state.parameter(term.rate) * (exposure * effect.amount) * _share(state, effect)
            if effect.to == (by.species or "acid"):
                used = used - amount * (by.mol_per_g if by.species is not None else 1.0)
                most += max(-by.mol(amount.value), 0.0)
            elif effect.to in state.species and state.species[effect.to].kind == "metal":
                metals[effect.to] = metals.get(effect.to, 0.0) + amount.value
        half = Z95 * math.sqrt(max(state.gauss.variance_of(used), 0.0))
        estimate = Estimate(used.value, max(used.value - half, 0.0), used.value + half, "mol")
        found.append(Dissolved(term.name, estimate, most, metals, hung.get(term.anode_metal or "", 0.0)))
    return found


def _share(state: TankState, effect: Effect) -> Dual | float:
    return state.parameter(effect.parameter) if effect.parameter is not None else 1.0


def _exposure(state: TankState, term: Wear, hung_dm2_days: Mapping[str, float], days: float) -> float:
    """How much of a term's exposure there has been since the make-up; of those that no counter tells, nothing."""
    by_time = {
        "anode_dm2_day": hung_dm2_days.get(term.anode_metal or "", 0.0),
        "day": days,
        "surface_day": days * state.surface_dm2,
        "dm2": state.counters.area_dm2,
        "ah": state.counters.charge_ah,
        "run": float(state.counters.runs),
    }
    return by_time.get(term.exposure, 0.0)


def _days_hung(state: TankState, anode: str, entries: Iterable[AnyEntry | Unknown], until: datetime) -> float:
    """Days between make-up and ``until`` in which an anode hung in the bath."""
    start = state.made_up
    if start is None:
        return 0.0
    days, since = 0.0, None
    for entry in sorted((e for e in entries if isinstance(e, Anode)), key=lambda e: e.order):
        if entry.tank != state.name or entry.anode != anode or entry.at > until:
            continue
        if entry.action == "hung" and since is None:
            since = max(entry.at, start)
        elif entry.action in ("lifted", "retired") and since is not None:
            days += max((entry.at - since).total_seconds(), 0.0) / 86_400
            since = None
    return days + (max((until - since).total_seconds(), 0.0) / 86_400 if since is not None else 0.0)


def equivalents_per_g(species: Species, metal: Metal) -> float:
    """mol of acid (of caustic, where the metal is held as a hydroxide) that a net gram from the anodes uses.

    n/M of a simple salt; a metal that binds ``h`` hydroxides in lye uses (h/n - 1) n/M of them: zincate 2/65.38 mol OH-.
    """
    per_mol = metal.electrons if not species.hydroxide_held else species.hydroxide_held - metal.electrons
    return per_mol / molar_mass(metal.symbol)
