"""Wear terms: one exposure of a tank turned into changes of what it holds, the same mechanism for every role."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime

import numpy as np

from bathkeeper.catalogue.schema import Effect, Wear
from bathkeeper.estimate.changes import Changes
from bathkeeper.estimate.dual import Dual, exp, power
from bathkeeper.estimate.state import BEGINNING, EVAPORATED, HALF_YEAR_DAYS, TankState, booked, settled, walk_rates

SECONDS_PER_DAY = 86_400.0
BY_TIME = ("day", "surface_day", "anode_dm2_day")
DRAG_IN_RATE = "drag_in"
SPENT_G = 1e-6  # less than this is no anode
VOLUME_WANDER = 0.002  # of the working volume, standard deviation per square root of a day: splashes, small top-ups [practice]
STRAY_WANDER = 0.5  # of a contaminant's high edge, standard deviation in half a year: fallen parts, bus bars ... [practice]
ANODE_AREA_DM2_PER_KG = 1.2  # of a hung anode whose area nobody stated [practice]


@dataclass(frozen=True)
class Exposure:
    """What a step did to its tank. ``area_name`` and ``charge_name`` are the state entries with this run's own errors (log)."""

    area_dm2: float
    minutes: float
    charge_ah: float
    heated_h: float
    temperature_c: float | None
    stripped_g: float
    area_name: str
    charge_name: str
    supply: str | None


@dataclass(frozen=True)
class Outflow:
    """Solution that left on the parts: litres, and amounts by species with the variance of this load alone.

    ``rate``: drag-out of the tank left, as believed now; ``log_variance``: of the logarithm of what is the same at every load
    (that rate, and area as this keeper guesses it)."""

    volume_l: float
    amounts: Mapping[str, tuple[float, float]]
    rate: float = 1.0
    log_variance: float = 0.0


def wear(state: TankState, exposure: Exposure) -> tuple[TankState, dict[str, float]]:
    """The tank after every wear term of a run's step but drag-out, and the solution that ran off (of a running rinse)."""
    assert state.recipe is not None
    changes = Changes(state)
    for term in state.recipe.wear:
        if term.exposure in BY_TIME or is_drag_out(term):
            continue
        amount = _exposure(state, term, exposure)
        if amount is not None:
            _apply(changes, term, _extent(state, term, amount, exposure.temperature_c))
    running = {t.name for t in state.recipe.wear if any(e.to == "solution" for e in t.effects)}
    ran_off: dict[str, float] = {}
    for cause, name, moved in changes.booked:
        if cause in running and moved < 0:
            ran_off[name] = ran_off.get(name, 0.0) - moved
    return changes.applied(), ran_off


def drag_out(state: TankState, exposure: Exposure) -> tuple[TankState, Outflow]:
    """The tank after the parts left it wet, and what they took."""
    assert state.recipe is not None
    changes = Changes(state)
    for term in state.recipe.wear:
        if is_drag_out(term):
            amount = _exposure(state, term, exposure)
            if amount is not None:
                _apply(changes, term, _extent(state, term, amount, exposure.temperature_c))
    persistent = [state.gauss.index[n] for n in ("theta:drag_out", "habit:area") if n in state.gauss]
    taken: dict[str, tuple[float, float]] = {}
    litres = scale = 0.0
    for name, change in changes.by_name.items():
        if name == "volume" and change.value < 0:
            litres = -change.value
            log_grad = change.grad[persistent] / change.value
            scale = float(log_grad @ state.gauss.cov[np.ix_(persistent, persistent)] @ log_grad)
        elif name.startswith("mass:"):
            own = Dual(change.value, change.grad.copy())
            own.grad[persistent] = 0.0
            taken[name[5:]] = (-change.value, state.gauss.variance_of(own))
    rate = state.parameter_value("drag_out") if "drag_out" in state.recipe.parameters else 1.0
    return changes.applied(), Outflow(litres, taken, rate, scale)


