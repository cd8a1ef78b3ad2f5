"""Whether the parts of a planned run want baking, by the rule that the workshop names, and how soon."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from bathkeeper.catalogue.own import Bodies
from bathkeeper.runs.live_events import PlannedBake
from bathkeeper.safety.embrittlement import SEVERITY, bake
from bathkeeper.safety.loader import own_rule
from bathkeeper.safety.schema import SafetyError

STRENGTH = ("property_class", "strength_mpa", "safety_critical")


def bake_of(parts: Iterable[Mapping[str, Any]], rule: str | None, own: Bodies) -> PlannedBake | None:
    """What the rule says of the strictest of the parts; None where no part has a strength on record, or none wants a bake.

    Args:
        parts: plain fields of an entry's parts.
        rule: the workshop's embrittlement rule by name.
        own: the keeper's definitions, for rules of their own.
    """
    strong = [p for p in parts if any(p.get(name) for name in STRENGTH)]
    if not strong:
        return None
    label = ", ".join(str(p.get("description", "parts")) for p in strong)
    if rule is None:
        return PlannedBake(
            needed="rule not named",
            what=f"{label}: no rule for baking is named, so there is no clock to the oven",
            why="whether, how long and how soon to bake is a rule's to say: name yours in the settings, for example ASTM B850",
        )
    bodies = own.get("limit", {})
    try:
        mine = {rule: own_rule(rule, bodies[rule])} if "bands" in bodies.get(rule, {}) else {}
        told = [
            bake(
                rule=rule,
                strength_mpa=p.get("strength_mpa"),
                property_class=p.get("property_class"),
                safety_critical=bool(p.get("safety_critical")),
                own=mine,
            )
            for p in strong
        ]
    except SafetyError as problem:
        return PlannedBake(needed="no verdict", what=f"{label}: {problem}", rule=rule, why="correct the part or the rule")
    strictest = max(told, key=lambda b: (SEVERITY.index(b.needed), b.hours or 0.0))
    if strictest.needed == "no":
        return None
    hours = f" for {strictest.hours:g} h" if strictest.hours is not None else ""
    heat = f" at {strictest.temperature_c[0]:g}-{strictest.temperature_c[1]:g} °C" if strictest.temperature_c else ""
    what = f"{label}: bake{hours}{heat}, before the passivate" if strictest.needed == "yes" else f"{label}: {strictest.why}"
    return PlannedBake(
        needed=strictest.needed,
        what=what,
        rule=strictest.edition,
        hours=strictest.hours,
        temperature_c=strictest.temperature_c,
        start_within_h=strictest.start_within_h,
        why=strictest.why,
        source=f"{strictest.status}: {strictest.source}",
    )
