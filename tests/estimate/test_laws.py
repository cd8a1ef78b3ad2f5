"""What must hold whatever the book says: nothing lost, nothing counted twice, no order of arrival that matters."""

from __future__ import annotations

from datetime import timedelta
from functools import cache
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from bathkeeper.catalogue.loader import load
from bathkeeper.entries import AnyEntry, Remark, Run, parse
from bathkeeper.estimate.charges import read_charge
from bathkeeper.estimate.fold import Fold, at_moment
from bathkeeper.estimate.view import tank_view
from bathkeeper.estimate.wear import pass_time
from bathkeeper.estimate.world import World
from bathkeeper.logbook.corrections import resolve
from tests.estimate.helpers import START, Book, all_lives, differences, is_covariance, same_gauss, take, totals, unbalanced
from tests.estimate.random_books import books

few = settings(max_examples=25, derandomize=True, deadline=None, suppress_health_check=list(HealthCheck))
METALS = load().metals


def effective(entries: list[AnyEntry]) -> list[AnyEntry]:
    found, _ = resolve(entries)
    return found  # type: ignore[return-value]


# -- conservation ----------------------------------------------------------------------------------


@few
@given(books(calibrated=False))
def test_every_account_closes(entries: list[AnyEntry]) -> None:
    world = take(effective(entries))
    for state in world.tanks.values():
        assert not unbalanced(state), f"{state.name}: booked and held differ"
        for life in state.lives:
            left = {n: a for n, a in totals(life.flows).items() if not n.startswith("anode:") and abs(a) > 1e-9 * 2000}
            assert not left, f"{state.name}: a closed life still holds {left}"


@few
@given(books())
def test_what_is_believed_stays_a_belief(entries: list[AnyEntry]) -> None:
    world = take(effective(entries))
    for state in at_moment(world, max(e.at for e in entries) + timedelta(days=11)).tanks.values():
        assert is_covariance(state.gauss), state.name
        view = tank_view(state, METALS)
        assert view.volume_l.low >= 0
        for content in [*view.species.values(), *view.ratios.values()]:
            assert 0 <= content.low <= content.value <= content.high
        assert all(a.mass_g.low >= 0 and a.mass_g.value >= 0 for a in view.anodes.values())


def line_run(book: Book, *tanks: str, area_dm2: float = 40.0) -> str:
    steps = [{"tank": t, "minutes": 45.0, **({"charge": {"charge_ah": 5.0}} if t == "bath" else {})} for t in tanks]
    return book.log("run", steps=steps, parts=[{"description": "parts", "area_dm2": area_dm2}])


def small_line(*, rinse_filled: bool = True) -> Book:
    book = Book()
    book.tank("pickle", "pickle", 3, "bisulfate-pickle")
    book.tank("rinse-1", "rinse", 4, "still-rinse")
    book.bath()
    book.tank("rinse-2", "rinse", 6, "still-rinse")
    book.make_up("pickle", 20.0)
    book.make_up("rinse-1", 20.0)
    if rinse_filled:
        book.make_up("rinse-2", 20.0)
    return book


def handed_on(book: Book) -> dict[str, float]:
    """What all drag-out took, less what tanks got by it and what was put down at a place, by name: nothing when all is kept."""
    world, left = take(book.entries), {}
    for state in world.tanks.values():
        for cause, sign in (("drag-out", -1.0), ("drag-in", -1.0)):
            for name, amount in state.flows.get(cause, {}).items():
                left[name] = left.get(name, 0.0) + sign * amount
    for account in world.places.values():
        for name, amount in account.items():
            left[name] = left.get(name, 0.0) - amount
    return {n: a for n, a in left.items() if abs(a) > 1e-9}


def test_what_one_tank_loses_the_next_gets() -> None:
    book = small_line()
    line_run(book, "bath", "rinse-2")
    world = take(book.entries)
    lost, got = world.tanks["bath"].flows["drag-out"], world.tanks["rinse-2"].flows["drag-in"]
    assert {n: -a for n, a in lost.items()} == pytest.approx(got)
    assert got["mass:zinc"] > 1.5
    assert world.places["on parts"]["mass:zinc"] == pytest.approx(-world.tanks["rinse-2"].flows["drag-out"]["mass:zinc"])


