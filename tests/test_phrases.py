"""The quick form: every form as typed, what is kept of it, and one clear sentence for every wrong word."""

from __future__ import annotations

import shlex
from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bathkeeper.catalogue.loader import load
from bathkeeper.entries import KINDS, parse
from bathkeeper.phrases import EXAMPLES, Composed, PhraseError, TankWord, Vocabulary, compose
from bathkeeper.units.door import Preferences

AT = datetime(2025, 3, 1, 10, 0, tzinfo=UTC)
ANODES = {"zinc-1": "zinc", "nickel-1": "nickel", "nickel-2": "nickel"}


def vocabulary(prefs: Preferences | None = None) -> Vocabulary:
    catalogue = load()
    tanks = {
        p.tank: TankWord(
            p.tank, p.role, place, p.recipe, working_volume_l=p.working_volume_l,
            anodes=ANODES if p.tank == "electrolyte" else {},
        )
        for place, p in enumerate(catalogue.templates["zinc-nickel-line"].places, start=1)
    }
    return Vocabulary(prefs or Preferences(), tanks, catalogue)


PLAIN = vocabulary()


def said(line: str, words: Vocabulary = PLAIN, original: Mapping[str, Any] | None = None) -> Composed:
    kind, *rest = shlex.split(line)
    composed = compose(kind, rest, words, AT, original)
    parse({**composed.raw, "id": "0123456789"})  # what is composed is an entry
    return composed


def fields(line: str, **more: Any) -> dict[str, Any]:
    return {k: v for k, v in said(line, **more).raw.items() if k not in ("kind", "at", "typed")}


def value(line: str, of: str, words: Vocabulary = PLAIN) -> dict[str, Any]:
    return next(v for v in said(line, words).raw["values"] if v["of"] == of)


# --- readings


def test_a_reading_as_the_interface_shows_it() -> None:
    composed = said("reading electrolyte zinc=32g/L nickel=2.9oz/usgal pH=5.4")
    assert composed.raw["kind"] == "reading" and composed.raw["at"] == "2025-03-01T10:00:00+00:00"
    assert composed.raw["typed"] == {"zinc": "32g/L", "nickel": "2.9oz/usgal", "pH": "5.4"}
    assert composed.understood == ["zinc 32 g/L", "nickel 21.7 g/L (2.9 oz/US gal)", "pH 5.4"]
    values = composed.raw["values"]
    assert [(v["of"], v["unit"]) for v in values] == [("zinc", "g/L"), ("nickel", "g/L"), ("ph", "pH")]
    assert values[1]["value"] == pytest.approx(2.9 * 7.489152, rel=1e-6)  # NIST SP 811: 1 oz/US gal = 7.489152 g/L


@pytest.mark.parametrize(
    ("word", "kept"),
    [
        ("temperature=35C", {"of": "temperature", "value": 35.0, "unit": "degC"}),
        ("temp=95F", {"of": "temperature", "value": 35.0, "unit": "degC"}),
        ("level=38.3L", {"of": "level", "value": 38.3, "unit": "L"}),
        ("level=120mm", {"of": "level", "value": 120.0, "unit": "mm"}),
        ("density=1.21", {"of": "density", "value": 1.21, "unit": "g/cm3"}),
        ("density='20 degBe'", {"of": "density", "value": 1.16, "unit": "g/cm3"}),
        ("voltage=3.2V", {"of": "voltage", "value": 3.2, "unit": "V"}),
        ("conductivity=1200uS/cm", {"of": "conductivity", "value": 1.2, "unit": "mS/cm"}),
        ("panel=good", {"of": "panel", "unit": "verdict", "word": "good"}),
        ('colour="blue, a little [yellow]"', {"of": "colour", "unit": "verdict", "word": "blue, a little [yellow]"}),
        ("brightener=2mL/L", {"of": "brightener", "value": 2.0, "unit": "mL/L"}),
        ('"boric acid=25g/L"', {"of": "boric acid", "value": 25.0, "unit": "g/L"}),
        ("boric_acid=25g/L", {"of": "boric acid", "value": 25.0, "unit": "g/L"}),
        ("Zn=32g/L", {"of": "zinc", "value": 32.0, "unit": "g/L"}),
        ("copper=30ppm", {"of": "copper", "value": 0.03, "unit": "g/L"}),
        ("zinc=32g/L±0.5", {"of": "zinc", "value": 32.0, "unit": "g/L", "spread": 0.5}),
        ("zinc=32+-0.5g/L", {"of": "zinc", "value": 32.0, "unit": "g/L", "spread": 0.5}),
        ("zinc=32g/L+-2%", {"of": "zinc", "value": 32.0, "unit": "g/L", "spread": 0.64}),
        ("zinc=32g/L±500mg/L", {"of": "zinc", "value": 32.0, "unit": "g/L", "spread": 0.5}),
        ("zinc=32g/L@edta", {"of": "zinc", "value": 32.0, "unit": "g/L", "method": "EDTA titration"}),
        ("pH=5.4±0.3@strip", {"of": "ph", "value": 5.4, "unit": "pH", "spread": 0.3, "method": "pH strip"}),
        ("nickel_share=14%", {"of": "nickel_share", "value": 14.0, "unit": "%"}),
    ],
)
def test_values_of_a_reading(word: str, kept: dict[str, Any]) -> None:
    assert fields(f"reading electrolyte {word}")["values"] == [kept]


