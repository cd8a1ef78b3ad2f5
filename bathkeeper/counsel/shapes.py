"""What counsel answers with: a plan on offer, a plan accepted, a step ticked off, the rest of a plan looked at again."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Literal

from bathkeeper.advice.open_plans import OpenPlan
from bathkeeper.advice.steps import Advice, Advised
from bathkeeper.entries import AnyEntry
from bathkeeper.estimate.view import Content
from bathkeeper.findings import Finding

if TYPE_CHECKING:
    from bathkeeper.advice.dosing import DosingPlan

PlanKind = Literal["dose", "make up", "refresh", "peroxide", "carbon", "zinc dust", "dummy", "jar", "lay up", "wake up"]
"""``jar`` is offered by its own question, because it rests on a test."""
KINDS: tuple[PlanKind, ...] = ("dose", "make up", "refresh", "peroxide", "carbon", "zinc dust", "dummy", "lay up", "wake up")


class CounselError(ValueError):
    """Something asked of the counsel that cannot be; the message says what was wrong and what would be right."""


@dataclass(frozen=True)
class Offer:
    """A plan that may be accepted. ``dosing`` has the numbers behind a dose, refresh or make-up; ``feasible`` is False where no
    plan meets every limit (then ``nearest`` is the offer that breaks the windows least); ``hints`` say what it was reckoned
    from."""

    kind: PlanKind
    tank: str
    at: datetime
    advice: Advice
    dosing: DosingPlan | None = None
    hints: tuple[str, ...] = ()

    @property
    def feasible(self) -> bool:
        return self.dosing is None or self.dosing.feasible

    @property
    def nothing_needed(self) -> bool:
        return not self.advice.steps and self.feasible

    @property
    def steps(self) -> tuple[Advised, ...]:
        return self.advice.steps

    @property
    def conflict(self) -> tuple[str, ...]:
        return self.dosing.conflict if self.dosing is not None else ()

    @property
    def nearest(self) -> Offer | None:
        near = self.dosing.nearest if self.dosing is not None else None
        return Offer(self.kind, self.tank, self.at, near.advice, near, self.hints) if near is not None else None


@dataclass(frozen=True)
class Recheck:
    """The rest of a plan looked at again from what the tank holds now: ``after`` is every species and ratio when the steps that
    are left have been done; ``still_out`` names those outside their windows then, in sentences."""

    plan: OpenPlan
    after: Mapping[str, Content]
    still_out: tuple[str, ...]

    @property
    def lands(self) -> bool:
        return not self.still_out


@dataclass(frozen=True)
class Accepted:
    """A plan that is in the book now; ``ended`` is an open one whose place it took."""

    plan: OpenPlan
    ended: OpenPlan | None = None


@dataclass(frozen=True)
class Ticked:
    """A step that is done: the entry that says so, what it changed, the plan now, and what is to be said about the rest.

    ``recheck`` is None where the plan puts nothing more into the tank or takes nothing out."""

    entry: AnyEntry
    changes: tuple[str, ...]
    plan: OpenPlan
    lines: tuple[str, ...] = ()
    recheck: Recheck | None = None


@dataclass(frozen=True)
class PutOff:
    """Something due that the keeper put off."""

    finding: Finding
    until: datetime
    reason: str
    entry: str