def test_drag_out_closes_over_a_line_whose_next_tank_tracks_less() -> None:
    """The bath has no account for the pickle's acid that reaches it."""
    book = small_line()
    line_run(book, "pickle", "rinse-1", "bath", "rinse-2")
    left = {n: a for n, a in handed_on(book).items() if n.startswith("mass:")}  # litres: the first tank also gets clean water
    assert not left, f"gone without an account: {left}"


def test_drag_out_closes_when_the_next_tank_was_never_filled() -> None:
    book = small_line(rinse_filled=False)
    line_run(book, "bath", "rinse-2")
    left = {n: a for n, a in handed_on(book).items() if n.startswith("mass:")}
    assert not left, f"gone without an account: {left}"


def test_drag_out_closes_when_a_tank_is_left_out() -> None:
    book = small_line()
    line_run(book, "pickle", "bath")
    world = take(book.entries)
    assert world.places["rinsed away"]["mass:free acid"] == pytest.approx(
        -world.tanks["pickle"].flows["drag-out"]["mass:free acid"]
    )


def test_what_runs_over_a_running_rinse_has_a_place() -> None:
    book = Book()
    book.bath()
    book.tank("rinse", "rinse", 6, "running-rinse")
    book.make_up("rinse", 20.0)
    line_run(book, "bath", "rinse")
    line_run(book, "bath", "rinse")
    world = take(book.entries)
    over = world.tanks["rinse"].flows["water run through"]["mass:nickel"]
    assert over < -0.01
    placed = sum(account.get("mass:nickel", 0.0) for place, account in world.places.items() if place != "on parts")
    assert placed == pytest.approx(-over)


def test_poured_from_tank_to_tank() -> None:
    book = small_line()
    line_run(book, "bath", "rinse-2")
    book.log("removal", tank="rinse-2", volume_l=5.0, to="bath")
    world = take(book.entries)
    assert world.tanks["bath"].flows["poured in"]["mass:nickel"] == pytest.approx(
        -world.tanks["rinse-2"].flows["removal"]["mass:nickel"]
    )
    book.log("removal", tank="bath", volume_l=5.0, to="rinse-1")
    there = take(book.entries)
    untracked = there.places["not tracked in rinse-1"]  # the pickle before it holds no chloride
    assert untracked["mass:potassium"] == pytest.approx(-there.tanks["bath"].flows["removal"]["mass:potassium"])


def test_anodes_hung_before_the_bath_was_made_up_keep_their_account() -> None:
    book = Book()
    book.tank("bath", "plate", 5, "zinc-nickel-chloride-potassium", 40.0)
    book.anode("zinc-1", "hung", metal="zinc", mass_g=4000.0)
    book.make_up("bath", 40.0)
    book.plate()
    assert not unbalanced(book.state())


def test_an_idle_anode_gives_no_more_than_it_has() -> None:
    book = Book()
    book.bath(anodes=False)
    book.anode("zinc-1", "hung", metal="zinc", mass_g=50.0, area_dm2=10.0)
    state = book.day(100).state()
    assert state.gauss.value("anode:zinc-1") == 0.0
    assert state.flows["idle zinc to acid"]["mass:zinc"] == pytest.approx(50.0)


def test_a_spent_anode_beside_a_fresh_one_gives_no_more_than_it_has() -> None:
    book = Book()
    book.bath(anodes=False)
    book.anode("zinc-1", "hung", metal="zinc", mass_g=4.0, area_dm2=2.5)
    book.anode("zinc-2", "hung", metal="zinc", mass_g=4000.0, area_dm2=2.5)
    book.plate(charge_ah=20.0)
    flows = book.state().flows
    lost = sum(
        account.get(f"anode:{n}", 0.0) for c, account in flows.items() for n in ("zinc-1", "zinc-2") if c != "anodes hung"
    )
    gained = flows["anodes dissolved"]["mass:zinc"] + flows["idle zinc to acid"]["mass:zinc"]
    assert gained == pytest.approx(-lost, rel=1e-9)


# -- charge ----------------------------------------------------------------------------------------


