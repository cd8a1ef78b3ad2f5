"""Every calculator refuses the wrong kind, zero, below zero, the absurd and the missing, with one sentence."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest

from bathkeeper.calculators.given import BELIEVED
from bathkeeper.calculators.model import CalcError, Calculator, Input
from bathkeeper.calculators.registry import CALCULATORS, ask, calculator
from bathkeeper.units.door import KINDS
from bathkeeper.units.numerals import Preferences

from .asking import answer, values

JAR = CALCULATORS["jar"].examples[0]
PLAIN = {"number", "count", "metal density"}


def numeric(one: Input) -> bool:
    return one.kind in PLAIN or not isinstance(one.kind, str) or one.kind in KINDS


def unit_of(one: Input) -> str:
    return "".join(c for c in one.example if not c.isdigit() and c not in ".,-").strip()


def bad_texts(one: Input) -> Iterator[tuple[str, str]]:
    """(what is wrong, text) for a number with a unit."""
    kinds = (one.kind,) if isinstance(one.kind, str) else one.kind
    if one.kind in PLAIN:
        yield "wrong kind", "3 furlongs"
    else:
        yield "wrong kind", "3 V" if "voltage" not in kinds else "3 g"
        if kinds[0] not in ("ph", "fraction", "gravity"):
            yield "no unit", "3"
    unit = unit_of(one)
    if not one.zero and kinds[0] != "temperature":
        yield "zero", f"0 {unit}"
    yield "below zero", f"-300 {unit}"
    yield "absurd", f"9e14 {unit}"
    yield "no number", "many"
    yield "nothing", "  "


def cases() -> Iterator[Any]:
    for one in CALCULATORS.values():
        for number, example in enumerate(one.examples):
            for name in example:
                if numeric(one.input(name)):
                    for what, text in bad_texts(one.input(name)):
                        yield pytest.param(one.name, number, name, text, id=f"{one.name}-{number}-{name}-{what}")


@pytest.mark.parametrize(("name", "number", "input_", "text"), list(cases()))
def test_bad_numbers(name: str, number: int, input_: str, text: str) -> None:
    one = calculator(name)
    with pytest.raises(CalcError) as caught:
        ask(one, {**one.examples[number], input_: text})
    said = str(caught.value)
    assert "\n" not in said and len(said) < 500
    assert said.startswith(f"{input_}:")
    assert caught.value.input == input_


@pytest.mark.parametrize(
    ("name", "input_"),
    [
        (c.name, i.name)
        for c in CALCULATORS.values()
        for i in c.inputs
        if i.kind == "text" and any(i.name in e for e in c.examples)
    ],
)
def test_rubbish_in_words(name: str, input_: str) -> None:
    one = calculator(name)
    example = next(e for e in one.examples if input_ in e)
    for rubbish in ("qwertz", "[/] 3", "x" * 5000, "\x1b[2J", "٣ g"):
        with pytest.raises(CalcError) as caught:
            ask(one, {**example, input_: rubbish})
        said = str(caught.value)
        assert "\n" not in said and "\x1b" not in said and len(said) < 1500


@pytest.mark.parametrize("one", CALCULATORS.values(), ids=lambda c: c.name)
def test_missing_inputs(one: Calculator) -> None:
    example = one.examples[0]
    for name in example:
        if one.input(name).required:
            with pytest.raises(CalcError, match="missing") as caught:
                ask(one, {k: v for k, v in example.items() if k != name})
            assert caught.value.input == name
    with pytest.raises(CalcError):
        ask(one, {})


@pytest.mark.parametrize(
    ("name", "asked", "says"),
    [
        ("current", {"area": "3dm2"}, "density is missing"),
        ("current", {"area": "3dm2", "density": "1A/dm2", "current": "3A"}, "one of them"),
        ("current", {"area": "3dm2", "recipe": "nitric-dip"}, "states no current density"),
        ("current", {"area": "3dm2", "recipe": "zinc"}, "no recipe"),
        ("deposit", {"metal": "zinc"}, "does not tell anything else"),
        ("deposit", {"metal": "zinc", "efficiency": "90%"}, "does not tell anything else"),
        ("deposit", {"metal": "zinc-nickel", "charge": "1Ah"}, "how much nickel"),
        ("deposit", {"metal": "zinc-nickel:13", "charge": "1Ah"}, "percent sign"),
        ("deposit", {"metal": "zinc-nickel:0%", "charge": "1Ah"}, "no alloy"),
        ("deposit", {"metal": "zinc-zinc:10%", "charge": "1Ah"}, "two metals"),
        ("deposit", {"metal": "graphite", "charge": "1Ah"}, "not laid down"),
        ("deposit", {"metal": "unobtainium", "charge": "1Ah"}, "no metal"),
        ("deposit", {"metal": "zinc", "charge": "1Ah", "mass": "2g"}, "efficiency"),
        ("deposit", {"metal": "zinc", "charge": "1Ah", "current": "2A", "time": "2h"}, "do not go together"),
        ("add", {"reagent": "zinc chloride", "volume": "60L", "from": "35g/L", "to": "28g/L", "of": "zinc"}, "dilute"),
        ("add", {"reagent": "zinc chloride", "volume": "60L", "from": "28g/L", "to": "35g/L"}, "of is missing"),
        ("add", {"reagent": "zinc chloride", "volume": "60L", "from": "1g/L", "to": "2g/L", "of": "tin"}, "brings no tin"),
        ("add", {"reagent": "zinc chloride", "volume": "60L", "of": "zinc", "to": "2g/L"}, "from is missing"),
        ("add", {"reagent": "water", "volume": "60L", "amount": "1L"}, "brings nothing"),
        ("add", {"reagent": "zinc chloride", "volume": "60L", "amount": "1L"}, "is weighed"),
        ("add", {"reagent": "boric acid", "volume": "60L", "amount": "1kg", "to": "3g/L"}, "either"),
        ("dilute", {"from": "3g/L", "to": "4g/L"}, "to raise it"),
        ("dilute", {"from": "3g/L"}, "to is missing"),
        ("dilute", {"from": "3g/L", "full": "40L"}, "volume is missing"),
        ("dilute", {"from": "3g/L", "volume": "40L", "full": "36L"}, "less than"),
        ("dilute", {"from": "100g/L", "to": "1g/L"}, "make it up anew"),
        ("density", {}, "give one of"),
        ("density", {"sg": "1.1", "baume": "22"}, "give one of"),
        ("density", {"baume": "145"}, "off the scale"),
        ("density", {"baume": "22 degC"}, "no degree Baumé"),
        ("density", {"sg": "1.1", "modulus": "100"}, "no modulus"),
        ("density", {"acid": "hydrochloric acid"}, "how strong"),
        ("density", {"acid": "citric acid 90%"}, "is not known"),
        ("density", {"acid": "hydrochloric acid 200%"}, "up to 100 %"),
        ("density", {"acid": "hydrochloric acid", "sg": "1.9"}, "never"),
        ("jar", {**JAR, "sample": "40L", "volume": "100mL"},
         "exchanged"),
        ("jar", {**JAR, "stock": "sodium hydroxide"},
         "opposite"),
        ("jar", {**JAR, "stock": "sulfuric acid"},
         "how strong"),
        ("hull", {"current": "2A"}, "give either"),
        ("hull", {"current": "2A", "at": "12cm"}, "off the panel"),
        ("hull", {"current": "2A", "density": "100A/dm2"}, "wants another current"),
        ("rinse", {}, "give either"),
        ("rinse", {"water": "3L/h"}, "drag-in is missing"),
        ("rinse", {"water": "3L/h", "drag-in": "5mL"}, "cannot be held against"),
        ("rinse", {"ratio": "5000", "stages": "2.5"}, "whole number"),
        ("rinse", {"ratio": "5000", "stages": "99"}, "are not built"),
        ("rinse", {"ratio": "1"}, "thins nothing"),
        ("rinse", {"still": "10L", "racks": "3", "from": "35g/L"}, "drag-in is missing"),
        ("rinse", {"still": "10L", "racks": "3", "drag-in": "1L/h", "from": "35g/L"}, "not a flow"),
        ("rinse", {"still": "10L", "racks": "3", "drag-in": "11L", "from": "35g/L"}, "exchanged"),
        ("rinse", {"still": "10L", "racks": "3", "drag-in": "5mL"}, "from is missing"),
        ("rinse", {"still": "10L", "drag-in": "5mL", "from": "35g/L"}, "give either"),
        ("rinse", {"still": "10L", "drag-in": "5mL", "from": "35g/L", "limit": "40g/L"}, "below"),
        ("rinse", {"marker": "10lb"}, "from is missing"),
        ("anodes", {"charge": "1Ah", "nickel": "13%", "nickel-share": "10%", "drag-out": "1L"}, "zinc-bath is missing"),
        ("anodes", {"charge": "1Ah", "nickel": "13%", "nickel-share": "10%", "efficiency": "93%", "acid": "lye"}, "no acid"),
        ("neutralise", {"volume": "1L", "base": "sodium hydroxide"}, "acid is missing"),
        ("neutralise", {"volume": "1L", "base": "vinegar", "acid": "nitric acid 5g/L"}, "no base"),
        ("neutralise", {"volume": "1L", "base": "lime", "acid": "nitric acid"}, "how strong"),
        ("neutralise", {"volume": "1L", "base": "lime", "metal": "chromium(VI) 1g/L"}, "hand such waste over"),
        ("neutralise", {"volume": "1L", "base": "lime", "acid": ("nitric acid 1g/L", "nitric acid 2g/L")}, "twice"),
        ("neutralise", {"volume": "1L", "base": "lime", "metal": "zinc 99999g/L"}, "stronger than any"),
        ("bake", {"rule": "ASTM B850"}, "strength is missing"),
        ("bake", {"rule": "ASTM B850", "strength": "20MPa"}, "at least 50 MPa"),
        ("bake", {"rule": "my rule", "strength": "1000MPa"}, "no baking rule"),
        ("bake", {"rule": "ASTM B850", "class": "99"}, "names no property class"),
        ("bake", {"rule": "ASTM B850", "class": "10.9", "in-tension": "perhaps"}, "there is no"),
        ("convert", {"value": "4 oz/gal", "unit": "g/L"}, "US gal"),
        ("convert", {"value": "4 A", "unit": "g/L"}, "value"),
        ("convert", {"value": "4 A", "unit": "parsec"}, "parsec"),
        ("convert", {"value": "1 M", "unit": "g/L"}, "molar mass"),
        ("convert", {"value": "1 M", "unit": "g/L", "of": "unobtainium"}, "no substance"),
        ("area", {"part": "8 mm"}, "not understood"),
        ("area", {"part": "M8 hex bolt"}, "how long"),
        ("area", {"part": "M8x30 nut"}, "has no length"),
        ("area", {"part": "M8x30 rivet"}, "no fastener"),
        ("area", {"part": "M7x30 bolt"}, "not in the table"),
        ("area", {"part": "plate 10x20 mm"}, "needs length, width, thickness"),
        ("area", {"part": "plate 10x20x3"}, "unit is missing"),
        ("area", {"part": "plate 10x20x3 g"}, "length is wanted"),
        ("area", {"part": "plate 0x20x3 mm"}, "above zero"),
        ("area", {"part": "plate 10x-20x3 mm"}, "below zero"),
        ("area", {"part": "plate 9999x20x3 km"}, "km"),
        ("area", {"part": "plate 99999999x20x3 mm"}, "cannot be meant"),
        ("area", {"part": "tube 40x25x300 mm"}, "leaves no inside"),
        ("area", {"part": "ring 10x20x3 mm"}, "hole"),
        ("area", {"part": "wire 0.8 mm"}, "needs its diameter"),
        ("area", {"part": "wire 0.8 mm 50 g cheese"}, "cheese"),
        ("area", {"part": "0x M8x30"}, "cannot be"),
        ("area", {"part": "M3x150 bolt partly threaded"}, "not in the table"),
        ("area", {"part": ("M8x30", "M6x20"), "count": "3"}, "several parts"),
        ("area", {"part": "999999x plate 100000x100000x3 mm"}, "cannot be meant"),
    ],
)  # fmt: skip
def test_what_does_not_go(name: str, asked: dict[str, Any], says: str) -> None:
    with pytest.raises(CalcError) as caught:
        ask(calculator(name), asked)
    assert says in str(caught.value)
    assert "\n" not in str(caught.value)


def test_inputs_nobody_uses_are_not_swallowed() -> None:
    with pytest.raises(CalcError, match="racks: not used"):
        ask(calculator("rinse"), {"ratio": "5000", "racks": "3"})
    with pytest.raises(CalcError, match="of: not used"):
        ask(calculator("add"), {"reagent": "boric acid", "volume": "1L", "amount": "1g", "of": "boric acid"})
    with pytest.raises(CalcError, match="has no input `colour`"):
        ask(calculator("hull"), {"current": "2A", "at": "2cm", "colour": "red"})
    with pytest.raises(CalcError, match="is there 2 times"):
        ask(calculator("hull"), {"current": ("2A", "3A"), "at": "2cm"})


def test_every_numeric_input_has_a_limit_of_belief() -> None:
    for one in CALCULATORS.values():
        for i in one.inputs:
            kinds = (i.kind,) if isinstance(i.kind, str) else i.kind
            assert all(k in BELIEVED or k in ("text", "choice") for k in kinds), (one.name, i.name)


class TestGallons:
    def test_a_ratio_needs_no_gallon(self) -> None:
        found = answer("dilute", volume="400gal", from_="4.5oz/gal", to="3.5oz/gal")
        assert found.values["fraction"] == pytest.approx(2 / 9)
        assert found.values["swap_l"] is None
        said = next(o for o in found.open if o.startswith("swap_l"))
        assert "336.5 with the US gallon" in said and "404.1 with the imperial gallon" in said
        rinse = answer("rinse", drag_in="1gal/h", water="99gal/h")
        assert rinse.values["ratio"] == pytest.approx(100)
        assert rinse.values["water_l_h"] is None

    def test_a_workshop_settles_it(self) -> None:
        us = answer("dilute", Preferences(gallon="us"), volume="400gal", from_="4.5oz/gal", to="3.5oz/gal")
        assert us.values["swap_l"] == pytest.approx(336.48, abs=0.01)
        assert not us.open

    def test_what_does_not_cancel_is_refused(self) -> None:
        for asked in (
            {"volume": "400gal", "from_": "4.5g/L", "to": "3.5oz/gal"},
            {"volume": "400gal", "from_": "88g/L", "full": "100L"},
        ):
            with pytest.raises(CalcError, match="which gallon"):
                values("dilute", **asked)
        with pytest.raises(CalcError, match="which gallon"):
            values("rinse", drag_in="1gal/h", water="3L/h")
        with pytest.raises(CalcError, match="which ounce"):
            values("deposit", metal="zinc", mass="1oz", area="1dm2")

    def test_decimal_commas(self) -> None:
        assert values("current", area="3,2dm2", density="1,5A/dm2")["current_a"] == pytest.approx(4.8)
        with pytest.raises(CalcError, match="could be"):
            values("current", area="1,500dm2", density="1A/dm2")
        comma = answer("current", Preferences(decimal_comma=True), area="1,500dm2", density="1A/dm2")
        assert comma.values["current_a"] == pytest.approx(1.5)
