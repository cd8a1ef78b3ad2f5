"""A drum that was acid, was treated by the book and then tested: what the plan, the codes and the pairs say of it then."""

from __future__ import annotations

import pytest

from bathkeeper.catalogue.loader import load as catalogue
from bathkeeper.estimate.fold import at_moment
from bathkeeper.ledger.second_road import second_road
from bathkeeper.waste.base_need import BaseNeed, base_need
from bathkeeper.waste.by_test import no_longer, taken_back
from bathkeeper.waste.candidates import candidates
from bathkeeper.waste.meeting_streams import meeting_of, stream_groups
from bathkeeper.waste.picking import rule_set_for
from bathkeeper.waste.stream import Stream
from bathkeeper.waste.streams import stream_of
from tests.estimate.helpers import Book, take

SODA = {"reagent": "sodium carbonate", "amount": 800.0, "unit": "g"}
LIME = {"reagent": "calcium hydroxide", "amount": 600.0, "unit": "g"}


def dumped(*items: dict[str, object], ph: float | None = None) -> Book:
    book = Book()
    book.tank("pickle", "pickle", 1, "bisulfate-pickle")
    book.make_up("pickle", 20.0, {"free acid": 100.0})
    book.day(1)
    book.log("removal", tank="pickle", all=True, to="drum-1")
    book.day(2)
    if items:
        book.log("container", container="drum-1", action="treated", treatment="neutralised", items=list(items))
    if ph is not None:
        book.log("container", container="drum-1", action="tested", values=[{"of": "ph", "unit": "pH", "value": ph}])
    return book


def stream(book: Book) -> Stream:
    return stream_of(take(book.entries).containers["drum-1"])


def need(book: Book) -> BaseNeed:
    world = at_moment(take(book.entries), book.moment)
    road = second_road(world, world.containers["drum-1"], book.entries)
    return base_need(
        stream(book), acid_made_up_mol=road.made_up, acid_dragged_out_mol=road.dragged_out, base_put_in_mol=road.put_in
    )


@pytest.mark.parametrize("items", [(), (SODA,), (LIME,), (SODA, LIME)])
def test_both_roads_count_the_base_that_was_logged_and_go_on_meeting(items: tuple[dict[str, object], ...]):
    """800 g of soda are 15.1 mol of base, 600 g of lime 16.2 (IUPAC), against 16.7 mol of bisulfate."""
    found = need(dumped(*items))
    road = found.second_road
    assert road is not None and road.agree
    assert road.difference.value == pytest.approx(0.0, abs=0.1)
    put_in = 15.1 * (SODA in items) + 16.2 * (LIME in items)
    assert found.equivalents.value == pytest.approx(16.66 - put_in, abs=0.6)
    assert (road.put_in.value if road.put_in is not None else 0.0) == pytest.approx(put_in, abs=0.6)


def test_a_drum_of_which_some_is_gone_has_no_second_road():
    book = dumped()
    book.log("container", container="drum-1", action="handed over", volume_l=15.0, to="the point", reference="H-1")
    assert need(book).second_road is None


@pytest.mark.parametrize(("ph", "gone"), [(1.0, False), (3.9, False), (4.0, True), (8.8, True), (10.0, True), (12.0, False)])
def test_a_test_between_4_and_10_says_that_it_is_neither(ph: float, gone: bool):
    assert bool(no_longer(stream(dumped(SODA, LIME, ph=ph)))) == gone


def test_a_test_from_before_the_treatment_says_nothing():
    book = dumped(ph=8.8)
    assert no_longer(stream(book))
    book.log("container", container="drum-1", action="treated", treatment="neutralised", items=[SODA])
    assert not no_longer(stream(book))


def test_codes_of_acids_become_questions_that_say_both():
    rules = rule_set_for("England", None)
    before = {c.code: c for c in candidates(stream(dumped(SODA, LIME)), rules)}
    after = {c.code: c for c in candidates(stream(dumped(SODA, LIME, ph=8.8)), rules)}
    assert before["11 01 05*"].strength == "first"
    assert after["11 01 05*"].strength == "question"
    assert "by its last test (pH 8.8) it is not" in after["11 01 05*"].note
    assert taken_back(stream(dumped(SODA, LIME, ph=8.8)), "alkali").startswith("by what went in it was alkaline")


def bleach() -> Stream:
    book = Book()
    book.log("container", container="drum-9", action="put in", what="chemicals", volume_l=1.0)
    book.log(
        "container", container="drum-9", action="tested", values=[{"of": "sodium hypochlorite", "unit": "g/L", "value": 50.0}]
    )
    return stream_of(take(book.entries).containers["drum-9"])


def gives(book: Book) -> list[str]:
    one, two = stream(book), bleach()
    found = meeting_of(one, two, stream_groups(one, catalogue()), stream_groups(two, catalogue()))
    return [f"{k.gives}: {k.text}" for k in found if k.verdict == "never"]


def test_what_must_not_meet_goes_by_the_test_where_that_is_safe():
    assert any("chlorine" in g for g in gives(dumped(SODA)))
    assert not any("chlorine" in g for g in gives(dumped(SODA, LIME, ph=8.8)))
    kept = [g for g in gives(dumped(SODA, LIME, ph=5.5)) if "chlorine" in g]
    assert kept and "pH 5.5) drum-1 is hardly acid any more" in kept[0]


def test_soda_that_is_left_over_foams_with_acid():
    assert "carbonate" in stream_groups(stream(dumped(SODA, SODA, ph=8.8)), catalogue())
    assert "carbonate" not in stream_groups(stream(dumped(SODA, ph=6.0)), catalogue())


def test_a_test_from_before_something_was_moved_in_says_nothing():
    book = dumped()
    book.day(3)
    book.log("container", container="can-3", action="put in", what="rinse water", volume_l=5.0)
    book.log("container", container="can-3", action="tested", values=[{"of": "ph", "unit": "pH", "value": 7.0}])
    here = take(book.entries).containers
    assert stream_of(here["can-3"]).ph_stands
    book.day(4)
    book.log("container", container="drum-1", action="moved", volume_l=5.0, to="can-3")
    moved = stream_of(take(book.entries).containers["can-3"])
    assert not moved.ph_stands and not no_longer(moved) and "acid" in stream_groups(moved, catalogue())
