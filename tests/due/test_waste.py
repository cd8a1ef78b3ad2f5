"""What is due of waste: age, label and tray, receipts and papers, missing litres; and what is asked before mixing."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from bathkeeper.due.waste import waste_findings
from bathkeeper.estimate.fold import at_moment
from bathkeeper.findings import Finding
from bathkeeper.workshop import Workshop
from tests.estimate.helpers import START, Book, take


def dumped(**settings: Any) -> Book:
    """A dry-acid pickle dumped into a drum on the first day."""
    book = Book()
    book.log("workshop", name="Invented bench", **settings)
    book.tank("pickle", "pickle", 1, "bisulfate-pickle")
    book.make_up("pickle", 20.0, {"free acid": 100.0})
    book.log("removal", tank="pickle", all=True, to="drum-1")
    return book


def labelled(**settings: Any) -> Book:
    book = dumped(**settings)
    book.log("container", container="drum-1", action="labelled", codes=["11 01 05*"])
    return book


def found(book: Book, days: float) -> dict[str, Finding]:
    now = START + timedelta(days=days)
    return {f.id: f for f in waste_findings(at_moment(take(book.entries), now), now)}


@pytest.mark.parametrize(
    ("country", "days", "level"),
    [
        ("England", 269, None), ("England", 271, "soon"), ("England", 364.9, "soon"), ("England", 365.1, "now"),
        ("United States", 4000, None), ("Atlantis", 4000, None),
    ],
)  # fmt: skip
def test_waste_that_stands_too_long(country: str, days: float, level: str | None):
    """England 12 months (EPR 2010 Sch 25 Pt 3 para 2), warned from 270 days (ours); a very small generator of the US has no
    clock below 1,000 kg (40 CFR 262.14(a)(4))."""
    told = found(labelled(country=country), days).get("drum-1.storage.age")
    assert (told.level if told is not None else None) == level
    if told is not None:
        assert told.by is not None and told.because.sources


@pytest.mark.parametrize(("dumps", "days", "level"), [(4, 4000, None), (5, 179, "soon"), (5, 181, "now")])
def test_the_clock_of_a_small_generator_begins_above_100_kg_in_a_month(dumps: int, days: float, level: str | None):
    """40 CFR 262.13 (more than 100 kg in a calendar month) and 262.16(b) (180 days); a dump of 20 L weighs about 21.6 kg."""
    book = labelled(country="United States", keeper="business")
    for number in range(1, dumps):
        book.day(number)
        book.make_up("pickle", 20.0, {"free acid": 100.0})
        book.log("removal", tank="pickle", all=True, to="drum-1")
    told = found(book, days).get("drum-1.storage.age")
    assert (told.level if told is not None else None) == level


def test_the_clock_of_a_full_site_counts_from_the_day_on_which_it_became_full():
    """40 CFR 262.14(a)(4): from 1,000 kg on, 180 days for all of it from that day. At 86 kg a month that is the twelfth month;
    the first drum is then a year old and yet has five months left."""
    book = Book()
    book.log("workshop", name="Invented bench", country="United States", keeper="business")
    for month in range(12):
        book.day(30 * month + 14)
        book.log("container", container=f"drum-{month + 1}", action="put in", what="sludge", mass_kg=86.0)
    passed = 30 * 11 + 14
    assert not [i for i in found(book, passed + 31) if i.endswith("storage.age")]
    soon = found(book, passed + 136)
    for drum in ("drum-1", "drum-12"):
        told = soon[f"{drum}.storage.age"]
        assert told.level == "soon" and "44 days left" in told.what
        assert told.by is not None and (START + timedelta(days=passed)).date().isoformat() in told.why
        assert told.because.formula.startswith("days since the day on which 1,000 kg")
    assert "1 day" in found(book, passed + 181)["drum-1.storage.age"].what
    book.log("definition", of="waste limit", name="distance", body={"what": "far"})
    assert not [i for i in found(book, passed + 181) if i.endswith("storage.age")]


def test_a_drum_that_stands_elsewhere_has_three_months():
    """EPR 2010, Sch. 25 Pt 3 para. 3, from the day on which it came there."""
    book = labelled(country="England")
    since = (START + timedelta(days=100)).date()
    body = {"what": "elsewhere", "containers": ["drum-1"], "since": since.isoformat()}
    book.log("definition", of="waste limit", name="lock-up", body=body)
    told = found(book, 180)["drum-1.storage.age"]
    assert told.level == "soon" and "3 months" in told.why
    assert found(book, 195)["drum-1.storage.age"].level == "now"


def test_papers_of_a_place_that_is_not_known_are_kept_for_six_years():
    """3 years as a simple rule, 6 if unsure: common practice."""
    for country, years in (("Atlantis", 6), ("United States", 3)):
        book = labelled(country=country, keeper="business")
        book.log("container", container="drum-1", action="handed over", all=True, to="the contractor", reference="H-1")
        papers = found(book, 1)["workshop.retention.papers"]
        assert papers.by is not None and papers.by.year == START.year + years and papers.because.sources[0]


def test_the_keepers_own_limit_wins():
    book = labelled(country="England")
    body = {"what": "storage", "days": 90.0, "authority": "the harbour office", "reference": "letter 12"}
    book.log("definition", of="waste limit", name="harbour", body=body)
    assert found(book, 91)["drum-1.storage.age"].level == "now"
    assert "harbour office" in found(book, 91)["drum-1.storage.age"].why


def test_label_tray_and_looking_over():
    ids = found(dumped(), 2)
    assert ids["drum-1.check.label"].level == "soon"
    assert "drum-1.check.label" not in found(labelled(), 2)
    assert found(labelled(), 40)["drum-1.check.look"].level == "later"
    book = labelled()
    book.day(30)
    book.log("container", container="drum-1", action="checked", lid=False, label=True, tray=False, sound=True)
    told = found(book, 31)
    assert told["drum-1.check.lid"].level == "now" and told["drum-1.check.tray"].level == "soon"
    assert "drum-1.check.look" not in told and "drum-1.check.sound" not in told
    book.log("container", container="drum-1", action="checked", lid=True, tray=True)
    assert not [i for i in found(book, 31) if ".check." in i]


def test_a_receipt_that_does_not_come_and_papers_that_are_kept():
    book = labelled(country="England", keeper="business")
    book.day(10)
    book.log("container", container="drum-1", action="handed over", all=True, to="the contractor", reference="H-1")
    assert "drum-1.receipt.H-1" not in found(book, 39)
    assert found(book, 41)["drum-1.receipt.H-1"].level == "soon"
    papers = found(book, 41)["workshop.retention.papers"]
    assert papers.by is not None and papers.by.date() == (START + timedelta(days=10)).date().replace(year=START.year + 3)
    book.log("container", container="drum-1", action="handed over", reference="H-1", receipt="R-1")
    assert "drum-1.receipt.H-1" not in found(book, 41)
    assert not [i for i in found(book, 400) if ".storage." in i]  # nothing stands there any more


def test_a_refused_load_waits_for_no_receipt_and_stands_on():
    book = labelled(country="England", keeper="business")
    book.day(10)
    book.log("container", container="drum-1", action="handed over", all=True, to="the contractor", reference="H-1")
    book.log("container", container="drum-1", action="handed over", reference="H-1", papers={"refused": "wrong label"})
    assert not [i for i in found(book, 60) if ".receipt." in i]
    assert found(book, 400)["drum-1.storage.age"].level == "now"  # its first day is that of the waste, not of its return


def test_a_drum_that_was_filled_from_an_old_one_keeps_the_old_first_day():
    book = labelled(country="England", keeper="business")
    book.day(300)
    book.log("container", container="drum-1", action="moved", all=True, to="drum-2")
    assert found(book, 400)["drum-2.storage.age"].level == "now"
    assert "drum-2.check.look" not in found(book, 310)  # nobody need have looked at it before it was there


def test_litres_that_nobody_can_account_for():
    book = Book()
    book.bath(anodes=False)
    level = 40.0
    for day in range(5, 65, 5):
        book.day(day)
        level -= 0.4 + (5.0 if day == 40 else 0.0)
        book.reading("bath", of="level", value=level, unit="L", spread=0.3)
    told = found(book, 65)["bath.unaccounted.volume"]
    assert told.level == "soon" and "found missing on" in told.why and told.because.entries
    calm = Book()
    calm.bath(anodes=False)
    for day in range(5, 65, 5):
        calm.day(day)
        calm.reading("bath", of="level", value=40.0 - 0.08 * day, unit="L", spread=0.3)
    assert "bath.unaccounted.volume" not in found(calm, 65)


def test_rinse_water_that_runs_off_is_asked_about_until_a_consent_is_on_record():
    book = Book()
    book.bath()
    book.tank("rinse", "rinse", 6, "running-rinse")
    book.make_up("rinse", 20.0)
    steps = [{"tank": "bath", "minutes": 45.0, "charge": {"charge_ah": 5.0}}, {"tank": "rinse", "minutes": 1.0}]
    for _ in range(4):
        book.log("run", steps=steps, parts=[{"description": "parts", "area_dm2": 40.0}])
    told = found(book, 2)["workshop.runoff.rinse"]
    assert told.level == "later" and "nickel" in told.what
    body = {"what": "discharge", "of": "nickel", "mg_l": 2.0, "reference": "consent 7", "authority": "the water company"}
    book.log("definition", of="waste limit", name="consent 7", body=body)
    assert "workshop.runoff.rinse" not in found(book, 2)


# -- before it is written ------------------------------------------------------------------------------------------------


@pytest.fixture
def shed(tmp_path: Path) -> Workshop:
    """A workshop with an acid and an alkaline tank, a drum of each, and one of nitric dip."""
    book = Book()
    book.log("workshop", name="Invented bench", country="England")
    for order, (tank, role, recipe, contents) in enumerate(
        [
            ("pickle", "pickle", "bisulfate-pickle", {"free acid": 100.0}),
            ("degreaser", "degrease", "alkaline-degreaser", {"free alkali": 20.0}),
            ("dip", "acid dip", "nitric-dip", {"free acid": 5.0}),
        ],
        start=1,
    ):
        book.tank(tank, role, order, recipe)
        book.make_up(tank, 20.0, contents)
        book.log("removal", tank=tank, volume_l=5.0, to=f"drum-{order}")
    workshop = Workshop.open(tmp_path / "shed.logbook.jsonl", create=True)
    workshop.log_all([{k: v for k, v in _plain(e).items() if k not in ("id", "schema")} for e in book.entries])
    return workshop


def _plain(entry: Any) -> dict[str, Any]:
    from bathkeeper.entries import to_plain

    return to_plain(entry)


def doubts(workshop: Workshop, **raw: Any) -> list[str]:
    return workshop.doubts_about({"at": START + timedelta(days=9), **raw}, START + timedelta(days=9))


def test_acid_into_alkali_is_asked_about_before_it_is_written(shed: Workshop):
    told = doubts(shed, kind="removal", tank="pickle", volume_l=2.0, to="drum-2")
    assert told and "never together" in told[0]
    assert any("mixing" in t.casefold() for t in told)
    moved = doubts(shed, kind="container", container="drum-1", action="moved", volume_l=1.0, to="drum-2")
    assert "never together" in moved[0]


def test_more_of_the_same_is_not_asked_about(shed: Workshop):
    assert doubts(shed, kind="removal", tank="pickle", volume_l=2.0, to="drum-1") == []
    assert doubts(shed, kind="removal", tank="pickle", volume_l=2.0, to="drum-9") == []
    assert doubts(shed, kind="removal", tank="pickle", volume_l=0.1, to="sample") == []


def test_another_kind_is_better_kept_apart(shed: Workshop):
    told = doubts(shed, kind="removal", tank="pickle", volume_l=2.0, to="drum-3")
    assert told and all("together" in t or "only with care" in t or "better kept apart" in t for t in told)
