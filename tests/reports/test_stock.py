"""Stock and cost: what is left, what was used, what it cost, from the entries alone."""

from __future__ import annotations

import pytest

from bathkeeper.reports.making import make
from bathkeeper.reports.model import Corrected, Facts
from tests.reports.shops import HOSTILE, NEVER, NOW, book, column, in_every_form, sample, table, tanks, text


def shop_with_stock(tmp_path):
    return book(tmp_path, [
        *tanks(),
        {"kind": "stock", "reagent": "nickel chloride hexahydrate", "action": "bought", "amount": 1000.0, "unit": "g",
         "price": 40.0, "lot": "A1"},
        {"kind": "addition", "tank": "electrolyte", "items": [
            {"reagent": "nickel chloride hexahydrate", "amount": 250.0, "unit": "g"}]},
        {"kind": "stock", "reagent": HOSTILE, "action": "bought", "amount": 5.0, "unit": "g"},
    ], currency="EUR")  # fmt: skip


def test_left_used_and_cost(tmp_path):
    made = make(shop_with_stock(tmp_path), "stock", until=NOW, made_at=NOW, exact=True)
    shelf = {row[0]: row for row in table(made, "shelf").rows}
    nickel = next(row for name, row in shelf.items() if "ickel chloride" in name)
    assert nickel[2].value == pytest.approx(750) and nickel[4] == 250
    cost = table(made, "cost")
    assert cost.total == ("Total", pytest.approx(10.0))  # a quarter of 40
    facts = {f.label: f.value for p in made.sections if isinstance(p, Facts) for f in p.pairs}
    assert facts["Spent"] == pytest.approx(10.0) and facts["Runs"] == 0
    assert sorted(column(table(made, "lots"), "left")) == pytest.approx([5, 750])


def test_hostile_names_an_empty_book_and_words(tmp_path):
    made = in_every_form(make(shop_with_stock(tmp_path), "stock", until=NOW, made_at=NOW))
    assert "\x1b" not in made["text"]
    (tmp_path / "e").mkdir()
    told = text(make(book(tmp_path / "e"), "stock", until=NOW, made_at=NOW))
    assert "Nothing was bought, counted or used" in told
    assert not [w for w in NEVER if w in told.casefold()]


def test_waste_that_left_is_in_it_and_corrections_too(tmp_path):
    made = make(sample(), "stock", until=NOW, made_at=NOW)
    assert column(table(made, "waste"), "to") == ["Quayside waste desk"]
    shop = shop_with_stock(tmp_path)
    shop.correct(next(e.id for e in shop.entries() if e.kind == "addition"), "never put in", None, at=NOW)
    mended = [p for p in make(shop, "stock", until=NOW, made_at=NOW).sections if isinstance(p, Corrected)]
    assert len(mended) == 1 and mended[0].stands is None
