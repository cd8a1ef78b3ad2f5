"""Walking the line at the bench: the entry is the one a person would type, and two windows never get in each other's way."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest

from bathkeeper.bench import Bench
from bathkeeper.entries import EntryError, Run, parse, to_plain
from bathkeeper.logbook.errors import BookError
from bathkeeper.logbook.live import LiveFile, MovedOn, last_path, live_path
from bathkeeper.phrases import compose
from bathkeeper.runs.live import LiveError, PlannedBranch
from bathkeeper.workshop import Workshop

from .live_bench import START, FakeClock, bench


@pytest.fixture
def place(tmp_path: Path) -> Path:
    return tmp_path / "shed.logbook.jsonl"


def walk(shop: Bench, clock: FakeClock, **pauses: float) -> None:
    """Through the whole line, every stay as long as planned; ``pauses``: minutes of one in a tank."""
    shop.enter_next()
    while (run := shop.live()).step is not None:
        clock.go(run.step.plan.minutes / 2)
        if run.step.tank in pauses:
            shop.pause()
            clock.go(pauses[run.step.tank])
            shop.resume()
        clock.go(run.step.plan.minutes / 2)
        shop.enter_next()


def typed(shop: Bench, at, *words: str):
    """What the quick form makes of the words, but for the record of how it was typed."""
    raw = compose("run", words, shop.workshop.vocabulary, at).raw
    return {k: v for k, v in to_plain(parse({"id": "x" * 8, **raw})).items() if k not in ("id", "typed")}


def kept(entry) -> dict:
    return {k: v for k, v in to_plain(entry).items() if k not in ("id", "typed")}


WHOLE = ("degreaser=10min", "rinse-1=1min", "pickle=5min", "rinse-2=1min")
REST = ("rinse-3=1min", "acid-dip=0.2min", "passivate=1min", "rinse-4=1min")


def skip_rust_removal(shop: Bench) -> None:
    while shop.live().next_step.tank != "rust-removal":
        shop.enter_next()
    shop.skip()


# -- equal to the one typed by hand --------------------------------------------------------------------------------------


def start(shop: Bench, **plan):
    return shop.start(shop.line_plan(area_dm2=3.2, **plan))


def through(shop: Bench, clock: FakeClock, in_plate) -> None:
    """The whole line but rust removal; ``in_plate`` does the plating step."""
    shop.enter_next()
    shop.skip()
    while (run := shop.live()).step is not None:
        if run.step.tank == "electrolyte":
            in_plate()
        else:
            clock.go(run.step.plan.minutes)
        shop.enter_next()


@pytest.mark.parametrize("case", ["as planned", "changed", "ramp", "counter", "volts", "paused", "odd seconds"])
def test_the_entry_equals_the_one_typed(place, case):
    shop, clock = bench(place)
    start(shop, current_a=6.5, minutes=45)

    def plate():
        if case == "as planned":
            shop.say(temperature_c=35.0)
            clock.go(45)
        elif case == "changed":
            clock.go(10)
            shop.say(current_a=5.5)
            clock.go(35)
        elif case == "ramp":
            clock.go(45)
            shop.say(current_a=5.5, drifted=True)
        elif case == "counter":
            shop.say(counter_ah=12.4)
            clock.go(45)
            shop.say(counter_ah=17.3, counter_when="end")
        elif case == "volts":
            shop.say(supply="bench-1", current_a=6.5)
            clock.go(20)
            shop.say(volts=3.2)
            clock.go(25)
        elif case == "paused":
            clock.go(20)
            shop.pause()
            clock.go(12)
            shop.resume()
            clock.go(25)
        else:
            clock.go(45 + 2.4 / 60)

    words = {
        "as planned": "electrolyte@35C=6.5A*45min",
        "changed": "electrolyte=6.5A*10min+5.5A*35min",
        "ramp": "electrolyte=6.5A..5.5A*45min",
        "counter": "electrolyte=12.4Ah..17.3Ah",
        "volts": "electrolyte.bench-1@3.2V=6.5A*45min",
        "paused": "electrolyte=6.5A*45min",
        "odd seconds": "electrolyte=6.5A*45min",
    }[case]
    through(shop, clock, plate)
    live_id = shop.live().id
    made = shop.finish(result="good").entry
    wanted = typed(shop, made.at, "area=3.2dm2", *WHOLE, words, *REST, "result=good")
    if case == "changed":
        next(s for s in wanted["steps"] if s["tank"] == "electrolyte")["minutes"] = 45.0  # the form leaves it to its stretches
    if case == "counter":
        next(s for s in wanted["steps"] if s["tank"] == "electrolyte")["minutes"] = 45.0  # nobody types it beside a counter
    assert kept(made) == wanted
    assert made.id == live_id


def test_two_supplies_equal_the_form_with_branches(place):
    shop, clock = bench(place)
    zinc = PlannedBranch(supply="zinc", anodes=("zinc-1", "zinc-2"), current_a=5.6)
    nickel = PlannedBranch(supply="nickel", anodes=("nickel-1",), current_a=0.95)
    start(shop, branches=(zinc, nickel), minutes=45)
    through(shop, clock, lambda: clock.go(45))
    made = shop.finish().entry
    words = ("electrolyte.zinc=5.6A*45min", "electrolyte.nickel=0.95A*45min")
    assert kept(made) == typed(shop, made.at, "area=3.2dm2", *WHOLE, *words, *REST)


def test_the_estimate_takes_both_alike(place, tmp_path):
    """A live run and a typed one wear the baths by the same amounts."""
    shop, clock = bench(place)
    start(shop, current_a=6.5, minutes=45)
    through(shop, clock, lambda: clock.go(45))
    made = shop.finish().entry
    other, _ = bench(tmp_path / "typed.logbook.jsonl")
    words = ("area=3.2dm2", *WHOLE, "electrolyte=6.5A*45min", *REST)
    other.workshop.log(compose("run", words, other.workshop.vocabulary, made.at).raw)
    at = START + timedelta(days=1)
    for tank in ("electrolyte", "pickle", "passivate"):
        here, there = shop.workshop.tank(tank, at), other.workshop.tank(tank, at)
        assert here.charge_ah == there.charge_ah and here.volume_l == there.volume_l
        assert {n: c.value for n, c in here.species.items()} == {n: c.value for n, c in there.species.items()}


def test_rust_removal_and_dummy_have_their_own_entries(place):
    shop, clock = bench(place)
    shop.start(shop.line_plan("rust removal", area_dm2=5.0, current_a=6.0, minutes=30))
    walk(shop, clock)
    made = shop.finish().entry
    assert kept(made) == typed(shop, made.at, "area=5dm2", "rust-removal=6A*30min", "rinse-1=1min")
    shop.start(shop.line_plan("dummy", current_a=0.4, minutes=480))
    walk(shop, clock)
    made = shop.finish().entry
    assert kept(made) == typed(shop, made.at, "electrolyte=0.4A*480min", "dummy")
    assert shop.workshop.tank("electrolyte", clock.wall()).charge_ah["dummy"] == pytest.approx(3.2)


def test_its_moment_is_the_end_of_plating_from_which_a_bake_is_counted(place):
    shop, clock = bench(place, rule="ASTM B850")
    part = {"description": "bolts", "area_dm2": 3.2, "strength_mpa": 1300.0}
    steps = [{"tank": "electrolyte", "minutes": 40.0, "charge": {"current_a": 6.5}}, {"tank": "rinse-3", "minutes": 1.0}]
    shop.workshop.log({"kind": "run", "at": START - timedelta(days=2), "parts": [part], "steps": steps})
    shop.start(shop.line_plan(like="last"))
    shop.enter_next()
    clock.go(40)
    shop.enter_next()
    out = clock.wall()
    clock.go(30)
    oven = shop.live().oven(shop.tick())
    assert oven.since_s == 1800 and oven.left_s == oven.bake.start_within_h * 3600 - 1800
    made = shop.finish().entry
    due = [f for f in shop.workshop.safety(clock.wall()) if f.id == f"electrolyte.bake.{made.id[-8:]}"]
    assert made.at == out and due[0].by == oven.deadline


# -- acts --------------------------------------------------------------------------------------------------------------


def test_the_line_from_end_to_end_with_every_key(place):
    shop, clock = bench(place)
    start(shop, current_a=6.5, minutes=45)
    assert shop.live().state(shop.tick()) == "waiting"
    shop.enter_next()
    clock.go(9)
    shop.enter("degreaser")  # once more
    clock.go(1)
    skip_rust_removal(shop)
    shop.enter_next()
    assert shop.live().step.tank == "rinse-1"
    shop.leave()
    shop.repeat()
    clock.go(2)
    with pytest.raises(LiveError, match="only a step that is running"):
        shop.leave()
        shop.pause()
    with pytest.raises(LiveError, match="in no tank"):
        shop.leave()
    with pytest.raises(LiveError, match="not paused"):
        shop.resume()
    with pytest.raises(LiveError, match="no step `dryer`; the run goes through degreaser"):
        shop.enter("dryer")
    shop.enter(9)
    with pytest.raises(LiveError, match="no further step"):
        shop.skip()
    shop.enter_next()
    assert shop.live().settled
    with pytest.raises(LiveError, match="last step is behind"):
        shop.enter_next()
    assert [(s.tank, s.minutes) for s in shop.finish().entry.steps] == [
        ("degreaser", 10.0), ("rinse-1", 2.0), ("rinse-4", 0.0),
    ]  # fmt: skip


def test_what_is_said_goes_to_the_step_that_is_meant(place):
    shop, clock = bench(place)
    start(shop, minutes=45)
    shop.enter_next()
    shop.say(current_a=5.0)  # in the degreaser: rust removal is the next with current
    assert shop.live().stays[1].channels[0].points[0].current_a == 5.0
    shop.enter("rinse-2")
    shop.say(current_a=6.5, counter_ah=1.0)
    shop.enter_next()
    clock.go(45)
    shop.say(volts=3.0, temperature_c=34.0)
    shop.leave()
    shop.say(counter_ah=5.9, note="even")
    shop.enter_next()
    clock.go(1)
    step = next(s for s in shop.finish().entry.steps if s.tank == "electrolyte")
    assert step.branches[0].charge.counter.end_ah == 5.9 and step.branches[0].volts == 3.0 and step.temperature_c == 34.0


@pytest.mark.parametrize(
    ("said", "refusal"),
    [
        ({}, "nothing was said"),
        ({"note": "  "}, "nothing was said"),
        ({"current_a": -1.0}, "current: "),
        ({"current_a": float("nan")}, "current: "),
        ({"temperature_c": 900.0}, "temperature: "),
        ({"minutes": 5.0, "step": "pickle"}, "not in pickle yet"),
        ({"volts": 3.0, "step": "nowhere"}, "no step `nowhere`"),
        ({"current_a": 1.0, "step": "electrolyte", "supply": "bnech"}, "no supply is called `bnech`; there are bench-1"),
    ],
)
def test_what_cannot_be_said_is_refused_and_not_on_record(place, said, refusal):
    shop, _ = bench(place)
    start(shop)
    shop.enter_next()
    shop.say(current_a=6.0, step="electrolyte", supply="bench-1")
    before = live_path(place).read_bytes()
    with pytest.raises(LiveError, match=refusal):
        shop.say(**said)
    assert live_path(place).read_bytes() == before


def test_acts_may_be_dated_back_by_the_moment_given(place):
    shop, clock = bench(place)
    start(shop, current_a=6.5, minutes=45)
    shop.enter("electrolyte", clock.wall())
    clock.go(50)
    shop.leave(clock.wall() - timedelta(minutes=4))
    (step,) = shop.finish().entry.steps
    assert step.minutes == 46


def test_minutes_can_be_said_where_the_clocks_do_not_know(place):
    shop, clock = bench(place)
    start(shop, current_a=6.5)
    shop.enter("electrolyte")
    clock.restart("boot-2")
    clock.wall_only(-300)
    shop.leave()
    assert any("set back" in p.what for p in shop.problems)
    shop.say(minutes=44.0, step="electrolyte")
    (step,) = shop.finish().entry.steps
    assert (step.minutes, step.charge.current_a) == (44.0, 6.5)


def test_without_a_run_every_act_says_so(place):
    shop, _ = bench(place)
    acts = (shop.enter_next, shop.leave, shop.skip, shop.repeat, shop.pause, shop.resume, shop.finish, shop.abandon)
    for act in (*acts, lambda: shop.say(current_a=1.0), lambda: shop.feed(["0,1"]), shop.entry_so_far):
        with pytest.raises(LiveError, match="there is no live run; plan and start one"):
            act()
    assert shop.live() is None and not live_path(place).exists()


def test_a_second_start_is_refused_and_says_where_the_first_stands(place):
    shop, _ = bench(place)
    start(shop)
    shop.enter_next()
    other = Bench(Workshop.open(place), FakeClock())
    with pytest.raises(LiveError, match="parts are in degreaser, next is rust-removal"):
        start(other)


# -- the end -----------------------------------------------------------------------------------------------------------


def test_nothing_done_cannot_be_finished_but_abandoned(place):
    shop, _ = bench(place)
    start(shop)
    with pytest.raises(LiveError, match="nothing is done yet"):
        shop.finish()
    assert shop.abandon() is None
    assert shop.live() is None and not live_path(place).exists() and last_path(place).exists()
    assert not [e for e in shop.workshop.entries() if isinstance(e, Run)]


def test_abandoning_writes_what_was_done(place):
    shop, clock = bench(place)
    start(shop)
    shop.enter_next()
    clock.go(10)
    logged = shop.abandon(reason="pump failed")
    assert [(s.tank, s.minutes) for s in logged.entry.steps] == [("degreaser", 10.0)]
    assert logged.entry.note == "abandoned: pump failed"
    start(shop)  # and the bench is free again
    assert shop.live().number == -1


@pytest.mark.parametrize("end", [{"rejects": -1}, {"mass_before_g": 0.0}, {"photos": [" "]}, {"defect": ""}])
def test_a_result_that_cannot_be_leaves_the_run_live(place, end):
    shop, clock = bench(place)
    start(shop)
    shop.enter_next()
    clock.go(10)
    with pytest.raises((LiveError, EntryError)):
        shop.finish(**end)
    assert shop.live().phase == "running"
    assert shop.finish(rejects=0).entry.rejects == 0


def test_the_entry_so_far_is_the_one_that_comes(place):
    shop, clock = bench(place)
    start(shop)
    shop.enter_next()
    clock.go(10)
    before = shop.entry_so_far()
    assert parse(before) == shop.finish().entry


# -- two windows -------------------------------------------------------------------------------------------------------


def test_a_window_that_did_not_look_is_refused_and_told_where_it_stands(place):
    one, clock = bench(place)
    start(one)
    two = Bench(Workshop.open(place), clock)
    assert two.live().next_step.tank == "degreaser"
    one.enter_next()
    one.say(note="windows may both speak")
    before = live_path(place).read_bytes()
    with pytest.raises(MovedOn, match="parts are in degreaser, next is rust-removal"):
        two.enter_next()
    assert live_path(place).read_bytes() == before
    assert two.live().step.tank == "degreaser"
    two.say(note="and the other")  # speaking contends with nothing
    two.skip()
    with pytest.raises(MovedOn):
        one.enter_next()
    one.live()
    assert one.enter_next().step.tank == "rinse-1"
    assert one.live().notes == ("windows may both speak", "and the other")


def test_what_was_on_the_screen_can_be_stated(place):
    shop, _ = bench(place)
    shown = start(shop)
    shop.enter_next()
    with pytest.raises(MovedOn):
        shop.enter_next(seen=shown.moves)
    assert shop.enter_next(seen=shop.live().moves).step.tank == "rust-removal"


def test_only_one_window_finishes(place):
    one, clock = bench(place)
    start(one)
    one.enter_next()
    clock.go(10)
    two = Bench(Workshop.open(place), clock)
    two.live()
    one.finish()
    with pytest.raises(MovedOn, match="finished or abandoned"):
        two.finish()
    with pytest.raises(LiveError, match="no live run"):
        two.finish()
    assert two.live() is None
    start(one)  # a new run is not moved by a window that still shows the old one
    assert two.live().number == -1
    assert sum(isinstance(e, Run) for e in Workshop.open(place).entries()) == 1


def test_a_window_on_the_old_run_does_not_move_the_new_one(place):
    one, clock = bench(place)
    start(one)
    one.enter_next()
    two = Bench(Workshop.open(place), clock)
    two.live()
    one.finish()
    start(one)
    one.enter_next()
    with pytest.raises(MovedOn):
        two.say(note="of the old run")
    one.finish()
    start(one)
    with pytest.raises(MovedOn):
        two.enter_next()
    one.enter_next()
    assert one.live().step.tank == "degreaser"


# -- crashes -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("where", ["append", "put_away"])
def test_a_crash_between_the_entry_and_the_live_file_is_healed(place, monkeypatch, where):
    shop, clock = bench(place)
    start(shop)
    shop.enter_next()
    clock.go(10)
    shop.live()
    with monkeypatch.context() as patched:

        def die(*_: object) -> None:
            raise SystemExit("power cut")

        patched.setattr(LiveFile, where, die)
        with pytest.raises(SystemExit):
            shop.finish(result="good")
    assert live_path(place).exists()
    again = Bench(Workshop.open(place), clock)
    assert again.live() is None and not live_path(place).exists()
    assert again.told and "is in the book" in again.told[0]
    (run,) = [e for e in again.workshop.entries() if isinstance(e, Run)]
    assert run.result == "good"
    with pytest.raises(LiveError, match="no live run"):
        again.finish()


def test_a_crash_before_the_entry_leaves_the_run_live(place, monkeypatch):
    shop, clock = bench(place)
    start(shop)
    shop.enter_next()
    clock.go(10)

    def full(*_: object) -> None:
        raise BookError("No room left", "The disk is full.")

    with monkeypatch.context() as patched:
        patched.setattr(shop.workshop.book, "append", full)
        with pytest.raises(BookError, match="No room"):
            shop.finish(result="good")
    assert shop.live().phase == "running"
    assert shop.finish(result="good").entry.steps[0].minutes == 10


def test_resumed_after_a_crash_it_goes_on_by_the_wall_clock(place):
    shop, clock = bench(place)
    start(shop, current_a=6.5, minutes=45)
    shop.enter("electrolyte")
    clock.go(15)
    clock.restart("boot-2")
    clock.wall_only(20)
    again = Bench(Workshop.open(place), clock)
    run = again.live()
    assert (run.step.tank, run.left_s(again.tick())) == ("electrolyte", 600)
    clock.go(10)
    again.leave()
    assert again.finish().entry.steps[0].minutes == 45


# -- a logger ----------------------------------------------------------------------------------------------------------


def test_a_logger_feeds_the_step_while_a_window_goes_on(place):
    shop, clock = bench(place)
    start(shop, minutes=45)
    shop.enter("electrolyte")
    window = Bench(Workshop.open(place), clock)
    window.live()

    def logger():
        yield "time,current,voltage"
        for second in range(0, 45 * 60 + 1, 10):
            clock.go(10 / 60)
            yield f"{second},6.5,3.1"
            if second == 600:
                assert window.live().charge_ah(window.tick()) == pytest.approx(6.5 * 600 / 3600, rel=0.02)
            if second == 1200:
                yield "1210,about six,3.1"

    fed = shop.feed(logger())
    assert fed.samples == 271 and [b.line for b in fed.bad] == [123]
    assert fed.charge_ah == pytest.approx(6.5 * 45 / 60)
    window.live()
    window.enter_next()
    (branch,) = window.finish().entry.steps[0].branches
    assert branch.charge.trace.charge_ah == pytest.approx(4.875) and branch.volts == 3.1
    assert branch.charge.trace.file == "standard input" and len(branch.charge.trace.sha256) == 64


def test_a_feed_into_nothing_or_with_an_odd_gap_is_refused(place):
    shop, _ = bench(place)
    start(shop)
    with pytest.raises(LiveError, match="longest gap of 0 s cannot be"):
        shop.feed(["0,1"], longest_gap_s=0)
    with pytest.raises(LiveError, match="no step `nowhere`"):
        shop.feed(["0,1"], step="nowhere")


def test_a_feed_stops_when_its_run_is_over(place):
    shop, clock = bench(place)
    start(shop, minutes=45)
    shop.enter("electrolyte")
    window = Bench(Workshop.open(place), clock)

    def logger():
        for second in range(0, 100, 10):
            clock.go(1)
            yield f"{second},6.5"
            if second == 50:
                window.live()
                window.finish()

    with pytest.raises((LiveError, MovedOn)):
        shop.feed(logger())
    assert sum(isinstance(e, Run) for e in Workshop.open(place).entries()) == 1
