"""What is merely unlikely: each doubt just beyond its limit, and silence just within it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest

from bathkeeper.entries import parse
from bathkeeper.estimate.state import TankState
from bathkeeper.plausible import implausible
from tests.stories.telling import Telling


@pytest.fixture(scope="module")
def story() -> Telling:
    telling = Telling()
    telling.tank("bath", "plate", 1, "zinc-nickel-chloride-potassium", 40.0, full_volume_l=46.0)
    telling.tank("rinse", "rinse", 2, "running-rinse", 20.0)
    telling.tank("pickle", "pickle", 3, "bisulfate-pickle", 20.0)
    telling.log("make_up", tank="bath", volume_l=40.0, contents={"zinc": 30.0, "nickel": 24.0})
    return telling


@pytest.fixture(scope="module")
def tanks(story: Telling) -> Mapping[str, TankState]:
    return story.world().tanks


def doubts(story: Telling, tanks: Mapping[str, TankState], kind: str, **fields: Any) -> list[str]:
    at = fields.pop("at", story.moment)
    return implausible(parse({"kind": kind, "id": "test-0001", "at": at, **fields}), tanks, tanks, story.moment)


def litres(amount: float) -> dict[str, Any]:
    return {"tank": "bath", "items": [{"reagent": "water", "amount": amount, "unit": "L"}]}


def run(current_a: float, area_dm2: float | None) -> dict[str, Any]:
    return {
        "parts": [{"description": "x", "area_dm2": area_dm2}],
        "steps": [{"tank": "bath", "minutes": 30.0, "charge": {"current_a": current_a}}],
    }


def read(of: str, value: float, unit: str) -> dict[str, Any]:
    return {"tank": "bath", "values": [{"of": of, "value": value, "unit": unit}]}


@pytest.mark.parametrize(
    ("kind", "within", "beyond", "word"),
    [
        ("addition", litres(119.0), litres(121.0), "holds"),
        ("removal", {"tank": "bath", "volume_l": 119.0}, {"tank": "bath", "volume_l": 121.0}, "taken out"),
        ("reading", read("zinc", 119.0, "g/L"), read("zinc", 121.0, "g/L"), "upper edge"),  # window to 40
        ("reading", read("zinc", 8.5, "g/L"), read("zinc", 8.2, "g/L"), "lower edge"),  # window from 25
        ("reading", read("iron", 0.89, "g/L"), read("iron", 0.91, "g/L"), "upper edge"),  # given up at 0.3
        ("reading", read("volume", 45.9, "L"), read("volume", 46.1, "L"), "more than bath holds"),
        ("run", run(19.9, 1.0), run(20.1, 1.0), "A/dm2"),
    ],
)
def test_limits(
    story: Telling, tanks: Mapping[str, TankState], kind: str, within: dict[str, Any], beyond: dict[str, Any], word: str
) -> None:
    assert doubts(story, tanks, kind, **within) == []
    found = doubts(story, tanks, kind, **beyond)
    assert len(found) == 1 and word in found[0]


def test_a_filling(story: Telling, tanks: Mapping[str, TankState]) -> None:
    """Of an empty tank its size is asked about; of a full one, what became of what it held."""
    empty = {n: replace(t, made_up=None) for n, t in tanks.items()}
    assert doubts(story, empty, "make_up", tank="bath", volume_l=46.0) == []
    assert "full" in doubts(story, empty, "make_up", tank="bath", volume_l=46.5)[0]
    assert doubts(story, empty, "make_up", tank="rinse", volume_l=29.0) == []
    assert "working volume" in doubts(story, empty, "make_up", tank="rinse", volume_l=31.0)[0]
    assert "still holds" in doubts(story, tanks, "make_up", tank="bath", volume_l=40.0)[0]


@pytest.mark.parametrize(
    ("fields", "word"),
    [
        ({"steps": [{"tank": "bath", "minutes": 1500.0}]}, "more than a day"),
        ({"steps": [{"tank": "rinse", "minutes": 5.0, "charge": {"current_a": 5.0}}]}, "no electrodes"),
        ({"parts": [{"description": "x", "area_dm2": 0.0}], "steps": [{"tank": "bath", "minutes": 5.0}]}, "area is 0"),
        ({"parts": [{"description": "x", "area_dm2": 3200.0}], "steps": [{"tank": "bath", "minutes": 5.0}]}, "do not go into"),
        (
            {
                "parts": [{"description": "x", "area_dm2": 3.2}],
                "steps": [{"tank": "bath", "minutes": 600.0, "charge": {"current_a": 6.5}}],
            },
            "0.2 mm",
        ),
    ],
)
def test_slips_in_a_run(story: Telling, tanks: Mapping[str, TankState], fields: dict[str, Any], word: str) -> None:
    assert any(word in d for d in doubts(story, tanks, "run", **fields))


def test_an_anode_that_does_not_belong_is_asked_about(story: Telling, tanks: Mapping[str, TankState]) -> None:
    assert doubts(story, tanks, "anode", tank="bath", anode="zinc-9", action="hung", metal="zinc") == []
    assert "no anode for bath" in doubts(story, tanks, "anode", tank="bath", anode="c-1", action="hung", metal="graphite")[0]


def test_the_past_and_the_future(story: Telling, tanks: Mapping[str, TankState]) -> None:
    for shift, doubted in ((0.006, 0), (0.01, 1), (-5 * 365.0, 0), (-5 * 366.0, 1)):
        found = doubts(story, tanks, "remark", text="x", at=story.moment + timedelta(days=shift))
        assert len(found) == doubted, (shift, found)


@pytest.mark.parametrize(
    ("tank", "reagent", "asked"),
    [("pickle", "hydrochloric acid 37%", True), ("pickle", "sodium bisulfate", False), ("pickle", "sodium hydroxide", False),
     ("bath", "hydrochloric acid 37%", False)],
)  # fmt: skip
def test_another_acid_than_the_recipe_counts(
    story: Telling, tanks: Mapping[str, TankState], tank: str, reagent: str, asked: bool
) -> None:
    item = {"reagent": reagent, "amount": 50.0, "unit": "g"}
    for kind, fields in (("make_up", {"volume_l": 15.0, "reagents": [item]}), ("addition", {"items": [item]})):
        assert any("another acid" in d for d in doubts(story, tanks, kind, tank=tank, **fields)) == asked


def test_a_cold_tank_and_an_unknown_area_are_no_slip(story: Telling, tanks: Mapping[str, TankState]) -> None:
    assert doubts(story, tanks, "reading", **read("temperature", 4.0, "degC")) == []
    assert doubts(story, tanks, "run", **run(100.0, None)) == []
    assert doubts(story, tanks, "reading", **read("zinc", 4.0, "%")) == []  # another unit than the window's is not compared


@pytest.mark.parametrize(
    "charge",
    [
        {"stretches": [{"current_a": 2.0, "minutes": 5.0}, {"current_a": 25.0, "minutes": 5.0}]},
        {"ramp": {"from_a": 2.0, "to_a": 25.0, "minutes": 30.0}},
        {"charge_ah": 12.5},
        {"counter": {"start_ah": 1.0, "end_ah": 13.5}},
    ],
)
def test_every_way_of_telling_a_charge(story: Telling, tanks: Mapping[str, TankState], charge: dict[str, Any]) -> None:
    steps = [{"tank": "bath", "minutes": 30.0, "charge": charge}]
    found = doubts(story, tanks, "run", parts=[{"description": "x", "area_dm2": 1.0}], steps=steps)
    assert len(found) == 1 and "25 A/dm2" in found[0]


def test_a_dose_that_doubles_is_doubted_and_one_that_cures_is_not(story: Telling) -> None:
    def told(zinc_g_l: float, zinc_chloride_g: float) -> list[str]:
        telling = Telling()
        telling.tank("bath", "plate", 1, "zinc-nickel-chloride-potassium", 40.0)
        telling.log("make_up", tank="bath", volume_l=40.0, contents={"zinc": zinc_g_l, "nickel": 24.0})
        before = telling.world().tanks
        telling.add("bath", "zinc chloride", zinc_chloride_g)
        found = implausible(telling.entries[-1], before, telling.world().tanks, telling.moment)
        return [d for d in found if "zinc" in d]

    # zinc is 48.0 % of zinc chloride by mass (IUPAC masses: 65.38 / 136.28)
    assert told(30.0, 2700.0) and "double" in told(30.0, 2700.0)[0]  # 30 + 32.4 g/L: the slipped decimal point
    assert not told(30.0, 270.0)
    assert not told(10.0, 1500.0)  # 10 + 18 g/L: more than doubled, and where it should be
