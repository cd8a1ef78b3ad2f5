"""The live run's file: every kind of damage noticed, no act lost that was acknowledged, one entry a run whoever finishes."""

from __future__ import annotations

import errno
import os
import random
import signal
import subprocess
import sys
import time
from collections import Counter
from datetime import UTC, datetime
from pathlib import Path

import pytest

from bathkeeper.bench import Bench
from bathkeeper.entries import Run
from bathkeeper.logbook import book as book_module
from bathkeeper.logbook import disk
from bathkeeper.logbook.clock import SystemClock
from bathkeeper.logbook.errors import BookError, ReadOnlyBook
from bathkeeper.logbook.live import LiveFile, last_path, live_path
from bathkeeper.workshop import Workshop

ROOT = Path(book_module.__file__).parents[2]


def act(word: str) -> dict[str, object]:
    return {"kind": "noted", "text": word}


def write(file: LiveFile, *words: str) -> None:
    with file.writing():
        file.append([act(w) for w in words])


def words(file: LiveFile) -> list[object]:
    return [a["text"] for a in file.acts]


# -- the file ----------------------------------------------------------------------------------------------------------


def test_acts_are_there_for_every_window_at_once(place):
    one, two = LiveFile(place), LiveFile(place)
    assert not one.acts and not live_path(place).exists()
    write(one, "a", "b")
    assert two.refresh() and words(two) == ["a", "b"]
    assert not two.refresh()
    write(two, "c")
    assert one.refresh() and words(one) == ["a", "b", "c"] and not one.problems
    assert oct(live_path(place).stat().st_mode)[-3:] == "600"


def test_put_away_it_is_gone_for_every_window_and_another_may_begin(place):
    one, two = LiveFile(place), LiveFile(place)
    write(one, "a")
    two.refresh()
    with one.writing():
        one.put_away()
    assert two.refresh() and not two.acts and not two.problems
    assert last_path(place).exists()
    for n in range(5):  # inodes come back; the acts of an old file do not
        write(one, f"run {n}", "second")
        if n % 2:
            assert two.refresh()
            assert words(two) == [f"run {n}", "second"] and not two.problems
        with one.writing():
            one.put_away()


def test_a_torn_tail_is_told_and_set_aside_by_the_next_act(place):
    write(LiveFile(place), "a", "b")
    whole = live_path(place).read_bytes()
    second = whole.index(b"\n") + 1
    for cut in range(second, len(whole) - 1):
        live_path(place).write_bytes(whole[:cut])
        file = LiveFile(place)
        assert words(file) == ["a"] and file.damage is None
        assert bool(file.torn) == (cut > second)
    write(file, "c")
    assert words(file) == ["a", "c"] and not file.problems
    aside = live_path(place).with_name(live_path(place).name + ".torn")
    assert aside.read_bytes() == whole[second : len(whole) - 2]
    assert words(LiveFile(place)) == ["a", "c"]


def test_a_whole_line_without_its_newline_counts(place):
    write(LiveFile(place), "a", "b")
    live_path(place).write_bytes(live_path(place).read_bytes()[:-1])
    file = LiveFile(place)
    assert words(file) == ["a", "b"] and not file.problems
    write(file, "c")
    assert words(LiveFile(place)) == ["a", "b", "c"] and not LiveFile(place).problems


def test_every_flipped_byte_of_a_middle_line_is_noticed(place):
    write(LiveFile(place), "a", "b", "c")
    whole = live_path(place).read_bytes()
    first, second = whole.index(b"\n"), whole.index(b"\n", whole.index(b"\n") + 1)
    for at in random.Random(1).sample(range(first + 1, second), 40):
        live_path(place).write_bytes(whole[:at] + bytes([whole[at] ^ 0x10]) + whole[at + 1 :])
        file = LiveFile(place)
        assert file.damage is not None and "line 2" in file.damage.what
        with pytest.raises(ReadOnlyBook, match="damaged"):
            write(file, "d")


def test_a_line_taken_out_is_noticed(place):
    write(LiveFile(place), "a", "b", "c")
    first, _, third = live_path(place).read_bytes().splitlines(keepends=True)
    live_path(place).write_bytes(first + third)
    assert "does not follow" in LiveFile(place).damage.what


def test_a_full_disk_leaves_the_file_as_it_was(place, monkeypatch):
    file = LiveFile(place)
    write(file, "a")
    before = live_path(place).read_bytes()

    def full(fd: int, payload: bytes) -> None:
        os.write(fd, payload[:7])
        raise OSError(errno.ENOSPC, "No space left on device")

    with monkeypatch.context() as patched:
        patched.setattr(disk, "write_all", full)
        with pytest.raises(BookError, match="No room left"):
            write(file, "b")
    assert live_path(place).read_bytes() == before
    write(file, "c")
    assert words(LiveFile(place)) == ["a", "c"]


@pytest.mark.skipif(os.name == "nt" or os.getuid() == 0, reason="permissions do not bind root")
def test_a_file_that_may_not_be_read_is_told(place):
    write(LiveFile(place), "a")
    live_path(place).chmod(0)
    with pytest.raises(BookError, match="No permission"):
        LiveFile(place)


def test_the_machines_clock_counts_on_and_names_its_session():
    clock = SystemClock()
    first = clock.mono()
    assert clock.mono() >= first and clock.session == SystemClock().session
    assert abs((clock.wall() - datetime.now(UTC)).total_seconds()) < 5 and clock.wall().utcoffset() is not None


