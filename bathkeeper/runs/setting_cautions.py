"""What to mind before switching on, and what could not be worked out and why."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from bathkeeper.catalogue.loader import Catalogue
from bathkeeper.catalogue.schema import Window
from bathkeeper.entries import Run
from bathkeeper.estimate.state import Z95, TankState
from bathkeeper.findings import Estimate
from bathkeeper.runs.anode_setting import AnodeSetting
from bathkeeper.runs.branches import BranchSetting, Holding, Place, strangers_hung
from bathkeeper.runs.keeper_limits import window_here
from bathkeeper.runs.thickness import Deposit
from bathkeeper.runs.wish import Wish
from bathkeeper.units.numerals import figures

Standing = Literal["in", "low", "high", "unknown"]


@dataclass(frozen=True)
class TemperatureSetting:
    """The window of the bath's temperature and the last one known; ``entry`` the entry that says so."""

    window: Window | None
    last_c: float | None
    at: datetime | None
    age_days: float | None
    standing: Standing
    entry: str | None = None


def standing_of(value: float | None, window: Window | None) -> Standing:
    """Where a value lies; unknown without a window."""
    if value is None or window is None or (window.low is None and window.high is None):
        return "unknown"
    if window.low is not None and value < window.low * (1 - 1e-9):
        return "low"
    return "high" if window.high is not None and value > window.high * (1 + 1e-9) else "in"


def temperature_of(state: TankState, catalogue: Catalogue, past: Sequence[Run], wish: Wish) -> TemperatureSetting:
    """The newest of readings and of what runs say of this tank."""
    own = state.recipe.indicators.get("temperature") if state.recipe is not None else None
    window = window_here(state, catalogue, "temperature", own, "degC")
    if wish.temperature_c is not None:
        return TemperatureSetting(window, wish.temperature_c, state.now, 0.0, standing_of(wish.temperature_c, window))
    known: list[tuple[datetime, float, str]] = []
    seen = state.seen.get("temperature")
    if seen is not None and seen.value is not None and not seen.doubtful:
        known.append((seen.at, seen.value, seen.entry))
    for run in past:
        known += [(run.at, s.temperature_c, run.id) for s in run.steps if s.tank == state.name and s.temperature_c is not None]
    if not known:
        return TemperatureSetting(window, None, None, None, "unknown")
    at, value, entry = max(known)
    return TemperatureSetting(window, value, at, (state.now - at).total_seconds() / 86_400, standing_of(value, window), entry)


def setting_notes(
    state: TankState,
    wish: Wish,
    window: Window | None,
    density: float | None,
    deposit: Deposit | None,
    where: Sequence[Place],
    branches: Sequence[BranchSetting],
    current: Estimate | None,
) -> list[str]:
    """What could not be worked out and why, and what was taken."""
    said: list[str] = []
    if state.recipe is None:
        said.append("the tank has no recipe: no window of current density, no thickness; give it one")
    elif window is None and wish.density_a_dm2 is None and wish.current_a is None:
        said.append("this recipe states no window of current density: give the current density")
    if wish.area_dm2 is None:
        said.append("no area is told: current and largest load want the area of the load")
        if current is not None and density is None:
            said.append("without the area a current says nothing of thickness or time")
    if state.recipe is not None and deposit is None:
        if wish.thickness_um is not None:
            said.append("no metal is laid down in this tank: a thickness cannot be; the time goes by what the parts look like")
        else:
            said.append("no metal is laid down in this tank: the time goes by what the parts look like")
    if deposit is not None and not state.alive:
        said.append(f"the tank {state.why_empty}: deposit and efficiency as its recipe states them")
    guessed = [f"{p.supply}={p.metal}" for p in where if p.guessed and p.metal is not None]
    if guessed:
        said.append(f"taken: {', '.join(guessed)}; write it so where it is otherwise")
    for b in branches:
        if b.reach_a is None and not b.why:
            said.append(f"how far {b.supply or 'the supply'} reaches is not on record: define it (supply, reach_a)")
    habit = math.exp(state.gauss.value("habit:area")) if "habit:area" in state.gauss else 1.0
    if wish.area_dm2 is not None and deposit is not None and abs(habit - 1) > 0.03:
        said.append(f"areas told here came out {figures(100 * (1 - habit)) if habit < 1 else figures(100 * (habit - 1))} % "
                    f"{'too large' if habit < 1 else 'too small'}: thickness and time count with that")  # fmt: skip
    return said


