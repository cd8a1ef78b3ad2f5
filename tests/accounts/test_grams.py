"""Grams that no entry explains are told with their spread, where they arose; what is within the spread is no loss."""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings

from bathkeeper.accounts.grams import MOVED, between, grams
from bathkeeper.entries import AnyEntry
from bathkeeper.estimate.fold import at_moment
from bathkeeper.logbook.corrections import resolve
from tests.estimate.helpers import START, Book, take
from tests.estimate.random_books import books

few = settings(max_examples=25, derandomize=True, deadline=None, suppress_health_check=list(HealthCheck))


def titrated(nickel: float = 24.0, lost_g: float = 0.0, weeks: int = 8) -> Book:
    """A bath that nobody uses, its nickel titrated every week; ``lost_g`` of it gone in the fifth, and 24 g/L as made up."""
    book = Book()
    book.bath(anodes=False)
    for week in range(1, weeks + 1):
        book.day(7 * week)
        present = nickel - (lost_g / 40.0 if week > 4 else 0.0)
        book.reading("bath", of="level", value=40.0, unit="L", spread=0.2)
        book.reading("bath", of="nickel", value=present, unit="g/L", spread=0.3)
    return book


def test_what_readings_bear_out_is_not_missing():
    account = grams(titrated().world())["nickel"]
    assert account.unaccounted_g.low < 0 < account.unaccounted_g.high
    assert abs(account.unaccounted_g.value) < 10


def test_a_make_up_that_was_a_little_weak_is_within_its_spread():
    """1 g/L of 24 is less than a make-up told in g/L is sure of."""
    account = grams(titrated(23.2).world())["nickel"]
    assert account.unaccounted_g.value == pytest.approx(32.0, abs=12.0)
    assert account.unaccounted_g.low < 0 and not account.arose[0].beyond_spread


def test_nickel_that_went_is_unaccounted_in_its_tank_and_told_when():
    account = grams(titrated(lost_g=200.0).world())["nickel"]
    arose = account.arose[0]
    assert (arose.vessel, arose.grams.unit) == ("bath", "g")
    assert arose.grams.value == pytest.approx(200.0, abs=25.0)
    assert arose.beyond_spread and arose.grams.low > 80.0
    found = sum(f.grams for f in arose.found if f.at > START + timedelta(days=34))
    assert found == pytest.approx(200.0, abs=30.0)
    assert account.unaccounted_g.value == pytest.approx(sum(a.grams.value for a in account.arose))


def test_a_doubted_titration_books_nothing_yet():
    book = titrated()
    book.day(60)
    book.reading("bath", of="nickel", value=15.0, unit="g/L", spread=0.3)
    assert abs(grams(book.world())["nickel"].unaccounted_g.value) < 10


def test_without_readings_nothing_is_missing_but_nobody_is_sure():
    book = Book()
    book.bath(anodes=False)
    account = grams(book.world())["nickel"]
    assert account.unaccounted_g.value == 0 and not account.arose
    assert account.unaccounted_g.spread > 10.0  # as sure as the make-up
    assert account.readings_spread_g == 0


def test_the_account_of_a_period_tells_what_came_to_be_missing_in_it():
    book = titrated(lost_g=200.0)
    middle = START + timedelta(days=31)
    before = grams(at_moment(take(e for e in book.entries if e.at < middle), middle))
    told = between(before, grams(book.world()))["nickel"]
    assert told.left_over_g == pytest.approx(0.0, abs=1e-6)
    assert told.arose[0].grams.value == pytest.approx(200.0, abs=25.0)
    assert all(f.at > middle for f in told.arose[0].found)
    # titrations before it told what was there at its beginning, so that less of the make-up's spread is left
    assert told.unaccounted_g.spread < grams(book.world())["nickel"].unaccounted_g.spread
    whole = between({}, grams(book.world()))["nickel"]
    assert whole == grams(book.world())["nickel"]


def test_a_bath_that_a_new_make_up_ended_without_a_record_is_missing_in_its_tank():
    book = titrated()
    book.day(70)
    book.make_up("bath", 40.0, {"nickel": 24.0})
    account = grams(book.world())["nickel"]
    assert account.arose[0].vessel == "bath" and account.arose[0].grams.value == pytest.approx(960.0, abs=15.0)
    assert account.untracked_g == 0 and account.left_over_g == pytest.approx(0.0, abs=1e-6)


def test_metal_that_a_test_finds_in_a_drum_is_more_than_the_entries_tell():
    book = Book()
    book.log("container", container="old", action="opened", what="bath", volume_l=10.0)
    found = {"of": "nickel", "value": 0.2, "unit": "g/L", "spread": 0.02}
    book.log("container", container="old", action="tested", values=[found])
    arose = grams(book.world())["nickel"].arose[0]
    assert (arose.vessel, arose.grams.value) == ("old", pytest.approx(-2.0, rel=0.02))
    assert arose.grams.spread == pytest.approx(0.23, rel=0.15)  # the test's tenth, and the litres' twentieth
    book.log("container", container="old", action="handed over", all=True, to="desk")
    after = grams(book.world())["nickel"].arose[0]
    assert (after.grams.value, after.grams.spread) == pytest.approx((arose.grams.value, arose.grams.spread))


def test_a_tank_described_anew_is_told_apart_from_what_readings_put_right():
    book = titrated()
    book.day(62)
    book.log("tank", tank="bath", role="pickle", order=5, recipe="bisulfate-pickle", working_volume_l=40.0)
    account = grams(book.world())
    assert account["nickel"].left_over_g == pytest.approx(0.0, abs=1e-6)
    counted_no_more = account["boric acid"]
    assert counted_no_more.recounted_g < -900 and abs(counted_no_more.unaccounted_g.value) < 60


@few
@given(books(most=24, wasted=True))
def test_two_parts_of_a_book_add_up_to_the_whole(entries: list[AnyEntry]) -> None:
    kept, _ = resolve(entries)
    last = max(e.at for e in entries) + timedelta(days=1)
    middle = min(e.at for e in entries) + (last - min(e.at for e in entries)) / 2
    world = at_moment(take(kept), last)  # type: ignore[arg-type]
    early = at_moment(take(e for e in kept if e.at <= middle), middle)  # type: ignore[arg-type]
    whole, first = grams(world), grams(early)
    for name, second in between(first, whole).items():
        if name not in first:
            continue
        scale = 1e-7 * (1.0 + abs(whole[name].put_in_g) + abs(first[name].in_tanks_g) + abs(whole[name].worn_g))
        assert second.left_over_g == pytest.approx(0.0, abs=scale * 10), name
        for field in MOVED:
            both = getattr(first[name], field) + getattr(second, field)
            assert both == pytest.approx(getattr(whole[name], field), abs=scale), (name, field)


def test_the_spread_covers_what_chance_alone_leaves_missing():
    """Baths as unsure as a keeper's make-up, titrated with the noise of a titration, nothing lost."""
    chance = np.random.default_rng(4)
    within, of = 0, 60
    for _ in range(of):
        book, strength = Book(), 24.0 * (1 + 0.05 / 1.96 * chance.normal())
        book.bath(anodes=False)
        for week in range(1, 5):
            book.day(7 * week)
            book.reading("bath", of="nickel", value=max(strength + 0.15 * chance.normal(), 0.1), unit="g/L", spread=0.3)
        missing = grams(book.world())["nickel"].arose
        within += not missing or not missing[0].beyond_spread
    assert within >= 0.9 * of
