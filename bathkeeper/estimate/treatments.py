"""Treatments of a bath: dummy charge plates like any other but is counted apart; what was put in counts as added."""

from __future__ import annotations

from dataclasses import replace

from bathkeeper.entries import Addition, Treatment
from bathkeeper.estimate.electrode import BranchCharge, Plating, plate
from bathkeeper.estimate.passage import CHARGE_ERROR, with_supplies
from bathkeeper.estimate.solutions import addition
from bathkeeper.estimate.state import Z95, trailed
from bathkeeper.estimate.world import World, tank_at

DUMMY_SUPPLY = "unnamed supply"


def treatment(world: World, entry: Treatment) -> World:
    """The workshop after it; a treatment of parts (a bake) changes no bath."""
    if entry.tank is None:
        return world
    world, state = tank_at(world, entry.tank, entry)
    if state is None:
        return world
    if not state.alive:
        return world.with_problem(f"`{entry.tank}` was treated but {state.why_empty}", "log its make_up", entry.id)
    if entry.charge_ah:
        spread = world.catalogue.spreads["charge stated"].relative / Z95
        plating = Plating((BranchCharge(DUMMY_SUPPLY, entry.charge_ah),), None, entry.minutes, entry.temperature_c)
        state = with_supplies(world, state, [DUMMY_SUPPLY])
        state = state.with_gauss(state.gauss.extended([(CHARGE_ERROR, 0.0, spread**2)]))
        state = plate(state, plating, world.catalogue.metals, CHARGE_ERROR)
        counters = replace(state.counters, dummy_ah=state.counters.dummy_ah + entry.charge_ah)
        state = replace(state, counters=counters, gauss=state.gauss.without([CHARGE_ERROR]))
    world = world.with_tank(trailed(state))
    if entry.items:
        world = addition(world, Addition(id=entry.id, at=entry.at, tank=entry.tank, items=entry.items))
    return world
