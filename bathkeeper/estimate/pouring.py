"""Solution poured into a tank from another tank or from a container: what the tank does not track has a place of its own."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from bathkeeper.entries import AnyEntry
from bathkeeper.estimate.state import Z95, booked, trailed
from bathkeeper.estimate.world import World, tank_at

POURED_SPREAD = 0.05  # of what was poured, 95 % [practice]


def poured(world: World, tank: str, amounts: Mapping[str, float], entry: AnyEntry) -> World:
    """Solution (``volume`` L and ``mass:SPECIES`` by name) into a tank. A tank that holds nothing known cannot take it up: it
    then has a place of its own and a problem says so."""
    world, state = tank_at(world, tank, entry)
    if state is None:
        return world
    if not state.alive:
        world = world.with_place(f"poured into {tank}, which held nothing known", amounts)
        return world.with_problem(f"solution was poured into `{tank}`, which {state.why_empty}", "log its make_up", entry.id)
    known = {n: (a, (POURED_SPREAD / Z95 * a) ** 2) for n, a in amounts.items() if n in state.gauss}
    flows = booked(state.flows, "poured in", {n: a[0] for n, a in known.items()})
    world = world.with_place(f"not tracked in {state.name}", {n: a for n, a in amounts.items() if n not in known})
    return world.with_tank(trailed(replace(state, gauss=state.gauss.shifted(known), flows=flows)))