def density_cautions(density: float | None, window: Window | None, standing: Standing, deposit: Deposit | None) -> list[str]:
    """Of the current density against its window."""
    said = []
    if density is not None and window is not None and standing == "high":
        said.append(f"{figures(density)} A/dm² is above the window, up to {window.high:g}: edges burn, the deposit turns rough")
    elif density is not None and window is not None and standing == "low":
        said.append(f"{figures(density)} A/dm² is below the window, from {window.low:g}: recesses may stay bare")
    if deposit is not None and not deposit.in_model:
        said.append("below 0.5 A/dm² an alloy does not follow its rule: only an analysis tells its composition")
    return said


def supply_cautions(branches: Sequence[BranchSetting], largest: float | None) -> list[str]:
    said = []
    for b in branches:
        if b.reaches is False and b.current_a is not None and b.reach_a is not None:
            load = f": at most {figures(largest)} dm² at this density, or less density" if largest is not None else ""
            said.append(f"{b.supply} reaches {figures(b.reach_a)} A, not {figures(b.current_a)} A{load}")
        elif b.why:
            said.append(f"{b.supply or 'the supply'}: {b.why}")
    return said


def anode_cautions(
    state: TankState,
    catalogue: Catalogue,
    where: Sequence[Place],
    held: Holding | None,
    anodes: Sequence[AnodeSetting],
    current: Estimate | None,
) -> list[str]:
    said = []
    for metal in strangers_hung(state, catalogue):
        why = catalogue.metals[metal].caution
        said.append(f"{metal} hangs as an anode and does not belong in this bath: lift it first. {why}".strip())
    if state.recipe is not None and not any(a.hung and not a.retired for a in state.anodes.values()):
        said.append("no anode is on record as hung: look before switching on")
    for place in where:
        lifted = [a for a in place.anodes if a in state.anodes and not state.anodes[a].hung]
        if lifted:
            on_it = f" on {place.supply}" if len(where) > 1 else ""
            verb, them = ("is", "it") if len(lifted) == 1 else ("are", "them")
            said.append(f"by the record {', '.join(lifted)}{on_it} {verb} lifted: hang {them} first")
    said += [a.note for a in anodes if a.within is False]
    if held is not None and len(held.shares) > 1 and len(where) == 1:
        said += [_common_bus(state, m, s, current) for m, s in list(held.shares.items()) if m != _base(state)]
    return said


def _base(state: TankState) -> str | None:
    electrode = state.recipe.electrode if state.recipe is not None else None
    return electrode.anodes[0] if electrode is not None and electrode.anodes else None


def _common_bus(state: TankState, metal: str, holds: Estimate, current: Estimate | None) -> str:
    share = state.parameter(f"anode_share_{metal}")
    half = Z95 * math.sqrt(max(state.gauss.variance_of(share), 0.0))
    amps = f" ({figures(holds.value * current.value)} A)" if current is not None else ""
    return (
        f"on one supply {metal} takes about {figures(100 * share.value, 100 * half)} % of the anode current; "
        f"{figures(100 * holds.value, 100 * holds.spread)} %{amps} would hold it: a supply of its own, or a resistor in the "
        f"{_base(state)} leg; area does not set it"
    )


def temperature_cautions(temperature: TemperatureSetting) -> list[str]:
    if temperature.standing in ("low", "high") and temperature.last_c is not None:
        return [f"the bath was at {figures(temperature.last_c)} °C, too {'cold' if temperature.standing == 'low' else 'warm'}"]
    return []
