"""What the named rules say, against the printed tables; no verdict where there is none to give."""

from __future__ import annotations

from datetime import datetime, timedelta, timezone
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bathkeeper.catalogue.typed import CatalogueError
from bathkeeper.safety.embrittlement import bake, fastener_class, start_by
from bathkeeper.safety.loader import load, own_rule
from bathkeeper.safety.schema import FastenerClass, SafetyError

# ASTM B850-98(2009), hours at 190-220 degC, as printed by sonicplatinginc.com, bake chart
B850 = [
    (1001, 1100, 31, 33, 8),
    (1101, 1200, 33, 36, 10),
    (1201, 1300, 36, 39, 12),
    (1301, 1400, 39, 43, 14),
    (1401, 1500, 43, 45, 16),
    (1501, 1600, 45, 47, 18),
    (1601, 1700, 47, 49, 20),
    (1701, 1800, 49, 51, 22),
]
# older ISO route, hours at 190-210 degC by cross-section, misumi-techcentral.com, tutorial 012
OLDER = [
    (1075, 5, 2),
    (1075, 12, 2),
    (1075, 12.01, 4),
    (1075, 25, 4),
    (1075, 25.01, 8),
    (1000, 60, 8),
    (1275, 12, 4),
    (1275, 12.01, 12),
    (1275, 25, 12),
    (1275, 25.01, 24),
    (1275, 40, 24),
    (1400, 40, 24),
]


@pytest.mark.parametrize(("low", "high", "soft", "hard", "hours"), B850)
def test_b850_gives_every_printed_row_at_both_its_edges(low, high, soft, hard, hours):
    for strength in (low, (low + high) / 2, high):
        made = bake(strength_mpa=strength, rule="ASTM B850")
        assert (made.needed, made.hours, made.temperature_c) == ("yes", hours, (190, 220)), strength
        assert made.status == "seen"
        assert "2009" in made.date and "B850-98(2009)" in made.edition
    assert bake(hardness_hrc=(soft + hard) / 2, rule="ASTM B850").hours == hours


def test_1040_mpa_by_b850():
    made = bake(strength_mpa=1040, property_class=None, hardness_hv=None, rule="ASTM B850")
    assert (made.needed, made.hours, made.temperature_c, made.start_within_h) == ("yes", 8, (190, 220), 4)
    assert made.start_status == "memory"  # "within 4 h" was not read in the standard
    assert not made.verdict_withheld
    assert "no complete freedom" in made.why
    assert any("qualified plater" in c for c in made.cautions)


def test_class_10_9_by_b850_is_8_h_at_least_and_says_how_much_more_its_hardness_could_want():
    made = bake(property_class="10.9", rule="ASTM B850")  # ISO 898-1: 1040 MPa at least, 39 HRC at most
    assert (made.needed, made.hours, made.hours_if_hardest) == ("yes", 8, 14)  # 39 HRC is printed in the rows of 12 and 14 h
    assert "14 h" in made.why
    assert bake(property_class="10.9", hardness_hrc=32, rule="ASTM B850").hours_if_hardest is None


def test_the_edge_of_two_rows_takes_the_longer_and_says_so():
    made = bake(hardness_hrc=36, rule="ASTM B850")
    assert made.hours == 12 and "2 rows" in made.why


def test_several_measures_take_the_strictest():
    assert bake(strength_mpa=1050, hardness_hrc=44, rule="ASTM B850").hours == 16


def test_between_beyond_and_below_the_rows_it_says_so():
    between = bake(strength_mpa=1100.5, rule="ASTM B850")
    assert between.hours == 10 and "between the printed rows 1001-1100 MPa and 1101-1200 MPa" in between.why
    beyond = bake(strength_mpa=1800.1, rule="ASTM B850")
    assert (beyond.needed, beyond.hours, beyond.temperature_c) == ("no verdict", None, None) and "ends at 1800" in beyond.why
    for strength in (1000, 1000.9):  # ISO 10587 counts from 1000 MPa, the table begins at 1001
        edge = bake(strength_mpa=strength, rule="ASTM B850")
        assert (edge.needed, edge.hours) == ("verify", None) and "between" in edge.why
    below = bake(strength_mpa=999.9, rule="ASTM B850")
    assert (below.needed, below.hours, below.temperature_c, below.start_within_h) == ("no", None, None, None)
    assert "begins at 1001" in below.why


