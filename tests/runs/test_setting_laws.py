"""Laws of setting a load, whatever the numbers: there and back, scaling, the current that adds up, intervals that hold."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bathkeeper.entries import Run
from bathkeeper.runs.setting import Setting, Wish, set_run
from tests.runs.setting_books import define, known, zinc_nickel


@pytest.fixture(scope="module")
def bath():
    book = zinc_nickel()
    define(book, "supply", "bench-1", reach_a=30.0, gain=1.03)
    define(book, "supply", "bench-2", reach_a=3.0)
    for day in range(3):
        book.day(1 + day).plate()
    return known(book)


def asked(bath, drag_out: float | None = None, **wish: object) -> Setting:
    state, catalogue, past = bath
    runs: list[Run] = past
    return set_run(state, catalogue, Wish(**wish), runs, drag_out)


SUPPLIES = st.sampled_from([(), ("bench-1",), ("bench-1=zinc", "bench-2=nickel")])
AREAS, DENSITIES = st.floats(0.05, 200.0), st.floats(0.1, 15.0)


@given(AREAS, DENSITIES, st.floats(0.5, 600.0), SUPPLIES)
def test_time_for_the_thickness_of_a_time_is_that_time(bath, area, density, minutes, supplies):
    there = asked(bath, area_dm2=area, density_a_dm2=density, minutes=minutes, supplies=supplies)
    back = asked(bath, area_dm2=area, density_a_dm2=density, thickness_um=there.thickness_um.value, supplies=supplies)
    assert back.minutes.value == pytest.approx(minutes, rel=1e-9)
    assert back.charge_ah == pytest.approx(there.charge_ah, rel=1e-9)
    assert back.deposit_g.value == pytest.approx(there.deposit_g.value, rel=1e-9)


@given(AREAS, DENSITIES, st.floats(0.01, 50.0), SUPPLIES)
def test_a_larger_load_takes_as_much_more_current_and_no_more_time(bath, area, density, times, supplies):
    one = asked(bath, area_dm2=area, density_a_dm2=density, thickness_um=8, supplies=supplies)
    more = asked(bath, area_dm2=area * times, density_a_dm2=density, thickness_um=8, supplies=supplies)
    assert more.current_a.value == pytest.approx(one.current_a.value * times, rel=1e-9)
    assert more.current_a.low == pytest.approx(one.current_a.low * times, rel=1e-9)
    assert more.minutes.value == pytest.approx(one.minutes.value, rel=1e-9)
    assert [b.current_a for b in more.branches] == pytest.approx([b.current_a * times for b in one.branches], rel=1e-9)
    if one.largest_load_dm2 is not None:
        assert more.largest_load_dm2 == pytest.approx(one.largest_load_dm2, rel=1e-9)


@given(AREAS, DENSITIES, SUPPLIES, st.floats(0.0, 0.02))
def test_the_branches_add_up_to_the_current(bath, area, density, supplies, drag_out):
    setting = asked(bath, drag_out, area_dm2=area, density_a_dm2=density, supplies=supplies)
    assert sum(b.current_a for b in setting.branches) == pytest.approx(setting.current_a.value, rel=1e-9)
    assert sum(b.share for b in setting.branches) == pytest.approx(1.0, rel=1e-9)


@given(AREAS, DENSITIES, SUPPLIES)
def test_at_the_largest_load_the_supplies_just_reach(bath, area, density, supplies):
    drag_out = 1e-3
    setting = asked(bath, drag_out, area_dm2=area, density_a_dm2=density, supplies=supplies)
    largest = setting.largest_load_dm2
    if largest is None or not 1e-3 < largest < 1e4:
        return
    there = asked(bath, drag_out, area_dm2=largest, density_a_dm2=density, supplies=supplies)
    assert all(b.reaches for b in there.branches)
    over = asked(bath, drag_out, area_dm2=largest * 1.001, density_a_dm2=density, supplies=supplies)
    assert not all(b.reaches for b in over.branches)


@given(st.floats(0.0, 0.02), st.floats(0.0, 0.02))
def test_more_drag_out_never_lowers_a_share(bath, one, other):
    low, high = sorted((one, other))
    little = asked(bath, low, area_dm2=4, density_a_dm2=1.5).holding
    much = asked(bath, high, area_dm2=4, density_a_dm2=1.5).holding
    assert all(little.shares[m].value <= much.shares[m].value + 1e-12 for m in little.shares)
    assert little.total.value == pytest.approx(sum(s.value for s in little.shares.values()))


@given(AREAS, st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_a_wider_area_never_narrows_the_interval(bath, area, one, other):
    low, high = sorted((one, other))
    narrow = asked(bath, area_dm2=area, area_spread_dm2=low * area, thickness_um=8, density_a_dm2=2)
    wide = asked(bath, area_dm2=area, area_spread_dm2=high * area, thickness_um=8, density_a_dm2=2)
    assert wide.minutes.low <= narrow.minutes.low * (1 + 1e-12)
    assert wide.minutes.high >= narrow.minutes.high * (1 - 1e-12)
    for x in (wide.minutes, wide.thickness_um, wide.minutes_worst, wide.thickness_worst_um):
        assert 0 < x.low <= x.value <= x.high
    assert wide.current_spread_a >= narrow.current_spread_a * (1 - 1e-12)


@given(st.floats(0.05, 1.0), AREAS)
def test_the_worst_spot_is_its_part_of_the_average(bath, factor, area):
    setting = asked(bath, area_dm2=area, density_a_dm2=2, thickness_um=8, worst_spot=factor)
    assert setting.thickness_worst_um.value == pytest.approx(setting.thickness_um.value * factor)
    there = asked(bath, area_dm2=area, density_a_dm2=2, minutes=min(setting.minutes_worst.value, 40_000), worst_spot=factor)
    assert there.thickness_worst_um.value == pytest.approx(8, rel=1e-9) or setting.minutes_worst.value > 40_000
