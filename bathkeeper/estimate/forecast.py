"""When the next limits will be reached: dates, ampere-hours and chances, from many possible futures of each tank.

Nothing is dosed on the way but water, up to the working level as keepers do; that is what the question is about.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

import numpy as np

from bathkeeper.catalogue.loader import Catalogue
from bathkeeper.catalogue.schema import Ratio, Window
from bathkeeper.entries import AnyEntry, Run, Unknown
from bathkeeper.estimate.gauss import Matrix
from bathkeeper.estimate.passage import DRY_ENTRY
from bathkeeper.estimate.paths import Inflow, Watched, futures
from bathkeeper.estimate.rates import Cloud
from bathkeeper.estimate.state import TankState
from bathkeeper.estimate.usage import Usage, usage_of
from bathkeeper.estimate.wear import SECONDS_PER_DAY, pass_time
from bathkeeper.estimate.world import World
from bathkeeper.units.numerals import Preferences, figures

Edge = Literal["low", "high", "give_up_low", "give_up_high"]
EDGES: tuple[Edge, ...] = ("low", "high", "give_up_low", "give_up_high")
Numbers = tuple[float, float | None, float | None]
Dates = tuple[datetime, datetime | None, datetime | None]

HORIZON_DAYS, PATHS = 180, 2000
BAND = (0.10, 0.50, 0.90)
FAN = (0.10, 0.25, 0.50, 0.75, 0.90)
FAN_POINTS = 30
EDGE_WORDS: dict[Edge, str] = {
    "low": "low limit", "high": "high limit", "give_up_low": "lowest limit (bath given up)",
    "give_up_high": "highest limit (bath given up)",
}  # fmt: skip
RARE, SURE = 0.1, 0.9


@dataclass(frozen=True)
class Crossing:
    """One edge of a window and when it is reached. ``species`` may be a ratio. ``chance``: within ``horizon_days``;
    ``chance_next_run``: by the end of the next run.

    ``charge_ah`` (as the supplies read it), ``date`` and ``loads`` are (10 %, 50 %, 90 %) over all futures: None where even the
    10 % lies beyond the horizon, and a None inside is a quantile beyond it. Zeros (and the moment asked about): past already.
    """

    tank: str
    species: str
    title: str
    edge: Edge
    limit: float
    unit: str
    chance: float
    chance_next_run: float
    charge_ah: Numbers | None
    date: Dates | None
    loads: Numbers | None
    at: datetime
    horizon_days: int

    @property
    def likely(self) -> datetime | None:
        """The middle date; None when it is more likely not reached within the horizon."""
        return self.date[1] if self.date is not None else None

    @property
    def past(self) -> bool:
        """Whether the limit is more likely behind than ahead."""
        return self.likely == self.at


@dataclass(frozen=True)
class Fan:
    """For a trend plot: at each of ``days`` (and the median ``charge_ah`` by then) the 10, 25, 50, 75 and 90 % of every species
    and ratio: ``bands[name][point][quantile]``."""

    at: datetime
    days: tuple[float, ...]
    charge_ah: tuple[float, ...]
    bands: Mapping[str, tuple[tuple[float, float, float, float, float], ...]]


@dataclass(frozen=True)
class Forecast:
    """A tank's next limits, species by species, and the fan of its contents."""

    tank: str
    at: datetime
    horizon_days: int
    usage: Usage
    crossings: tuple[Crossing, ...]
    fan: Fan

    def next(self, chance: float = 0.5) -> tuple[Crossing, ...]:
        """Crossings at least this likely within the horizon, soonest first."""
        found = [c for c in self.crossings if c.chance >= chance and c.date is not None]
        return tuple(sorted(found, key=lambda c: (c.likely or c.at + timedelta(days=c.horizon_days), c.species, c.edge)))


