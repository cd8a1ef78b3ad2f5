"""What became of a run, loads weighed together, and the shelf, plans and things put off: in words and back in one line."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from bathkeeper.catalogue.loader import load
from bathkeeper.entries import Run, Tank, parse
from bathkeeper.headlines import sentence
from bathkeeper.phrases import PhraseError, Vocabulary, compose
from bathkeeper.workshop import Workshop

AT = datetime(2026, 3, 14, 9, 30, tzinfo=UTC)


def tank(name: str, role: str, order: int, recipe: str) -> Tank:
    made = parse({"kind": "tank", "id": f"tank-{name}", "at": AT, "tank": name, "role": role, "order": order, "recipe": recipe})
    assert isinstance(made, Tank)
    return made


def run(number: int, **step: Any) -> Run:
    steps = [{"tank": "electrolyte", "minutes": 40.0, **step}]
    made = parse({"kind": "run", "id": f"0198-aaaa-{number:08d}", "at": AT + timedelta(hours=number), "steps": steps})
    assert isinstance(made, Run)
    return made


CURRENT = {"charge": {"current_a": 6.0}}
RUNS = [run(1, **CURRENT), run(2, **CURRENT), run(3), run(4, **CURRENT, dummy=True), run(5, **CURRENT)]
TANKS = [tank("electrolyte", "plate", 2, "zinc-nickel-chloride-potassium"), tank("pickle", "pickle", 1, "bisulfate-pickle")]
KNOWN = Vocabulary.of(load(), None, TANKS, {}, RUNS)


def raw(kind: str, *words: str) -> dict[str, Any]:
    return compose(kind, words, KNOWN, AT).raw


@pytest.mark.parametrize(
    ("words", "fields"),
    [
        (["result=good"], {"result": "good"}),
        (["defect=Black recesses"], {"defect": "dark_recesses"}),
        (["defect=purple"], {"defect": "purple"}),
        (["rejects=2"], {"rejects": 2}),
        (["rejects=0"], {"rejects": 0}),
        (["photo=a.jpg,b.jpg"], {"photos": ["a.jpg", "b.jpg"]}),
        (["photo=a.jpg", "photo=b.jpg"], {"photos": ["a.jpg", "b.jpg"]}),
        (["photo=/home/x/pictures/a.jpg"], {"photos": ["a.jpg"]}),
        (["photo=C:\\pictures\\a.jpg"], {"photos": ["a.jpg"]}),
    ],
)
@pytest.mark.parametrize("start", [("run", "x", "electrolyte=6A*40min"), ("remark", "run=last")])
def test_an_outcome_is_said_alike_of_a_new_run_and_of_one_that_was(start, words, fields):
    made = raw(*start, *words)
    assert fields.items() <= made.items()


@pytest.mark.parametrize(
    ("kind", "words", "says"),
    [
        ("run", ["x", "electrolyte=6A*40min", "rejects=1.5"], "rejects: `1.5` is not a whole number"),
        ("run", ["x", "electrolyte=6A*40min", "rejects=-1"], "rejects: `-1` is not a whole number"),
        ("run", ["x", "electrolyte=6A*40min", "rejects=two"], "rejects: "),
        ("run", ["x", "electrolyte=6A*40min", "defect="], "defect= has nothing behind it"),
        ("run", ["x", "electrolyte=6A*40min", "photo=pictures/"], None),
        ("remark", ["electrolyte", "hm", "rejects=2"], "belong to a run"),
        ("remark", ["run=last-2", "result=good"], "2 runs are named"),
        ("remark", ["run=nothing-like-it", "result=good"], "no run has the id"),
        ("remark", ["run=0198-aaaa", "result=good"], "5 runs have the id"),
        ("remark", ["run=abc", "result=good"], "no run has the id"),
        ("reading", ["runs=last-9", "deposit_mass=35g"], "asks for 9 plated runs, and 3 are on record"),
        ("reading", ["runs=last,last", "deposit_mass=35g"], "is there twice"),
        ("reading", ["run=last", "runs=last-2", "deposit_mass=35g"], "the same said twice"),
        ("reading", ["runs=last-2", "before=2310g"], "before and after plating, once each"),
        ("reading", ["runs=last-2", "before=2310g", "before=2311g"], "before and after plating, once each"),
        ("reading", ["runs=last-2", "before=2345g", "after=2310g"], "35 g less after plating than before"),
        ("reading", ["electrolyte", "before=2310g", "after=2345g"], "belong to plated loads"),
        ("reading", ["runs=last-2", "before=2310g±1", "after=2345g"], "a spread cannot be kept here"),
        ("reading", ["runs=last-2", "before=2310", "after=2345g"], "before: "),
    ],
)
def test_what_cannot_be_says_what_would_be_right(kind, words, says):
    if says is None:
        assert raw(kind, *words)["photos"] == ["pictures"]
        return
    with pytest.raises(PhraseError, match=says):
        raw(kind, *words)


def test_loads_weighed_together_by_their_masses_before_and_after():
    made = raw("reading", "runs=last-3", "before=2310g", "after=2345.5g")
    assert made["runs"] == [r.id for r in (RUNS[0], RUNS[1], RUNS[4])], "neither the dummy nor what was only dipped"
    assert made["values"] == [{"of": "deposit_mass", "value": 35.5, "unit": "g"}]
    assert made["typed"] == {"before": "2310g", "after": "2345.5g"}
    assert raw("reading", "run=00000002", "deposit_mass=5g±0.5")["run"] == RUNS[1].id
    assert raw("reading", "run=last", "thickness=8um")["run"] == RUNS[4].id


def test_ids_stand_as_written_where_no_runs_are_known():
    bare = Vocabulary.of(load(), None, TANKS)
    made = compose("reading", ["runs=aaaaaaaa,bbbbbbbb", "deposit_mass=35g"], bare, AT).raw
    assert made["runs"] == ["aaaaaaaa", "bbbbbbbb"]


def test_a_remark_that_only_says_what_became_of_a_run_needs_no_text():
    made = raw("remark", "run=last", "result=good", "rejects=1", "photo=a.jpg")
    assert made["text"] == "good, 1 reject, photo a.jpg"
    entry = parse({**made, "id": "x" * 10})
    assert sentence(entry) == "remark: good, 1 reject, photo a.jpg"


@pytest.mark.parametrize(
    ("raw", "line"),
    [
        (
            {"kind": "run", "steps": [{"tank": "electrolyte", "minutes": 40.0, "charge": {"current_a": 6.0}}], "result": "good",
             "defect": "dark_recesses", "rejects": 2},
            "run: load: electrolyte 6 A for 40 min; good, dark recesses, 2 rejects",
        ),
        ({"kind": "remark", "run": "abcdefgh", "text": "after a bake", "defect": "blisters"}, "remark: blisters: after a bake"),
        (
            {"kind": "reading", "runs": ["abcdefgh", "bcdefghi"], "values": [{"of": "deposit_mass", "value": 11, "unit": "g"}]},
            "reading: deposit mass 11 g, of 2 loads together",
        ),
        (
            {"kind": "stock", "reagent": "soda", "action": "bought", "amount": 900, "unit": "g", "price": 9.5, "lot": "B"},
            "stock: soda bought 900 g for 9.5, lot B",
        ),
        (
            {"kind": "stock", "reagent": "zinc", "what": "anode", "action": "counted", "amount": 3, "unit": "g"},
            "stock: zinc (anode) counted 3 g",
        ),
        (
            {"kind": "plan", "tank": "electrolyte", "purpose": "dose", "steps": [
                {"step": 1, "action": "measure", "of": "nickel"},
                {"step": 2, "action": "add", "reagent": "nickel chloride", "amount": 57, "unit": "g"}]},
            "plan electrolyte: to dose: 1 measure nickel; 2 add nickel chloride 57 g",
        ),
        (
            {"kind": "plan", "tank": "electrolyte", "purpose": "dose", "dropped": "0198-aaaa-00000007"},
            "plan electrolyte: to dose: gives up 00000007",
        ),
        (
            {"kind": "snooze", "finding": "electrolyte.low.nickel", "until": AT + timedelta(days=3), "reason": "salt ordered"},
            "snooze: electrolyte.low.nickel put off until 2026-03-17: salt ordered",
        ),
    ],
)  # fmt: skip
def test_one_line_of_each(raw, line):
    assert sentence(parse({"id": "x" * 10, "at": AT, **raw})) == line


def test_logging_one_load_on_a_gram_scale_says_that_it_proves_little(tmp_path: Path):
    workshop = Workshop.new(tmp_path / "w.logbook.jsonl", "w", "zinc-nickel-line", AT)
    workshop.log({"kind": "make_up", "at": AT + timedelta(hours=1), "tank": "electrolyte", "volume_l": 40.0})
    for hour in range(2, 12):
        step = {"tank": "electrolyte", "minutes": 45.0, "charge": {"charge_ah": 5.0}}
        workshop.log({"kind": "run", "at": AT + timedelta(hours=hour), "steps": [step]})
    at = AT + timedelta(hours=12)
    one = compose("reading", ["run=last", "before=900g", "after=905g"], workshop.vocabulary, at).raw
    assert any("one load proves little; weigh" in line for line in workshop.preview(one))
    ten = compose("reading", ["runs=last-10", "before=9000g", "after=9053g"], workshop.vocabulary, at).raw
    told = workshop.log(ten).changes
    assert any("cathode efficiency 93" in line and "of what it was" in line for line in told)
