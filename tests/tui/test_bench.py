"""The bench by keyboard alone at 80 by 24: a run set up, walked by a clock of the test's own, killed, resumed, finished."""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from textual.pilot import Pilot
from textual.widgets import OptionList, TextArea

from bathkeeper.bench import Bench, saying
from bathkeeper.entries import Run, parse, to_plain
from bathkeeper.phrases import compose
from bathkeeper.runs.live import LiveRun
from bathkeeper.tui.app import BathkeeperApp
from bathkeeper.tui.screens.ask_line import AskLine
from bathkeeper.tui.screens.entry_form import EntryForm
from bathkeeper.tui.screens.form_rows import FieldRow
from bathkeeper.tui.screens.line import LineScreen
from bathkeeper.tui.screens.run_finish import FinishScreen
from bathkeeper.tui.screens.run_history import HistoryScreen
from bathkeeper.tui.screens.run_live import LiveScreen
from bathkeeper.tui.screens.run_setup import SetupScreen
from bathkeeper.tui.widgets.big import big, biggest
from bathkeeper.tui.widgets.lines import Words
from bathkeeper.tui.widgets.vessel import Vessel
from bathkeeper.units.numerals import Preferences
from bathkeeper.workshop import Workshop
from tests.runs.live_bench import FakeClock, workshop
from tests.tui.helpers import LARGE, SMALL, drive, seen, type_text, until, until_seen

Steps = Callable[[Pilot[None]], Awaitable[None]]
WALK = (
    ("degreaser", 10.0), ("rust-removal", None), ("rinse-1", 1.0), ("pickle", 5.0), ("rinse-2", 1.0), ("electrolyte", 45.0),
    ("rinse-3", 1.0), ("acid-dip", 0.2), ("passivate", 1.0), ("rinse-4", 1.0),
)  # fmt: skip
"""The template's line, and the minutes that this load stays in each tank; rust removal is skipped."""
BY_HAND = (
    "20x M8x30 hex bolt", "degreaser=10min", "rinse-1=1min", "pickle=5min", "rinse-2=1min", "electrolyte@35C=6.5A*45min",
    "rinse-3=1min", "acid-dip=0.2min", "passivate=1min", "rinse-4=1min", "result=good", "note=gassing at the hooks",
)  # fmt: skip


def app_at(path: Path, folder: Path, clock: FakeClock) -> BathkeeperApp:
    app = BathkeeperApp(path, clock=clock.wall, state_folder=folder, bench_clock=clock)
    app.animation_level = "none"
    return app


def run_of(app: Any) -> LiveRun:
    run = app.at_bench.seen.run
    assert isinstance(run, LiveRun)
    return run


async def acted(pilot: Pilot[None], *keys: str) -> LiveRun:
    """Presses a key that moves the live run, and waits for it to have moved."""
    before = run_of(pilot.app).sequence
    await pilot.press(*keys)
    await until(pilot, lambda: run_of(pilot.app).sequence > before and not getattr(pilot.app.screen, "_busy", False))
    return run_of(pilot.app)


async def said(pilot: Pilot[None], key: str, text: str) -> LiveRun:
    """Says something in one line."""
    await pilot.press(key)
    await until(pilot, lambda: isinstance(pilot.app.screen, AskLine))
    await type_text(pilot, text)
    return await acted(pilot, "enter")


async def at_live(pilot: Pilot[None]) -> None:
    await until(pilot, lambda: isinstance(pilot.app.screen, LiveScreen))


def kept(entry: Any) -> dict[str, Any]:
    """An entry but for its id and the record of how it was typed."""
    return {k: v for k, v in to_plain(entry).items() if k not in ("id", "typed")}


def runs_in(path: Path) -> list[Run]:
    return [e for e in Workshop.open(path).entries() if isinstance(e, Run)]


