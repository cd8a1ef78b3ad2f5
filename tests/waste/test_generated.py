"""What came about in a month and what stands there: the two numbers that the size of a generator hangs on."""

from __future__ import annotations

from datetime import timedelta

import pytest

from bathkeeper.estimate.fold import at_moment
from bathkeeper.waste.generated import generated_kg, on_site_kg, size_of_generator
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
