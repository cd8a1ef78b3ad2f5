"""Clues in the tanks: contents, ratios, readings and counters as they were believed at a run, and as they are now."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Callable
from datetime import datetime, timedelta

from bathkeeper.advice.clue import (
    Clue,
    Scene,
    against_usual,
    beyond,
    edge_of,
    made_clue,
    percent,
    point_of,
    run_id,
    source_of,
    told,
    unknown,
)
from bathkeeper.advice.clue_runs import run_fact
from bathkeeper.catalogue.defects import Evidence
from bathkeeper.catalogue.loader import CatalogueError
from bathkeeper.catalogue.schema import Ratio, Window
from bathkeeper.entries import MakeUp, Reading, Run, Treatment
from bathkeeper.estimate.state import Z95, Point, TankState
from bathkeeper.estimate.view import tank_view

STALE_DAYS = 60.0  # a reading older than this tells nothing of the run [practice]
DOUBTED = 0.5  # how far a reading in doubt is believed [practice]
AFTER_DAYS = 14.0  # one taken so soon after the run still tells of it [practice]
COUNTER_SOFT = 0.35  # of a counter against its usual end, in natural logarithms [practice]
ORGANICS_AH_L, ORGANICS_DAYS = 30.0, 730.0  # since make-up or carbon, from which organics are suspected [practice]
IDLE_LONG_DAYS = 14.0  # [practice]
TEMPERATURE_HALF_C = 1.0  # of a thermometer told with a run [practice]
QUIET = ("make-up", "drag-out", "removal", "reading adjustments", "tracked from here on", "stopped at zero", "emptied")


def clue_of(scene: Scene, evidence: Evidence) -> Clue:
    """The evidence as it stands; of several tanks of its role the one where it stands out most."""
    if evidence.kind == "seen":
        return Clue(evidence, scene.tank, None, 1.0, f"look for: {evidence.of}")
    looks: dict[str, Callable[[Scene, Evidence, TankState], Clue]] = {
        "content": _content, "ratio": _ratio, "indicator": _indicator, "counter": _counter, "run": _run,
    }  # fmt: skip
    tanks = scene.tanks(evidence.at)
    if not tanks:
        return Clue(evidence, evidence.at, None, 1.0, f"no {evidence.at} tank is on record")
    found = [looks[evidence.kind](scene, evidence, t) for t in tanks]
    return max(found, key=lambda c: (c.known, c.chance or 0.0))


def _too_wide(window: Window, half: float) -> bool:
    """Whether an interval is wider than the window it is held against: then it says nothing."""
    low, high = window.low or 0.0, window.high
    width = high - low if high is not None else low
    return width > 0 and half > width


def _content(scene: Scene, evidence: Evidence, state: TankState) -> Clue:
    name, side = evidence.of, evidence.side
    window = state.recipe.species.get(name) if state.recipe is not None else None
    if window is None or not state.alive:
        return unknown(evidence, state, f"{name} in {state.name} is not tracked" if state.alive else f"{state.name} is empty")
    edge = edge_of(window, side)
    if edge is None:
        return unknown(evidence, state, f"{name} in {state.name} has no {side} edge")
    if not _followed(scene, state, name):
        return _by_readings(scene, evidence, state, window, edge)
    point = point_of(scene, state)
    order = list(state.species).index(name)
    then = (point.values[order], point.deviations[order]) if point is not None and scene.run is not None else None
    return _held_against(scene, evidence, state, window, edge, then, state.concentration(name), name)


def _ratio(scene: Scene, evidence: Evidence, state: TankState) -> Clue:
    name, side = evidence.of, evidence.side
    ratio = state.recipe.ratios.get(name) if state.recipe is not None else None
    if ratio is None or not state.alive:
        return unknown(evidence, state, f"{name.replace('_', ' ')} of {state.name} is not tracked")
    edge = edge_of(ratio, side)
    if edge is None:
        return unknown(evidence, state, f"{ratio.title or name} has no {side} edge")
    view = tank_view(state, scene.world.catalogue.metals).ratios[name]
    now = (view.value, (view.high - view.value) / Z95)
    point = point_of(scene, state)
    then = _ratio_then(state, ratio, point) if point is not None and scene.run is not None else None
    return _held_against(scene, evidence, state, ratio, edge, then, now, ratio.title or name)


def _ratio_then(state: TankState, ratio: Ratio, point: Point) -> tuple[float, float] | None:
    """Value and deviation at a point of the trail, its contents taken as independent of one another."""
    values = dict(zip(state.species, point.values, strict=True))
    spread = dict(zip(state.species, point.deviations, strict=True))
    whole = sum(values[s] for s in ratio.whole)
    if whole <= 0:
        return None
    r = sum(values[s] for s in ratio.parts) / whole
    names = {*ratio.parts, *ratio.whole}
    variance = sum((((s in ratio.parts) - r * (s in ratio.whole)) / whole * spread[s]) ** 2 for s in names)
    return r, math.sqrt(variance)


def _held_against(
    scene: Scene,
    evidence: Evidence,
    state: TankState,
    window: Window,
    edge: float,
    then: tuple[float, float] | None,
    now: tuple[float, float],
    title: str,
) -> Clue:
    """Chance of being beyond the edge at the run; a content read after the run may tell more of it than was believed then."""
    unit = "" if window.unit in ("fraction", "ratio") else window.unit
    where = "" if state.name == scene.tank else f"{state.name}: "
    seen = state.seen.get(evidence.of)
    read_after = scene.run is not None and seen is not None and not seen.doubtful and seen.at > scene.moment
    spells = [then] if then is not None else []
    if then is None or read_after:
        spells.append(now)
    chances = [beyond(v, sd, edge, evidence.side) for v, sd in spells if not _too_wide(window, Z95 * sd)]
    words = f"{told(*now, unit)} now"
    if then is not None:
        was = told(*then, unit)
        words = f"{was} then as now" if was == told(*now, unit) else f"{was} then, {words}"
    text = f"{where}{title} {words}, {evidence.side} edge {edge:g}"
    if seen is not None and seen.doubtful and not seen.refuted and seen.value is not None:
        text += f", read {seen.value:.3g} on {seen.at:%d %b}, in doubt: read it again"
        chances.append(DOUBTED * beyond(seen.value, math.sqrt(seen.noise), edge, evidence.side))
    entries = tuple(e for e in (seen.entry if seen is not None else None, state.make_up_entry) if e)
    if not chances:
        return unknown(evidence, state, f"{text}: wider than its window, so it says nothing", entries)
    chance = max(chances)
    return made_clue(evidence, state, chance, f"{text}: {percent(chance)}", entries, (source_of(window),))


def _by_readings(scene: Scene, evidence: Evidence, state: TankState, window: Window, edge: float) -> Clue:
    """Of what is foreign to a bath and comes in by ways that nobody logs: its readings about that time are all that is known.

    The estimate believes such a thing absent until it is told otherwise; that is no evidence that it is. It stays in a bath
    until it is treated, so that later readings tell of the run as well.
    """
    name = evidence.of
    treated = [e.at for e in scene.entries if isinstance(e, Treatment) and e.tank == state.name and e.at > scene.moment]
    until = min([scene.at, *treated])
    read = [
        found
        for e in scene.entries
        if isinstance(e, Reading) and e.tank == state.name and scene.moment - timedelta(days=STALE_DAYS) <= e.at <= until
        and (state.made_up is None or e.at >= state.made_up)
        for found in [_value_of(scene, e, name)] if found is not None
    ]  # fmt: skip
    if not read:
        known = state.seen.get(name)
        return unknown(evidence, state, f"{name} in {state.name} was {'not' if known is not None else 'never'} read"
                       + (" about that time" if known is not None else ""))  # fmt: skip
    weights = [1.0 / max(half, 1e-9) ** 2 for _, _, half in read]
    mean = sum(w * v for w, (_, v, _) in zip(weights, read, strict=True)) / sum(weights)
    half = 1.0 / math.sqrt(sum(weights))
    chance = beyond(mean, half / Z95, edge, evidence.side)
    where = "" if state.name == scene.tank else f"{state.name}: "
    times = f"read {read[-1][0].at:%d %b}" if len(read) == 1 else f"by {len(read)} readings, the last {read[-1][0].at:%d %b}"
    text = f"{where}{name} {told(mean, half / Z95, window.unit)} {times}, {evidence.side} edge {edge:g}: {percent(chance)}"
    return made_clue(evidence, state, chance, text, (e.id for e, _, _ in read), (source_of(window),))


def _value_of(scene: Scene, entry: Reading, name: str) -> tuple[Reading, float, float] | None:
    """(entry, value in g/L, 95 % half-width) of what an entry reads of something."""
    for value in entry.values:
        if value.of.casefold().replace("_", " ") != name or value.value is None:
            continue
        scale = 0.001 if value.unit == "mg/L" else 1.0
        amount = scale * value.value
        if value.spread is not None:
            return entry, amount, scale * value.spread
        catalogue = scene.world.catalogue
        try:
            method = catalogue.method(value.method) if value.method else catalogue.default_method(name, value.unit)
        except CatalogueError:
            method = catalogue.default_method(name, value.unit)
        relative = math.hypot(method.relative, method.bias_relative)
        return entry, amount, math.hypot(method.absolute, relative * amount, method.bias_absolute)
    return None


def _followed(scene: Scene, state: TankState, name: str) -> bool:
    """Whether the estimate follows a content: what is foreign to a bath it follows only where entries or wear bring it in."""
    if state.species[name].kind != "contaminant":
        return True
    if any(f"mass:{name}" in account and cause not in QUIET for cause, account in state.flows.items()):
        return True
    made = next((e for e in scene.entries if isinstance(e, MakeUp) and e.id == state.make_up_entry), None)
    return made is not None and any(n in made.contents for n in (name, name.replace(" ", "_")))


def _indicator(scene: Scene, evidence: Evidence, state: TankState) -> Clue:
    name, side = evidence.of.removesuffix("_c"), evidence.side
    title = {"ph": "pH"}.get(name, name)
    window = state.recipe.indicators.get(name) if state.recipe is not None else None
    edge = edge_of(window, side) if window is not None else None
    if window is None or edge is None:
        return unknown(evidence, state, f"{title} of {state.name} has no {side} edge")
    with_run = _run_temperature(scene, state) if name == "temperature" else None
    if with_run is not None:
        chance = beyond(with_run, TEMPERATURE_HALF_C / Z95, edge, side)
        return made_clue(evidence, state, chance, f"{with_run:g} degC at that run, {side} edge {edge:g}: {percent(chance)}",
                     run_id(scene), (source_of(window),))  # fmt: skip
    read = _last_reading(scene, state, name)
    if read is None:
        return unknown(evidence, state, f"{title} of {state.name} was not read about that time")
    entry, value, half = read
    chance = beyond(value, half / Z95, edge, side)
    where = "" if state.name == scene.tank else f"{state.name}: "
    value_told = told(value, half / Z95, window.unit if name != "ph" else "")
    text = f"{where}{title} {value_told} read {entry.at:%d %b}, {side} edge {edge:g}: {percent(chance)}"
    return made_clue(evidence, state, chance, text, (entry.id,), (source_of(window),))


def _last_reading(scene: Scene, state: TankState, name: str) -> tuple[Reading, float, float] | None:
    """(entry, value, 95 % half-width): the last before the moment, else the first soon after it."""
    before: tuple[Reading, float, float] | None = None
    for entry in scene.entries:
        if not isinstance(entry, Reading) or entry.tank != state.name or entry.at > scene.at:
            continue
        if state.made_up is not None and entry.at < state.made_up:
            continue
        found = _value_of(scene, entry, name)
        if found is None:
            continue
        if entry.at <= scene.moment:
            before = found if scene.moment - entry.at <= timedelta(days=STALE_DAYS) else None
        elif before is None and entry.at - scene.moment <= timedelta(days=AFTER_DAYS):
            return found
    return before


def _run_temperature(scene: Scene, state: TankState) -> float | None:
    if scene.run is None:
        return None
    return next((s.temperature_c for s in scene.run.steps if s.tank == state.name and s.temperature_c is not None), None)


def _counter(scene: Scene, evidence: Evidence, state: TankState) -> Clue:
    if not state.alive or state.made_up is None or scene.moment < state.made_up:
        return unknown(evidence, state, f"nothing is counted of {state.name} at that time")
    name = evidence.of
    if name.startswith("since_addition"):
        return _since_addition(scene, evidence, state)
    if name == "idle_days":
        return _idle(scene, evidence, state)
    value, edge, unit, source = _count(scene, state, name)
    if edge is None or edge <= 0:
        return unknown(evidence, state, f"{value:.0f} {unit} of {state.name} have no usual end to be held against")
    chance = against_usual(value, edge, evidence.side, COUNTER_SOFT)
    where = "" if state.name == scene.tank else f"{state.name}: "
    entries = (state.make_up_entry,) if state.make_up_entry else ()
    return made_clue(evidence, state, chance, f"{where}{value:.0f} {unit}, usual end {edge:.0f}", entries, (source,))


def _count(scene: Scene, state: TankState, name: str) -> tuple[float, float | None, str, str]:
    """(how far, usual end, unit, source) of a counter at the moment."""
    assert state.made_up is not None
    life = state.recipe.life if state.recipe is not None else None
    plating = state.recipe is not None and state.recipe.role == "plate"
    source = f"usual life: {life.status} {life.source}".strip() if life is not None else "practice"
    carbon = [
        e.at
        for e in scene.entries
        if isinstance(e, Treatment) and e.tank == state.name and e.what.casefold() == "carbon"
        and state.made_up <= e.at <= scene.moment
    ]  # fmt: skip
    start = max([state.made_up, *carbon])
    runs = [
        e for e in scene.entries
        if isinstance(e, Run) and start <= e.at <= scene.moment and any(s.tank == state.name for s in e.steps)
    ]  # fmt: skip
    if name == "age_days":
        days = (scene.moment - start).total_seconds() / 86_400
        return days, life.days if life is not None and life.days else ORGANICS_DAYS if plating else None, "days", source
    if name == "charge_ah":
        point = point_of(scene, state)
        charge = (point.charge_ah if point is not None else state.counters.charge_ah) - _charge_at(state, start)
        edge = life.charge_ah if life is not None and life.charge_ah else None
        return charge, edge or (ORGANICS_AH_L * state.working_volume_l if plating else None), "Ah", source
    if name == "area_dm2":
        return sum(r.area_dm2 for r in runs), life.area_dm2 if life is not None else None, "dm2", source
    if name == "dummy_ah":
        return state.counters.dummy_ah, None, "Ah of dummying", source
    return float(len(runs)), None, "loads", source


def _charge_at(state: TankState, moment: datetime) -> float:
    place = bisect_right([p.at for p in state.trail], moment)
    return state.trail[place - 1].charge_ah if place and moment != state.made_up else 0.0


def _since_addition(scene: Scene, evidence: Evidence, state: TankState) -> Clue:
    """Against the charge that takes the brightener from its target to its low edge."""
    past, recipe = scene.past, state.recipe
    if past is None or past.tank != state.name or recipe is None:
        return unknown(evidence, state, "when additives last went in is not known of that run")
    if evidence.of.endswith("days"):
        value, edge, unit = past.since_additive_days, 30.0, "days"
    else:
        value, unit = past.since_additive_ah, "Ah"
        species, rate = recipe.species.get("brightener"), recipe.parameters.get("brightener_use")
        known = species is not None and rate is not None and species.target is not None and species.low is not None
        edge = (
            (species.target - species.low) * state.volume_l / state.parameter_value("brightener_use")  # type: ignore[union-attr, operator]
            if known
            else 0.0
        )
    if value is None or edge <= 0:
        return unknown(evidence, state, "when additives last went in is not known of that run")
    limit = edge if evidence.side == "high" else 0.1 * edge
    chance = against_usual(max(value, 1e-3), limit, evidence.side, COUNTER_SOFT)
    return made_clue(
        evidence, state, chance, f"{value:.0f} {unit} since additives went in; about {edge:.0f} use them up", (past.id,)
    )


def _idle(scene: Scene, evidence: Evidence, state: TankState) -> Clue:
    before = [
        e.at for e in scene.entries
        if isinstance(e, Run) and e.at < scene.moment and any(s.tank == state.name for s in e.steps)
    ]  # fmt: skip
    if not before:
        return unknown(evidence, state, f"no load through {state.name} before that one")
    days = (scene.moment - max(before)).total_seconds() / 86_400
    chance = against_usual(max(days, 1e-3), IDLE_LONG_DAYS, evidence.side, COUNTER_SOFT)
    return made_clue(evidence, state, chance, f"{days:.0f} days without a load before it", run_id(scene))


def _run(scene: Scene, evidence: Evidence, state: TankState) -> Clue:
    """A fact of the run; its temperature stands against the bath's own window."""
    return _indicator(scene, evidence, state) if evidence.of == "temperature_c" else run_fact(scene, evidence, state)
