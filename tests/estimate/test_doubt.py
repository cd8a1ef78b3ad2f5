"""Readings not believed, instruments wrong the same way every time, and entries that name what is not there."""

from __future__ import annotations

import math
from datetime import timedelta
from typing import Any

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from bathkeeper.catalogue.loader import load
from bathkeeper.entries import AnyEntry, EntryError, parse
from bathkeeper.estimate.fold import Fold, at_moment
from bathkeeper.estimate.observe import DOUBT
from bathkeeper.estimate.state import Z95
from bathkeeper.estimate.view import tank_view
from tests.estimate.helpers import BATH, START, Book, differences, g_l, is_covariance, shown, take, unbalanced

METALS = load().metals


def started() -> Book:
    book = Book()
    book.bath()
    return book.day(1)


# -- doubt -----------------------------------------------------------------------------------------


def test_a_reading_far_off_is_kept_shown_and_not_used() -> None:
    book, without = started(), started()
    read = book.read("bath", zinc=52.0)
    without.moment = book.moment
    a, b = book.state(), without.state()
    assert g_l(a, "zinc") == g_l(b, "zinc")
    seen = tank_view(a, METALS).doubtful["zinc"]
    assert (seen.entry, seen.value, seen.doubtful) == (read, 52.0, True)
    assert seen.expected == pytest.approx(g_l(b, "zinc"))
    assert seen.expected_spread == pytest.approx(
        Z95 * math.hypot(b.concentration("zinc")[1], g_l(b, "zinc") * 0.02 / Z95), rel=0.05
    )
    assert not a.jumps


def test_the_doubt_begins_at_the_999_in_1000_point() -> None:
    """Innovation squared against 10.83 times its variance, either side, of a fresh bath on which no rate has worked yet."""

    def fresh() -> Book:
        book = Book()
        book.bath(anodes=False)
        return book

    value, sd = fresh().state().concentration("zinc")
    for factor, doubted in ((0.98, False), (1.02, True)):
        book = fresh()
        # spread stated small, so that nearly all of the innovation's variance is the estimate's own
        innovation = factor * math.sqrt(DOUBT * (sd**2 + (0.01 / Z95) ** 2))
        book.reading(of="zinc", value=value + innovation, unit="g/L", spread=0.01, method="test strip")
        assert bool(book.state().doubts) is doubted


def test_a_second_reading_that_agrees_makes_both_count_each_at_its_own_time() -> None:
    book = started()
    first = book.read("bath", zinc=45.0)
    at = book.moment
    book.plate()
    book.day(8)
    second = book.read("bath", zinc=45.5)
    entries = book.entries
    state = take(entries).tanks["bath"]
    assert not state.doubts
    assert [j.entries[0] for j in state.jumps] == [first]
    assert state.jumps[0].at == at
    assert state.jumps[0].amount == pytest.approx(12.0, abs=0.3)
    assert g_l(state, "zinc") == pytest.approx(45.5, abs=0.6)
    fold = Fold(load())
    fold.take(entries)
    between = fold.take(entries[:-1]).tanks["bath"]
    assert first in {s.entry for s in between.doubts.values()}, "looked at before the second reading, the first stays in doubt"
    assert second not in {s.entry for s in between.seen.values()}


def test_a_second_reading_that_agrees_with_the_estimate_leaves_the_first_in_doubt() -> None:
    book = started()
    first = book.read("bath", zinc=52.0)
    book.day(3).read("bath", zinc=33.2)
    state = book.state()
    assert {s.entry for s in state.doubts.values()} == {first}
    assert g_l(state, "zinc") == pytest.approx(33.1, abs=0.3)
    assert not state.jumps


def test_a_doubt_that_a_good_reading_has_refuted_does_not_come_back() -> None:
    """Two slips a season apart, three good readings between: the slips do not vouch for one another."""
    book = started()
    book.read("bath", zinc=52.0)
    for day in (20, 40, 60):
        book.day(day).read("bath", zinc=33.5)
    book.day(80).read("bath", zinc=52.5)
    state = book.state()
    assert not state.jumps
    assert g_l(state, "zinc") == pytest.approx(33.5, abs=1.0)


