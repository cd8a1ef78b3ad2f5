"""From current and time to the thickness of a deposit, and back, each with what is known of it.

    thickness = 100 x g/Ah x charge / (density x area)      (um, g/cm3, dm2)

The thickness is an average; the worst spot is a stated part of it. What an Ah lays down comes from the tank's own state:
cathode efficiency as learned, the alloy as the bath stands. Area habit and the supply's own error are counted in.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from bathkeeper.catalogue.loader import Catalogue
from bathkeeper.catalogue.own import Supply, all_of
from bathkeeper.catalogue.schema import Metal
from bathkeeper.chemistry.faraday import UM_DM2_PER_CM3
from bathkeeper.estimate.dual import Dual, exp
from bathkeeper.estimate.electrode import LOWEST_MODELLED_A_DM2, deposit_fractions, deposit_g_per_ah
from bathkeeper.estimate.state import Z95, TankState
from bathkeeper.findings import Estimate


@dataclass(frozen=True)
class Deposit:
    """What an Ah lays down here. ``fractions`` by mass, base metal last; ``g_per_ah`` at the tank's efficiency."""

    fractions: Mapping[str, Dual]
    g_per_ah: Dual
    um_dm2_per_ah: Dual
    density_g_cm3: float
    efficiency: Estimate
    in_model: bool

    @property
    def title(self) -> str:
        """``zinc with 13 % nickel``."""
        alloyed = list(self.fractions)[:-1]
        base = list(self.fractions)[-1]
        told = " and ".join(f"{100 * self.fractions[m].value:.3g} % {m}" for m in alloyed)
        return f"{base} with {told}" if told else base


@dataclass(frozen=True)
class Rate:
    """How fast the average thickness grows, um/min, and the standard deviation of its logarithm."""

    um_per_min: float
    log_sd: float

    def thickness(self, minutes: float) -> Estimate:
        """Average thickness after a time, um."""
        return around(self.um_per_min * minutes, self.log_sd, "um")

    def minutes(self, thickness_um: float) -> Estimate:
        """Time for an average thickness, min."""
        return around(thickness_um / self.um_per_min, self.log_sd, "min")


def around(value: float, log_sd: float, unit: str) -> Estimate:
    """The 95 % interval of something whose error multiplies."""
    factor = math.exp(Z95 * log_sd)
    return Estimate(value, value / factor, value * factor, unit)


def deposit_here(
    state: TankState, metals: Mapping[str, Metal], density_a_dm2: float | None, temperature_c: float | None
) -> Deposit | None:
    """What the tank lays down at a current density; None where it lays down nothing, or its recipe is not known.

    A tank that holds nothing known yet is taken at its recipe's own composition.
    """
    recipe = state.recipe
    if recipe is None or recipe.electrode is None or not recipe.electrode.deposit:
        return None
    base, *alloyed = recipe.electrode.deposit
    if state.alive:
        found = deposit_fractions(state, density_a_dm2, temperature_c)
        fractions = {m: found[m] for m in (*alloyed, base)}
    else:
        fractions = {m: state.parameter(f"deposit_{m}") for m in alloyed}
        rest: Dual = state.gauss.dual("volume") * 0.0 + 1.0
        for w in fractions.values():
            rest = rest - w
        fractions[base] = rest
    per_ah = deposit_g_per_ah(state, fractions, metals)
    volume: Dual = state.gauss.dual("volume") * 0.0  # cm3 in a gram, mixing by volume
    for metal, w in fractions.items():
        volume = volume + w * (1.0 / metals[metal].density_g_cm3)
    efficiency = state.parameter("cathode_efficiency")
    half = Z95 * math.sqrt(max(state.gauss.variance_of(efficiency), 0.0))
    return Deposit(
        fractions=fractions,
        g_per_ah=per_ah,
        um_dm2_per_ah=per_ah * volume * UM_DM2_PER_CM3,
        density_g_cm3=1.0 / volume.value,
        efficiency=Estimate(efficiency.value, efficiency.value - half, min(efficiency.value + half, 1.0), "fraction"),
        in_model=not alloyed or density_a_dm2 is None or density_a_dm2 >= LOWEST_MODELLED_A_DM2,
    )


def rate_here(
    state: TankState,
    catalogue: Catalogue,
    deposit: Deposit,
    density_a_dm2: float,
    area_relative: float | None,
    supplies: Mapping[str, float],
) -> Rate:
    """How fast it grows at a current density set by ammeter and area.

    Args:
        area_relative: 95 % half-width of the area as a fraction of it; None where no area was told and the density stands.
        supplies: share of the current by supply; each has its own error of the ammeter.
    """
    grown = deposit.um_dm2_per_ah * density_a_dm2
    variance = (catalogue.spreads["charge constant"].relative / Z95) ** 2
    for supply, share in supplies.items():
        known = f"gain:{supply}"
        if known in state.gauss:
            grown = grown * exp(state.gauss.dual(known) * share)
        else:
            told = all_of(catalogue.own, "supply", Supply).get(supply, Supply())
            usual = told.gain_spread or catalogue.spreads["supply gain"].relative
            grown = grown * math.exp(-math.log(told.gain) * share)
            variance += (share * usual / Z95) ** 2
    if area_relative is not None:
        if "habit:area" in state.gauss:
            grown = grown * exp(state.gauss.dual("habit:area") * -1.0)
        variance += (area_relative / Z95) ** 2
    relative = max(state.gauss.variance_of(grown), 0.0) / grown.value**2
    return Rate(grown.value / 60.0, math.sqrt(relative + variance))
