"""One list of what is due over the whole workshop, most urgent first."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from datetime import datetime

from bathkeeper.catalogue.schema import Recipe
from bathkeeper.due.calendar import calendar_findings, calibration_findings
from bathkeeper.due.contents import content_findings
from bathkeeper.entries import Calibration
from bathkeeper.estimate.view import TankView
from bathkeeper.findings import Finding

AFTER_THE_LINE = 10_000
URGENCY = {"now": 0, "soon": 1, "later": 2}


def due(
    views: Iterable[TankView],
    recipes: Mapping[str, Recipe | None],
    calibrations: Iterable[Calibration],
    dangers: Iterable[Finding],
    now: datetime,
    advised: Iterable[Finding] = (),
    put_off: Collection[str] = (),
) -> list[Finding]:
    """Findings of every tank in service, of the workshop's instruments and of safety, by urgency, then by place in the line.

    ``recipes``: by tank, as they hold there. Of safety only what is now or soon is due; the rest is for the safety screen.
    ``advised``: findings from advice and forecast; what is forecast of a limit that is passed already is left out. ``put_off``:
    ids that the keeper put off; they are left out too.
    """
    views = list(views)
    places = {v.tank: v.order for v in views}
    ranked = [(URGENCY[f.level], AFTER_THE_LINE, f.id, f) for f in calibration_findings(calibrations, now)]
    ranked += [(URGENCY[f.level], places.get(f.tank, AFTER_THE_LINE), f.id, f) for f in dangers if f.level != "later"]
    for view in views:
        if not view.in_service:
            continue
        recipe = recipes.get(view.tank)
        for finding in [*content_findings(view), *calendar_findings(view, recipe, now)]:
            ranked.append((URGENCY[finding.level], view.order, finding.id, finding))
    told = {f.id for *_, f in ranked}
    for finding in advised:
        if finding.id.replace(".forecast_", ".", 1) in told:
            continue
        ranked.append((URGENCY[finding.level], places.get(finding.tank, AFTER_THE_LINE), finding.id, finding))
    return [finding for *_, finding in sorted(ranked, key=lambda r: r[:3]) if finding.id not in put_off]
