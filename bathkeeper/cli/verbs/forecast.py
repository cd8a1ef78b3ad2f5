"""The verb ``forecast``: when the next limits will be reached, by date and by ampere-hour."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from bathkeeper.cli.options import answers, open_workshop, tell_damage
from bathkeeper.cli.talk import answer, answer_json, say

if TYPE_CHECKING:
    from bathkeeper.estimate.forecast import Crossing, Forecast
    from bathkeeper.units.numerals import Preferences

WORTH_A_LINE = 0.1  # chance from which an edge is shown to people; JSON has them all


@click.command("forecast")
@click.argument("tank", required=False)
@click.option(
    "--days", type=click.IntRange(1, 1000), default=180, show_default=True, help="How far to look ahead.", metavar="DAYS"
)
@answers
def verb(tank: str | None, days: int, as_json: bool, book: Path | None, at: datetime | None) -> None:
    """When the next limits will be reached, and how sure.

    With the spread of date and amp-hours. Recent use (or your own `use plan`) goes on, water is topped up, and nothing is
    dosed. Without TANK: the whole line.
    """
    from bathkeeper.estimate.forecast import forecasts
    from bathkeeper.workshop import now

    workshop = open_workshop(book)
    if tank is not None:
        workshop.tank(tank, at)  # says which tanks there are when this is none
    moment = at or now()
    found = forecasts(workshop.at(moment), workshop.entries(at=moment), moment, tank, horizon_days=days)
    if as_json:
        plain = {name: [_plain(c) for c in told.crossings] for name, told in found.items()}
        answer_json(plain if tank is None else plain.get(tank, []))
    else:
        prefs = workshop.preferences
        for number, told in enumerate(found.values()):
            answer(([""] if number else []) + _text(told, prefs))
    if not found:
        say(f"{tank or 'No tank'} has nothing to forecast: it takes a recipe and a make-up on record.")
    tell_damage(workshop)


def _plain(crossing: Crossing) -> dict[str, object]:
    """A window edge as in ``--json``; null where it most likely is not reached by then."""
    bands = {"charge_ah": crossing.charge_ah, "date": crossing.date, "loads": crossing.loads}
    quantiles = {
        name: None if band is None else dict(zip(("p10", "p50", "p90"), band, strict=True)) for name, band in bands.items()
    }
    return {
        "species": crossing.species,
        "edge": crossing.edge,
        "limit": crossing.limit,
        "unit": crossing.unit,
        "chance": crossing.chance,
        "chance_next_run": crossing.chance_next_run,
        "horizon_days": crossing.horizon_days,
        **quantiles,
    }


def _text(told: Forecast, prefs: Preferences) -> list[str]:
    from bathkeeper.cli.plain import clean
    from bathkeeper.cli.tables import Column, styled, table
    from bathkeeper.estimate.forecast import sentence
    from bathkeeper.showing import shown

    use = told.usage
    basis = "no run to go by: by time alone"
    if use.runs_per_week > 0:
        each = [shown(x, unit, prefs, x / 10) for x, unit in ((use.charge_ah, "Ah"), (use.area_dm2, "dm2")) if x > 0]
        by = "your plan" if use.source == "plan" else "the last weeks"
        basis = f"{use.runs_per_week:.2g} runs a week" + (f" of {' and '.join(each)}" if each else "") + f", by {by}"
    ahead = told.next(WORTH_A_LINE)
    lines = [styled(clean(told.tank, lines=False), "head") + f", the next {told.horizon_days} days", styled(basis, "faint")]
    if not ahead:
        return [*lines, "No limit is likely to be reached."]
    rows = [[f"{c.chance:.0%}", sentence(c, prefs)] for c in ahead]
    return lines + table([Column("chance", right=True), Column("", wraps=True)], rows)