@pytest.mark.parametrize(
    ("hv", "needed"),
    [(250, "no"), (359.9, "no"), (360, "verify"), (375, "verify"), (390, "verify"), (390.1, "yes"), (430, "yes")],
)
def test_iso_4042_goes_by_hardness(hv, needed):  # extract of ISO 4042:2018 at ulstandardspdf.com
    made = bake(hardness_hv=hv, rule="ISO 4042:2018")
    assert made.needed == needed
    assert made.hours is None and made.temperature_c is None  # Annex B.4 was not read: no number is made up
    assert "Annex B.4" in made.why and "2022" in made.why
    assert made.status == ("memory" if needed == "no" else "seen")


@pytest.mark.parametrize(("name", "needed"), [("4.6", "no"), ("8.8", "no"), ("9.8", "verify"), ("10.9", "verify")])
def test_iso_4042_takes_a_class_at_its_greatest_hardness(name, needed):  # ISO 898-1: 335, 360 and 380 HV
    assert bake(property_class=name, rule="ISO 4042:2018").needed == needed


def test_the_two_standards_disagree_on_10_9_and_each_is_named():
    b850, iso = (bake(property_class="10.9", rule=r) for r in ("ASTM B850", "ISO 4042:2018"))
    assert (b850.needed, iso.needed) == ("yes", "verify")
    assert (b850.rule, iso.rule) == ("ASTM B850", "ISO 4042:2018")


def test_iso_4042_exempts_what_carries_no_tension_but_b850_does_not():
    assert bake(hardness_hv=420, in_tension=False, rule="ISO 4042:2018").needed == "no"
    assert bake(strength_mpa=1250, in_tension=False, rule="ASTM B850").hours == 12
    assert bake(hardness_hv=420, in_tension=False, safety_critical=True, rule="ISO 4042:2018").needed == "no verdict"


def test_iso_4042_does_not_turn_strength_into_hardness():
    made = bake(strength_mpa=1040, rule="ISO 4042:2018")
    assert made.needed == "no verdict" and not made.verdict_withheld and "hardness in HV" in made.why


@pytest.mark.parametrize(("hrc", "needed"), [(39, "no"), (39.1, "yes"), (45, "yes")])
def test_f1941_is_from_memory_and_says_so(hrc, needed):
    made = bake(hardness_hrc=hrc, rule="ASTM F1941")
    assert (made.needed, made.status, made.hours) == (needed, "memory", None)


@pytest.mark.parametrize(("hv", "needed"), [(380, "no"), (381, "verify"), (385, "verify"), (385.1, "yes")])
def test_f1941_in_vickers_has_a_grey_zone(hv, needed):  # ISO 898-1 prints 39 HRC beside 380 (10.9) and 385 HV (12.9)
    assert bake(hardness_hv=hv, rule="ASTM F1941").needed == needed


@pytest.mark.parametrize(("strength", "thickness", "hours"), OLDER)
def test_older_iso_route_by_cross_section(strength, thickness, hours):
    made = bake(strength_mpa=strength, thickness_mm=thickness, rule="older ISO route")
    assert (made.needed, made.hours, made.temperature_c) == ("yes", hours, (190, 210))
    assert made.start_within_h == (16 if hours == 24 else None)
    assert "misumi" in made.source


def test_older_iso_route_says_where_it_ends():
    assert bake(strength_mpa=1150, thickness_mm=12, rule="older ISO route").hours == 4  # printed in both rows
    assert "give the greatest thickness" in bake(strength_mpa=1200, rule="older ISO route").why
    for strength, thickness in ((1200, 40.1), (1400.1, 10), (1500, 10), (1500.1, 10)):
        made = bake(strength_mpa=strength, thickness_mm=thickness, rule="older ISO route")
        assert (made.needed, made.hours) == ("no verdict", None), strength
    assert "not to use conventional zinc" in bake(strength_mpa=1600, thickness_mm=10, rule="older ISO route").why


@pytest.mark.parametrize("rule", [*load().rules])
@pytest.mark.parametrize(
    "part", [{"property_class": "12.9"}, {"property_class": "14.9"}, {"property_class": "8.8", "safety_critical": True}]
)
def test_no_verdict_on_what_could_hurt_someone(rule, part):
    made = bake(rule=rule, **part)
    assert made.needed == "no verdict" and made.verdict_withheld
    assert (made.hours, made.temperature_c, made.start_within_h) == (None, None, None)
    assert "qualified plater" in made.why


def test_a_critical_part_needs_nothing_known_to_be_declined():
    assert bake(rule="ASTM B850", safety_critical=True).verdict_withheld