def forecast(
    state: TankState,
    catalogue: Catalogue,
    usage: Usage,
    at: datetime,
    horizon_days: int = HORIZON_DAYS,
    paths: int = PATHS,
    seed: int = 0,
    *,
    inflow: Inflow | None = None,
) -> Forecast:
    """The futures of a tank that is in use; the same state, use and moment give the same answer.

    ``inflow``: what parts bring in; without one, clean water of this tank's own drag-out.

    Raises:
        ValueError: the tank has no recipe or no make-up, or the horizon or the number of paths is not above 0.
    """
    if state.recipe is None or not state.alive:
        raise ValueError(f"{state.name} {'has no recipe' if state.recipe is None else state.why_empty}: nothing to forecast")
    if horizon_days < 1 or paths < 1:
        raise ValueError(f"{horizon_days} days and {paths} paths: a forecast needs at least 1 of both")
    rows: dict[str, Window] = dict(state.species)
    rows.update(state.recipe.ratios)
    state = pass_time(state, at) if state.now < at else state
    edges = [(n, e, v) for n, w in rows.items() for e in EDGES if (v := getattr(w, e)) is not None]
    place = {n: i for i, n in enumerate(rows)}
    since = (at - usage.watered).total_seconds() / SECONDS_PER_DAY if usage.watered is not None else usage.top_up_days / 2
    found = futures(
        state,
        catalogue.metals,
        usage,
        inflow if inflow is not None else Inflow(),
        [Watched(place[n], limit, edge in ("low", "give_up_low")) for n, edge, limit in edges],
        lambda cloud: _values(cloud, rows),
        horizon_days=horizon_days,
        first_top_up_days=max(usage.top_up_days - since, 0.0),
        heated_h=_heated_h(state, catalogue, usage),
        paths=paths,
        quantiles=FAN,
        fan_points=FAN_POINTS,
        rng=np.random.default_rng([20260107, seed]),
    )
    crossings = []
    for i, (name, edge, limit) in enumerate(edges):
        window = rows[name]
        days = _quantiles(found.days[i])
        crossings.append(
            Crossing(
                tank=state.name,
                species=name,
                title=getattr(window, "title", "") or name,
                edge=edge,
                limit=limit,
                unit=window.unit,
                chance=float(np.mean(np.isfinite(found.days[i]))),
                chance_next_run=float(np.mean(found.runs[i] <= 1.0)),
                charge_ah=_quantiles(found.charge_ah[i]) if usage.charge_ah > 0 else None,
                date=None if days is None else (_date(at, days[0]), _maybe(at, days[1]), _maybe(at, days[2])),
                loads=_quantiles(found.runs[i]) if usage.runs_per_week > 0 else None,
                at=at,
                horizon_days=horizon_days,
            )
        )
    bands = {
        n: tuple((float(q[0]), float(q[1]), float(q[2]), float(q[3]), float(q[4])) for q in found.fan[:, i])
        for n, i in place.items()
    }
    fan = Fan(at, tuple(float(d) for d in found.fan_days), tuple(float(q) for q in found.fan_charge_ah), bands)
    return Forecast(state.name, at, horizon_days, usage, tuple(crossings), fan)


def forecasts(
    world: World,
    entries: Sequence[AnyEntry | Unknown],
    at: datetime,
    tank: str | None = None,
    horizon_days: int = HORIZON_DAYS,
    paths: int = PATHS,
) -> dict[str, Forecast]:
    """Of every tank in service that holds something by a recipe, in process order, or of the one named (if it does)."""
    line = world.line()
    found: dict[str, Forecast] = {}
    for place, state in enumerate(line):
        if tank is not None and state.name != tank:
            continue
        if state.recipe is None or not state.alive or not state.species:
            continue
        usage = usage_of(entries, state.name, at, world.catalogue)
        inflow = _inflow(state, line[place - 1] if place else None, entries, at)
        found[state.name] = forecast(state, world.catalogue, usage, at, horizon_days, paths, inflow=inflow)
    return found


def sentence(crossing: Crossing, prefs: Preferences) -> str:
    """For example: ``Nickel reaches its low limit in 140 Ah, about 3 weeks (9 Dec to 2 Jan).``"""
    name = crossing.title[:1].upper() + crossing.title[1:]
    limit = EDGE_WORDS[crossing.edge]
    if crossing.date is None:
        verb = "stay above" if crossing.edge in ("low", "give_up_low") else "stay below"
        return f"{name} should {verb} its {limit} for {crossing.horizon_days} days."
    first, middle, last = crossing.date
    end = crossing.at + timedelta(days=crossing.horizon_days)
    if crossing.past:
        return f"{name} is most likely past its {limit} already."
    if middle is None:
        told = f"{crossing.horizon_days} days (chance {crossing.chance:.0%})"
        if first == crossing.at:
            return f"{name} may be past its {limit} already, or will be within {told}; a reading would tell."
        return f"{name} may reach its {limit} within {told}, hardly before {_day(first, prefs)}."
    since = "now" if first == crossing.at else _day(first, prefs)
    until = f"to {_day(last, prefs)}" if last is not None else f"or after {_day(end, prefs)}"
    when = f"about {_spell((middle - crossing.at).total_seconds() / SECONDS_PER_DAY)} ({since} {until})"
    amount = _amount(crossing)
    return f"{name} reaches its {limit} in {amount}, {when}." if amount else f"{name} reaches its {limit} in {when}."


