"""The shelf: bought + counted - used, lot by lot; a count keeps its drift; costs are laid on what was used."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bathkeeper.accounts.costs import cost, reorder
from bathkeeper.accounts.shelf import shelf
from bathkeeper.catalogue.loader import load
from bathkeeper.entries import AnyEntry, parse

START = datetime(2026, 1, 1, 8, tzinfo=UTC)


def book(*raws: dict[str, Any]) -> list[AnyEntry]:
    """Entries a day apart, from the first of January."""
    return [parse({"id": f"entry-{n:04d}", "at": START + timedelta(days=n), **raw}) for n, raw in enumerate(raws)]


def bought(amount: float, **more: Any) -> dict[str, Any]:
    return {"kind": "stock", "reagent": "zinc chloride", "action": "bought", "amount": amount, "unit": "g", **more}


def used(amount: float, **more: Any) -> dict[str, Any]:
    item = {"reagent": "zinc chloride", "amount": amount, "unit": "g", **more}
    return {"kind": "addition", "tank": "electrolyte", "items": [item]}


def counted(amount: float, **more: Any) -> dict[str, Any]:
    return {"kind": "stock", "reagent": "zinc chloride", "action": "counted", "amount": amount, "unit": "g", **more}


def test_bought_less_used_is_left() -> None:
    one = shelf(book(bought(1000.0), used(120.0), used(80.0)), load())["zinc chloride"]
    assert one.amount is not None
    assert one.amount.value == pytest.approx(800.0)
    assert one.amount.low < 800.0 < one.amount.high
    assert one.used == pytest.approx(200.0)


def test_a_count_is_kept_with_its_drift_and_holds_from_then_on() -> None:
    one = shelf(book(bought(1000.0), used(120.0), counted(850.0, spread=5.0), used(50.0)), load())["zinc chloride"]
    assert one.counts[0].expected == pytest.approx(880.0)
    assert one.counts[0].drift == pytest.approx(-30.0)
    assert one.amount is not None and one.amount.value == pytest.approx(800.0)


def test_what_was_never_bought_nor_counted_is_unknown_not_negative() -> None:
    one = shelf(book(used(120.0)), load())["zinc chloride"]
    assert one.amount is None
    assert one.used == pytest.approx(120.0)


def test_more_used_than_there_was_is_told_and_nothing_goes_below_zero() -> None:
    one = shelf(book(bought(100.0), used(160.0)), load())["zinc chloride"]
    assert one.amount is not None and one.amount.value == 0.0
    assert [round(amount, 6) for *_, amount in one.short] == [60.0]


def test_the_oldest_lot_goes_first_unless_another_is_named() -> None:
    first, second = bought(500.0, lot="A", price=10.0), bought(500.0, lot="B", price=20.0)
    lots = shelf(book(first, second, used(200.0)), load())["zinc chloride"].lots
    assert [(lot.name, lot.left) for lot in lots] == [("A", 300.0), ("B", 500.0)]
    lots = shelf(book(first, second, used(200.0, lot="B")), load())["zinc chloride"].lots
    assert [(lot.name, lot.left) for lot in lots] == [("A", 500.0), ("B", 300.0)]


def test_one_lot_counted_puts_only_that_lot_right() -> None:
    entries = book(bought(500.0, lot="A"), bought(500.0, lot="B"), counted(450.0, lot="B"))
    one = shelf(entries, load())["zinc chloride"]
    assert one.amount is not None and one.amount.value == pytest.approx(950.0)
    assert [lot.left for lot in one.lots] == [500.0, 450.0]


def test_liquids_are_kept_in_millilitres_however_they_were_bought() -> None:
    acid = {"kind": "stock", "reagent": "hydrochloric acid 37%", "action": "bought", "unit": "L", "amount": 1.0}
    known = load()
    names = [n for n in known.reagents if n.startswith("hydrochloric acid")]
    one = shelf(book({**acid, "reagent": names[0]}), known)[names[0]]
    assert one.unit == "mL"
    assert one.amount is not None and one.amount.value == pytest.approx(1000.0)
    density = known.reagent(names[0]).density_g_ml
    assert density is not None
    weighed = shelf(book({**acid, "reagent": names[0], "amount": 1000.0, "unit": "g"}), known)[names[0]]
    assert weighed.amount is not None and weighed.amount.value == pytest.approx(1000.0 / density)


def test_reordering_speaks_before_the_month_is_over() -> None:
    entries = book(bought(1000.0), *[used(30.0) for _ in range(20)])
    at = entries[-1].at
    (one,) = reorder(shelf(entries, load()), at)
    assert one.left.value == pytest.approx(400.0)
    assert one.per_day == pytest.approx(600.0 / 19, rel=0.06)
    assert one.days_left == pytest.approx(one.left.value / one.per_day)
    assert one.by == at
    assert entries[-1].id in one.because.entries


def test_costs_are_those_of_what_was_used_with_anodes_as_they_dissolve() -> None:
    run = {
        "kind": "run",
        "parts": [{"description": "brackets", "area_dm2": 4.0}],
        "steps": [{"tank": "electrolyte", "charge": {"charge_ah": 5.0}}],
    }
    anode = {
        "kind": "stock",
        "reagent": "nickel",
        "what": "anode",
        "action": "bought",
        "amount": 2000.0,
        "unit": "g",
        "price": 80.0,
    }
    entries = book(bought(1000.0, price=25.0), anode, used(100.0), run, run)
    told = cost(entries, shelf(entries, load()), {"nickel": 50.0, "zinc": 10.0}, START - timedelta(days=1), entries[-1].at)
    assert told.by_item == pytest.approx({"zinc chloride": 2.5, "nickel anode": 2.0})
    assert told.unpriced == ("zinc anode",)
    assert told.per_run == pytest.approx(2.25)
    assert told.per_dm2 == pytest.approx(4.5 / 8)


@given(st.lists(st.tuples(st.sampled_from(["bought", "used", "counted"]), st.floats(0.5, 5000)), max_size=12))
def test_left_and_lots_stay_one(moves: list[tuple[str, float]]) -> None:
    """What the lots hold never exceeds the shelf, nothing goes below zero, and totals add up."""
    makers = {"bought": bought, "used": used, "counted": counted}
    one = shelf(book(*[makers[kind](amount) for kind, amount in moves]), load()).get("zinc chloride")
    if one is None:
        assert not moves
        return
    assert one.used == pytest.approx(sum(a for k, a in moves if k == "used"))
    assert one.bought == pytest.approx(sum(a for k, a in moves if k == "bought"))
    assert all(lot.left >= -1e-9 for lot in one.lots)
    if one.amount is not None:
        assert one.amount.low >= 0
        assert sum(lot.left for lot in one.lots) <= one.amount.value + 1e-6
