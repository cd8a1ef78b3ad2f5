"""What readings put right in a vessel, and how sure that is: the part of its account that no entry explains.

What is missing is opening + flows - contents. Its error is that of the flows, as far as readings have found it out
(``readings``), and that of what is believed to be there now (``present``); the two are independent.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from bathkeeper.estimate.containers import ContainerState
from bathkeeper.estimate.missing import ADJUSTED, STOPPED
from bathkeeper.estimate.state import Flows, TankState

WORTH_TELLING_G, WORTH_TELLING_SHARE = 0.05, 0.001
"""What a reading found is kept from so many grams, and from such a share of what is there: less is rounding."""


@dataclass(frozen=True)
class PutRight:
    """``missing``: g, mL or L, by name of the Gaussian (below zero: more than the entries tell). ``readings`` and ``present``:
    the variances, in the square of that. ``touched``: whether any reading or test had a say."""

    missing: float
    readings: float
    present: float
    touched: bool


def in_tank(state: TankState, name: str) -> PutRight:
    """Of a tank over all its lives; ``name``: ``mass:SPECIES``."""
    flows = [*(life.flows for life in state.lives), state.flows]
    past = sum(life.put_right.get(name, 0.0) for life in state.lives)
    here = state.gauss.variance(name) if state.alive and name in state.gauss else 0.0
    moved = [f[c][name] for f in flows for c in (ADJUSTED, STOPPED) if name in f.get(c, {})]
    return PutRight(0.0 - sum(moved), past + state.put_right.get(name, 0.0), here, bool(moved))


def in_container(state: ContainerState, name: str) -> PutRight:
    """Of a container over all the times that it was filled; ``name``: ``volume`` or ``mass:SPECIES``. What went in and was
    poured off is only as sure as the keeper's word and the tank that it came from: all of that is in the variances."""
    flows: Flows = state.flows
    moved = flows.get(ADJUSTED, {}).get(name)
    here = state.gauss.variance(name) if name in state.put_right and name in state.gauss else 0.0
    readings = state.put_right_past.get(name, 0.0) + state.put_right.get(name, 0.0)
    return PutRight(0.0 - (moved or 0.0), readings, here, moved is not None)


def spreads_of_life(state: TankState) -> dict[str, float]:
    """By ``mass:SPECIES`` the variance of what is missing of the present life, as it ends: what leaves is as unsure as it
    stood there."""
    names = dict.fromkeys([*state.put_right, *(f"mass:{s}" for s in state.species)])
    here = {n: state.gauss.variance(n) if n in state.gauss else 0.0 for n in names}
    return {n: state.put_right.get(n, 0.0) + v for n, v in here.items()}


def grams_missed(before: TankState, after: TankState) -> Iterator[tuple[str, float]]:
    """(species, grams) that one reading found missing, as far as it is worth telling."""
    for species in after.species:
        name = f"mass:{species}"
        grams = _moved(before, name) - _moved(after, name)
        if abs(grams) >= max(WORTH_TELLING_G, WORTH_TELLING_SHARE * before.gauss.value(name)):
            yield species, grams


def _moved(state: TankState, name: str) -> float:
    """What was put right in the present life."""
    return sum(state.flows.get(c, {}).get(name, 0.0) for c in (ADJUSTED, STOPPED))
