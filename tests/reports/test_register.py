"""The waste register: both sides balance, moves add up, losses are told where they arose, corrections are never hidden."""

from __future__ import annotations

import json
from datetime import timedelta

import pytest

from bathkeeper.ledger import Ledger
from bathkeeper.reports.making import make
from bathkeeper.reports.model import Corrected
from tests.reports.shops import HOSTILE, NEVER, NOW, START, book, column, in_every_form, sample, table, tanks, text


@pytest.fixture(scope="module")
def whole():
    return make(sample(), "register", until=NOW, made_at=NOW, exact=True)


def test_both_sides_of_the_litres_add_up_to_the_account(whole):
    litres = table(whole, "litres")
    came, went = (sum(v for v in column(litres, key) if v is not None) for key in ("came", "went"))
    account = Ledger(sample()).account(until=NOW)
    assert came == pytest.approx(went, abs=1e-6)
    assert litres.total[1:] == pytest.approx((came, went))
    assert came == pytest.approx(account.put_in_l, abs=1e-6)  # a whole book begins with nothing


def test_a_period_carries_over_what_stood_there():
    since = NOW - timedelta(days=60)
    litres = table(make(sample(), "register", since=since, until=NOW, made_at=NOW, exact=True), "litres")
    came, went = (sum(v for v in column(litres, key) if v is not None) for key in ("came", "went"))
    assert came == pytest.approx(went, abs=1e-6)
    told = dict(zip(column(litres, "line"), litres.rows, strict=True))
    before = sample().at(since)
    assert told["stood in tanks at the beginning"][1] == pytest.approx(sum(t.volume_l for t in before.tanks.values()))
    assert told["stands in containers at the end"][2] == pytest.approx(
        sum(c.volume_l for c in sample().at(NOW).containers.values())
    )


def test_metals_come_and_go_to_the_same_total(whole):
    came, went = table(whole, "metals_came").total, table(whole, "metals_went").total
    assert came[1:] == pytest.approx(went[1:], abs=1e-6)
    assert {"zinc", "nickel", "chromium", "iron"} <= {c.title for c in table(whole, "metals_came").columns}


def test_moves_add_up_to_what_stands_in_the_containers(whole):
    moves = table(whole, "moves")
    held: dict[str, float] = {}
    rows = zip(column(moves, "what"), column(moves, "from"), column(moves, "to"), column(moves, "litres"), strict=True)
    for what, source, to, litres in rows:
        if litres is not None:
            held[to] = held.get(to, 0.0) + litres.value
            if what in ("handed over", "moved"):
                held[source] = held.get(source, 0.0) - litres.value
    for name, state in sample().at(NOW).containers.items():
        assert held.get(name, 0.0) == pytest.approx(state.volume_l, abs=1e-6), name
    # every entry of waste has its row
    every = [e for e in sample().entries(at=NOW) if e.kind == "removal" or (e.kind == "container" and e.action != "checked")]
    assert {e.id for e in every} == set(column(moves, "entry"))


def test_partial_moves_hand_overs_and_treatments_add_up_too(tmp_path):
    shop = book(tmp_path, [
        *tanks(),
        {"kind": "removal", "tank": "pickle", "volume_l": 12.0, "to": "a"},
        {"kind": "removal", "tank": "electrolyte", "volume_l": 3.0, "to": "spill"},
        {"kind": "removal", "tank": "electrolyte", "volume_l": 1.0},
        {"kind": "container", "container": "a", "action": "moved", "volume_l": 4.0, "to": "b"},
        {"kind": "container", "container": "a", "action": "handed over", "volume_l": 2.0, "to": "desk", "mass_kg": 2.2},
        {"kind": "container", "container": "b", "action": "moved", "volume_l": 1.0, "to": "pickle"},
        {"kind": "container", "container": "a", "action": "treated", "treatment": "neutralised", "items": [
            {"reagent": "sodium hydroxide", "amount": 50.0, "unit": "g"}, {"reagent": "water", "amount": 1.0, "unit": "L"}]},
        {"kind": "container", "container": "b", "action": "put in", "what": "bath", "volume_l": 2.0},
        {"kind": "container", "container": "b", "action": "handed over", "all": True, "to": "desk"},
    ])  # fmt: skip
    made = make(shop, "register", until=NOW, made_at=NOW, exact=True)
    held, (moves, litres) = {}, (table(made, "moves"), table(made, "litres"))
    for row in moves.rows:
        what, source, to, amount = row[2:6]
        held[to] = held.get(to, 0.0) + (amount.value if amount is not None else 0.0)
        if what in ("handed over", "moved"):
            held[source] = held.get(source, 0.0) - amount.value
    world = shop.at(NOW)
    for name in ("a", "b"):
        assert held[name] == pytest.approx(world.containers[name].volume_l, abs=1e-6)
    told = {row[0]: row[2] for row in litres.rows}
    assert told["handed over"] == pytest.approx(2.0 + 5.0) and told["spilt"] == pytest.approx(3.0)
    assert told["taken out without saying where to"] == pytest.approx(1.0)
    assert litres.total[1] == pytest.approx(litres.total[2])
    assert next(row[6].value for row in moves.rows if row[2] == "handed over") == 2.2  # weighed