@few
@given(books())
def test_counters_are_what_the_entries_say(entries: list[AnyEntry]) -> None:
    found = effective(entries)
    state = take(found).tanks["bath"]
    plated = dummy = 0.0
    spreads = load().spreads
    for entry in found:
        if isinstance(entry, Run) and state.made_up is not None and entry.order > (state.made_up, state.make_up_entry or ""):
            for step in (s for s in entry.steps if s.tank == "bath"):
                told = [step.charge] if step.charge is not None else [b.charge for b in step.branches]
                amount = sum(read_charge(c, step.minutes, spreads).charge_ah for c in told)
                plated, dummy = (plated, dummy + amount) if step.dummy else (plated + amount, dummy)
    if state.alive:
        assert state.counters.charge_ah == pytest.approx(plated)
        assert state.counters.dummy_ah == pytest.approx(dummy)


# -- time and charge in pieces ---------------------------------------------------------------------


@settings(max_examples=40, derandomize=True, deadline=None)
@given(
    tank=st.sampled_from(["pickle", "rinse-1", "bath", "rinse-2", "degreaser", "passivate"]),
    lifted=st.booleans(),
    a=st.floats(0.001, 150.0),
    b=st.floats(0.001, 150.0),
    charge_ah=st.sampled_from([0.0, 5.0, 30.0]),
)
def test_two_spells_are_one(tank: str, lifted: bool, a: float, b: float, charge_ah: float) -> None:
    state = well_used(lifted, charge_ah).tanks[tank]
    first, second = state.now + timedelta(days=a), state.now + timedelta(days=a) + timedelta(days=b)
    twice, once = pass_time(pass_time(state, first), second), pass_time(state, second)
    assert same_gauss(twice.gauss, once.gauss, 1e-9)
    assert {c: pytest.approx(account) for c, account in twice.flows.items()} == once.flows


@cache
def well_used(lifted: bool, charge_ah: float) -> World:
    book = small_line()
    book.tank("degreaser", "degrease", 1, "alkaline-degreaser", surface_dm2=8.0)
    book.make_up("degreaser", 20.0)
    book.tank("passivate", "passivate", 9, "trivalent-passivate-coloured")
    book.make_up("passivate", 20.0)
    book.day(2)
    if charge_ah > 0:
        book.plate(charge_ah)
    book.read("bath", zinc=33.5, nickel=23.5)
    if lifted:
        book.anode("zinc-1", "lifted", mass_g=3998.0)
    return book.world()


def test_two_spells_are_one_when_an_anode_runs_out_between() -> None:
    book = Book()
    book.bath(anodes=False)
    book.anode("zinc-1", "hung", metal="zinc", mass_g=50.0, area_dm2=10.0)
    state = take(book.entries).tanks["bath"]
    days = [state.now + timedelta(days=d) for d in (8, 30, 60)]
    stepwise = state
    for day in days:
        stepwise = pass_time(stepwise, day)
    assert stepwise.gauss.value("mass:zinc") == pytest.approx(pass_time(state, days[-1]).gauss.value("mass:zinc"), rel=1e-9)


@settings(max_examples=15, derandomize=True, deadline=None)
@given(charge_ah=st.floats(0.5, 40.0))
def test_a_run_cut_in_halves_is_the_same_run(charge_ah: float) -> None:
    """Half the charge in half the time twice: the same current, the same bath (the parts' area is as good as none)."""

    def run(share: float) -> dict[str, object]:
        step = {
            "tank": "bath",
            "charge": {"charge_ah": charge_ah * share},
            "minutes": 45.0 * share,
            "supply": "main",
            "temperature_c": 20.0,
        }
        return {"steps": [step], "parts": [{"description": "parts", "area_dm2": 1e-6}]}

    whole, halves = Book(), Book()
    for book, shares in ((whole, [1.0]), (halves, [0.5, 0.5])):
        book.bath()
        at = book.moment + timedelta(hours=1)
        for share in shares:
            book.log("run", at=at, **run(share))
    a, b = (take(book.entries).tanks["bath"].gauss for book in (whole, halves))
    for name in ("mass:zinc", "mass:nickel", "anode:zinc-1", "anode:nickel-1", "acid"):
        assert b.value(name) == pytest.approx(a.value(name), rel=1e-4)
    moved = a.value("mass:nickel") - 24.0 * 40
    assert b.value("mass:nickel") - 24.0 * 40 == pytest.approx(moved, rel=0.01)


