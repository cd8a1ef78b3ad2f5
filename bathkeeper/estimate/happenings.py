"""What each kind of entry does to the workshop. Nothing here raises on a bad entry: it becomes a problem and the rest goes on."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

import msgspec
import numpy as np

from bathkeeper.catalogue.loader import CatalogueError
from bathkeeper.catalogue.schema import Method
from bathkeeper.chemistry.baume import MODULUS_US, sg_from_baume
from bathkeeper.chemistry.formulas import mass_fraction, molar_mass
from bathkeeper.entries import (
    Addition, Anode, AnyEntry, Calibration, Definition, Item, MakeUp, Reading, Removal, Run, Step, Tank, Unknown, Value, Workshop,
)
from bathkeeper.estimate.charges import plating_of
from bathkeeper.estimate.electrode import Plating, plate
from bathkeeper.estimate.measure import Expectation, RunRecord, bias_belief, bias_name, deposit_mass, expect
from bathkeeper.estimate.observe import Key, Observation, Reconsider, observe
from bathkeeper.estimate.state import (
    Z95, AnodeInfo, Counters, Life, TankState, booked, conserved_names, trailed,
)
from bathkeeper.estimate.wear import Exposure, Outflow, drag_in, drag_out, pass_time, wear
from bathkeeper.estimate.world import World, defined, described

CHARGE_ERROR, AREA_ERROR = "run:charge", "run:area"
PH_AT_MAKE_UP = 0.5  # 95 % half-width of the pH of a fresh bath nobody measured [practice]
DRY_ENTRY = ("degrease", "rust removal")  # roles whose tank, first in the line, gets dry parts; any other had a rinse before it
NOTHING_LEFT = 0.02  # of the working volume: less than this after a bail-out is an empty tank [practice]


@dataclass(frozen=True)
class Context:
    """Where in the book the fold stands, and which doubtful readings are believed by now."""

    position: int
    accepted: Collection[Key]
    positions: Mapping[str, int]


def happen(world: World, entry: AnyEntry | Unknown, context: Context) -> World:
    """The workshop after an entry.

    Raises:
        Reconsider: the entry shows that earlier readings held in doubt were right.
    """
    match entry:
        case Workshop():
            return replace(world, workshop=entry)
        case Tank():
            states = [t.entry for t in world.tanks.values() if t.name != entry.tank]
            return described(world, entry, [*states, entry], entry.at)
        case Definition():
            return defined(world, entry)
        case MakeUp():
            return _make_up(world, entry)
        case Run():
            return _run(world, entry, context)
        case Reading():
            return _reading(world, entry, context)
        case Addition():
            return _addition(world, entry)
        case Removal():
            return _removal(world, entry)
        case Anode():
            return _anode(world, entry, context)
        case Calibration():
            return _calibration(world, entry)
        case _:
            return world


def _tank_at(world: World, tank: str, entry: AnyEntry) -> tuple[World, TankState | None]:
    """The tank brought to the entry's moment; None, with a problem, when there is no such tank."""
    state = world.tanks.get(tank)
    if state is None:
        known = ", ".join(world.tanks) or "none yet"
        return world.with_problem(f"no tank is called `{tank}`", f"tanks on record: {known}", entry.id), None
    return world, pass_time(state, entry.at)


