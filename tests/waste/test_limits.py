"""Limits of time, amount and paper: inclusive edges as published, the keeper's own limit first."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bathkeeper.catalogue.own_waste import WasteLimit
from bathkeeper.waste.limits import allowance, generator_size, months_needed, retention, storage
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
    ("of", "days"), [("SQG", 180), ("SQG far", 270), ("LQG", 90), ("VSQG", None), ("VSQG over 1000 kg", 180)]
)
def test_federal_storage(of, days):
    """40 CFR 262.16(b), (c), 262.17(a), 262.14: 180 days, 270 where it travels 200 miles or more, 90 days, none."""
    s = storage(START, after(10), US, of=of)
    assert s.limit_days == days
    assert (s.level == "later") == (days is not None)


def test_an_unknown_size_counts_as_small_and_says_so():
    s = storage(START, after(180), US)
    assert (s.limit_days, s.level) == (180, "now") and "until your size is known" in s.text


def test_three_months_elsewhere():
    """The same schedule, para. 3: at most 3 months at another place."""
    assert storage(START, after(91), ENGLAND, of="elsewhere").level == "now"


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


def test_an_allowance_is_the_keepers_own_and_never_an_example_of_elsewhere():
    assert allowance([], ENGLAND) is None and ENGLAND.allowances
    five = WasteLimit(what="allowance", volume_l=5, authority="Town", reference="web page")
    found = allowance([five, own(60)], ENGLAND)
    assert (found.volume_l, found.per_days) == (5, 30) and "Town, web page" in found.text and "ask" in found.text


@pytest.mark.parametrize(
    ("litres", "per", "days", "months"),
    [(60, 5, 30, 12), (60.1, 5, 30, 13), (0, 5, 30, 0), (1, 5, 30, 1), (20, 20, 30, 1), (1.1, 0.1, 30, 11), (0.3, 0.1, 30, 3),
     (2.1, 0.3, 30, 7), (40, 5, 7, 2), (40, 5, 365, 98)],
)  # fmt: skip
def test_months_needed_round_up(litres, per, days, months):
    """A town that takes 5 L a month needs 12 months for 60 L; 60.1 L need one visit more."""
    limit = allowance([WasteLimit(what="allowance", volume_l=per, per_days=days)], ENGLAND)
    assert months_needed(limit, litres) == months


def test_months_in_the_other_unit_and_hostile_amounts():
    kg = allowance([WasteLimit(what="allowance", mass_kg=20)], OTHER)
    assert months_needed(kg, litres=5) is None and months_needed(kg, mass_kg=45) == 3
    for bad in (-1.0, float("nan"), float("inf")):
        with pytest.raises(ValueError, match="0 or more"):
            months_needed(kg, mass_kg=bad)


def test_hostile_authorities_stay_one_short_line():
    evil = WasteLimit(what="storage", days=9, authority="A\n\x1b[31m" * 900, reference="\u202e[b]x[/b]")
    s = storage(START, after(1), rule_set_for("UK"), [evil])
    assert "\n" not in s.text and "\x1b" not in s.text and len(s.text) < 300
