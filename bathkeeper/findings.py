"""What an answer is made of: an estimate with its interval, a finding with its reasons, a problem with an entry."""

from __future__ import annotations

from datetime import datetime
from typing import Literal

import msgspec

Level = Literal["now", "soon", "later"]


class Estimate(msgspec.Struct, frozen=True, omit_defaults=False):
    """A value with its 95 % interval, in a stated unit."""

    value: float
    low: float
    high: float
    unit: str = ""

    @property
    def spread(self) -> float:
        """Half the width of the interval."""
        return (self.high - self.low) / 2


class Because(msgspec.Struct, frozen=True, kw_only=True):
    """Why a finding or a number holds: the entries it rests on, the formula in words, the sources of its constants."""

    text: str
    entries: tuple[str, ...] = ()
    formula: str = ""
    sources: tuple[str, ...] = ()


class Finding(msgspec.Struct, frozen=True, kw_only=True):
    """Something a keeper should know or do. ``id`` is ``tank.rule.subject`` and stays the same while its cause stays."""

    id: str
    tank: str
    what: str
    why: str
    level: Level
    by: datetime | None = None
    because: Because


class Problem(msgspec.Struct, frozen=True, kw_only=True):
    """An entry (or a line of the book) that could not be used, and what would make it right."""

    what: str
    right: str = ""
    entry: str | None = None
    line: int | None = None