def test_a_temperature_spread_is_a_difference() -> None:
    assert value("reading electrolyte temperature=95F±2F", "temperature")["spread"] == pytest.approx(2 * 5 / 9)
    assert value("reading electrolyte temperature=95F±1C", "temperature")["spread"] == pytest.approx(1.0)


def test_moles_and_equivalents_use_the_species_formula() -> None:
    # atomic mass of zinc 65.38 (IUPAC); sodium hydrogen sulfate 120.06 g/mol, one equivalent
    assert value("reading electrolyte zinc=0.5M", "zinc")["value"] == pytest.approx(32.69, rel=1e-3)
    assert value("reading pickle iron=0.2mol/L", "iron")["value"] == pytest.approx(0.2 * 55.845, rel=1e-3)
    assert value("reading pickle free_acid=1N", "free acid")["value"] == pytest.approx(120.06, rel=1e-3)
    assert value("reading electrolyte density=1.2 chloride=10%w/w", "chloride")["value"] == pytest.approx(120.0)


def test_method_and_lot_go_where_they_belong() -> None:
    values = fields("reading electrolyte zinc=32g/L pH=5.4 method=edta lot=A")["values"]
    assert values[0]["method"] == "EDTA titration" and values[0]["lot"] == "A"
    assert "method" not in values[1] and "lot" not in values[1]
    assert fields("reading electrolyte zinc=32g/L nickel=24g/L spread=5%")["values"][1]["spread"] == pytest.approx(1.2)


def test_readings_of_a_run_and_confirmations() -> None:
    made = fields("reading run=0194-run deposit_nickel=13.2%±0.5% thickness=0.3mil nickel_share=14%")
    assert made["run"] == "0194-run" and "tank" not in made
    assert made["values"][0] == {"of": "deposit_nickel", "value": 13.2, "unit": "%", "spread": 0.5}
    assert made["values"][1]["value"] == pytest.approx(7.62)
    assert fields("reading confirms=0123456789ab,abcdef0123")["confirms"] == ["0123456789ab", "abcdef0123"]
    assert fields("reading electrolyte zinc=52g/L confirms=true")["confirms"] is True


def test_a_rinse_holds_what_its_neighbours_hold() -> None:
    assert value("reading rinse-3 zinc=0.3g/L", "zinc")["value"] == 0.3


# --- runs


def step(line: str, tank: str = "electrolyte") -> dict[str, Any]:
    return next(s for s in fields(line)["steps"] if s["tank"] == tank)


def test_a_run_as_the_interface_shows_it() -> None:
    made = fields(
        'run "mixed brackets" area=3.2dm2±0.4 count=20 electrolyte=6.5A*45min pickle=2min acid-dip=20s passivate=40s'
    )
    assert made["parts"] == [{"description": "mixed brackets", "area_dm2": 3.2, "spread": 0.4, "count": 20}]
    assert [s["tank"] for s in made["steps"]] == ["pickle", "electrolyte", "acid-dip", "passivate"]
    assert made["steps"][1] == {"tank": "electrolyte", "charge": {"current_a": 6.5}, "minutes": 45.0}
    assert made["steps"][0] == {"tank": "pickle", "minutes": 2.0}
    assert made["steps"][2]["minutes"] == pytest.approx(1 / 3)


