"""Runs that were: what became of them, the bath at that time, search, repeat, and the good compared with the bad."""

from __future__ import annotations

import itertools
import json
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from scipy import stats

from bathkeeper.entries import Run, parse
from bathkeeper.runs.chance import chance_of, once_in, stricter
from bathkeeper.runs.history import AgainError, PastRun, again, compare, last_good, past_runs, search
from bathkeeper.units.numerals import Preferences
from tests.estimate.helpers import START, Book, take

AT = datetime(2026, 3, 1, 9, 0, tzinfo=UTC)


def runs_of(book: Book, tank: str | None = None) -> list[PastRun]:
    return past_runs(book.entries, take(book.entries), tank)


def run_of(**fields: Any) -> Run:
    made = parse({"kind": "run", "id": "run-00001", "at": START, **fields})
    assert isinstance(made, Run)
    return made


def in_use() -> Book:
    book = Book()
    book.bath()
    return book


# -- what became of it -----------------------------------------------------------------------------------------------------


def test_a_run_with_what_was_read_on_it():
    book = in_use()
    run = book.plate(charge_ah=6.0, area_dm2=4.0)
    book.reading(tank=None, run=run, of="thickness", value=8.0, unit="um")
    book.reading(tank=None, run=run, of="thickness", value=10.0, unit="um")
    (past,) = runs_of(book)
    assert (past.id, past.tank, past.title, past.good) == (run, "bath", "parts", None)
    assert past.charge_ah == 6.0 and past.minutes == 45.0
    assert past.density_a_dm2 == pytest.approx(6.0 / 0.75 / 4.0)
    assert past.thickness_um == 9.0


@pytest.mark.parametrize(
    ("said", "good"),
    [
        ({}, None),
        ({"result": "good"}, True),
        ({"result": "Good, a little dark"}, True),
        ({"result": "good", "rejects": 2}, False),
        ({"result": "good", "rejects": 0}, True),
        ({"rejects": 0}, True),
        ({"defect": "dull"}, False),
        ({"result": "cloudy"}, False),
        ({"result": "rejected"}, False),
        ({"result": "let us see"}, None),
    ],
)
def test_good_bad_or_nothing_said(said, good):
    book = in_use()
    book.plate(**said)
    assert runs_of(book)[0].good is good


def test_a_result_that_names_a_defect_counts_as_one():
    book = in_use()
    book.plate(result="cloudy")
    assert runs_of(book)[0].defect == "dull"


def test_the_latest_word_holds():
    book = in_use()
    run = book.plate(result="good", photos=["a.jpg"])
    book.log("remark", run=run, text="two came back", rejects=2, defect="blisters", photos=["b.jpg"])
    (past,) = runs_of(book)
    assert (past.result, past.rejects, past.defect, past.good) == ("good", 2, "blisters", False)
    assert past.photos == ("a.jpg", "b.jpg") and len(past.outcome_by) == 2
    book.log("remark", run=run, text="it was the polish", result="good")
    assert runs_of(book)[0].good is True


# -- the bath at that time -------------------------------------------------------------------------------------------------


def test_contents_are_those_of_then_not_of_now():
    book = in_use()
    for day in range(1, 6):
        book.day(day).plate(charge_ah=30.0)
    states = [take(book.entries[: len(book.entries) - k]).tanks["bath"] for k in range(4, -1, -1)]
    for past, state in zip(reversed(runs_of(book)), states, strict=True):
        zinc, nickel = (state.concentration(m)[0] for m in ("zinc", "nickel"))
        assert past.ratios["nickel_of_metal"] == pytest.approx(nickel / (zinc + nickel), rel=1e-9)
        assert past.additives["brightener"] == pytest.approx(state.concentration("brightener")[0], rel=1e-9)
    assert past.age_days == pytest.approx(5, abs=0.1)
    assert len({p.ratio for p in runs_of(book)}) == 5


