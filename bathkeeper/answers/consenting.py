"""What is asked before something is written as gone to the sewer: its consent, and the figures of the book beside it."""

from __future__ import annotations

from collections.abc import Iterator

from bathkeeper.catalogue.own import all_of
from bathkeeper.catalogue.own_waste import WasteLimit
from bathkeeper.entries import AnyEntry, Container, Removal
from bathkeeper.estimate.world import World
from bathkeeper.refusals import shorten
from bathkeeper.waste.comparing import compare
from bathkeeper.waste.picking import rule_set_for
from bathkeeper.waste.stream import Stream
from bathkeeper.waste.streams import stream_of, stream_of_tank


def consent_doubts(entry: AnyEntry, world: World) -> list[str]:
    """Clauses about what goes to the sewer; ``world`` stands at the moment of the entry, before it. None is no leave."""
    if not isinstance(entry, (Removal, Container)) or entry.to != "sewer" or not entry.consent:
        return []
    return list(_said(entry.consent, _stream(entry, world), world))


def _said(consent: str, stream: Stream | None, world: World) -> Iterator[str]:
    told = all_of(world.catalogue.own, "waste limit", WasteLimit).values()
    limits = [w for w in told if w.what == "discharge" and w.reference.casefold().strip() == consent.casefold().strip()]
    if not limits:
        known = ", ".join(dict.fromkeys(shorten(w.reference) for w in told if w.what == "discharge")) or "none"
        yield (
            f"no consent with the reference {shorten(consent)} is on record (on record: {known}), so that nothing was compared "
            'with it; enter its limits first (definition "waste limit", what="discharge")'
        )
        return
    for row in compare(stream, rule_set_for(None), limits) if stream is not None else ():
        if row.own and row.standing != "within":
            yield f"beside the consent {shorten(consent)}: {row.text.partition(';')[0]}"


def _stream(entry: Removal | Container, world: World) -> Stream | None:
    if isinstance(entry, Removal):
        tank = world.tanks.get(entry.tank)
        return stream_of_tank(tank) if tank is not None and tank.alive else None
    held = world.containers.get(entry.container)
    return stream_of(held) if held is not None and not held.empty else None
