"""What came about in a month and what stands there: the two numbers that the size of a generator hangs on."""

from __future__ import annotations

from datetime import timedelta

import pytest

from bathkeeper.estimate.fold import at_moment
from bathkeeper.waste.generated import generated_kg, on_site_kg, over_since, size_of_generator
from tests.estimate.helpers import START, Book, take


def told() -> Book:
    """Two dumps in January, one in February; the first drum moved into another, then handed over; rags in a bin."""
    book = Book()
    book.tank("pickle", "pickle", 1, "bisulfate-pickle")
    for day, drum in ((1, "drum-1"), (9, "drum-2"), (40, "drum-2")):
        book.day(day)
        book.make_up("pickle", 20.0, {"free acid": 100.0})
        book.log("removal", tank="pickle", all=True, to=drum)
    book.log("container", container="bin", action="put in", what="rags", mass_kg=1.5)
    book.log("container", container="drum-1", action="moved", all=True, to="drum-3")
    book.log("container", container="drum-3", action="handed over", all=True, to="the point", reference="H-1")
    return book


def test_months_count_what_came_about_once_and_what_left_too():
    now = START + timedelta(days=60)
    containers = at_moment(take(told().entries), now).containers.values()
    months = generated_kg(containers, now)
    assert months["2026-01"] == pytest.approx(20 * 1.08 + 20 * 1.08, rel=0.01)
    assert months["2026-02"] == pytest.approx(20 * 1.08 + 1.5, rel=0.01)
    assert on_site_kg(containers) == pytest.approx(2 * 20 * 1.08 + 1.5, rel=0.01)
    assert size_of_generator(containers, now).size == "VSQG"
    assert generated_kg(containers, now + timedelta(days=400)) == {}


def dumped() -> Book:
    book = Book()
    book.tank("pickle", "pickle", 1, "bisulfate-pickle")
    book.make_up("pickle", 20.0, {"free acid": 100.0})
    book.log("removal", tank="pickle", all=True, to="drum-1")
    return book


def of_january(book: Book) -> float:
    now = START + timedelta(days=60)
    return generated_kg(at_moment(take(book.entries), now).containers.values(), now)["2026-01"]


@pytest.mark.parametrize("amount", [{"all": True}, {"volume_l": 8.0}, {"mass_kg": 5.0}])
def test_handing_over_changes_nothing_of_what_a_month_made(amount: dict[str, object]):
    book = dumped()
    before = of_january(book)
    book.day(20)
    book.log("container", container="drum-1", action="handed over", to="the point", reference="H-1", **amount)
    assert of_january(book) == pytest.approx(before)


def test_a_scale_stands_for_the_estimate_of_what_went():
    book = dumped()
    before = of_january(book)
    book.log("container", container="drum-1", action="handed over", volume_l=5.0, mass_kg=6.0, to="the point", reference="H-1")
    assert of_january(book) == pytest.approx(0.75 * before + 6.0)
    book.log("container", container="drum-1", action="handed over", all=True, mass_kg=17.0, to="the point", reference="H-2")
    assert of_january(book) == pytest.approx(6.0 + 17.0)


def test_a_tested_density_tells_what_came_weighed():
    book = dumped()
    value = {"of": "density", "unit": "g/cm3", "value": 1.2}
    book.log("container", container="drum-1", action="tested", values=[value])
    assert of_january(book) == pytest.approx(24.0, abs=0.001)
    book.log("container", container="drum-1", action="handed over", all=True, to="the point", reference="H-1")
    assert of_january(book) == pytest.approx(24.0, abs=0.001)


def monthly(months: int, kg: float = 86.0) -> Book:
    """A drum of sludge each month, on the 15th day of each thirty."""
    book = Book()
    for month in range(months):
        book.day(30 * month + 14)
        book.log("container", container=f"drum-{month + 1}", action="put in", what="sludge", mass_kg=kg)
    return book


def seen(book: Book, days: float) -> list:
    """The containers as the book had them by then."""
    now = START + timedelta(days=days)
    return list(at_moment(take([e for e in book.entries if e.at <= now]), now).containers.values())


def day(number: float):
    return START + timedelta(days=number)


def test_the_day_on_which_a_thousand_kilograms_were_passed():
    """40 CFR 262.14(a)(4): 1,000 kg or more on site. 86 kg a month are 946 kg after eleven months and 1,032 after twelve."""
    book = monthly(13)
    assert over_since(seen(book, 30 * 11 + 13), 1000) is None
    passed = over_since(seen(book, 375), 1000)
    assert passed is not None and abs(passed - day(30 * 11 + 14)) < timedelta(hours=1)
    size = size_of_generator(seen(book, 375), day(375))
    assert size.size == "VSQG" and size.clock and size.clock_since == passed and f"{passed:%Y-%m-%d}" in size.why


def test_what_was_handed_over_begins_it_anew_and_moves_do_not():
    book = monthly(13)
    book.day(380)
    book.log("container", container="drum-1", action="moved", all=True, to="drum-20")
    book.day(390)
    gone = {"action": "handed over", "all": True, "mass_kg": 86.0, "to": "the point", "reference": "H"}
    for drum in (2, 3, 4):
        book.log("container", container=f"drum-{drum}", **gone)
    assert over_since(seen(book, 385), 1000) == over_since(seen(book, 375), 1000)
    assert over_since(seen(book, 391), 1000) is None  # 860 kg
    book.day(400)
    book.log("container", container="drum-30", action="put in", what="sludge", mass_kg=139.0)
    assert over_since(seen(book, 401), 1000) is None
    book.log("container", container="drum-30", action="put in", what="sludge", mass_kg=1.0)
    again = over_since(seen(book, 402), 1000)
    assert again is not None and abs(again - day(400)) < timedelta(hours=1)


def test_a_hand_over_that_was_not_weighed_counts_by_estimate():
    """Two pickles of 21.6 kg each stood there; one went unweighed before more came."""
    book = told()
    now = START + timedelta(days=60)
    containers = list(at_moment(take(book.entries), now).containers.values())
    # 44.7 kg now; without the last 23.1 kg of day 40 only 21.6, with the drum that went no more than 43.2
    passed = over_since(containers, 44.0)
    assert passed is not None and passed.date() == (START + timedelta(days=40)).date()
    assert over_since(containers, 20.0) is not None and over_since(containers, 1e4) is None
    assert over_since([], 0.0) is None
