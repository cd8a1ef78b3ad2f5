"""Solution put in and taken out: make-ups, additions, removals."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from bathkeeper.entries import RESERVED_PLACES, Addition, MakeUp, Removal
from bathkeeper.estimate.changes import Changes
from bathkeeper.estimate.containers import portion
from bathkeeper.estimate.gauss import Gauss
from bathkeeper.estimate.missing import evaporated, unaccounted
from bathkeeper.estimate.pouring import poured
from bathkeeper.estimate.put_right import spreads_of_life
from bathkeeper.estimate.reagents import brought
from bathkeeper.estimate.state import (
    EVAPORATED,
    Z95,
    Counters,
    Life,
    TankState,
    booked,
    conserved_names,
    settled,
    trailed,
    unstated_belief,
)
from bathkeeper.estimate.wasting import dumped
from bathkeeper.estimate.world import World, tank_at

PH_AT_MAKE_UP = 0.5  # 95 % half-width of the pH of a fresh bath nobody measured [practice]
REPLACED = "replaced without a record: "
"""Begins the name of the place where a bath went that a new make-up ended and no removal; the tank's name ends it."""
NOTHING_LEFT = 0.02  # of the working volume: less than this after a bail-out is an empty tank [practice]


def make_up(world: World, entry: MakeUp) -> World:
    world, state = tank_at(world, entry.tank, entry)
    if state is None:
        return world
    if state.alive:
        world = world.with_place(f"{REPLACED}{entry.tank}", held(state))
        state = ended(state)
    spreads = world.catalogue.spreads
    stated, unstated = spreads["make-up content"].relative / Z95, spreads["make-up unstated"].relative / Z95
    volume, volume_sd = entry.volume_l, spreads["make-up volume"].relative / Z95
    names = {s.replace("_", " "): s for s in entry.contents}
    amounts, _, _, world = brought(world, state, entry.reagents, entry.id)
    beliefs: dict[str, tuple[float, float]] = {"volume": (volume, 0.0), "acid": (0.0, 0.0), EVAPORATED: (0.0, 0.0)}
    for name, species in state.species.items():
        given = [k for k in (name, name.replace(" ", "_")) if k in entry.contents]
        if given:
            mass = entry.contents[given[0]] * volume
            beliefs[f"mass:{name}"] = (mass, (stated * mass) ** 2)
        elif name in amounts:
            beliefs[f"mass:{name}"] = amounts[name]
        else:
            none_put_in = bool(entry.reagents) or state.entry.role == "rinse"
            beliefs[f"mass:{name}"] = unstated_belief(species, volume, none_put_in, unstated)
    strange = [s for s in names if s not in state.species]
    if strange:
        world = world.with_problem(
            f"{entry.tank}: its recipe does not track {', '.join(strange)}",
            f"it tracks {', '.join(state.species) or 'nothing'}",
            entry.id,
        )
    if state.recipe is not None and "ph" in state.recipe.indicators:
        beliefs["ph0"] = (state.recipe.indicators["ph"].target or 7.0, (PH_AT_MAKE_UP / Z95) ** 2)
    beliefs |= {n: (0.0, b[1]) for n, b in beliefs.items() if b[0] < 0}
    flows = booked(state.flows, "make-up", {n: b[0] for n, b in beliefs.items() if n not in ("ph0", EVAPORATED)})
    by_weight = {f"mass:{n}" for n in amounts}
    told_as_g_l = {n: b[0] for n, b in beliefs.items() if n.startswith("mass:") and n not in by_weight}
    state = replace(
        state,
        gauss=_filled(state.gauss.replaced(beliefs), {"volume": volume, **told_as_g_l}, volume_sd),
        made_up=entry.at,
        make_up_entry=entry.id,
        counters=Counters(),
        flows=flows,
        seen={},
        doubts={},
        jumps=(),
        trail=(),
        missing=(),
        put_right={},
        missing_g=(),
    )
    return world.with_tank(trailed(state))


