"""Loads on the scale: what they should have gained together, what cannot be used, what it told; and what a defect tells."""

from __future__ import annotations

import math

import numpy as np
import pytest

from bathkeeper.answers.weighing import weighing_words
from bathkeeper.catalogue.loader import load
from bathkeeper.entries import AnyEntry
from bathkeeper.estimate.fold import Fold
from bathkeeper.estimate.learned import learned
from bathkeeper.estimate.measure import deposit_mass
from bathkeeper.estimate.state import Z95
from bathkeeper.estimate.weighings import loads_needed, spread_left, weighed
from tests.estimate.helpers import BATH, Book, differences, shown, take

METALS = dict(load().metals)
SCALE = 2 * (1.0 / Z95) ** 2


def loads_weighed(loads: int, each_g: float = 5.3, **value: object) -> tuple[Book, str]:
    book = Book()
    book.bath()
    runs = [book.plate() for _ in range(loads)]
    told = {"of": "deposit_mass", "value": round(each_g * loads, 6), "unit": "g", **value}
    return book, book.log("reading", runs=runs, values=[told])


def words_of(book: Book) -> list[str]:
    return weighing_words(take(book.entries[:-1]), take(book.entries), book.entries[-1])


# -- several loads ---------------------------------------------------------------------------------------------------------


def test_the_gains_add_up_and_only_the_scatter_averages_out():
    book = Book()
    book.bath()
    runs = [book.plate(charge_ah=q) for q in (4.0, 5.0, 6.0)]
    world = book.world()
    state, records = world.tanks["bath"], [world.runs[r] for r in runs]
    found = weighed(state, records, SCALE, METALS)
    each = [deposit_mass(state, r, METALS) for r in records]
    assert found is not None
    assert found.h.value == pytest.approx(sum(m.value for m in each), rel=1e-12)
    scatter = 0.03 / Z95  # of a charge that is stated, as the catalogue has it
    assert found.noise == pytest.approx(SCALE + sum((m.value * scatter) ** 2 for m in each), rel=1e-9)
    gain = state.gauss.index["gain:main"]
    assert found.h.grad[gain] == pytest.approx(found.h.value, rel=1e-9), "an ammeter that reads wrong does so for every load"


def test_its_derivatives():
    book = Book()
    book.bath()
    runs = [book.plate(), book.plate(charge_ah=3.0)]
    world = book.world()
    state, records = world.tanks["bath"], [world.runs[r] for r in runs]
    found = weighed(state, records, SCALE, METALS)
    assert found is not None
    mean = state.gauss.mean
    slopes = []
    for i in range(len(mean)):
        step = 1e-5 * max(abs(mean[i]), 0.1)
        pair = []
        for sign in (1, -1):
            moved = mean.copy()
            moved[i] += sign * step
            there = weighed(state.with_gauss(state.gauss.with_mean(moved)), records, SCALE, METALS)
            assert there is not None
            pair.append(there.h.value)
        slopes.append((pair[0] - pair[1]) / (2 * step))
    assert np.abs(found.h.grad - slopes).max() / np.abs(slopes).max() < 1e-6


def test_ten_loads_move_the_efficiency_where_one_hardly_does():
    before = learned(loads_weighed(1)[0].state())["cathode_efficiency"]
    after = learned(loads_weighed(10)[0].state())["cathode_efficiency"]
    assert before.told > 0.95 and before.assumed
    assert after.told < 0.8 and not after.assumed
    assert after.value < before.value < 0.93  # 5.3 g of 5 Ah are less than 93 % would lay down


def test_a_weighing_that_nothing_explains_is_doubted():
    book, _ = loads_weighed(10, each_g=9.0)
    state = book.state()
    assert [d.of for d in state.doubts.values()] == ["deposit_mass"]
    assert learned(state)["cathode_efficiency"].told == pytest.approx(1.0, abs=0.01)
    assert words_of(book) == []


def test_loads_of_two_tanks_cannot_be_weighed_together():
    book = Book()
    book.bath()
    book.tank("other", "plate", 7, BATH, 40.0)
    book.make_up("other", 40.0)
    runs = [book.plate(), book.plate(tank="other")]
    entry = book.log("reading", runs=runs, values=[{"of": "deposit_mass", "value": 10.6, "unit": "g"}])
    assert "loads of bath and other were read together" in shown(book.world().problems, entry)
    assert "deposit_mass" not in book.state().seen


