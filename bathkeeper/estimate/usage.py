"""How much and how a tank is used: the keeper's own plan, or what the last weeks' runs tell."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise
from typing import Any, Literal

from bathkeeper.catalogue.loader import Catalogue
from bathkeeper.catalogue.own import UsePlan, all_of
from bathkeeper.entries import Addition, AnyEntry, Run, Step, Unknown
from bathkeeper.estimate.charges import plating_of

LOOK_BACK_DAYS = 56  # eight weeks: long enough to see a habit, short enough to follow a change [practice]
PLANNED_SCATTER = 0.15  # of a planned run's size, standard deviation [practice]
USUAL_GAP_CV2 = 1.0  # of the gaps between runs of which nothing is known: as if by chance (exponential) [practice]
GAPS_TO_TELL = 3.0  # observed gaps that weigh as much as that [practice]
TOP_UP_DAYS = 7.0  # between top-ups with water, where the entries show no habit [practice]


@dataclass(frozen=True)
class BranchUse:
    """One supply of a usual run: its part of the run's charge, and the anodes on it (none named: all)."""

    supply: str
    part: float
    anodes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Usage:
    """Runs through a tank and what each brings: mean and standard deviation, Ah and dm2; ``minutes`` is the mean stay.

    ``source``: ``plan`` (a `use plan` of the keeper), ``last weeks``, or ``nothing`` when no run tells anything. ``runs``: how
    many of them it rests on; ``gap_cv2``: squared coefficient of variation of the time between runs; ``temperature_c``: their
    mean, None where none is told; ``stripped_g``: old coating a run; ``branches``: the supplies of the latest run;
    ``top_up_days``: between additions of water; ``watered``: the last of them.
    """

    runs_per_week: float
    charge_ah: float
    charge_sd_ah: float
    area_dm2: float
    area_sd_dm2: float
    minutes: float
    source: Literal["plan", "last weeks", "nothing"]
    entries: tuple[str, ...] = ()
    runs: int = 0
    gap_cv2: float = USUAL_GAP_CV2
    temperature_c: float | None = None
    stripped_g: float = 0.0
    branches: tuple[BranchUse, ...] = ()
    top_up_days: float = TOP_UP_DAYS
    watered: datetime | None = None

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
    passed: list[_Passed] = []
    watered: list[datetime] = []
    first: datetime | None = None
    for entry in entries:
        if isinstance(entry, Addition) and entry.tank == tank and since < entry.at <= at:
            watered += [entry.at] if any(item.reagent == "water" for item in entry.items) else []
        if not isinstance(entry, Run) or entry.at > at:
            continue
        steps = [s for s in entry.steps if s.tank == tank and not s.dummy]
        if not steps:
            continue
        first = entry.at if first is None else min(first, entry.at)
        if entry.at > since:
            passed.append(_passed(entry, steps, catalogue))
    passed.sort(key=lambda p: p.at)
    charge, charge_sd = _mean_sd([p.charge_ah for p in passed])
    area, area_sd = _mean_sd([p.area_dm2 for p in passed if p.area_dm2 > 0])
    warm = [p.temperature_c for p in passed if p.temperature_c is not None]
    told: dict[str, Any] = {
        "minutes": _mean_sd([p.minutes for p in passed])[0],
        "entries": tuple(p.entry for p in passed[-10:]),
        "runs": len(passed),
        "gap_cv2": _gap_cv2([p.at for p in passed]),
        "temperature_c": _mean_sd(warm)[0] if warm else None,
        "stripped_g": _mean_sd([p.stripped_g for p in passed])[0],
        "branches": _branches(passed),
        "top_up_days": _usual_days(sorted(watered)),
        "watered": max(watered, default=None),
    }
    plan = _plan(tank, catalogue)
    if plan is not None:
        own_charge, own_area = plan.charge_ah_per_run or charge, plan.area_dm2_per_run or area
        scatter = (PLANNED_SCATTER * own_charge, PLANNED_SCATTER * own_area)
        return Usage(plan.runs_per_week, own_charge, scatter[0], own_area, scatter[1], source="plan", **told)
    if not passed or first is None:
        return Usage(0.0, 0.0, 0.0, 0.0, 0.0, source="nothing", **told)
    weeks = max((at - max(since, first)).total_seconds() / 86400, 7.0) / 7
    return Usage(len(passed) / weeks, charge, charge_sd, area, area_sd, source="last weeks", **told)


