"""A live run from its first key to its entry, by keyboard alone at 80x24: killed half-way, gone on with, ended once."""

from __future__ import annotations

import asyncio
import shutil
import time
from collections.abc import Awaitable, Callable
from contextlib import AbstractAsyncContextManager
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from textual import events
from textual.pilot import Pilot
from textual.widgets import Input

from bathkeeper.entries import Run, parse, to_plain
from bathkeeper.phrases import compose
from bathkeeper.runs.live import LiveRun
from bathkeeper.tui.app import BathkeeperApp
from bathkeeper.tui.at_bench import LiveSeen, LiveShown
from bathkeeper.tui.screens.ask_line import AskLine
from bathkeeper.tui.screens.form_rows import FieldRow
from bathkeeper.tui.screens.line import LineScreen
from bathkeeper.tui.screens.run_finish import FinishScreen
from bathkeeper.tui.screens.run_live import LiveScreen
from bathkeeper.tui.screens.run_setup import SetupScreen
from bathkeeper.tui.widgets.big import biggest
from bathkeeper.tui.widgets.choice import Choice
from bathkeeper.workshop import Workshop
from tests.runs.live_bench import FakeClock, bench, workshop
from tests.tui.helpers import SMALL, until, until_seen

Steps = Callable[[Pilot[None]], Awaitable[None]]
NAMES = {" ": "space", ".": "full_stop"}


# -- an app at the bench --------------------------------------------------------------------------------------------------


def app_at(path: Path, clock: FakeClock) -> BathkeeperApp:
    """The app with the bench's clock, its drafts beside the book."""
    app = BathkeeperApp(path, clock=clock.wall, state_folder=path.parent, bench_clock=clock)
    app.animation_level = "none"
    return app


def window(path: Path, clock: FakeClock) -> AbstractAsyncContextManager[Pilot[None]]:
    return app_at(path, clock).run_test(size=SMALL, notifications=True, tooltips=True)


def keeper(pilot: Pilot[None]) -> BathkeeperApp:
    assert isinstance(pilot.app, BathkeeperApp)
    return pilot.app


def run_of(pilot: Pilot[None]) -> LiveRun:
    run = keeper(pilot).at_bench.seen.run
    assert run is not None
    return run


async def opened(pilot: Pilot[None]) -> None:
    await until(pilot, lambda: bool(keeper(pilot).snapshot.tanks))


async def to_the_run(pilot: Pilot[None]) -> None:
    """From the line to the live run that there is, with its key."""
    await opened(pilot)
    await until(pilot, lambda: keeper(pilot).at_bench.seen.run is not None)
    await pilot.press("p")
    await until(pilot, lambda: isinstance(pilot.app.screen, LiveScreen))


def rows_of(pilot: Pilot[None]) -> list[FieldRow]:
    return list(pilot.app.screen.query(FieldRow))


async def typed(pilot: Pilot[None], text: str) -> None:
    """Types a text faster than a person, into the field with the cursor, and waits for it to stand there."""
    box = pilot.app.focused
    assert isinstance(box, Input)
    for c in text:
        pilot.app.post_message(events.Key(NAMES.get(c, c), c))
    await until(pilot, lambda: box.value == text)


async def set_up(pilot: Pilot[None], **measures: str) -> None:
    """From the line to a run that was begun: the fields one after the other, then the key that starts."""
    await opened(pilot)
    await pilot.press("p")
    await until(pilot, lambda: isinstance(pilot.app.screen, SetupScreen) and any(r.field.key == "like" for r in rows_of(pilot)))
    asked = {"area", "thickness", "minutes", "current"}
    assert measures.keys() <= asked
    while asked:
        await pilot.press("tab")
        row = next(r for r in rows_of(pilot) if r.control.has_focus)
        asked.remove(row.field.key)
        await typed(pilot, measures.get(row.field.key, ""))
    await pilot.press("ctrl+s")
    await until(pilot, lambda: isinstance(pilot.app.screen, LiveScreen) and keeper(pilot).at_bench.seen.run is not None)


def drive_at(path: Path, clock: FakeClock, steps: Steps) -> None:
    async def session() -> None:
        async with window(path, clock) as pilot:
            await steps(pilot)

    asyncio.run(session())


async def moved(pilot: Pilot[None], *keys: str) -> LiveRun:
    """Presses keys that move the run on, each once the screen has taken up the one before."""
    for key in keys:
        before = run_of(pilot).sequence
        await pilot.press(key)
        await until(pilot, lambda before=before: run_of(pilot).sequence > before)  # type: ignore[misc]
    return run_of(pilot)


