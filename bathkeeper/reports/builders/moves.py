"""What each entry moved of waste: litres, kilograms and grams with their ranges, from where to where."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace

from bathkeeper.catalogue.loader import load
from bathkeeper.catalogue.schema import Spread
from bathkeeper.entries import AnyEntry, Container, Removal, Treatment, Unknown
from bathkeeper.estimate.containers import SOLIDS, VOLUME, ContainerState, Handed
from bathkeeper.estimate.fold import Fold
from bathkeeper.estimate.state import Z95, TankState
from bathkeeper.estimate.world import World, first_descriptions
from bathkeeper.findings import Estimate
from bathkeeper.reports.builders.ground import Ground
from bathkeeper.waste.streams import stream_handed

Pair = tuple[float, float]
"""A value and its variance."""

ANYWHERE = {"sewer": "sewer, by consent", "sample": "sample", "spill": "spilt"}
LEAST_L = 1e-6
NO_AMOUNT = ("labelled", "tested", "checked")


@dataclass(frozen=True)
class Move:
    """One entry of waste. ``litres``, ``kg``, ``grams``: what it moved (for a treatment and a test: what it changed); None and
    nothing where it moved nothing. ``weighed``: the kilograms are those of a scale."""

    entry: AnyEntry
    what: str
    source: str = ""
    to: str = ""
    litres: Estimate | None = None
    kg: Estimate | None = None
    weighed: bool = False
    grams: Mapping[str, Estimate] = field(default_factory=dict)


def moves(ground: Ground) -> list[Move]:
    """Every removal, fill, move, test, treatment and hand-over of the period, in order; checks are told elsewhere."""
    fold = Fold(load())
    fold.take(ground.entries, first_descriptions(ground.workshop.entries()[::-1]))
    return [
        move
        for entry, before, after in fold.retold()
        if not isinstance(entry, Unknown) and ground.within(entry.at)
        for move in _of(entry, before, after)
    ]


def _of(entry: AnyEntry, before: World, after: World) -> Iterator[Move]:
    if isinstance(entry, Removal):
        yield _taken(entry, before, after)
    elif isinstance(entry, Treatment) and entry.to is not None and entry.to in after.containers:
        yield _gained(entry, "filled", entry.tank or "", entry.to, before, after)
    elif isinstance(entry, Container) and entry.action != "checked":
        yield _kept(entry, before, after)


def _kept(entry: Container, before: World, after: World) -> Move:
    name = entry.container
    if entry.action == "handed over":
        there = after.containers.get(name)
        handed = [h for h in there.handed if h.entry == entry.id] if there is not None else []
        if handed:
            return _handed(entry, handed[0])
        if entry.papers is not None and entry.papers.refused is not None:
            return _gained(entry, "refused, came back", "", name, before, after)
        return Move(entry, "receipt", name, entry.to or "")
    if entry.action == "moved":
        to = entry.to or ""
        if to in after.containers and to not in after.tanks:
            return _gained(entry, "moved", name, to, before, after)
        earlier, now = before.containers.get(name), after.containers.get(name)
        lighter = (earlier.mass_kg if earlier is not None else 0.0) - (now.mass_kg if now is not None else 0.0)
        return _weighing(_moved(entry, "moved", name, to, _lost(earlier, now)), lighter)
    if entry.action in NO_AMOUNT:
        return Move(entry, entry.action, "", name)
    return _gained(entry, entry.action, entry.tank or "", name, before, after)


def _gained(entry: AnyEntry, what: str, source: str, to: str, before: World, after: World) -> Move:
    """What a container has more than before; its errors add to those of what was there."""
    earlier, now = before.containers.get(to), after.containers.get(to)
    made = _moved(entry, what, source, to, _more(earlier, now))
    heavier = (now.mass_kg if now is not None else 0.0) - (earlier.mass_kg if earlier is not None else 0.0)
    return _weighing(made, heavier)


def _weighing(move: Move, kg: float) -> Move:
    """With the weight of liquid and solids together, as sure as its litres are; of solids alone their own stands."""
    if move.litres is None or abs(move.litres.value) < LEAST_L:
        return move
    half = abs(kg * move.litres.spread / move.litres.value)
    return replace(move, kg=Estimate(kg, kg - half, kg + half, "kg"))


def _moved(entry: AnyEntry, what: str, source: str, to: str, amounts: Mapping[str, Pair]) -> Move:
    told = {n: _estimate(p, "L" if n == VOLUME else "kg" if n == SOLIDS else "g") for n, p in amounts.items() if p[0]}
    litres, kg = told.pop(VOLUME, None), told.pop(SOLIDS, None)
    return Move(entry, what, source, ANYWHERE.get(to, to), litres, kg, grams=_masses(told))


def _handed(entry: Container, handed: Handed) -> Move:
    if handed.refused is not None and handed.refused_at == handed.at:
        return Move(entry, "refused, stayed", handed.container, handed.to)
    made = _moved(entry, "handed over", handed.container, handed.to, handed.amounts)
    weighed = handed.weighed_kg is not None
    return Move(entry, made.what, made.source, made.to, made.litres, stream_handed(handed).mass_kg, weighed, made.grams)


def _taken(entry: Removal, before: World, after: World) -> Move:
    what = "emptied" if entry.all else "taken out"
    to = entry.to or ""
    if to in after.containers and to not in after.tanks:
        return _gained(entry, what, entry.tank, to, before, after)
    amounts = _out_of(before.tanks.get(entry.tank), after.tanks.get(entry.tank), after.catalogue.spreads, entry.all)
    return _moved(entry, what, entry.tank, to or "not said", amounts)


def _out_of(
    before: TankState | None, after: TankState | None, spreads: Mapping[str, Spread], whole: bool
) -> dict[str, Pair]:
    """What a removal took out of a tank, with the spread of its litres put to all of it alike."""
    if before is None or after is None:
        return {}
    ended = len(after.lives) > len(before.lives)
    booked = after.lives[-1].flows.get("emptied", {}) if ended else after.flows.get("removal", {})
    earlier = {} if ended else before.flows.get("removal", {})
    gone = {n: earlier.get(n, 0.0) - a for n, a in booked.items() if n == VOLUME or n.startswith("mass:")}
    held = max(before.volume_l, 1e-9)
    known = math.sqrt(max(before.gauss.variance(VOLUME), 0.0)) / held if whole else spreads["removal volume"].relative / Z95
    return {n: (a, (known * a) ** 2) for n, a in gone.items()}


def _more(before: ContainerState | None, after: ContainerState | None) -> dict[str, Pair]:
    if after is None:
        return {}
    found = {}
    for name in _names(after):
        value, variance = after.gauss.value(name), after.gauss.variance(name)
        if before is not None and name in before.gauss:
            value, variance = value - before.gauss.value(name), abs(variance - before.gauss.variance(name))
        found[name] = (value, variance)
    return found


def _lost(before: ContainerState | None, after: ContainerState | None) -> dict[str, Pair]:
    if before is None:
        return {}
    found = {}
    for name in _names(before):
        left = after.gauss.value(name) if after is not None and name in after.gauss else 0.0
        variance = after.gauss.variance(name) if after is not None and name in after.gauss else 0.0
        found[name] = (before.gauss.value(name) - left, abs(before.gauss.variance(name) - variance))
    return found


def _names(state: ContainerState) -> list[str]:
    return [n for n in state.gauss.names if n in (VOLUME, SOLIDS) or n.startswith("mass:")]


def _masses(told: Mapping[str, Estimate]) -> dict[str, Estimate]:
    return {n.removeprefix("mass:"): e for n, e in told.items() if n.startswith("mass:")}


def _estimate(pair: Pair, unit: str) -> Estimate:
    half = Z95 * math.sqrt(max(pair[1], 0.0))
    low = max(pair[0] - half, 0.0) if pair[0] >= 0 else pair[0] - half
    return Estimate(pair[0], low, pair[0] + half, unit)