def test_a_whole_run_by_keyboard_killed_half_way_resumed_and_finished_once(tmp_path: Path) -> None:
    path, clock = tmp_path / "small.logbook.jsonl", FakeClock()
    workshop(path)

    async def walk(pilot: Pilot[None], tanks: tuple[tuple[str, float | None], ...]) -> None:
        for tank, minutes in tanks:
            if minutes is None:
                await acted(pilot, "s")
                continue
            run = await acted(pilot, "enter")
            assert run.step is not None and run.step.tank == tank
            if tank == "electrolyte":
                await said(pilot, "c", "6.5A 35C")
                await said(pilot, "n", "gassing at the hooks")
            clock.go(minutes)

    async def begin(pilot: Pilot[None]) -> None:
        await pilot.press("p")
        await until(pilot, lambda: isinstance(pilot.app.screen, SetupScreen))
        assert isinstance(pilot.app.focused, TextArea)
        await type_text(pilot, "20x M8x30 hex bolt")
        await until_seen(pilot, "3.26 dm²", "Set ", "time open")
        await pilot.press("tab", "tab", "tab")
        await type_text(pilot, "45")
        await until_seen(pilot, "for 45 min in electrolyte")
        await pilot.press("ctrl+s")
        await at_live(pilot)
        await until_seen(pilot, "WAITING", "NEXT")
        await walk(pilot, WALK[:5])
        await acted(pilot, "enter")
        await said(pilot, "c", "6.5 A 35 °C")
        await said(pilot, "n", "gassing at the hooks")
        clock.go(20)
        await until_seen(pilot, "RUNNING", "6.5 A")
        pilot.app.exit()  # killed half-way: no finish, no goodbye

    drive(app_at(path, tmp_path, clock), begin, SMALL)
    assert runs_in(path) == []
    clock.go(25)

    async def other_window(pilot: Pilot[None]) -> None:
        await until_seen(pilot, "A run is under way")
        await pilot.press("p")
        await at_live(pilot)
        await pilot.press("f")
        await until(pilot, lambda: isinstance(pilot.app.screen, FinishScreen))
        two_at_the_end.append(pilot)
        while len(two_at_the_end) < 3:  # the first one has finished by now
            await asyncio.sleep(0.02)
        await pilot.press("ctrl+s")
        await until(pilot, lambda: isinstance(pilot.app.screen, LineScreen))
        assert "under way" not in seen(pilot)

    two_at_the_end: list[Any] = []

    async def go_on(pilot: Pilot[None]) -> None:
        await until_seen(pilot, "A run is under way", "electrolyte")
        await pilot.press("f12")
        await at_live(pilot)
        await until_seen(pilot, "OVER TIME")
        await walk(pilot, WALK[6:])
        run = await acted(pilot, "enter")  # out of the last tank
        assert run.settled
        await until_seen(pilot, "all steps are behind")
        other = asyncio.create_task(asyncio.to_thread(drive, app_at(path, tmp_path / "b", clock), other_window, SMALL))
        while not two_at_the_end:
            await asyncio.sleep(0.02)
            assert not other.done(), other.exception()
        await pilot.press("enter")
        await until(pilot, lambda: isinstance(pilot.app.screen, FinishScreen))
        await pilot.press("g", "ctrl+s")
        await until(pilot, lambda: isinstance(pilot.app.screen, LineScreen))
        two_at_the_end.extend(["finished", "finished"])
        await other

    drive(app_at(path, tmp_path, clock), go_on, SMALL)
    made = runs_in(path)
    assert len(made) == 1
    shop = Workshop.open(path)
    typed = parse({"id": "x" * 8, **compose("run", list(BY_HAND), shop.vocabulary, made[0].at).raw})
    live_entry, typed_entry = kept(made[0]), kept(typed)
    # the bench rounds a worked-out area to 1e-6 dm2, the quick form does not; nothing else may differ
    (one,), (other,) = live_entry.pop("parts"), typed_entry.pop("parts")
    assert live_entry == typed_entry
    areas = {name: pytest.approx(other[name], abs=1e-6) for name in ("area_dm2", "spread")}
    assert one == {**other, **areas}
    assert Bench(shop, clock).live() is None


def started(path: Path, clock: FakeClock, **plan: Any) -> Bench:
    """A live run of the small line, parts not yet in a tank."""
    bench = Bench(workshop(path), clock)
    bench.start(bench.line_plan(**{"parts": "20x M8x30 hex bolt", "current_a": 6.5, "minutes": 45.0, **plan}))
    return bench


Acts = Callable[[Pilot[None], Bench, FakeClock], Awaitable[None]]


