"""What is shown of a tank: contents against their windows with intervals, anodes, counters, what was learned."""

from __future__ import annotations

import math
from collections.abc import Mapping
from datetime import datetime
from typing import Literal

import msgspec

from bathkeeper.catalogue.schema import Metal, Window
from bathkeeper.estimate.balance import Balance, balance
from bathkeeper.estimate.dual import Dual
from bathkeeper.estimate.learned import Learned, instrument_errors, learned
from bathkeeper.estimate.state import Z95, Jump, Seen, TankState
from bathkeeper.estimate.wear import SECONDS_PER_DAY
from bathkeeper.findings import Estimate

Standing = Literal["in", "low", "high", "unknown"]


class LastReading(msgspec.Struct, frozen=True, kw_only=True):
    """The latest reading of something. ``expected`` +- ``expected_spread`` is what the estimate was just before it."""

    entry: str
    at: datetime
    value: float | None
    unit: str
    word: str | None
    method: str
    doubtful: bool
    expected: float | None = None
    expected_spread: float | None = None
    charge_ah: float = 0.0


class Content(msgspec.Struct, frozen=True, kw_only=True):
    """A concentration or a ratio against its window."""

    value: float
    low: float
    high: float
    unit: str
    window: dict[str, float]
    state: Standing
    kind: str = ""
    title: str = ""
    dragged_in: bool = False
    last_reading: LastReading | None = None
    window_status: str = ""
    window_source: str = ""


class Indicator(msgspec.Struct, frozen=True, kw_only=True):
    """Something read but not conserved; ``expected`` only where the estimate can say (pH from the acid balance)."""

    unit: str
    window: dict[str, float]
    state: Standing
    last_reading: LastReading | None = None


class AnodeView(msgspec.Struct, frozen=True, kw_only=True):
    """An anode: what is left of it, grams and as a fraction of what it was when hung."""

    metal: str
    mass_g: Estimate
    left_fraction: float
    start_mass_g: float
    hung: bool
    retired: bool
    since: datetime
    caution: str = ""


class TankView(msgspec.Struct, frozen=True, kw_only=True):
    """One tank at one moment, in the shape of ``status --json``."""

    tank: str
    role: str
    recipe: str | None
    order: int
    in_service: bool
    alive: bool
    made_up: datetime | None
    life_days: float | None
    working_volume_l: float | None
    volume_l: Estimate
    charge_ah: dict[str, float]
    area_dm2: dict[str, float]
    runs: int
    hydrogen_l: float
    species: dict[str, Content]
    ratios: dict[str, Content]
    indicators: dict[str, Indicator]
    anodes: dict[str, AnodeView]
    learned: dict[str, Learned]
    instruments: dict[str, Learned]
    acid_used_mol: Estimate
    balance: Balance | None
    doubtful: dict[str, LastReading]
    jumps: tuple[Jump, ...]
    flows: dict[str, dict[str, float]]


def tank_view(state: TankState, metals: Mapping[str, Metal]) -> TankView:
    """The view of a tank whose Gaussian speaks of the moment asked about."""
    recipe = state.recipe
    own = recipe.species if recipe is not None else {}
    species = {n: _content(state, n, n in own) for n in state.species} if state.alive else {}
    ratios = {}
    if recipe is not None and state.alive:
        ratios = {n: _ratio(state, n) for n in recipe.ratios}
    indicators = {}
    windows = recipe.indicators if recipe is not None else {}
    for name in [
        *windows,
        *(n for n in state.seen if n not in windows and n not in state.species and not n.startswith("anode:")),
    ]:
        window = windows.get(name)
        seen = state.seen.get(name)
        edges = _edges(window)
        usable = seen is not None and seen.value is not None and not seen.doubtful
        standing = _standing(seen.value, 0.0, edges) if usable and seen is not None and seen.value is not None else "unknown"
        unit = window.unit if window is not None else seen.unit if seen is not None else ""
        indicators[name] = Indicator(unit=unit, window=edges, state=standing, last_reading=_last(seen))
    counters = state.counters
    return TankView(
        tank=state.name,
        role=state.entry.role,
        recipe=state.entry.recipe,
        order=state.entry.place,
        in_service=state.entry.in_service,
        alive=state.alive,
        made_up=state.made_up,
        life_days=(state.now - state.made_up).total_seconds() / SECONDS_PER_DAY if state.made_up is not None else None,
        working_volume_l=state.entry.working_volume_l,
        volume_l=_of(state, "volume", "L", floor=True),
        charge_ah={
            "since_make_up": counters.charge_ah,
            "since_addition": counters.since_addition_ah,
            "dummy": counters.dummy_ah,
        },
        area_dm2={"since_make_up": counters.area_dm2},
        runs=counters.runs,
        hydrogen_l=counters.hydrogen_l,
        species=species,
        ratios=ratios,
        indicators=indicators,
        anodes={n: _anode(state, n, metals) for n in state.anodes},
        learned=learned(state),
        instruments=instrument_errors(state),
        acid_used_mol=_negated(_of(state, "acid", "mol")),
        balance=balance(state, metals),
        doubtful={s.of: _sure(_last(s)) for s in state.doubts.values() if not s.refuted},
        jumps=state.jumps,
        flows={cause: dict(account) for cause, account in state.flows.items()},
    )