async def said(pilot: Pilot[None], text: str) -> LiveRun:
    """Says something in the line behind ``c``."""
    before = run_of(pilot).sequence
    await pilot.press("c")
    await until(pilot, lambda: isinstance(pilot.app.screen, AskLine) and pilot.app.focused is not None)
    await typed(pilot, text)
    await pilot.press("enter")
    await until(pilot, lambda: isinstance(pilot.app.screen, LiveScreen) and run_of(pilot).sequence > before)
    return run_of(pilot)


async def stands_in(pilot: Pilot[None], clock: FakeClock, tank: str, minutes: float) -> None:
    """Enter: into the tank that was shown as the next one; then the time passes there."""
    following = run_of(pilot).next_step
    assert following is not None and following.tank == tank
    run = await moved(pilot, "enter")
    assert run.step is not None and run.step.tank == tank and run.phase == "running"
    clock.go(minutes)


async def asked_what_came_out(pilot: Pilot[None], letter: str) -> None:
    """The question of the end, answered by the letter of a result, but not yet sent."""
    await pilot.press("f")
    await until(pilot, lambda: isinstance(pilot.app.screen, FinishScreen) and isinstance(pilot.app.focused, Choice))
    await pilot.press(letter)
    await until(pilot, lambda: next(r for r in rows_of(pilot) if r.field.key == "result").text.startswith(letter))


async def until_the_clock_shows(pilot: Pilot[None], face: str) -> None:
    """Waits until the big clock shows a time, as large as it is drawn at this size."""
    drawn = biggest(face, 60, 5)
    assert drawn is not None
    await until_seen(pilot, *(line.rstrip() for line in drawn))


# -- the book ------------------------------------------------------------------------------------------------------------


def runs_in(path: Path) -> list[Run]:
    return [e for e in Workshop.open(path).entries() if isinstance(e, Run)]


def kept(plain: dict[str, Any]) -> dict[str, Any]:
    return {k: v for k, v in plain.items() if k not in ("id", "typed")}


def by_hand(path: Path, at: datetime, *words: str) -> dict[str, Any]:
    """The entry that the quick form makes of words, as plain values."""
    raw = compose("run", words, Workshop.open(path).vocabulary, at).raw
    return kept(to_plain(parse({"id": "x" * 8, **raw})))


# -- the whole line ------------------------------------------------------------------------------------------------------


def test_a_whole_run_killed_half_way_and_gone_on_with_equals_the_one_typed_by_hand(tmp_path: Path) -> None:
    path, left = tmp_path / "before" / "shed.logbook.jsonl", tmp_path / "after"
    path.parent.mkdir()
    workshop(path)
    clock = FakeClock()

    async def first_half(pilot: Pilot[None]) -> None:
        await set_up(pilot, area="3.2", minutes="45", current="6.5")
        await stands_in(pilot, clock, "degreaser", 10)
        await stands_in(pilot, clock, "rust-removal", 0)
        await said(pilot, "4.8A")  # none was planned; said as the parts go in, it holds from the start
        clock.go(30)
        await stands_in(pilot, clock, "rinse-1", 1)
        await stands_in(pilot, clock, "pickle", 2)
        await moved(pilot, "space")
        await until_seen(pilot, "PAUSED")
        clock.go(25)  # out of the acid; the step's clock stands
        await moved(pilot, "space")
        await until_seen(pilot, "RUNNING")
        clock.go(3)
        await stands_in(pilot, clock, "rinse-2", 1)
        await stands_in(pilot, clock, "electrolyte", 0)
        await said(pilot, "12.4Ah")
        clock.go(20)
        await until_the_clock_shows(pilot, "25:00")
        shutil.copytree(path.parent, left)  # what is on the disk when the machine goes dark

    async def second_half(pilot: Pilot[None]) -> None:
        await to_the_run(pilot)
        run = run_of(pilot)
        assert run.step is not None and run.step.tank == "electrolyte"
        await until_the_clock_shows(pilot, "22:00")  # three minutes more had passed on the wall
        clock.go(22)
        await until_seen(pilot, "OVER TIME")
        await said(pilot, "17.3Ah 34.5C")
        electrolyte_out.append(clock.wall())
        await stands_in(pilot, clock, "rinse-3", 1)
        run = await moved(pilot, "s")
        assert run.stays[run.number + 1].tank == "acid-dip" and run.stays[run.number + 1].skipped
        await stands_in(pilot, clock, "passivate", 1)
        await stands_in(pilot, clock, "rinse-4", 1)
        assert (await moved(pilot, "enter")).settled
        clock.go(4)  # what is done after the last tank is no part of any stay
        await asked_what_came_out(pilot, "g")
        await pilot.press("ctrl+s")
        await until(pilot, lambda: isinstance(pilot.app.screen, LineScreen))
        await until_seen(pilot, "Logged: the run")
        assert keeper(pilot).at_bench.seen.run is None

    electrolyte_out: list[datetime] = []
    drive_at(path, clock, first_half)
    assert not runs_in(path)  # leaving the app finishes nothing
    path = left / path.name
    clock.at += timedelta(minutes=3)
    clock.restart("boot-2")
    drive_at(path, clock, second_half)

    (entry,) = runs_in(path)
    assert kept(to_plain(entry)) == by_hand(
        path, electrolyte_out[0], "load", "area=3.2dm2",
        *("degreaser=10min", "rust-removal=4.8A*30min", "rinse-1=1min", "pickle=5min", "rinse-2=1min"),
        "electrolyte@34.5C=12.4Ah..17.3Ah*45min", *("rinse-3=1min", "passivate=1min", "rinse-4=1min"), "result=good",
    )  # fmt: skip


