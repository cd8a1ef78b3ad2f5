"""Entries in order -> the workshop now. Any order of arrival gives what a full replay gives.

The fold is a function of the sorted entries alone. What makes it incremental is only memory: worlds are kept every few entries,
and an entry that arrives late starts again from the last world before it. Decisions about doubtful readings remember at which
entry they were taken, so that they are forgotten when the fold goes back behind it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

from bathkeeper.catalogue.loader import Catalogue
from bathkeeper.entries import AnyEntry, Unknown
from bathkeeper.estimate.happenings import happen
from bathkeeper.estimate.observe import Context, Key, Reconsider
from bathkeeper.estimate.wear import pass_time
from bathkeeper.estimate.world import World, first_descriptions, opening

KEEP_EVERY = 20


@dataclass(frozen=True)
class _Decision:
    """Readings believed after all: taken at entry ``taken_at``, changing the fold from ``since`` on."""

    taken_at: int
    since: int
    keys: frozenset[Key]


class Fold:
    """Holds the worlds of one book's effective entries (corrections already resolved, sorted by time and id)."""

    def __init__(self, catalogue: Catalogue) -> None:
        self._catalogue = catalogue
        self._entries: list[AnyEntry | Unknown] = []
        self._firsts: list[AnyEntry] = []
        self._worlds: dict[int, World] = {}
        self._decisions: list[_Decision] = []

    def take(self, entries: Sequence[AnyEntry | Unknown], described_by: Sequence[AnyEntry] | None = None) -> World:
        """The world after all of ``entries``; only what changed since the last call is worked out anew.

        ``described_by``: first descriptions from a longer book, when the entries are those up to a moment.
        """
        firsts = list(described_by) if described_by is not None else first_descriptions(entries)
        same = 0
        if firsts == self._firsts:
            while same < min(len(entries), len(self._entries)) and entries[same] == self._entries[same]:
                same += 1
        else:
            self._worlds.clear()
            self._decisions.clear()
        self._entries, self._firsts = list(entries), firsts
        if not self._worlds:
            self._worlds = {0: opening(self._catalogue, firsts)}
        self._forget(same)
        return self._replay()

    def retold(self) -> Iterator[tuple[AnyEntry | Unknown, World, World]]:
        """Every entry that was taken, with the world before and after it under the decisions that hold in the end; so that what
        single entries moved adds up to what moved in all."""
        positions = {e.id: i for i, e in enumerate(self._entries)}
        accepted = {key for d in self._decisions for key in d.keys}
        world = self._worlds[0]
        for position, entry in enumerate(self._entries):
            before, world = world, happen(world, entry, Context(position, accepted, positions))
            yield entry, before, world

    def kept(self) -> tuple[int, World, list[_Decision]]:
        """Where the fold stands: the last position with its world, and the decisions taken up to there."""
        position = max(self._worlds)
        return position, self._worlds[position], list(self._decisions)

    def restore(self, entries: Sequence[AnyEntry | Unknown], world: World, decisions: Sequence[_Decision]) -> None:
        """Takes up a world that an earlier fold reached after exactly these entries, in place of reading them again."""
        self._entries, self._firsts = list(entries), first_descriptions(entries)
        self._worlds = {0: opening(self._catalogue, self._firsts), len(entries): world}
        self._decisions = list(decisions)

    def _forget(self, position: int) -> None:
        """Drops every world that depends on entries from ``position`` on, or on a decision taken there."""
        back_to = position
        kept: list[_Decision] = []
        for decision in self._decisions:
            if decision.taken_at >= position:
                back_to = min(back_to, decision.since)
            else:
                kept.append(decision)
        self._decisions = kept
        self._worlds = {k: w for k, w in self._worlds.items() if k <= back_to}

    def _replay(self) -> World:
        positions = {e.id: i for i, e in enumerate(self._entries)}
        position = max(self._worlds)
        world = self._worlds[position]
        while position < len(self._entries):
            accepted = {key for d in self._decisions for key in d.keys}
            try:
                world = happen(world, self._entries[position], Context(position, accepted, positions))
            except Reconsider as found:
                # Under an earlier decision the fold may stand before the entry at which that one was taken; what is decided
                # here then hangs on it.
                taken_at = max([position, *(d.taken_at for d in self._decisions)])
                self._decisions.append(_Decision(taken_at, found.position, found.accepted))
                self._worlds = {k: w for k, w in self._worlds.items() if k <= found.position}
                position = max(self._worlds)
                world = self._worlds[position]
                continue
            position += 1
            if position % KEEP_EVERY == 0 or position == len(self._entries):
                self._worlds[position] = world
        return world


def at_moment(world: World, moment: datetime) -> World:
    """The world with every tank brought to a moment; the world itself stays as it was."""
    for state in list(world.tanks.values()):
        world = world.with_tank(pass_time(state, moment))
    return world
