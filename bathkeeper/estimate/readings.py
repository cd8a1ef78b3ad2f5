"""Reading entries: found the method, the instrument's own error and the run they speak of, they are handed on to be weighed."""

from __future__ import annotations

import msgspec

from bathkeeper.catalogue.loader import CatalogueError
from bathkeeper.catalogue.schema import Method
from bathkeeper.chemistry.baume import MODULUS_US, sg_from_baume
from bathkeeper.entries import Reading, Value
from bathkeeper.estimate.measure import bias_belief, bias_name, expect
from bathkeeper.estimate.observe import Context, Key, Observation, Reconsider, observe
from bathkeeper.estimate.state import TankState, trailed
from bathkeeper.estimate.verdicts import BY_EYE, additives_of, shown_amount
from bathkeeper.estimate.weighings import faults_of, records_of, scale_variance, weighed
from bathkeeper.estimate.world import World, tank_at


def reading(world: World, entry: Reading, context: Context) -> World:
    for confirmed in entry.confirms if isinstance(entry.confirms, tuple) else ():
        position = context.positions.get(confirmed)
        if position is None or position >= context.position:
            world = world.with_problem(
                f"the reading {confirmed} that this one confirms is not in the book before it",
                "check the id and the date",
                entry.id,
            )
        elif (confirmed, "*") not in context.accepted:
            raise Reconsider(position, _all_of(world, confirmed))
    world, records = records_of(world, entry)
    record = records[0] if records else None
    tank = record.tank if record is not None else entry.tank
    if tank is None or not entry.values:
        return world
    world, state = tank_at(world, tank, entry)
    if state is None:
        return world
    if not state.alive:
        known = {v.of for v in entry.values} & set(state.species)
        if known:
            return world.with_problem(
                f"{tank} was read for {', '.join(sorted(known))} but {state.why_empty}",
                "log its make_up (back-dated)",
                entry.id,
            )
    temperature = next((v.value for v in entry.values if v.of == "temperature"), None)
    observations = []
    judged = [j for value in entry.values for j in _judged(value, state)]
    for told in [*entry.values, *judged]:
        try:
            value = _in_own_terms(told, state)
        except ValueError as problem:
            what = f"{tank}: {told.of} {told.value:g} {told.unit}: {problem}"
            world = world.with_problem(what, "correct the reading", entry.id)
            continue
        if value.of in state.species and value.unit != state.species[value.of].unit:
            right = f"give it in {state.species[value.of].unit}"
            world = world.with_problem(f"{tank}: {value.of} was read in {value.unit}", right, entry.id)
            continue
        method, world = _method(world, value, entry.id)
        bias = bias_name(value, method)
        if bias is not None and bias not in state.gauss:
            belief = world.calibrated.get(bias, (0.0, bias_belief(method)))
            state = state.with_gauss(state.gauss.extended([(bias, *belief)]))
        fault = faults_of(value, records)
        if fault is not None:
            world = world.with_problem(f"{tank}: {fault[0]}", fault[1], entry.id)
            continue
        about_parts = record if value.of in ("deposit_mass", "thickness") or value.of.startswith("deposit_") else None
        if record is None and (value.of == "thickness" or value.of.startswith("deposit_")):
            world = world.with_problem(f"{value.of} is read on a run's parts", "name the run (run=ID)", entry.id)
            continue
        observations.append((value, method, about_parts))
    metals = world.catalogue.metals
    expected = []
    for v, m, about in observations:
        if v.of == "deposit_mass" and v.value is not None:
            e = weighed(state, records, scale_variance(world, m, v), metals) if state.alive else None
        else:
            e = expect(state, v, m, metals, about, temperature) if state.alive else None
        expected.append(Observation(v, m, e))
    return world.with_tank(trailed(observe(state, expected, entry, context, metals)))


def _judged(value: Value, state: TankState) -> list[Value]:
    """A verdict on an additive, or on a panel, as the weak statement about additives that it is."""
    if value.unit != "verdict" or value.word is None or state.recipe is None:
        return []
    additives = additives_of(state)
    word = value.word.strip().lower()
    named = value.of.replace("_", " ")
    about = [named] if named in additives else ["brightener"] if value.of == "panel" and "brightener" in additives else []
    found: list[Value] = []
    for name in about:
        s = additives[name]
        low, high = shown_amount(s, "low"), shown_amount(s, "high")
        amounts = {"low": low, "dull": low, "good": s.target, "high": high}
        amount = amounts.get(word)
        if amount:
            found.append(Value(of=name, value=amount, unit=s.unit, method=BY_EYE))  # type: ignore[arg-type]
    return found


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
    return world.catalogue.default_method(value.of, value.unit), world