@dataclass(frozen=True)
class _Passed:
    at: datetime
    entry: str
    charge_ah: float
    area_dm2: float
    minutes: float
    temperature_c: float | None
    stripped_g: float
    by_branch: tuple[tuple[str, tuple[str, ...], float], ...]


def _passed(run: Run, steps: Sequence[Step], catalogue: Catalogue) -> _Passed:
    by_branch: dict[tuple[str, tuple[str, ...]], float] = {}
    for step in steps:
        if step.charge is None and not step.branches:
            continue
        for b in plating_of(step, 1.0, catalogue.spreads)[0].branches:
            by_branch[b.supply, b.anodes] = by_branch.get((b.supply, b.anodes), 0.0) + b.charge_ah
    warm = [s.temperature_c for s in steps if s.temperature_c is not None]
    return _Passed(
        at=run.at,
        entry=run.id,
        charge_ah=sum(by_branch.values()),
        area_dm2=run.area_dm2,
        minutes=sum(s.minutes or 0.0 for s in steps),
        temperature_c=sum(warm) / len(warm) if warm else None,
        stripped_g=sum(p.coating_stripped_g or 0.0 for p in run.parts),
        by_branch=tuple((supply, anodes, ah) for (supply, anodes), ah in by_branch.items()),
    )


def _branches(passed: Sequence[_Passed]) -> tuple[BranchUse, ...]:
    """As in the latest run with a charge; the parts averaged over the runs that were wired the same way."""
    charged = [p for p in passed if p.charge_ah > 0]
    if not charged:
        return ()
    wiring = [(supply, anodes) for supply, anodes, _ in charged[-1].by_branch]
    alike = [p for p in charged if [(s, a) for s, a, _ in p.by_branch] == wiring]
    total = sum(p.charge_ah for p in alike)
    return tuple(
        BranchUse(supply, sum(p.by_branch[i][2] for p in alike) / total, anodes) for i, (supply, anodes) in enumerate(wiring)
    )


def _gap_cv2(moments: Sequence[datetime]) -> float:
    """Squared coefficient of variation of the gaps, drawn to that of chance while there are few."""
    gaps = [(b - a).total_seconds() for a, b in pairwise(moments)]
    mean, sd = _mean_sd(gaps)
    seen = (sd / mean) ** 2 if mean > 0 and len(gaps) > 1 else USUAL_GAP_CV2
    return (seen * len(gaps) + USUAL_GAP_CV2 * GAPS_TO_TELL) / (len(gaps) + GAPS_TO_TELL)


def _usual_days(moments: Sequence[datetime]) -> float:
    """The middle one of the gaps, not less than a day; the usual one while there are fewer than two."""
    gaps = sorted((b - a).total_seconds() / 86400 for a, b in pairwise(moments))
    return max(gaps[len(gaps) // 2], 1.0) if len(gaps) > 1 else TOP_UP_DAYS


def _plan(tank: str, catalogue: Catalogue) -> UsePlan | None:
    plans = all_of(catalogue.own, "use plan", UsePlan)
    return plans.get(tank) or (next(iter(plans.values())) if len(plans) == 1 else None)


def _mean_sd(values: list[float]) -> tuple[float, float]:
    if not values:
        return 0.0, 0.0
    mean = sum(values) / len(values)
    return mean, math.sqrt(sum((v - mean) ** 2 for v in values) / max(len(values) - 1, 1))
