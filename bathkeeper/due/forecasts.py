"""Findings from the forecast: limits that will most likely be reached, before the next loads or within the month."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

from bathkeeper.estimate.forecast import Crossing, Forecast, sentence
from bathkeeper.findings import Because, Finding
from bathkeeper.units.numerals import Preferences

AHEAD_DAYS = 30.0  # how far a limit may lie ahead to be spoken of [practice]
NEXT_DAYS = 7.0  # a limit whose early date lies nearer than this is soon [practice]
LIKELY = 0.5
NEXT_RUN = 0.2  # chance of crossing it by the end of the next run, from which it is soon [practice]
FORMULA = "recent use simulated forward through the bath's own wear terms, parameters drawn from what was learned"


def forecast_findings(told: Forecast, prefs: Preferences) -> Iterator[Finding]:
    """One finding each edge that is likely reached within a month. What is past already is told with the contents."""
    for crossing in told.next(LIKELY):
        if crossing.past or crossing.edge not in ("low", "high") or crossing.date is None:
            continue
        first, middle, _ = crossing.date
        if middle is None or middle > told.at + timedelta(days=AHEAD_DAYS):
            continue
        near = crossing.chance_next_run >= NEXT_RUN or first <= told.at + timedelta(days=NEXT_DAYS)
        yield Finding(
            id=f"{told.tank}.forecast_{crossing.edge}.{crossing.species}",
            tank=told.tank,
            what=sentence(crossing, prefs).rstrip("."),
            why=_why(crossing, told),
            level="soon" if near else "later",
            by=middle,
            because=Because(
                text=f"{told.usage.runs_per_week:.2g} runs a week of {told.usage.charge_ah:.3g} Ah and "
                f"{told.usage.area_dm2:.3g} dm2, by the {told.usage.source}",
                entries=told.usage.entries,
                formula=FORMULA,
                sources=("limit and rates as in the recipe; `why` on the content itself names each",),
            ),
        )


def _why(crossing: Crossing, told: Forecast) -> str:
    return (
        f"{crossing.chance:.0%} chance within {crossing.horizon_days} days, {crossing.chance_next_run:.0%} by the end of the "
        f"next run; limit {crossing.limit:.3g} {crossing.unit}".rstrip()
    )