# -- two windows ---------------------------------------------------------------------------------------------------------


async def over(pilot: Pilot[None]) -> None:
    """The line is back and no run is under way in this window."""
    await until(pilot, lambda: isinstance(pilot.app.screen, LineScreen) and keeper(pilot).at_bench.seen.run is None)


def plated(path: Path) -> FakeClock:
    """A book with a live run that has been through a tank; its end is to be said."""
    shop, clock = bench(path)
    shop.start(shop.line_plan(area_dm2=3.2, current_a=6.5, minutes=45))
    shop.enter("electrolyte")
    clock.go(45)
    shop.leave()
    return clock


def test_of_windows_that_saw_the_same_run_only_one_can_finish_it(tmp_path: Path) -> None:
    path = tmp_path / "shed.logbook.jsonl"
    clock = plated(path)

    async def session() -> None:
        async with window(path, clock) as one, window(path, clock) as other, window(path, clock) as asleep:
            for pilot in (one, other, asleep):
                await to_the_run(pilot)
                await asked_what_came_out(pilot, "b" if pilot is asleep else "g")
            assert run_of(one).id == run_of(other).id == run_of(asleep).id
            keeper(asleep).at_bench.looking = True  # as if a look had begun before, so that it begins no other
            await asyncio.gather(one.press("ctrl+s"), other.press("ctrl+s"))
            await over(one)
            await over(other)  # whichever was later
            assert isinstance(asleep.app.screen, FinishScreen)
            await asleep.press("ctrl+s")
            await until_seen(asleep, "The run is over")
            await over(asleep)
            await asleep.press("p")  # there is no run to go on with
            await until(asleep, lambda: isinstance(asleep.app.screen, SetupScreen))

    asyncio.run(session())
    (entry,) = runs_in(path)
    assert entry.result == "good"


def test_a_look_between_the_entry_and_its_news_does_not_take_the_end_for_another_windows(tmp_path: Path) -> None:
    path = tmp_path / "shed.logbook.jsonl"
    clock = plated(path)

    async def steps(pilot: Pilot[None]) -> None:
        app = keeper(pilot)
        await to_the_run(pilot)
        await asked_what_came_out(pilot, "g")
        over_for_good = app.at_bench.is_over

        def is_over_after_a_look() -> None:
            app.post_message(LiveShown(LiveSeen()))
            until_then = time.monotonic() + 5
            while app.at_bench.seen.run is not None and time.monotonic() < until_then:
                time.sleep(0.01)
            looks.append(app.at_bench.seen)
            over_for_good()

        app.at_bench.is_over = is_over_after_a_look  # type: ignore[method-assign]
        await pilot.press("ctrl+s")
        await over(pilot)
        assert [look.run for look in looks] == [None]
        await until_seen(pilot, "Logged: the run")
        assert not any("another window" in n.message for n in app._notifications)

    looks: list[LiveSeen] = []
    drive_at(path, clock, steps)
    assert len(runs_in(path)) == 1
