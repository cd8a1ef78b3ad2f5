"""Setting a run: current for this load, each supply's part of it, time or thickness, anodes, temperature, what went well."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from bathkeeper.catalogue.loader import Catalogue
from bathkeeper.catalogue.schema import Window
from bathkeeper.catalogue.setting import setting_defaults
from bathkeeper.entries import Run
from bathkeeper.estimate.charges import UNNAMED_SUPPLY
from bathkeeper.estimate.dual import Dual
from bathkeeper.estimate.state import Z95, TankState
from bathkeeper.findings import Because, Estimate
from bathkeeper.runs.anode_setting import AnodeSetting, anode_settings
from bathkeeper.runs.branches import BranchSetting, Holding, Place, branch_settings, holding, places
from bathkeeper.runs.fitting import FitCaution, fit_cautions, hydrogen_cautions
from bathkeeper.runs.keeper_limits import window_here
from bathkeeper.runs.near import near_runs
from bathkeeper.runs.past import PastRun
from bathkeeper.runs.setting_cautions import (
    Standing,
    TemperatureSetting,
    anode_cautions,
    density_cautions,
    setting_notes,
    standing_of,
    supply_cautions,
    temperature_cautions,
    temperature_of,
)
from bathkeeper.runs.thickness import Deposit, Rate, around, deposit_here, rate_here
from bathkeeper.runs.wish import SettingError, Wish
from bathkeeper.units.numerals import Preferences

__all__ = ["AnodeSetting", "BranchSetting", "FitCaution", "Setting", "SettingError", "TemperatureSetting", "Wish", "WorstSpot",
           "set_run"]  # fmt: skip

CHARGED_ROLES = ("plate", "rust removal")
FORMULA = (
    "current = area x current density; thickness = 100 x g/Ah x charge / (density x area), g/Ah = efficiency x 3600/F / e, "
    "e = sum w n/M; share that holds a metal = [efficiency x w n/(M e) + (F/3600) n x drag-out x c/M] / anode efficiency; "
    "worst spot = factor x average"
)


@dataclass(frozen=True)
class WorstSpot:
    """The thinnest spot over the average, and where that number is from."""

    factor: float
    status: str
    source: str


@dataclass(frozen=True)
class Setting:
    """How to set a load. Estimates are 95 % intervals; what could not be worked out is None, and ``notes`` say why.

    Attributes:
        density: window of the current density (A/dm2) with status and source. density_a_dm2: chosen; standing: within it?
        current_a: value for the chosen density, low and high at the edges of the window (A). current_spread_a: what the area's
            own spread makes of it, 95 %. branches: by supply. holding: balance point of the anodes with drag-out.
        reach: by supply, A. largest_load_dm2: at the chosen density, ``largest_load_low_dm2`` at the window's low edge.
        minutes, minutes_worst: for the wanted thickness on average, and at the worst spot (min). thickness_um,
            thickness_worst_um: after the wanted minutes, else after those for the wish. charge_ah, deposit_g: for that time.
    """

    tank: str
    role: str
    recipe: str | None
    wish: Wish
    area_spread_dm2: float | None
    density: Window | None
    density_a_dm2: float | None
    standing: Standing
    current_a: Estimate | None
    current_spread_a: float | None
    branches: tuple[BranchSetting, ...]
    holding: Holding | None
    reach: Mapping[str, float | None]
    largest_load_dm2: float | None
    largest_load_low_dm2: float | None
    deposit: Deposit | None
    worst_spot: WorstSpot | None
    minutes: Estimate | None
    minutes_worst: Estimate | None
    thickness_um: Estimate | None
    thickness_worst_um: Estimate | None
    charge_ah: float | None
    deposit_g: Estimate | None
    anodes: tuple[AnodeSetting, ...]
    temperature: TemperatureSetting
    fit: tuple[FitCaution, ...]
    last_good: tuple[PastRun, ...]
    cautions: tuple[str, ...]
    notes: tuple[str, ...]
    because: Because

    @property
    def area_dm2(self) -> float | None:
        """Of the whole load."""
        return self.wish.area_dm2

    @property
    def stay_minutes(self) -> float | None:
        """The minutes that charge and thickness count with: those wanted, else those for the wanted thickness."""
        return self.wish.minutes if self.wish.minutes is not None else self.minutes.value if self.minutes is not None else None

    @property
    def shares_sum(self) -> Estimate | None:
        """Sum of the shares that hold each metal."""
        return self.holding.total if self.holding is not None else None

    @property
    def shares_text(self) -> str:
        """Which case the sum is, in words."""
        return self.holding.text if self.holding is not None else ""

    def lines(self, prefs: Preferences) -> list[str]:
        """As a keeper reads it, in the workshop's units."""
        from bathkeeper.runs.setting_text import lines

        return lines(self, prefs)

    def plain(self) -> dict[str, Any]:
        """As JSON values, units in the keys."""
        from bathkeeper.runs.setting_text import plain

        return plain(self)


