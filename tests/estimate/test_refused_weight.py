"""Weights of what is handed over, refused and moved: a month made the same whatever becomes of a drum."""

from __future__ import annotations

import pytest

from bathkeeper.estimate.containers import ContainerState
from bathkeeper.waste.generated import on_site_kg, over_since, size_of_generator
from tests.estimate.helpers import Book, take

REFUSED = {"refused": "no room"}


def near(kg: float | list[float]) -> object:
    """To a gram: a little evaporates before the tank is emptied."""
    return pytest.approx(kg, abs=0.001)


def dense() -> Book:
    """20 L of a pickle at 1.2 g/mL, which makes 24 kg."""
    book = Book()
    book.tank("pickle", "pickle", 1, "bisulfate-pickle")
    book.make_up("pickle", 20.0, {"free acid": 100.0})
    book.log("removal", tank="pickle", all=True, to="drum-1")
    book.log("container", container="drum-1", action="tested", values=[{"of": "density", "unit": "g/cm3", "value": 1.2}])
    return book


def held(book: Book, name: str = "drum-1") -> ContainerState:
    return take(book.entries).containers[name]


def hand(book: Book, reference: str = "H-1", container: str = "drum-1", **more: object) -> None:
    book.log("container", container=container, action="handed over", to="the point", reference=reference, **more)


def refuse(book: Book, reference: str = "H-1", container: str = "drum-1") -> None:
    book.log("container", container=container, action="handed over", reference=reference, papers=REFUSED)


def made_kg(book: Book) -> float:
    return sum(f.weighs_kg for c in take(book.entries).containers.values() for f in (*c.past, *c.fills) if not f.container)


@pytest.mark.parametrize("amount", [{"all": True}, {"volume_l": 8.0}, {"mass_kg": 9.6}, {"all": True, "mass_kg": 23.0}])
def test_a_load_refused_there_and_then_changes_no_weight(amount: dict[str, object]) -> None:
    book = dense()
    before = held(book)
    hand(book, papers=REFUSED, **amount)
    after = held(book)
    assert (after.fills, after.beyond_kg, after.mass_kg) == (before.fills, before.beyond_kg, before.mass_kg)


@pytest.mark.parametrize("amount", [{"all": True}, {"volume_l": 8.0}, {"mass_kg": 9.6}])
def test_a_load_that_comes_back_weighs_what_it_weighed(amount: dict[str, object]) -> None:
    book = dense()
    hand(book, **amount)
    refuse(book)
    back = held(book)
    assert back.mass_kg == pytest.approx(24.0, abs=0.01) and back.density_g_ml == pytest.approx(1.2)
    assert [f.left_kg for f in back.fills] == pytest.approx([24.0], abs=0.01) and not back.past
    assert made_kg(book) == pytest.approx(24.0, abs=0.01)


@pytest.mark.parametrize(
    ("amount", "weighs"), [({"all": True, "mass_kg": 23.0}, 23.0), ({"volume_l": 10.0, "mass_kg": 13.0}, 25.0)]
)
def test_a_scale_is_believed_of_a_load_that_comes_back(amount: dict[str, object], weighs: float) -> None:
    book = dense()
    hand(book, **amount)
    assert made_kg(book) == near(weighs)
    refuse(book)
    assert made_kg(book) == near(weighs) and held(book).mass_kg == near(weighs)
    assert held(book).fills[0].left_kg == near(weighs)
    hand(book, "H-2", all=True, mass_kg=22.5)
    assert made_kg(book) == near(22.5)


def test_solids_that_come_back_weigh_what_the_scale_said() -> None:
    book = Book()
    book.log("container", container="drum-1", action="put in", what="sludge", mass_kg=80.0)
    hand(book, all=True, mass_kg=86.0)
    refuse(book)
    assert held(book).mass_kg == held(book).solids_kg == pytest.approx(86.0)
    hand(book, "H-2", all=True, mass_kg=86.0)
    assert made_kg(book) == pytest.approx(86.0)


def test_a_part_that_comes_back_to_what_was_filled_since() -> None:
    book = dense()
    hand(book, all=True)
    book.log("container", container="drum-1", action="put in", what="sludge", mass_kg=5.0)
    refuse(book)
    assert held(book).mass_kg == near(29.0) and [f.left_kg for f in held(book).fills] == near([24.0, 5.0])
    assert made_kg(book) == near(29.0)


def test_what_travels_carries_its_weight_and_its_density() -> None:
    book = dense()
    book.log("container", container="drum-1", action="put in", what="sludge", mass_kg=6.0)
    book.log("container", container="drum-1", action="moved", volume_l=5.0, to="can-2")
    drum, can = held(book), held(book, "can-2")
    assert [f.weighs_kg for f in can.fills] == near([6.0, 1.5]) and can.mass_kg == near(7.5)
    assert [f.left_kg for f in drum.fills] == near([18.0, 4.5]) and can.density_g_ml == pytest.approx(1.2)
    book.log("container", container="drum-1", action="moved", all=True, to="can-2")
    assert [f.left_kg for f in held(book, "can-2").fills] == near([24.0, 6.0])
    assert len(held(book, "can-2").fills) == 2 and made_kg(book) == near(30.0)
    hand(book, container="can-2", all=True)
    refuse(book, container="can-2")
    assert made_kg(book) == near(30.0) and held(book, "can-2").mass_kg == near(30.0)


def test_chemicals_by_name_weigh_by_their_density_or_as_water() -> None:
    book = Book()
    items = [
        {"reagent": "hydrogen peroxide", "amount": 2.0, "unit": "L"},
        {"reagent": "old cleaner", "amount": 1.0, "unit": "L"},
        {"reagent": "sodium carbonate", "amount": 500.0, "unit": "g"},
        {"reagent": "something grey", "amount": 250.0, "unit": "g"},
    ]
    book.log("container", container="can-1", action="put in", what="chemicals", items=items)
    weights = {f.name: f.weighs_kg for f in held(book, "can-1").fills}
    assert weights["old cleaner"] == 1.0 and weights["something grey"] == 0.25
    assert weights["sodium carbonate"] == pytest.approx(0.5)
    assert held(book, "can-1").mass_kg == pytest.approx(sum(weights.values()))


def test_the_day_of_a_full_site_knows_what_treatments_and_refusals_did() -> None:
    book = Book()
    book.log("container", container="drum-1", action="put in", what="bath", volume_l=900.0)
    book.day(10)
    lime = [{"reagent": "calcium hydroxide", "amount": 60_000.0, "unit": "g"}]
    book.log("container", container="drum-1", action="treated", treatment="neutralised", items=lime)
    book.day(20)
    book.log("container", container="drum-2", action="put in", what="sludge", mass_kg=50.0)
    every = list(take(book.entries).containers.values())
    assert on_site_kg(every) == pytest.approx(1010.0, abs=0.5)
    passed = over_since(every, 1000.0)
    assert passed is not None and passed == take(book.entries).containers["drum-2"].since
    assert over_since(every, 955.0) == book.entries[1].at
    book.day(30)
    hand(book, container="drum-2", all=True, papers=REFUSED)
    assert over_since(list(take(book.entries).containers.values()), 1000.0) == passed
    size = size_of_generator(take(book.entries).containers.values(), book.moment)
    hand(book, "H-2", container="drum-1", all=True)
    book.day(40)
    refuse(book, "H-2")
    again = list(take(book.entries).containers.values())
    assert over_since(again, 1000.0) == book.entries[-1].at  # it stood elsewhere in between
    assert size_of_generator(again, book.moment).size == size.size