def _make_up(world: World, entry: MakeUp) -> World:
    world, state = _tank_at(world, entry.tank, entry)
    if state is None:
        return world
    if state.alive:
        world = world.with_place("replaced without a record", _held(state))
        state = _ended(state)
    spreads = world.catalogue.spreads
    stated, unstated = spreads["make-up content"].relative / Z95, spreads["make-up unstated"].relative / Z95
    volume, volume_sd = entry.volume_l, spreads["make-up volume"].relative / Z95
    names = {s.replace("_", " "): s for s in entry.contents}
    amounts, acid, litres, world = _brought(world, state, entry.reagents, entry.id)
    beliefs: dict[str, tuple[float, float]] = {"volume": (volume, (volume_sd * volume) ** 2), "acid": (acid, 0.0)}
    for name, species in state.species.items():
        given = [k for k in (name, name.replace(" ", "_")) if k in entry.contents]
        if given:
            mass = entry.contents[given[0]] * volume
            beliefs[f"mass:{name}"] = (mass, (stated * mass) ** 2)
        elif name in amounts:
            beliefs[f"mass:{name}"] = amounts[name]
        elif entry.reagents or species.target is None or species.target == 0.0 or state.entry.role == "rinse":
            limit = species.high or 0.0
            beliefs[f"mass:{name}"] = (0.0, (0.02 * limit * volume) ** 2)
        else:
            mass = species.target * volume
            beliefs[f"mass:{name}"] = (mass, (unstated * mass) ** 2)
    strange = [s for s in names if s not in state.species]
    if strange:
        world = world.with_problem(
            f"{entry.tank}: its recipe does not track {', '.join(strange)}", f"it tracks {', '.join(state.species) or 'nothing'}", entry.id
        )
    if state.recipe is not None and "ph" in state.recipe.indicators:
        beliefs["ph0"] = (state.recipe.indicators["ph"].target or 7.0, (PH_AT_MAKE_UP / Z95) ** 2)
    flows = booked({}, "make-up", {n: b[0] for n, b in beliefs.items() if n != "ph0"})
    state = replace(
        state,
        gauss=state.gauss.replaced(beliefs),
        made_up=entry.at,
        make_up_entry=entry.id,
        counters=Counters(),
        flows=flows,
        seen={},
        doubts={},
        jumps=(),
        trail=None,
    )
    return world.with_tank(trailed(state))


def _ended(state: TankState) -> TankState:
    """The tank empty, its life closed; anodes and all that was learned stay."""
    held = _held(state)
    flows = booked(state.flows, "emptied", {n: -a for n, a in held.items()})
    life = Life(state.made_up or state.now, state.now, flows, state.counters)
    beliefs = {n: (0.0, 0.0) for n in conserved_names(state) if not n.startswith("anode:")}
    return replace(
        state, gauss=state.gauss.replaced(beliefs), made_up=None, make_up_entry=None, flows={}, lives=(*state.lives, life), trail=None
    )


def _held(state: TankState) -> dict[str, float]:
    return {n: state.gauss.value(n) for n in conserved_names(state) if not n.startswith("anode:")}


def _run(world: World, run: Run, context: Context) -> World:
    spreads = world.catalogue.spreads
    area, area_variance = _area(run, spreads["area"].relative)
    line = [t.name for t in world.line()]
    carried: Outflow | None = None
    came_from: str | None = None
    stripped = sum(p.coating_stripped_g or 0.0 for p in run.parts)
    for number, step in enumerate(run.steps):
        found = world.tanks.get(step.tank)
        if found is not None and found.entry.role == "dry":
            continue
        world, state = _tank_at(world, step.tank, run)
        if state is None or not state.alive or state.recipe is None:
            if state is not None:
                missing = "no recipe" if state.recipe is None else "no make-up on record at that time"
                world = world.with_problem(f"a run went through `{step.tank}`, which has {missing}", "log its make_up (back-dated)", run.id)
            carried, came_from = None, None
            continue
        plating, charge_variance, remarks = plating_of(step, area, spreads)
        for remark in remarks:
            world = world.with_problem(f"{step.tank}: {remark}", "if not, correct the run with the true charge", run.id)
        load, load_variance = (area, area_variance) if area > 0 else _guessed_area(state, plating)
        state = _with_supplies(world, state, [b.supply for b in plating.branches])
        neighbour = _before(line, step.tank)
        inflow = _inflow(state, neighbour, came_from, carried)
        exposure = Exposure(
            area_dm2=load,
            minutes=step.minutes or 0.0,
            charge_ah=plating.read_ah,
            heated_h=_heated_h(world, state, step),
            temperature_c=step.temperature_c,
            stripped_g=stripped if state.entry.role == "pickle" else 0.0,
            area_name=AREA_ERROR,
            charge_name=CHARGE_ERROR,
            supply=plating.branches[0].supply if plating.branches else None,
        )
        noise = [(CHARGE_ERROR, 0.0, charge_variance), (AREA_ERROR, 0.0, load_variance)]
        state = state.with_gauss(state.gauss.extended(noise))
        state = drag_in(state, inflow, exposure)
        state = plate(state, plating, world.catalogue.metals, CHARGE_ERROR)
        state = wear(state, exposure)
        state, carried = drag_out(state, exposure)
        state = state.with_gauss(state.gauss.without([CHARGE_ERROR, AREA_ERROR]))
        state = trailed(replace(state, counters=_counted(state.counters, plating.read_ah, load, step.dummy)))
        came_from = step.tank
        following = run.steps[number + 1].tank if number + 1 < len(run.steps) else None
        if following is None or _before(line, following) != step.tank:
            world = world.with_place("on parts" if step.tank == line[-1] else "rinsed away", _amounts(carried))
        if plating.read_ah > 0 and state.recipe.electrode is not None and state.recipe.electrode.deposit:
            record = RunRecord(step.tank, plating, charge_variance, load_variance)
            world = replace(world, runs={**world.runs, run.id: record})
            state = _weighed_parts(world, state, run, record, context)
        world = world.with_tank(state)
    return world


