"""What is asked, or refused in plain words, of the keeper's own limits, of codes, consents and countries."""

from __future__ import annotations

from typing import Any

import pytest

from bathkeeper.answers.asked import waste_doubts
from bathkeeper.catalogue.own import checked
from bathkeeper.catalogue.own_waste import EXAMPLES, WasteLimit, wanting
from bathkeeper.catalogue.typed import CatalogueError
from bathkeeper.entries import EntryError, parse
from bathkeeper.estimate.fold import at_moment
from bathkeeper.findings import Estimate
from bathkeeper.refusals import joined
from bathkeeper.waste.comparing import compare
from bathkeeper.waste.limits import storage
from bathkeeper.waste.loader import load
from bathkeeper.waste.picking import rule_set_for
from tests.estimate.helpers import START, Book, take
from tests.waste.streams import stream


def book(**settings: Any) -> Book:
    made = Book()
    made.log("workshop", name="Invented bench", **{"country": "England", **settings})
    made.tank("pickle", "pickle", 1, "bisulfate-pickle")
    made.make_up("pickle", 20.0, {"free acid": 100.0})
    made.log("removal", tank="pickle", volume_l=10.0, to="drum-1")
    return made


def asked(told: Book, /, **raw: Any) -> list[str]:
    world = at_moment(take(told.entries), told.moment)
    return waste_doubts(parse({"id": "invented-1", "at": told.moment, **raw}), world, world)


def limit(told: Book, /, **body: Any) -> list[str]:
    return asked(told, kind="definition", of="waste limit", name="mine", body=body)


def test_a_limit_of_what_nobody_knows_is_asked_about_with_the_nearest_name():
    zinc = {"what": "discharge", "mg_l": 5.0, "reference": "C-1"}
    (doubt,) = limit(book(), of="nickle", **zinc)
    assert "never be compared" in doubt and "the nearest name known is nickel" in doubt
    for known in ("nickel", "Ni", "Zinc", "free acid", "cyanide", "boric acid"):
        assert not limit(book(), of=known, **zinc), known
    assert not limit(book(), what="discharge", of="pH", low=6.0, reference="C-1")
    assert limit(book(), of="mercaptan", **zinc)
    own = book()
    own.log("container", container="drum-1", action="tested", values=[{"of": "mercaptan", "value": 1.0, "unit": "g/L"}])
    assert not limit(own, of="mercaptan", **zinc)


def test_a_limit_of_a_container_that_is_not_there_is_asked_about():
    assert "drum-1" in limit(book(), what="storage", days=20.0, containers=["drum-11"])[0]
    assert not limit(book(), what="storage", days=20.0, containers=["drum-1"])


@pytest.mark.parametrize(
    ("body", "words"),
    [
        ({"mg_l": 5.0}, ("`what` (discharge, by what stands there)", "`of`", "`reference`")),
        ({"of": "zinc"}, ("`what`", "mg_l", "`reference`")), ({"what": "discharge"}, ("`of`", "mg_l", "`reference`")),
        ({"what": "discharge", "of": "ph"}, ("`low` or `high`", "`reference`")), ({"what": "storage"}, ("days",)),
        ({"what": "allowance"}, ("volume_l or mass_kg",)), ({}, ("allowance, storage, discharge, elsewhere, far",)),
        ({"since": "2027-05-01"}, ("waste that stands elsewhere needs `what` (elsewhere, by what stands there)",)),
    ],
)  # fmt: skip
def test_one_refusal_names_all_that_is_wanting(body: dict[str, Any], words: tuple[str, ...]):
    with pytest.raises(CatalogueError) as refused:
        checked("waste limit", "mine", body)
    assert all(w in str(refused.value) for w in words) and "write for example definition" in str(refused.value)


def test_the_example_of_every_kind_is_a_limit():
    import shlex
    import tomllib

    for kind, line in EXAMPLES.items():
        body = tomllib.loads("\n".join(shlex.split(line)[3:]))
        assert not wanting(body)
        made = checked("waste limit", "mine", body)
        assert isinstance(made, WasteLimit) and made.what == kind


@pytest.mark.parametrize(
    ("body", "words"),
    [
        ({"what": "discharge", "of": "zinc", "mg_l": -3.0, "reference": "C-1"}, "mg_l: expected a number, 0 or more, got"),
        ({"what": "storage", "days": 0.0}, "days: expected a number above 0, got `0.0`"),
        ({"what": "storage", "days": "long"}, "days: expected a number above 0, got `long`"),
    ],
)  # fmt: skip
def test_numbers_that_cannot_be_are_refused_in_plain_words(body: dict[str, Any], words: str):
    with pytest.raises(CatalogueError) as refused:
        checked("waste limit", "mine", body)
    assert words in str(refused.value)


