"""The right end of a trend: what is expected, between the 10 and 90 % of the futures."""

from __future__ import annotations

from pathlib import Path

from textual.pilot import Pilot

from bathkeeper.tui.ahead import MOST_DAYS, with_ahead
from bathkeeper.tui.screens.tank import TankScreen
from bathkeeper.tui.widgets.trend import TrendPlot
from bathkeeper.workshop import Workshop
from tests.tui.helpers import NOW, app_on, book, drive, until, until_seen


def test_it_goes_on_from_the_estimate_with_its_spread(tmp_path: Path) -> None:
    workshop = Workshop.open(book(tmp_path))
    trend, ahead = with_ahead(workshop, "electrolyte", "zinc", NOW)
    assert ahead and ahead[0].at >= trend.points[-1].at
    assert (ahead[-1].at - NOW).days <= MOST_DAYS
    assert all(a.low <= a.middle <= a.high for a in ahead)
    assert all(a.high > a.low for a in ahead)
    assert abs(ahead[0].middle - trend.points[-1].value) < 0.1 * trend.points[-1].value


def test_the_plot_draws_it_behind_today(tmp_path: Path) -> None:
    path = book(tmp_path)

    async def steps(pilot: Pilot[None]) -> None:
        pilot.app.open_tank("electrolyte")  # type: ignore[attr-defined]
        await until(pilot, lambda: isinstance(pilot.app.screen, TankScreen))
        await pilot.press("2")
        await until(pilot, lambda: bool(pilot.app.screen.query_one(TrendPlot).ahead))
        await until_seen(pilot, "4 of 5 futures")

    drive(app_on(path, tmp_path), steps)
