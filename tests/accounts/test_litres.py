"""Litres and grams are conserved whatever is done; what is lost is unaccounted for, in its own tank, and not evaporation."""

from __future__ import annotations

from datetime import timedelta

import pytest
from hypothesis import HealthCheck, given, settings

from bathkeeper.accounts.grams import grams
from bathkeeper.accounts.litres import balance_l, between, litres
from bathkeeper.entries import AnyEntry
from bathkeeper.estimate.fold import at_moment
from bathkeeper.logbook.corrections import resolve
from tests.estimate.helpers import START, Book, differences, take
from tests.estimate.random_books import books

few = settings(max_examples=30, derandomize=True, deadline=None, suppress_health_check=list(HealthCheck))


def effective(entries: list[AnyEntry]) -> list[AnyEntry]:
    found, _ = resolve(entries)
    return found  # type: ignore[return-value]


@few
@given(books(most=30, wasted=True))
def test_every_litre_and_gram_is_somewhere(entries: list[AnyEntry]) -> None:
    world = at_moment(take(effective(entries)), max(e.at for e in entries) + timedelta(days=3))
    account = litres(world)
    assert balance_l(account) == pytest.approx(0.0, abs=1e-7 * (1.0 + account.put_in_l))
    assert account.unaccounted_l.low <= account.unaccounted_l.value <= account.unaccounted_l.high
    for name, species in grams(world).items():
        missing = species.unaccounted_g
        came = abs(species.put_in_g) + abs(species.from_anodes_g) + abs(species.worn_g) + abs(missing.value)
        assert species.left_over_g == pytest.approx(0.0, abs=1e-7 * (1.0 + came)), name
        assert missing.low <= missing.value <= missing.high
        assert missing.value == pytest.approx(sum(a.grams.value for a in species.arose), abs=1e-7 * (1.0 + came)), name
    for state in world.containers.values():
        held = state.held()
        assert all(a >= -1e-6 for n, a in held.items() if n != "base"), (state.name, held)


@few
@given(books(most=18, wasted=True))
def test_containers_do_not_hang_on_the_order_of_arrival(entries: list[AnyEntry]) -> None:
    assert not differences(take(effective(entries)), take(effective(entries[::-1])))


def watched(lost_l: float = 0.0, *, told: bool = False) -> Book:
    """Two baths side by side, levels read every five days for two months; ``lost_l`` gone from the first on day 42."""
    book = Book()
    book.bath(anodes=False)
    book.tank("pickle", "pickle", 1, "bisulfate-pickle")
    book.make_up("pickle", 20.0, {"free acid": 100.0})
    level, other = 40.0, 20.0
    for day in range(5, 65, 5):
        book.day(day)
        level -= 0.4
        other -= 0.15
        if day == 40 and lost_l:
            level -= lost_l
            if told:
                book.log("removal", tank="bath", volume_l=lost_l, to="spill")
        book.reading("bath", of="level", value=level, unit="L", spread=0.3)
        book.reading("pickle", of="level", value=other, unit="L", spread=0.3)
    return book


def test_water_that_went_into_the_air_is_evaporation():
    account = litres(watched().world())
    assert account.evaporated_l == pytest.approx(12 * (0.4 + 0.15), abs=0.6)
    assert account.unaccounted_l.low < 0 < account.unaccounted_l.high


def test_five_litres_that_were_lost_are_unaccounted_in_their_tank():
    account = litres(watched(5.0).world())
    assert account.arose[0].vessel == "bath"
    assert account.arose[0].litres.value == pytest.approx(5.0, abs=0.5)
    assert account.arose[0].litres.low > 3.0
    assert account.evaporated_l == pytest.approx(12 * (0.4 + 0.15), abs=0.8)
    assert account.lost_l == 0
    others = [a for a in account.arose if a.vessel != "bath"]
    assert all(abs(a.litres.value) < 0.5 for a in others)
    # when it went: the readings of day 40 and after found it
    found = sum(f.litres for f in account.arose[0].found if f.at >= START + timedelta(days=39))
    assert found == pytest.approx(5.0, abs=0.6)