# -- a damaged run -----------------------------------------------------------------------------------------------------


def line_of(place: Path) -> Bench:
    return Bench(Workshop.new(place, "Shed", "zinc-nickel-line"))


def test_a_damaged_run_shows_what_can_be_read_and_can_be_finished(place):
    bench = line_of(place)
    bench.start(bench.line_plan("rust removal", area_dm2=2.0, current_a=6.0))
    bench.enter_next()
    bench.say(note="first")
    bench.say(note="second")
    whole = live_path(place).read_bytes()
    live_path(place).write_bytes(whole.replace(b'"text":"first"', b'"text":"frist"'))
    again = Bench(Workshop.open(place))
    run = again.live()
    assert run.step.tank == "rust-removal" and run.notes == ("second",)
    assert any("changed after it was written" in p.what for p in again.problems)
    with pytest.raises(ReadOnlyBook, match="Finish or abandon"):
        again.enter_next()
    assert again.finish().entry.id == run.id
    assert again.live() is None and last_path(place).exists()


def test_an_act_of_a_newer_program_is_passed_over_and_told(place):
    bench = line_of(place)
    bench.start(bench.line_plan("rust removal", area_dm2=2.0))
    with LiveFile(place).writing():
        pass
    file = LiveFile(place)
    with file.writing():
        file.append([{"kind": "stirred", "step": 0}])
    assert bench.live().step is None
    assert any("unknown act 'stirred'" in p.what for p in bench.problems)


def test_a_file_whose_start_is_lost_is_told_and_can_be_put_away(place):
    bench = line_of(place)
    bench.start(bench.line_plan("rust removal", area_dm2=2.0))
    bench.enter_next()
    lines = live_path(place).read_bytes().splitlines(keepends=True)
    live_path(place).write_bytes(b'{"kind":"start\n' + lines[1])
    again = Bench(Workshop.open(place))
    assert again.live() is None and again.problems
    with pytest.raises(BookError, match="put aside"):
        again.start(again.line_plan("rust removal", area_dm2=2.0))
    aside = again.put_aside()
    assert aside.exists() and not live_path(place).exists()
    again.start(again.line_plan("rust removal", area_dm2=2.0))


# -- several programs --------------------------------------------------------------------------------------------------


def walker(place: Path, rounds: int, *more: str) -> subprocess.Popen[bytes]:
    command = [sys.executable, "-m", "tests.logbook.live_walker", str(place), str(rounds), *more]
    return subprocess.Popen(command, stdout=subprocess.PIPE, cwd=ROOT)


def runs_of(place: Path) -> list[str]:
    return [e.id for e in Workshop.open(place).entries() if isinstance(e, Run)]


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="speaks of SIGKILL")
def test_killed_at_any_moment_it_goes_on_from_there(place):
    """Ten programs one after another, each killed in the middle of its work; no acknowledged act is lost, no run is entered
    twice, and the last one is walked to its end."""
    line_of(place)
    rng = random.Random(20260501)
    finished: list[str] = []
    for _ in range(10):
        program = walker(place, 100_000)
        assert program.stdout is not None and program.stdout.readline() == b"ready\n"
        time.sleep(rng.uniform(0.0, 0.12))
        os.kill(program.pid, signal.SIGKILL)
        told = program.communicate()[0].decode()
        acknowledged = [line.split() for line in told[: told.rfind("\n") + 1].splitlines()]
        finished += [a[1] for a in acknowledged if a[0] == "finished"]
        moves = {a[1]: int(a[2]) for a in acknowledged if a[0] == "moved"}
        bench = Bench(Workshop.open(place))
        run = bench.live()
        assert not [p for p in bench.problems if "never finished" not in p.what]
        entered = Counter(runs_of(place))
        assert set(entered.values()) <= {1} and not set(finished) - set(entered)
        for id, count in moves.items():  # every run that was moved is either in the book or stands where it was
            assert id in entered or (run is not None and run.id == id and run.moves >= count)
        assert run is None or run.id not in entered
    last = walker(place, 1)
    assert b"finished" in last.communicate()[0] and last.returncode == 0
    assert len(finished) >= 5 and Bench(Workshop.open(place)).live() is None
    assert not Workshop.open(place).book.problems


def test_two_programs_race_to_finish_and_each_run_has_one_entry(place):
    bench = line_of(place)
    rounds = 8
    programs = [walker(place, rounds, "race") for _ in range(2)]
    for program in programs:
        assert program.stdout is not None and program.stdout.readline() == b"ready\n"
    started = []
    for _ in range(rounds):
        run = bench.start(bench.line_plan("rust removal", area_dm2=2.0, current_a=6.0))
        started.append(run.id)
        bench.enter_next()
        deadline = time.monotonic() + 30
        while bench.live() is not None and time.monotonic() < deadline:
            time.sleep(0.002)
        time.sleep(0.01)  # both have had their say
    told = [line.split() for p in programs for line in p.communicate(timeout=60)[0].decode().splitlines() if line != "ready"]
    assert sorted(runs_of(place)) == sorted(started)
    assert sorted(id for word, id in told if word == "finished") == sorted(started)
    assert all(p.returncode == 0 for p in programs)
