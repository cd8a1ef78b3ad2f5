"""A stream beside discharge limits: how many times above, whose limit, and never a permission."""

from __future__ import annotations

import pytest

from bathkeeper.catalogue.own_waste import WasteLimit
from bathkeeper.waste.comparing import ONLY_COMPARED, compare
from bathkeeper.waste.loader import load
from tests.waste.streams import about, dumped, exactly, stream

RULES = load().rules
GERMANY, US, ENGLAND = RULES["eu-germany"], RULES["us-federal"], RULES["england"]


def rows(s, rules, own=()):
    return {(r.of, r.table): r for r in compare(s, rules, own)}


def test_a_bath_beside_annex_40():
    """AbwV annex 40, part D, sector 1: nickel 0.5 mg/L."""
    r = rows(dumped("zinc-nickel-chloride-ammonium"), GERMANY)[("nickel", "AbwV annex 40, part D, sector 1")]
    assert r.limit == 0.5 and r.above is True and r.times.value == pytest.approx(50_000)
    assert (r.times.low, r.times.high) == (pytest.approx(45_000), pytest.approx(55_000))
    assert "50000 times the limit of 0.5 mg/L" in r.text and r.text.endswith(ONLY_COMPARED)


def test_a_bath_beside_part_433():
    """40 CFR 433.15: nickel 3.98 a day, 2.38 averaged over a month; 433.17: cadmium 0.11."""
    found = rows(dumped("zinc-nickel-chloride-ammonium"), US)
    r = found[("nickel", "433.15")]
    assert r.times.value == pytest.approx(25_000 / 3.98) and "average over a calendar month 2.38 mg/L" in r.text
    cadmium = rows(stream({"cadmium": exactly(0.001)}, role="pickle"), US)
    assert (cadmium[("cadmium", "433.15")].limit, cadmium[("cadmium", "433.17")].limit) == (0.69, 0.11)
    assert not [t for _, t in found if t.startswith("413")]


def test_the_most_above_stands_first():
    found = compare(dumped("zinc-nickel-chloride-ammonium"), GERMANY)
    assert found[0].of == "nickel" and found[1].of == "zinc"


def test_the_keepers_own_limit_stands_in_the_place_of_the_rule_sets():
    limit = WasteLimit(what="discharge", of="Ni", mg_l=2.0, authority="Works", reference="consent 12")
    found = compare(dumped("zinc-nickel-chloride-ammonium"), GERMANY, [limit])
    nickel = [r for r in found if r.of == "nickel"]
    assert len(nickel) == 1 and nickel[0].own and nickel[0].limit == 2.0 and nickel[0].source == "Works, consent 12"
    elsewhere = WasteLimit(what="discharge", of="nickel", mg_l=2.0, reference="x", containers=("drum 9",))
    assert not [r for r in compare(dumped("watts-nickel"), GERMANY, [elsewhere]) if r.own]


def test_england_has_no_numbers_until_a_consent_is_entered():
    s = dumped("watts-nickel")
    assert compare(s, ENGLAND) == ()
    (only,) = compare(s, ENGLAND, [WasteLimit(what="discharge", of="zinc", mg_l=1.0, reference="c")])
    assert only.of == "zinc" and only.own


@pytest.mark.parametrize(("ph", "above"), [(4.9, True), (5.0, False), (7.0, False)])
def test_the_sewers_ph(ph, above):
    """40 CFR 403.5(b)(2): below 5.0 is forbidden, 5.0 is not below it."""
    assert rows(stream({}, ph=exactly(ph, "pH")), US)[("ph", "403.5")].above is above


def test_an_own_ph_window_and_an_unmeasured_ph():
    window = WasteLimit(what="discharge", of="pH", low=6, high=10, reference="consent 12")
    assert rows(stream({}, ph=about(9.9, 0.02, "pH")), ENGLAND, [window])[("ph", "your limit")].above is True
    r = rows(stream({}), ENGLAND, [window])[("ph", "your limit")]
    assert r.above is None and "not measured" in r.text and "6 to 10" in r.text
    assert "pH 5 at least" in rows(stream({}), US)[("ph", "403.5")].text
    most = WasteLimit(what="discharge", of="pH", high=9.5, reference="c")
    assert "pH 9.5 at most" in rows(stream({}), ENGLAND, [most])[("ph", "your limit")].text


def test_below_a_limit_is_no_permission():
    r = rows(stream({"nickel": exactly(0.0001)}), GERMANY)[("nickel", "AbwV annex 40, part D, sector 1")]
    assert r.above is False and "by estimate and not by a sample" in r.text and "no permission" in r.text


def test_nothing_booked_is_no_measurement():
    r = rows(stream({"nickel": exactly(0.0)}), GERMANY)[("nickel", "AbwV annex 40, part D, sector 1")]
    assert "no measurement" in r.text


def test_unknown_is_said_and_asked_for():
    found = compare(dumped("still-rinse", complete=False), GERMANY)
    assert {r.of for r in found} >= {"nickel", "zinc", "chromium", "cadmium"}
    assert all(r.found is None and "have it measured" in r.text for r in found)
    no_volume = compare(stream({"zinc": exactly(5)}, litres=None), GERMANY)
    assert [r.of for r in no_volume] == ["zinc"] and "not known" in no_volume[0].text


def test_solids_are_not_compared():
    """A rag bin, a sludge: a discharge limit is about water."""
    for what in ("rags", "filters", "sludge", "empty packaging"):
        assert compare(dumped("zinc-nickel-chloride-ammonium", what), GERMANY) == ()


def test_a_limit_of_nothing_and_a_range_that_only_reaches_it():
    none = WasteLimit(what="discharge", of="nickel", mg_l=0.0, reference="c")
    r = rows(stream({"nickel": exactly(1)}), ENGLAND, [none])[("nickel", "your limit")]
    assert r.times is None and r.above is True and "none at all" in r.text
    r = rows(stream({"nickel": about(0.00048, 0.2)}), GERMANY)[("nickel", "AbwV annex 40, part D, sector 1")]
    assert r.above is True and "high end of the range" in r.text


def test_hexavalent_counts_as_chromium_and_alone():
    s = stream({"chromium(VI)": exactly(0.01), "chromium": exactly(0.02)})
    found = rows(s, GERMANY)
    assert found[("chromium", "AbwV annex 40, part D, sector 1")].found.value == pytest.approx(30)
    assert found[("chromium(VI)", "AbwV annex 40, part D, sector 1")].found.value == pytest.approx(10)