@pytest.mark.parametrize(
    ("typed", "charge", "minutes"),
    [
        ("4.9Ah", {"charge_ah": 4.9}, None),
        ("300A*min", {"charge_ah": 5.0}, None),
        ("4.9Ah*45min", {"charge_ah": 4.9}, 45.0),
        ("6.5A*1h30", {"current_a": 6.5}, 90.0),
        ("6,5A*45min", {"current_a": 6.5}, 45.0),
        ("'6.5 A × 45 min'", {"current_a": 6.5}, 45.0),
        ("'6.5 A for 45 min'", {"current_a": 6.5}, 45.0),
        ("240mA..210mA*8h", {"ramp": {"from_a": 0.24, "to_a": 0.21, "minutes": 480.0}}, 480.0),
        ("240..210mA*8h", {"ramp": {"from_a": 0.24, "to_a": 0.21, "minutes": 480.0}}, 480.0),
        ("12.4Ah..17.3Ah", {"counter": {"start_ah": 12.4, "end_ah": 17.3}}, None),
        (
            "2A*10min+6A*30min",
            {"stretches": [{"current_a": 2.0, "minutes": 10.0}, {"current_a": 6.0, "minutes": 30.0}]},
            40.0,
        ),
        ("6.5A*45min±3%", {"current_a": 6.5, "spread": 0.195}, 45.0),
        ("6.5A*45min±0.2", {"current_a": 6.5, "spread": 0.2}, 45.0),
        ("6.5A*45min±200mA", {"current_a": 6.5, "spread": 0.2}, 45.0),
        ("4.9Ah±5%", {"charge_ah": 4.9, "spread": 0.245}, None),
        ("12.4Ah..17.4Ah±5%", {"counter": {"start_ah": 12.4, "end_ah": 17.4}, "spread": 0.25}, None),
        ("240mA..210mA*8h±0.1Ah", {"ramp": {"from_a": 0.24, "to_a": 0.21, "minutes": 480.0}, "spread": 0.1}, 480.0),
    ],
)
def test_ways_to_tell_a_charge(typed: str, charge: dict[str, Any], minutes: float | None) -> None:
    made = step(f"run bolts electrolyte={typed}")
    assert made["charge"] == charge and made.get("minutes") == minutes


def test_understood_says_the_ampere_hours() -> None:
    assert "electrolyte 6.5 A for 45 min = 4.875 Ah" in said("run bolts electrolyte=6.5A*45min").understood
    ramp = said("run bolts electrolyte=240mA..210mA*8h").understood[1]
    assert ramp.endswith("= 1.8 Ah")  # 0.225 A on average for 8 h
    assert "taken as reset" in " ".join(said("run bolts electrolyte=12.4Ah..2Ah").understood)


def test_a_current_density_becomes_a_current_by_the_area() -> None:
    assert step("run bolts area=3.2dm2 electrolyte=1.5A/dm2*45min")["charge"] == {"current_a": 4.8}
    assert step("run bolts area=0.351ft2 electrolyte=20ASF*45min")["charge"]["current_a"] == pytest.approx(7.02)


def test_branches_are_data_about_the_split() -> None:
    made = step("run bolts electrolyte.zinc=5.7A*45min electrolyte.nickel:nickel-1,nickel-2@3.1V=0.95A*45min±3%")
    assert made["minutes"] == 45.0 and "charge" not in made
    assert made["branches"] == [
        {"charge": {"current_a": 5.7}, "supply": "zinc", "anodes": ["zinc-1"]},
        {"charge": {"current_a": 0.95, "spread": 0.0285}, "supply": "nickel", "anodes": ["nickel-1", "nickel-2"], "volts": 3.1},
    ]
    uneven = step("run bolts electrolyte.bench-1=5.7A*45min electrolyte.bench-2=1A*30min")
    assert uneven["minutes"] == 45.0
    assert [b["charge"]["stretches"][0]["minutes"] for b in uneven["branches"]] == [45.0, 30.0]


def test_everything_else_about_a_run() -> None:
    made = fields(
        "run bolts electrolyte@35C=6.5A*45min before=812g after=818g result='good, dark' class=10.9 strength=150ksi "
        "stripped=5.5g supply=bench-1 safety-critical note='last of the week' by=me"
    )
    assert made["mass_before_g"] == 812.0 and made["mass_after_g"] == 818.0 and made["result"] == "good, dark"
    assert made["note"] == "last of the week" and made["by"] == "me"
    part = made["parts"][0]
    assert part["property_class"] == "10.9" and part["coating_stripped_g"] == 5.5 and part["safety_critical"] is True
    assert part["strength_mpa"] == pytest.approx(1034.2, rel=1e-4)
    assert made["steps"][0]["temperature_c"] == 35.0 and made["steps"][0]["supply"] == "bench-1"
    assert step("run bolts dummy electrolyte=0.5A*2h")["dummy"] is True
    two = fields('run "bolts M8" area=1dm2 count=9 "washers" area=0.5dm2 electrolyte=3A*45min')["parts"]
    assert [(p["description"], p["area_dm2"]) for p in two] == [("bolts M8", 1.0), ("washers", 0.5)]


