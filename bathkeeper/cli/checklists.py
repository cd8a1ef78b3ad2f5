"""Checklists of lay-up and wake-up as lines, as JSON, and accepted as plans."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import TYPE_CHECKING

import click

from bathkeeper.cli.talk import answer, answer_json, say

if TYPE_CHECKING:
    from bathkeeper.advice.laying_up import Checklist
    from bathkeeper.counsel import Counsel, PlanKind


def tell(
    counsel: Counsel, lists: Sequence[Checklist], kind: PlanKind, accept: bool, when: datetime | None, as_json: bool
) -> None:
    """Prints every checklist; ``accept`` writes each as a plan whose steps can be ticked off."""
    from bathkeeper.counsel import Offer
    from bathkeeper.workshop import now

    moment = when or now()
    written = {}
    if accept:
        for found in lists:
            if found.items:
                written[found.tank] = counsel.accept(Offer(kind, found.tank, moment, found.advice), when).plan.id
    if as_json:
        from bathkeeper.cli.advice_text import step_plain

        answer_json([
            {"tank": c.tank, "role": c.role, "items": [step_plain(i) for i in c.items], "lines": c.lines,
             "accepted": written.get(c.tank)}
            for c in lists
        ])  # fmt: skip
        return
    from bathkeeper.cli.advice_text import paragraphs, steps_text
    from bathkeeper.cli.plain import clean
    from bathkeeper.cli.tables import styled

    for number, found in enumerate(lists):
        head = styled(clean(f"{found.tank}: {kind}", lines=False), "head")
        answer([*([""] if number else []), head, *steps_text(found.items), *paragraphs(found.lines)])
    if not lists:
        say("No tank has anything to do.")
    for tank, plan in written.items():
        say(f"{tank}: accepted as {plan[-8:]}; tick off with `bathkeeper dose {plan[-8:]} --tick 1`")


def celsius(text: str | None, counsel: Counsel) -> float | None:
    """A temperature option in degC. Raises UnitError, UsageError."""
    if text is None:
        return None
    from bathkeeper.units.door import understand

    if not text.strip():
        raise click.UsageError("there is no temperature; write for example 5C")
    return understand(text, "temperature", counsel.workshop.preferences).value