def test_charge_and_days_since_an_additive_was_dosed():
    book = in_use()
    book.day(1).plate(charge_ah=5.0)
    book.day(2).plate(charge_ah=7.0)
    book.day(3).add("bath", "brightener", 10.0, "mL")
    book.day(3).log("treatment", tank="bath", what="dummy", charge_ah=2.0, minutes=60)
    book.day(4).plate(charge_ah=6.0)
    book.day(5).add("bath", "zinc chloride", 50.0)
    book.day(6).plate(charge_ah=6.0)
    since = [(p.since_additive_ah, round(p.since_additive_days or 0)) for p in reversed(runs_of(book))]
    assert since == [(0.0, 1), (5.0, 2), (2.0, 1), (8.0, 3)]


def test_the_last_ph_of_this_bath_not_of_the_one_before():
    book = in_use()
    book.day(1).reading(of="ph", value=5.4, unit="pH")
    book.day(2).plate()
    book.day(3).log("removal", tank="bath", all=True)
    book.day(4).make_up("bath", 40.0)
    book.day(5).plate()
    new, old = runs_of(book)
    assert (old.ph, new.ph) == (5.4, None)
    assert old.ratios == {} and new.ratios, "what the old bath held is not looked up in the new one's trail"
    assert (round(old.age_days or 0), round(new.age_days or 0)) == (2, 1)


def test_a_run_seen_from_another_of_its_tanks():
    book = in_use()
    book.tank("pickle", "pickle", 2, "bisulfate-pickle")
    book.make_up("pickle", 20.0)
    steps = [
        {"tank": "pickle", "minutes": 4.0, "temperature_c": 21.0},
        {"tank": "bath", "minutes": 40.0, "charge": {"current_a": 6.0}},
    ]
    book.log("run", steps=steps, parts=[{"description": "x", "area_dm2": 4.0}])
    (plated,), (pickled,) = runs_of(book), runs_of(book, "pickle")
    assert (plated.tank, plated.minutes) == ("bath", 40.0)
    assert (pickled.tank, pickled.minutes, pickled.temperature_c, pickled.charge_ah) == ("pickle", 4.0, 21.0, None)


def test_a_bath_that_was_never_made_up_and_a_tank_that_is_not_there():
    book = Book()
    book.tank("bath", "plate", 1, None, 40.0)
    book.plate()
    book.plate(tank="nowhere")
    for past in runs_of(book):
        assert past.ratios == {} and past.age_days is None and past.since_additive_ah is None


# -- search ----------------------------------------------------------------------------------------------------------------


def searched() -> tuple[Book, list[PastRun]]:
    book = in_use()
    parts = lambda name: {"parts": [{"description": name, "area_dm2": 4.0, "count": 2}]}  # noqa: E731
    step = {"tank": "bath", "minutes": 45.0, "charge": {"charge_ah": 5.0}}
    book.day(1).log("run", steps=[step], **parts("Gate hinge"), result="good", note="shiny")
    book.day(40).log("run", steps=[step], **parts("door hinge"), defect="dull")
    book.day(41).log("run", steps=[step], **parts("bolts"))
    return book, runs_of(book)


@pytest.mark.parametrize(
    ("words", "asked", "found"),
    [
        ("", {}, 3),
        ("hinge", {}, 2),
        ("HINGE shiny", {}, 1),
        ("cloudy", {}, 0),
        ("", {"defect": "cloudy"}, 1),
        ("", {"result": "good"}, 1),
        ("", {"result": "bad"}, 1),
        ("", {"result": "none"}, 1),
        ("", {"part": "gate"}, 1),
        ("", {"tank": "bath"}, 3),
        ("", {"tank": "pickle"}, 0),
        ("2026-02", {}, 2),
        ("", {"since": START + timedelta(days=30)}, 2),
        ("", {"until": START + timedelta(days=30)}, 1),
    ],
)
def test_search(words, asked, found):
    assert len(search(searched()[1], words, **asked)) == found


def test_newest_first_and_the_last_good_of_the_same_part_before_others():
    book = in_use()
    for name in ("hinge", "bolt", "bolt", "clip"):
        step = {"tank": "bath", "minutes": 45.0, "charge": {"charge_ah": 5.0}}
        book.log("run", steps=[step], parts=[{"description": name, "area_dm2": 4.0}], result="good")
    runs = runs_of(book)
    assert [r.title for r in runs] == ["clip", "bolt", "bolt", "hinge"]
    wanted = run_of(steps=[{"tank": "bath"}], parts=[{"description": "Hinge"}]).parts
    assert [r.title for r in last_good(runs, "bath", wanted)] == ["hinge", "clip", "bolt"]


