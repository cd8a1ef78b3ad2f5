"""Everything that is due beside contents, calendar and safety: chores, plans, shelf, side tanks, anodes; no forecast in it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime

from bathkeeper.accounts.costs import reorder
from bathkeeper.accounts.shelf import shelf
from bathkeeper.advice.anodes import anode_advice
from bathkeeper.advice.open_plans import plans_of
from bathkeeper.advice.replacing import replacing
from bathkeeper.due.anodes import anode_findings
from bathkeeper.due.plans import plan_findings
from bathkeeper.due.replacing import replacing_findings
from bathkeeper.due.shelf import shelf_findings
from bathkeeper.due.use import chore_findings, instrument_findings
from bathkeeper.due.waste import waste_findings
from bathkeeper.entries import AnyEntry, Unknown
from bathkeeper.estimate.usage import usage_of
from bathkeeper.estimate.view import TankView
from bathkeeper.estimate.world import World
from bathkeeper.findings import Finding


def advised(world: World, views: Iterable[TankView], entries: Sequence[AnyEntry | Unknown], now: datetime) -> Iterator[Finding]:
    """Findings from advice over the workshop. ``entries``: those in force up to ``now``, in order; ``world`` at that moment."""
    catalogue = world.catalogue
    shelves = shelf(entries, catalogue, now)
    yield from plan_findings(plans_of(entries), now)
    yield from shelf_findings(reorder(shelves, now), now)
    yield from instrument_findings(entries, catalogue, now)
    yield from waste_findings(world, now)
    for view in views:
        state = world.tanks[view.tank]
        if not view.in_service or not view.alive or state.recipe is None:
            continue
        yield from chore_findings(view, state.recipe, entries, catalogue, now)
        usage = usage_of(entries, view.tank, now, catalogue)
        if state.recipe.electrode is not None:
            told = anode_advice(state, catalogue, usage, now, tuple(shelves))
            if told is not None:
                yield from anode_findings(told, view, entries, now)
        else:
            signs = replacing(state, catalogue, entries, usage, now)
            if signs is not None:
                yield from replacing_findings(signs, now)