def test_a_third_reading_may_agree_with_the_first_past_a_second_slip() -> None:
    book = started()
    book.read("bath", zinc=45.0)
    book.day(2).read("bath", zinc=70.0)
    book.day(3).read("bath", zinc=45.3)
    state = book.state()
    assert state.jumps
    assert g_l(state, "zinc") == pytest.approx(45.0, abs=0.8)


def test_a_confirmed_reading_counts_at_its_own_time() -> None:
    book = started()
    first = book.read("bath", zinc=45.0)
    at = book.moment
    book.day(4).reading(tank=None, confirms=[first])
    state = book.state()
    assert not state.doubts
    assert [(j.entries[0], j.at) for j in state.jumps] == [(first, at)]
    assert g_l(state, "zinc") == pytest.approx(45.0, abs=0.5)


def test_a_reading_that_confirms_itself_counts() -> None:
    book = started()
    book.reading(of="zinc", value=45.0, unit="g/L", confirms=True)
    assert g_l(book.state(), "zinc") == pytest.approx(45.0, abs=0.5)


def test_a_reading_can_be_confirmed_after_another_slip() -> None:
    book = started()
    first = book.read("bath", zinc=45.0)
    book.day(3).read("bath", zinc=70.0)
    book.day(4).reading(tank=None, confirms=[first])
    assert any(j.entries == (first,) for j in book.state().jumps)


def test_a_confirmation_of_nothing_is_a_problem() -> None:
    book = started()
    asked = book.reading(tank=None, confirms=["no-such-id"])
    assert "no-such-id" in shown(book.world().problems, asked)


def test_a_confirmation_dated_before_what_it_confirms_gives_the_same_in_any_order() -> None:
    book = started()
    book.log("reading", confirms=["test-late"], tank="bath")
    late = parse(
        {
            "kind": "reading",
            "id": "test-late",
            "at": book.moment + timedelta(days=2),
            "tank": "bath",
            "values": [{"of": "zinc", "value": 45.0, "unit": "g/L"}],
        }
    )
    fold = Fold(load())
    fold.take(book.entries)
    assert differences(fold.take([*book.entries, late]), take([*book.entries, late])) == []


def test_a_decision_inside_a_decision_is_forgotten_with_it() -> None:
    """The first reading is believed only because of the last; what follows for those between must go with it."""
    book = started()
    book.read("bath", zinc=45.0)
    for day in (10, 20):
        book.day(day).read("bath", zinc=33.3)
    book.day(30)
    remark = parse({"kind": "remark", "id": "test-remark", "at": book.moment - timedelta(days=5), "text": "looked in"})
    book.read("bath", zinc=45.2)
    fold = Fold(load())
    fold.take(book.entries)
    late = sorted([*book.entries, remark], key=lambda e: e.order)
    assert differences(fold.take(late), take(late)) == []


def test_a_late_first_entry_gives_the_same_in_any_order() -> None:
    """An addition written down late, from before anything else in the book."""
    book = Book()
    book.moment += timedelta(days=1)
    book.bath()
    book.day(9).plate()
    early = parse(
        {
            "kind": "calibration",
            "id": "test-early",
            "at": START - timedelta(days=400),
            "what": "supply",
            "name": "main",
            "against": "a better one",
            "result": 1.01,
        }
    )
    fold = Fold(load())
    fold.take(book.entries)
    assert differences(fold.take([early, *book.entries]), take([early, *book.entries])) == []
    fold.take([early, *book.entries])
    assert differences(fold.take(book.entries), take(book.entries)) == []


# -- instruments -----------------------------------------------------------------------------------


def correlation(state: Any, a: str, b: str) -> float:
    g = state.gauss
    return float(g.cov[g.index[a], g.index[b]] / math.sqrt(g.variance(a) * g.variance(b)))