@pytest.mark.parametrize(
    ("raw", "words"),
    [
        ({"kind": "removal", "tank": "pickle", "volume_l": 0.0}, "volume (L) has to be above 0"),
        ({"kind": "container", "container": "d", "action": "put in", "what": "rags", "mass_kg": -1.0}, "mass (kg) has to be"),
    ],
)  # fmt: skip
def test_an_entry_with_nothing_in_it_is_refused_in_plain_words(raw: dict[str, Any], words: str):
    with pytest.raises(EntryError) as refused:
        parse({"id": "invented-1", "at": START, **raw})
    assert words in str(refused.value) and "$" not in str(refused.value) and "`float`" not in str(refused.value)


@pytest.mark.parametrize(
    ("country", "code", "doubt"),
    [
        ("England", "banana", "six digits"), ("England", "D002", "six digits"), ("England", "11 01 05*", ""),
        ("England", "110105*", ""), ("England", "11 01 05", "stands in the list of waste as 11 01 05*"),
        ("United States", "D002", ""), ("United States", "11 01 05*", "a letter and three digits"),
        ("Atlantis", "banana", ""),
    ],
)  # fmt: skip
def test_codes_have_the_form_of_the_rule_set(country: str, code: str, doubt: str):
    for more in ({"action": "labelled"}, {"action": "handed over", "all": True, "to": "the point", "reference": "H-1"}):
        told = asked(book(country=country), kind="container", container="drum-1", codes=[code], **more)
        assert (len(told) == 1 and doubt in told[0]) if doubt else not told


def consented(name: str = "C-1", of: str = "zinc", **edges: float) -> Book:
    made = book()
    body = {"what": "discharge", "of": of, "reference": name, **edges}
    made.log("definition", of="waste limit", name="mine", body=body)
    return made


def test_a_consent_that_is_not_on_record_is_asked_about():
    for raw in (
        {"kind": "removal", "tank": "pickle", "volume_l": 5.0}, {"kind": "container", "container": "drum-1", "action": "moved",
        "volume_l": 5.0},
    ):  # fmt: skip
        (doubt,) = asked(book(), to="sewer", consent="none", **raw)
        assert "no consent with the reference none is on record (on record: none)" in doubt
        (doubt,) = asked(consented(mg_l=5.0), to="sewer", consent="none", **raw)
        assert "on record: C-1" in doubt
        (doubt,) = asked(consented(of="free acid", mg_l=5.0), to="sewer", consent="c-1", **raw)
        assert doubt.startswith("beside the consent c-1: free acid 100 g/L")
        assert not asked(consented(of="free acid", mg_l=500_000.0), to="sewer", consent="C-1", **raw)


def test_a_country_without_a_rule_set_is_asked_about_once():
    raw = {"kind": "workshop", "name": "Invented bench"}
    (doubt,) = asked(book(), country="123", **raw)
    assert "no rule set of waste is known by the name 123" in doubt and "England" in doubt and "United States" in doubt
    assert not asked(book(), country="Scotland", **raw)
    assert not asked(book(country="Atlantis"), country="Atlantis", **raw)


@pytest.mark.parametrize(
    ("value", "low", "high", "standing"),
    [(1.0, 0.5, 2.0, "within"), (4.8, 0.0, 94.0, "may be above"), (6.0, 4.0, 8.0, "above"), (9.0, 8.0, 10.0, "above")],
)
def test_three_words_for_where_a_figure_stands(value: float, low: float, high: float, standing: str):
    grams = Estimate(value / 1000, low / 1000, high / 1000, "g")
    mine = WasteLimit(what="discharge", of="zinc", mg_l=5.0, reference="C-1")
    row = next(r for r in compare(stream({"zinc": grams}), rule_set_for(None), [mine]) if r.own)
    assert row.standing == standing


@pytest.mark.parametrize(
    ("ph", "standing"), [(8.0, "within"), (6.2, "may be above"), (5.0, "above"), (11.0, "above"), (None, "not known")]
)
def test_a_ph_may_lie_outside_on_either_side(ph: float | None, standing: str):
    mine = WasteLimit(what="discharge", of="ph", low=6.0, high=10.0, reference="C-1")
    told = Estimate(ph, ph - 0.4, ph + 0.4, "pH") if ph is not None else None
    (row,) = [r for r in compare(stream({}, ph=told), rule_set_for(None), [mine]) if r.own]
    assert row.standing == standing


def test_a_limit_of_ones_own_is_nobodys_practice():
    mine = WasteLimit(what="storage", days=20.0, reference="lease")
    told = storage(START, START, load().rules["other"], [mine])
    assert told.told == "20 days by your own limit, lease"


def test_sentences_are_joined_without_a_stop_before_a_semicolon():
    assert joined(["it shares the limits.", "a and b, never together"]) == "it shares the limits; a and b, never together"