def test_a_spill_that_was_told_is_lost_and_not_unaccounted():
    account = litres(watched(5.0, told=True).world())
    assert account.lost_l == pytest.approx(5.0, abs=0.1)
    assert account.unaccounted_l.value == pytest.approx(0.0, abs=0.5)


def test_the_account_of_a_period_is_the_difference_of_two():
    book = watched(5.0)
    before, after = litres(at_moment(take(e for e in book.entries if e.at < START + timedelta(days=38)), START)), None
    early = take(e for e in book.entries if e.at < START + timedelta(days=38))
    before = litres(at_moment(early, START + timedelta(days=38)))
    after = litres(book.world())
    told = between(before, after)
    assert balance_l(told) == pytest.approx(0.0, abs=1e-6)
    assert told.arose[0].litres.value == pytest.approx(5.0, abs=0.6)
    assert told.into_tanks_l == 0
    whole = between(litres(take([])), after)
    assert whole.evaporated_l == pytest.approx(after.evaporated_l)


def test_a_level_that_falls_once_is_doubted_and_not_yet_booked():
    """One reading that cannot be right may be a slip; the second makes it a loss."""
    book = watched()
    book.day(65)
    book.reading("bath", of="level", value=30.0, unit="L", spread=0.3)
    assert litres(book.world()).unaccounted_l.value == pytest.approx(0.0, abs=0.5)
    book.day(66)
    book.reading("bath", of="level", value=29.9, unit="L", spread=0.3)
    assert litres(book.world()).arose[0].litres.value == pytest.approx(4.8, abs=0.6)


def dipped(book: Book, litres_read: float, spread: float) -> None:
    book.log("container", container="old", action="tested",
             values=[{"of": "volume", "value": litres_read, "unit": "L", "spread": spread}])  # fmt: skip


def drum() -> Book:
    """An old drum of liquid: 20 L by the keeper's word, 5 L of it moved on, then read with a dip stick."""
    book = Book()
    book.log("container", container="old", action="opened", what="bath", volume_l=20.0)
    book.log("container", container="old", action="moved", volume_l=5.0, to="other")
    return book


def test_litres_missing_from_a_container_are_as_sure_as_what_went_in_and_out():
    book = drum()
    dipped(book, 14.6, 0.1)
    arose = {a.vessel: a.litres for a in litres(book.world()).arose}["old"]
    assert arose.value == pytest.approx(0.4, abs=0.05)
    # 5 % of 20 L, three quarters of which are still there; 5 % of the 5 L; the dip stick's 0.1 L
    assert arose.spread == pytest.approx((0.75**2 + 0.25**2 + 0.1**2) ** 0.5, rel=0.05)
    book.log("container", container="old", action="handed over", all=True, to="desk")
    after = {a.vessel: a.litres for a in litres(book.world()).arose}["old"]
    assert (after.value, after.spread) == pytest.approx((arose.value, arose.spread))


def test_more_missing_from_a_container_than_anybody_poured_amiss():
    book = drum()
    dipped(book, 9.0, 0.2)
    account = litres(book.world())
    assert account.arose[0].vessel == "old" and account.arose[0].litres.low > 4.0 and account.unaccounted_l.low > 4.0


def test_a_container_filled_again_does_not_carry_the_doubt_of_what_nobody_tested():
    book = drum()
    book.log("container", container="old", action="handed over", all=True, to="desk")
    book.log("container", container="old", action="put in", what="bath", volume_l=10.0)
    dipped(book, 9.8, 0.1)
    arose = {a.vessel: a.litres for a in litres(book.world()).arose}["old"]
    assert arose.spread == pytest.approx((0.5**2 + 0.1**2) ** 0.5, rel=0.05)
