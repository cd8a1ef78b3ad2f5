"""A plan before it is accepted: numbered steps, each with its reason, cautions in the place where they are needed."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from bathkeeper.entries import PlanStep
from bathkeeper.findings import Because

Purpose = Literal["dose", "make up", "refresh", "treat", "lay up", "wake up"]


@dataclass(frozen=True)
class Advised:
    """One step and why it is there: entries, formula, source."""

    step: PlanStep
    because: Because


@dataclass(frozen=True)
class Advice:
    """Steps for one tank in the order in which they are done; ``lines`` say what else there is to know, ``doubts`` what the
    plan hangs on."""

    tank: str
    purpose: Purpose
    steps: tuple[Advised, ...]
    lines: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()

    @property
    def plan_steps(self) -> tuple[PlanStep, ...]:
        return tuple(a.step for a in self.steps)


def numbered(steps: Iterable[Advised]) -> tuple[Advised, ...]:
    """The steps with their numbers set to 1, 2, 3 ..."""
    from msgspec.structs import replace

    return tuple(Advised(replace(a.step, step=n), a.because) for n, a in enumerate(steps, start=1))


def step(
    action: Literal["measure", "add", "remove", "wait", "check", "plate"],
    why: str,
    *,
    because: Because | None = None,
    reagent: str | None = None,
    amount: float | None = None,
    unit: str | None = None,
    of: str | None = None,
    caution: str = "",
) -> Advised:
    """A step not yet numbered; without a reason of its own the words of ``why`` are the reason."""
    made = PlanStep(step=1, action=action, reagent=reagent, amount=amount, unit=unit, of=of, why=why, caution=caution)  # type: ignore[arg-type]
    return Advised(made, because or Because(text=why))
