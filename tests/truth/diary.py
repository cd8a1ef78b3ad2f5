"""What a simulated keeper writes down, and the true states beside it."""

from __future__ import annotations

import bisect
import hashlib
import uuid
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

Plain = dict[str, Any]
Analysis = tuple[str, datetime, float, float, float, float]


def made_up_id(seed: int, number: int, at: datetime) -> str:
    """A UUID version 7 (RFC 9562) whose random bits come from the seed, so that the same seed gives the same book."""
    digest = int.from_bytes(hashlib.sha256(f"{seed}/{number}".encode()).digest()[:10], "big")
    stamp = int(at.timestamp() * 1000) & 0xFFFF_FFFF_FFFF
    value = stamp << 80 | 0x7 << 76 | (digest >> 68 & 0xFFF) << 64 | 0b10 << 62 | digest & (2**62 - 1)
    return str(uuid.UUID(int=value))


@dataclass
class Diary:
    """Collects entries in strictly rising time, with the true state before and after each."""

    seed: int
    snapshot: Callable[[], Plain]
    entries: list[Plain] = field(default_factory=list)
    series: list[tuple[datetime, Plain]] = field(default_factory=list)

    def write(self, at: datetime, kind: str, **fields: Any) -> str:
        """Writes one entry (fields that are None are left out) and returns its id.

        Raises:
            ValueError: the entry is not later than the one before.
        """
        if self.entries and at <= datetime.fromisoformat(self.entries[-1]["at"]):
            raise ValueError(f"{kind} at {at} is not later than the entry before it ({self.entries[-1]['at']})")
        entry_id = made_up_id(self.seed, len(self.entries), at)
        given = {name: value for name, value in fields.items() if value is not None}
        self.entries.append({"id": entry_id, "at": at.isoformat(), "kind": kind, **given})
        return entry_id

    def mark(self, at: datetime) -> None:
        """Keeps the true state as it is now."""
        self.series.append((at, self.snapshot()))


@dataclass(frozen=True)
class Simulated:
    """A book and the truth behind it.

    ``truth`` has ``parameters`` (hidden numbers), ``biases`` (instruments and habits), ``ledger`` ({species: {account: g}}) and
    ``series`` (moment, state) before and after every event. ``analyses`` rows: id of the reading, moment, true zinc and nickel,
    zinc and nickel as read, all in g/L.
    """

    entries: list[Plain]
    truth: Plain
    analyses: list[Analysis]

    def true_at(self, moment: datetime) -> Plain:
        """The last known true state before ``moment`` (the state just before an entry, if one stands at that very moment).

        Raises:
            ValueError: the moment lies before the first state.
        """
        series = self.truth["series"]
        times = [at for at, _ in series]
        place = bisect.bisect_left(times, moment)
        if place < len(times) and times[place] == moment:
            return dict(series[place][1])
        if place == 0:
            raise ValueError(f"nothing is known before {times[0]}")
        return dict(series[place - 1][1])
