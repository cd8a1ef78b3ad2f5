"""Anodes hung, weighed, lifted and retired."""

from __future__ import annotations

import math
from dataclasses import replace

from bathkeeper.entries import Anode, Value
from bathkeeper.estimate.measure import Expectation
from bathkeeper.estimate.observe import Context, Observation, observe
from bathkeeper.estimate.state import Z95, AnodeInfo, booked, trailed
from bathkeeper.estimate.world import World, tank_at


def anode(world: World, entry: Anode, context: Context) -> World:
    world, state = tank_at(world, entry.tank, entry)
    if state is None:
        return world
    name = f"anode:{entry.anode}"
    known = state.anodes.get(entry.anode)
    usual = world.catalogue.spreads["anode mass"]
    steps = world.workshop.scale_resolution_g if world.workshop is not None else None
    scale = math.hypot(max(usual.absolute, steps or 0.0), usual.relative * (entry.mass_g or 0.0))
    sd = (entry.spread or scale) / Z95
    if entry.action == "hung" and (known is None or known.retired):
        metal = entry.metal or next((m for m in world.catalogue.metals if entry.anode.startswith(m)), None)
        if metal is None or metal not in world.catalogue.metals:
            return world.with_problem(
                f"the metal of anode `{entry.anode}` is not known",
                f"give metal= one of {', '.join(world.catalogue.metals)}",
                entry.id,
            )
        mass = entry.mass_g if entry.mass_g is not None else 1000.0
        variance = sd**2 if entry.mass_g is not None else (0.5 * mass) ** 2
        if name in state.gauss:
            gauss = state.gauss.replaced({name: (mass, variance)})
        else:
            gauss = state.gauss.extended([(name, mass, variance)])
        info = AnodeInfo(metal, entry.area_dm2, True, False, mass, entry.at, entry.id)
        flows = booked(state.flows, "anodes hung", {name: mass})
        return world.with_tank(replace(state, gauss=gauss, anodes={**state.anodes, entry.anode: info}, flows=flows))
    if known is None:
        return world.with_problem(
            f"anode `{entry.anode}` was {entry.action} before it was ever hung", "log it as hung, with its mass", entry.id
        )
    if entry.mass_g is not None:
        loose = world.catalogue.spreads["anode unbrushed"].absolute / Z95 if entry.brushed is False else 0.0
        value = Value(of=name, value=entry.mass_g, unit="g")
        expectation = Expectation(state.gauss.dual(name), sd**2 + loose**2, {name: 1.0})
        method = world.catalogue.method("kitchen scale")
        state = observe(state, [Observation(value, method, expectation)], entry, context, world.catalogue.metals)
    hung = {"hung": True, "lifted": False, "retired": False, "weighed": known.hung}[entry.action]
    info = replace(
        known,
        hung=hung,
        retired=entry.action == "retired",
        area_dm2=entry.area_dm2 if entry.area_dm2 is not None else known.area_dm2,
    )
    state = replace(state, anodes={**state.anodes, entry.anode: info})
    if entry.action == "retired":
        state = replace(state, flows=booked(state.flows, "anodes retired", {name: -state.gauss.value(name)}))
        state = state.with_gauss(state.gauss.replaced({name: (0.0, 0.0)}))
    return world.with_tank(trailed(state))