def test_whole_line_adds_the_tanks_in_between_and_nothing_else_does() -> None:
    assert [s["tank"] for s in fields("run bolts electrolyte=6.5A*45min")["steps"]] == ["electrolyte"]
    steps = fields("run bolts electrolyte=6.5A*45min whole-line")["steps"]
    assert [s["tank"] for s in steps] == [t for t in PLAIN.tanks if t != "dry"]
    assert [s["tank"] for s in steps if "minutes" in s] == ["electrolyte"]


# --- solution in and out


def test_additions() -> None:
    made = fields('addition electrolyte "zinc chloride=120 g" water=2L "hydrochloric acid 37%=20 mL" brightener=1/2L lot=B7')
    assert made["items"] == [
        {"reagent": "zinc chloride", "amount": 120.0, "unit": "g"},
        {"reagent": "water", "amount": 2.0, "unit": "L"},
        {"reagent": "hydrochloric acid 37%", "amount": 20.0, "unit": "mL"},
        {"reagent": "brightener", "amount": 500.0, "unit": "mL", "lot": "B7"},
    ]
    assert fields("addition electrolyte ZnCl2=4lb")["items"][0]["amount"] == pytest.approx(1814.36948)


def test_make_ups() -> None:
    made = fields("make_up electrolyte volume=40L zinc=32g/L nickel=24g/L temperature=35C brightener=2mL/L")
    assert made == {
        "tank": "electrolyte", "volume_l": 40.0, "temperature_c": 35.0,
        "contents": {"zinc": 32.0, "nickel": 24.0, "brightener": 2.0},
    }
    made = fields('make_up electrolyte zinc=32g/L "nickel chloride hexahydrate=3.9 kg" "boric acid=1kg"')
    assert made["volume_l"] == 40.0  # the working volume of the tank
    assert [(r["reagent"], r["amount"], r["unit"]) for r in made["reagents"]] == [
        ("nickel chloride hexahydrate", 3900.0, "g"), ("boric acid", 1000.0, "g"),
    ]


def test_removals() -> None:
    assert fields("removal pickle all to=drum-1") == {"tank": "pickle", "all": True, "to": "drum-1"}
    assert fields("removal electrolyte volume=0.5L to=sample") == {"tank": "electrolyte", "volume_l": 0.5, "to": "sample"}
    assert fields("removal electrolyte 500mL spill") == {"tank": "electrolyte", "volume_l": 0.5, "to": "spill"}


# --- the rest


def test_anodes() -> None:
    assert fields("anode electrolyte zinc-9 hung=4.0kg area=5dm2") == {
        "tank": "electrolyte", "anode": "zinc-9", "action": "hung", "mass_g": 4000.0, "area_dm2": 5.0, "metal": "zinc",
    }
    made = fields("anode electrolyte nickel-1 weighed=1492g brushed=yes")
    assert made["action"] == "weighed" and made["brushed"] is True and made["metal"] == "nickel"
    assert fields("anode electrolyte zinc-1 lifted")["action"] == "lifted"
    assert fields("anode rust-removal steel-2 hung=1kg")["metal"] == "steel"
    assert fields("anode rust-removal stainless-1 hung=1kg")["metal"] == "stainless steel"
    assert fields("anode electrolyte bar hung=1kg metal=Ni")["metal"] == "nickel"