def test_zinc_by_difference_is_wrong_the_other_way_than_nickel() -> None:
    def after(method: str) -> float:
        book = Book()
        book.tank("bath", "plate", 5, BATH, 40.0)
        book.make_up("bath", 40.0)  # nothing stated: contents wide open, so the readings' own errors are what is left
        zinc = {"of": "zinc", "value": 32.0, "unit": "g/L", "method": method, "lot": "A"}
        nickel = {"of": "nickel", "value": 24.0, "unit": "g/L", "method": "nickel photometer", "lot": "B"}
        book.log("reading", tank="bath", values=[zinc, nickel])
        return correlation(book.state(), "mass:zinc", "mass:nickel")

    apart, by_difference = after("EDTA titration"), after("zinc by difference")
    assert by_difference < apart - 0.2
    assert by_difference < -0.1


def test_nickel_under_the_name_of_the_method_for_zinc_is_an_ordinary_reading() -> None:
    """One method named for both metals of an entry, as people do: nickel is not taken by difference from itself."""
    book = started()
    book.read("bath", method="zinc by difference", zinc=33.0, nickel=24.0)
    before, after = started().state(), book.state()
    assert 0 < after.gauss.variance("mass:nickel") < before.gauss.variance("mass:nickel")


def test_a_lot_is_wrong_for_both_metals_alike_and_a_new_lot_afresh() -> None:
    book = started()
    book.read("bath", method="EDTA titration", lot="A", zinc=33.0)
    book.read("bath", method="titration, unstated", lot="A", nickel=24.0)
    state = book.state()
    assert [n for n in state.gauss.names if n.startswith("bias:") and n != "habit:area"] == ["bias:A"]
    for _ in range(30):
        book.read("bath", method="EDTA titration", lot="A", zinc=33.0)
    used = book.state()
    assert correlation(used, "mass:zinc", "bias:A") < -0.5
    assert used.concentration("zinc")[1] > 0.3 * 33 * 0.02 / Z95, "thirty readings of one lot do not average its error out"
    book.read("bath", method="EDTA titration", lot="B", zinc=33.0)
    afresh = book.state()
    usual = load().method("EDTA titration").bias_relative / Z95
    assert math.sqrt(afresh.gauss.variance("bias:B")) > 0.6 * usual
    assert abs(correlation(afresh, "bias:A", "bias:B")) < 0.95


def test_a_calibrated_lot_is_known_from_its_first_reading() -> None:
    book = started()
    book.log("calibration", what="titrant lot", name="A", against="weighed zinc", result=1.02, spread=0.002)
    book.read("bath", method="EDTA titration", lot="A", zinc=33.0 * 1.02)
    state = book.state()
    assert state.gauss.value("bias:A") == pytest.approx(0.02, abs=0.002)
    assert g_l(state, "zinc") == pytest.approx(33.0, abs=0.05)


@pytest.mark.parametrize("first", ["run", "calibration"])
def test_a_calibration_narrows_a_supply(first: str) -> None:
    """It reads 2 % high: what passed is 2 % less than read."""
    book = started()
    if first == "run":
        book.plate()
    book.log("calibration", what="supply", name="main", against="a clamp meter", result=1.02, spread=0.01)
    if first == "calibration":
        book.plate()
    state = book.state()
    usual = load().spreads["supply gain"].relative / Z95
    assert state.gauss.value("gain:main") == pytest.approx(-math.log(1.02), abs=0.002)
    assert math.sqrt(state.gauss.variance("gain:main")) < 0.3 * usual


def test_a_calibration_books_what_it_moves() -> None:
    book = started()
    for _ in range(10):
        book.plate(30.0)
    book.log("calibration", what="supply", name="main", against="a clamp meter", result=1.05, spread=0.005)
    assert not unbalanced(book.state())


def test_an_anode_weighed_teaches_the_share() -> None:
    """200 Ah, nickel anode 12 g lighter: 12 / (200 x 1.095 g/Ah) = 5.5 % of the current (1.095 g/Ah, printed equivalent)."""
    book = started()
    for day in range(1, 41):
        book.day(day).plate(5.0)
    before = book.state()
    book.anode("nickel-1", "weighed", mass_g=1500.0 - 24.0, brushed=True)
    after = book.state()
    share = after.parameter("anode_share_nickel")
    assert share.value == pytest.approx(24 / (200 * 1.095), rel=0.06)
    assert after.gauss.variance_of(share) < 0.05 * before.gauss.variance_of(before.parameter("anode_share_nickel"))
    assert after.gauss.value("anode:nickel-1") == pytest.approx(1476.0, abs=0.3)