def live(tmp_path: Path, steps: Acts, size: tuple[int, int] = SMALL) -> None:
    """Drives the live screen of a run that another bench has started."""
    path, clock = tmp_path / "small.logbook.jsonl", FakeClock()
    bench = started(path, clock)

    async def session(pilot: Pilot[None]) -> None:
        await until(pilot, lambda: pilot.app.at_bench.seen.run is not None)  # type: ignore[attr-defined]
        await pilot.press("p")
        await at_live(pilot)
        await steps(pilot, bench, clock)

    drive(app_at(path, tmp_path, clock), session, size)


@pytest.mark.parametrize("size", [SMALL, LARGE])
def test_every_state_has_its_word_and_the_next_step_is_always_there(tmp_path: Path, size: tuple[int, int]) -> None:
    async def steps(pilot: Pilot[None], bench: Bench, clock: FakeClock) -> None:
        await until_seen(pilot, "· WAITING", "NEXT", "next degreaser")
        await acted(pilot, "enter")
        await until_seen(pilot, "▶ RUNNING", "NOW  degreaser", "next rust-removal", "left of 10 min")
        await acted(pilot, "space")
        clock.go(30)
        await until_seen(pilot, "= PAUSED")
        assert run_of(pilot.app).left_s(bench.tick()) == pytest.approx(600, abs=1)  # the clock stands
        await acted(pilot, "f3")
        clock.go(11)
        await until_seen(pilot, "!! OVER TIME", "over the 10 min", "next rust-removal")

    live(tmp_path, steps, size)


def test_the_bell_rings_when_time_is_up_and_again_until_the_parts_move(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    rung: list[bool] = []
    monkeypatch.setattr(BathkeeperApp, "bell", lambda self: rung.append(True))

    async def steps(pilot: Pilot[None], bench: Bench, clock: FakeClock) -> None:
        await acted(pilot, "enter")
        clock.go(9.5)
        await pilot.pause(1.2)
        assert not rung
        clock.go(1)
        await until(pilot, lambda: len(rung) == 1)
        await pilot.pause(1.2)
        assert len(rung) == 1
        clock.go(1)
        await until(pilot, lambda: len(rung) == 2)

    live(tmp_path, steps)


def test_the_screen_follows_another_window_and_a_key_too_late_is_told(tmp_path: Path) -> None:
    async def steps(pilot: Pilot[None], bench: Bench, clock: FakeClock) -> None:
        bench.live()
        bench.enter_next()
        await pilot.press("enter")  # meant for the tank before; whoever was quicker, the parts are in the first one
        await until_seen(pilot, "NOW  degreaser")
        await until(pilot, lambda: not pilot.app.screen._busy)  # type: ignore[attr-defined]
        assert run_of(pilot.app).number == 0
        bench.live()
        bench.enter_next()
        await until_seen(pilot, "NOW  rust-removal")

    live(tmp_path, steps)


def test_skip_repeat_back_out_and_the_palette(tmp_path: Path) -> None:
    async def steps(pilot: Pilot[None], bench: Bench, clock: FakeClock) -> None:
        await acted(pilot, "f2")
        await acted(pilot, "f6")
        await until_seen(pilot, "skip rust-removal", "next rinse-1")
        clock.go(2)
        run = await acted(pilot, "r")
        assert run.stays[0].visits == 2 and run.elapsed_s(bench.tick()) < 1
        await acted(pilot, "enter")
        run = await acted(pilot, "b")
        assert run.number == 0
        run = await acted(pilot, "o")
        assert run.phase == "waiting"
        await until_seen(pilot, "Parts are out of degreaser")
        await pilot.press("ctrl+p")
        await until(pilot, lambda: pilot.app.screen.is_modal)
        await type_text(pilot, "next tank")
        await until_seen(pilot, "Run: next tank")
        await acted(pilot, "enter")
        assert run_of(pilot.app).step is not None

    live(tmp_path, steps)


def test_abandon_before_anything_writes_nothing_and_later_what_was_done(tmp_path: Path) -> None:
    path, clock = tmp_path / "small.logbook.jsonl", FakeClock()
    bench = started(path, clock)

    async def give_up(pilot: Pilot[None]) -> None:
        await until(pilot, lambda: pilot.app.at_bench.seen.run is not None)  # type: ignore[attr-defined]
        await pilot.press("p")
        await at_live(pilot)
        await pilot.press("a")
        await until(pilot, lambda: isinstance(pilot.app.screen, AskLine))
        await pilot.press("enter")
        await until_seen(pilot, "say why in a word or two")
        await type_text(pilot, "wrong parts")
        await pilot.press("enter")
        await until(pilot, lambda: isinstance(pilot.app.screen, LineScreen))

    drive(app_at(path, tmp_path, clock), give_up)
    assert runs_in(path) == []
    bench.live()
    bench.start(bench.line_plan(parts="20x M8x30 hex bolt"))
    bench.enter_next()
    clock.go(3)
    drive(app_at(path, tmp_path, clock), give_up)
    made = runs_in(path)
    assert [s.tank for s in made[0].steps] == ["degreaser"] and "abandoned: wrong parts" in (made[0].note or "")


def test_finish_refuses_what_cannot_be_and_says_what_would_be_right(tmp_path: Path) -> None:
    async def steps(pilot: Pilot[None], bench: Bench, clock: FakeClock) -> None:
        await acted(pilot, "enter")
        clock.go(10)
        await pilot.press("f10")
        await until(pilot, lambda: isinstance(pilot.app.screen, FinishScreen))
        await until_seen(pilot, "Not done:", "rinse-1")
        fields = {r.field.key: r for r in pilot.app.screen.query(FieldRow)}
        fields["defect"].text, fields["rejects"].text, fields["mass_before_g"].text = "wobbly", "some", "812"
        await pilot.press("ctrl+s")
        await until_seen(pilot, "no defect `wobbly`", "`some` is no number of pieces")
        fields["defect"].text, fields["rejects"].text = "dull", "2"
        await pilot.press("ctrl+s")
        await until(pilot, lambda: isinstance(pilot.app.screen, LineScreen))
        made = bench.workshop
        made.refresh()
        run = next(e for e in made.entries() if isinstance(e, Run))
        assert (run.defect, run.rejects, run.mass_before_g) == ("dull", 2, 812.0)

    live(tmp_path, steps)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("6.5A", [{"current_a": 6.5}]),
        ("6,5 A 35 C", [{"current_a": 6.5, "temperature_c": 35.0}]),
        ("end 12.4Ah 3.2V", [{"counter_when": "end", "counter_ah": 12.4, "volts": 3.2}]),
        ("ramp 7A", [{"drifted": True, "current_a": 7.0}]),
        ("41min", [{"minutes": 41.0}]),
        ("contact re-clamped", [{"note": "contact re-clamped"}]),
    ],
)
def test_what_is_said_in_one_line(tmp_path: Path, text: str, told: list[dict[str, Any]]) -> None:
    run = started(tmp_path / "a.logbook.jsonl", FakeClock()).live()
    assert run is not None and saying.sayings(text, Preferences(decimal_comma="," in text), run) == told