def set_run(
    state: TankState,
    catalogue: Catalogue,
    wish: Wish,
    past: Sequence[Run] = (),
    drag_out_l_per_ah: float | None = None,
    *,
    history: Sequence[PastRun] | None = None,
    rule: str | None = None,
) -> Setting:
    """Works out how to set a load in a tank.

    Args:
        state: the tank at the moment asked about. catalogue: with the keeper's own definitions (supplies, limits).
        past: runs of the book, any order, for the supplies and the last temperature; without ``history`` also for what went
            well. history: the same loads with what became of them.
        drag_out_l_per_ah: None takes the tank's own drag-out of this load, else that of its life so far.
        rule: the workshop's rule for baking, where one is named.

    Raises:
        SettingError: an impossible wish, or a tank that takes no current.
    """
    wish = wish.checked()
    recipe = state.recipe
    electrode = recipe.electrode if recipe is not None else None
    if state.entry.role not in CHARGED_ROLES or (recipe is not None and electrode is None):
        raise SettingError(
            f"{state.name} is for {state.entry.role} and takes no current; name a tank that plates or removes rust"
        )
    if drag_out_l_per_ah is not None and not (math.isfinite(drag_out_l_per_ah) and drag_out_l_per_ah >= 0):
        raise SettingError(f"drag-out: {drag_out_l_per_ah:g} L/Ah cannot be; it is 0 or more, for example 0.0013")
    window = window_here(state, catalogue, "current density", electrode.density if electrode is not None else None, "A/dm2")
    density = _density(wish, window)
    standing = standing_of(density, window)
    spread = _area_spread(wish, catalogue)
    current = _current(wish, window, density)
    past_here = [r for r in past if any(s.tank == state.name for s in r.steps) and r.at <= state.now]
    temperature = temperature_of(state, catalogue, past_here, wish)
    deposit = deposit_here(state, catalogue.metals, density, wish.temperature_c)
    where = places(state, catalogue, wish, past_here)
    rate, minutes, thickness, stay = _growth(
        state, catalogue, wish, deposit, density, spread, _weights(state, catalogue, where, deposit)
    )
    charge = current.value * stay / 60 if current is not None and stay is not None else None
    held = None
    if deposit is not None:
        held = holding(state, catalogue, deposit, _drag_out(state, wish, charge, drag_out_l_per_ah))
    branches = branch_settings(state, catalogue, where, current.value if current is not None else None, density, held)
    largest, largest_low = _largest(branches, density, window)
    worst = _worst_spot(state, catalogue, wish) if deposit is not None else None
    anodes = anode_settings(state, catalogue, where, branches, current, density)
    coat = wish.thickness_um if wish.thickness_um is not None else thickness.value if thickness is not None else None
    coat = coat if deposit is not None else None
    runs = near_runs(state, catalogue, past_here, history, wish.area_dm2)
    notes = setting_notes(state, wish, window, density, deposit, where, branches, current)
    cautions = [
        *density_cautions(density, window, standing, deposit),
        *supply_cautions(branches, largest),
        *anode_cautions(state, catalogue, where, held, anodes, current),
        *temperature_cautions(temperature),
        *hydrogen_cautions(wish.parts, rule, catalogue, state.entry.role == "plate"),
    ]
    return Setting(
        tank=state.name,
        role=state.entry.role,
        recipe=state.entry.recipe,
        wish=wish,
        area_spread_dm2=spread * wish.area_dm2 if spread is not None and wish.area_dm2 is not None else None,
        density=window,
        density_a_dm2=density,
        standing=standing,
        current_a=current,
        current_spread_a=_current_spread(state, current, spread),
        branches=tuple(branches),
        holding=held,
        reach={b.supply: b.reach_a for b in branches},
        largest_load_dm2=largest,
        largest_load_low_dm2=largest_low,
        deposit=deposit,
        worst_spot=worst,
        minutes=minutes,
        minutes_worst=_scaled(minutes, 1 / worst.factor) if minutes is not None and worst is not None else None,
        thickness_um=thickness,
        thickness_worst_um=_scaled(thickness, worst.factor) if thickness is not None and worst is not None else None,
        charge_ah=charge,
        deposit_g=_deposit_g(state, deposit, rate, charge),
        anodes=tuple(anodes),
        temperature=temperature,
        fit=tuple(fit_cautions(wish.parts, coat, wish.thread_position)),
        last_good=tuple(runs),
        cautions=tuple(dict.fromkeys(cautions)),
        notes=tuple(dict.fromkeys(notes)),
        because=_because(state, window, worst, temperature, where, runs),
    )


