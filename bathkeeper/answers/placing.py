"""What is asked before the workshop's country is written: whether any rule set of waste is known by that name."""

from __future__ import annotations

from bathkeeper.entries import AnyEntry, Workshop
from bathkeeper.estimate.world import World
from bathkeeper.refusals import shorten
from bathkeeper.waste.loader import FALLBACK, load
from bathkeeper.waste.picking import rule_set_for


def place_doubts(entry: AnyEntry, world: World) -> list[str]:
    """A clause where a new country has no rule set; ``world``: before the entry."""
    if not isinstance(entry, Workshop) or not entry.country:
        return []
    before = world.workshop.country if world.workshop is not None else None
    if entry.country == before or rule_set_for(entry.country, entry.region).name != FALLBACK:
        return []
    known = ", ".join(r.title.partition(",")[0] for r in load().rules.values() if r.name != FALLBACK)
    return [f"no rule set of waste is known by the name {shorten(entry.country)}; known are: {known}"]
