"""Solution put in and taken out: make-ups, additions, removals, and what reagents bring."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

from bathkeeper.catalogue.loader import CatalogueError
from bathkeeper.catalogue.schema import Reagent
from bathkeeper.chemistry.formulas import mass_fraction, molar_mass
from bathkeeper.entries import Addition, Item, MakeUp, Removal
from bathkeeper.estimate.changes import Changes
from bathkeeper.estimate.gauss import Gauss
from bathkeeper.estimate.state import Z95, Counters, Life, TankState, booked, conserved_names, settled, trailed, unstated_belief
from bathkeeper.estimate.world import World, tank_at

PH_AT_MAKE_UP = 0.5  # 95 % half-width of the pH of a fresh bath nobody measured [practice]
NOTHING_LEFT = 0.02  # of the working volume: less than this after a bail-out is an empty tank [practice]


def make_up(world: World, entry: MakeUp) -> World:
    world, state = tank_at(world, entry.tank, entry)
    if state is None:
        return world
    if state.alive:
        world = world.with_place("replaced without a record", held(state))
        state = ended(state)
    spreads = world.catalogue.spreads
    stated, unstated = spreads["make-up content"].relative / Z95, spreads["make-up unstated"].relative / Z95
    volume, volume_sd = entry.volume_l, spreads["make-up volume"].relative / Z95
    names = {s.replace("_", " "): s for s in entry.contents}
    amounts, _, _, world = _brought(world, state, entry.reagents, entry.id)
    beliefs: dict[str, tuple[float, float]] = {"volume": (volume, 0.0), "acid": (0.0, 0.0)}
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
    flows = booked(state.flows, "make-up", {n: b[0] for n, b in beliefs.items() if n != "ph0"})
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
    amounts, acid, litres, world = _brought(world, state, entry.items, entry.id)
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
    other = world.tanks.get(place)
    if other is not None and other.alive:
        world, other_state = tank_at(world, place, entry)
        assert other_state is not None
        world = _poured(world, other_state, taken)
    else:
        world = world.with_place(place, taken)
    left = volume - litres
    if entry.all or left < NOTHING_LEFT * max(state.working_volume_l, volume):
        world = world.with_place(place, {n: contents[n] - a for n, a in taken.items() if not entry.all})
        return world.with_tank(ended(state))
    error = ("removal:volume", 0.0, (spreads["removal volume"].relative / Z95) ** 2)
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
    life = Life(state.made_up or state.now, state.now, flows, state.counters)
    beliefs = {n: (0.0, 0.0) for n in conserved_names(state) if not n.startswith("anode:")}
    return replace(
        state,
        gauss=state.gauss.replaced(beliefs),
        made_up=None,
        make_up_entry=None,
        flows=booked({}, "anodes kept", anodes),
        lives=(*state.lives, life),
        trail=(),
    )


def held(state: TankState) -> dict[str, float]:
    return {n: state.gauss.value(n) for n in conserved_names(state) if not n.startswith("anode:")}


def _brought(
    world: World, state: TankState, items: Sequence[Item], entry: str
) -> tuple[dict[str, tuple[float, float]], float, float, World]:
    """(amount and variance by species, mol of acid, litres, world with problems) of reagents put in."""
    spreads = world.catalogue.spreads
    weighed, measured, purity = spreads["amount weighed"], spreads["amount measured"], spreads["amount purity"]
    amounts: dict[str, tuple[float, float]] = {}
    acid = litres = 0.0
    for item in items:
        try:
            reagent = world.catalogue.reagent(item.reagent)
        except CatalogueError as problem:
            world = world.with_problem(str(problem), "define the reagent, or correct the entry", entry)
            continue
        millilitres = item.amount * (1000 if item.unit == "L" else 1)
        if reagent.form == "water":
            litres += millilitres / 1000
            continue
        if reagent.form == "additive":
            litres += millilitres / 1000 if item.unit != "g" else 0.0
            if reagent.additive is not None and reagent.additive in state.species:
                sd = (measured.relative * millilitres + measured.absolute) / Z95
                amounts[reagent.additive] = _plus(amounts.get(reagent.additive), millilitres, sd)
            continue
        how = weighed if item.unit == "g" else measured
        if item.unit == "g":
            grams = item.amount
            litres += grams / (reagent.density_g_ml or math.inf) / 1000
        elif reagent.density_g_ml is not None:
            grams = millilitres * reagent.density_g_ml
            litres += millilitres / 1000
        else:
            world = world.with_problem(f"{reagent.title} is a solid and was entered by volume", "give its mass in g", entry)
            continue
        told = item.amount if item.unit == "g" else millilitres
        relative = (how.relative + purity.relative + how.absolute / max(told, how.absolute)) / Z95
        pure = grams * reagent.purity
        for species, group in reagent.brings.items():
            if species in state.species:
                share = pure * mass_fraction(reagent.formula, group)
                amounts[species] = _plus(amounts.get(species), share, relative * share)
        if reagent.acid_equivalents or _bound(state, world, reagent, pure):
            equivalents = reagent.acid_equivalents * pure / molar_mass(reagent.formula)
            acid += _acid(state, amounts, equivalents + _bound(state, world, reagent, pure), reagent.weak_base, relative)
    return amounts, acid, litres, world


def _bound(state: TankState, world: World, reagent: Reagent, pure_g: float) -> float:
    """Hydroxide (mol) that the reagent's metals bind in an alkaline bath: it counts like acid put in."""
    mol = 0.0
    for name, group in reagent.brings.items():
        species = state.species.get(name)
        if species is not None and species.hydroxide_held and name in world.catalogue.metals:
            grams = pure_g * mass_fraction(reagent.formula, group)
            mol += species.hydroxide_held * grams / molar_mass(world.catalogue.metals[name].symbol)
    return mol


def _plus(before: tuple[float, float] | None, amount: float, sd: float) -> tuple[float, float]:
    value, variance = before or (0.0, 0.0)
    return value + amount, variance + sd**2


def _acid(
    state: TankState, amounts: dict[str, tuple[float, float]], equivalents: float, weak: bool, relative: float
) -> float:
    """Puts acid (or, below zero, base) equivalents on what the tank counts acid and alkali by, and returns what is left for the
    acid balance, in mol. A weak base (a carbonate) counts only where the titration goes on to a low pH (total alkali)."""
    counted = False
    for name, species in state.species.items():
        if species.kind not in ("acid", "alkali") or not species.formula:
            continue
        counted = True
        if weak and not species.counts_weak:
            continue
        sign = 1.0 if species.kind == "acid" else -1.0
        grams = sign * equivalents * molar_mass(species.formula) / (species.equivalents or 1.0)
        amounts[name] = _plus(amounts.get(name), grams, relative * abs(grams))
    return 0.0 if counted else equivalents


def _poured(world: World, state: TankState, amounts: Mapping[str, float]) -> World:
    """Solution from another tank: what this one does not track is booked as a place of its own."""
    known = {n: (a, (0.05 / Z95 * a) ** 2) for n, a in amounts.items() if n in state.gauss}
    flows = booked(state.flows, "poured in", {n: a[0] for n, a in known.items()})
    world = world.with_place(f"not tracked in {state.name}", {n: a for n, a in amounts.items() if n not in known})
    return world.with_tank(trailed(replace(state, gauss=state.gauss.shifted(known), flows=flows)))