def test_remarks_calibrations_tanks_workshop_definitions() -> None:
    assert fields('remark electrolyte "foam on top" defect=pitting') == {
        "tank": "electrolyte", "text": "foam on top", "defect": "pitting",
    }
    assert fields("remark 'the heater was off'") == {"text": "the heater was off"}
    assert fields("remark electrolyte") == {"text": "electrolyte"}  # one word alone is the text
    assert fields('calibration supply bench-1 against="clamp meter" result=1.02') == {
        "what": "supply", "name": "bench-1", "against": "clamp meter", "result": 1.02,
    }
    assert fields("calibration titrant-lot A7 against=standard result=5.1/5.0 spread=1%")["result"] == pytest.approx(1.02)
    made = fields(
        "tank electrolyte role=plate recipe=zinc-nickel-chloride-potassium volume=40L full=45L surface=12dm2 order=6 "
        "level_table=0mm:0L,100mm:12L,200mm:24L"
    )
    assert made["working_volume_l"] == 40.0 and made["full_volume_l"] == 45.0 and made["surface_dm2"] == 12.0
    assert made["order"] == 6 and made["level_table"][1] == {"mm": 100.0, "volume_l": 12.0}
    assert fields("tank pickle out-of-service")["in_service"] is False
    made = fields('workshop "my shop" gallon=us decimal_comma=yes units.volume=gal scale=1g keeper=household')
    assert made == {
        "name": "my shop", "gallon": "us", "decimal_comma": True, "units": {"volume": "gal"}, "scale_resolution_g": 1.0,
        "keeper": "household",
    }
    body = {"form": "additive", "additive": "brightener"}
    by_json = fields("""definition reagent "my brightener" '{"form": "additive", "additive": "brightener"}'""")
    by_toml = fields("""definition reagent "my brightener" 'form = "additive"' 'additive = "brightener"'""")
    assert by_json == by_toml == {"of": "reagent", "name": "my brightener", "body": body}


READ = {
    "kind": "reading", "id": "0123456789ab", "at": "2025-01-01T00:00:00+00:00", "schema": 1, "tank": "electrolyte",
    "values": [{"of": "zinc", "value": 35.0, "unit": "g/L"}, {"of": "ph", "value": 5.0, "unit": "pH"}],
    "typed": {"zinc": "35g/L", "pH": "5"},
}
RAN = {
    "kind": "run", "id": "0123456789ab", "at": "2025-01-01T00:00:00+00:00",
    "parts": [{"description": "bolts", "area_dm2": 3.0, "count": 9}],
    "steps": [
        {"tank": "pickle", "minutes": 2.0}, {"tank": "electrolyte", "minutes": 45.0, "charge": {"current_a": 6.5}},
    ],
}


def test_a_correction_withdraws_or_says_only_what_was_wrong() -> None:
    assert fields('correction 0123456789ab withdraw reason="logged twice"') == {
        "corrects": "0123456789ab", "reason": "logged twice", "withdraw": True,
    }
    made = fields("correction 0123456789ab reason=misread zinc=31g/L", original=READ)["replacement"]
    assert made["values"] == [{"of": "zinc", "value": 31.0, "unit": "g/L"}, {"of": "ph", "value": 5.0, "unit": "pH"}]
    assert made["tank"] == "electrolyte" and made["typed"] == {"zinc": "31g/L", "pH": "5"} and "id" not in made
    made = fields("correction 0123456789ab reason=misread area=3.3dm2 rinse-1=1min electrolyte=6A*45min", original=RAN)
    replaced = made["replacement"]
    assert replaced["parts"] == [{"description": "bolts", "area_dm2": 3.3, "count": 9}]
    assert [s["tank"] for s in replaced["steps"]] == ["rinse-1", "pickle", "electrolyte"]
    assert replaced["steps"][2]["charge"] == {"current_a": 6.0}
    moved = fields("correction 0123456789ab reason='wrong tank' rinse-3", original={**READ, "values": READ["values"][1:]})
    assert moved["replacement"]["tank"] == "rinse-3"


