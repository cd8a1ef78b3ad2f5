"""What a defect says of an additive: a weak statement, as loud as the catalogue's share of causes that name the additive.

Dull parts make it likelier that brightener is low, no more. The statement is made of the bath as it was when the load came
out; where the estimate rules it out, the defect has another cause and nothing is learned of the additive.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import replace
from datetime import datetime

import numpy as np

from bathkeeper.catalogue.defects import bath_of, canonical, load_defects
from bathkeeper.catalogue.schema import Species
from bathkeeper.entries import Remark, Run, Value
from bathkeeper.estimate.measure import bias_belief, bias_name, expect
from bathkeeper.estimate.observe import DOUBT, as_rates
from bathkeeper.estimate.state import TankState, adjusted, trailed
from bathkeeper.estimate.world import World, tank_at

BY_EYE = "judged by eye"  # the method whose scatter and bias say what a look at a panel or a part can tell of an additive
BEYOND = {"low": 0.7, "high": 1.3}  # of the window's edge: where an additive is thought to be that shows [practice]


def additives_of(state: TankState) -> dict[str, Species]:
    """The additives of a tank's recipe that have a whole window."""
    if state.recipe is None:
        return {}
    return {n: s for n, s in state.recipe.species.items() if s.kind == "additive" and s.low and s.target and s.high}


def shown_amount(species: Species, side: str) -> float:
    """mL/L at which an additive is thought to be when parts or panels show that it is ``low`` or ``high``."""
    edge = species.low if side == "low" else species.high
    return (edge or 0.0) * BEYOND[side]


def defect_told(world: World, entry: Run | Remark) -> World:
    """The workshop after an entry's defect was set against what is believed of the additives of its tank."""
    defect = load_defects().get(canonical(entry.defect)) if entry.defect else None
    if defect is None or not defect.says:
        return world
    run = entry.id if isinstance(entry, Run) else entry.run
    record = world.runs.get(run) if run is not None else None
    tank = record.tank if record is not None else entry.tank if isinstance(entry, Remark) and run is None else None
    if tank is None or tank not in world.tanks:
        return world
    world, state = tank_at(world, tank, entry)
    if state is None or not state.alive or state.recipe is None:
        return world
    bath = bath_of(state.recipe)
    told = []
    for name, species in additives_of(state).items():
        share = defect.speaks_of(name, bath)
        if share > 0 and (record is None or name not in record.judged):
            moved = _weighed(world, state, name, species, defect.says[name], share, record.at if record is not None else None)
            state = moved if moved is not None else state
            told.append(name)
    world = world.with_tank(trailed(state))
    if record is None or run is None:
        return world
    return replace(world, runs={**world.runs, run: replace(record, judged=(*record.judged, *told))})


def _weighed(
    world: World, state: TankState, name: str, species: Species, side: str, share: float, then: datetime | None
) -> TankState | None:
    """The tank after the statement; None where it says nothing new or cannot be believed."""
    since = _since(state, name, then)
    if since is None:
        return None
    amount = shown_amount(species, side)
    value = Value(of=name, value=max(amount + since, 0.0), unit=species.unit, method=BY_EYE)  # type: ignore[arg-type]
    method = world.catalogue.method(BY_EYE)
    bias = bias_name(value, method)
    if bias is not None and bias not in state.gauss:
        belief = world.calibrated.get(bias, (0.0, bias_belief(method)))
        state = state.with_gauss(state.gauss.extended([(bias, *belief)]))
    expected = expect(state, value, method, world.catalogue.metals, None, None)
    if expected is None or value.value is None:
        return None
    surprise = value.value - expected.h.value
    if (side == "low" and surprise >= 0) or (side == "high" and surprise <= 0):
        return None  # believed to be that far off already
    noise = expected.noise / share
    if surprise**2 > DOUBT * (state.gauss.variance_of(expected.h) + noise):
        return None
    after = state.gauss.updated([expected.h], [value.value], np.array([[noise]]))
    return adjusted(state, as_rates(state, after))


def _since(state: TankState, name: str, then: datetime | None) -> float | None:
    """mL/L by which the content has risen since a moment, as believed; None when the bath has been made up anew since."""
    if then is None or then >= state.now:
        return 0.0
    if state.made_up is None or then < state.made_up:
        return None
    place = bisect_right([p.at for p in state.trail], then)
    if not place:
        return None
    was = dict(zip(state.species, state.trail[place - 1].values, strict=True))[name]
    return state.concentration(name)[0] - was
