"""Instruments compared with something better."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from bathkeeper.entries import Calibration
from bathkeeper.estimate.state import Z95, adjusted
from bathkeeper.estimate.wear import pass_time
from bathkeeper.estimate.world import World


def calibration(world: World, entry: Calibration) -> World:
    """A supply or a titrant lot compared with something better: an observation of its error in every tank that knows it."""
    world = replace(world, calibrations={**world.calibrations, f"{entry.what} {entry.name}": entry})
    if entry.what not in ("supply", "titrant lot"):
        return world
    if entry.what == "supply":
        name, error = f"gain:{entry.name}", -math.log(entry.result)
    else:
        name, error = f"bias:{entry.name}", entry.result - 1.0
    variance = ((entry.spread if entry.spread is not None else 0.01) / Z95) ** 2
    world = replace(world, calibrated={**world.calibrated, name: (error, variance)})
    for state in list(world.tanks.values()):
        if name in state.gauss:
            state = pass_time(state, entry.at)
            gauss = state.gauss.updated([state.gauss.dual(name)], [error], np.array([[variance]]))
            world = world.with_tank(adjusted(state, gauss))
    return world
