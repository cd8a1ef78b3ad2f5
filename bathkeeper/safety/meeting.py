"""What must not meet: the pairs over this workshop's own tanks, containers and reagents, each with what it would give."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from itertools import combinations

import msgspec

from bathkeeper.catalogue.schema import Status
from bathkeeper.findings import Because, Finding
from bathkeeper.safety.groups import Vessel
from bathkeeper.safety.loader import load
from bathkeeper.safety.schema import Pair, Verdict

SHELF = "workshop"
"""Where a finding stands that belongs to no tank."""


class Meeting(msgspec.Struct, frozen=True, kw_only=True):
    """Two vessels that must not meet, or only with care. ``concentrates``: those of the two that are concentrates;
    ``fractions``: mass fractions of the two groups where known; ``dose``: what is different about a diluted treatment dose."""

    a: str
    b: str
    tank: str
    groups: tuple[str, str]
    verdict: Verdict
    gives: str
    text: str
    dose: str
    concentrates: tuple[str, ...]
    fractions: tuple[float | None, float | None]
    status: Status
    source: str
    entries: tuple[str, ...] = ()


def meetings(vessels: Iterable[Vessel]) -> list[Meeting]:
    """Every pair of vessels whose contents must not meet, the worst first; one row for a pair and what it gives."""
    found: dict[tuple[str, str, str], Meeting] = {}
    for a, b in combinations(list(vessels), 2):
        for pair in load().pairs:
            meeting = _meeting(a, b, pair)
            if meeting is not None:
                found.setdefault((a.name, b.name, pair.gives), meeting)
    return sorted(found.values(), key=lambda m: (m.verdict != "never", not m.concentrates, m.a, m.b))


def matrix(vessels: Sequence[Vessel]) -> dict[str, dict[str, Verdict | None]]:
    """The same as a table by names, each way: ``never``, ``with care``, or None where nothing is known of the pair."""
    made: dict[str, dict[str, Verdict | None]] = {v.name: {w.name: None for w in vessels if w is not v} for v in vessels}
    for meeting in reversed(meetings(vessels)):
        made[meeting.a][meeting.b] = made[meeting.b][meeting.a] = meeting.verdict
    return made


def meeting_findings(vessels: Iterable[Vessel]) -> list[Finding]:
    """The meetings as findings ``tank.caution.meets-OTHER``, one for each pair; of two reagents under ``workshop``."""
    found: dict[str, list[Meeting]] = {}
    for meeting in meetings(vessels):
        other = meeting.b if meeting.tank != meeting.b else meeting.a
        subject = f"{meeting.a}-{meeting.b}" if meeting.tank == SHELF else other
        found.setdefault(f"{meeting.tank}.caution.meets-{slug(subject)}", []).append(meeting)
    return [_finding(id, pairs) for id, pairs in found.items()]


def slug(name: str) -> str:
    """A name as part of a finding's id: lower case, hyphens for everything that is no letter or digit."""
    return re.sub(r"[^\w]+", "-", name.casefold()).strip("-") or "x"


def is_concentrate(vessel: Vessel, group: str) -> bool:
    """Whether the vessel holds that group at the fraction from which it counts as concentrated."""
    limit, fraction = load().groups[group].concentrate_from, vessel.groups.get(group)
    return limit is not None and fraction is not None and fraction >= limit


def _meeting(a: Vessel, b: Vessel, pair: Pair) -> Meeting | None:
    for first, second in (pair.groups, pair.groups[::-1]):
        if any(g in v.groups for g in pair.unless for v in (a, b)):
            continue
        if first in a.groups and second in b.groups and not _same_kind(a, b, pair):
            strong = [v.name for v, g in ((a, first), (b, second)) if _strongest(v, g)]
            trace = _is_trace(pair, a.groups[first], b.groups[second])
            return Meeting(
                a=a.name,
                b=b.name,
                tank=next((v.name for v in (a, b) if v.kind != "reagent"), SHELF),
                groups=(first, second),
                verdict="with care" if trace else _verdict(pair, a, b),
                fractions=(a.groups[first], b.groups[second]),
                gives=pair.gives,
                text=pair.trace_text if trace else pair.text,
                dose=pair.dose,
                concentrates=tuple(strong),
                status="practice" if trace else pair.status,
                source="" if trace else pair.source,
                entries=tuple(dict.fromkeys([*a.entries, *b.entries])),
            )
    return None


def _verdict(pair: Pair, a: Vessel, b: Vessel) -> Verdict:
    """The pair's verdict, milder where the group that makes it bad is known to be weak."""
    group = pair.groups[0]
    limit = load().groups[group].concentrate_from
    held = [v.groups[group] for v in (a, b) if group in v.groups]
    known = [f for f in held if f is not None]
    weak = limit is not None and len(known) == len(held) and all(f < limit for f in known)
    return pair.weak if pair.weak is not None and weak else pair.verdict


def _is_trace(pair: Pair, *fractions: float | None) -> bool:
    """Whether either side is known to be there as a trace only."""
    return pair.trace_below is not None and any(f is not None and f < pair.trace_below for f in fractions)


def _same_kind(a: Vessel, b: Vessel, pair: Pair) -> bool:
    """A bath and the concentrate it is made from, or two baths of one kind, are meant to meet: both hold both groups."""
    return all(g in v.groups for v in (a, b) for g in pair.groups)


def _strongest(vessel: Vessel, group: str) -> bool:
    """Concentrated in the group, or (for the wide group acid) in any that it stands for."""
    of = ("hydrochloric acid", "sulfuric acid", "nitric acid") if group == "acid" else (group,)
    return any(is_concentrate(vessel, g) for g in of)


def _strengths(pairs: list[Meeting]) -> str:
    """What is known of how strong the two are; a bath by its recipe."""
    told = {n: f for p in pairs for n, f in zip((p.a, p.b), p.fractions, strict=True) if f is not None and f < 1}
    return f"About {', '.join(f'{100 * f:.2g} % in {n}' for n, f in told.items())}." if told else ""


def _finding(id: str, pairs: list[Meeting]) -> Finding:
    first = pairs[0]
    how = "must never meet" if first.verdict == "never" else "meet only with care"
    why = " ".join(dict.fromkeys(p.text for p in pairs))
    doses = " ".join(dict.fromkeys(p.dose for p in pairs if p.dose))
    strong = ", ".join(dict.fromkeys(n for p in pairs for n in p.concentrates))
    notes = [why, doses, _strengths(pairs), f"Concentrated: {strong}." if strong else ""]
    return Finding(
        id=id,
        tank=first.tank,
        what=f"{first.a} and {first.b} {how}: {', '.join(dict.fromkeys(p.gives for p in pairs))}",
        why=" ".join(n for n in notes if n),
        level="later",
        because=Because(
            text="Both are in this workshop; a spill, a shared tray or drain, or one waste container brings them together.",
            entries=tuple(dict.fromkeys(e for p in pairs for e in p.entries)),
            sources=tuple(dict.fromkeys(f"{p.status}: {p.source or 'common practice'}" for p in pairs)),
        ),
    )