def test_unbrushed_anodes_count_for_less() -> None:
    spreads = []
    for brushed in (True, False):
        book = started()
        book.plate(100.0)
        book.anode("nickel-1", "weighed", mass_g=1494.0, brushed=brushed)
        spreads.append(book.state().gauss.variance("anode:nickel-1"))
    assert spreads[1] > 4 * spreads[0]


def test_a_bath_is_not_read_by_the_conductivity_of_weak_solutions() -> None:
    """Limiting conductivities say 630 mS/cm of a strong bath; 200 is what such a bath shows. It must not move its contents."""
    book = started()
    before = book.state()
    for day in (2, 5):
        book.day(day).read("bath", "mS/cm", conductivity=200.0)
    assert g_l(book.state(), "potassium") == pytest.approx(g_l(before, "potassium"), rel=0.02)


def test_a_branch_current_in_amperes_is_not_a_percentage() -> None:
    book = started()
    book.reading(of="nickel_share", value=0.3, unit="A")
    state = book.state()
    assert state.parameter("anode_share_nickel").value == pytest.approx(0.05, abs=1e-6)


def test_a_load_weighed_after_two_plating_steps_is_the_sum_of_both() -> None:
    book = started()
    steps = [{"tank": "bath", "minutes": m, "charge": {"charge_ah": q}, "supply": "main"} for m, q in ((8.0, 1.0), (36.0, 4.0))]
    book.log("run", steps=steps, parts=[{"description": "x", "area_dm2": 4.3}], mass_before_g=900.0, mass_after_g=905.6)
    state = book.state()
    assert "deposit_mass" not in state.doubts
    assert state.seen["deposit_mass"].expected == pytest.approx(5.6, abs=0.2)


def test_a_zero_read_is_not_a_certainty() -> None:
    """None found by a titration that sees 3 % of what is there: not proof of less than a milligram."""
    book = Book()
    book.tank("pickle", "pickle", 1, "bisulfate-pickle")
    book.make_up("pickle", 20.0)
    for day in range(1, 11):
        book.day(day).log("run", steps=[{"tank": "pickle", "minutes": 10.0}], parts=[{"description": "x", "area_dm2": 4.0}])
    book.reading(tank="pickle", of="iron", value=0.0, unit="g/L", method="titration, unstated", confirms=True)
    assert book.state("pickle").concentration("iron")[1] > 1e-4


