"""The checklist of a container: lid, label, tray, soundness, and what its label should say."""

from __future__ import annotations

from bathkeeper.estimate.containers import ContainerState
from bathkeeper.ledger.shapes import Check

QUESTIONS: dict[str, str] = {
    "lid": "closed, with a vented cap where gas may form, except while something is put in or taken out",
    "label": "a label that says what it is, since when, its hazards and whose it is",
    "tray": "in a tray or bund that holds all of it, apart from what it must not meet",
    "sound": "sound and fit for what is in it: no bulge, leak or corrosion",
}
"""What each point asks (common practice; the rule set may say more)."""


def checklist(state: ContainerState) -> tuple[Check, ...]:
    """Every point with the latest answer."""
    found = []
    for point, question in QUESTIONS.items():
        told = state.checks.get(point)
        if told is None:
            found.append(Check(point=point, question=question, answer="not looked at"))
        else:
            found.append(Check(point=point, question=question, answer="yes" if told[0] else "no", at=told[1], entry=told[2]))
    return tuple(found)
