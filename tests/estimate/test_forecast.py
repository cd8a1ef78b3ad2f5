"""Forecasts against stories worked by hand, and the laws that any forecast must obey."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from bathkeeper.catalogue.loader import load
from bathkeeper.estimate.forecast import Crossing, Forecast, forecast, forecasts, sentence
from bathkeeper.estimate.paths import Inflow
from bathkeeper.estimate.usage import usage_of
from bathkeeper.units.numerals import Preferences
from tests.estimate.helpers import Book
from tests.stories.telling import Telling
from tests.stories.test_common_bus import VOLUME, opened, week
from tests.stories.test_pickle import hand_worked, told


def of(told_by: Forecast, species: str, edge: str) -> Crossing:
    return next(c for c in told_by.crossings if (c.species, c.edge) == (species, edge))


@pytest.fixture(scope="module")
def week_13() -> Telling:
    tale, bath = opened()
    for number in range(13):
        week(tale, bath, number, 0.03)
        if number == 7:
            grams = round(bath.nickel_anode)
            tale.log("anode", tank="electrolyte", anode="nickel-1", action="weighed", mass_g=grams, brushed=True)
    tale.read("electrolyte", zinc=round(bath.zinc / VOLUME, 1), nickel=round(bath.nickel / VOLUME, 1))
    return tale


def seen_from(tale: Telling, tank: str, days: int) -> Forecast:
    entries = sorted(tale.entries, key=lambda e: e.order)
    return forecasts(tale.world(), entries, tale.moment, tank, horizon_days=days)[tank]


def test_common_bus_at_week_13(week_13: Telling) -> None:
    """The story of the common bus: ratio 0.38 at about 720 Ah, nickel 20 g/L at about 1140 Ah, of which 390 have passed."""
    ahead = seen_from(week_13, "electrolyte", 420)
    for species, ah in (("nickel_of_metal", 720 - 390), ("nickel", 1140 - 390)):
        crossing = of(ahead, species, "low")
        low, middle, high = crossing.charge_ah
        assert low < ah < high
        assert middle == pytest.approx(ah, rel=0.12)
        assert crossing.chance > 0.95
        days = (crossing.likely - crossing.at).total_seconds() / 86400
        assert days == pytest.approx(ah / 30 * 7, rel=0.12)  # six runs of 5 Ah a week
        assert crossing.loads[1] == pytest.approx(middle / 5, rel=0.05)


def test_pickle_reaches_half_its_acid() -> None:
    """By the hand-worked pickle without further stripping."""
    tale = told(52)
    fresh = hand_worked(0, 2.4)["acid"]
    truth = next(n for n in range(52, 200) if hand_worked(n, 2.4)["acid"] < fresh / 2) - 52
    crossing = of(seen_from(tale, "pickle", 180), "free acid", "low")
    assert crossing.limit == 50.0
    assert crossing.charge_ah is None
    assert crossing.loads[0] < truth < crossing.loads[2]
    assert crossing.loads[1] == pytest.approx(truth, rel=0.25)
    # 15 g/L of iron would come only at run 102 if every load dissolved 3.0 g to the end, later as the acid grows weak
    iron = of(seen_from(tale, "pickle", 360), "iron", "high")
    assert crossing.loads[2] < 102 - 52 < iron.loads[1]


def test_the_same_state_use_and_moment_give_the_same_forecast(week_13: Telling) -> None:
    entries = sorted(week_13.entries, key=lambda e: e.order)
    usage = usage_of(entries, "electrolyte", week_13.moment, load())
    one, again = (forecast(week_13.state("electrolyte"), load(), usage, week_13.moment, 90, 500) for _ in range(2))
    other = forecast(week_13.state("electrolyte"), load(), usage, week_13.moment, 90, 500, seed=1)
    assert one == again
    assert one.fan != other.fan


def test_bands_are_in_order_and_inside_the_horizon(week_13: Telling) -> None:
    ahead = seen_from(week_13, "electrolyte", 120)
    end = ahead.at + timedelta(days=120)
    for c in ahead.crossings:
        assert 0 <= c.chance_next_run <= c.chance <= 1
        assert (c.date is None) == (c.chance < 0.1) == (c.loads is None)
        for band in (c.charge_ah, c.loads, c.date):
            told_numbers = [x for x in band or () if x is not None]
            assert told_numbers == sorted(told_numbers)
        assert all(c.at <= d <= end for d in c.date or () if d is not None)
    low, give_up = of(ahead, "iron", "high"), of(ahead, "iron", "give_up_high")
    assert give_up.chance <= low.chance
    assert len(ahead.fan.days) == len(ahead.fan.charge_ah) == len(ahead.fan.bands["nickel"])
    assert all(list(q) == sorted(q) for points in ahead.fan.bands.values() for q in points)
    assert ahead.fan.bands["nickel"][0][2] == pytest.approx(week_13.state("electrolyte").concentration("nickel")[0], rel=0.01)
    spread = [q[4] - q[0] for q in ahead.fan.bands["nickel"]]
    assert spread[-1] > 1.5 * spread[0]


def test_twice_the_use_halves_the_time_and_leaves_the_charge(week_13: Telling) -> None:
    entries = sorted(week_13.entries, key=lambda e: e.order)
    usage = usage_of(entries, "electrolyte", week_13.moment, load())
    state = week_13.state("electrolyte")
    once = of(forecast(state, load(), usage, week_13.moment, 300), "nickel_of_metal", "low")
    busy = replace(usage, runs_per_week=2 * usage.runs_per_week)
    twice = of(forecast(state, load(), busy, week_13.moment, 300), "nickel_of_metal", "low")
    assert (twice.likely - twice.at) / (once.likely - once.at) == pytest.approx(0.5, abs=0.04)
    assert twice.charge_ah[1] == pytest.approx(once.charge_ah[1], rel=0.05)


def test_without_runs_only_time_works() -> None:
    book = Book()
    book.bath()
    book.day(30)
    state = book.state()
    ahead = forecast(state, load(), usage_of(book.ordered(), "bath", book.moment, load()), book.moment)
    assert ahead.usage.source == "nothing"
    zinc = of(ahead, "zinc", "high")
    assert zinc.chance > 0.5  # hung zinc goes on dissolving
    assert zinc.charge_ah is None and zinc.loads is None and zinc.date is not None
    assert zinc.date[1] > ahead.at


def test_a_limit_that_is_past_says_so() -> None:
    book = Book()
    book.bath()
    book.day(1).read("bath", method="EDTA titration", nickel=18.0)
    book.log("reading", tank="bath", values=[{"of": "nickel", "value": 18.0, "unit": "g/L", "method": "EDTA titration"}])
    for day in range(2, 12):
        book.day(day).plate()
    ahead = forecasts(book.world(), book.ordered(), book.moment)["bath"]
    nickel = of(ahead, "nickel", "low")
    assert nickel.past and nickel.charge_ah[1] == 0.0
    assert sentence(nickel, Preferences()) == "Nickel is most likely past its low limit already."


def test_what_parts_bring_in_counts() -> None:
    """A still rinse behind the bath grows strong by the film on the parts; without the bath before it it does not."""
    book = Book()
    book.bath()
    book.tank("rinse", "rinse", 6, "still-rinse", 20.0)
    book.make_up("rinse", 20.0)
    for day in range(1, 30):
        plating = {"tank": "bath", "charge": {"charge_ah": 5.0}, "minutes": 45.0, "supply": "main"}
        parts = [{"description": "parts", "area_dm2": 4.3}]
        book.day(day).log("run", steps=[plating, {"tank": "rinse", "minutes": 1.0}], parts=parts)
    world = book.world()
    ahead = forecasts(world, book.ordered(), book.moment, "rinse", horizon_days=90)["rinse"]
    zinc = [q[2] for q in ahead.fan.bands["zinc"]]
    expected = 90 * 4.3 * 0.0015 * 33 / 20  # g/L: loads x dm2 x L/dm2 x g/L, less what leaves
    assert 0.5 * expected < zinc[-1] - zinc[0] < 1.5 * expected
    usage = usage_of(book.ordered(), "rinse", book.moment, load())
    clean = forecast(world.tanks["rinse"], load(), usage, book.moment, 90, 500, inflow=Inflow())
    assert clean.fan.bands["zinc"][-1][2] < zinc[0]


def test_a_tank_that_holds_nothing_has_no_forecast() -> None:
    book = Book()
    book.tank("bath", "plate", 1, "acid-copper", 40.0)
    assert forecasts(book.world(), book.ordered(), book.moment) == {}
    usage = usage_of(book.ordered(), "bath", book.moment, load())
    with pytest.raises(ValueError, match="no make-up"):
        forecast(book.state(), load(), usage, book.moment)


AT = datetime(2026, 11, 25, 12, tzinfo=UTC)
NICKEL = Crossing(
    tank="bath", species="nickel", title="nickel", edge="low", limit=20.0, unit="g/L", chance=0.97, chance_next_run=0.0,
    charge_ah=(85.0, 140.0, 215.0), date=(AT + timedelta(14), AT + timedelta(22), AT + timedelta(38)), loads=(17.0, 28.0, 43.0),
    at=AT, horizon_days=180,
)  # fmt: skip


@pytest.mark.parametrize(
    ("crossing", "text"),
    [
        (NICKEL, "Nickel reaches its low limit in 140 Ah, about 3 weeks (9 Dec to 2 Jan)."),
        (replace(NICKEL, charge_ah=None), "Nickel reaches its low limit in 28 loads, about 3 weeks (9 Dec to 2 Jan)."),
        (replace(NICKEL, charge_ah=None, loads=None), "Nickel reaches its low limit in about 3 weeks (9 Dec to 2 Jan)."),
        (
            replace(NICKEL, chance=0.8, date=(*NICKEL.date[:2], None), charge_ah=(85.0, 140.0, None)),
            "Nickel reaches its low limit in 140 Ah, about 3 weeks (9 Dec or after 24 May).",
        ),
        (
            replace(NICKEL, chance=0.3, date=(NICKEL.date[0], None, None), charge_ah=(85.0, None, None)),
            "Nickel may reach its low limit within 180 days (chance 30%), hardly before 9 Dec.",
        ),
        (
            replace(NICKEL, chance=0.3, date=(AT, None, None), charge_ah=(0.0, None, None)),
            "Nickel may be past its low limit already, or will be within 180 days (chance 30%); a reading would tell.",
        ),
        (
            replace(NICKEL, chance=0.02, date=None, charge_ah=None, loads=None),
            "Nickel should stay above its low limit for 180 days.",
        ),
        (
            replace(NICKEL, edge="give_up_high", date=None, charge_ah=None, loads=None),
            "Nickel should stay below its highest limit (bath given up) for 180 days.",
        ),
    ],
)
def test_sentences(crossing: Crossing, text: str) -> None:
    assert sentence(crossing, Preferences()) == text


def test_dates_stand_as_the_workshop_writes_them() -> None:
    assert "(Dec 9 to Jan 2)" in sentence(NICKEL, Preferences(date_order="mdy"))
