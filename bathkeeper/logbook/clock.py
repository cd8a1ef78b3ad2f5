"""The two clocks of a machine: the one on the wall, which people set, and a counter that only runs forward."""

from __future__ import annotations

import sys
import time
import uuid
from datetime import UTC, datetime
from pathlib import Path
from typing import Protocol

_BOOT_ID = Path("/proc/sys/kernel/random/boot_id")
_OF_THIS_PROGRAM = str(uuid.uuid4())


class Clock(Protocol):
    """What the bench asks of a clock; tests bring their own."""

    def wall(self) -> datetime:
        """The moment, with its offset."""

    def mono(self) -> float:
        """Seconds on a counter that no setting of the clock moves; it counts on while the machine sleeps, where it can."""

    @property
    def session(self) -> str:
        """Names the run of that counter: one start of the machine, else of this program."""


class SystemClock:
    """The machine's own clocks."""

    def __init__(self) -> None:
        self._session = _session()

    def wall(self) -> datetime:
        return datetime.now(UTC).astimezone()

    def mono(self) -> float:
        if hasattr(time, "CLOCK_BOOTTIME"):  # Linux: counts while the machine sleeps, which time.monotonic does not
            return time.clock_gettime(time.CLOCK_BOOTTIME)
        if sys.platform == "darwin":
            return time.clock_gettime(time.CLOCK_MONOTONIC)
        return time.monotonic()

    @property
    def session(self) -> str:
        return self._session


def _session() -> str:
    # With a name for the machine's start, one command line after another counts on the same counter; without, each is a
    # session of its own and the wall clock counts between them.
    try:
        return f"boot-{_BOOT_ID.read_text().strip()}" if hasattr(time, "CLOCK_BOOTTIME") else _OF_THIS_PROGRAM
    except OSError:
        return _OF_THIS_PROGRAM
