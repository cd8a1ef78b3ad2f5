"""The last good loads near this one, to set by: how large, at what current density, how warm."""

from __future__ import annotations

import math
from collections.abc import Sequence

from bathkeeper.catalogue.loader import Catalogue
from bathkeeper.entries import Run
from bathkeeper.estimate.state import TankState
from bathkeeper.runs.past import PastRun, told_by_itself

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
    steps = ((r, next((s for s in r.steps if s.tank == state.name), None)) for r in past)
    known = history if history is not None else [told_by_itself(r, s, catalogue) for r, s in steps if s is not None]
    here = [r for r in known if r.tank == state.name and r.good is not False and r.defect is None and r.at <= state.now]

    def rank(run: PastRun) -> tuple[bool, bool, float]:
        far = area_dm2 is not None and (not run.area_dm2 or abs(math.log(run.area_dm2 / area_dm2)) > math.log(NEAR))
        return (run.good is not True, far, -run.at.timestamp())

    return sorted(here, key=rank)[:count]