def drag_in(state: TankState, outflow: Outflow | None, exposure: Exposure) -> tuple[TankState, dict[str, float]]:
    """The tank after wet parts came in, and what of it the tank has no account for.

    None: from a neighbour that is not on record, as clean water of this tank's own drag-out. What the tank before does not know
    of its drag-out is wrong the same way at every load, so the rate is a belief of its own here (``drag_in``, its logarithm),
    taken over once and then sharpened by this tank's readings; the difference that they make is returned like what is not
    tracked.
    """
    assert state.recipe is not None
    if outflow is None:
        changes = Changes(state)
        for term in state.recipe.wear:
            amount = _exposure(state, term, exposure) if is_drag_out(term) else None
            if amount is not None:
                litres = _extent(state, term, amount, exposure.temperature_c)
                for effect in term.effects:
                    changes.add("clean water dragged in", "volume", -(litres * effect.amount))
        return changes.applied(), {}
    if outflow.volume_l <= 0:
        return state, {}
    if DRAG_IN_RATE not in state.gauss:
        state = state.with_gauss(state.gauss.extended([(DRAG_IN_RATE, math.log(outflow.rate), outflow.log_variance)]))
    scale = exp(state.gauss.dual(DRAG_IN_RATE)) / outflow.rate
    changes = Changes(state)
    changes.add("drag-in", "volume", scale * outflow.volume_l)
    unaccounted = {"volume": outflow.volume_l * (1.0 - scale.value)}
    noise: dict[str, tuple[float, float]] = {}
    for species, (amount_g, variance) in outflow.amounts.items():
        name = f"mass:{species}"
        if name in state.gauss:
            changes.add("drag-in", name, scale * amount_g)
            noise[name] = (0.0, variance)
            unaccounted[name] = amount_g * (1.0 - scale.value)
        else:
            unaccounted[name] = amount_g
    after = changes.applied()
    return after.with_gauss(after.gauss.shifted(noise)), {n: a for n, a in unaccounted.items() if a != 0.0}


def pass_time(state: TankState, until: datetime) -> TankState:
    """The tank at a later moment, nothing having been done to it. Two spells give the same as one of their total length."""
    days = (until - state.now).total_seconds() / SECONDS_PER_DAY
    if state.now == BEGINNING or days <= 0:
        return state if days == 0 else replace(state, now=until)
    left = days
    while left > 0:
        spell = min(left, _until_an_anode_is_gone(state))
        state = _spell(state, spell)
        left -= spell
    return replace(state, now=until)


def _spell(state: TankState, days: float) -> TankState:
    """Time in which the rates stay what they are."""
    rates: dict[str, Dual] = {}
    flows = state.flows
    white: dict[str, float] = {}
    if state.recipe is not None and state.alive:
        changes = Changes(state)
        for term in state.recipe.wear:
            amount = _time_rate(state, term)
            if amount:
                _apply(changes, term, state.parameter(term.rate) * amount)
        rates = changes.by_name
        for cause, name, per_day in changes.booked:
            flows = booked(flows, cause, {name: per_day * days})
        white = {"volume": (VOLUME_WANDER * state.working_volume_l) ** 2}
        explained = {e.to for t in state.recipe.wear for e in t.effects}
        for name, species in state.recipe.species.items() if state.entry.role == "plate" else ():
            if species.kind == "contaminant" and species.high and name not in explained:
                white[f"mass:{name}"] = (STRAY_WANDER * species.high * state.working_volume_l) ** 2 / HALF_YEAR_DAYS
    gauss = state.gauss.drifted(rates, walk_rates(state), days, white)
    return settled(replace(state, gauss=gauss, flows=flows))


def _until_an_anode_is_gone(state: TankState) -> float:
    """Days until the first hung anode is used up by lying idle, never a useless sliver of time."""
    soonest = math.inf
    if state.recipe is not None and state.alive:
        for term in state.recipe.wear:
            if term.exposure != "anode_dm2_day":
                continue
            per_dm2 = state.parameter_value(term.rate) * sum(-e.amount for e in term.effects if e.to.startswith("anode:"))
            for name in idle_anodes(state, term.anode_metal or ""):
                if per_dm2 > 0:
                    soonest = min(soonest, state.gauss.value(f"anode:{name}") / (per_dm2 * _idle_dm2(state, name)))
    return max(soonest, 1e-6)


def is_drag_out(term: Wear) -> bool:
    """Whether the term is solution leaving on parts."""
    return term.exposure == "dm2" and all(e.to == "solution" for e in term.effects)


