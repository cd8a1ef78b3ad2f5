"""Substances by where they are, the hydrogen of the last runs, containers among what must not meet, and first responses."""

from __future__ import annotations

from pathlib import Path

import pytest

from bathkeeper.answers.dangers import container_vessels, hydrogen_line, hydrogen_of_runs, substance_lines, substances_here
from bathkeeper.catalogue.loader import load as catalogue
from bathkeeper.counsel.dangers import dangers_of
from bathkeeper.safety.first_help import load, words_of
from bathkeeper.waste.loader import load as waste
from bathkeeper.workshop import Workshop
from tests.estimate.helpers import Book, take


def shop() -> Book:
    """A nickel bath, a pickle, a nitric dip; some of the bath and of the dip in drums."""
    book = Book()
    book.bath()
    book.tank("pickle", "pickle", 2, "bisulfate-pickle")
    book.make_up("pickle", 20.0, {"free acid": 100.0})
    book.tank("dip", "acid dip", 7, "nitric-dip")
    book.make_up("dip", 20.0, {"free acid": 5.0})
    book.log("removal", tank="bath", volume_l=5.0, to="drum-1")
    book.log("removal", tank="dip", volume_l=5.0, to="drum-2")
    return book


def test_nickel_is_told_first_with_where_and_how_much():
    """CLP annex VI 028-011-00-6: nickel dichloride is H350i among others; 24 g/L Ni are 53 g/L NiCl2."""
    found = substances_here(take(shop().entries), ["nickel chloride hexahydrate", "hydrochloric acid 37%"])
    first = found[0]
    assert first.name == "nickel dichloride" and ("H350i", "may cause cancer") in first.statements
    assert [h.vessel for h in first.where] == ["bath", "drum-1"] and first.shelf == ("nickel chloride hexahydrate",)
    assert first.where[0].percent.value == pytest.approx(24.0 * 129.6 / 58.693 / 10 / 1.2, rel=0.1)
    names = [s.name for s in found]
    assert {"boric acid", "zinc chloride", "sodium hydrogensulfate", "nitric acid", "hydrochloric acid"} <= set(names)
    assert all(substance_lines(s) for s in found)


def test_every_statement_of_the_substances_has_its_words():
    codes = {h for s in waste().substances.values() for h in s.hazards}
    assert not [c for c in codes if not words_of(c)]
    assert words_of("H314 1A") == words_of("H314") and words_of("H999") == ""


def test_first_responses_say_what_they_rest_on():
    for help in load().first.values():
        assert help.text and help.title and (help.status in ("memory", "practice") or help.source)


def test_hydrogen_by_faraday_and_the_air_that_holds_it():
    """0.456 L a Ah at 25 degC when all the current makes it (Faraday; 0.449 at 20 degC); 1 % in 100 times as much air."""
    book = Book()
    book.bath()
    book.plate(charge_ah=10.0)
    book.plate(charge_ah=4.0)
    told = hydrogen_of_runs(book.entries[::-1], {}, catalogue().spreads)
    assert [h.charge_ah for h in told] == [4.0, 10.0]
    assert told[1].litres == pytest.approx(4.56, rel=0.002) and told[1].air_m3 == pytest.approx(0.456, rel=0.002)
    assert told[1].air_m3_h == pytest.approx(0.456 / 0.75, rel=0.002)  # the step took 45 min
    plated = hydrogen_of_runs(book.entries[::-1], {"bath": 0.93}, catalogue().spreads)
    assert plated[1].litres == pytest.approx(0.07 * 4.56, rel=0.002) and "fresh air" in hydrogen_line(plated[1])


def test_containers_are_among_what_must_not_meet(tmp_path: Path):
    from bathkeeper.entries import to_plain

    workshop = Workshop.open(tmp_path / "a.logbook.jsonl", create=True)
    workshop.log_all([{k: v for k, v in to_plain(e).items() if k not in ("id", "schema")} for e in shop().entries])
    matrix = workshop.must_not_meet()
    assert matrix["drum-1"]["drum-2"] is not None and matrix["drum-2"]["bath"] is not None
    assert {v.name for v in container_vessels(workshop.world)} == {"drum-1", "drum-2"}
    found = dangers_of(workshop)
    assert any("drum-1" in f.id or "drum-1" in f.what for f in found.findings)
