"""What is never said and never offered, whatever a stream holds and whatever its names are."""

from __future__ import annotations

import re
from datetime import timedelta

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bathkeeper.catalogue.own_waste import WasteLimit
from bathkeeper.waste.candidates import candidates, entry_words
from bathkeeper.waste.comparing import ONLY_COMPARED, compare
from bathkeeper.waste.limits import generator_size, retention, storage
from bathkeeper.waste.loader import load
from bathkeeper.waste.picking import ask_first, mark
from bathkeeper.waste.properties import HP_ORDER, properties
from tests.waste.streams import AT, random_streams
from tests.waste.test_data import NEVER_SAID, REFUSED, strings

RULES = st.sampled_from(sorted(load().rules)).map(lambda n: load().rules[n])
KEEPERS = st.sampled_from([None, "household", "business"])
LAWS = settings(derandomize=True, deadline=None, max_examples=150)
LIMITS = (
    WasteLimit(what="discharge", of="Zn", mg_l=1.0, reference="\u202econsent\n[b]"),
    WasteLimit(what="discharge", of="pH", low=6.0, reference="c"),
)


def said(*answers):
    for answer in answers:
        yield from strings(msgspec.to_builtins(answer))


def fit_to_be_shown(text):
    for word in NEVER_SAID:
        assert word not in text.casefold(), text
    assert text.isprintable(), text
    assert len(text) < 2500
    for sentence in re.split(r"(?<=[.;:])\s", text):
        if "dilut" in sentence.casefold() or "may be poured" in sentence.casefold():
            assert REFUSED.search(sentence), sentence


@LAWS
@given(random_streams(), RULES, KEEPERS)
def test_candidates_never_decide(stream, rules, keeper):
    found = candidates(stream, rules, keeper)
    assert found
    strengths = [("first", "also", "question").index(c.strength) for c in found]
    assert strengths == sorted(strengths)
    for c in found:
        assert not c.code.startswith(("11 05", "11 03", "06 03 11", "F007", "F008", "F009"))
        assert c.why and c.title and (c.source or c.status in ("memory", "practice"))
        assert c.status in ("seen", "derived", "memory", "practice")
        assert not c.code.startswith("20 ") or keeper == "household"
        assert stream.complete or "something unknown" in c.note
        if c.entry in ("MH", "MN"):
            assert "assess" in c.note
        for text in (*said(c), entry_words(c)):
            fit_to_be_shown(text)


@LAWS
@given(random_streams())
def test_sludge_is_always_f006_and_zinc_nickel_never_asks_to_be_left_out(stream):
    found = {c.code: c for c in candidates(stream, load().rules["us-federal"])}
    assert ("F006" in found) == ("sludge" in stream.kinds)
    nickel = "nickel" in stream.amounts or any("nickel" in (o.recipe or "") for o in stream.origins)
    if "F006" in found and (nickel or not stream.complete):
        assert "question to ask" not in found["F006"].note


@LAWS
@given(random_streams())
def test_properties_are_possible_and_never_ruled_out(stream):
    found = properties(stream)
    assert found
    hps = [p.hp for p in found if p.hp]
    assert hps == sorted(hps, key=HP_ORDER.index) and len(hps) == len(set(hps))
    for p in found:
        assert p.why and p.title and p.source
        if p.verdict in ("likely", "possible") and p.percent is not None:
            assert p.percent.high >= p.trigger * (1 - 1e-9)
            assert p.verdict == "possible" or p.percent.value >= p.trigger * (1 - 1e-9)
        for text in said(p):
            fit_to_be_shown(text)
    sure = {p.hp for p in found if p.verdict == "likely"}
    assert not {"HP 4", "HP 8"} <= sure
    if stream.volume_l is None and stream.mass_kg is None:
        assert [p.verdict for p in found if p.verdict in ("likely", "possible") and p.percent is not None] == []


@LAWS
@given(random_streams(), RULES, st.sampled_from([(), LIMITS]))
def test_comparisons_permit_nothing(stream, rules, own):
    for row in compare(stream, rules, own):
        assert row.text.endswith(ONLY_COMPARED)
        for text in said(row):
            fit_to_be_shown(text)


@LAWS
@given(st.floats(0, 1e5), st.floats(0, 1e5), RULES, st.sampled_from(["", "SQG", "LQG", "VSQG", "elsewhere", "x\n[b]"]))
def test_times_and_papers_say_nothing_forbidden(kg, days, rules, of):
    answers = [generator_size(kg, 0, kg), storage(AT, AT + timedelta(days=days), rules, of=of), *retention(rules.papers, AT)]
    for text in (*said(*answers), ask_first(rules), *map(mark, ("seen", "memory", "practice", "?"))):
        fit_to_be_shown(text)


@pytest.mark.parametrize("name", sorted(load().rules))
def test_every_rule_set_refuses_mixing_and_names_whom_to_ask(name):
    rules = load().rules[name]
    assert any(re.search(r"dilut", m.text) for m in rules.mixing)
    assert {"sewer", "contractor"} <= {a.name for a in rules.ask}
