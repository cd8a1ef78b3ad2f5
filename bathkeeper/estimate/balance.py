"""Whether a plating bath feeds itself: what 100 Ah of the present habits do to its metals, its acid and its anodes."""

from __future__ import annotations

import math
from collections.abc import Mapping

import msgspec

from bathkeeper.catalogue.schema import Metal
from bathkeeper.chemistry.constants import MOL_PER_AH
from bathkeeper.chemistry.formulas import molar_mass
from bathkeeper.estimate.dual import Dual
from bathkeeper.estimate.electrode import deposit_fractions, deposit_g_per_ah
from bathkeeper.estimate.state import Z95, TankState
from bathkeeper.findings import Estimate


class Balance(msgspec.Struct, frozen=True, kw_only=True):
    """Per 100 Ah, with drag-out at the life's own dm2 per Ah: ``net_g`` by metal (below zero: must be fed as salt),
    ``acid_mol`` used,
    ``share`` of each metal in the anode current now, ``holding_share`` that would hold it. ``sum_of_holding``: both hold
    only at 1."""

    net_g: dict[str, Estimate]
    acid_mol: Estimate
    share: dict[str, Estimate]
    holding_share: dict[str, Estimate]
    sum_of_holding: float


def balance(state: TankState, metals: Mapping[str, Metal]) -> Balance | None:
    """None for a tank that lays nothing down, is empty or has passed no charge.

    s* = [eta w n / (M e) + (F/3600) n delta c / M] / eta_a, engine rule of the balance point with drag-out delta (L/Ah).
    """
    recipe = state.recipe
    if (
        recipe is None
        or recipe.electrode is None
        or not recipe.electrode.deposit
        or not state.alive
        or state.counters.charge_ah <= 0
        or state.volume_l <= 1e-9
    ):
        return None
    g = state.gauss
    hundred = 100.0
    fractions = deposit_fractions(state, None, None)
    per_ah = deposit_g_per_ah(state, fractions, metals)
    area_per_ah = state.counters.area_dm2 / state.counters.charge_ah
    dragged_l = state.parameter("drag_out") * (area_per_ah / 1000)
    shares: dict[str, Dual] = {}
    rest: Dual = g.dual("volume") * 0.0 + 1.0
    for metal in recipe.electrode.anodes[1:]:
        shares[metal] = state.parameter(f"anode_share_{metal}")
        rest = rest - shares[metal]
    if recipe.electrode.anodes:
        shares[recipe.electrode.anodes[0]] = rest
    net: dict[str, Estimate] = {}
    holding: dict[str, Estimate] = {}
    total = 0.0
    anode: Dual = g.dual("volume") * 0.0
    for metal, w in fractions.items():
        m = metals[metal]
        gram_per_mol_e = molar_mass(m.symbol) / m.electrons
        leaving = per_ah * w + dragged_l * g.dual(f"mass:{metal}") / g.dual("volume")
        coming: Dual = g.dual("volume") * 0.0
        if metal in shares:
            efficiency = state.parameter(f"anode_efficiency_{metal}")
            coming = shares[metal] * efficiency * (MOL_PER_AH * gram_per_mol_e)
            holding[metal] = _estimate(state, leaving / (efficiency * (MOL_PER_AH * gram_per_mol_e)), "fraction")
            total += holding[metal].value
            anode = anode + shares[metal] * efficiency
        net[metal] = _estimate(state, (coming - leaving) * hundred, "g")
    acid = (anode - state.parameter("cathode_efficiency")) * (MOL_PER_AH * hundred)
    return Balance(
        net_g=net,
        acid_mol=_estimate(state, acid, "mol"),
        share={m: _estimate(state, s, "fraction") for m, s in shares.items()},
        holding_share=holding,
        sum_of_holding=total,
    )


def _estimate(state: TankState, x: Dual, unit: str) -> Estimate:
    half = Z95 * math.sqrt(max(state.gauss.variance_of(x), 0.0))
    return Estimate(x.value, x.value - half, x.value + half, unit)