def _amount(crossing: Crossing) -> str:
    for band, unit in ((crossing.charge_ah, "Ah"), (crossing.loads, "loads")):
        if band is not None and band[1] is not None:
            number = figures(band[1], (band[2] - band[0]) / 2 if band[2] is not None else band[1] / 2)
            return f"{number} {unit[:-1] if number == '1' and unit == 'loads' else unit}"
    return ""


def _spell(days: float) -> str:
    """``3 days``, ``3 weeks``, ``4 months``."""
    for limit, length, word in ((13.5, 1.0, "day"), (80.0, 7.0, "week"), (math.inf, 30.44, "month")):
        if days < limit:
            number = max(1, round(days / length))
            return f"{number} {word}{'' if number == 1 else 's'}"
    raise AssertionError("every spell ends before infinity")


def _day(moment: datetime, prefs: Preferences) -> str:
    local = moment.astimezone()
    return f"{local:%b} {local.day}" if prefs.date_order == "mdy" else f"{local.day} {local:%b}"


def _values(cloud: Cloud, rows: Mapping[str, Window]) -> Matrix:
    """The watched values, (rows, paths): concentrations, and ratios of masses."""
    found = []
    for name, window in rows.items():
        if isinstance(window, Ratio):
            parts = sum(cloud.amounts[f"mass:{s}"] for s in window.parts)
            whole = sum(cloud.amounts[f"mass:{s}"] for s in window.whole)
            found.append(parts / np.maximum(whole, 1e-9))
        else:
            found.append(cloud.concentration(name))
    return np.array(found)


def _quantiles(crossed: Matrix) -> Numbers | None:
    ordered = np.sort(crossed)
    low, middle, high = (float(ordered[max(math.ceil(q * len(ordered)) - 1, 0)]) for q in BAND)
    if math.isinf(low):
        return None
    return low, None if math.isinf(middle) else middle, None if math.isinf(high) else high


def _date(at: datetime, days: float) -> datetime:
    return at + timedelta(days=days)


def _maybe(at: datetime, days: float | None) -> datetime | None:
    return None if days is None else _date(at, days)


def _heated_h(state: TankState, catalogue: Catalogue, usage: Usage) -> float:
    """Hours that a usual run keeps the tank hot: its stay and the warming up, unless it is still hot from the one before."""
    window = state.recipe.indicators.get("temperature") if state.recipe is not None else None
    usual = window.target if window is not None else None
    temperature = usage.temperature_c if usage.temperature_c is not None else usual
    if temperature is None or temperature < catalogue.spreads["heated above"].absolute or usage.runs_per_week <= 0:
        return 0.0
    idle_h = max(7 * 24 / usage.runs_per_week - usage.minutes / 60, 0.0)
    return usage.minutes / 60 + min(catalogue.spreads["heated hours a run"].absolute, idle_h)


def _inflow(state: TankState, neighbour: TankState | None, entries: Sequence[AnyEntry | Unknown], at: datetime) -> Inflow:
    """What the tank before gives to the parts now, if the last run through this one came from there."""
    if neighbour is None:
        return Inflow(dry=state.entry.role in DRY_ENTRY)
    runs = [e for e in entries if isinstance(e, Run) and e.at <= at and any(s.tank == state.name for s in e.steps)]
    if not runs or not neighbour.alive or neighbour.recipe is None:
        return Inflow()
    steps = [s.tank for s in max(runs, key=lambda r: r.order).steps]
    place = steps.index(state.name)
    if place == 0 or steps[place - 1] != neighbour.name:
        return Inflow()
    contents = {s: neighbour.concentration(s)[0] for s in neighbour.species if s in state.species}
    rate = neighbour.parameter_value("drag_out") if "drag_out" in neighbour.recipe.parameters else None
    return Inflow(contents=contents, ml_per_dm2=rate)