def addition(world: World, entry: Addition) -> World:
    world, state = tank_at(world, entry.tank, entry)
    if state is None:
        return world
    if not state.alive:
        return world.with_problem(
            f"something was added to `{entry.tank}`, which {state.why_empty}", "log its make_up", entry.id
        )
    amounts, acid, litres, world = brought(world, state, entry.items, entry.id)
    shifts = {f"mass:{s}": a for s, a in amounts.items()}
    water = world.catalogue.spreads["amount water"]
    shifts["volume"] = (litres, ((water.relative * litres + water.absolute) / Z95) ** 2 if litres > 0 else 0.0)
    shifts["acid"] = (acid, (0.02 / Z95 * acid) ** 2)
    flows = booked(state.flows, "addition", {n: s[0] for n, s in shifts.items()})
    counters = replace(state.counters, since_addition_ah=0.0) if amounts or acid else state.counters
    state = replace(state, gauss=state.gauss.shifted(shifts), flows=flows, counters=counters)
    return world.with_tank(trailed(settled(state)))


def removal(world: World, entry: Removal) -> World:
    world, state = tank_at(world, entry.tank, entry)
    if state is None:
        return world
    if not state.alive:
        return world.with_problem(
            f"solution was taken from `{entry.tank}`, which {state.why_empty}", "log its make_up", entry.id
        )
    spreads = world.catalogue.spreads
    volume = state.volume_l
    litres = volume if entry.all or entry.volume_l is None else min(entry.volume_l, volume)
    if entry.volume_l is not None and entry.volume_l > 1.1 * volume + 0.5:
        world = world.with_problem(
            f"{entry.volume_l:g} L were taken from `{entry.tank}`, which held about {volume:.1f} L",
            "correct the amount",
            entry.id,
        )
    share = litres / volume if volume > 0 else 0.0
    contents = held(state)
    taken = {n: share * a for n, a in contents.items() if n != "acid"}
    place = entry.to or "not said"
    left = volume - litres
    all_of_it = entry.all or left < NOTHING_LEFT * max(state.working_volume_l, volume)
    if all_of_it:
        share, taken = 1.0, {n: a for n, a in contents.items() if n != "acid"}
    spread = 0.0 if all_of_it else spreads["removal volume"].relative / Z95
    if place in world.tanks:
        world = poured(world, place, taken, entry)
    elif entry.to is None or place in RESERVED_PLACES:
        world = world.with_place(place, taken)
    else:
        world = dumped(world, place, state, portion(state.gauss, share, spread, taken), entry)
    if all_of_it:
        return world.with_tank(ended(state))
    error = ("removal:volume", 0.0, spread**2)
    state = state.with_gauss(state.gauss.extended([error]))
    changes = Changes(state)
    gone = (state.gauss.dual(error[0]) + 1.0) * litres / state.gauss.dual("volume")
    for name in contents:
        changes.add("removal", name, -(state.gauss.dual(name) * gone))
    state = changes.applied()
    return world.with_tank(trailed(state.with_gauss(state.gauss.without([error[0]]))))


def _filled(gauss: Gauss, amounts: Mapping[str, float], relative: float) -> Gauss:
    """With the error of the filling mark on volume and contents alike: what is told in g/L is known apart from the volume."""
    wide = gauss.extended([("filling", 0.0, relative**2)])
    error = wide.dual("filling")
    return wide.moved({n: error * a for n, a in amounts.items()}).without(["filling"])


def ended(state: TankState) -> TankState:
    """The tank empty, its life closed; anodes and all that was learned stay."""
    flows = booked(state.flows, "emptied", {n: -a for n, a in held(state).items()})
    anodes = {n: state.gauss.value(n) for n in conserved_names(state) if n.startswith("anode:")}
    flows = booked(flows, "anodes kept", {n: -a for n, a in anodes.items()})
    life = Life(
        state.made_up or state.now, state.now, flows, state.counters, evaporated(state), unaccounted(state), state.missing,
        spreads_of_life(state), state.missing_g,
    )  # fmt: skip
    beliefs = {n: (0.0, 0.0) for n in [*conserved_names(state), EVAPORATED] if not n.startswith("anode:")}
    return replace(
        state,
        gauss=state.gauss.replaced(beliefs),
        made_up=None,
        make_up_entry=None,
        flows=booked({}, "anodes kept", anodes),
        lives=(*state.lives, life),
        trail=(),
        missing=(),
        put_right={},
        missing_g=(),
    )


def held(state: TankState) -> dict[str, float]:
    return {n: state.gauss.value(n) for n in conserved_names(state) if not n.startswith("anode:")}
