"""What is asked before codes go on a label or a paper: whether the rule set of this place has codes of that kind."""

from __future__ import annotations

import re
from collections.abc import Iterator

from bathkeeper.entries import AnyEntry, Container
from bathkeeper.estimate.world import World
from bathkeeper.refusals import shorten
from bathkeeper.waste.loader import load
from bathkeeper.waste.picking import rule_set_for

FORMS: dict[str, tuple[re.Pattern[str], str]] = {
    "list of waste": (
        re.compile(r"\d{2} ?\d{2} ?\d{2} ?\*?"),
        "six digits, with * where the entry is hazardous, such as 11 01 05*",
    ),
    "us": (re.compile(r"[A-Za-z]\d{3}"), "a letter and three digits, such as D002"),
}
"""By the system of a rule set: what a code looks like, and how that is said. List of waste: Decision 2000/532/EC; the federal
codes: 40 CFR 261; both as in the rule sets."""


def code_doubts(entry: AnyEntry, world: World) -> list[str]:
    """Clauses about codes of a label or a hand-over; ``world`` stands at the moment of the entry, before it."""
    return list(_said(entry, world)) if isinstance(entry, Container) else []


def _said(entry: Container, world: World) -> Iterator[str]:
    told = world.workshop
    rules = rule_set_for(told.country if told is not None else None, told.region if told is not None else None)
    if rules.system not in FORMS:
        return
    form, words = FORMS[rules.system]
    for code in entry.codes:
        if form.fullmatch(code.strip()) is None:
            yield f"{shorten(code)} is no code of the rule set {rules.title}, whose codes are {words}"
        elif (starred := _starred(code)) is not None:
            yield f"{shorten(code)} stands in the list of waste as {starred}"


def _starred(code: str) -> str | None:
    """The entry with its star, where only the star is missing."""
    digits = "".join(c for c in code if c.isdigit())
    if "*" in code or len(digits) != 6:
        return None
    plain = f"{digits[:2]} {digits[2:4]} {digits[4:]}"
    known = {c.code for c in load().codes.values()}
    return f"{plain}*" if plain not in known and f"{plain}*" in known else None