def _area(run: Run, usual: float) -> tuple[float, float]:
    """(dm2, variance of its logarithm) of a load: parts' own spreads, else the usual one."""
    total = run.area_dm2
    if total <= 0:
        return 0.0, 0.0
    squares = sum(((p.spread if p.spread is not None else usual * (p.area_dm2 or 0.0)) / Z95) ** 2 for p in run.parts)
    return total, squares / total**2


def _guessed_area(state: TankState, plating: Plating) -> tuple[float, float]:
    """Of a load nobody measured: what the recipe's usual current density makes of the current, give or take half."""
    reference = state.recipe.electrode.reference if state.recipe is not None and state.recipe.electrode is not None else None
    if reference is None or not plating.minutes or plating.read_ah <= 0:
        return 0.0, 0.0
    return plating.read_ah * 60 / plating.minutes / reference.density_a_dm2, 0.25**2


def _heated_h(world: World, state: TankState, step: Step) -> float:
    spreads = world.catalogue.spreads
    window = state.recipe.indicators.get("temperature") if state.recipe is not None else None
    temperature = step.temperature_c if step.temperature_c is not None else window.target if window is not None else None
    if temperature is None or temperature < spreads["heated above"].absolute:
        return 0.0
    return (step.minutes or 0.0) / 60 + spreads["heated hours a run"].absolute


def _inflow(state: TankState, neighbour: str | None, came_from: str | None, carried: Outflow | None) -> Outflow | None:
    """What the parts bring in: what they carry out of the tank before, nothing where they come dry off the bench, and None (clean
    water) from a neighbour that is not on record."""
    if neighbour is None:
        return Outflow(0.0, {}) if state.entry.role in DRY_ENTRY else None
    return carried if came_from == neighbour else None


def _before(line: Sequence[str], tank: str) -> str | None:
    position = line.index(tank) if tank in line else 0
    return line[position - 1] if position > 0 else None


def _counted(counters: Counters, charge_ah: float, area_dm2: float, dummy: bool) -> Counters:
    if dummy:
        return replace(counters, dummy_ah=counters.dummy_ah + charge_ah)
    return replace(
        counters,
        charge_ah=counters.charge_ah + charge_ah,
        since_addition_ah=counters.since_addition_ah + charge_ah,
        area_dm2=counters.area_dm2 + area_dm2,
        runs=counters.runs + 1,
    )


def _amounts(outflow: Outflow) -> dict[str, float]:
    return {"volume": outflow.volume_l} | {f"mass:{s}": a[0] for s, a in outflow.amounts.items()}


def _with_supplies(world: World, state: TankState, supplies: Sequence[str]) -> TankState:
    usual = world.catalogue.spreads["supply gain"].relative / Z95
    new = [f"gain:{s}" for s in dict.fromkeys(supplies) if f"gain:{s}" not in state.gauss]
    return state.with_gauss(state.gauss.extended([(n, *world.calibrated.get(n, (0.0, usual**2))) for n in new]))


