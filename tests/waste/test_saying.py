"""Numbers, origins and sentences of waste as a person reads them; which papers go with a hand-over, and for how long."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bathkeeper.findings import Estimate
from bathkeeper.waste.candidates import candidate_line, candidates
from bathkeeper.waste.limits import hand_over_papers, retention
from bathkeeper.waste.loader import load
from bathkeeper.waste.saying import origins_said, ph_said, sentences
from bathkeeper.waste.stream import Origin
from tests.waste.vessels import hostile, of_recipe

START = datetime(2026, 6, 1, 9, 0, tzinfo=UTC)
RULES = load().rules


def origin(days: int = 0, **fields) -> Origin:
    return Origin(at=START + timedelta(days=days), entry=f"entry-{days:06d}", **{"what": "bath", "tank": "pickle", **fields})


class TestSentences:
    def test_each_part_begins_and_ends(self) -> None:
        assert sentences("spent acid", "it holds zinc (3-4)", "", "ask.") == "Spent acid. It holds zinc (3-4). Ask."

    def test_ph_keeps_its_letters(self) -> None:
        assert sentences("pH not measured", "measure pH") == "pH not measured. Measure pH."

    @settings(max_examples=60, derandomize=True, deadline=None)
    @given(st.lists(hostile, max_size=4))
    def test_whatever_the_parts(self, parts: list[str]) -> None:
        told = sentences(*parts)
        assert told.isprintable() and "  " not in told

    @pytest.mark.parametrize("rules", sorted(RULES))
    def test_a_candidate_is_read_aloud_without_running_together(self, rules: str) -> None:
        for recipe in ("bisulfate-pickle", "nitric-dip", "alkaline-degreaser", "trivalent-passivate-coloured"):
            for candidate in candidates(of_recipe(recipe), RULES[rules], "household"):
                line = candidate_line(candidate)
                assert line.endswith((".", "?")) and ".." not in line
                assert line.casefold().count("mirror entry") <= 1
                assert "from memory" in line or candidate.status != "memory"


class TestOrigins:
    def test_a_tank_that_is_called_by_its_role_is_named_once(self) -> None:
        assert origins_said([origin(role="pickle", litres=19.41)]) == "bath 19.41 L from pickle, 2026-06-01"
        assert origins_said([origin(tank="acid-dip", role="acid dip")]) == "bath from acid-dip, 2026-06-01"
        assert origins_said([origin(tank="bath 3", role="plate", litres=4.0)]) == "bath 4 L from bath 3 (plate), 2026-06-01"

    def test_what_came_of_no_tank(self) -> None:
        assert origins_said([origin(what="rags", tank="", mass_kg=0.6)]) == "rags 0.6 kg, 2026-06-01"

    def test_many_dumps_of_one_tank_stand_together(self) -> None:
        told = origins_said([origin(d, tank="rinse-1", what="rinse water", role="rinse", litres=18.0) for d in (28, 0, 56)])
        assert told == "rinse water 54 L from rinse-1, 3 times, 2026-06-01 to 2026-07-27"

    @settings(max_examples=40, derandomize=True, deadline=None)
    @given(st.lists(st.tuples(st.integers(0, 400), hostile), max_size=30))
    def test_one_line_whatever_tanks_are_called(self, dumps) -> None:
        told = origins_said([origin(days, tank=name, role="plate", litres=1.0) for days, name in dumps])
        assert told.isprintable()

    def test_a_ph_bears_no_unit(self) -> None:
        assert ph_said(Estimate(1.0, 0.5, 1.5, "pH")) == "pH 1 (0.5 to 1.5)"


class TestPapers:
    def test_a_business_keeps_the_papers_of_its_place(self) -> None:
        # three years: SI 2005/894, regs 49 and 51 (gov.uk guidance); two: SI 1991/2839 reg. 3 (legislation.data.gov.uk)
        kept = {k.paper.name: k for k in retention(hand_over_papers(RULES["england"], "business"), START)}
        assert kept["consignment note"].until == START.replace(year=2029)
        assert kept["waste transfer note"].until == START.replace(year=2028)
        assert "digital record of the receiver" not in kept

    @pytest.mark.parametrize("rules", sorted(RULES))
    @pytest.mark.parametrize("keeper", ["household", "business", ""])
    def test_there_is_always_the_own_record_for_three_years(self, rules: str, keeper: str) -> None:
        kept = retention(hand_over_papers(RULES[rules], keeper), START)
        record = next(k for k in kept if k.paper.name == "record")
        assert record.until == START.replace(year=2029) and record.paper.status == "practice"
        assert all(k.paper.keeper in (None, keeper) or not keeper for k in kept)

    def test_what_belongs_to_the_place_and_not_to_the_load_is_not_among_them(self) -> None:
        names = {p.name for p in hand_over_papers(RULES["us-federal"], "business")}
        assert {"manifest", "determination", "record"} <= names
        assert not names & {"container label", "EPA number", "sewer monitoring"}

    def test_where_no_time_was_read_a_simple_rule_is_given_as_such(self) -> None:
        kept = {k.paper.name: k for k in retention(hand_over_papers(RULES["eu"], "business"), START)}
        told = kept["identification document"]
        assert told.until is None
        assert "keep 3 years as a simple rule" in told.text and "common practice" in told.text
