"""Words about what a workshop keeps beside its tanks: parts by name, the shelf, what is put off, plans of one's own."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest

from bathkeeper.phrases import PhraseError, compose
from tests.test_phrases import AT, said, vocabulary


def test_parts_in_words_bring_their_area_count_and_class() -> None:
    """Twenty M8x30: 3.259 dm2, worked out in tests/runs/test_areas.py."""
    made = compose("run", ["20x M8x30 hex bolt 10.9", "electrolyte=1.5A/dm2*45min"], vocabulary(), AT)
    (part,) = made.raw["parts"]
    assert part["count"] == 20
    assert part["area_dm2"] == pytest.approx(3.259, abs=0.001)
    assert part["spread"] == pytest.approx(0.05 * 3.259, abs=0.001)
    assert part["property_class"] == "10.9"
    assert part["description"] == "M8x30 hex bolt, fully threaded 10.9"
    assert any("head all around, shank and thread" in line for line in made.understood)
    again = compose("run", [part["description"], "count=10", "electrolyte=5A*45min"], vocabulary(), AT)
    assert again.raw["parts"][0]["area_dm2"] == pytest.approx(part["area_dm2"] / 2)
    several = compose("run", ["20x M8x30 hex bolt", "description=12x M8 hex nut", "electrolyte=5A*45min"], vocabulary(), AT)
    assert sum(p["area_dm2"] for p in several.raw["parts"]) == pytest.approx(3.259 + 12 * 0.07508, abs=0.002)
    with pytest.raises(PhraseError, match="Say the count once"):
        compose("run", ["20x M8x30 hex bolt", "count=10", "electrolyte=5A*45min"], vocabulary(), AT)


def test_an_area_said_stands_over_the_words_and_other_words_stay_a_description() -> None:
    told = compose("run", ["20x M8x30 hex bolt", "area=4dm2", "electrolyte=5A*45min"], vocabulary(), AT).raw["parts"][0]
    assert told["area_dm2"] == 4.0
    assert told["description"] == "20x M8x30 hex bolt"
    plain = compose("run", ["mixed brackets", "electrolyte=5A*45min"], vocabulary(), AT)
    assert plain.raw["parts"] == [{"description": "mixed brackets"}]
    odd = compose("run", ["M8x30 rivet", "electrolyte=5A*45min"], vocabulary(), AT)
    assert "area_dm2" not in odd.raw["parts"][0]
    assert any("no area worked out" in line and "rivet" in line for line in odd.understood)


def test_what_stands_on_the_shelf_in_words() -> None:
    bought = said("stock 'zinc chloride' bought=1kg price=12.50 lot=7 purity=97%").raw
    assert {k: bought[k] for k in ("reagent", "action", "amount", "unit", "price", "lot")} == {
        "reagent": "zinc chloride", "action": "bought", "amount": 1000.0, "unit": "g", "price": 12.5, "lot": "7",
    }  # fmt: skip
    assert bought["purity"] == pytest.approx(0.97)
    assert said("stock 'hydrochloric acid 37%' counted=0.4L").raw["unit"] == "mL"
    anode = said("stock nickel what=anode bought=2kg").raw
    assert (anode["what"], anode["reagent"], anode["amount"]) == ("anode", "nickel", 2000.0)
    for line, says in (
        ("stock bought=1kg", "what is it"),
        ("stock 'zinc chloride'", "what happened"),
        ("stock 'zinc chloride' bought=1kg counted=2kg", "two entries"),
        ("stock 'zinc chloride' bought=1L", "volume"),
        ("stock unobtainium what=anode bought=1kg", "named by its metal"),
        ("stock 'zinc chloride' counted=2kg price=3", "price belongs to what was bought"),
    ):
        with pytest.raises(PhraseError, match=says):
            said(line)


def test_putting_off_and_a_plan_of_ones_own_in_words() -> None:
    snoozed = said("snooze electrolyte.low.nickel days=14 reason='salt is on order'").raw
    assert datetime.fromisoformat(snoozed["until"]) - datetime.fromisoformat(snoozed["at"]) == timedelta(days=14)
    with pytest.raises(PhraseError, match="reason is missing"):
        said("snooze electrolyte.low.nickel days=14")
    with pytest.raises(PhraseError, match="later than"):
        said("snooze electrolyte.low.nickel until=2020-01-01 reason=x")
    plan = said("plan electrolyte 'add zinc chloride=120 g' 'wait 1 h' 'remove 2 L' 'measure zinc' 'plate 5 Ah'").raw
    assert [(s["action"], s.get("amount"), s.get("unit")) for s in plan["steps"]] == [
        ("add", 120.0, "g"), ("wait", 60.0, "min"), ("remove", 2.0, "L"), ("measure", None, None), ("plate", 5.0, "Ah"),
    ]  # fmt: skip
    with pytest.raises(PhraseError, match="no amount"):
        said("plan electrolyte 'add zinc chloride'")