@pytest.mark.parametrize("text", ["", "6.5", "6.5 bananas", "start", "end 6A", "ramp 3V", "6A 7A", "nonsense 6.5"])
def test_what_cannot_be_said_is_refused_with_what_would_be_right(tmp_path: Path, text: str) -> None:
    run = started(tmp_path / "a.logbook.jsonl", FakeClock()).live()
    assert run is not None
    with pytest.raises(ValueError, match=r"6\.5A|12\.4Ah|each one's name|unit"):
        saying.sayings(text, Preferences(), run)


def test_each_digit_and_letter_looks_like_no_other() -> None:
    signs = "abcdefghijklmnopqrstuvwxyz0123456789:-+."
    pictures = {c: tuple(big(c)) for c in signs}
    assert len(set(pictures.values())) == len(signs)
    assert len(biggest("44:12", 48, 5)) > 1 and len(biggest("rust-removal", 49, 3)) > 1
    assert biggest("バレル", 48, 5) == ["バレル"]  # a name without a picture stays a name


@pytest.mark.parametrize("look", ["textual-light", "no colour"])
def test_states_are_told_without_colour_and_a_paused_clock_changes_its_look(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, look: str
) -> None:
    if look == "no colour":
        monkeypatch.setenv("NO_COLOR", "1")

    async def steps(pilot: Pilot[None], bench: Bench, clock: FakeClock) -> None:
        assert pilot.app.no_color == (look == "no colour")
        if look != "no colour":
            pilot.app.theme = look
        await acted(pilot, "enter")
        await until_seen(pilot, "▶ RUNNING", "NOW  degreaser")
        face = pilot.app.screen.query_one("#clock", Words)
        before = str(face._said.spans)
        await acted(pilot, "space")
        await until_seen(pilot, "= PAUSED")
        assert str(face._said.spans) != before
        clock.go(60)
        await acted(pilot, "space")
        clock.go(11)
        await until_seen(pilot, "!! OVER TIME")

    live(tmp_path, steps)


