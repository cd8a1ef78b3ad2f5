"""Several programs on one book, and programs that are killed while they write."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from bathkeeper.logbook import book as book_module
from bathkeeper.logbook.book import Book

from .helpers import book_of, remark

ROOT = Path(book_module.__file__).parents[2]


def start(place: Path, who: str, count: int) -> subprocess.Popen[bytes]:
    command = [sys.executable, "-m", "tests.logbook.writer", str(place), who, str(count)]
    return subprocess.Popen(command, stdout=subprocess.PIPE, cwd=ROOT)


def test_four_writers_at_once(place: Path) -> None:
    watcher = book_of(place)
    writers = [start(place, f"writer{n}", 150) for n in range(4)]
    seen = 0
    while any(writer.poll() is None for writer in writers):
        watcher.refresh()
        assert not watcher.problems  # nothing half-written, nothing that looks shortened
        assert len(watcher.entries()) >= seen
        seen = len(watcher.entries())
        assert not Book.open(place).problems
        time.sleep(0.002)
    acknowledged = [id for writer in writers for id in writer.communicate()[0].decode().split()]
    assert all(writer.returncode == 0 for writer in writers)
    book = Book.open(place)
    assert sorted(entry.id for entry in book.entries()) == sorted(acknowledged)
    assert len(set(acknowledged)) == 4 * 150 == place.read_bytes().count(b"\n")
    assert not book.problems


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="speaks of SIGKILL")
def test_nothing_acknowledged_is_lost_by_kill_9(place: Path) -> None:
    """27 writers, three at a time on one book, each killed at a moment of its own in the middle of its work."""
    rng = random.Random(20260501)
    book_of(place, remark("first"))
    acknowledged: list[str] = []
    killed = 0
    for wave in range(9):
        writers = [start(place, f"run{wave}-{n}", 100_000) for n in range(3)]
        firsts = [writer.stdout.readline() for writer in writers if writer.stdout]  # all are at work
        for writer in writers:
            time.sleep(rng.uniform(0.0, 0.02))
            os.kill(writer.pid, signal.SIGKILL)
        for first, writer in zip(firsts, writers, strict=True):
            rest, _ = writer.communicate()
            assert writer.returncode == -signal.SIGKILL
            killed += 1
            whole = (first + rest).decode()
            acknowledged += whole[: whole.rfind("\n") + 1].split()
        book = Book.open(place)
        assert not book.damage
        held = {entry.id for entry in book.entries()}
        assert not set(acknowledged) - held
    assert killed >= 25 and len(acknowledged) >= killed
    book.append(remark("still writable", 1))
    assert not Book.open(place).problems
