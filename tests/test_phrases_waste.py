"""What is done to containers of waste, in words; and what cannot be meant."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import pytest

from bathkeeper.catalogue.loader import load
from bathkeeper.entries import Container, EntryError, Tank, containers_of, parse, to_plain
from bathkeeper.phrases import PhraseError, Vocabulary, compose
from bathkeeper.phrases.waste import EXAMPLES

AT = datetime(2026, 5, 1, 12, tzinfo=UTC)
TANK = Tank(id="tank-0001", at=AT, tank="electrolyte", role="plate", recipe="zinc-nickel-chloride-potassium", place=6)
WORDS = Vocabulary.of(load(), None, [TANK])


def said(*words: str) -> dict[str, Any]:
    raw = compose("container", words, WORDS, AT).raw
    return {k: v for k, v in raw.items() if k not in ("kind", "at", "typed")}


def test_every_action_has_its_example_and_becomes_an_entry():
    import shlex

    for action, example in EXAMPLES.items():
        made = compose("container", shlex.split(example)[1:], WORDS, AT)
        entry = parse({"id": "waste-0001", **made.raw})
        assert isinstance(entry, Container) and entry.action == action
        assert parse({"id": "waste-0001", **to_plain(entry)}) == entry


def test_amounts_come_in_any_unit_of_their_kind():
    assert said("tote-1", "moved", "volume=1usgal", "to=drum-2")["volume_l"] == pytest.approx(3.785411784)
    assert said("drum-5", "put-in", "rags", "mass=2lb")["mass_kg"] == pytest.approx(0.90718474)
    assert said("drum-5", "put-in", "what=filters", "pieces=3") == {
        "container": "drum-5", "action": "put in", "what": "filters", "pieces": 3,
    }  # fmt: skip


def test_a_test_is_a_reading_of_anything_known():
    made = said("drum-1", "tested", "pH=1.5", "nickel=110mg/L±10", "lab=Invented Analytics", "density=1.06g/cm3")
    assert made["values"][0] == {"of": "ph", "value": 1.5, "unit": "pH"}
    assert made["values"][1]["of"] == "nickel" and made["values"][1]["value"] == pytest.approx(0.11)
    assert made["by_lab"] == "Invented Analytics"


def test_papers_of_a_hand_over():
    papers = ("reference=H-17", "carrier=A & B", "vehicle=van", "weighed=yes", "codes=11 01 05*, 11 01 06*")
    made = said("drum-1", "handed-over", "all", "mass=24kg", "to=county point", *papers)
    assert made["papers"] == {"carrier": "A & B", "vehicle": "van", "weighed": True}
    assert made["codes"] == ["11 01 05*", "11 01 06*"] and made["mass_kg"] == 24 and made["all"] is True
    later = said("drum-1", "handed-over", "reference=H-17", "receipt=R-9", "receipt-at=2026-04-30")
    assert later["receipt"] == "R-9" and later["receipt_at"].startswith("2026-04-30")


def test_why_it_became_waste_and_how_it_looks():
    made = said("drum-5", "put-in", "sludge", "mass=2kg", "why=settled out of the rinse", "physical-form=sludge", "color=green")
    assert (made["why"], made["physical_form"], made["colour"]) == ("settled out of the rinse", "sludge", "green")
    seen = said("drum-1", "tested", "pH=1.5", "colour=yellow", "physical_form=liquid")
    assert (seen["colour"], seen["physical_form"], len(seen["values"])) == ("yellow", "liquid", 1)
    assert said("drum-1", "handed-over", "all", "to=county point", "why=spent")["why"] == "spent"
    raw = compose("removal", ["electrolyte", "volume=5L", "to=drum-1", "why=too much iron"], WORDS, AT).raw
    assert raw["why"] == "too much iron" and parse({"id": "waste-0001", **raw}).why == "too much iron"  # type: ignore[union-attr]


def test_entries_from_before_these_were_asked_still_read():
    old = {"kind": "removal", "id": "waste-0001", "at": AT, "tank": "electrolyte", "all": True, "to": "drum-1"}
    assert "why" not in to_plain(parse(old))
    drum = {"kind": "container", "id": "waste-0002", "at": AT, "container": "drum-1", "action": "opened", "volume_l": 3.0}
    assert not {"why", "physical_form", "colour"} & set(to_plain(parse(drum)))


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ([], "which container?"),
        (["drum-1"], "what was done to it?"),
        (["drum-1", "burnt"], "what was done to it?"),
        (["drum-1", "moved", "all"], "where it was moved to"),
        (["drum-1", "moved", "to=drum-2"], "how much in one way"),
        (["drum-1", "moved", "all", "volume=2L", "to=drum-2"], "how much in one way"),
        (["drum-1", "moved", "all", "to=drum-1"], "into itself"),
        (["drum-1", "moved", "all", "to=sewer"], "consent"),
        (["drum-1", "checked"], "what was checked"),
        (["drum-1", "checked", "lid=perhaps"], "neither yes nor no"),
        (["drum-1", "tested"], "at least one value"),
        (["drum-1", "tested", "pH=15.5"], "pH"),
        (["drum-1", "treated", "calcium hydroxide=6g"], "what was done"),
        (["drum-1", "put-in", "mass=2kg"], "what was put in"),
        (["drum-1", "put-in", "rags"], "how much was put in"),
        (["drum-1", "put-in", "rags", "pieces=some"], "not a whole number"),
        (["drum-1", "handed-over", "all"], "to whom"),
        (["drum-1", "handed-over", "to=the point"], "how much was handed over"),
        (["drum-1", "handed-over", "all", "to=the point", "of=abc"], "does without"),
        (["drum-1", "opened", "volume=-3L"], "volume"),
        (["drum-1", "labelled", "lid=yes"], "nothing called `lid`"),
        (["sewer", "opened"], "reserved place"),
        (["drum-1", "moved", "volume=1,500L", "to=drum-2"], "1,500"),
        (["drum-1", "opened", "size=5gal"], "gallon"),
    ],
)
def test_what_cannot_be_is_one_sentence(words: list[str], says: str):
    with pytest.raises(PhraseError, match=says.replace("?", r"\?")):
        compose("container", words, WORDS, AT)


def test_fields_belong_to_their_action():
    with pytest.raises(EntryError, match="lid does not belong to `opened`"):
        parse({"kind": "container", "id": "waste-0001", "at": AT, "container": "drum", "action": "opened", "lid": False})


def test_the_containers_of_an_entry():
    poured = {"container": "a", "action": "moved", "all": True, "to": "b"}
    moved = parse({"kind": "container", "id": "waste-0001", "at": AT, **poured})
    assert containers_of(moved) == {"a", "b"}
    dumped = parse({"kind": "removal", "id": "waste-0002", "at": AT, "tank": "pickle", "all": True, "to": "b"})
    assert containers_of(dumped) == {"b"} and containers_of(dumped, {"b"}) == set()
    sampled = parse({"kind": "removal", "id": "waste-0003", "at": AT, "tank": "pickle", "volume_l": 0.1, "to": "sample"})
    assert containers_of(sampled) == set()