# -- what is not there -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("kind", "fields", "named"),
    [
        ("make_up", {"tank": "tub", "volume_l": 10.0}, "tub"),
        ("addition", {"tank": "tub", "items": [{"reagent": "water", "amount": 1.0, "unit": "L"}]}, "tub"),
        ("addition", {"tank": "bath", "items": [{"reagent": "unobtainium", "amount": 1.0, "unit": "g"}]}, "unobtainium"),
        ("addition", {"tank": "bath", "items": [{"reagent": "zinc chloride", "amount": 1.0, "unit": "mL"}]}, "zinc chloride"),
        ("removal", {"tank": "tub", "volume_l": 1.0}, "tub"),
        ("removal", {"tank": "bath", "volume_l": 400.0}, "400"),
        ("run", {"steps": [{"tank": "tub", "minutes": 5.0}]}, "tub"),
        (
            "run",
            {"steps": [{"tank": "bath", "branches": [{"charge": {"charge_ah": 1.0}, "anodes": ["nickel-9"]}]}]},
            "nickel-9",
        ),
        ("anode", {"tank": "tub", "anode": "zinc-9", "action": "hung", "metal": "zinc"}, "tub"),
        ("anode", {"tank": "bath", "anode": "bar", "action": "hung"}, "bar"),
        ("anode", {"tank": "bath", "anode": "zinc-9", "action": "weighed", "mass_g": 5.0}, "zinc-9"),
        ("reading", {"tank": "tub", "values": [{"of": "zinc", "value": 3.0, "unit": "g/L"}]}, "tub"),
        ("reading", {"run": "no-such-run", "values": [{"of": "thickness", "value": 9.0, "unit": "um"}]}, "no-such-run"),
        ("reading", {"tank": "bath", "values": [{"of": "zinc", "value": 33.0, "unit": "g/L", "method": "tasting"}]}, "tasting"),
        ("reading", {"tank": "bath", "values": [{"of": "thickness", "value": 9.0, "unit": "um"}]}, "thickness"),
        ("tank", {"tank": "tub", "role": "plate", "recipe": "no-such-recipe"}, "no-such-recipe"),
        ("definition", {"of": "recipe", "name": "mine", "body": {"based_on": "no-such-recipe"}}, "no-such-recipe"),
        ("make_up", {"tank": "bath", "volume_l": 40.0, "contents": {"zink": 3.0}}, "zink"),
    ],
)
def test_what_is_not_there_is_a_problem_that_names_it(kind: str, fields: dict[str, Any], named: str) -> None:
    book = started()
    entry = book.log(kind, **fields)
    problems = [p for p in book.world().problems if p.entry == entry]
    assert any(named in p.what for p in problems), [p.what for p in problems]
    assert all(p.right for p in problems)
    assert len(problems) == len({p.what for p in problems}), "said once"


@pytest.mark.parametrize(
    ("kind", "fields"),
    [
        (
            "reading",
            {
                "tank": "bath",
                "values": [
                    {"of": "density", "value": 1.2, "unit": "g/cm3"},
                    {"of": "temperature", "value": 60.0, "unit": "degC"},
                ],
            },
        ),
        pytest.param(
            "reading",
            {"tank": "bath", "values": [{"of": "density", "value": 99.0, "unit": "degBe"}]},
        ),
        pytest.param(
            "run",
            {"steps": [{"tank": "bath", "minutes": 45.0, "charge": {"charge_ah": 1e9}}]},
        ),
        ("run", {"steps": [{"tank": "bath", "minutes": 45.0, "charge": {"charge_ah": 2e-308}}]}),
        ("run", {"steps": [{"tank": "old", "minutes": 45.0}], "parts": [{"description": "x", "area_dm2": 4.0}]}),
    ],
    ids=[
        "density of a hot bath",
        "degrees Baume off the stem",
        "charge beyond sense",
        "charge of nothing",
        "a line of tanks out of service",
    ],
)
def test_what_no_one_would_write_is_taken_without_an_exception(kind: str, fields: dict[str, Any]) -> None:
    book = Book()
    if fields.get("steps", [{}])[0].get("tank") == "old":
        book.tank("old", "pickle", 2, "bisulfate-pickle", in_service=False)
        book.make_up("old", 20.0)
    else:
        book.bath()
    book.log(kind, **fields)
    for state in book.world().tanks.values():
        assert is_covariance(state.gauss)
        tank_view(state, METALS)


NOT_A_NUMBER = "where a metal gives out, the covariance grows step by step until it overflows (electrode._short_step)"


@pytest.mark.parametrize(
    "charge_ah", [500.0, 5000.0, pytest.param(20000.0)]
)
def test_a_bath_run_far_past_its_metal_is_still_a_belief(charge_ah: float) -> None:
    book = started()
    for _ in range(10):
        book.plate(charge_ah / 10)
    assert is_covariance(book.state().gauss)


def test_a_reading_of_a_run_with_another_tank_named() -> None:
    book = started()
    book.tank("other", "plate", 9, BATH, 40.0)
    book.make_up("other", 40.0)
    run = book.plate()
    book.reading(tank="other", run=run, of="deposit_mass", value=5.0, unit="g")
    book.world()


def test_a_bath_gone_dry_can_be_read_and_looked_at() -> None:
    book = Book()
    book.bath()
    book.plate()
    book.day(4000).reading(of="density", value=1.2, unit="g/cm3")
    state = book.state()
    assert state.volume_l == pytest.approx(0.0, abs=1.0)
    tank_view(state, METALS)


