"""How much of an authority's allowance was used up in its days, and from when on there is room again; never a leave."""

from __future__ import annotations

import math
from collections.abc import Iterable
from datetime import datetime, timedelta

import msgspec

from bathkeeper.catalogue.own_waste import WasteLimit
from bathkeeper.estimate.containers import VOLUME, Handed
from bathkeeper.units.numerals import figures
from bathkeeper.waste.limits import DAYS_A_MONTH
from bathkeeper.waste.streams import stream_handed

LONGEST_DAYS = 36_525.0  # a hundred years: longer than any book, and no calendar ends before it
ROUNDING = 1e-6
"""Share of an allowance by which sums of litres may miss it and still meet it."""


class Taken(msgspec.Struct, frozen=True, kw_only=True):
    """What one hand-over took of an allowance. ``kg`` None where nobody weighed or could reckon it."""

    at: datetime
    to: str
    container: str
    litres: float
    kg: float | None
    entry: str = ""


class AllowanceUse(msgspec.Struct, frozen=True, kw_only=True):
    """An allowance as it stands: ``used`` of ``amount`` (``unit`` L or kg) in the ``per_days`` before the moment asked about.
    ``next_from``: when there is room again, None where there is some now. ``full``: nothing is left. ``ends``: when each
    part of it counts no longer, and how much that is."""

    name: str
    authority: str
    amount: float
    unit: str
    per_days: float
    used: float
    left: float
    next_from: datetime | None
    full: bool
    text: str
    entries: tuple[str, ...] = ()
    containers: tuple[str, ...] = ()
    ends: tuple[tuple[datetime, float], ...] = ()

    def room_from(self, more: float) -> datetime | None:
        """From when on so much more goes in, when no more is handed over until then; None where it never does at once."""
        rest = self.used
        for until, amount in self.ends:
            rest -= amount
            if rest + more <= self.amount * (1 + ROUNDING):
                return until
        return None

    @property
    def monthly(self) -> float:
        """What they take in a month of 30 days, in ``unit``."""
        return self.amount * DAYS_A_MONTH / self.per_days


def taken(handed: Iterable[Handed]) -> list[Taken]:
    """What hand-overs took, oldest first; nothing of what was refused."""
    made = []
    for h in sorted((h for h in handed if h.refused is None), key=lambda h: (h.at, h.entry)):
        mass = stream_handed(h).mass_kg
        litres, kg = h.amounts.get(VOLUME, (0.0, 0.0))[0], mass.value if mass is not None else None
        made.append(Taken(at=h.at, to=h.to, container=h.container, litres=litres, kg=kg, entry=h.entry))
    return made


def use_of(name: str, limit: WasteLimit, every: Iterable[Taken], now: datetime) -> AllowanceUse:
    """How far an allowance (``what`` allowance) is used up at a moment that bears an offset.

    Hand-overs count by their moment, for ``per_days`` days each, where they went to that authority (to anyone where the limit
    names none) and out of a container that it is about.
    """
    unit, amount = ("L", limit.volume_l) if limit.volume_l is not None else ("kg", limit.mass_kg)
    most, window = amount or 0.0, timedelta(days=min(limit.per_days, LONGEST_DAYS))
    counted = [(t, (t.litres if unit == "L" else t.kg) or 0.0) for t in every if concerns(limit, t.to, t.container)]
    lately = [(t, a) for t, a in counted if t.at <= now < t.at + window and a > 0]
    used = sum(a for _, a in lately)
    left = max(most - used, 0.0)
    full = left <= ROUNDING * most
    next_from, rest = None, used
    for t, a in lately if full else ():
        rest -= a
        next_from = t.at + window
        if rest < most * (1 - ROUNDING):
            break
    return AllowanceUse(
        name=name, authority=limit.authority, amount=most, unit=unit, per_days=limit.per_days, used=used, left=left,
        next_from=next_from, full=full, text=_told(used, most, unit, limit.per_days, next_from),
        entries=tuple(t.entry for t, _ in lately if t.entry), containers=limit.containers,
        ends=tuple((t.at + window, a) for t, a in lately),
    )  # fmt: skip


def concerns(limit: WasteLimit, to: str, container: str) -> bool:
    """Whether a hand-over to someone, out of a container, counts for an allowance: the names are compared as words, and one
    may be a longer writing of the other."""
    if limit.containers and container not in limit.containers:
        return False
    whose, whom = _words(limit.authority), _words(to)
    return not whose or f" {whose} " in f" {whom} " or (bool(whom) and f" {whom} " in f" {whose} ")


def months_for(use: AllowanceUse, amount: float) -> int:
    """Whole months of 30 days until so much more is taken, what is used of the present days counted; 0 of nothing."""
    if amount <= 0:
        return 0
    return math.ceil((amount + min(use.used, use.amount)) / use.monthly - ROUNDING)


def _told(used: float, most: float, unit: str, days: float, next_from: datetime | None) -> str:
    told = f"{figures(used, 0.005 * most)} of {figures(most)} {unit} used in the last {figures(days)} days"
    return f"{told}; next from {next_from.astimezone():%Y-%m-%d}" if next_from is not None else told


def _words(text: str) -> str:
    return " ".join("".join(c if c.isalnum() else " " for c in text.casefold()).split())
