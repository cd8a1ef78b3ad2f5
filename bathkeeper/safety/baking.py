"""What was done in the oven against what the rule asked: the order of the steps, and the hours at temperature."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import UTC, datetime

import msgspec

from bathkeeper.catalogue.schema import Status
from bathkeeper.catalogue.typed import near
from bathkeeper.entries import ROLES
from bathkeeper.findings import Because, Finding, Level
from bathkeeper.safety.embrittlement import Bake
from bathkeeper.safety.loader import load
from bathkeeper.safety.schema import SafetyError

Soak = tuple[float, datetime, datetime]
"""Part temperature in degC, from when, until when."""

STEPS = (*ROLES, "bake")
HYDROGEN_STEPS = ("pickle", "rust removal")


class Fault(msgspec.Struct, frozen=True, kw_only=True):
    """Something wrong with a bake's order, heat or time. ``subject`` names it in a finding's id."""

    subject: str
    what: str
    why: str
    level: Level
    status: Status
    source: str = ""

    def finding(self, tank: str, entries: tuple[str, ...] = ()) -> Finding:
        """The same as a finding on a tank: id ``tank.caution.subject``."""
        return Finding(
            id=f"{tank}.caution.{self.subject}",
            tank=tank,
            what=self.what,
            why=self.why,
            level=self.level,
            because=Because(text=self.why, entries=entries, sources=(f"{self.status}: {self.source or 'common practice'}",)),
        )


class Record(msgspec.Struct, frozen=True, kw_only=True):
    """Hours at temperature on record: the longest unbroken stretch within the rule's range, and all such time together."""

    hours_unbroken: float
    hours_together: float
    hours_wanted: float | None
    enough: bool
    faults: tuple[Fault, ...]


def order_faults(steps: Sequence[str], *, bake_needed: bool = False) -> list[Fault]:
    """What is wrong with the order of a load's steps, given as roles of tanks and ``bake``, first to last.

    The bake comes after plating and before the passivate; heat makes chromium(VI) of a trivalent film. ``bake_needed``: a
    plating step without a later bake is a fault too.

    Raises:
        SafetyError: a step that is neither a role nor ``bake``.
    """
    for step in steps:
        if step not in STEPS:
            raise SafetyError(f"`{step}` is no step{near(step, list(STEPS))} Steps are {', '.join(STEPS)}")
    film = load().hazards["chromium-vi-film"]
    bakes = [n for n, s in enumerate(steps) if s == "bake"]
    plates = [n for n, s in enumerate(steps) if s == "plate"]
    films = [n for n, s in enumerate(steps) if s == "passivate"]
    faults = []
    if any(b > f for b in bakes for f in films if not any(f < p < b for p in plates)):
        faults.append(
            Fault(
                subject="bake-after-passivate",
                what="bake before the passivate, never after: these parts were passivated first",
                why=film.why,
                level="now",
                status=film.status,
                source=film.source,
            )
        )
    if bakes and plates and any(s in HYDROGEN_STEPS for s in steps[bakes[-1] + 1 :]):
        faults.append(
            Fault(
                subject="pickle-after-bake",
                what="a pickle or rust removal after the bake puts hydrogen back into the steel",
                why="after the bake only a short dip wakes the surface for the passivate",
                level="soon",
                status="practice",
            )
        )
    if bake_needed and plates and not any(b > plates[-1] for b in bakes):
        faults.append(
            Fault(
                subject="no-bake",
                what="the rule asks for a bake after plating, and none is on record",
                why="hydrogen left in hard steel can break it days later, without warning",
                level="now",
                status="seen",
                source="ASTM work item WK81648 (scope): relief bake after plating, before any conversion coating",
            )
        )
    return faults


