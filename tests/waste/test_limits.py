"""Limits of time, amount and paper: inclusive edges as published, the keeper's own limit first."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bathkeeper.catalogue.own_waste import WasteLimit
from bathkeeper.catalogue.typed import CatalogueError, to_struct
from bathkeeper.waste.limits import generator_size, months_on, retention, storage
from bathkeeper.waste.loader import load
from bathkeeper.waste.picking import rule_set_for

RULES = load().rules
ENGLAND, US, OTHER = RULES["england"], RULES["us-federal"], RULES["other"]
START = datetime(2026, 1, 1, 8, 0, tzinfo=UTC)


def after(days):
    return START + timedelta(days=days)


@pytest.mark.parametrize(
    ("month", "acute", "size"),
    [
        (0, 0, "VSQG"), (100, 0, "VSQG"), (100, 1, "VSQG"), (100.001, 0, "SQG"), (999.999, 0, "SQG"), (1000, 0, "LQG"),
        (5000, 0, "LQG"), (10, 1.001, "LQG"), (500, 1, "SQG"),
    ],
)  # fmt: skip
def test_generator_sizes_include_their_edges(month, acute, size):
    """40 CFR 262.13 (EPA sheet on very small quantity generators): <= 100 kg and <= 1 kg acute; > 100 and < 1,000; >= 1,000."""
    assert generator_size(month, acute).size == size


@pytest.mark.parametrize(("on_site", "clock"), [(0, False), (999.999, False), (1000, True), (6000, True)])
def test_a_thousand_kilograms_on_site_set_a_clock_and_change_no_size(on_site, clock):
    """40 CFR 262.14(a)(4): 1,000 kg or more; 180 days, never over 6,000 kg."""
    g = generator_size(50, 0, on_site)
    assert (g.size, g.clock, g.ceiling_kg, g.over_ceiling) == ("VSQG", clock, 6000, False)
    limit = storage(START, after(1), US, of=g.storage_of).limit_days
    assert limit == (180 if clock else None)


def test_the_ceiling():
    """40 CFR 262.14(a)(4), 262.16(b)(1): never over 6,000 kg on site; none for a large generator."""
    assert not generator_size(50, 0, 6000).over_ceiling
    assert generator_size(50, 0, 6000.1).over_ceiling and generator_size(500, 0, 6001).over_ceiling
    assert generator_size(1000, 0, 9000).ceiling_kg is None and not generator_size(1000, 0, 9000).over_ceiling


@pytest.mark.parametrize("bad", [-1, float("nan"), float("inf")])
def test_amounts_that_are_none_are_refused(bad):
    for args in ((bad, 0, 0), (0, bad, 0), (0, 0, bad)):
        with pytest.raises(ValueError, match="number of kg, 0 or more"):
            generator_size(*args)


@settings(derandomize=True, deadline=None, max_examples=100)
@given(st.floats(0, 1e6), st.floats(0, 100), st.floats(0, 1e6), st.floats(0, 1e5))
def test_more_waste_never_makes_a_smaller_generator(month, acute, site, more):
    order = ["VSQG", "SQG", "LQG"]
    g, h = generator_size(month, acute, site), generator_size(month + more, acute, site)
    assert order.index(g.size) <= order.index(h.size)
    assert not (h.size == "LQG" and h.clock)


@pytest.mark.parametrize(
    ("days", "level"), [(0, "later"), (269.99, "later"), (270, "soon"), (364.99, "soon"), (365, "now"), (400, "now")]
)
@pytest.mark.parametrize("rules", ["england", "scotland", "wales", "northern-ireland", "eu-germany"])
def test_a_year_where_it_was_made(days, level, rules):
    """Environmental Permitting Regulations 2010, Sch. 25 Pt 3 para. 2(2): not longer than 12 months; warned of from day 270 by
    our own choice. Elsewhere from memory, which the status says."""
    s = storage(START, after(days), RULES[rules])
    assert (s.limit_days, s.level) == (365, level)
    assert s.left_days == pytest.approx(365 - days) and s.by == after(365)
    assert (s.status == "seen") == (rules in ("england", "wales"))


@pytest.mark.parametrize(
    ("of", "days"),
    [
        ("SQG", 180), ("SQG far", 270), ("LQG", 90), ("VSQG", None), ("VSQG over 1000 kg", 180),
        ("VSQG over 1000 kg far", 270), ("VSQG acute", 90),
    ],
)  # fmt: skip
def test_federal_storage(of, days):
    """40 CFR 262.16(b), (c), 262.17(a), 262.14(a)(3), (4): 180 days, 270 where it travels 200 miles or more, 90 days, none;
    90 days for acute waste above 1 kg on site."""
    s = storage(START, after(10), US, of=of)
    assert s.limit_days == days
    assert (s.level == "later") == (days is not None)


def test_an_unknown_size_counts_as_small_and_says_so():
    s = storage(START, after(180), US)
    assert (s.limit_days, s.level) == (180, "now") and "until your size is known" in s.text


def test_acute_waste_has_its_line():
    """40 CFR 262.14(a)(3): more than 1 kg of acute waste on site (100 kg of what a spill of it left)."""
    line = US.threshold("acute-on-site")
    assert (line.value, line.unit, line.tripped(1.0), line.tripped(1.001)) == (1, "kg", False, True)
    assert "100 kg" in line.text and line.status == "seen"


@pytest.mark.parametrize(
    ("first", "until"),
    [
        ((2027, 2, 1), (2027, 5, 1)), ((2027, 6, 1), (2027, 9, 1)), ((2026, 11, 30), (2027, 2, 28)),
        ((2027, 11, 30), (2028, 2, 29)), ((2026, 12, 31), (2027, 3, 31)), ((2026, 10, 15), (2027, 1, 15)),
    ],
)  # fmt: skip
@pytest.mark.parametrize("rules", ["england", "wales", "scotland", "northern-ireland"])
def test_three_months_elsewhere_are_calendar_months(first, until, rules):
    """Environmental Permitting Regulations 2010, Sch. 25 Pt 3 para. 3: not longer than 3 months at another place. 1 February to
    1 May is 89 days, 1 June to 1 September 92; a month without such a day ends on its last."""
    day, end = datetime(*first, 9, tzinfo=UTC), datetime(*until, 9, tzinfo=UTC)
    s = storage(day, end, RULES[rules], of="elsewhere")
    assert (s.by, s.level, s.limit_days) == (end, "now", (end - day).days)
    assert storage(day, end - timedelta(hours=1), RULES[rules], of="elsewhere").level == "soon"


def test_months_over_the_end_of_a_year_and_of_the_calendar():
    assert months_on(datetime(2026, 12, 31, tzinfo=UTC), 2) == datetime(2027, 2, 28, tzinfo=UTC)
    assert months_on(datetime(2026, 12, 1, tzinfo=UTC), 12) == datetime(2027, 12, 1, tzinfo=UTC)
    assert months_on(datetime(9998, 12, 1, tzinfo=UTC), 3) is None
    s = storage(None, START, ENGLAND, of="elsewhere")
    assert s.limit_days is None and s.level is None and "write it on the container" in s.text
    assert storage(datetime(9998, 12, 1, tzinfo=UTC), datetime(9998, 12, 2, tzinfo=UTC), ENGLAND, of="elsewhere").by is None


def test_a_second_place_has_its_own_rules():
    """gov.uk on the exemption NWFD 3: 1,000 L with secondary containment, 50 m3, nothing with a flash point under 21 degC."""
    text = next(s.text for s in ENGLAND.storage if s.of == "elsewhere")
    assert all(said in text for said in ("1,000 L", "secondary containment", "50 m3", "flash point under 21 degC"))


ELSEWHERE = WasteLimit(what="elsewhere", containers=("drum 2",), since="2026-07-01")
FAR = WasteLimit(what="far", authority="Transfer yard")


def test_a_container_that_stands_elsewhere_counts_from_when_it_came_there():
    """EPR 2010, Sch. 25 Pt 3 para. 3, told by the keeper for one container; the other keeps its 12 months."""
    now = datetime(2026, 9, 15, 8, tzinfo=UTC)
    s = storage(START, now, ENGLAND, [ELSEWHERE], "drum 2")
    assert s.by == datetime(2026, 10, 1, tzinfo=UTC) and s.level == "soon" and "2026-07-01" in s.text
    assert s.stood_days == pytest.approx(257) and s.counted_days == pytest.approx(76, abs=0.5)
    assert storage(START, now, ENGLAND, [ELSEWHERE], "drum 1").limit_days == 365
    refilled = datetime(2026, 8, 1, 8, tzinfo=UTC)
    assert storage(refilled, now, ENGLAND, [ELSEWHERE], "drum 2").by == datetime(2026, 11, 1, 8, tzinfo=UTC)


def test_elsewhere_without_its_day_counts_from_the_first_drop_and_without_a_rule_says_so():
    bare = WasteLimit(what="elsewhere")
    s = storage(START, after(1), ENGLAND, [bare], "drum 1")
    assert s.by == datetime(2026, 4, 1, 8, tzinfo=UTC) and "is not told" in s.text
    for rules, days in ((US, 180), (OTHER, None), (RULES["eu-germany"], 365)):
        s = storage(START, after(1), rules, [bare], "drum 1")
        assert s.limit_days == days and "was not read for this place: ask" in s.text
    assert storage(START, after(1), ENGLAND, [bare, own(30)], "drum 1").limit_days == 30


@pytest.mark.parametrize(
    ("of", "days"), [("SQG", 270), ("", 270), ("VSQG over 1000 kg", 270), ("LQG", 90), ("VSQG", None)]
)
def test_200_miles_or_more_to_whoever_takes_it(of, days):
    """40 CFR 262.16(c), 262.14(a)(4): 270 days for a small generator and a very small one over its cap, 90 for a large one."""
    assert storage(START, after(1), US, [FAR], "drum 1", of).limit_days == days
    assert storage(START, after(1), ENGLAND, [FAR], "drum 1").limit_days == 365


def test_every_storage_line_can_be_reached():
    """Sizes and the site's clock come from the containers, the rest from the keeper's own words; acute waste from nobody, since
    nothing in the catalogue is."""
    sizes = {generator_size(*a).storage_of for a in ((50,), (500,), (5000,), (50, 0, 2000))}
    reached = set()
    for of in sizes | {""}:
        for told in ([], [ELSEWHERE], [FAR]):
            for rules in RULES.values():
                text = storage(START, after(1), rules, told, "drum 2", of if rules.system == "us" else "").text
                reached |= {(rules.name, s.of) for s in rules.storage if text.startswith(s.text)}
    wanted = {(r.name, s.of) for r in RULES.values() for s in r.storage}
    assert wanted - reached == {("us-federal", "VSQG acute")}


@pytest.mark.parametrize(
    ("body", "said"),
    [
        ({"what": "elsewhere", "since": "soon"}, "since is a day such as 2027-05-01"),
        ({"what": "far", "since": "2027-05-01"}, 'since belongs to what = "elsewhere"'),
    ],
)
def test_a_wrong_day_is_named(body, said):
    with pytest.raises(CatalogueError, match=said):
        to_struct(body, WasteLimit, "definition of waste limit `x`")


def test_the_sites_clock_is_another_than_the_containers():
    """40 CFR 262.14(a)(4): all of it has 180 days from the day on which 1,000 kg on site was passed."""
    passed = after(300)
    s = storage(START, after(331), US, of="VSQG over 1000 kg", site_since=passed)
    assert s.left_days == pytest.approx(149) and s.by == after(480) and s.stood_days == 331 and s.counted_days == 31
    assert s.level == "later" and f"{passed:%Y-%m-%d}" in s.text
    younger = storage(after(320), after(331), US, of="VSQG over 1000 kg", site_since=passed)
    assert younger.by == after(480)
    assert storage(START, after(331), US, of="SQG", site_since=passed).by == after(180)
    assert storage(START, after(331), US, [own(400)], "drum 1", "VSQG over 1000 kg", passed).by == after(400)


def test_no_limit_known_is_said():
    s = storage(START, after(1000), OTHER)
    assert s.limit_days is None and s.level is None and "ask" in s.text and s.stood_days == 1000


def own(days, containers=(), **more):
    return WasteLimit(what="storage", days=days, containers=containers, authority="County", reference="letter 7", **more)


def test_the_keepers_own_limit_wins_for_its_container():
    limits = [own(60), own(30, ("drum 2",)), own(10, ("drum 3",))]
    assert storage(START, after(1), ENGLAND, limits, "drum 1").limit_days == 60
    assert storage(START, after(1), ENGLAND, limits, "drum 2").limit_days == 30
    s = storage(START, after(46), ENGLAND, limits, "drum 1")
    assert s.own and s.level == "soon" and "County, letter 7" in s.text
    longer = storage(START, after(1), ENGLAND, [own(500)], "drum 1")
    assert longer.limit_days == 500 and "longer than the 365 days" in longer.text
    assert storage(START, after(1), ENGLAND, [own(10, ("drum 3",))], "drum 1").limit_days == 365


def test_a_container_without_a_first_day_and_one_from_tomorrow():
    s = storage(None, after(1), ENGLAND)
    assert s.stood_days is None and s.level is None and "write it on the container" in s.text
    assert storage(after(5), after(1), ENGLAND).stood_days == 0


def test_offsets_are_one_time_and_far_limits_do_not_fall_off_the_calendar():
    east = START.astimezone(timezone(timedelta(hours=10)))
    assert storage(east, after(1), ENGLAND).stood_days == 1
    assert storage(START, after(1), ENGLAND, [own(1e9)]).by is None


@pytest.mark.parametrize(
    ("rules", "paper", "years"),
    [
        ("england", "waste transfer note", 2),  # SI 1991/2839 reg. 3
        ("england", "consignment note", 3),  # gov.uk guidance; SI 2005/894 regs 49, 51
        ("scotland", "consignment note", 3),  # Special Waste Regulations 1996
        ("northern-ireland", "producer's register", 3),  # SR 2005/300 reg. 38
        ("us-federal", "manifest", 3),  # 40 CFR 262.40
        ("us-federal", "determination", 3),  # 40 CFR 262.11(f)
        ("us-federal", "sewer monitoring", 3),  # 40 CFR 403.12(o)
        ("eu-germany", "register", 3),  # NachwV s. 25(1)
        ("eu", "register", 3),  # Directive 2008/98/EC Art. 35, as in KrWG s. 49
    ],
)
def test_papers_are_kept(rules, paper, years):
    kept = {k.paper.name: k for k in retention(RULES[rules].papers, START)}
    assert kept[paper].until == START.replace(year=2026 + years)
    assert f"keep {years} years" in kept[paper].text


def test_papers_from_a_leap_day_and_without_a_day_or_a_number():
    leap = datetime(2028, 2, 29, 12, tzinfo=UTC)
    three = {k.until for k in retention(ENGLAND.papers, leap) if k.paper.keep_years == 3}
    assert three == {datetime(2031, 3, 1, 12, tzinfo=UTC)}
    assert all(k.until is None for k in retention(ENGLAND.papers))
    label = next(k for k in retention(US.papers, START) if k.paper.name == "container label")
    assert label.until is None and "no time was read" in label.text
    assert retention(ENGLAND.papers, datetime(9998, 2, 1, tzinfo=UTC))


def test_papers_where_nobody_knows_which_law_holds():
    """3 years as a simple rule, 6 if unsure (common practice); the laws read have 2, 3 and, in Spain, 5 years."""
    (kept,) = retention(OTHER.papers, START, unsure=True)
    assert kept.until == START.replace(year=2032) and "keep 6 years" in kept.text and "common practice" in kept.text
    (simple,) = retention(OTHER.papers, START)
    assert simple.until == START.replace(year=2029) and simple.paper.status == "practice"
    assert "5 in Spain" in OTHER.papers[0].source and "every law" not in OTHER.papers[0].source
    assert "6 if unsure" in retention(US.papers, START)[-1].text  # a paper for which no number was read
    assert "Spain 5 years" in next(p.text for p in RULES["eu"].papers if p.name == "register")


def test_hostile_authorities_stay_one_short_line():
    evil = WasteLimit(what="storage", days=9, authority="A\n\x1b[31m" * 900, reference="\u202e[b]x[/b]")
    s = storage(START, after(1), rule_set_for("UK"), [evil])
    assert "\n" not in s.text and "\x1b" not in s.text and len(s.text) < 300