def _of(state: TankState, name: str, unit: str, floor: bool = False) -> Estimate:
    value = state.gauss.value(name)
    half = Z95 * math.sqrt(max(state.gauss.variance(name), 0.0))
    return Estimate(value, max(value - half, 0.0) if floor else value - half, value + half, unit)


def _negated(x: Estimate) -> Estimate:
    return Estimate(-x.value, -x.high, -x.low, x.unit)


def _content(state: TankState, name: str, own: bool) -> Content:
    window = state.species[name]
    value, sd = state.concentration(name)
    return _against(window, value, Z95 * sd, window.kind, window.title or name, not own, _last(state.seen.get(name)))


def _ratio(state: TankState, name: str) -> Content:
    assert state.recipe is not None
    ratio = state.recipe.ratios[name]
    zero = state.gauss.dual("volume") * 0.0
    parts: Dual = zero
    whole: Dual = zero
    for s in ratio.parts:
        parts = parts + state.gauss.dual(f"mass:{s}")
    for s in ratio.whole:
        whole = whole + state.gauss.dual(f"mass:{s}")
    if whole.value <= 0:
        return _against(ratio, 0.0, 1.0, "ratio", ratio.title or name, False, None)
    r = parts / whole
    return _against(
        ratio, r.value, Z95 * math.sqrt(max(state.gauss.variance_of(r), 0.0)), "ratio", ratio.title or name, False, None
    )


def _against(
    window: Window, value: float, half: float, kind: str, title: str, dragged_in: bool, last: LastReading | None
) -> Content:
    edges = _edges(window)
    return Content(
        value=value,
        low=max(value - half, 0.0),
        high=value + half,
        unit=window.unit,
        window=edges,
        state=_standing(value, half, edges),
        kind=kind,
        title=title,
        dragged_in=dragged_in,
        last_reading=last,
        window_status=window.status,
        window_source=window.source,
    )


def _edges(window: Window | None) -> dict[str, float]:
    if window is None:
        return {}
    names = ("give_up_low", "low", "target", "high", "give_up_high")
    return {n: v for n in names if (v := getattr(window, n)) is not None}


def _standing(value: float, half: float, edges: Mapping[str, float]) -> Standing:
    """Where the value lies; unknown where the interval is wider than the window, or where there is no edge at all."""
    low, high = edges.get("low"), edges.get("high")
    if low is None and high is None:
        return "unknown"
    width = high - low if high is not None and low is not None else high if high is not None else low
    if width is not None and half > width:
        return "unknown"
    if low is not None and value < low:
        return "low"
    return "high" if high is not None and value > high else "in"


def _anode(state: TankState, name: str, metals: Mapping[str, Metal]) -> AnodeView:
    info = state.anodes[name]
    electrode = state.recipe.electrode if state.recipe is not None else None
    belongs = electrode is None or info.metal in electrode.anodes or info.metal in electrode.inert
    mass = _of(state, f"anode:{name}", "g", floor=True)
    return AnodeView(
        metal=info.metal,
        mass_g=mass,
        left_fraction=mass.value / info.start_mass_g if info.start_mass_g > 0 else 0.0,
        start_mass_g=info.start_mass_g,
        hung=info.hung,
        retired=info.retired,
        since=info.since,
        caution="" if belongs else metals[info.metal].caution,
    )


def _last(seen: Seen | None) -> LastReading | None:
    if seen is None:
        return None
    return LastReading(
        entry=seen.entry,
        at=seen.at,
        value=seen.value,
        unit=seen.unit,
        word=seen.word,
        method=seen.method,
        doubtful=seen.doubtful,
        expected=seen.expected,
        expected_spread=seen.expected_spread,
        charge_ah=seen.charge_ah,
    )


def _sure(last: LastReading | None) -> LastReading:
    assert last is not None
    return last
