"""A run's passage through the line: each step wears its tank and drags solution into the next."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from bathkeeper.catalogue.own import Supply, all_of
from bathkeeper.entries import Run, Step, Value
from bathkeeper.estimate.charges import plating_of
from bathkeeper.estimate.electrode import Plating, plate
from bathkeeper.estimate.measure import RunRecord, joined
from bathkeeper.estimate.observe import Context, Observation, observe
from bathkeeper.estimate.state import LARGEST_SPREAD, Z95, Counters, TankState, trailed
from bathkeeper.estimate.wear import Exposure, Outflow, drag_in, drag_out, wear
from bathkeeper.estimate.weighings import KITCHEN_SCALE, faults_of, scale_variance, weighed
from bathkeeper.estimate.world import World, tank_at

CHARGE_ERROR, AREA_ERROR = "run:charge", "run:area"
DRY_ENTRY = ("degrease", "rust removal")  # roles whose tank, first in the line, gets dry parts; any other had a rinse before it


def run_through(world: World, run: Run, context: Context) -> World:
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
        world, state = tank_at(world, step.tank, run)
        if state is None or not state.alive or state.recipe is None:
            if carried is not None and came_from == _before(line, step.tank):
                world = world.with_place("rinsed away", _amounts(carried))
            if state is not None:
                missing = "has no recipe" if state.recipe is None else state.why_empty
                world = world.with_problem(
                    f"a run went through `{step.tank}`, which {missing}", "log its make_up (back-dated)", run.id
                )
            carried, came_from = None, None
            continue
        plating, charge_variance, remarks = plating_of(step, area, spreads)
        for remark in remarks:
            world = world.with_problem(f"{step.tank}: {remark}", "if not, correct the run with the true charge", run.id)
        for anode in (a for b in plating.branches for a in b.anodes if a not in state.anodes):
            what = f"{step.tank}: no anode is called `{anode}`"
            world = world.with_problem(what, "log it as hung, or correct the run", run.id)
        load, load_variance = (area, area_variance) if area > 0 else _guessed_area(state, plating)
        state = with_supplies(world, state, [b.supply for b in plating.branches])
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
        state, unaccounted = drag_in(state, inflow, exposure)
        world = world.with_place(f"dragged into {step.tank}, not accounted for there", unaccounted)
        state = plate(state, plating, world.catalogue.metals, CHARGE_ERROR)
        state, ran_off = wear(state, exposure)
        world = world.with_place("run off with rinse water", ran_off)
        state, carried = drag_out(state, exposure)
        state = state.with_gauss(state.gauss.without([CHARGE_ERROR, AREA_ERROR]))
        counters = _counted(state.counters, plating.read_ah, load, step.dummy)
        heated = state.now if exposure.heated_h > 0 else state.heated_until
        state = trailed(replace(state, counters=counters, heated_until=heated))
        came_from = step.tank
        following = _following(world, run, number)
        if following is None or _before(line, following) != step.tank:
            world = world.with_place("on parts" if line and step.tank == line[-1] else "rinsed away", _amounts(carried))
        electrode = state.recipe.electrode if state.recipe is not None else None
        if plating.read_ah > 0 and electrode is not None and electrode.deposit:
            record = RunRecord(step.tank, plating, charge_variance, load_variance, run.at)
            before = world.runs.get(run.id)
            world = replace(world, runs={**world.runs, run.id: joined(before, record) if before is not None else record})
        world = world.with_tank(state)
    return _weighed_parts(world, run, context)


def _area(run: Run, usual: float) -> tuple[float, float]:
    """(dm2, variance of its logarithm) of a load: parts' own spreads, else the usual one."""
    total = run.area_dm2
    if total <= 0:
        return 0.0, 0.0
    spreads = (p.spread if p.spread is not None else usual * (p.area_dm2 or 0.0) for p in run.parts)
    return total, sum((min(s / total, LARGEST_SPREAD) / Z95) ** 2 for s in spreads)


def _guessed_area(state: TankState, plating: Plating) -> tuple[float, float]:
    """Of a load nobody measured: what the recipe's usual current density makes of the current, give or take half."""
    reference = state.recipe.electrode.reference if state.recipe is not None and state.recipe.electrode is not None else None
    if reference is None or not plating.minutes or plating.read_ah <= 0:
        return 0.0, 0.0
    return plating.read_ah * 60 / plating.minutes / reference.density_a_dm2, 0.25**2


def _heated_h(world: World, state: TankState, step: Step) -> float:
    """Hours that the tank was hot for this load: its stay, and the warming up before it unless it was still hot."""
    spreads = world.catalogue.spreads
    window = state.recipe.indicators.get("temperature") if state.recipe is not None else None
    temperature = step.temperature_c if step.temperature_c is not None else window.target if window is not None else None
    if temperature is None or temperature < spreads["heated above"].absolute:
        return 0.0
    hours = (step.minutes or 0.0) / 60
    idle_h = (state.now - state.heated_until).total_seconds() / 3600 if state.heated_until is not None else math.inf
    return hours + min(spreads["heated hours a run"].absolute, max(idle_h, 0.0))


def _inflow(state: TankState, neighbour: str | None, came_from: str | None, carried: Outflow | None) -> Outflow | None:
    """What the parts bring in: what they carry out of the tank before, nothing where they come dry off the bench, and None
    (clean water) from a neighbour that is not on record."""
    if neighbour is None:
        return Outflow(0.0, {}) if state.entry.role in DRY_ENTRY else None
    return carried if came_from == neighbour else None


def _following(world: World, run: Run, number: int) -> str | None:
    """The next wet tank that the run says it went through."""
    for step in run.steps[number + 1 :]:
        found = world.tanks.get(step.tank)
        if found is None or found.entry.role != "dry":
            return step.tank
    return None


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


def with_supplies(world: World, state: TankState, supplies: Sequence[str]) -> TankState:
    """The tank with an error for each of these current sources, as calibrated or by default."""
    usual = world.catalogue.spreads["supply gain"].relative
    new = dict.fromkeys(s for s in supplies if f"gain:{s}" not in state.gauss)
    own = all_of(world.catalogue.own, "supply", Supply) if new else {}
    beliefs: list[tuple[str, float, float]] = []
    for supply in new:
        told = own.get(supply, Supply())
        prior = (-math.log(told.gain), ((told.gain_spread or usual) / Z95) ** 2)
        beliefs.append((f"gain:{supply}", *world.calibrated.get(f"gain:{supply}", prior)))
    return state.with_gauss(state.gauss.extended(beliefs))


def _weighed_parts(world: World, run: Run, context: Context) -> World:
    """What the load gained on the scale, set against what its plating should have laid down."""
    record = world.runs.get(run.id)
    if record is None or run.mass_before_g is None or run.mass_after_g is None or run.mass_after_g <= run.mass_before_g:
        return world
    state = world.tanks[record.tank]
    scale = world.catalogue.method(KITCHEN_SCALE)
    value = Value(of="deposit_mass", value=run.mass_after_g - run.mass_before_g, unit="g")
    fault = faults_of(value, [record])
    if fault is not None:
        return world.with_problem(f"{record.tank}: {fault[0]}", fault[1], run.id)
    expected = weighed(state, [record], scale_variance(world, scale, value), world.catalogue.metals)
    observations = [Observation(value, scale, expected)]
    return world.with_tank(observe(state, observations, run, context, world.catalogue.metals))
