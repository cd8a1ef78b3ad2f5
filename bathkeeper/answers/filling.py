"""What is asked before more is taken out of a container of waste than it holds, or more is put in than fits."""

from __future__ import annotations

from collections.abc import Iterator

from bathkeeper.entries import AnyEntry, Container, Removal
from bathkeeper.estimate.wasting import TOO_MUCH
from bathkeeper.estimate.world import World
from bathkeeper.refusals import shorten
from bathkeeper.units.numerals import figures

TAKES = ("moved", "handed over")
FULL = 1.05  # a drum takes a little more than is printed on it [practice]


def filling_doubts(entry: AnyEntry, world: World) -> list[str]:
    """Clauses about litres and kilograms that cannot be so; ``world`` stands at the moment of the entry, before it."""
    return [*_more_than_there(entry, world), *_more_than_fits(entry, world)]


def _more_than_there(entry: AnyEntry, world: World) -> Iterator[str]:
    held = world.containers.get(entry.container) if isinstance(entry, Container) and entry.action in TAKES else None
    if not isinstance(entry, Container) or held is None or entry.all:
        return
    for told, there, unit in ((entry.volume_l, held.volume_l, "L"), (entry.mass_kg, held.mass_kg, "kg")):
        if told is None:
            continue
        if told > TOO_MUCH * there + 0.05:
            yield f"{figures(told)} {unit} is more than {shorten(held.name)} holds (about {figures(there)} {unit})"
        return  # with both told the litres count, as in the estimate


def _more_than_fits(entry: AnyEntry, world: World) -> Iterator[str]:
    name, litres = _poured(entry, world)
    held = world.containers.get(name)
    if held is None or held.size_l is None or litres <= 0:
        return
    after = held.volume_l + litres
    if after > FULL * held.size_l:
        yield f"it would make {figures(after)} L in {shorten(name)}, which takes {figures(held.size_l)} L"


def _poured(entry: AnyEntry, world: World) -> tuple[str, float]:
    """Into what the entry pours, and how many litres."""
    if isinstance(entry, Container) and entry.action == "put in":
        return entry.container, entry.volume_l or 0.0
    if isinstance(entry, Container) and entry.action == "moved" and entry.container in world.containers:
        there = world.containers[entry.container].volume_l
        return entry.to or "", there if entry.all or entry.volume_l is None else min(entry.volume_l, there)
    if isinstance(entry, Removal) and entry.to is not None and entry.tank in world.tanks:
        there = world.tanks[entry.tank].volume_l
        return entry.to, there if entry.volume_l is None else min(entry.volume_l, there)
    return "", 0.0
