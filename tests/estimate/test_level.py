"""The level mark: anodes, water and dumps move it for different reasons, and the books must tell them apart."""

from __future__ import annotations

import pytest

from bathkeeper.catalogue.loader import load
from bathkeeper.estimate.measure import displaced_l
from bathkeeper.estimate.state import Z95
from tests.estimate.helpers import TWO_POINT, Book, g_l, take

METALS = load().metals


def evaporated(book: Book) -> float:
    flows = book.state().flows
    return -sum(a.get("volume", 0.0) for cause, a in flows.items() if cause.startswith("evaporation"))


def test_lifting_zinc_lowers_the_mark_and_is_not_evaporation() -> None:
    """4 kg of zinc push aside 4000 / 7.14 g/cm3 = 0.56 L (density of zinc, CRC Handbook, memory)."""
    book = Book()
    book.bath(level_table=TWO_POINT)
    hung = displaced_l(book.state(), METALS).value
    book.anode("zinc-1", "lifted", mass_g=4000.0)
    lifted = displaced_l(book.state(), METALS).value
    assert hung - lifted == pytest.approx(0.560, abs=0.002)
    before = book.state()
    spent = evaporated(book)
    book.read("bath", "mm", level=400.0 + 10 * lifted)
    after = book.state()
    assert after.seen["level"].expected == pytest.approx(400.0 + 10 * lifted, abs=0.1)
    assert after.volume_l == pytest.approx(before.volume_l, abs=0.02)
    assert evaporated(book) == pytest.approx(spent, abs=0.001)
    assert after.flows.get("reading adjustments", {}).get("volume", 0.0) == pytest.approx(0.0, abs=0.02)


def test_a_mark_in_millimetres_goes_through_the_table() -> None:
    """Two slopes: 10 mm/L up to 30 L, 20 mm/L above; beyond the ends the nearest slope goes on."""
    table = [{"mm": 0.0, "volume_l": 0.0}, {"mm": 300.0, "volume_l": 30.0}, {"mm": 500.0, "volume_l": 40.0}]
    for litres, mm in ((20.0, 200.0), (35.0, 400.0), (41.0, 520.0)):
        book = Book()
        book.tank("rinse", "rinse", 1, "still-rinse", 20.0, level_table=table)
        book.make_up("rinse", litres)
        book.read("rinse", "mm", level=mm)
        state = book.state("rinse")
        assert state.seen["level"].expected == pytest.approx(mm, abs=0.1)
        assert not state.doubts


def test_a_mark_narrows_the_volume_by_its_own_spread() -> None:
    """3 mm at 10 mm/L is 0.3 L; make-up within 2 % of 40 L is 0.8 L: together 1/sqrt(1/0.3^2 + 1/0.8^2) = 0.281 L."""
    book = Book()
    book.bath(anodes=False, level_table=TWO_POINT)
    book.read("bath", "mm", level=400.0)
    state = book.state()
    assert Z95 * state.gauss.variance("volume") ** 0.5 == pytest.approx(0.281, abs=0.003)


def test_a_mark_read_in_litres_is_as_sure_as_a_mark_in_litres() -> None:
    """0.3 L, not the 3 of a mark in millimetres."""
    book = Book()
    book.bath(anodes=False)
    book.read("bath", "L", level=40.0)
    assert Z95 * book.state().gauss.variance("volume") ** 0.5 == pytest.approx(0.281, abs=0.003)


def test_a_mark_without_a_table_is_kept_and_not_used() -> None:
    book = Book()
    book.bath(anodes=False)
    book.read("bath", "mm", level=250.0)
    state = book.state()
    assert state.seen["level"].value == 250.0
    assert state.volume_l == pytest.approx(40.0, abs=0.001)


@pytest.mark.parametrize("unit", ["%", "g/L"])
def test_a_mark_in_a_unit_that_is_no_level_is_not_taken_for_millimetres(unit: str) -> None:
    book = Book()
    book.bath(anodes=False, level_table=TWO_POINT)
    book.reading(of="level", value=98.0, unit=unit, confirms=True)
    assert book.state().volume_l == pytest.approx(40.0, abs=0.01)