def _density(wish: Wish, window: Window | None) -> float | None:
    if wish.density_a_dm2 is not None:
        return wish.density_a_dm2
    if wish.current_a is not None:
        return wish.current_a / wish.area_dm2 if wish.area_dm2 is not None else None
    if window is None:
        return None
    if window.target is None and window.low is not None and window.high is not None:
        return (window.low + window.high) / 2
    return window.target if window.target is not None else window.low if window.low is not None else window.high


def _area_spread(wish: Wish, catalogue: Catalogue) -> float | None:
    """95 % half-width of the area as a fraction of it."""
    if wish.area_dm2 is None:
        return None
    return wish.area_spread_dm2 / wish.area_dm2 if wish.area_spread_dm2 is not None else catalogue.spreads["area"].relative


def _current(wish: Wish, window: Window | None, density: float | None) -> Estimate | None:
    area = wish.area_dm2
    value = wish.current_a
    if value is None and density is not None and area is not None:
        value = density * area
    if value is None:
        return None
    low = window.low * area if window is not None and window.low is not None and area is not None else value
    high = window.high * area if window is not None and window.high is not None and area is not None else value
    return Estimate(value, low, high, "A")


def _current_spread(state: TankState, current: Estimate | None, spread: float | None) -> float | None:
    """What the area's own spread and the keeper's habit of guessing it make of a current."""
    if current is None or spread is None:
        return None
    habit = Z95 * math.sqrt(max(state.gauss.variance("habit:area"), 0.0)) if "habit:area" in state.gauss else 0.0
    return current.value * math.hypot(spread, habit)


def _weights(state: TankState, catalogue: Catalogue, where: Sequence[Place], deposit: Deposit | None) -> dict[str, float]:
    """Share of the current by supply, whose ammeters err each in its own way; without drag-out, which hangs on the time."""
    held = holding(state, catalogue, deposit, None) if deposit is not None else None
    branches = branch_settings(state, catalogue, where, None, None, held)
    weights: dict[str, float] = {}
    for branch in branches:
        name = branch.supply or UNNAMED_SUPPLY
        weights[name] = weights.get(name, 0.0) + (branch.share or 0.0)
    return weights


def _growth(
    state: TankState,
    catalogue: Catalogue,
    wish: Wish,
    deposit: Deposit | None,
    density: float | None,
    area_spread: float | None,
    supplies: Mapping[str, float],
) -> tuple[Rate | None, Estimate | None, Estimate | None, float | None]:
    """(rate, minutes for the wish, thickness, minutes that count for charge and thickness)."""
    stay = wish.minutes
    if deposit is None or density is None:
        return None, None, None, stay
    rate = rate_here(state, catalogue, deposit, density, area_spread, supplies)
    minutes = rate.minutes(wish.thickness_um) if wish.thickness_um is not None else None
    if stay is None and minutes is not None:
        stay = minutes.value
    return rate, minutes, rate.thickness(stay) if stay is not None else None, stay


