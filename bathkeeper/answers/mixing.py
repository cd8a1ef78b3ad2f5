"""What is asked before one waste is put to another: what the two would give, and that mixing takes options away."""

from __future__ import annotations

from collections.abc import Iterator

from bathkeeper.entries import RESERVED_PLACES, AnyEntry, Container, Removal
from bathkeeper.estimate.state import TankState
from bathkeeper.estimate.world import World
from bathkeeper.refusals import shorten
from bathkeeper.waste.meeting_streams import KeepApart, meeting_of, stream_groups
from bathkeeper.waste.stream import Stream
from bathkeeper.waste.streams import stream_of, stream_of_tank


def mixing_doubts(entry: AnyEntry, world: World) -> list[str]:
    """Sentences about what an entry would put together, the worst first; none where the target is empty or holds the same kind.

    ``world`` stands at the moment of the entry, before it.
    """
    source, target = _source(entry, world), _target(entry, world)
    if source is None or target is None or not target.origins:
        return []
    groups = stream_groups(source, world.catalogue), stream_groups(target, world.catalogue)
    return list(_said(source, target, meeting_of(source, target, *groups)))


def _said(source: Stream, target: Stream, found: list[KeepApart]) -> Iterator[str]:
    other = not _kinds(source) <= _kinds(target)
    for told in found:
        if told.verdict != "keep apart" or other:
            how = {"never": "never together", "with care": "only with care", "keep apart": "better kept apart"}[told.verdict]
            yield f"{shorten(source.name)} and {shorten(target.name)}, {how}: {told.gives}. {told.text}"


def _kinds(stream: Stream) -> set[tuple[str, str]]:
    return {(o.what, o.role) for o in stream.origins}


def _source(entry: AnyEntry, world: World) -> Stream | None:
    """What would be poured out."""
    if isinstance(entry, Removal):
        state = world.tanks.get(entry.tank)
        return stream_of_tank(state) if state is not None and state.alive else None
    if isinstance(entry, Container) and entry.action == "moved":
        held = world.containers.get(entry.container)
        return stream_of(held) if held is not None and not held.empty else None
    return None


def _target(entry: AnyEntry, world: World) -> Stream | None:
    """What it would be poured to."""
    to = getattr(entry, "to", None)
    if to is None or to in RESERVED_PLACES:
        return None
    tank: TankState | None = world.tanks.get(to)
    if tank is not None:
        return stream_of_tank(tank) if tank.alive else None
    held = world.containers.get(to)
    return stream_of(held) if held is not None and not held.empty else None
