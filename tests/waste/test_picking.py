"""Which rule set holds for what a keeper wrote as country and region, and what every page on waste says under it."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bathkeeper.waste.loader import load
from bathkeeper.waste.picking import ask_first, mark, rule_set_for, told_to


@pytest.mark.parametrize(
    ("country", "region", "name"),
    [
        ("UK", None, "england"), ("uk", "England", "england"), ("GB", None, "england"), ("U.K.", None, "england"),
        ("England", None, "england"), ("the United Kingdom", "London", "england"), ("Great Britain", "Scotland", "scotland"),
        ("Scotland", None, "scotland"), ("UK", "GB-SCT", "scotland"), ("UK", "Cymru", "wales"), ("wales", "", "wales"),
        ("UK", "Northern Ireland", "northern-ireland"), ("N. Ireland", None, "northern-ireland"),
        ("northern-ireland", None, "northern-ireland"), ("US", None, "us-federal"), ("USA", "California", "us-federal"),
        ("U.S.A.", "TX", "us-federal"), (" united   States ", None, "us-federal"),
        ("The United States of America", "", "us-federal"), ("US", "Wales", "us-federal"),
        ("Deutschland", "Bayern", "eu-germany"), ("DE", None, "eu-germany"),
        ("germany", None, "eu-germany"), ("EU", "Germany", "eu-germany"), ("France", None, "eu"), ("Österreich", None, "eu"),
        ("osterreich", None, "eu"), ("Ireland", "Cork", "eu"), (None, "Scotland", "scotland"), (None, "Germany", "eu-germany"),
        (None, "DE", "other"), (None, None, "other"), ("", "  ", "other"), ("Canada", "Ontario", "other"),
        ("Utopia", None, "other"), ("Georgia", None, "other"),
    ],
)  # fmt: skip
def test_the_rule_set_for_a_place(country, region, name):
    assert rule_set_for(country, region).name == name


def test_what_is_not_known_says_so():
    assert "no rule set for `Utopia`" in rule_set_for("Utopia").chosen
    assert "no country is told" in rule_set_for(None).chosen
    assert "nation is not told" in rule_set_for("UK").chosen and "Scotland" in rule_set_for("UK").chosen
    assert "nation" not in rule_set_for("UK", "England").chosen


def test_a_country_in_capitals_with_accents_and_spaces_is_the_same():
    assert rule_set_for("ÖSTERREICH ").name == rule_set_for("österreich").name


@settings(derandomize=True, deadline=None, max_examples=150)
@given(st.none() | st.text(max_size=5000), st.none() | st.text(max_size=200))
def test_any_text_finds_a_rule_set_and_stays_out_of_the_way(country, region):
    found = rule_set_for(country, region)
    assert found.name in load().rules
    assert len(found.chosen) < 300 and found.chosen.isprintable()


@pytest.mark.parametrize("name", sorted(load().rules))
def test_the_standing_sentence_names_the_set_and_its_date_and_whom_to_ask(name):
    rules = load().rules[name]
    said = ask_first(rules)
    assert rules.title in said and rules.date in said
    assert "ask" in said and "contractor" in said and "add no water" in said
    assert rules.ask and rules.mixing and rules.routes and rules.papers


def test_lines_for_a_keeper():
    england = rule_set_for("England")
    assert [r.name for r in told_to(england.routes, "household")] == ["household"]
    assert [r.name for r in told_to(england.routes, None)] == ["household", "business", "from a shed"]
    assert "council" not in {a.name for a in told_to(england.ask, "business")}


def test_marks():
    assert mark("seen") == mark("derived") == ""
    assert mark("memory") == "(from memory: check)"
    assert "practice" in mark("practice") and "check" in mark("whatever")
