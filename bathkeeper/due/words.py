"""One word for what a tank wants, from its most urgent finding: keep, water, add, dilute, read, replace ..."""

from __future__ import annotations

from collections.abc import Iterable

import msgspec

from bathkeeper.estimate.view import TankView
from bathkeeper.findings import Finding

SIGNS = {"now": "!!", "soon": "!", "later": "·", "keep": "✓", "none": "–"}
"""Beside every word, so that no state is told by colour alone."""

RULES = {
    "make_up": "make up",
    "age": "replace",
    "replace": "replace",
    "reading": "read",
    "doubt": "read again",
    "anode": "anode",
    "dose": "add",
    "plan": "plan",
    "spent": "renew",
    "chore": "chore",
    "idle": "lift anode",
    "split": "anode",
    "anode_end": "anode",
    "heater": "heater",
    "storage": "take away",
    "check": "look over",
    "receipt": "receipt",
    "retention": "papers",
    "unaccounted": "litres gone",
    "runoff": "ask",
    "allowance": "wait",
    "forecast_low": "add soon",
    "forecast_high": "watch",
}
INDICATORS = {
    ("low", "temperature"): "warm",
    ("high", "temperature"): "cool",
    ("low", "ph"): "pH up",
    ("high", "ph"): "pH down",
}


class Standing(msgspec.Struct, frozen=True, kw_only=True):
    """How a tank stands: ``level`` now, soon, later, keep or none; ``about``: what it is about, in a word or two."""

    word: str
    level: str
    about: str = ""
    more: int = 0

    @property
    def sign(self) -> str:
        return SIGNS[self.level]


def standing(view: TankView, findings: Iterable[Finding]) -> Standing:
    """The standing of a tank from what is due of it; ``findings`` of other tanks are passed over. What is only due later leaves
    a filled tank at keep."""
    if not view.in_service:
        return Standing(word="out of use", level="none")
    own = sorted((f for f in findings if f.tank == view.tank), key=lambda f: ("now", "soon", "later").index(f.level))
    urgent = [f for f in own if f.level != "later" or rule_of(f)[0] == "make_up"]
    if not urgent:
        return Standing(word="keep", level="keep", about="", more=len(own))
    rule, subject = rule_of(urgent[0])
    return Standing(
        word=action(urgent[0], view),
        level=urgent[0].level,
        about="" if rule in ("make_up", "age") else _title(view, subject),
        more=len(own) - 1,
    )


def rule_of(finding: Finding) -> tuple[str, str]:
    """(rule, subject) of a finding's id; the tank's own name may hold dots."""
    rule, _, subject = finding.id[len(finding.tank) + 1 :].partition(".")
    return rule, subject


def action(finding: Finding, view: TankView) -> str:
    """What the finding asks for, in one or two short words."""
    rule, subject = rule_of(finding)
    if rule not in ("low", "high"):
        return RULES.get(rule, "look")
    if (rule, subject) in INDICATORS:
        return INDICATORS[rule, subject]
    if rule == "low":
        return "water" if subject in ("level", "volume") else "add"
    if subject in ("level", "volume"):
        return "lower"
    content = view.species.get(subject)
    if content is not None and content.kind == "contaminant":
        given_up = content.window.get("give_up_high")
        return "replace" if given_up is not None and content.value > given_up else "clean"
    if view.role == "rinse":
        return "change"
    return "adjust" if subject in view.ratios else "dilute"


def _title(view: TankView, subject: str) -> str:
    content = {**view.species, **view.ratios}.get(subject)
    return content.title if content is not None else "pH" if subject == "ph" else subject