def test_a_load_that_is_not_on_record_is_named():
    book = Book()
    book.bath()
    runs = [book.plate(), "nope-nope"]
    entry = book.log("reading", runs=runs, values=[{"of": "deposit_mass", "value": 10.6, "unit": "g"}])
    assert "nope-nope is not on record" in shown(book.world().problems, entry)
    assert learned(book.state())["cathode_efficiency"].told == pytest.approx(1.0, abs=1e-6)


def test_only_masses_add_up():
    book = Book()
    book.bath()
    runs = [book.plate(), book.plate()]
    entry = book.log("reading", runs=runs, values=[{"of": "thickness", "value": 9.0, "unit": "um"}])
    assert "thickness cannot be read on several loads together" in shown(book.world().problems, entry)


def test_what_two_baths_laid_down_is_not_told_apart():
    book = Book()
    book.bath()
    book.tank("second", "plate", 6, BATH, 40.0)
    book.make_up("second", 40.0)
    steps = [{"tank": t, "minutes": 40.0, "charge": {"charge_ah": 5.0}, "supply": "main"} for t in ("bath", "second")]
    run = book.log("run", steps=steps, parts=[{"description": "x", "area_dm2": 4.0}], mass_before_g=900.0, mass_after_g=910.0)
    assert "laid down in bath, second together" in shown(book.world().problems, run)
    entry = book.log("reading", run=run, values=[{"of": "deposit_mass", "value": 10.6, "unit": "g"}])
    assert "laid down in bath, second together" in shown(book.world().problems, entry)


@pytest.mark.parametrize(
    ("workshop", "value", "halfwidth"),
    [
        ({}, {}, math.sqrt(2) * 1.0),
        ({"scale_resolution_g": 0.1}, {}, math.sqrt(2) * 0.1),
        ({"scale_resolution_g": 0.1}, {"method": "fine scale"}, math.sqrt(2) * 0.02),
        ({}, {"spread": 0.5}, 0.5),
    ],
)
def test_the_scale_errs_twice_unless_the_spread_is_stated(workshop, value, halfwidth):
    book = Book()
    book.log("workshop", name="w", **workshop)
    book.bath()
    runs = [book.plate() for _ in range(2)]
    book.log("reading", runs=runs, values=[{"of": "deposit_mass", "value": 10.9, "unit": "g", **value}])
    world = book.world()
    state = world.tanks["bath"]
    charge = sum((deposit_mass(take(book.entries[:-1]).tanks["bath"], world.runs[r], METALS).value * 0.03) ** 2 for r in runs)
    assert Z95**2 * state.seen["deposit_mass"].noise == pytest.approx(halfwidth**2 + charge, rel=1e-6)


def test_a_late_run_and_a_shuffled_book_come_to_the_same():
    book, _ = loads_weighed(4)
    whole = take(book.entries)
    fold = Fold(load())
    for count in range(3, len(book.entries) + 1):
        world = fold.take(book.entries[:count])
    assert differences(whole, world) == []
    late: list[AnyEntry] = [*book.entries[:5], *book.entries[6:], book.entries[5]]
    fold = Fold(load())
    for count in range(3, len(late) + 1):
        world = fold.take(sorted(late[:count], key=lambda e: e.order))
    assert differences(whole, world) == []


# -- what it told ----------------------------------------------------------------------------------------------------------


def test_one_load_says_that_it_proves_little_and_how_many_would():
    (line,) = words_of(loads_weighed(1)[0])
    assert "one load proves little" in line
    said = int(line.split("weigh ")[1].split()[0])
    book = Book()
    book.bath()
    runs = [book.plate() for _ in range(said)]
    world = book.world()
    left = spread_left(world.tanks["bath"], [world.runs[r] for r in runs], SCALE, METALS)
    assert left <= 0.8
    fewer = spread_left(world.tanks["bath"], [world.runs[r] for r in runs[:-1]], SCALE, METALS)
    assert fewer > 0.8


def test_the_same_by_the_masses_of_a_run():
    book = Book()
    book.bath()
    book.plate(mass_before_g=900.0, mass_after_g=905.0)
    assert "one load proves little" in words_of(book)[0]


def test_ten_loads_say_what_they_told():
    (line,) = words_of(loads_weighed(10)[0])
    assert "cathode efficiency 93" in line and "of what it was" in line