def idle_anodes(state: TankState, metal: str) -> list[str]:
    """The anodes of a metal that hang in the bath and still have metal."""
    return [
        n
        for n, a in state.anodes.items()
        if a.metal == metal and a.hung and not a.retired and state.gauss.value(f"anode:{n}") > SPENT_G
    ]


def idle_area_dm2(state: TankState, metal: str) -> float:
    """Area of the anodes of a metal that lie idle in the bath."""
    return sum(_idle_dm2(state, n) for n in idle_anodes(state, metal))


def _idle_dm2(state: TankState, anode: str) -> float:
    info = state.anodes[anode]
    return info.area_dm2 or ANODE_AREA_DM2_PER_KG * max(info.start_mass_g, 1.0) / 1000


def _time_rate(state: TankState, term: Wear) -> float:
    if term.exposure == "day":
        return 1.0
    if term.exposure == "surface_day":
        return state.surface_dm2
    if term.exposure == "anode_dm2_day":
        return idle_area_dm2(state, term.anode_metal or "")
    return 0.0


def _exposure(state: TankState, term: Wear, exposure: Exposure) -> Dual | None:
    g = state.gauss
    area = exp(g.dual("habit:area") + g.dual(exposure.area_name)) * exposure.area_dm2
    if term.exposure == "dm2":
        return area if exposure.area_dm2 > 0 else None
    if term.exposure == "dm2_min":
        return area * exposure.minutes if exposure.area_dm2 > 0 and exposure.minutes > 0 else None
    if term.exposure == "ah":
        if exposure.charge_ah <= 0:
            return None
        error = g.dual(exposure.charge_name)
        return exp(error + g.dual(f"gain:{exposure.supply}") if exposure.supply else error) * exposure.charge_ah
    constant = {
        "run": 1.0,
        "heated_h": exposure.heated_h,
        "surface_heated_h": exposure.heated_h * state.surface_dm2,
        "g_stripped": exposure.stripped_g,
    }[term.exposure]
    return g.dual("volume") * 0.0 + constant if constant > 0 else None


def _extent(state: TankState, term: Wear, amount: Dual, temperature_c: float | None) -> Dual:
    assert state.recipe is not None
    extent = state.parameter(term.rate) * amount
    if term.slowed_by is not None:
        target = state.recipe.species[term.slowed_by].target or 1.0
        mass, volume = state.gauss.dual(f"mass:{term.slowed_by}"), state.gauss.dual("volume")
        if volume.value <= 0 or mass.value / volume.value < 1e-6 * target:
            return extent * 0.0
        exponent = state.parameter(term.power) if term.power else 1.0
        extent = extent * power(mass / volume / target, exponent)
    if term.per_degree is not None and temperature_c is not None:
        window = state.recipe.indicators.get("temperature")
        usual = window.target if window is not None and window.target is not None else 20.0
        extent = extent * exp(state.parameter(term.per_degree) * (temperature_c - usual))
    return extent


def _apply(changes: Changes, term: Wear, extent: Dual) -> None:
    for effect in term.effects:
        amount = extent * effect.amount
        if effect.parameter is not None:
            amount = amount * changes.state.parameter(effect.parameter)
        _one_effect(changes, term, effect, amount)


def _one_effect(changes: Changes, term: Wear, effect: Effect, amount: Dual) -> None:
    state = changes.state
    if effect.to == "solution":
        volume = state.gauss.dual("volume")
        if volume.value <= 1e-9:
            return
        kept = exp(amount / volume)
        for species in state.species:
            changes.add(term.name, f"mass:{species}", state.gauss.dual(f"mass:{species}") * (kept - 1.0))
        changes.add(term.name, "volume", amount)
    elif effect.to == "water":
        changes.add(term.name, "volume", amount)
        if amount.value < 0:
            changes.add(term.name, EVAPORATED, -amount)
    elif effect.to == "acid":
        changes.add(term.name, "acid", amount)
    elif effect.to.startswith("anode:"):
        names = idle_anodes(state, effect.to[6:])
        total = sum(_idle_dm2(state, n) for n in names)
        for name in names:
            changes.add(term.name, f"anode:{name}", amount * (_idle_dm2(state, name) / total))
    else:
        changes.add(term.name, f"mass:{effect.to}", amount)
