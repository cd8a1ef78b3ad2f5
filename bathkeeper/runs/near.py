"""The last good loads near this one, to set by: how large, at what current density, how warm."""

from __future__ import annotations

import math
from collections.abc import Sequence

from bathkeeper.catalogue.loader import Catalogue
from bathkeeper.entries import Run
from bathkeeper.estimate.charges import plating_of
from bathkeeper.estimate.state import TankState
from bathkeeper.runs.past import SAID_BAD, SAID_GOOD, PastRun

NEAR = 1.5  # times larger or smaller: a load of the same kind


def near_runs(
    state: TankState,
    catalogue: Catalogue,
    past: Sequence[Run],
    history: Sequence[PastRun] | None,
    area_dm2: float | None,
    count: int = 3,
) -> list[PastRun]:
    """Loads of this tank that came out good, or of which nothing bad was said: those said to be good first, then those of
    like size, then the newest. ``history`` stands before the runs themselves, because remarks have their say in it."""
    known = history if history is not None else [_told(r, state, catalogue) for r in past]
    here = [r for r in known if r.tank == state.name and r.good is not False and r.defect is None and r.at <= state.now]

    def rank(run: PastRun) -> tuple[bool, bool, float]:
        far = area_dm2 is not None and (not run.area_dm2 or abs(math.log(run.area_dm2 / area_dm2)) > math.log(NEAR))
        return (run.good is not True, far, -run.at.timestamp())

    return sorted(here, key=rank)[:count]


def _told(run: Run, state: TankState, catalogue: Catalogue) -> PastRun:
    """A run as its own entry tells it."""
    step = next(s for s in run.steps if s.tank == state.name)
    area = run.area_dm2 or None
    plating, _, _ = plating_of(step, area or 0.0, catalogue.spreads)
    charge, minutes = plating.read_ah or None, plating.minutes
    word = (run.result or "").strip().casefold()
    bad = run.defect is not None or bool(run.rejects) or word in SAID_BAD
    good = False if bad else True if word in SAID_GOOD or (run.rejects == 0 and not word) else None
    return PastRun(
        id=run.id,
        at=run.at,
        title=", ".join((f"{p.count} " if p.count > 1 else "") + p.description for p in run.parts) or "load",
        tank=step.tank,
        tanks=tuple(s.tank for s in run.steps),
        area_dm2=area,
        charge_ah=charge,
        minutes=minutes,
        density_a_dm2=charge * 60 / minutes / area if charge and minutes and area else None,
        temperature_c=step.temperature_c,
        result=run.result,
        defect=run.defect,
        rejects=run.rejects,
        photos=run.photos,
        good=good,
    )