# --- wrong words


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("redaing electrolyte zinc=1g/L", "did you mean `reading`"),
        ("reading electrolite zinc=32g/L", "no tank `electrolite`; did you mean `electrolyte`"),
        ("reading zinc=32g/L", "which tank"),
        ("reading electrolyte znic=32g/L", "did you mean `zinc`"),
        ("reading electrolyte qqq=32g/L", "nothing called `qqq` to read; known are zinc, nickel"),
        ("reading electrolyte zinc=32", "has no unit"),
        ("reading electrolyte zinc=32L", "unit of volume"),
        ("reading electrolyte zinc=", "nothing behind it"),
        ("reading electrolyte zinc 32g/L", "has no `=`"),
        ("reading electrolyte", "at least one value"),
        ("reading electrolyte zinc=4.5oz/gal", "33.70 g/L or .*28.06 g/L"),
        ("reading electrolyte zinc=1,500g/L", "1.5 or 1500"),
        ("reading electrolyte zinc=-3g/L", "below zero"),
        ("reading electrolyte zinc=3%", "w/v.*w/w"),
        ("reading electrolyte zinc=32g/L zinc=33g/L", "there twice"),
        ("reading electrolyte zinc=32g/L@foo", "no method `foo`"),
        ("reading electrolyte pH=5.4@edta", "does not measure it; what does: pH strip"),
        ("reading electrolyte zinc=32g/L pH=5.4 method=thermometer", "measures temperature"),
        ("reading electrolyte zinc=32g/L±", "lacks a number"),
        ("reading electrolyte zinc=32g/L±0", "not above zero"),
        ("reading electrolyte zinc=32g/L±1±2", "more than one plus-minus"),
        ("reading electrolyte zinc=32g/L nickel=24g/L spread=0.5", "not clear to which value"),
        ("reading electrolyte pH=54", "0 to 14"),
        ("reading electrolyte nickel_share=0.14", "no percent sign"),
        ("reading electrolyte temperature=35", "has no unit"),
        ("reading electrolyte confirms=", "id of the doubtful reading"),
        ("run bolts", "at least one tank"),
        ("run bolts pickle", "`pickle` is a tank"),
        ("run bolts electrlyte=6.5A*45min", "did you mean `electrolyte`"),
        ("run bolts electrolyte=6.5A", "a current without a time"),
        ("run bolts electrolyte=6.5*45min", "has no unit"),
        ("run bolts electrolyte=6.5A*45", "has no unit"),
        ("run bolts electrolyte=45min*45min", "a time and another time"),
        ("run bolts electrolyte=240mA..210mA", "needs a time"),
        ("run bolts electrolyte=1A..2A..3A*8h", "more than two ends"),
        ("run bolts electrolyte=2A*10min+6A", "without a time"),
        ("run bolts electrolyte=2A*10min+5Ah", "every stretch is a current for a time"),
        ("run bolts electrolyte=20ASF*45min", "needs the area"),
        ("run bolts electrolyte=2min±3%", "belongs to a charge"),
        ("run bolts electrolyte=2A*10min+6A*30min±2", "in Ah or in percent"),
        ("run bolts electrolyte=6.5A*45min electrolyte=2A*10min", "there twice"),
        ("run bolts electrolyte.zinc=45min", "a branch needs a charge"),
        ("run bolts electrolyte@3V=6A*45min", "volts belong to a branch"),
        ("run bolts electrolyte@warm=6A*45min", "no number"),
        ("run bolts count=2.5 pickle=2min", "whole number"),
        ("run bolts area=3.2 pickle=2min", "has no unit"),
        ("run bolts supply=bench-1 pickle=2min", "step with current"),
        ("run bolts before=812g after=-1g pickle=2min", "below zero"),
        ("addition electrolyte", "at least one reagent"),
        ("addition electrolyte 'zinc chloride'", "has no amount"),
        ("addition electrolyte 'zinc chlorid=4g'", "zinc chloride"),
        ("addition electrolyte 'hydrochloric acid=4mL'", "hydrochloric acid 31%, .*37%"),
        ("addition electrolyte 'zinc chloride=20mL'", "unit of volume, and a mass is wanted"),
        ("addition electrolyte 'zinc chloride=4oz'", "113.4 g or .*124.4 g"),
        ("addition electrolyte water=0L", "is nothing"),
        ("addition electrolyte lot=A 'zinc chloride=4g'", "behind the reagent"),
        ("make_up electrolyte foo=3g", "neither in the recipe"),
        ("make_up electrolyte zinc=32kg", "unit of mass"),
        ("make_up dry", "how much was filled in"),
        ("removal electrolyte", "how much was taken out"),
        ("removal electrolyte all volume=2L", "only one of them"),
        ("removal electrolyte 0.5L to=sewer", "consent"),
        ("removal electrolyte 0.5L too=drum-1", "did you mean `to`"),
        ("removal electrolyte all to=electrolyte", "to itself"),
        ("anode electrolyte", "which anode"),
        ("anode electrolyte zinc-1", "what happened to it"),
        ("anode electrolyte zinc-1 weighed", "what it weighed"),
        ("anode electrolyte bar hung=1kg", "made of"),
        ("anode electrolyte bar hung=1kg metal=zink", "did you mean `zinc`"),
        ("anode electrolyte zinc-1 hung=1kg lifted", "two entries"),
        ("anode electrolyte zinc-1 weighed=1kg brushed=perhaps", "neither yes nor no"),
        ("remark", "needs its text"),
        ("remark electrolite 'foam on top'", "did you mean `electrolyte`"),
        ("calibration suply bench-1 against=x result=1", "supply, scale, meter, titrant lot"),
        ("calibration supply bench-1 result=1", "against is missing"),
        ("calibration supply bench-1 against=x result=0", "not above zero"),
        ("tank new", "what is new for"),
        ("tank new role=plait", "not one of degrease"),
        ("tank new role=plate recipe=zinc-nickel", "did you mean"),
        ("tank new role=plate volume=5gal", "which gallon"),
        ("tank new role=plate volume=50L full=40L", "at least working_volume_l"),
        ("tank sample role=plate", "reserved place"),
        ("workshop", "what is the workshop called"),
        ("workshop x gallon=uk", "not one of us, imperial"),
        ("workshop x units.volume=parsec", "not a known unit of volume"),
        ("definition reagent", "what it defines"),
        ("definition reagent mine '{bad'", "neither JSON nor TOML"),
        ("""definition reagent mine '{"form": "goo"}'""", "expected one of solid"),
        ("definition reagent mine 'purity = nan'", "not finite"),
        ("correction", "which entry"),
        ("correction 0123456789ab withdraw", "says why"),
        ("correction 0123456789ab reason=x", "withdraws the entry or says what is right"),
        ("correction 0123456789ab reason=x zinc=31g/L", "no entry 0123456789ab"),
    ],
)
def test_every_wrong_word_gets_one_clear_sentence(line: str, says: str) -> None:
    with pytest.raises(PhraseError, match=says) as refused:
        said(line)
    assert "\n" not in str(refused.value) and len(str(refused.value)) < 700