# -- again -----------------------------------------------------------------------------------------------------------------

CHARGES = [
    ({"current_a": 6.0}, {"current_a": 9.0}),
    ({"charge_ah": 5.0, "spread": 0.2}, {"charge_ah": 7.5, "spread": 0.3}),
    ({"ramp": {"from_a": 6.0, "to_a": 4.0, "minutes": 30.0}}, {"ramp": {"from_a": 9.0, "to_a": 6.0, "minutes": 30.0}}),
    (
        {"stretches": [{"current_a": 2.0, "minutes": 10.0}, {"current_a": 6.0, "minutes": 30.0}]},
        {"stretches": [{"current_a": 3.0, "minutes": 10.0}, {"current_a": 9.0, "minutes": 30.0}]},
    ),
    ({"counter": {"start_ah": 100.0, "end_ah": 104.0}}, {"charge_ah": 6.0}),
    ({"counter": {"start_ah": 100.0, "end_ah": 4.0}}, {"charge_ah": 6.0}),
    ({"trace": {"file": "t.csv", "sha256": "0" * 64, "charge_ah": 4.0}}, {"charge_ah": 6.0}),
]


@pytest.mark.parametrize(("before", "after"), CHARGES, ids=[next(iter(c[0])) for c in CHARGES])
def test_the_current_follows_the_area_in_every_way_of_telling_it(before, after):
    run = run_of(
        steps=[{"tank": "pickle", "minutes": 2.0}, {"tank": "bath", "minutes": 40.0, "charge": before, "temperature_c": 33.0}],
        parts=[{"description": "x", "area_dm2": 4.0, "spread": 0.4}],
        result="good", mass_before_g=900.0, mass_after_g=905.0, note="warm", photos=["a.jpg"],
    )  # fmt: skip
    made = again(run, at=AT, area_dm2=6.0)
    assert made.raw["steps"][1]["charge"] == after
    assert made.raw["steps"][0] == {"tank": "pickle", "minutes": 2.0}
    assert made.raw["parts"] == [{"description": "x", "area_dm2": 6.0, "spread": pytest.approx(0.6)}]
    assert not {"result", "mass_before_g", "note", "photos", "id"} & made.raw.keys()
    assert any("times 1.5" in line for line in made.lines)
    entry = parse({**made.raw, "id": "another1"})
    assert entry.at == AT
    assert json.loads(json.dumps(made.raw)) == made.raw


def test_branches_scale_each_and_lose_their_volts():
    branches = [
        {"supply": "a", "anodes": ["zinc-1"], "charge": {"current_a": 6.0}, "volts": 3.0},
        {"supply": "b", "anodes": ["nickel-1"], "charge": {"current_a": 1.0}},
    ]
    run = run_of(steps=[{"tank": "bath", "minutes": 40.0, "branches": branches}], parts=[{"description": "x", "area_dm2": 4.0}])
    step = again(run, at=AT, area_dm2=2.0).raw["steps"][0]
    assert [b["charge"]["current_a"] for b in step["branches"]] == [3.0, 0.5]
    assert "volts" not in step["branches"][0]


def test_pieces_follow_where_they_come_out_whole():
    step = {"tank": "bath", "minutes": 40.0, "charge": {"current_a": 6.0}}
    run = run_of(steps=[step], parts=[{"description": "bolt", "count": 20, "area_dm2": 4.0, "coating_stripped_g": 3.0}])
    half = again(run, at=AT, area_dm2=2.0)
    assert half.raw["parts"] == [{"description": "bolt", "count": 10, "area_dm2": 2.0}]
    assert "bolt: 20 pieces before, 10 now" in half.lines and any("stripped" in line for line in half.lines)
    odd = again(run, at=AT, area_dm2=4.1)
    assert "count" not in odd.raw["parts"][0] and "bolt: 20 pieces before, left open now" in odd.lines


