"""What every report stands on: a workshop, the moment and period asked about, and numbers in the keeper's own units."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property

from bathkeeper.entries import AnyEntry, Correction, Unknown
from bathkeeper.estimate.world import World
from bathkeeper.findings import Estimate
from bathkeeper.headlines import SHORT_ID, sentence
from bathkeeper.reports.model import Align, Cell, Column, Corrected, Fact, Kind, Report
from bathkeeper.showing import in_preferred, shown
from bathkeeper.units.numerals import Preferences
from bathkeeper.workshop import Workshop

FIXED = Preferences()
WHERE_LIMITS_COME_FROM = "Local rules and licensed practice come first, whatever is written here."


@dataclass(frozen=True)
class Ground:
    """``at``: the moment whose state is told; with ``since`` it is the end of a period that begins there, and without it the
    period begins with the book. ``exact``: fixed units and whole ids, for machines; else as the workshop's settings have it."""

    workshop: Workshop
    at: datetime
    made_at: datetime
    since: datetime | None = None
    exact: bool = False

    @cached_property
    def prefs(self) -> Preferences:
        """The keeper's habits, or none for machines."""
        return FIXED if self.exact else self.workshop.preferences

    @cached_property
    def entries(self) -> list[AnyEntry | Unknown]:
        """Entries in force up to the moment, oldest first."""
        return self.workshop.entries(at=self.at)[::-1]

    @cached_property
    def world(self) -> World:
        """The workshop at the moment."""
        return self.workshop.at(self.at)

    @cached_property
    def begin(self) -> datetime:
        """When the period begins: as asked, or with the first entry, or at the moment itself where there is none."""
        first = self.entries[0].at if self.entries else self.at
        return self.since if self.since is not None else first

    @property
    def period(self) -> tuple[datetime, datetime]:
        """The period of the report."""
        return (min(self.begin, self.at), self.at)

    def within(self, moment: datetime) -> bool:
        """Whether something belongs to the period; what stood at its beginning does not."""
        return (self.since is None or moment > self.since) and moment <= self.at

    # -- words ---------------------------------------------------------------------------------------------------------

    def id(self, entry: str) -> str:
        """An entry's id as it is shown: its last signs, or the whole of it for machines."""
        return entry if self.exact else entry[-SHORT_ID:]

    def text(self, value: float, unit: str, spread: float | None = None) -> str:
        """A value with its unit in a sentence."""
        return shown(value, unit, self.prefs, spread)

    # -- numbers -------------------------------------------------------------------------------------------------------

    def unit(self, fixed: str) -> str:
        """The unit in which values of a fixed unit stand in this report."""
        return self._converted(1.0, fixed)[1]

    def number(self, value: float | None, fixed: str) -> float | None:
        """A value of a fixed unit in the unit of this report."""
        return None if value is None else self._converted(value, fixed)[0]

    def estimate(self, estimate: Estimate | None, fixed: str | None = None) -> Estimate | None:
        """An estimate in the unit of this report."""
        if estimate is None:
            return None
        unit = fixed or estimate.unit
        value, low, high = (self._converted(v, unit)[0] for v in (estimate.value, estimate.low, estimate.high))
        return Estimate(value, min(low, high), max(low, high), self.unit(unit))

    def column(
        self, key: str, title: str, fixed: str = "", kind: Kind = "number", *, decimals: int | None = None,
        align: Align | None = None,
    ) -> Column:  # fmt: skip
        """A column of values of a fixed unit; ``decimals`` hold for that unit only."""
        unit = self.unit(fixed) if fixed else ""
        return Column(key, title, unit, kind, align, decimals if unit == _label(fixed) else None)

    def fact(self, label: str, value: float | Estimate | None, fixed: str) -> Fact:
        """A number with its unit beside a label."""
        cell: Cell = self.estimate(value, fixed) if isinstance(value, Estimate) else self.number(value, fixed)
        return Fact(label, cell, self.unit(fixed))

    def _converted(self, value: float, fixed: str) -> tuple[float, str]:
        if fixed == "fraction":
            return value * 100, "%"
        return in_preferred(value, fixed, self.prefs) or (value, fixed)


def _label(fixed: str) -> str:
    return "%" if fixed == "fraction" else fixed


def report(
    ground: Ground, title: str, sections: Sequence[object], *, subtitle: str = "", of_period: bool = True,
    notes: Sequence[str] = (), rule_set: str | None = None,
) -> Report:  # fmt: skip
    """The report of these pieces; what the book could not use is said at its end."""
    problems = [f"Not used: {p.what}. {p.right}".strip() for p in ground.workshop.problems[:10]]
    return Report(
        title=title,
        subtitle=subtitle,
        workshop=ground.workshop.name,
        period=ground.period if of_period else None,
        made_at=ground.made_at,
        as_of=ground.at,
        sections=tuple(sections),  # type: ignore[arg-type]
        notes=(*notes, *problems),
        rule_set=rule_set,
    )


def corrections(ground: Ground, about: Callable[[AnyEntry | Unknown], bool]) -> Iterator[Corrected]:
    """Entries of the period, or mended in it, that no longer say what was logged: as logged and as they stand, oldest first.

    ``about``: whether the entry, as logged or as it stands, belongs to this report.
    """
    every = ground.workshop.book.entries()
    known = {e.id: e for e in every}
    aimed_at = dict.fromkeys(e.corrects for e in every if isinstance(e, Correction) and e.at <= ground.at)
    logged = [known[i] for i in aimed_at if i in known and not isinstance(known[i], Correction)]
    for entry in sorted(logged, key=lambda e: (e.at, e.id)):
        told = ground.workshop.history(entry.id)
        mends = [c for c in told.corrections if c.at <= ground.at]
        if not mends or not (about(entry) or (told.in_force is not None and about(told.in_force))):
            continue
        if not (ground.within(entry.at) or any(ground.within(c.at) for c in mends)):
            continue
        last = mends[-1]
        yield Corrected(
            entry=ground.id(entry.id),
            at=entry.at,
            logged=sentence(entry, ground.prefs),
            stands=None if told.in_force is None else sentence(told.in_force, ground.prefs),
            corrected_at=last.at,
            by=last.by or "",
            reason="; then: ".join(c.reason for c in mends),
        )
