"""What is asked before a test of a container is written: a pH that no strip shows, or one that belies what stands in it."""

from __future__ import annotations

from collections.abc import Iterator

from bathkeeper.entries import AnyEntry, Container
from bathkeeper.estimate.world import World
from bathkeeper.refusals import shorten
from bathkeeper.units.numerals import figures
from bathkeeper.waste.content import equivalents
from bathkeeper.waste.streams import stream_of

HIGHEST = 14.0  # of strips and of most meters [practice]
PLAIN = 0.02  # eq/L free by the low end of its range: pH 1.7 or 12.3 of a strong one, so never across the middle [derived]
ACID_STAYS_BELOW, ALKALI_STAYS_ABOVE = 5.0, 9.0


def ph_doubts(entry: AnyEntry, world: World) -> list[str]:
    """Clauses about a tested pH; ``world`` stands at the moment of the entry, before it."""
    return list(_said(entry, world)) if isinstance(entry, Container) and entry.action == "tested" else []


def _said(entry: Container, world: World) -> Iterator[str]:
    held = world.containers.get(entry.container)
    stream = stream_of(held) if held is not None and not held.empty else None
    for value in entry.values:
        if value.of != "ph" or value.value is None:
            continue
        ph = value.value
        if ph > HIGHEST:
            yield f"pH {figures(ph)} is beyond what strips and meters show ({HIGHEST:g} at the most)"
        if stream is None or not stream.complete:
            continue
        acid, alkali = equivalents(stream, "acid"), equivalents(stream, "alkali")
        free = (acid.low if acid is not None else 0.0) - (alkali.high if alkali is not None else 0.0)
        lye = (alkali.low if alkali is not None else 0.0) - (acid.high if acid is not None else 0.0)
        name = shorten(entry.container)
        if free > PLAIN and ph > ACID_STAYS_BELOW:
            yield _belied(name, ph, "free acid", free)
        elif lye > PLAIN and ph < ALKALI_STAYS_ABOVE:
            yield _belied(name, ph, "alkali", lye)


def _belied(name: str, ph: float, what: str, least: float) -> str:
    return (
        f"pH {figures(ph)} does not go with {name}, which by the book holds at least {least:.2g} eq/L of {what}: is it that "
        "container, and is everything logged that went in?"
    )
