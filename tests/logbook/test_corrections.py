"""Corrections: what acts, what waits, and that order of arrival does not matter, against a plain reading of the rules."""

from __future__ import annotations

import random
from typing import Any

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bathkeeper.entries import AnyEntry, Correction, Remark, Unknown
from bathkeeper.logbook.corrections import resolve

from .helpers import correction, moment, reading, remark, unknown


def texts(*entries: AnyEntry | Unknown) -> list[str]:
    effective, problems = resolve(entries)
    assert not problems
    return [entry.text for entry in effective if isinstance(entry, Remark)]


WRONG = remark("wrong", 10, id="entry-wrong")


def test_withdrawn() -> None:
    assert texts(remark("other", 0), WRONG, correction(WRONG.id, 20)) == ["other"]


def test_replaced_at_its_own_time_under_its_own_id() -> None:
    effective, problems = resolve([remark("later", 15), correction(WRONG.id, 20, text="right"), WRONG])
    assert not problems
    assert effective[0] == msgspec.structs.replace(WRONG, text="right")
    assert (effective[0].id, effective[0].at) == (WRONG.id, moment(10))


def test_a_replacement_is_the_whole_entry() -> None:
    noted = remark("wrong", 10, id="entry-wrong", note="seen by lamp light", tank="pickle")
    effective, _ = resolve([noted, correction(noted.id, 20, text="right")])
    assert effective == [remark("right", 10, id="entry-wrong")]


def test_a_replacement_may_move_the_entry() -> None:
    moved = correction(WRONG.id, 20, text="right", at=moment(-5).isoformat())
    assert texts(remark("first", 0), WRONG, moved) == ["right", "first"]


def test_the_latest_by_time_then_id_wins_however_they_arrive() -> None:
    early, late = correction(WRONG.id, 20, text="early"), correction(WRONG.id, 30, text="late")
    tie_a, tie_b = correction(WRONG.id, 30, id="tie-a-0001", text="a"), correction(WRONG.id, 30, id="tie-b-0001", text="b")
    assert texts(WRONG, late, early) == texts(early, late, WRONG) == ["late"]
    assert texts(tie_b, tie_a, WRONG, early) == ["b"]
    assert texts(WRONG, correction(WRONG.id, 20), late) == ["late"]
    assert texts(WRONG, correction(WRONG.id, 40), late) == []


def test_a_correction_can_be_withdrawn_and_corrected() -> None:
    undo = correction(WRONG.id, 20, id="undo-00001")
    redo = correction(undo.id, 30, id="redo-00001")
    undo_again = correction(redo.id, 40)
    assert texts(WRONG, undo) == []
    assert texts(WRONG, undo, redo) == ["wrong"]
    assert texts(WRONG, undo, redo, undo_again) == []
    changed = correction(undo.id, 30, {"reason": "better", "replacement": {"text": "right"}})
    assert texts(WRONG, undo, changed) == ["right"]


def test_falls_back_to_the_correction_before_when_the_latest_is_withdrawn() -> None:
    early, late = correction(WRONG.id, 20, text="early"), correction(WRONG.id, 30, text="late")
    assert texts(WRONG, early, late, correction(late.id, 40)) == ["early"]


def test_a_long_chain_of_undo_and_redo() -> None:
    chain: list[Any] = [WRONG]
    for n in range(5001):
        chain.append(correction(chain[-1].id, 20 + n))
    random.Random(1).shuffle(chain)
    assert texts(*chain) == []


def test_one_without_its_entry_waits() -> None:
    waiting = correction("not-here-yet", 20, text="right")
    effective, problems = resolve([WRONG, waiting])
    assert effective == [WRONG]
    assert [p.entry for p in problems] == [waiting.id] and "waits" in problems[0].what and "not-here-yet" in problems[0].what
    assert texts(remark("come", 10, id="not-here-yet"), waiting) == ["right"]
    assert texts(WRONG, waiting, correction(waiting.id, 30)) == ["wrong"]


@pytest.mark.parametrize(
    ("replacement", "says"),
    [
        ({"kind": "reading", "tank": "t", "values": [{"of": "ph", "value": 5.0, "unit": "pH"}]}, "of kind `reading`"),
        ({}, "text"),
        ({"text": 5}, "text"),
        ({"text": "x", "colour": "blue"}, "colour"),
        ({"text": "x", "id": "another-entry"}, "leave the id out"),
        ({"text": "x", "at": "2026-05-01T08:00:00"}, "timezone"),
    ],
)
def test_a_replacement_that_cannot_be_leaves_the_entry(replacement: dict[str, Any], says: str) -> None:
    bad = correction(WRONG.id, 20, replacement)
    effective, problems = resolve([WRONG, bad])
    assert effective == [WRONG]
    assert [p.entry for p in problems] == [bad.id] and says in problems[0].what and problems[0].right
    assert resolve([WRONG, correction(WRONG.id, 15, text="fine"), bad])[0] == [remark("fine", 10, id=WRONG.id)]


