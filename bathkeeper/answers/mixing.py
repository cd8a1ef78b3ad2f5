"""What is asked before one waste is put to another: what the two would give, and that mixing takes options away."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from bathkeeper.catalogue.loader import CatalogueError
from bathkeeper.entries import RESERVED_PLACES, AnyEntry, Container, Item, Removal, Treatment
from bathkeeper.estimate.state import TankState
from bathkeeper.estimate.wasting import solid_of
from bathkeeper.estimate.world import World
from bathkeeper.refusals import shorten
from bathkeeper.safety.groups import Vessel, reagent_groups
from bathkeeper.safety.meeting import Meeting, meetings
from bathkeeper.waste.meeting_streams import KeepApart, meeting_of, stream_groups
from bathkeeper.waste.saying import origins_said
from bathkeeper.waste.stream import Origin, Stream
from bathkeeper.waste.streams import stream_of, stream_of_tank

NEUTRALISING = ({"acid", "alkali"}, {"acid", "carbonate"})
"""What a treatment brings together on purpose: the caution of the reagent tells how."""
FILLS = ("opened", "put in")
POURED = ("bath", "rinse water", "chemicals")
"""What mixes with all that is there; of solids only what they would give is told."""
MOST_ORIGINS = 3


def mixing_doubts(entry: AnyEntry, world: World) -> list[str]:
    """Sentences about what an entry would put together, the worst first; none where the target is empty or holds the same kind.

    ``world`` stands at the moment of the entry, before it.
    """
    target = _target(entry, world)
    if target is not None and not target.origins:
        target = None
    told = list(_reagents(entry, target, world)) if isinstance(entry, Container) else []
    source = _source(entry, world) if target is not None else None
    if source is not None and target is not None:
        groups = stream_groups(source, world.catalogue), stream_groups(target, world.catalogue)
        told += _said(entry, source, target, meeting_of(source, target, *groups))
    if told and target is not None and target.name in world.containers:
        told[-1] += f" In {shorten(target.name)} is: {origins_said(target.origins, most=MOST_ORIGINS)}"
    return told


def _said(entry: AnyEntry, source: Stream, target: Stream, found: list[KeepApart]) -> Iterator[str]:
    other = not _kinds(source) <= _kinds(target) and (isinstance(entry, Removal) or _poured(entry))
    for told in found:
        if told.verdict != "keep apart" or other:
            how = {"never": "never together", "with care": "only with care", "keep apart": "better kept apart"}[told.verdict]
            yield f"{shorten(source.name)} and {shorten(target.name)}, {how}: {told.gives}. {told.text}"


def _poured(entry: AnyEntry) -> bool:
    return isinstance(entry, Container) and (entry.action == "moved" or (entry.action in FILLS and entry.what in POURED))


def _kinds(stream: Stream) -> set[tuple[str, str]]:
    return {(o.what, o.role) for o in stream.origins}


def _reagents(entry: Container, target: Stream | None, world: World) -> Iterator[str]:
    """What goes in by name against what is there, and against one another."""
    vessels = [_vessel(item, world) for item in entry.items]
    pairs = list(combinations(vessels, 2))
    if target is not None:
        there = Vessel(name=target.name, kind="container", groups=stream_groups(target, world.catalogue))
        pairs = [*((v, there) for v in vessels), *pairs]
    found = [m for pair in pairs for m in meetings(pair) if not (entry.action == "treated" and _on_purpose(m))]
    for told in sorted(found, key=lambda m: m.verdict != "never"):
        how = "never together" if told.verdict == "never" else "only with care"
        more = f" {told.dose}" if told.dose else ""
        yield f"{shorten(told.a)} and {shorten(told.b)}, {how}: {told.gives}. {told.text}{more}"


def _on_purpose(meeting: Meeting) -> bool:
    return set(meeting.groups) in NEUTRALISING


def _vessel(item: Item, world: World) -> Vessel:
    try:
        name = world.catalogue.reagent(item.reagent).name
    except CatalogueError:
        name = item.reagent
    return Vessel(name=name, kind="reagent", groups=reagent_groups(name, world.catalogue))


def _source(entry: AnyEntry, world: World) -> Stream | None:
    """What would be poured out, or put in."""
    if isinstance(entry, Removal):
        state = world.tanks.get(entry.tank)
        return stream_of_tank(state) if state is not None and state.alive else None
    if isinstance(entry, Treatment) and entry.to is not None:
        return _solids(entry, solid_of(entry.what), entry.tank or "", world)
    if isinstance(entry, Container) and entry.action == "moved":
        held = world.containers.get(entry.container)
        return stream_of(held) if held is not None and not held.empty else None
    if isinstance(entry, Container) and entry.action in FILLS and entry.what is not None:
        tank = world.tanks.get(entry.tank or "")
        if tank is not None and tank.alive and entry.what in POURED:
            return stream_of_tank(tank)
        return _solids(entry, entry.what, entry.tank or "", world)
    return None


def _solids(entry: Container | Treatment, what: str, tank: str, world: World) -> Stream:
    """Rags, filters, sludge and the like, of which nothing but the kind and the tank is known."""
    state: TankState | None = world.tanks.get(tank)
    role, recipe = (state.entry.role, state.entry.recipe) if state is not None else ("", None)
    origin = Origin(at=entry.at, entry=entry.id, what=what, tank=tank, role=role, recipe=recipe)  # type: ignore[arg-type]
    name = f"{what} from {tank}" if tank else what
    return Stream(name=name, since=entry.at, origins=(origin,), amounts={}, species={}, complete=False)


def _target(entry: AnyEntry, world: World) -> Stream | None:
    """What it would be poured to, or put into."""
    into = isinstance(entry, Container) and entry.action in (*FILLS, "treated")
    to = entry.container if into and isinstance(entry, Container) else getattr(entry, "to", None)
    if to is None or to in RESERVED_PLACES or (isinstance(entry, Container) and entry.action == "handed over"):
        return None
    tank: TankState | None = world.tanks.get(to)
    if tank is not None:
        return stream_of_tank(tank) if tank.alive else None
    held = world.containers.get(to)
    return stream_of(held) if held is not None and not held.empty else None