def test_a_handed_over_drum_has_its_papers(whole):
    row = dict(zip([c.key for c in table(whole, "handed_over").columns], table(whole, "handed_over").rows[0], strict=True))
    assert (row["to"], row["kg"], row["how"]) == ("Quayside waste desk", 20.6, "weighed")
    assert (row["reference"], row["receipt"]) == ("LS-2026-01", "QWD 4471")


def test_corrections_are_shown_as_logged_and_as_they_stand(whole):
    mended = [p for p in whole.sections if isinstance(p, Corrected)]
    assert {p.reason for p in mended} == {"the same basket logged twice", "typed without the point"}
    withdrawn = next(p for p in mended if p.reason == "the same basket logged twice")
    assert withdrawn.stands is None and withdrawn.logged.startswith("run")
    typed = next(p for p in mended if p.reason == "typed without the point")
    assert "383 L" in typed.logged and "38.3 L" in typed.stands


def test_five_litres_that_went_are_unaccounted_in_their_tank(tmp_path):
    shop = book(tmp_path, [
        *tanks(),
        {"kind": "reading", "tank": "electrolyte", "values": [{"of": "volume", "value": 39.9, "unit": "L", "spread": 0.2}]},
        {"kind": "reading", "tank": "electrolyte", "values": [{"of": "volume", "value": 34.9, "unit": "L", "spread": 0.2}]},
        {"kind": "reading", "tank": "electrolyte", "values": [{"of": "volume", "value": 34.8, "unit": "L", "spread": 0.2}]},
    ])  # fmt: skip
    found = table(make(shop, "register", made_at=NOW, until=START + timedelta(days=8), exact=True), "unaccounted")
    assert column(found, "vessel") == ["electrolyte"]
    assert column(found, "litres")[0].value == pytest.approx(5.0, abs=1.0)


def test_metals_that_went_are_told_with_their_spread_and_by_which_reading(tmp_path):
    def read(value):
        found = [{"of": "nickel", "value": value, "unit": "g/L", "spread": 0.3}]
        return {"kind": "reading", "tank": "electrolyte", "values": found}

    shop = book(tmp_path, [*tanks(), *map(read, (24.0, 24.0, 18.0, 18.1))])
    made = make(shop, "register", made_at=NOW, until=NOW, exact=True)
    rows = [r for r in table(made, "metals_unaccounted").rows if r[0] == "nickel"]
    assert [r[1] for r in rows] == ["in all", "electrolyte"]
    grams = rows[1][2]
    assert 0 < grams.low < grams.value < grams.high and grams.value == pytest.approx(240.0, rel=0.15)
    assert rows[1][3] == "more than the spread explains" and "(" in rows[1][4]
    came, went = table(made, "metals_came").total, table(made, "metals_went").total
    assert came[1:] == pytest.approx(went[1:], abs=1e-6)


def test_a_period_with_nothing_in_it_and_an_empty_book(tmp_path):
    quiet = make(book(tmp_path), "register", made_at=NOW, until=NOW)
    assert "Nothing was done with waste" in text(quiet) and "No tanks and no containers" in text(quiet)
    late = make(sample(), "register", since=NOW - timedelta(minutes=1), until=NOW, made_at=NOW)
    assert table(late, "moves").rows == () and table(late, "vessels").rows


def test_hostile_names_survive_every_form(tmp_path):
    shop = book(tmp_path, [
        *tanks(),
        {"kind": "removal", "tank": "pickle", "all": True, "to": HOSTILE, "note": "@SUM(A1) " + "x" * 5000},
    ], address="-2 <script>")  # fmt: skip
    made = in_every_form(make(shop, "register", made_at=NOW, until=NOW, exact=True))
    rows = next(p for p in json.loads(made["json"])["sections"] if p.get("name") == "moves")["rows"]
    assert rows[-1]["to"] == HOSTILE and rows[-1]["said"].endswith("@SUM(A1) " + "x" * 5000)
    assert "\x1b" not in made["text"] and "\u202e" not in made["text"]
    assert made["pdf"].startswith(b"%PDF")


def test_the_rules_and_whom_to_ask_stand_in_it_and_no_word_that_decides(whole):
    told = text(whole)
    assert "England" in whole.rule_set and "ask your council" in told
    assert not [w for w in NEVER if w in told.casefold()]


def test_units_as_the_keeper_has_them_on_paper_and_fixed_for_machines(tmp_path):
    shop = book(tmp_path, tanks(), gallon="us", units={"volume": "usgal"})
    paper, machine = (make(shop, "register", made_at=NOW, until=NOW, exact=exact) for exact in (False, True))
    assert table(machine, "litres").columns[1].unit == "L" and table(paper, "litres").columns[1].unit != "L"
    litres, gallons = (table(r, "litres").total[1] for r in (machine, paper))
    assert gallons == pytest.approx(litres / 3.785411784)  # NIST SP 811: US gallon