def test_a_moment_needs_its_offset() -> None:
    with pytest.raises(PhraseError, match="offset"):
        compose("reading", ["electrolyte", "zinc=32g/L"], PLAIN, datetime(2025, 3, 1, 10))


def test_every_kind_has_a_form_and_an_example_that_works() -> None:
    assert set(EXAMPLES) == set(KINDS)
    for kind, example in EXAMPLES.items():
        if kind != "correction":
            assert said(example).raw["kind"] == kind


@pytest.mark.parametrize("prefs", [Preferences(), Preferences(decimal_comma=True), Preferences(decimal_comma=False)])
def test_a_decimal_comma_never_makes_a_tenfold_dose(prefs: Preferences) -> None:
    words = vocabulary(prefs)
    assert value("reading electrolyte zinc=1,5g/L", "zinc", words)["value"] == 1.5
    assert said("addition electrolyte 'zinc chloride=1,5 g'", words).raw["items"][0]["amount"] == 1.5


def test_the_workshops_gallon_is_used_and_echoed() -> None:
    composed = said("reading electrolyte zinc=4.5oz/gal", vocabulary(Preferences(gallon="imperial")))
    assert composed.understood == ["zinc 28.1 g/L (4.5 oz/imp gal)"]


# --- laws

names = st.text(st.characters(codec="utf-8", categories=("L", "N", "P", "S", "Zs")), min_size=1, max_size=100).filter(
    lambda t: t.strip() == t
)


@given(names)
@settings(max_examples=60, deadline=None)
def test_any_description_survives(text: str) -> None:
    composed = compose("run", [f"description={text}", "electrolyte=6.5A*45min"], PLAIN, AT)
    assert composed.raw["parts"] == [{"description": text}]
    if "=" not in text and text.casefold() not in (*PLAIN.tanks, "whole-line"):
        assert compose("run", [text, "pickle=2min"], PLAIN, AT).raw["parts"] == [{"description": text}]


@given(st.text(st.characters(codec="utf-8"), min_size=1, max_size=300).filter(lambda t: t.strip()))
@settings(max_examples=60, deadline=None)
def test_any_remark_survives(text: str) -> None:
    composed = compose("remark", ["electrolyte", f"text={text}"], PLAIN, AT)
    assert composed.raw["text"] == text and composed.raw["tank"] == "electrolyte"
    assert all("\n" not in line for line in composed.understood)


some_words = st.sampled_from([
    "electrolyte", "zinc=", "=", "zinc=32g/L", "area=", "electrolyte=6.5A", "pH=5", "±", "@", "all", "hung=1kg",
    "reason=x", "{",
])


@given(st.sampled_from(sorted(KINDS)), st.lists(st.one_of(names, some_words), max_size=5))
@settings(max_examples=150, deadline=None)
def test_any_words_become_an_entry_or_one_sentence(kind: str, words: list[str]) -> None:
    try:
        composed = compose(kind, words, PLAIN, AT)
    except PhraseError as refused:
        assert str(refused) and "\n" not in str(refused)
    else:
        parse({**composed.raw, "id": "0123456789"})