# -- what must not matter --------------------------------------------------------------------------


@few
@given(books(most=12), st.data())
def test_remarks_and_questions_change_nothing(entries: list[AnyEntry], data: st.DataObject) -> None:
    plain = [e for e in effective(entries) if not isinstance(e, Remark)]
    first, last = plain[0].at, plain[-1].at
    remarks = [
        parse(
            {
                "kind": "remark",
                "id": f"remark-{n:03d}",
                "at": first + (last - first) * share,
                "text": "looked in",
                "tank": "bath",
            }
        )
        for n, share in enumerate(data.draw(st.lists(st.floats(0.0, 1.2), min_size=1, max_size=4)))
    ]
    fold = Fold(load())
    with_remarks = sorted([*plain, *remarks], key=lambda e: e.order)
    for k in (len(with_remarks) // 2, len(with_remarks)):
        world = fold.take(with_remarks[:k])
        at_moment(world, last + timedelta(days=3))
    later = last + timedelta(days=30)
    a, b = at_moment(take(plain), later), at_moment(fold.take(with_remarks), later)
    for name in a.tanks:
        assert np.array_equal(a.tanks[name].gauss.mean, b.tanks[name].gauss.mean)
        assert np.array_equal(a.tanks[name].gauss.cov, b.tanks[name].gauss.cov)


def test_a_remark_from_before_the_first_entry_changes_nothing() -> None:
    book = Book()
    book.bath()
    book.plate()
    early = parse({"kind": "remark", "id": "remark-000", "at": START - timedelta(days=900), "text": "bought the tank"})
    a, b = take(book.entries).tanks["bath"], take([early, *book.entries]).tanks["bath"]
    assert np.array_equal(a.gauss.mean, b.gauss.mean)
    assert np.array_equal(a.gauss.cov, b.gauss.cov)


# -- any order of arrival --------------------------------------------------------------------------


def arrives(entries: list[AnyEntry], order: list[int]) -> None:
    """Takes the book bit by bit as it arrives, and compares with taking all of it at once."""
    fold = Fold(load())
    here: list[AnyEntry] = []
    for start, end in pairwise([*range(0, len(order), max(1, len(order) // 7)), len(order)]):
        here += [entries[i] for i in order[start:end]]
        world = fold.take(effective(here))
    assert differences(world, take(effective(entries))) == []


@settings(max_examples=25, derandomize=True, deadline=None, suppress_health_check=list(HealthCheck))
@given(books(), st.randoms(use_true_random=False))
def test_any_order_of_arrival_gives_the_same(entries: list[AnyEntry], random: object) -> None:
    order = list(range(len(entries)))
    random.shuffle(order)  # type: ignore[attr-defined]
    arrives(entries, order)


@settings(max_examples=20, derandomize=True, deadline=None, suppress_health_check=list(HealthCheck))
@given(books(), st.randoms(use_true_random=False))
def test_late_entries_give_the_same(entries: list[AnyEntry], random: object) -> None:
    """The usual case: nearly everything in order, a few entries written down late."""
    late = set(random.sample(range(len(entries)), 4))  # type: ignore[attr-defined]
    arrives(entries, [i for i in range(len(entries)) if i not in late] + sorted(late))


def test_all_flows_of_a_life_are_kept_when_it_ends() -> None:
    book = Book()
    book.bath()
    book.plate()
    book.log("removal", tank="bath", all=True, to="drum")
    book.make_up("bath", 40.0)
    world = take(book.entries)
    state = world.tanks["bath"]
    assert len(state.lives) == 1
    assert state.lives[0].counters.charge_ah == pytest.approx(5.0)
    assert world.containers["drum"].held()["mass:zinc"] == pytest.approx(-state.lives[0].flows["emptied"]["mass:zinc"])
    assert all_lives(state)["volume"] == pytest.approx(40.0)
