"""Clues in the run itself: its current density, area, minutes, the steel of its parts, its bake."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping

from bathkeeper.advice.clue import (
    Clue,
    Scene,
    against_usual,
    beyond,
    edge_of,
    made_clue,
    percent,
    run_id,
    source_of,
    told,
    unknown,
)
from bathkeeper.catalogue.defects import Evidence
from bathkeeper.entries import Run, Treatment
from bathkeeper.estimate.state import Z95, TankState
from bathkeeper.safety.embrittlement import fastener_class
from bathkeeper.safety.loader import load as load_safety
from bathkeeper.safety.schema import SafetyError

LEAST_RUNS = 3  # before there is something usual to compare a run with [practice]
UNUSUAL, UNUSUAL_SOFT = 1.5, 0.25  # times the usual from which a stay or a load is long, and how softly [practice]
BAKE_WITHIN_H = 4.0  # [memory]: the usual printed limit; the rule that the keeper named goes before it
STRIPPED_G = 0.5  # of old coating, from which it counts [practice]


def run_fact(scene: Scene, evidence: Evidence, state: TankState) -> Clue:
    if scene.run is None or scene.past is None:
        return unknown(evidence, state, "no run is named, so nothing is known of its current, area, minutes")
    facts: Mapping[str, Callable[[Scene, Evidence, TankState], Clue]] = {
        "density_a_dm2": _density, "area_dm2": _area, "minutes": _minutes,
        "strength_mpa": _strength, "coating_stripped_g": _stripped, "bake_delay_h": _bake_delay,
    }  # fmt: skip
    return facts[evidence.of](scene, evidence, state)


def _density(scene: Scene, evidence: Evidence, state: TankState) -> Clue:
    electrode = state.recipe.electrode if state.recipe is not None else None
    window = electrode.density if electrode is not None else None
    density = scene.past.density_a_dm2 if scene.past is not None and scene.past.tank == state.name else None
    if density is None:
        return unknown(evidence, state, "the current density of that run is not known: current, minutes or area are missing")
    edge = edge_of(window, evidence.side) if window is not None else None
    if window is None or edge is None:
        return unknown(evidence, state, f"{density:.2g} A/dm2, and the recipe has no {evidence.side} edge for it")
    spreads = scene.world.catalogue.spreads
    relative = math.hypot(*(spreads[n].relative for n in ("area", "area habit", "charge stated"))) / Z95
    chance = beyond(density, relative * density, edge, evidence.side)
    text = f"{told(density, relative * density, 'A/dm2')} at that run, {evidence.side} edge {edge:g}: {percent(chance)}"
    return made_clue(evidence, state, chance, text, run_id(scene), (source_of(window),))


def _against_others(
    scene: Scene, evidence: Evidence, state: TankState, value: float | None, others: list[float], what: str
) -> Clue:
    """A run against the usual of the others through the tank."""
    if value is None or value <= 0:
        return unknown(evidence, state, f"{what} of that run is not on record")
    if len(others) < LEAST_RUNS:
        return unknown(evidence, state, f"{what} {value:.3g}; too few other runs to say what is usual")
    usual = sorted(others)[len(others) // 2]
    edge = usual * UNUSUAL if evidence.side == "high" else usual / UNUSUAL
    chance = against_usual(value, edge, evidence.side, UNUSUAL_SOFT)
    return made_clue(evidence, state, chance, f"{what} {value:.3g}, usually {usual:.3g}", run_id(scene), ("practice",))


def _area(scene: Scene, evidence: Evidence, state: TankState) -> Clue:
    value = scene.run.area_dm2 if scene.run is not None else None
    others = [r.area_dm2 for r in scene.others if r.area_dm2]
    return _against_others(scene, evidence, state, value, others, "area in dm2")


def _minutes(scene: Scene, evidence: Evidence, state: TankState) -> Clue:
    assert scene.run is not None
    value = next((s.minutes for s in scene.run.steps if s.tank == state.name and s.minutes), None)
    others = [
        s.minutes
        for e in scene.entries
        if isinstance(e, Run) and e.id != scene.run.id and e.at <= scene.at
        for s in e.steps
        if s.tank == state.name and s.minutes
    ]
    return _against_others(scene, evidence, state, value, others, f"minutes in {state.name}")


def _strength(scene: Scene, evidence: Evidence, state: TankState) -> Clue:
    assert scene.run is not None
    told: list[float] = []
    for part in scene.run.parts:
        if part.strength_mpa is not None:
            told.append(part.strength_mpa)
        elif part.property_class is not None:
            try:
                told.append(fastener_class(part.property_class).strength_mpa)
            except SafetyError:
                continue
    if not told:
        return unknown(evidence, state, "the strength of the parts is not on record")
    limit = load_safety().limits["sensitive_from"]
    chance = 1.0 if max(told) >= limit.value else 0.0
    text = f"steel of {max(told):.0f} MPa, sensitive to hydrogen from {limit.value:g}"
    return made_clue(evidence, state, chance, text, run_id(scene), (f"{limit.status}: {limit.source}",))


def _stripped(scene: Scene, evidence: Evidence, state: TankState) -> Clue:
    assert scene.run is not None
    grams = sum(p.coating_stripped_g or 0.0 for p in scene.run.parts)
    if grams <= 0:
        return unknown(evidence, state, "no old coating is on record for that load")
    chance = 1.0 if grams >= STRIPPED_G else 0.0
    return made_clue(evidence, state, chance, f"{grams:.2g} g of old coating on that load", run_id(scene))


def _bake_delay(scene: Scene, evidence: Evidence, state: TankState) -> Clue:
    assert scene.run is not None
    bakes = [e for e in scene.entries if isinstance(e, Treatment) and e.what == "bake" and e.run == scene.run.id]
    waited = (scene.at - scene.run.at).total_seconds() / 3600
    if not bakes:
        if waited <= BAKE_WITHIN_H:
            return unknown(evidence, state, "no bake is on record yet")
        return made_clue(evidence, state, 1.0, "no bake is on record for that load", run_id(scene), ("memory",))
    first = min(bakes, key=lambda b: b.at)
    delay = max((first.at - scene.run.at).total_seconds() / 3600, 0.0)
    chance = 1.0 if delay > BAKE_WITHIN_H else 0.0
    return made_clue(evidence, state, chance, f"baked {delay:.1f} h after the bath; the usual limit is {BAKE_WITHIN_H:g} h",
                 (*run_id(scene), first.id), ("memory",))  # fmt: skip