def test_the_same_again_changes_nothing():
    step = {"tank": "bath", "minutes": 40.0, "charge": {"current_a": 6.123456789}}
    run = run_of(steps=[step], parts=[{"description": "x", "area_dm2": 4.0}])
    made = again(run, at=AT)
    assert made.raw["steps"][0]["charge"]["current_a"] == pytest.approx(6.123456789, rel=1e-6)
    assert made.lines == ()


def test_other_parts_and_areas_that_are_not_known():
    step = {"tank": "bath", "minutes": 40.0, "charge": {"current_a": 6.0}}
    run = run_of(steps=[step], parts=[{"description": "x", "area_dm2": 4.0}])
    made = again(run, at=AT, parts=[{"description": "a", "area_dm2": 1.0}, {"description": "b", "area_dm2": 1.0}])
    assert made.raw["steps"][0]["charge"]["current_a"] == 3.0
    unknown = again(run, at=AT, parts=[{"description": "a"}])
    assert unknown.raw["steps"][0]["charge"]["current_a"] == 6.0 and "new load's area is not on record" in unknown.lines[0]
    no_area = run_of(steps=[step], parts=[{"description": "x"}])
    found = again(no_area, at=AT, area_dm2=3.0)
    assert found.raw["parts"] == [{"description": "x", "area_dm2": 3.0}] and "old load's area" in found.lines[0]


@pytest.mark.parametrize(
    ("asked", "says"),
    [
        ({"area_dm2": 2.0, "parts": []}, "not both"),
        ({"area_dm2": 0.0}, "above zero"),
        ({"area_dm2": -3.0}, "above zero"),
        ({"area_dm2": float("nan")}, "above zero"),
        ({"parts": [{"area_dm2": 2.0}]}, "description"),
        ({"at": datetime(2026, 3, 1)}, "offset"),
    ],
)
def test_what_cannot_be_repeated_says_why(asked, says):
    run = run_of(steps=[{"tank": "bath", "minutes": 40.0, "charge": {"current_a": 6.0}}])
    with pytest.raises(AgainError, match=says):
        again(run, **{"at": AT, **asked})


# -- chance ----------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(6))
def test_chance_without_equal_values_is_scipys_exact_test(seed):
    import numpy as np

    rng = np.random.default_rng(seed)
    a, b = rng.normal(size=4 + seed), rng.normal(0.8, 1, size=5)
    assert chance_of(a, b).p == pytest.approx(stats.mannwhitneyu(a, b, method="exact").pvalue, rel=1e-12)


@pytest.mark.parametrize(
    ("a", "b"), [([1, 1, 2], [2, 3, 3, 4]), ([5, 5], [5, 5, 5]), ([0, 1, 1, 1], [1, 1, 7]), ([3], [1, 2, 4])]
)
def test_chance_with_equal_values_is_every_way_of_dealing_counted(a, b):
    pooled = list(a) + list(b)
    ranks = stats.rankdata(pooled)
    mean = len(a) * (len(pooled) + 1) / 2
    apart = [abs(sum(ranks[i] for i in some) - mean) for some in itertools.combinations(range(len(pooled)), len(a))]
    seen = abs(sum(ranks[: len(a)]) - mean)
    found = chance_of(a, b)
    assert found.p == pytest.approx(sum(d >= seen - 1e-9 for d in apart) / len(apart))
    assert found.least == pytest.approx(sum(d >= max(apart) - 1e-9 for d in apart) / len(apart))


def test_many_loads_by_the_normal_approximation():
    import numpy as np

    rng = np.random.default_rng(1)
    a, b = rng.normal(size=900), rng.normal(0.1, 1, size=700)
    found = chance_of(a, b)
    assert not found.exact
    expected = stats.mannwhitneyu(a, b, method="asymptotic", use_continuity=False).pvalue
    assert found.p == pytest.approx(expected, rel=1e-9)


def test_several_things_at_once():
    # Holm's rule by hand: 0.01 x 3, 0.02 x 2, 0.5 x 1, never falling
    assert stricter([0.02, 0.5, 0.01]) == pytest.approx([0.04, 0.5, 0.03])
    assert stricter([0.03, 0.02]) == pytest.approx([0.04, 0.04])
    assert once_in(0.05) == "1 time in 20" and once_in(1e-9) == "less than 1 time in a million"
    with pytest.raises(ValueError, match="at least one"):
        chance_of([], [1.0])


