"""What is asked before more is handed over to an authority than it takes in its days, by the keeper's own waste limits."""

from __future__ import annotations

from collections.abc import Iterator

from bathkeeper.catalogue.own import all_of
from bathkeeper.catalogue.own_waste import WasteLimit
from bathkeeper.entries import AnyEntry, Container
from bathkeeper.estimate.containers import ContainerState
from bathkeeper.estimate.world import World
from bathkeeper.refusals import shorten
from bathkeeper.units.numerals import figures
from bathkeeper.waste.allowing import ROUNDING, concerns, taken, use_of


def allowance_doubts(entry: AnyEntry, world: World) -> list[str]:
    """Clauses about a hand-over that goes beyond an allowance; ``world`` stands at the moment of the entry, before it."""
    if not isinstance(entry, Container) or entry.action != "handed over" or not entry.hands_over:
        return []
    refused = entry.papers is not None and entry.papers.refused is not None
    return [] if refused else list(_said(entry, world))


def _said(entry: Container, world: World) -> Iterator[str]:
    held = world.containers.get(entry.container)
    litres, kg = _amounts(entry, held)
    others = [h for c in world.containers.values() for h in c.handed if h.entry != entry.id]
    for name, limit in all_of(world.catalogue.own, "waste limit", WasteLimit).items():
        if limit.what != "allowance" or not concerns(limit, entry.to or "", entry.container):
            continue
        use = use_of(name, limit, taken(others), entry.at)
        more = litres if use.unit == "L" else kg
        if more <= 0 or use.used + more <= use.amount * (1 + ROUNDING):
            continue
        whom = shorten(limit.authority or entry.to or "")
        then = use.room_from(more)
        room = f"; next from {then.astimezone():%Y-%m-%d %H:%M}" if then is not None else "; never so much at once"
        yield (
            f"{figures(use.used + more, 0.005 * use.amount)} {use.unit} in {figures(use.per_days)} days is more than the "
            f"{figures(use.amount)} {use.unit} that {whom} takes by your limit {shorten(name)}"
            f" ({figures(use.used, 0.005 * use.amount)} {use.unit} of it used before{room}): ask them first"
        )


def _amounts(entry: Container, held: ContainerState | None) -> tuple[float, float]:
    """Litres and kilograms that the entry hands over: as it tells, else by what the container holds."""
    there_l, there_kg = (held.volume_l, held.mass_kg) if held is not None else (0.0, 0.0)
    if entry.all:
        return there_l, entry.mass_kg if entry.mass_kg is not None else there_kg
    if entry.volume_l is not None:
        share = min(entry.volume_l / there_l, 1.0) if there_l > 0 else 1.0
        return entry.volume_l, entry.mass_kg if entry.mass_kg is not None else there_kg * share
    share = min((entry.mass_kg or 0.0) / there_kg, 1.0) if there_kg > 0 else 1.0
    return there_l * share, entry.mass_kg or 0.0