def _number() -> st.SearchStrategy[float]:
    return st.one_of(st.sampled_from([0.0, 1e-9, 0.5, 5.0, 33.0, 400.0]), st.floats(0.0, 1e3))


@st.composite
def _anything(draw: st.DrawFn) -> dict[str, Any]:
    tank = draw(st.sampled_from(["bath", "rinse", "pickle", "rust", "bare", "dry", "nowhere"]))
    number = _number()
    kind = draw(
        st.sampled_from(
            [
                "tank",
                "make_up",
                "run",
                "run",
                "reading",
                "reading",
                "reading",
                "addition",
                "removal",
                "anode",
                "anode",
                "calibration",
                "definition",
            ]
        )
    )
    fields: dict[str, Any] = {"tank": tank}
    if kind == "tank":
        roles = st.sampled_from(["plate", "rinse", "pickle", "dry", "degrease"])
        recipes = st.sampled_from([None, "nope", *sorted(load().recipes)])
        fields |= {
            "role": draw(roles),
            "recipe": draw(recipes),
            "order": draw(st.integers(-3, 9)),
            "in_service": draw(st.booleans()),
        }
        fields |= {"working_volume_l": draw(st.one_of(st.none(), number))}
    elif kind == "make_up":
        fields |= {
            "volume_l": draw(number),
            "contents": draw(st.dictionaries(st.sampled_from(["zinc", "nickel", "free_acid", "nope"]), number, max_size=3)),
        }
        fields |= {"reagents": draw(st.lists(_item(), max_size=2))}
    elif kind == "run":
        steps = draw(
            st.lists(st.sampled_from(["bath", "rinse", "pickle", "rust", "bare", "dry", "nowhere"]), min_size=1, max_size=5)
        )
        charge = st.one_of(
            st.builds(lambda x: {"charge_ah": x}, number),
            st.builds(lambda x, s: {"current_a": x, "spread": s}, number, number),
            st.builds(lambda a, b: {"counter": {"start_ah": a, "end_ah": b}}, number, number),
        )
        fields = {
            "steps": [
                {
                    "tank": t,
                    "minutes": draw(number),
                    "temperature_c": draw(st.sampled_from([None, 20.0, 90.0])),
                    **({"charge": draw(charge)} if draw(st.booleans()) else {}),
                }
                for t in steps
            ]
        }
        fields["parts"] = [
            {"description": "x", "area_dm2": a, "coating_stripped_g": b}
            for a, b in draw(st.lists(st.tuples(number, number), max_size=2))
        ]
        if draw(st.booleans()):
            fields |= {"mass_before_g": draw(number), "mass_after_g": draw(number)}
    elif kind == "reading":
        of = st.sampled_from(
            [
                "zinc",
                "nickel",
                "iron",
                "free_acid",
                "ph",
                "level",
                "volume",
                "density",
                "conductivity",
                "temperature",
                "nickel_share",
                "thickness",
                "deposit_mass",
                "deposit_nickel",
                "voltage",
                "panel",
                "brightener",
            ]
        )
        unit = st.sampled_from(["g/L", "mg/L", "mL/L", "mm", "L", "pH", "g/cm3", "degBe", "mS/cm", "%", "um", "A", "g", "degC"])
        values = draw(
            st.lists(
                st.tuples(
                    of,
                    number,
                    unit,
                    st.sampled_from([None, None, 0.1]),
                    st.sampled_from([None, "pH meter", "zinc by difference", "nope"]),
                ),
                max_size=3,
            )
        )
        fields["values"] = [
            {"of": o, "value": v, "unit": u, **({"spread": s} if s else {}), **({"method": m} if m else {})}
            for o, v, u, s, m in values
        ]
        fields |= {
            "confirms": draw(st.sampled_from([(), True, ("fuzz-00003",), ("fuzz-99999",)])),
            "run": draw(st.sampled_from([None, "fuzz-00002", "nope-none"])),
        }
    elif kind == "addition":
        fields["items"] = draw(st.lists(_item(), min_size=1, max_size=3))
    elif kind == "removal":
        fields |= draw(st.sampled_from([{"all": True}, {"volume_l": 1.0}, {"volume_l": 39.9}, {"volume_l": 1e5}]))
        fields |= {"to": draw(st.sampled_from([None, "bath", "rinse", "drum", "sample"]))}
    elif kind == "anode":
        fields |= {
            "anode": draw(st.sampled_from(["zinc-1", "nickel-1", "bar"])),
            "action": draw(st.sampled_from(["hung", "weighed", "lifted", "retired"])),
        }
        fields |= {
            "mass_g": draw(st.one_of(st.none(), number)),
            "metal": draw(st.sampled_from([None, "zinc", "steel", "nope"])),
        }
    elif kind == "calibration":
        fields = {
            "what": draw(st.sampled_from(["supply", "scale", "meter", "titrant lot"])),
            "name": draw(st.sampled_from(["main", "unnamed supply", "A"])),
            "against": "x",
            "result": draw(number),
        }
    else:
        body = draw(
            st.sampled_from([{}, {"based_on": BATH}, {"based_on": "nope"}, {"title": 3}, {"formula": "Xx2", "form": "solid"}])
        )
        fields = {
            "of": draw(st.sampled_from(["recipe", "reagent", "method", "supply"])),
            "name": draw(st.sampled_from(["mine", BATH, "zinc chloride"])),
            "body": body,
        }
    return {"kind": kind, **{k: v for k, v in fields.items() if v is not None}}


