"""Findings of the safety room that are due: hazards at hand, what must not meet, and bakes with their clock."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import datetime, timedelta
from typing import Any

from bathkeeper.catalogue.loader import Catalogue
from bathkeeper.entries import AnyEntry, Run, Tank, Treatment, Unknown, Workshop
from bathkeeper.findings import Because, Finding
from bathkeeper.safety.baking import bake_record, order_faults
from bathkeeper.safety.embrittlement import SEVERITY, Bake, bake, start_by
from bathkeeper.safety.groups import Vessel, shop_of
from bathkeeper.safety.hazards import hazards
from bathkeeper.safety.loader import own_rule
from bathkeeper.safety.meeting import meeting_findings
from bathkeeper.safety.schema import BakeRule, SafetyError

WATCHED_DAYS = 30.0  # how long a run's bake is asked after [practice]


def hazards_of(
    entries: Sequence[AnyEntry | Unknown], catalogue: Catalogue, efficiencies: Mapping[str, float],
    meetings: Sequence[Vessel] | None,
) -> list[Finding]:  # fmt: skip
    """What this workshop's tanks, anodes, reagents and parts give reason to say; ``meetings``: also what must not meet, with
    these further vessels (containers of waste) among them."""
    shop = shop_of(entries, catalogue)
    return [*hazards(shop, efficiencies), *(meeting_findings([*shop.vessels, *meetings]) if meetings is not None else ())]


def bake_findings(entries: Iterable[AnyEntry | Unknown], catalogue: Catalogue, now: datetime) -> Iterator[Finding]:
    """Runs of the last month whose parts want baking, are late, or were treated in the wrong order.

    A run's moment counts as the end of plating: where it is the start, the clock is on the safe side.
    """
    known = [e for e in entries if not isinstance(e, Unknown)]
    named = next((e.embrittlement_rule for e in reversed(known) if isinstance(e, Workshop) and e.embrittlement_rule), None)
    roles: dict[str, str] = {e.tank: e.role for e in known if isinstance(e, Tank)}
    nameless: list[Run] = []
    baked: dict[str, list[Treatment]] = {}
    for entry in known:
        if isinstance(entry, Treatment) and entry.run is not None and entry.what == "bake":
            baked.setdefault(entry.run, []).append(entry)
    for run in known:
        if not isinstance(run, Run) or not now - timedelta(days=WATCHED_DAYS) <= run.at <= now:
            continue
        plated = [s.tank for s in run.steps if roles.get(s.tank) == "plate"]
        strong = [p for p in run.parts if p.property_class is not None or p.strength_mpa is not None or p.safety_critical]
        if plated and strong and named is None:
            nameless.append(run)
        elif plated and strong:
            yield from _one_run(run, plated[-1], roles, baked.get(run.id, []), str(named), catalogue)
    if nameless:
        yield _no_rule(nameless)


def _one_run(
    run: Run, tank: str, roles: Mapping[str, str], bakes: Sequence[Treatment], rule: str, catalogue: Catalogue
) -> Iterator[Finding]:
    label = ", ".join(p.description for p in run.parts)
    try:
        own = _own(rule, catalogue)
        told = [
            bake(
                rule=rule,
                strength_mpa=p.strength_mpa,
                property_class=p.property_class,
                safety_critical=p.safety_critical,
                own=own,
            )
            for p in run.parts
            if p.property_class is not None or p.strength_mpa is not None or p.safety_critical
        ]
    except SafetyError as problem:
        yield _finding(run, tank, "rule", f"{label}: {problem}", "soon", "correct the part or the rule")
        return
    strictest = max(told, key=lambda b: (SEVERITY.index(b.needed), b.hours or 0.0))
    soaks = [(b.temperature_c or 0.0, b.at, b.at + timedelta(minutes=b.minutes or 0.0)) for b in bakes]
    done = [str(roles.get(s.tank, "")) for s in run.steps if s.tank in roles]
    for fault in order_faults([*done, *(["bake"] if soaks else [])]):
        yield fault.finding(tank, (run.id, *(b.id for b in bakes)))
    if strictest.needed == "no verdict":
        plater = "a qualified plater has to judge these parts"
        yield _finding(run, tank, "bake", f"{label}: {strictest.why}", "now", plater, strictest)
    elif strictest.needed in ("yes", "verify") and not soaks:
        hours = f" for {strictest.hours:g} h" if strictest.hours is not None else ""
        heat = f" at {strictest.temperature_c[0]:g}-{strictest.temperature_c[1]:g} °C" if strictest.temperature_c else ""
        by = start_by(run.at, strictest) if strictest.start_within_h is not None else None
        what = f"{label}: bake{hours}{heat}, before the passivate" if strictest.needed == "yes" else f"{label}: {strictest.why}"
        yield _finding(run, tank, "bake", what, "now", strictest.why, strictest, by)
    elif soaks:
        for fault in bake_record(soaks, strictest, end_of_plating=run.at).faults:
            yield fault.finding(tank, (run.id, *(b.id for b in bakes)))


def _no_rule(runs: Sequence[Run]) -> Finding:
    latest = runs[-1]
    label = ", ".join(p.description for p in latest.parts)
    others = f" and {len(runs) - 1} runs before" if len(runs) > 1 else ""
    return Finding(
        id="workshop.rule.embrittlement",
        tank="workshop",
        what=f"high-strength parts were plated ({label}{others}), and no rule for baking is named",
        why="whether, how long and how soon to bake is a rule's to say: name yours in the settings, for example ASTM B850",
        level="soon",
        because=Because(
            text="Known here: ASTM B850, ISO 4042:2018, ASTM F1941, or a limit of your own. Parts that could hurt someone "
            "if they break belong to a qualified plater.",
            entries=tuple(r.id for r in runs),
            sources=("ASTM B850, ISO 4042:2018, ASTM F1941: the rules that can be named",),
        ),
    )


def _own(rule: str, catalogue: Catalogue) -> dict[str, BakeRule]:
    bodies: Mapping[str, Mapping[str, Any]] = catalogue.own.get("limit", {})
    return {rule: own_rule(rule, bodies[rule])} if "bands" in bodies.get(rule, {}) else {}


def _finding(
    run: Run, tank: str, subject: str, what: str, level: Any, why: str, told: Bake | None = None, by: datetime | None = None
) -> Finding:
    sources = (f"{told.status}: {told.source}", told.edition) if told is not None else ()
    text = "Does not guarantee freedom from embrittlement; local rules and licensed practice come first."
    return Finding(
        id=f"{tank}.{subject}.{run.id[-8:]}",
        tank=tank,
        what=what,
        why=why,
        level=level,
        by=by,
        because=Because(text=text, entries=(run.id,), formula=told.rule if told is not None else "", sources=sources),
    )
