"""A bench with a clock of its own, on a small line in a temporary book."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

from bathkeeper.bench import Bench
from bathkeeper.workshop import Workshop

START = datetime(2026, 5, 1, 8, 0, tzinfo=UTC)


class FakeClock:
    """Both clocks stand until moved. ``wall_only`` is somebody setting the clock; ``restart`` a new start of the machine."""

    def __init__(self, at: datetime = START) -> None:
        self.at, self.seconds, self.session = at, 1000.0, "boot-1"

    def wall(self) -> datetime:
        return self.at

    def mono(self) -> float:
        return self.seconds

    def go(self, minutes: float) -> None:
        self.at += timedelta(minutes=minutes)
        self.seconds += 60 * minutes

    def wall_only(self, minutes: float) -> None:
        self.at += timedelta(minutes=minutes)

    def restart(self, session: str) -> None:
        self.session, self.seconds = session, 7.0


def workshop(path: Path, *, rule: str | None = None) -> Workshop:
    """The zinc-nickel line of the template; electrolyte with two zinc anodes and a nickel one, and two supplies in use."""
    shop = Workshop.new(path, "Shed", "zinc-nickel-line", START - timedelta(days=30))
    at = START - timedelta(days=29)
    anodes = (("zinc-1", "zinc"), ("zinc-2", "zinc"), ("nickel-1", "nickel"))
    made_up = [
        {"kind": "make_up", "at": at, "tank": t.name, "volume_l": t.entry.working_volume_l}
        for t in shop.world.line()
        if t.entry.working_volume_l
    ]
    hung = [
        {"kind": "anode", "at": at, "tank": "electrolyte", "anode": name, "metal": metal, "action": "hung", "mass_g": 1500.0}
        for name, metal in anodes
    ]
    shop.log_all([*made_up, *hung])
    if rule is not None:
        shop.change_settings({"embrittlement_rule": rule}, at=START - timedelta(days=28))
    return shop


def bench(path: Path, clock: FakeClock | None = None, *, rule: str | None = None) -> tuple[Bench, FakeClock]:
    chosen = clock or FakeClock()
    return Bench(workshop(path, rule=rule), chosen), chosen