def _weighed_parts(world: World, state: TankState, run: Run, record: RunRecord, context: Context) -> TankState:
    if run.mass_before_g is None or run.mass_after_g is None or run.mass_after_g <= run.mass_before_g:
        return state
    scale = world.catalogue.method("kitchen scale")
    resolution = world.workshop.scale_resolution_g if world.workshop is not None and world.workshop.scale_resolution_g else scale.absolute
    h = deposit_mass(state, record, world.catalogue.metals)
    noise = 2 * (resolution / Z95) ** 2 + h.value**2 * record.charge_variance
    value = Value(of="deposit_mass", value=run.mass_after_g - run.mass_before_g, unit="g")
    return _observed(world, state, [Observation(value, scale, Expectation(h, noise))], run, context)


def _observed(
    world: World, state: TankState, observations: Sequence[Observation], entry: AnyEntry, context: Context
) -> TankState:
    accepted = context.accepted
    if isinstance(entry, Reading) and entry.confirms is True:
        accepted = {*accepted, *((entry.id, o.value.of) for o in observations)}
    return observe(state, observations, entry.id, entry.at, context.position, accepted, dict(world.catalogue.metals))


def _reading(world: World, entry: Reading, context: Context) -> World:
    for confirmed in entry.confirms if isinstance(entry.confirms, tuple) else ():
        position = context.positions.get(confirmed)
        if position is None:
            world = world.with_problem(f"the reading {confirmed} that this one confirms is not in the book", "check the id", entry.id)
        elif (confirmed, "*") not in context.accepted:
            raise Reconsider(min(position, context.position), _all_of(world, confirmed))
    record = world.runs.get(entry.run) if entry.run is not None else None
    if entry.run is not None and record is None:
        world = world.with_problem(f"the run {entry.run} is not on record as plated", "name a run's id, or the tank", entry.id)
    tank = entry.tank or (record.tank if record is not None else None)
    if tank is None or not entry.values:
        return world
    world, state = _tank_at(world, tank, entry)
    if state is None:
        return world
    if not state.alive:
        known = {v.of for v in entry.values} & set(state.species)
        if known:
            return world.with_problem(
                f"{tank} was read for {', '.join(sorted(known))} but has no make-up on record at that time", "log its make_up (back-dated)", entry.id
            )
    temperature = next((v.value for v in entry.values if v.of == "temperature"), None)
    observations = []
    for value in entry.values:
        value = _in_own_terms(value, state)
        if value.of in state.species and value.unit != state.species[value.of].unit:
            right = f"give it in {state.species[value.of].unit}"
            world = world.with_problem(f"{tank}: {value.of} was read in {value.unit}", right, entry.id)
            continue
        method, world = _method(world, value, entry.id)
        bias = bias_name(value, method)
        if bias is not None and bias not in state.gauss:
            belief = world.calibrated.get(bias, (0.0, bias_belief(method)))
            state = state.with_gauss(state.gauss.extended([(bias, *belief)]))
        about_parts = record if value.of in ("deposit_mass", "thickness") or value.of.startswith("deposit_") else None
        if record is None and (value.of == "thickness" or value.of.startswith("deposit_")):
            world = world.with_problem(f"{value.of} is read on a run's parts", "name the run (run=ID)", entry.id)
            continue
        observations.append((value, method, about_parts))
    expected = [
        Observation(v, m, expect(state, v, m, world.catalogue.metals, about, temperature) if state.alive else None)
        for v, m, about in observations
    ]
    return world.with_tank(trailed(_observed(world, state, expected, entry, context)))


def _in_own_terms(value: Value, state: TankState) -> Value:
    """The value under the species' own name (underscores as spaces) and in fixed units (mg/L as g/L, degBe as g/cm3)."""
    spaced = value.of.replace("_", " ")
    of = spaced if spaced in state.species else value.of
    amount, spread, unit = value.value, value.spread, value.unit
    if unit == "mg/L" and amount is not None:
        amount, spread, unit = amount / 1000, spread / 1000 if spread is not None else None, "g/L"
    elif unit == "degBe" and amount is not None:
        gravity = sg_from_baume(amount)
        amount, spread, unit = gravity, gravity**2 / MODULUS_US * spread if spread is not None else None, "g/cm3"
    return msgspec.structs.replace(value, of=of, value=amount, spread=spread, unit=unit)