@pytest.mark.parametrize(
    ("said", "strength", "status"),
    [
        ("10.9", 1040, "seen"),
        ("class 10,9", 1040, "seen"),
        ("8.8", 830, "seen"),
        ("9.8", 900, "seen"),
        ("12.9", 1220, "seen"),
        ("Grade 8", 1034, "memory"),
        ("gr 5", 827, "memory"),
        ("11.9", 1100, "derived"),
        ("3.6", 300, "derived"),
    ],
)
def test_classes(said, strength, status):  # ISO 898-1 at unilocindia.com and usefastener.com; SAE J429 from memory, 150 ksi
    found = fastener_class(said)
    assert (found.strength_mpa, found.status) == (strength, status)


@pytest.mark.parametrize(
    ("name", "hrc", "hv", "strength"),
    [
        ("8.8 up to M16", (22, 32), (250, 320), 800), ("8.8", (23, 34), (255, 335), 830), ("9.8", (28, 37), (290, 360), 900),
        ("10.9", (32, 39), (320, 380), 1040), ("12.9", (39, 44), (385, 435), 1220),
    ],
)  # fmt: skip
def test_hardness_of_the_classes(name, hrc, hv, strength):
    """ISO 898-1, least and greatest hardness and least tensile strength (unilocindia.com, usefastener.com); 8.8 above M16."""
    found = fastener_class(name)
    assert (found.hardness_hrc_min, found.hardness_hrc_max) == hrc
    assert (found.hardness_hv_min, found.hardness_hv_max) == hv
    assert (found.strength_mpa, found.status) == (strength, "seen")


def test_small_threads_of_8_8_have_their_own_row_and_the_bare_mark_the_harder_one():
    """ISO 898-1: up to M16 320 HV at most, where ISO 4042 asks for no bake below 360 HV (from memory)."""
    assert fastener_class("8.8 <= M16").name == "8.8 up to M16"
    made = bake(property_class="8.8 up to M16", rule="ISO 4042")
    assert made.needed == "no" and made.status == "memory" and "320 HV" in made.why
    assert "335 HV" in bake(property_class="8.8", rule="ISO 4042").why


def test_a_class_whose_least_hardness_lies_above_its_greatest_is_refused():
    with pytest.raises(ValueError, match="hardness_hv_min lies above hardness_hv_max"):
        FastenerClass(name="x", strength_mpa=1.0, hardness_hv_min=400, hardness_hv_max=300, status="practice")


def test_grade_8_is_150_ksi():
    assert round(150 * 6.894757) == fastener_class("grade 8").strength_mpa
    assert bake(property_class="grade 8", rule="ASTM B850").status == "memory"  # no surer than what the class rests on


def test_a_strength_below_its_class_is_noticed():
    assert any("one of the two is wrong" in c for c in bake(strength_mpa=700, property_class="10.9", rule="ASTM B850").cautions)


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ({"rule": "ASTM B580", "strength_mpa": 1040}, "Did you mean `ASTM B850`"),
        ({"rule": "ASTM B850"}, "give the strength"),
        ({"rule": "ASTM B850", "strength_mpa": -1}, "above 0"),
        ({"rule": "ASTM B850", "strength_mpa": float("nan")}, "above 0"),
        ({"rule": "ASTM B850", "strength_mpa": 1040, "thickness_mm": 0}, "thickness 0"),
        ({"rule": "ASTM B850", "property_class": "A2-70"}, "names no property class"),
        ({"rule": "ASTM B850", "property_class": "8"}, "names no property class"),
        ({"rule": "own", "strength_mpa": 1040}, "no rule of your own"),
    ],
)
def test_what_cannot_be_asked(asked, said):
    with pytest.raises(SafetyError, match=said):
        bake(**asked)


OWN = {
    "edition": "drawing note 7",
    "date": "2021",
    "temperature_c": [195, 205],
    "start_within_h": 1,
    "bands": [
        {"strength_mpa": {"from": 1000, "to": 1200}, "hours": 5},
        {"strength_mpa": {"above": 1200, "to": 1400}, "hours": 9},
    ],
}