# -- compare ---------------------------------------------------------------------------------------------------------------


def past(number: int, good: bool | None, density: float, **more: Any) -> PastRun:
    return PastRun(
        id=f"run-{number:05d}", at=START + timedelta(days=number), title="x", tank="bath", tanks=("bath",),
        density_a_dm2=density, good=good, defect=None if good else more.pop("defect", "burnt"), **more,
    )  # fmt: skip


def measured(comparison: Any, name: str) -> Any:
    return next(m for m in comparison.measured if m.name == name)


def test_a_clear_difference_is_named_and_no_cause_claimed():
    runs = [past(i, True, 1.5 + 0.01 * i, temperature_c=33.0 + i % 3) for i in range(10)]
    runs += [past(20 + i, False, 2.5 + 0.01 * i, temperature_c=33.0 + i % 3) for i in range(8)]
    found = compare(runs, "bath")
    density = measured(found, "density_a_dm2")
    assert density.differs and "Higher in the bad loads, more than chance" in density.verdict
    assert (density.good.median, density.good.low, density.good.high, density.good.runs) == (1.545, 1.5, 1.59, 10)
    assert density.chance == pytest.approx(2 / 43758)  # both clean splits of 18 over 8
    assert not measured(found, "temperature_c").differs
    text = " ".join(found.lines())
    assert "need not be the cause" in text and "because" not in text
    assert json.loads(json.dumps(found.plain()))["measured"][0]["name"] == "density_a_dm2"


def test_small_numbers_are_said_as_such():
    found = compare([past(1, True, 1.0), past(2, True, 1.1), past(3, True, 1.2), past(4, False, 9.0)], "bath")
    density = measured(found, "density_a_dm2")
    assert "Too few to tell (3 good, 1 bad)" in density.verdict and "1 time in 2" in density.verdict
    assert not density.differs


def test_one_of_many_things_that_differs_a_little_may_be_chance():
    runs = [
        past(
            i,
            i < 4,
            1.0 + 0.1 * i,
            temperature_c=30 + (i * 5) % 7,
            ph=5 + (i * 3) % 4 / 10,
            minutes=40 + i * 3 % 5,
            area_dm2=3 + i * 2 % 3,
            age_days=float(i * 7 % 5),
            since_additive_ah=float(i * 3 % 7),
        )
        for i in range(8)
    ]
    density = measured(compare(runs, "bath"), "density_a_dm2")
    assert density.chance < 0.05 < density.together
    assert "things compared this may be chance" in density.verdict and not density.differs


def test_chance_alone_is_seldom_called_more_than_chance():
    """In workshops where nothing differs, at most one in twenty may be told that something does."""
    import numpy as np

    rng = np.random.default_rng(5)
    told = 0
    for _ in range(300):
        runs = [
            past(i, i < 6, rng.normal(), temperature_c=rng.normal(), ph=rng.normal(), age_days=rng.normal()) for i in range(12)
        ]
        told += any(m.differs for m in compare(runs, "bath").measured)
    assert told / 300 <= 0.075  # 0.05 and two standard errors


def test_only_the_defect_asked_for_and_no_verdict_left_out():
    runs = [past(1, True, 1.0), past(2, False, 2.0, defect="Cloudy"), past(3, False, 3.0), past(4, None, 4.0)]
    found = compare(runs, "bath", "dull")
    assert (found.of, found.bad, found.left_out) == ("dull", ("run-00002",), 2)
    nothing = compare(runs, "bath", "pitting")
    assert nothing.measured == () and "Defects on record here: Cloudy, burnt" in " ".join(nothing.says)


def test_nothing_to_compare_says_what_is_needed():
    assert compare([], "bath").says == ("No run through bath is on record.",)
    assert "result=good" in " ".join(compare([past(1, None, 1.0)], "bath").says)


def test_units_of_the_workshop_in_its_lines():
    runs = [past(i, i < 5, 1.0, temperature_c=30.0 + i) for i in range(10)]
    lines = compare(runs, "bath").lines(Preferences(shown={"temperature": "degF"}))
    assert any("°F" in line for line in lines)