def test_where_the_ammeter_hides_it_no_number_of_loads_is_advised():
    """Acid copper is known to 0.8 % and the ammeter to 4 %."""
    book = Book()
    book.tank("bath", "plate", 1, "acid-copper", 40.0)
    book.make_up("bath", 40.0)
    run = book.plate()
    world = book.world()
    assert loads_needed(world.tanks["bath"], [world.runs[run]], SCALE, METALS, 0.8) is None
    book.log("reading", run=run, values=[{"of": "deposit_mass", "value": 5.9, "unit": "g"}])
    assert "calibrate the supply first" in words_of(book)[0]


def test_nothing_is_said_of_other_entries():
    book = Book()
    book.bath()
    book.plate()
    assert words_of(book) == []
    book.read("bath", zinc=32.0)
    assert words_of(book) == []


# -- what a defect says of an additive -------------------------------------------------------------------------------------


def in_use(runs: int = 3) -> Book:
    book = Book()
    book.bath()
    for _ in range(runs):
        book.plate()
    return book


def brightener(book: Book) -> tuple[float, float]:
    return book.state().concentration("brightener")


def test_dull_parts_make_a_low_brightener_likelier_but_less_than_a_panel_does():
    plain, told, panel = in_use(), in_use(), in_use()
    plain.plate()
    told.plate(defect="dull")
    panel.plate()
    panel.reading(of="panel", word="dull", unit="verdict")
    assert brightener(panel)[0] < brightener(told)[0] < brightener(plain)[0]
    assert brightener(told)[1] < brightener(plain)[1]


def test_everyday_words_and_later_remarks_say_the_same():
    by_run, by_remark = in_use(), in_use()
    by_run.plate(defect="dull")
    run = by_remark.plate()
    by_remark.log("remark", run=run, text="no gloss at all", defect="Cloudy")
    assert brightener(by_remark)[0] == pytest.approx(brightener(by_run)[0], rel=1e-3)


def test_one_run_speaks_once_of_an_additive():
    book = in_use()
    run = book.plate(defect="dull")
    once = brightener(book)
    book.log("remark", run=run, text="and here a picture", defect="dull", photos=["a.jpg"])
    assert brightener(book)[0] == pytest.approx(once[0], rel=1e-4)


def test_a_late_remark_speaks_of_the_bath_as_it_was_then():
    """Dull on Monday, dosed on Tuesday, said on Wednesday: the dose stays, what was there before it is thought lower."""
    book = in_use()
    run = book.plate()
    before = brightener(book)[0]
    book.day(1).add("bath", "brightener", 20.0, "mL")
    dosed = brightener(book)[0]
    book.day(2).log("remark", run=run, text="were dull", defect="dull")
    after = brightener(book)[0]
    assert dosed - before == pytest.approx(0.5, abs=0.02)
    assert before - 0.3 < after - 0.5 < before - 0.01


def test_a_bath_made_up_anew_is_not_blamed_for_the_old_one():
    book = in_use()
    run = book.plate()
    book.log("removal", tank="bath", all=True)
    book.day(3).make_up("bath", 40.0)
    before = brightener(book)
    book.log("remark", run=run, text="were dull", defect="dull")
    assert brightener(book) == pytest.approx(before, rel=1e-3)


def test_where_the_additive_is_known_the_defect_has_another_cause():
    book = in_use()
    book.reading(of="brightener", value=1.1, unit="mL/L", spread=0.02)
    known = take(book.entries)
    book.plate(defect="dull")
    told = brightener(book)[0]
    plain = Book()
    plain.entries = [*book.entries[:-1]]
    plain.moment = book.moment
    assert known.tanks["bath"].concentration("brightener")[0] == pytest.approx(1.1, abs=0.02)
    plain.plate()
    assert told == pytest.approx(brightener(plain)[0], rel=0.005)
    assert not book.state().doubts


def test_what_names_no_additive_and_what_nobody_knows_change_nothing():
    plain = in_use()
    plain.plate()
    for word in ("rough", "purple at noon"):
        book = in_use()
        book.plate(defect=word)
        assert brightener(book) == pytest.approx(brightener(plain), rel=1e-12)
        assert not book.world().problems


def test_a_remark_without_a_defect_changes_nothing_at_all():
    book = in_use()
    before = take(book.entries)
    book.day(9).log("remark", tank="bath", text="foam")
    assert differences(before, take(book.entries)) == []


def test_many_dull_loads_do_not_pretend_to_be_many_measurements():
    """The eye errs the same way each time: twenty dull loads leave the additive no better known than the eye allows."""
    book = in_use()
    for _ in range(20):
        book.plate(defect="dull")
    value, sd = brightener(book)
    assert sd / value > 0.15
