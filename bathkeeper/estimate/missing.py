"""Litres of a tank that no entry and no evaporation explains: the difference is told, never put down to evaporation.

in = there + evaporated + taken out + unaccounted. What readings of the level adjusted is first laid to evaporation, as far as
what they taught about its rate changes what has gone already; the rest is unaccounted for.
"""

from __future__ import annotations

from bathkeeper.estimate.state import EVAPORATED, TankState

ADJUSTED, STOPPED = "reading adjustments", "stopped at zero"
"""Causes under which the estimate was put right, not the tank: by readings, and because an empty tank loses no more."""
WORTH_TELLING_L = 0.02  # less is rounding


def evaporated(state: TankState) -> tuple[float, float]:
    """(litres, variance) that evaporated in this life, as believed now; a tank that fell dry lost no more than was there."""
    return state.gauss.value(EVAPORATED) - _stopped(state), state.gauss.variance(EVAPORATED)


def booked_evaporation_l(state: TankState) -> float:
    """Litres that were booked as evaporated step by step, at the rates then believed."""
    terms = evaporation_terms(state)
    return -sum(account.get("volume", 0.0) for cause, account in state.flows.items() if cause in terms)


def _stopped(state: TankState) -> float:
    return state.flows.get(STOPPED, {}).get("volume", 0.0)


def evaporation_terms(state: TankState) -> set[str]:
    """The wear terms of the recipe that take water only."""
    if state.recipe is None:
        return set()
    return {t.name for t in state.recipe.wear if all(e.to == "water" for e in t.effects)}


def unaccounted(state: TankState) -> tuple[float, float]:
    """(litres, variance) of this life that are missing; below zero there is more than the entries tell."""
    adjusted = state.flows.get(ADJUSTED, {}).get("volume", 0.0)
    explained = state.gauss.value(EVAPORATED) - booked_evaporation_l(state)
    together = state.gauss.dual("volume") + state.gauss.dual(EVAPORATED)
    return -adjusted - explained, max(state.gauss.variance_of(together), 0.0)