def _all_of(world: World, entry: str) -> set[Key]:
    return {(entry, "*")} | {(entry, d.of) for t in world.tanks.values() for d in t.doubts.values() if d.entry == entry}


def _method(world: World, value: Value, entry: str) -> tuple[Method, World]:
    if value.method is not None:
        try:
            return world.catalogue.method(value.method), world
        except CatalogueError as problem:
            world = world.with_problem(str(problem), "the default spread was used instead", entry)
    return world.catalogue.default_method(value.of), world


def _brought(
    world: World, state: TankState, items: Sequence[Item], entry: str
) -> tuple[dict[str, tuple[float, float]], float, float, World]:
    """(amount and variance by species, mol of acid, litres, world with problems) of reagents put in."""
    weighed, purity = world.catalogue.spreads["amount weighed"], world.catalogue.spreads["amount purity"]
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
            if reagent.additive in state.species:
                sd = (weighed.relative * millilitres + weighed.absolute) / Z95
                amounts[reagent.additive] = _plus(amounts.get(reagent.additive), millilitres, sd)
            continue
        if item.unit == "g":
            grams = item.amount
            litres += grams / (reagent.density_g_ml or math.inf) / 1000
        elif reagent.density_g_ml is not None:
            grams = millilitres * reagent.density_g_ml
            litres += millilitres / 1000
        else:
            world = world.with_problem(f"{reagent.title} is a solid and was entered by volume", "give its mass in g", entry)
            continue
        relative = (weighed.relative + purity.relative + weighed.absolute / max(grams, weighed.absolute)) / Z95
        pure = grams * reagent.purity
        for species, group in reagent.brings.items():
            if species in state.species:
                share = pure * mass_fraction(reagent.formula, group)
                amounts[species] = _plus(amounts.get(species), share, relative * share)
        if reagent.acid_equivalents:
            acid += _acid(state, amounts, reagent.acid_equivalents * pure / molar_mass(reagent.formula), relative)
    return amounts, acid, litres, world


def _plus(before: tuple[float, float] | None, amount: float, sd: float) -> tuple[float, float]:
    value, variance = before or (0.0, 0.0)
    return value + amount, variance + sd**2


def _acid(state: TankState, amounts: dict[str, tuple[float, float]], equivalents: float, relative: float) -> float:
    """Puts acid (or, below zero, base) equivalents on the tank's own acid or alkali; what has none is the acid balance's, in mol."""
    for name, species in state.species.items():
        if species.kind not in ("acid", "alkali") or not species.formula or name in amounts and amounts[name][0] > 0 and equivalents < 0:
            continue
        sign = 1.0 if species.kind == "acid" else -1.0
        grams = sign * equivalents * molar_mass(species.formula) / (species.equivalents or 1.0)
        amounts[name] = _plus(amounts.get(name), grams, relative * abs(grams))
        return 0.0
    return equivalents


def _addition(world: World, entry: Addition) -> World:
    world, state = _tank_at(world, entry.tank, entry)
    if state is None:
        return world
    if not state.alive:
        return world.with_problem(f"something was added to `{entry.tank}`, which has no make-up on record", "log its make_up", entry.id)
    amounts, acid, litres, world = _brought(world, state, entry.items, entry.id)
    shifts = {f"mass:{s}": a for s, a in amounts.items()}
    water = world.catalogue.spreads["amount water"]
    shifts["volume"] = (litres, ((water.relative * litres + water.absolute) / Z95) ** 2 if litres > 0 else 0.0)
    shifts["acid"] = (acid, (0.02 / Z95 * acid) ** 2)
    flows = booked(state.flows, "addition", {n: s[0] for n, s in shifts.items()})
    counters = replace(state.counters, since_addition_ah=0.0) if amounts or acid else state.counters
    state = replace(state, gauss=state.gauss.shifted(shifts), flows=flows, counters=counters)
    return world.with_tank(trailed(state))