# -- setting up --------------------------------------------------------------------------------------------------------


def with_runs(path: Path) -> FakeClock:
    """The small line with a good run of yesterday."""
    clock = FakeClock()
    shop = workshop(path)
    words = ["mixed brackets", "count=6", "area=3.2dm2", "pickle=2min", "electrolyte@35C=6.5A*45min", "result=good"]
    shop.log(compose("run", words, shop.vocabulary, clock.wall() - timedelta(days=1)).raw)
    return clock


async def at_setup(pilot: Pilot[None]) -> SetupScreen:
    await pilot.press("p")
    await until(pilot, lambda: isinstance(pilot.app.screen, SetupScreen) and pilot.app.screen._found is not None)
    screen = pilot.app.screen
    assert isinstance(screen, SetupScreen)
    return screen


@pytest.mark.parametrize("size", [SMALL, LARGE])
def test_the_last_run_is_what_is_set_until_told_otherwise(tmp_path: Path, size: tuple[int, int]) -> None:
    path = tmp_path / "small.logbook.jsonl"
    clock = with_runs(path)

    async def steps(pilot: Pilot[None]) -> None:
        screen = await at_setup(pilot)
        await until_seen(pilot, "Set 6.5 A for 45 min in electrolyte", "mixed brackets")
        await pilot.press("tab")
        await type_text(pilot, "6.4")
        await until_seen(pilot, "Set 13 A for 45 min")  # twice the area, the same density
        await pilot.press("tab")
        await type_text(pilot, "8")
        await until(pilot, lambda: screen._found is not None and screen._found.setting is not None
                    and screen._found.setting.wish.thickness_um == 8.0)  # fmt: skip
        found = screen._found
        assert found is not None and found.plan is not None and found.setting is not None
        step = next(s for s in found.plan.steps if s.tank == "electrolyte")
        assert step.minutes == pytest.approx(found.setting.minutes.value if found.setting.minutes else -1, rel=5e-3)
        await pilot.press("f10")
        await at_live(pilot)
        run = run_of(pilot.app)
        assert run.plan.area_dm2 == 6.4 and run.plan.like == runs_in(path)[0].id

    drive(app_at(path, tmp_path, clock), steps, size)


def test_parts_are_understood_or_refused_line_by_line_and_known_ones_offered(tmp_path: Path) -> None:
    path = tmp_path / "small.logbook.jsonl"
    clock = with_runs(path)

    async def steps(pilot: Pilot[None]) -> None:
        screen = await at_setup(pilot)
        await until_seen(pilot, "F4 offers: mixed brackets")
        await pilot.press("1", "2", "x", "space", "f4")
        assert screen._area.text == "12x mixed brackets"
        await until_seen(pilot, "6.4 dm²", "Set 13 A")
        await pilot.press("enter")
        await type_text(pilot, "3 wotsits")
        await until_seen(pilot, "!! `3 wotsits`: not understood")
        await pilot.press("ctrl+s")
        await pilot.pause(0.3)
        assert isinstance(pilot.app.screen, SetupScreen)
        await pilot.press("escape")
        screen = await at_setup(pilot)  # what was typed is kept
        await until(pilot, lambda: screen._area.text == "12x mixed brackets\n3 wotsits")

    drive(app_at(path, tmp_path, clock), steps)


def test_the_form_of_a_run_offers_the_known_parts_too(tmp_path: Path) -> None:
    path = tmp_path / "small.logbook.jsonl"
    clock = with_runs(path)
    shop = Workshop.open(path)
    shop.log(compose("run", ["hinges", "area=4dm2", "electrolyte=9A*45min"], shop.vocabulary, clock.wall()).raw)

    async def steps(pilot: Pilot[None]) -> None:
        await pilot.press("r")
        await until(pilot, lambda: isinstance(pilot.app.screen, EntryForm) and bool(pilot.app.screen.query(FieldRow)))
        await until_seen(pilot, "F4 offers:", "mixed brackets", "hinges")
        await pilot.press("f4")
        first = next(r for r in pilot.app.screen.query(FieldRow) if r.field.key == "description")
        assert first.text in ("mixed brackets", "hinges")

    drive(app_at(path, tmp_path, clock), steps)