def bake_record(soaks: Iterable[Soak], bake: Bake, *, end_of_plating: datetime | None = None) -> Record:
    """Hours at temperature on record against what a rule asks.

    Only time within the rule's temperatures counts, overlaps once; the longest unbroken stretch is held against the hours,
    because the rule's hours are of one soak. Without temperatures in the rule all time in the oven counts.

    Args:
        soaks: (part temperature in degC, start, end); moments with a time zone.
        end_of_plating: to judge whether the bake started in time.

    Raises:
        SafetyError: a soak that ends before it starts, or a moment without time zone.
    """
    told = [_checked(s) for s in soaks]
    low, high = bake.temperature_c or (float("-inf"), float("inf"))
    joined = _joined([(start, end) for t, start, end in told if low <= t <= high])
    spans = [_hours(start, end) for start, end in joined]
    unbroken, together = max(spans, default=0.0), sum(spans)
    enough = bake.hours is not None and unbroken >= bake.hours - 1 / 3600  # a second of rounding is no fault
    faults = list(_heat_faults(told, bake))
    if bake.needed == "yes" and bake.hours is not None and not enough:
        faults.append(
            _fault(
                bake,
                "bake-short",
                f"{unbroken:.3g} h unbroken at temperature on record; {bake.edition} asks at least {bake.hours:g} h",
                f"{together:.3g} h in pieces do not make one soak"
                if together > unbroken
                else "a short bake leaves hydrogen in",
            )
        )
    late = _late(joined, bake, end_of_plating)
    if late is not None:
        faults.append(
            msgspec.structs.replace(
                _fault(
                    bake,
                    "bake-late",
                    f"the bake started {late:.3g} h after plating; within {bake.start_within_h:g} h was the latest",
                    "cracks can start while the part waits, and no bake mends them",
                ),
                status=bake.start_status or "memory",
                source=bake.start_source,
            )
        )
    return Record(
        hours_unbroken=unbroken, hours_together=together, hours_wanted=bake.hours, enough=enough, faults=tuple(faults)
    )


def _heat_faults(told: list[Soak], bake: Bake) -> Iterable[Fault]:
    if bake.temperature_c is None:
        return
    low, high = bake.temperature_c
    hot = [t for t, _, _ in told if t > high]
    cold = [t for t, _, _ in told if t < low]
    if hot:
        yield _fault(
            bake,
            "bake-hot",
            f"{max(hot):g} degC is above the {low:g}-{high:g} degC of {bake.edition}",
            "that time does not count",
        )
    if cold:
        yield _fault(
            bake,
            "bake-cold",
            f"{min(cold):g} degC is below the {low:g}-{high:g} degC of {bake.edition}",
            "that time does not count",
        )


def _fault(bake: Bake, subject: str, what: str, why: str) -> Fault:
    return Fault(subject=subject, what=what, why=why, level="now", status=bake.status, source=bake.source)


def _late(joined: list[tuple[datetime, datetime]], bake: Bake, end_of_plating: datetime | None) -> float | None:
    """Hours from plating to the first soak, when that is more than the rule allows."""
    if not joined or end_of_plating is None or bake.start_within_h is None:
        return None
    _with_zone(end_of_plating)
    waited = _hours(end_of_plating, joined[0][0])
    return waited if waited > bake.start_within_h else None


def _checked(soak: Soak) -> Soak:
    temperature_c, start, end = soak
    _with_zone(start)
    _with_zone(end)
    if end.astimezone(UTC) < start.astimezone(UTC):
        raise SafetyError(f"a soak cannot end ({end.isoformat()}) before it starts ({start.isoformat()})")
    return (temperature_c, start, end)


def _with_zone(moment: datetime) -> None:
    if moment.utcoffset() is None:
        raise SafetyError(f"{moment.isoformat()} needs its time zone, for example 2024-05-01T14:30+02:00")


def _joined(spans: list[tuple[datetime, datetime]]) -> list[tuple[datetime, datetime]]:
    made: list[tuple[datetime, datetime]] = []
    for start, end in sorted((s.astimezone(UTC), e.astimezone(UTC)) for s, e in spans):
        if made and start <= made[-1][1]:
            made[-1] = (made[-1][0], max(end, made[-1][1]))
        else:
            made.append((start, end))
    return made


def _hours(start: datetime, end: datetime) -> float:
    return (end.astimezone(UTC) - start.astimezone(UTC)).total_seconds() / 3600