def _removal(world: World, entry: Removal) -> World:
    world, state = _tank_at(world, entry.tank, entry)
    if state is None:
        return world
    if not state.alive:
        return world.with_problem(f"solution was taken from `{entry.tank}`, which has no make-up on record", "log its make_up", entry.id)
    volume = state.volume_l
    litres = volume if entry.all or entry.volume_l is None else min(entry.volume_l, volume)
    if entry.volume_l is not None and entry.volume_l > 1.1 * volume + 0.5:
        world = world.with_problem(
            f"{entry.volume_l:g} L were taken from `{entry.tank}`, which held about {volume:.1f} L", "correct the amount", entry.id
        )
    share = litres / volume if volume > 0 else 0.0
    taken = {n: share * a for n, a in _held(state).items() if n != "acid"}
    place = entry.to or "not said"
    other = world.tanks.get(place)
    if other is not None and other.alive:
        world, other_state = _tank_at(world, place, entry)
        assert other_state is not None
        world = _poured(world, other_state, taken)
    else:
        world = world.with_place(place, taken)
    left = volume - litres
    if entry.all or left < NOTHING_LEFT * max(state.working_volume_l, volume):
        world = world.with_place(place, {n: a - taken.get(n, 0.0) for n, a in _held(state).items() if n != "acid" and not entry.all})
        return world.with_tank(_ended(state))
    spread = world.catalogue.spreads["removal volume"].relative / Z95
    shifts = {n: (-a, (spread * a) ** 2) for n, a in taken.items()}
    flows = booked(state.flows, "removal", {n: -a for n, a in taken.items()})
    return world.with_tank(trailed(replace(state, gauss=state.gauss.shifted(shifts), flows=flows)))


def _poured(world: World, state: TankState, amounts: Mapping[str, float]) -> World:
    """Solution from another tank: what this one does not track is booked as a place of its own."""
    known = {n: (a, (0.05 / Z95 * a) ** 2) for n, a in amounts.items() if n in state.gauss}
    flows = booked(state.flows, "poured in", {n: a[0] for n, a in known.items()})
    world = world.with_place(f"not tracked in {state.name}", {n: a for n, a in amounts.items() if n not in known})
    return world.with_tank(trailed(replace(state, gauss=state.gauss.shifted(known), flows=flows)))


def _anode(world: World, entry: Anode, context: Context) -> World:
    world, state = _tank_at(world, entry.tank, entry)
    if state is None:
        return world
    name = f"anode:{entry.anode}"
    known = state.anodes.get(entry.anode)
    scale = world.catalogue.spreads["anode mass"].absolute
    sd = (entry.spread or scale) / Z95
    if entry.action == "hung" and (known is None or known.retired):
        metal = entry.metal or next((m for m in world.catalogue.metals if entry.anode.startswith(m)), None)
        if metal is None or metal not in world.catalogue.metals:
            return world.with_problem(
                f"the metal of anode `{entry.anode}` is not known", f"give metal= one of {', '.join(world.catalogue.metals)}", entry.id
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
        return world.with_problem(f"anode `{entry.anode}` was {entry.action} before it was ever hung", "log it as hung, with its mass", entry.id)
    if entry.mass_g is not None:
        loose = world.catalogue.spreads["anode unbrushed"].absolute / Z95 if entry.brushed is False else 0.0
        value = Value(of=name, value=entry.mass_g, unit="g")
        expectation = Expectation(state.gauss.dual(name), sd**2 + loose**2, {name: 1.0})
        method = world.catalogue.method("kitchen scale")
        state = _observed(world, state, [Observation(value, method, expectation)], entry, context)
    hung = {"hung": True, "lifted": False, "retired": False, "weighed": known.hung}[entry.action]
    info = replace(
        known, hung=hung, retired=entry.action == "retired", area_dm2=entry.area_dm2 if entry.area_dm2 is not None else known.area_dm2
    )
    state = replace(state, anodes={**state.anodes, entry.anode: info})
    if entry.action == "retired":
        state = replace(state, flows=booked(state.flows, "anodes retired", {name: -state.gauss.value(name)}))
        state = state.with_gauss(state.gauss.replaced({name: (0.0, 0.0)}))
    return world.with_tank(trailed(state))


def _calibration(world: World, entry: Calibration) -> World:
    """A supply or a titrant lot compared with something better: an observation of its error in every tank that knows it."""
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
            world = world.with_tank(state.with_gauss(gauss))
    return world