def test_an_own_rule_is_the_keepers_own_practice():
    own = {"our customer": own_rule("our customer", OWN)}
    for name in ("own", "our customer", "Our Customer"):
        made = bake(strength_mpa=1200, rule=name, own=own)
        assert (made.needed, made.hours, made.temperature_c, made.start_within_h) == ("yes", 5, (195, 205), 1)
        assert (made.status, made.edition, made.date) == ("practice", "drawing note 7", "2021")
    assert bake(strength_mpa=1201, rule="own", own=own).hours == 9
    with pytest.raises(SafetyError, match="several rules of your own"):
        bake(strength_mpa=1200, rule="own", own={**own, "other": own_rule("other", OWN)})


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"edition": None}, "edition"),
        ({"bands": []}, "at least one row"),
        ({"bands": [{"hours": 4}]}, "at least one of strength_mpa"),
        ({"bands": [{"strength_mpa": {"from": 1200, "to": 1000}, "hours": 4}]}, "must rise"),
        ({"bands": [{"strength_mpa": {"form": 1200}, "hours": 4}]}, "form: no such field"),
        ({"bands": [*OWN["bands"], {"strength_mpa": {"above": 1400}, "hours": 3}]}, "bake less than"),
        ({"bands": [*OWN["bands"], {"strength_mpa": {"above": 1300}, "hours": 30}]}, "overlap"),
        ({"temperature_c": [220, 190]}, "must rise"),
        ({"bands": [{"strength_mpa": {"from": 1000}, "hours": "eight"}]}, "hours: expected a number"),
    ],
)
def test_an_own_rule_that_cannot_be(change, said):
    body = {k: v for k, v in {**OWN, **change}.items() if v is not None}
    with pytest.raises(CatalogueError, match=said) as caught:
        own_rule("our customer", body)
    assert "our customer" in str(caught.value)


def test_the_start_is_counted_in_real_hours_when_clocks_change():
    made = bake(strength_mpa=1040, rule="ASTM B850")
    berlin = ZoneInfo("Europe/Berlin")
    for day, wall in (
        (datetime(2024, 3, 31, 0, 30, tzinfo=berlin), "05:30"),
        (datetime(2024, 10, 27, 0, 30, tzinfo=berlin), "03:30"),
    ):
        latest = start_by(day, made)
        assert f"{latest:%H:%M}" == wall  # 4 h later the wall clock shows 5 h more in spring, 3 h more in autumn
        assert latest.timestamp() - day.timestamp() == 4 * 3600
        assert latest.tzinfo is berlin
    fixed = datetime(2024, 5, 1, 14, 30, tzinfo=timezone(timedelta(hours=2)))
    assert start_by(fixed, made).isoformat() == "2024-05-01T18:30:00+02:00"


def test_very_strong_steel_starts_sooner():
    assert bake(strength_mpa=1600, rule="ASTM B850").start_within_h == 4
    hard = bake(strength_mpa=1601, rule="ASTM B850")
    assert (hard.start_within_h, hard.start_status) == (1, "memory")


def test_no_latest_start_without_a_zone_or_a_delay():
    with pytest.raises(SafetyError, match="time zone"):
        start_by(datetime(2024, 5, 1, 14, 30), bake(strength_mpa=1040, rule="ASTM B850"))
    moment = datetime(2024, 5, 1, 14, 30, tzinfo=ZoneInfo("UTC"))
    with pytest.raises(SafetyError, match="no bake here"):
        start_by(moment, bake(strength_mpa=800, rule="ASTM B850"))
    with pytest.raises(SafetyError, match="names no delay"):
        start_by(moment, bake(hardness_hv=400, rule="ISO 4042:2018"))


AXES = {"strength_mpa": (300, 2200), "hardness_hv": (150, 600), "hardness_hrc": (20, 60)}
SEVERITY = ["no", "verify", "yes", "no verdict"]


@given(
    rule=st.sampled_from([*load().rules]),
    axis=st.sampled_from([*AXES]),
    at=st.floats(0, 1),
    more=st.floats(0, 1),
    thickness=st.floats(1, 60),
)
def test_never_a_shorter_bake_for_a_stronger_part(rule, axis, at, more, thickness):
    low, high = AXES[axis]
    weak = low + at * (high - low)
    strong = weak + more * (high - weak)
    softer, harder = (bake(rule=rule, thickness_mm=thickness, **{axis: v}) for v in (weak, strong))
    assert SEVERITY.index(harder.needed) >= SEVERITY.index(softer.needed) or softer.needed == "no verdict"
    if harder.needed == "yes":
        assert (harder.hours or 0) >= (softer.hours or 0)
    if harder.start_within_h is not None and softer.start_within_h is not None:
        assert harder.start_within_h <= softer.start_within_h


@given(strength=st.floats(1, 5000), rule=st.sampled_from([*load().rules]), critical=st.booleans())
def test_every_answer_names_rule_source_and_reason(strength, rule, critical):
    made = bake(strength_mpa=strength, rule=rule, safety_critical=critical)
    assert made.rule == rule and made.edition and made.date and made.source and made.why
    assert made.verdict_withheld <= (made.needed == "no verdict")
    assert (made.hours is None) or made.needed == "yes"