def test_a_top_up_is_water_and_nothing_else() -> None:
    book = Book()
    book.bath(anodes=False)
    zinc = book.state().gauss.value("mass:zinc")
    book.add("bath", "water", 2.0, "L")
    state = book.state()
    assert state.volume_l == pytest.approx(42.0, abs=0.01)
    assert state.gauss.value("mass:zinc") == pytest.approx(zinc)
    assert g_l(state, "zinc") == pytest.approx(33.0 * 40 / 42, rel=1e-3)
    assert state.flows["addition"] == {"volume": 2.0}
    assert state.counters.since_addition_ah == state.counters.charge_ah


def test_bailing_out_keeps_the_concentration_and_how_sure_it_is() -> None:
    """Half of it taken and water put in its place: half the concentration, and half its deviation but for the bucket's own."""
    book = Book()
    book.bath(anodes=False)
    value, deviation = book.state().concentration("zinc")
    book.log("removal", tank="bath", volume_l=20.0, to="drum")
    after_value, after_deviation = book.state().concentration("zinc")
    assert after_value == pytest.approx(value, rel=1e-4)
    assert after_deviation == pytest.approx(deviation, rel=0.1)
    book.add("bath", "water", 20.0, "L")
    thin, thin_deviation = book.state().concentration("zinc")
    assert thin == pytest.approx(value / 2, rel=1e-3)
    assert thin_deviation < 0.8 * deviation


def test_bailing_out_does_not_move_the_ph() -> None:
    """What acid the bath lacks leaves with the solution."""
    book = Book()
    book.bath()
    for day in range(1, 21):
        book.day(day).plate(20.0)
    before = book.state()
    used = before.gauss.value("acid") / before.volume_l
    book.log("removal", tank="bath", volume_l=20.0, to="drum")
    after = book.state()
    assert after.gauss.value("acid") / after.volume_l == pytest.approx(used, rel=0.01)


def test_acid_in_a_make_up_is_where_the_ph_starts_from() -> None:
    book = Book()
    book.tank("bath", "plate", 5, "zinc-nickel-chloride-potassium", 40.0)
    book.make_up("bath", 40.0, {}, reagents=[{"reagent": "hydrochloric acid 37%", "amount": 500.0, "unit": "mL"}])
    book.read("bath", "pH", ph=5.4)
    assert book.state().seen["ph"].expected == pytest.approx(5.4, abs=0.01)


def test_base_beyond_the_acid_leaves_none_rather_than_less_than_none() -> None:
    book = Book()
    book.tank("pickle", "pickle", 4, "bisulfate-pickle")
    book.make_up("pickle", 20.0, {"free acid": 10.0})
    book.add("pickle", "sodium hydroxide", 500.0)
    assert take(book.entries).tanks["pickle"].gauss.value("mass:free acid") == 0.0


def test_a_make_up_upon_a_make_up_is_a_bath_replaced_without_a_record() -> None:
    book = Book()
    book.bath()
    book.plate()
    held = book.state().gauss.value("mass:zinc")
    book.make_up("bath", 38.0, {"zinc": 30.0})
    world = take(book.entries)
    state = world.tanks["bath"]
    assert world.places["replaced without a record: bath"]["mass:zinc"] == pytest.approx(held, rel=1e-5)
    assert len(state.lives) == 1
    assert state.lives[0].counters.runs == 1
    assert state.counters.runs == 0
    assert state.volume_l == pytest.approx(38.0)
    assert g_l(state, "zinc") == pytest.approx(30.0)
    assert state.anodes["zinc-1"].hung
    assert state.gauss.value("anode:zinc-1") > 3900


def test_a_dump_ends_the_life_and_keeps_what_was_learned() -> None:
    book = Book()
    book.bath()
    for day in range(1, 41):
        book.day(day).plate(5.0)
    book.anode("nickel-1", "weighed", mass_g=1476.0, brushed=True)
    learned = book.state().parameter("anode_share_nickel").value
    book.log("removal", tank="bath", all=True, to="drum")
    empty = book.state()
    assert not empty.alive
    assert empty.volume_l == 0.0
    book.make_up("bath", 40.0)
    again = book.state()
    assert again.parameter("anode_share_nickel").value == pytest.approx(learned)
    assert again.counters.charge_ah == 0.0


def test_taking_nearly_all_is_a_dump() -> None:
    book = Book()
    book.bath()
    book.log("removal", tank="bath", volume_l=39.8, to="drum")
    world = take(book.entries)
    assert not world.tanks["bath"].alive
    assert world.containers["drum"].held()["volume"] == pytest.approx(40.0, abs=0.01)
