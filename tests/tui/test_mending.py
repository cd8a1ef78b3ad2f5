"""A correction's form, without an app: untouched it says what the entry says, touched it changes that and nothing else."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import msgspec
import pytest

from bathkeeper.entries import to_plain
from bathkeeper.tui import fields
from bathkeeper.tui.checking import check
from bathkeeper.tui.gathering import facts
from bathkeeper.tui.mending import mended
from bathkeeper.workshop import Workshop
from tests.tui.helpers import NOW, book

AT = "2026-06-19T10:00:00Z"
ODD: list[dict[str, Any]] = [
    {"kind": "reading", "tank": "electrolyte", "by": "A.", "typed": {"zinc": "4.2oz/usgal", "pH": "5.4±0.1@pH meter"},
     "values": [
        {"of": "zinc", "value": 31.456789012, "unit": "g/L", "spread": 0.123456, "method": "EDTA titration", "lot": "L7"},
        {"of": "ph", "value": 5.4, "unit": "pH"}, {"of": "panel", "unit": "verdict", "word": "good"},
        {"of": "level", "value": 310.0, "unit": "mm"}, {"of": "deposit_nickel", "value": 13.25, "unit": "%"}]},
    {"kind": "addition", "tank": "electrolyte", "plan": "p-1", "items": [
        {"reagent": "zinc chloride", "amount": 120.125, "unit": "g", "lot": "a"},
        {"reagent": "no such stuff", "amount": 5.0, "unit": "mL"}]},
    {"kind": "removal", "tank": "pickle", "all": True, "to": "drum=1", "note": "two\nlines"},
    {"kind": "make_up", "tank": "electrolyte", "volume_l": 38.5, "contents": {"zinc": 30.1234567, "iron": 0.01},
     "reagents": [{"reagent": "boric acid", "amount": 1000.0, "unit": "g"}], "temperature_c": 35.0},
    {"kind": "anode", "tank": "electrolyte", "anode": "a=b", "action": "weighed", "mass_g": 1492.25, "brushed": False,
     "spread": 1.5, "typed": {"weighed": "1492.25g"}},
    {"kind": "treatment", "tank": "electrolyte", "what": "carbon", "minutes": 90.0, "mass_g": 60.0,
     "items": [{"reagent": "activated carbon", "amount": 40.0, "unit": "g"}]},
    {"kind": "treatment", "run": "the-run-itself", "what": "bake", "minutes": 480.0, "temperature_c": 205.0},
    {"kind": "calibration", "what": "titrant lot", "name": "x=1", "against": "a = b", "result": 1.0203, "spread": 0.004},
    {"kind": "remark", "run": "the-run-itself", "text": "[/] \x1b[31m red\nline", "defect": "pitting"},
    {"kind": "tank", "tank": "a.b=c", "role": "plate", "order": 12, "recipe": "zinc-nickel-chloride-potassium",
     "in_service": False, "working_volume_l": 40.0, "full_volume_l": 45.0, "surface_dm2": 12.0,
     "level_table": [{"mm": 0.0, "volume_l": 0.0}, {"mm": 100.0, "volume_l": 12.5}]},
    {"kind": "workshop", "name": "a=b", "gallon": "us", "units": {"volume": "usgal"}, "scale_resolution_g": 0.5},
    {"kind": "definition", "of": "limit", "name": "my zinc", "body": {"of": "zinc", "tank": "electrolyte", "high": 38.0}},
    {"kind": "run", "mass_before_g": 100.0, "result": "dull", "parts": [
        {"description": "a=b bolts", "count": 4, "area_dm2": 2.123456789, "spread": 0.2, "property_class": "10.9"},
        {"description": "pins", "area_dm2": 1.0, "strength_mpa": 1100.0, "safety_critical": True, "coating_stripped_g": 2.0}],
     "steps": [
        {"tank": "pickle", "minutes": 2.0, "temperature_c": 30.0},
        {"tank": "electrolyte", "minutes": 45.0, "branches": [
            {"charge": {"current_a": 5.5}, "supply": "bench-1", "anodes": ["zinc-1"], "volts": 3.2},
            {"charge": {"stretches": [{"current_a": 0.95, "minutes": 45.0}]}, "anodes": ["nickel-1"]}]},
        {"tank": "dry", "minutes": 20.0}]},
    {"kind": "run", "steps": [
        {"tank": "electrolyte", "supply": "s", "dummy": True, "charge": {"trace": {
            "file": "t.csv", "sha256": "0" * 64, "charge_ah": 4.9, "gap_minutes": 1.0}}},
        {"tank": "rust-removal", "minutes": 30.0, "charge": {
            "ramp": {"from_a": 1.0, "to_a": 2.0, "minutes": 30.0}, "spread": 0.05}}]},
    {"kind": "container", "container": "moved", "action": "opened", "form": "drum=205", "size_l": 205.125, "place": "a=b, c;d",
     "what": "sludge", "mass_kg": 12.345678901, "spread": 0.123456},
    {"kind": "container", "container": "drum=1", "action": "put in", "what": "rags", "mass_kg": 0.6, "tank": "pickle"},
    {"kind": "container", "container": "put in", "action": "put in", "what": "empty packaging", "pieces": 3},
    {"kind": "container", "container": "a.b=c", "action": "moved", "volume_l": 5.123456789, "spread": 0.25, "to": "[/]=2",
     "typed": {"volume": "5.123456789L"}},
    {"kind": "container", "container": "d", "action": "moved", "all": True, "to": "sewer", "consent": "C = 7"},
    {"kind": "container", "container": "d", "action": "checked", "lid": True, "tray": False, "note": "two\nlines"},
    {"kind": "container", "container": "d", "action": "labelled", "codes": ["11 01 05*", "x=y"], "hazards": ["HP 8", "HP 14"]},
    {"kind": "container", "container": "d", "action": "tested", "by_lab": "Lab = North", "values": [
        {"of": "ph", "value": 1.0, "unit": "pH", "spread": 0.5}, {"of": "nickel", "value": 110.125, "unit": "mg/L"},
        {"of": "no such thing", "value": 2.0, "unit": "g/L"}]},
    {"kind": "container", "container": "d", "action": "treated", "treatment": "neutralised", "volume_l": 1.5, "items": [
        {"reagent": "calcium hydroxide", "amount": 600.125, "unit": "g"},
        {"reagent": "no such stuff", "amount": 5.0, "unit": "mL"}]},
    {"kind": "container", "container": "d", "action": "handed over", "all": True, "mass_kg": 20.6, "to": "Desk = 1",
     "codes": ["11 01 98*"], "hazards": ["HP 7"], "reference": "LS=1", "receipt": "Q = 4", "receipt_at": "2026-06-19T09:30:00Z",
     "papers": {"carrier": "own = car", "weighed": True, "pops": False, "refused": "two = kilos", "un_number": "3264"}},
    {"kind": "container", "container": "d", "action": "handed over", "reference": "LS-1", "receipt": "Q"},
]  # fmt: skip


def name(raw: dict[str, Any]) -> str:
    return f"{raw['kind']} {raw.get('action', raw.get('what', raw.get('tank', '')))}"


def form(workshop: Workshop, id: str) -> tuple[str, list[Any], dict[str, str], Any]:
    entry = workshop.entry(id)
    known = facts(workshop, entry.kind, getattr(entry, "tank", None), id)
    asked = fields.fields_of(entry.kind, getattr(entry, "tank", None), known)
    return entry.kind, asked, {f.key: f.default for f in asked}, known


@pytest.mark.parametrize("raw", ODD, ids=name)
def test_untouched_it_says_what_the_entry_says(tmp_path: Path, raw: dict[str, Any]) -> None:
    workshop = Workshop.open(book(tmp_path))
    id = workshop.log({**raw, "at": AT}).entry.id
    kind, asked, began, known = form(workshop, id)
    texts = {k: t for k, t in began.items() if t.strip()} | {"reason": "because"}
    checked = check(kind, asked, texts, known.vocabulary, NOW)
    assert checked.raw is not None, (checked.refused, checked.trouble)
    told = mended(checked, known.last, asked, began, texts, NOW)
    assert told.raw is None and "nothing differs" in told.trouble


@pytest.mark.parametrize("raw", ODD, ids=name)
def test_a_note_changes_the_note_and_nothing_else(tmp_path: Path, raw: dict[str, Any]) -> None:
    if raw["kind"] == "definition":
        pytest.skip("a definition's form asks no note")
    workshop = Workshop.open(book(tmp_path))
    before = json.loads(msgspec.json.encode(to_plain(workshop.log({**raw, "at": AT}).entry)))
    kind, asked, began, known = form(workshop, before["id"])
    texts = {k: t for k, t in began.items() if t.strip()} | {"reason": "because", "note": "seen again"}
    told = mended(check(kind, asked, texts, known.vocabulary, NOW), known.last, asked, began, texts, NOW)
    assert told.raw is not None, (told.refused, told.trouble)
    workshop.correct(before["id"], told.raw["reason"], told.raw["replacement"], NOW)
    after = json.loads(msgspec.json.encode(to_plain(workshop.entry(before["id"]))))  # type: ignore[arg-type]
    assert {k: v for k, v in after.items() if k not in ("note", "typed")} == {
        k: v for k, v in before.items() if k not in ("note", "typed")
    }
    assert after["note"] == "seen again" and before["id"] in workshop.corrected()


def test_what_is_touched_changes_and_its_old_typed_text_goes(tmp_path: Path) -> None:
    workshop = Workshop.open(book(tmp_path))
    id = workshop.log({**ODD[0], "at": AT}).entry.id
    kind, asked, began, known = form(workshop, id)
    assert began["values:zinc"] == "4.2oz/usgal"  # as it was typed
    texts = {**began, "values:zinc": "30", "values:panel": "", "reason": "misread"}
    told = mended(check(kind, asked, texts, known.vocabulary, NOW), known.last, asked, began, texts, NOW)
    assert told.raw is not None
    new = told.raw["replacement"]
    values = {v["of"]: v for v in new["values"]}
    assert values["zinc"] == {"of": "zinc", "value": 30.0, "unit": "g/L"} and "panel" not in values
    assert values["deposit_nickel"]["value"] == 13.25 and new["by"] == "A." and "at" not in new
    assert new["typed"] == {"zinc": "30 g/L", "pH": "5.4±0.1@pH meter"}


def test_a_reason_is_needed_and_the_moment_can_be_mended(tmp_path: Path) -> None:
    workshop = Workshop.open(book(tmp_path))
    id = workshop.log({**ODD[2], "at": AT}).entry.id
    kind, asked, began, known = form(workshop, id)
    texts = {**began, "when": "2026-06-18T09:00+00:00"}
    checked = check(kind, asked, texts, known.vocabulary, NOW)
    assert "reason" in mended(checked, known.last, asked, began, texts, NOW).refused
    texts["reason"] = "a day early"
    told = mended(checked, known.last, asked, began, texts, NOW)
    assert told.raw is not None
    workshop.correct(id, "a day early", told.raw["replacement"], NOW)
    assert workshop.entry(id).at.day == 18


def test_the_whole_sample_could_be_corrected(tmp_path: Path) -> None:
    from bathkeeper.sample import sample_path

    workshop = Workshop.open(sample_path())
    seen: dict[str, int] = {}
    for entry in workshop.entries():
        seen[entry.kind] = seen.get(entry.kind, 0) + 1
        if seen[entry.kind] > 3:
            continue
        kind, asked, began, known = form(workshop, entry.id)
        texts = {k: t for k, t in began.items() if t.strip()} | {"reason": "x"}
        told = mended(check(kind, asked, texts, known.vocabulary, NOW), known.last, asked, began, texts, NOW)
        assert "nothing differs" in told.trouble, (kind, told.refused, told.trouble)
