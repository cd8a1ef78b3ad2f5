"""How much a tank is used: the keeper's own plan, or what the last weeks' runs tell."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

from bathkeeper.catalogue.loader import Catalogue
from bathkeeper.catalogue.own import UsePlan, all_of
from bathkeeper.entries import AnyEntry, Run, Step, Unknown
from bathkeeper.estimate.charges import plating_of

LOOK_BACK_DAYS = 56  # eight weeks: long enough to see a habit, short enough to follow a change [practice]
PLANNED_SCATTER = 0.15  # of a planned run's size, standard deviation [practice]


@dataclass(frozen=True)
class Usage:
    """Runs through a tank and what each brings: mean and standard deviation, Ah and dm2; ``minutes`` is the mean stay.

    ``source``: ``plan`` (a `use plan` of the keeper), ``last weeks``, or ``nothing`` when no run tells anything.
    """

    runs_per_week: float
    charge_ah: float
    charge_sd_ah: float
    area_dm2: float
    area_sd_dm2: float
    minutes: float
    source: Literal["plan", "last weeks", "nothing"]
    entries: tuple[str, ...] = ()

    @property
    def charge_ah_per_day(self) -> float:
        return self.runs_per_week * self.charge_ah / 7

    @property
    def area_dm2_per_day(self) -> float:
        return self.runs_per_week * self.area_dm2 / 7

    @property
    def area_dm2_per_ah(self) -> float:
        return self.area_dm2 / self.charge_ah if self.charge_ah > 0 else 0.0


def usage_of(entries: Iterable[AnyEntry | Unknown], tank: str, at: datetime, catalogue: Catalogue) -> Usage:
    """The use of a tank at a moment; dummy charge is not use. A `use plan` named after the tank (or the only one that there is)
    tells the runs a week and, where it says so, their size; the rest comes from the last eight weeks."""
    since = at - timedelta(days=LOOK_BACK_DAYS)
    passed: list[tuple[datetime, float, float, float, str]] = []
    first: datetime | None = None
    for entry in entries:
        if not isinstance(entry, Run) or entry.at > at:
            continue
        steps = [s for s in entry.steps if s.tank == tank and not s.dummy]
        if not steps:
            continue
        first = entry.at if first is None else min(first, entry.at)
        if entry.at > since:
            charge = sum(_charge_ah(s, catalogue) for s in steps)
            passed.append((entry.at, charge, entry.area_dm2, sum(s.minutes or 0.0 for s in steps), entry.id))
    charge, charge_sd = _mean_sd([p[1] for p in passed])
    area, area_sd = _mean_sd([p[2] for p in passed if p[2] > 0])
    minutes, _ = _mean_sd([p[3] for p in passed])
    told = tuple(p[4] for p in passed[-10:])
    plan = _plan(tank, catalogue)
    if plan is not None:
        own_charge, own_area = plan.charge_ah_per_run or charge, plan.area_dm2_per_run or area
        return Usage(
            plan.runs_per_week, own_charge, PLANNED_SCATTER * own_charge, own_area, PLANNED_SCATTER * own_area, minutes, "plan",
            told,
        )  # fmt: skip
    if not passed or first is None:
        return Usage(0.0, 0.0, 0.0, 0.0, 0.0, 0.0, "nothing")
    weeks = max((at - max(since, first)).total_seconds() / 86400, 7.0) / 7
    return Usage(len(passed) / weeks, charge, charge_sd, area, area_sd, minutes, "last weeks", told)


def _plan(tank: str, catalogue: Catalogue) -> UsePlan | None:
    plans = all_of(catalogue.own, "use plan", UsePlan)
    return plans.get(tank) or (next(iter(plans.values())) if len(plans) == 1 else None)


def _charge_ah(step: Step, catalogue: Catalogue) -> float:
    if step.charge is None and not step.branches:
        return 0.0
    plating, _, _ = plating_of(step, 1.0, catalogue.spreads)
    return plating.read_ah


def _mean_sd(values: list[float]) -> tuple[float, float]:
    if not values:
        return 0.0, 0.0
    mean = sum(values) / len(values)
    return mean, math.sqrt(sum((v - mean) ** 2 for v in values) / max(len(values) - 1, 1))
