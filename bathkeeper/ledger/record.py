"""What the book knows already of what a hand-over record asks: who, where, labels, the vessel and how long it stood."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime

import msgspec

from bathkeeper.entries import Workshop
from bathkeeper.estimate.containers import ContainerState
from bathkeeper.estimate.world import World
from bathkeeper.units.numerals import figures
from bathkeeper.waste.disposal import DisposalPlan, RecordField
from bathkeeper.waste.properties import properties
from bathkeeper.waste.schema import Candidate, RuleSet
from bathkeeper.waste.stream import Stream

ROWS = {"what made it": "why", "components with their share": "looks"}
"""Beginning of a row of the record -> what the keeper's words about the waste itself tell of it."""


def known_of(
    world: World, name: str, stream: Stream, found: Sequence[Candidate], rules: RuleSet, moment: datetime
) -> dict[str, str]:
    """The known fields of a plan's record, by the keys of ``disposal_plan``; those of which nothing is on record are left out.

    ``name`` is a container, or a tank as if it were dumped. A person's words are handed on as they wrote them.
    """
    state = world.containers.get(name)
    told = {
        "who": _who(world.workshop),
        "site": (world.workshop.site_code or "") if world.workshop is not None else "",
        "codes": _labelled(state.codes if state is not None else (), "in question", (c.code for c in found if c.code)),
        "hazards": _labelled(state.hazards if state is not None else (), "in question", _hazards(stream, rules)),
        "containers": _vessel(state) if state is not None else "",
        "stood": _stood(state, stream, moment) if state is not None else "",
    }
    return {key: text for key, text in told.items() if text}


def with_told(plan: DisposalPlan, state: ContainerState | None) -> DisposalPlan:
    """The plan with what the keeper said of the waste itself in its record: why it became waste, how it looks."""
    if state is None:
        return plan
    told = {"why": "; ".join(state.why), "looks": looks_said(state.physical_form, state.colour)}
    reckoned = "liquid, " if state.physical_form else ""  # what the keeper saw stands for what the litres let suppose
    return msgspec.structs.replace(plan, hand_over=tuple(_with(row, told, reckoned) for row in plan.hand_over))


def looks_said(physical_form: str | None, colour: str | None) -> str:
    """``sludge, green``; what was not said is left out."""
    return ", ".join(w for w in (physical_form or "", colour or "") if w)


def _with(row: RecordField, told: Mapping[str, str], reckoned: str) -> RecordField:
    key = next((key for start, key in ROWS.items() if row.field.startswith(start)), "")
    if not key or not told[key]:
        return row
    known = row.known.removeprefix(reckoned) if key == "looks" else row.known
    return RecordField(field=row.field, known="; ".join(w for w in (known, told[key]) if w))


def _who(workshop: Workshop | None) -> str:
    if workshop is None:
        return ""
    code = f"trade code {workshop.industry_code}" if workshop.industry_code else None
    parts = (workshop.name, workshop.address, workshop.phone, workshop.email, code, workshop.keeper)
    return "; ".join(p for p in parts if p)


def _labelled(label: Sequence[str], others: str, possible: Iterable[str]) -> str:
    """What stands on the label, and what comes into question beside it."""
    more = [p for p in dict.fromkeys(possible) if p not in label]
    parts = [f"{', '.join(label)} (as labelled)"] if label else []
    if more:
        parts.append(f"{others}: {', '.join(more)}" if label else ", ".join(more))
    return "; ".join(parts)


def _hazards(stream: Stream, rules: RuleSet) -> list[str]:
    """The hazardous properties that come into question; a federal code of the United States has none of these names."""
    if rules.system == "us" or stream.empty:
        return []
    return [p.hp for p in properties(stream) if p.hp]


def _vessel(state: ContainerState) -> str:
    size = f"{figures(state.size_l)} L" if state.size_l is not None else ""
    form = " of ".join(p for p in (state.form or "", size) if p)
    parts = [f"1 {form}" if form else "", f"called {state.name}"]
    lid = state.checks.get("lid")
    if lid is not None:
        parts.append(f"lid {'closed' if lid[0] else 'not closed'} on {lid[1]:%Y-%m-%d}")
    return ", ".join(p for p in parts if p)


def _stood(state: ContainerState, stream: Stream, moment: datetime) -> str:
    days = (moment - stream.since).total_seconds() / 86_400 if stream.since is not None else None
    held = f"{days:.0f} days" if days is not None and days >= 0 else ""
    return "; ".join(p for p in (state.place or "", held) if p)
