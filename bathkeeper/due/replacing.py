"""Findings from the signs of a side tank: refresh or replace, or how many loads are left when they are few."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from bathkeeper.advice.replacing import Replacing
from bathkeeper.findings import Finding

FEW_DAYS = 14.0  # before its end by the rule, from which a bath is spoken of [practice]
LEAST_REFRESH = 0.5  # g or mL


def replacing_findings(told: Replacing, now: datetime) -> Iterator[Finding]:
    """What the signs of one tank come to; silent while it is kept and has weeks left, and where only its age decides."""
    sign = told.deciding
    name = sign.name if sign is not None else "signs"
    if name == "age":
        return  # the calendar tells a bath's age
    left = ""
    if told.batches_left is not None:
        b = told.batches_left
        left = f", about {b.value:.0f} loads left ({b.low:.0f} to {b.high:.0f})"
    if told.verdict == "keep":
        if told.by is None or sign is None or (told.by - now).total_seconds() / 86400 > FEW_DAYS:
            return
        what, level = f"{told.tank} nears its end by {name}{left}", "later"
    elif told.verdict == "refresh" and told.refresh is not None:
        r = told.refresh
        if r.amount < LEAST_REFRESH:
            return  # the tank is dry by the book: its level says so
        what, level = f"refresh {told.tank} with {r.amount:.3g} {r.unit} {r.reagent}, or replace it", "soon"
    else:
        what, level = f"replace the bath of {told.tank}", "now"
    yield Finding(
        id=f"{told.tank}.spent.{name}",
        tank=told.tank,
        what=what,
        why=f"{told.why}; {told.rule}",
        level=level,  # type: ignore[arg-type]
        by=told.by,
        because=told.because,
    )