def test_a_part_of_the_keepers_own_brings_its_area_and_class() -> None:
    body = {"area_dm2": 0.16, "spread": 0.01, "property_class": "10.9"}
    plain = vocabulary()
    own = Vocabulary(plain.prefs, plain.tanks, plain.catalogue.with_definitions([("part", "cleat A", body)]))
    made = compose("run", ["cleat A", "count=20", "electrolyte=5A*40min"], own, AT)
    part = made.raw["parts"][0]
    assert part["area_dm2"] == pytest.approx(3.2)
    assert part["spread"] == pytest.approx(0.2)
    assert part["property_class"] == "10.9"
    told = compose("run", ["cleat A", "area=4dm2", "class=8.8", "electrolyte=5A*40min"], own, AT)
    assert told.raw["parts"][0]["area_dm2"] == 4.0
    assert told.raw["parts"][0]["property_class"] == "8.8"


ODD = ["a.b", "c:d", "e=f", "g@h", "a", "two words.3"]


@pytest.mark.parametrize("tank", ODD)
def test_a_tank_named_exactly_may_have_signs_of_the_grammar_in_its_name(tank: str) -> None:
    plain = vocabulary()
    tanks = {n: TankWord(n, "plate", number, anodes={"zinc=1": "zinc"}) for number, n in enumerate(ODD)}
    words = Vocabulary(plain.prefs, tanks, plain.catalogue)
    steps = compose("run", ["load", f"{tank}=2A*30min"], words, AT).raw["steps"]
    assert steps == [{"tank": tank, "minutes": 30.0, "charge": {"current_a": 2.0}}]
    steps = compose("run", ["load", f"{tank}.bench-1:zinc-1@3.2V=2A*30min"], words, AT).raw["steps"]
    assert steps[0]["tank"] == tank
    assert steps[0]["branches"] == [{"charge": {"current_a": 2.0}, "supply": "bench-1", "anodes": ["zinc-1"], "volts": 3.2}]
    assert compose("reading", [tank, "pH=5.4"], words, AT).raw["tank"] == tank
    assert compose("treatment", [tank, "what=filter"], words, AT).raw["tank"] == tank
    assert compose("remark", [tank, "foam"], words, AT).raw["tank"] == tank
    assert compose("removal", [tank, "all", "to=drum=1"], words, AT).raw["to"] == "drum=1"
    assert compose("anode", [tank, "zinc=1", "weighed=1kg"], words, AT).raw["anode"] == "zinc=1"
    assert compose("anode", [tank, "anode=x=y", "weighed=1kg"], words, AT).raw["anode"] == "x=y"


def test_a_calibration_may_name_what_it_is_of_by_its_key() -> None:
    raw = compose("calibration", ["supply", "name=a=b", "against=clamp", "result=1.02"], PLAIN, AT).raw
    assert raw["name"] == "a=b" and raw["what"] == "supply"


def test_a_correction_moves_an_entry_in_time_and_to_its_tank() -> None:
    values = [{"of": "iron", "value": 1.0, "unit": "g/L"}]
    original = {"kind": "reading", "id": "x" * 12, "at": AT.isoformat(), "tank": "pickle", "values": values}
    made = compose("correction", ["x" * 12, "when=2025-02-28 16:00", "reason=wrong day"], PLAIN, AT, original)
    assert made.raw["replacement"]["at"].startswith("2025-02-28T16:00")
    made = compose("correction", ["x" * 12, "tank=electrolyte", "reason=wrong tank"], PLAIN, AT, original)
    assert made.raw["replacement"]["tank"] == "electrolyte"


def test_a_correction_of_a_run_does_not_take_an_unknown_key_for_a_name() -> None:
    original = {"kind": "run", "id": "x" * 12, "at": AT.isoformat(), "steps": [{"tank": "pickle", "minutes": 2.0}]}
    with pytest.raises(PhraseError):
        compose("correction", ["x" * 12, "wen=2025-02-28", "reason=wrong day"], PLAIN, AT, original)


def test_a_strip_between_two_colours_is_a_band() -> None:
    value = compose("reading", ["electrolyte", "pH=5-5.5"], PLAIN, AT).raw["values"][0]
    assert value["value"] == pytest.approx(5.25)
    assert value["spread"] == pytest.approx(0.25)


def test_a_make_up_from_a_recipe_card() -> None:
    made = compose("make_up", ["pickle", "volume=20L", "sodium bisulfate=60g/L"], PLAIN, AT)
    assert made.raw["reagents"] == [{"reagent": "sodium bisulfate", "amount": pytest.approx(1200.0), "unit": "g"}]