def test_a_correction_cannot_be_aimed_elsewhere() -> None:
    other = remark("other", 0, id="entry-other")
    undo = correction(WRONG.id, 20)
    aimed = correction(undo.id, 30, {"corrects": other.id, "reason": "x", "withdraw": True})
    effective, problems = resolve([WRONG, other, undo, aimed])
    assert effective == [other] and "withdraw the correction" in problems[0].what


def test_rings_act_on_nothing_and_are_told_once() -> None:
    a = Correction(id="ring-a-001", at=moment(1), corrects="ring-b-001", reason="r", withdraw=True)
    b = Correction(id="ring-b-001", at=moment(2), corrects="ring-c-001", reason="r", withdraw=True)
    c = Correction(id="ring-c-001", at=moment(3), corrects="ring-a-001", reason="r", withdraw=True)
    outside = correction(a.id, 9)
    effective, problems = resolve([WRONG, c, a, outside, b])
    assert effective == [WRONG]
    assert len(problems) == 1 and "ring-a-001, ring-b-001, ring-c-001" in problems[0].what


def test_what_is_not_known_can_be_withdrawn_or_replaced_by_its_like() -> None:
    odd = unknown(minutes=5, shape="cube")
    assert resolve([odd, WRONG])[0] == [odd, WRONG]
    assert resolve([odd, correction(odd.id, 20)]) == ([], [])
    effective, problems = resolve([odd, correction(odd.id, 20, shape="ball")])
    assert not problems and isinstance(effective[0], Unknown) and effective[0].raw["shape"] == "ball"


def test_of_other_kinds_too() -> None:
    measured = reading(31.5, 5)
    better = {"tank": "electrolyte", "values": [{"of": "zinc", "value": 29.5, "unit": "g/L"}]}
    effective, problems = resolve([measured, correction(measured.id, 20, better)])
    assert not problems and effective[0].values[0].value == 29.5  # type: ignore[union-attr]


# -- any mixture -------------------------------------------------------------------------------------------------------

IDS = [f"entry-{n:03d}" for n in range(9)]


@st.composite
def mixtures(draw: st.DrawFn) -> list[AnyEntry | Unknown]:
    entries: list[AnyEntry | Unknown] = []
    for id in draw(st.lists(st.sampled_from(IDS), unique=True, max_size=9)):
        minutes = draw(st.integers(0, 4))
        what = draw(st.sampled_from(["remark", "withdraw", "replace", "replace", "bad", "move"]))
        target = draw(st.sampled_from([other for other in IDS if other != id]))
        if what == "remark":
            entries.append(remark(f"text of {id}", minutes, id=id))
        elif what == "withdraw":
            entries.append(correction(target, minutes, id=id))
        elif what == "bad":
            entries.append(correction(target, minutes, id=id, text=5))
        else:
            at = {"at": moment(draw(st.integers(0, 4))).isoformat()} if what == "move" else {}
            entries.append(correction(target, minutes, {"text": f"by {id}", **at}, id=id))
    return entries


def by_the_rules(entries: list[AnyEntry | Unknown]) -> list[tuple[str, str]]:
    """(id, text) of the remarks that hold, read off the rules one entry at a time; None of the replacements fits a correction,
    so corrections are only ever withdrawn."""
    known = {entry.id: entry for entry in entries}

    def in_ring(id: str) -> bool:
        seen, at = set(), id
        while isinstance(known.get(at), Correction) and at not in seen:
            seen.add(at)
            at = known[at].corrects  # type: ignore[union-attr]
            if at == id:
                return True
        return False

    def acting(id: str) -> list[Correction]:
        aimed = [c for c in entries if isinstance(c, Correction) and c.corrects == id]
        found = [c for c in aimed if not in_ring(c.id) and not withdrawn(c.id)]
        return sorted(found, key=lambda c: (c.at, c.id))

    def fits(c: Correction) -> bool:
        return c.withdraw or (isinstance(known[c.corrects], Remark) and isinstance((c.replacement or {})["text"], str))

    def withdrawn(id: str) -> bool:
        able = [c for c in acting(id) if fits(c)]
        return bool(able) and able[-1].withdraw

    held = []
    for entry in entries:
        if isinstance(entry, Remark) and not withdrawn(entry.id):
            able = [c for c in acting(entry.id) if fits(c)]
            new = able[-1].replacement or {} if able else {}
            held.append((new.get("at", entry.at.isoformat()), entry.id, new.get("text", entry.text)))
    return [(id, text) for _, id, text in sorted(held)]


@settings(max_examples=400, deadline=None)
@given(mixtures(), st.randoms(use_true_random=False))
def test_any_mixture_in_any_order(entries: list[AnyEntry | Unknown], rng: random.Random) -> None:
    effective, problems = resolve(entries)
    shuffled = list(entries)
    rng.shuffle(shuffled)
    assert resolve(shuffled) == (effective, problems)
    assert [(entry.id, entry.text) for entry in effective if isinstance(entry, Remark)] == by_the_rules(entries)
