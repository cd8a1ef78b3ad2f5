"""What is expected of a content from now on, for the right end of a trend plot."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from bathkeeper.workshop import Trend, Workshop

LEAST_DAYS, MOST_DAYS = 14.0, 90.0
PART_OF_LIFE = 0.5  # of what is plotted of the past: the future takes no more room than a third of the plot


@dataclass(frozen=True)
class Ahead:
    """A moment to come: four futures of five lie between ``low`` and ``high``, half of them above ``middle``."""

    at: datetime
    charge_ah: float
    low: float
    middle: float
    high: float


def with_ahead(workshop: Workshop, tank: str, of: str, moment: datetime) -> tuple[Trend, Sequence[Ahead]]:
    """A content's trend and what the forecast expects of it, where there is a forecast. Raises NotFound."""
    from bathkeeper.counsel import Counsel

    trend = workshop.trend(tank, of, moment)
    found = Counsel(workshop).forecast(tank, moment)
    if found is None or of not in found.fan.bands or len(trend.points) < 2:
        return trend, ()
    lived = (trend.points[-1].at - trend.points[0].at).total_seconds() / 86400
    reach = min(max(PART_OF_LIFE * lived, LEAST_DAYS), MOST_DAYS)
    so_far = trend.points[-1].charge_ah
    rows = zip(found.fan.days, found.fan.charge_ah, found.fan.bands[of], strict=True)
    return trend, [
        Ahead(moment + timedelta(days=days), so_far + charge, band[0], band[2], band[4])
        for days, charge, band in rows
        if days <= reach
    ]