def _item() -> st.SearchStrategy[dict[str, Any]]:
    reagents = st.sampled_from(
        ["water", "zinc chloride", "sodium hydroxide", "sodium bisulfate", "hydrochloric acid 37%", "brightener", "nope"]
    )
    return st.builds(
        lambda r, a, u: {"reagent": r, "amount": a, "unit": u}, reagents, _number(), st.sampled_from(["g", "mL", "L"])
    )


@st.composite
def _fuzz(draw: st.DrawFn) -> list[AnyEntry]:
    base = [
        {"kind": "tank", "tank": "bath", "role": "plate", "recipe": BATH, "order": 3, "working_volume_l": 40.0},
        {"kind": "tank", "tank": "rinse", "role": "rinse", "recipe": "still-rinse", "order": 4, "working_volume_l": 20.0},
        {
            "kind": "tank",
            "tank": "pickle",
            "role": "pickle",
            "recipe": "bisulfate-pickle",
            "order": 1,
            "working_volume_l": 20.0,
        },
        {
            "kind": "tank",
            "tank": "rust",
            "role": "rust removal",
            "recipe": "electrolytic-rust-removal",
            "order": 0,
            "working_volume_l": 20.0,
        },
        {"kind": "tank", "tank": "bare", "role": "rinse", "order": 2},
        {"kind": "tank", "tank": "dry", "role": "dry", "recipe": "drying", "order": 5},
        *({"kind": "make_up", "tank": t, "volume_l": 20.0} for t in ("bath", "rinse", "pickle", "rust", "bare")),
        {"kind": "anode", "tank": "bath", "anode": "zinc-1", "action": "hung", "mass_g": 4000.0},
    ]
    found: list[AnyEntry] = []
    for number, raw in enumerate([*base, *draw(st.lists(_anything(), min_size=1, max_size=14))]):
        day = draw(st.floats(0.0, 400.0)) if number >= len(base) else number / 1000
        try:
            found.append(parse({**raw, "id": f"fuzz-{number:05d}", "at": START + timedelta(days=day)}))
        except EntryError:
            continue
    return found


@settings(max_examples=150, derandomize=True, deadline=None, suppress_health_check=list(HealthCheck), phases=[Phase.generate])
@given(_fuzz())
def test_no_entry_that_can_be_parsed_raises(entries: list[AnyEntry]) -> None:
    world = take(entries)
    for state in at_moment(world, START + timedelta(days=500)).tanks.values():
        tank_view(state, METALS)
