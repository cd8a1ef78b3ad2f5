"""Findings about an allowance that is used up while there is still waste that it is about."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import datetime

from bathkeeper.catalogue.own_waste import WasteLimit
from bathkeeper.estimate.world import World
from bathkeeper.findings import Because, Finding
from bathkeeper.refusals import shorten
from bathkeeper.waste.allowing import taken, use_of


def allowance_findings(world: World, limits: Mapping[str, WasteLimit], now: datetime, ask: str) -> Iterator[Finding]:
    """One for every allowance of which nothing is left. ``limits`` by name; ``ask``: whom to ask first."""
    allowances = {n: w for n, w in limits.items() if w.what == "allowance"}
    if not allowances:
        return
    handed = taken(h for c in world.containers.values() for h in c.handed)
    for name, limit in allowances.items():
        about = [c for c in world.containers.values() if not c.empty and (not limit.containers or c.name in limit.containers)]
        use = use_of(name, limit, handed, now)
        if not about or use.next_from is None:
            continue
        whom = shorten(limit.authority) or "the authority"
        yield Finding(
            id=f"workshop.allowance.{name}",
            tank="workshop",
            what=f"take nothing more to {whom} before {use.next_from.astimezone():%Y-%m-%d}",
            why=use.text,
            level="later",
            by=use.next_from,
            because=Because(
                text=f"By your limit {shorten(name)}: {use.text}. {ask}",
                entries=use.entries[-5:],
                formula="what was handed over to them in the days of the limit, against what they take",
                sources=(", ".join(shorten(t) for t in (limit.authority, limit.reference) if t) or "your own limit",),
            ),
        )