def _drag_out(state: TankState, wish: Wish, charge_ah: float | None, given: float | None) -> Dual | float | None:
    """L/Ah: as given, that of this load, else of the life so far."""
    if given is not None:
        return given
    if state.recipe is None or "drag_out" not in state.recipe.parameters:
        return None
    if charge_ah and wish.area_dm2 is not None:
        return state.parameter("drag_out") * (wish.area_dm2 / charge_ah / 1000)
    counters = state.counters
    if counters.charge_ah > 0 and counters.area_dm2 > 0:
        return state.parameter("drag_out") * (counters.area_dm2 / counters.charge_ah / 1000)
    return None


def _deposit_g(state: TankState, deposit: Deposit | None, rate: Rate | None, charge: float | None) -> Estimate | None:
    if deposit is None or rate is None or charge is None:
        return None
    grams = deposit.g_per_ah * charge
    sd = math.sqrt(max(state.gauss.variance_of(grams), 0.0)) / grams.value if grams.value > 0 else 0.0
    return around(grams.value, sd, "g")


def _largest(
    branches: Sequence[BranchSetting], density: float | None, window: Window | None
) -> tuple[float | None, float | None]:
    """The largest load that every supply reaches, dm2, at the density and at the window's low edge."""
    known = [b.largest_load_dm2 for b in branches if b.largest_load_dm2 is not None]
    if not known or density is None:
        return None, None
    largest = min(known)
    low = window.low if window is not None else None
    return largest, largest * density / low if low is not None and low < density else None


def _worst_spot(state: TankState, catalogue: Catalogue, wish: Wish) -> WorstSpot:
    if wish.worst_spot is not None:
        return WorstSpot(wish.worst_spot, "practice", "as told for this load")
    own = window_here(state, catalogue, "worst spot", None, "fraction")
    told = next((v for v in (own.target, own.low, own.high) if v is not None), None) if own is not None else None
    if own is not None and told is not None:
        if not 0 < told <= 1:
            raise SettingError(f"limit of worst spot: {told:g} cannot be; it is above 0 and at most 1, for example 0.5")
        return WorstSpot(told, own.status, own.source)
    alkaline = state.recipe is not None and any(s.kind == "alkali" for s in state.recipe.species.values())
    default = setting_defaults().worst_spot["alkaline" if alkaline else "usual"]
    return WorstSpot(default.value, default.status, default.source)


def _scaled(x: Estimate, factor: float) -> Estimate:
    return Estimate(x.value * factor, x.low * factor, x.high * factor, x.unit)


def _because(
    state: TankState,
    window: Window | None,
    worst: WorstSpot | None,
    temperature: TemperatureSetting,
    where: Sequence[Place],
    runs: Sequence[PastRun],
) -> Because:
    sources = ["Faraday's law; F = 96485.33212 C/mol (CODATA 2018, exact)"]
    if window is not None:
        sources.append(f"window of the current density, {window.status}: {window.source or 'an editable default'}")
    if worst is not None:
        sources.append(f"worst spot {worst.factor:g} of the average, {worst.status}: {worst.source}")
    if temperature.window is not None:
        told = temperature.window
        sources.append(f"temperature, {told.status}: {told.source or 'an editable default'}")
    if state.recipe is not None and "cathode_efficiency" in state.recipe.parameters:
        prior = state.recipe.parameters["cathode_efficiency"]
        sources.append(f"efficiency before anything was learned, {prior.status}: {prior.source or 'an editable default'}")
    entries = [state.make_up_entry, temperature.entry, *(p.entry for p in where), *(r.id for r in runs)]
    return Because(
        text="current from area and window; efficiency, alloy and drag-out as this tank has taught them so far",
        entries=tuple(dict.fromkeys(e for e in entries if e is not None)),
        formula=FORMULA,
        sources=tuple(sources),
    )