# -- runs that were, and keystrokes ------------------------------------------------------------------------------------


def test_the_history_searches_compares_and_plates_again(tmp_path: Path) -> None:
    path = tmp_path / "small.logbook.jsonl"
    clock = with_runs(path)
    shop = Workshop.open(path)
    words = ["hinges", "area=4dm2", "electrolyte=9A*45min", "defect=dull"]
    shop.log(compose("run", words, shop.vocabulary, clock.wall() - timedelta(days=3)).raw)

    async def steps(pilot: Pilot[None]) -> None:
        await pilot.press("v")
        await until(pilot, lambda: isinstance(pilot.app.screen, HistoryScreen) and len(pilot.app.screen._runs) == 2)
        await until_seen(pilot, "✓  good", "!! dull", "mixed brackets", "hinges")
        await pilot.press("slash")
        await type_text(pilot, "hing")
        await until(pilot, lambda: len(pilot.app.screen._runs) == 1)  # type: ignore[attr-defined]
        await pilot.press("enter")
        assert isinstance(pilot.app.focused, OptionList)
        await pilot.press("c")
        await until_seen(pilot, "current density: good")
        await pilot.press("escape", "escape")
        await until(pilot, lambda: len(pilot.app.screen._runs) == 2)  # type: ignore[attr-defined]
        await pilot.press("down", "a")
        await until(pilot, lambda: isinstance(pilot.app.screen, SetupScreen))
        await until_seen(pilot, "Set 9 A for 45 min", "hinges")

    drive(app_at(path, tmp_path, clock), steps)


async def counted(pilot: Pilot[None], name: str, *keys: str) -> int:
    """Presses the keys and prints them."""
    for key in keys:
        await pilot.press(key)
        await until(pilot, lambda: True)
        if key in ("r", "m", "a"):
            await until(pilot, lambda: not isinstance(pilot.app.screen, EntryForm) or bool(pilot.app.screen.query(FieldRow)))
        if key == "v":
            await until(pilot, lambda: bool(pilot.app.screen._runs))  # type: ignore[attr-defined]
    print(f"{name}: {len(keys)} keystrokes: {' '.join(keys)}")
    return len(keys)


def test_common_entries_take_at_most_a_dozen_keystrokes(tmp_path: Path) -> None:
    path = tmp_path / "small.logbook.jsonl"
    clock = with_runs(path)
    shop = Workshop.open(path)
    at = clock.wall() - timedelta(hours=20)
    shop.log(compose("reading", ["electrolyte", "ph=5.6"], shop.vocabulary, at).raw)
    shop.log(compose("addition", ["electrolyte", "water=1L"], shop.vocabulary, at).raw)

    async def steps(pilot: Pilot[None]) -> None:
        next(v for v in pilot.app.screen.query(Vessel) if v.view.tank == "electrolyte").focus()
        total = len(Workshop.open(path).entries())
        told = (
            ("yesterday's run again with another area", ("v", "l", "4", "full_stop", "1", "enter")),
            ("a pH strip", ("m", "5", "full_stop", "4", "ctrl+s")),
            ("a water top-up", ("a", "2", "full_stop", "5", "ctrl+s")),
        )
        for number, (name, keys) in enumerate(told, start=1):
            assert await counted(pilot, name, *keys) <= 12
            await until(pilot, lambda n=number: len(Workshop.open(path).entries()) == total + n)  # type: ignore[misc]
            if isinstance(pilot.app.screen, HistoryScreen):
                await pilot.press("escape")
            await until(pilot, lambda: isinstance(pilot.app.screen, LineScreen))

    drive(app_at(path, tmp_path, clock), steps)
    entries = sorted(Workshop.open(path).entries(), key=lambda e: e.id)
    run, reading, addition = (to_plain(e) for e in entries[-3:])  # type: ignore[arg-type]
    assert run["parts"][0]["area_dm2"] == 4.1 and run["steps"][1]["charge"]["current_a"] == pytest.approx(6.5 * 4.1 / 3.2, 1e-4)
    assert list(reading["values"]) == [{"of": "ph", "value": 5.4, "unit": "pH"}]
    assert list(addition["items"]) == [{"reagent": "water", "amount": 2.5, "unit": "L"}]
