"""Findings from accepted plans: what is next on each that has steps left."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import datetime, timedelta

from bathkeeper.advice.open_plans import OpenPlan, StepState
from bathkeeper.findings import Because, Finding

STALE_DAYS = 7.0  # after which a plan rests on an estimate that has moved on [practice]


def plan_findings(plans: Iterable[OpenPlan], now: datetime) -> Iterator[Finding]:
    """One finding a plan that is open: how far it is and what its next step is."""
    for plan in plans:
        if plan.next is None:
            continue
        days = (now - plan.entry.at).total_seconds() / 86400
        stale = days > STALE_DAYS and plan.purpose not in ("lay up", "wake up")
        told = f"{plan.done} of {len(plan.steps)} steps done; next: {step_words(plan.next)}"
        why = f"accepted on {plan.entry.at:%d %b %Y}"
        if stale:
            why += f", {days:.0f} days ago: the bath has moved on; look at it again before more goes in, or drop it"
        yield Finding(
            id=f"{plan.tank}.plan.{plan.purpose}",
            tank=plan.tank,
            what=f"plan ({plan.purpose}) {plan.id[-8:]}: {told}",
            why=why,
            level="soon",
            by=plan.entry.at + timedelta(days=STALE_DAYS),
            because=Because(
                text=f"{plan.because.text}; the next is step {plan.next.step.step}, `why {plan.id[-8:]}.{plan.next.step.step}`",
                entries=plan.because.entries,
                sources=(f"a plan is done within {STALE_DAYS:g} days: practice",),
            ),
        )


def step_words(state: StepState) -> str:
    """A step in a few words: ``add 120 g zinc chloride``."""
    step = state.step
    if step.amount is not None and step.unit is not None:
        amount = f" {step.amount:.4g} {step.unit}"
    else:
        amount = ""
    if step.action in ("wait", "check") and step.why:
        return f"{step.action}{amount}: {step.why}"
    return f"{step.action}{amount} {step.reagent or step.of or step.why}".rstrip()
