"""A clock on the wall to seconds since 1970: the offset of its zone, hours that came twice, hours that never were."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta, timezone, tzinfo
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from bathkeeper.refusals import shorten
from bathkeeper.traces.asking import TraceError

Floats = NDArray[np.float64]
QUARTER_S = 900.0


@dataclass
class WallClock:
    """Turns times of a wall clock, in order, to UTC. ``zone`` None: the zone of this machine.

    ``never_were``: samples at times that a clock set forward jumps over; such a logger does not follow the zone.
    """

    zone: tzinfo | None
    never_were: int = 0
    changed: bool = False
    _second: bool = False
    _last: float | None = None

    def utc(self, wall: Floats) -> Floats:
        """Seconds since 1970 of wall times (counted as if in UTC)."""
        if wall.size == 0:
            return wall
        low, high = float(wall.min()), float(wall.max())
        quarters = np.floor(wall / QUARTER_S)
        if high - low < 30 * 86_400:
            ends = {self._offset(x, fold) for x in (low, high) for fold in (0, 1)}
            if len(ends) == 1:
                self._last = float(wall[-1])
                return wall - ends.pop()
        self.changed = True
        kinds, which = np.unique(quarters, return_inverse=True)
        first = np.array([self._offset(q * QUARTER_S, 0) for q in kinds])[which]
        second = np.array([self._offset(q * QUARTER_S, 1) for q in kinds])[which]
        self.never_were += int((first < second).sum())
        twice = first > second
        if not twice.any():
            self._last, self._second = float(wall[-1]), False
            return np.asarray(wall - first, dtype=np.float64)
        before = np.concatenate(([self._last if self._last is not None else wall[0]], wall[:-1]))
        set_back = twice & (wall - before < -1800)
        # within the hour that comes twice it is the second time once the clock has jumped back
        again = (np.cumsum(set_back) + int(self._second)) > 0
        self._second = bool(again[-1]) and bool(twice[-1])
        self._last = float(wall[-1])
        found: Floats = wall - np.where(twice & again, second, first)
        return found

    def _offset(self, wall: float, fold: int) -> float:
        return offset_at(wall, self.zone, fold)


def offset_at(wall: float, zone: tzinfo | None, fold: int = 0) -> float:
    """Seconds that the zone is ahead of UTC at a wall time."""
    try:
        naive = (datetime(1970, 1, 1) + timedelta(seconds=wall)).replace(fold=fold)
        told = naive.replace(tzinfo=zone) if zone is not None else naive.astimezone()
    except (OverflowError, ValueError, OSError):
        return 0.0
    offset = told.utcoffset()
    return offset.total_seconds() if offset is not None else 0.0


def moment_of(utc_s: float, zone: tzinfo | None) -> datetime:
    """The moment, as its zone writes it."""
    moment = datetime(1970, 1, 1, tzinfo=UTC) + timedelta(seconds=round(utc_s, 3))
    return moment.astimezone(zone)


def zone_named(text: str) -> tzinfo:
    """The zone of ``+02:00``, ``UTC``, ``GMT-5`` or ``Europe/Vienna``. Raises TraceError."""
    plain = text.strip()
    if plain.upper() in ("Z", "UTC", "GMT"):
        return UTC
    match = re.fullmatch(r"(?:UTC|GMT)?([+-])(\d{1,2})(?::?(\d{2}))?", plain, re.I)
    if match is not None and int(match[2]) <= 14 and int(match[3] or 0) < 60:
        minutes = int(match[2]) * 60 + int(match[3] or 0)
        return timezone(timedelta(minutes=-minutes if match[1] == "-" else minutes))
    if re.fullmatch(r"[A-Za-z_]+(?:/[A-Za-z0-9_+-]+)+", plain):
        try:
            return ZoneInfo(plain)
        except (OSError, ValueError, LookupError):
            pass
    raise TraceError(
        f"`{shorten(text)}` is no offset from UTC and no zone known here; write for example +02:00 or Europe/Vienna"
    )
