"""What the app holds of the bench: a Bench for the book on the desk, the live run as last seen, when to sound the bell."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from textual.message import Message

from bathkeeper.logbook.clock import Clock, SystemClock
from bathkeeper.runs.live import LiveRun, Tick
from bathkeeper.units.numerals import Preferences
from bathkeeper.workshop import Workshop

if TYPE_CHECKING:
    from bathkeeper.bench import Bench

NO_HABITS = Preferences()
RING_AGAIN_S = 60.0  # while nobody lifts the parts out


@dataclass(frozen=True)
class LiveSeen:
    """The live run as a look at it found it. ``charge_ah``: of the present or last charged step, worked out beside the screen;
    ``odd``: what its entry's note will say; ``told``: what happened to its file; ``trouble``: why it cannot be read."""

    run: LiveRun | None = None
    charge_ah: float | None = None
    odd: tuple[str, ...] = ()
    told: tuple[str, ...] = ()
    trouble: str = ""
    prefs: Preferences = NO_HABITS


def seen_by(bench: Bench, run: LiveRun | None) -> LiveSeen:
    """What a screen needs of a run, with everything that takes time worked out."""
    told, bench.told[:] = tuple(bench.told), []
    problems = tuple(f"{p.what}; {p.right}" for p in bench.problems)
    if run is None:
        return LiveSeen(None, None, problems, told, prefs=bench.workshop.preferences)
    return LiveSeen(run, run.charge_ah(bench.tick()), problems, told, prefs=bench.workshop.preferences)


class LiveShown(Message):
    """The live run was looked at, or moved on by this window."""

    def __init__(self, seen: LiveSeen) -> None:
        super().__init__()
        self.seen = seen


class ActRefused(Message):
    """An act at the bench that could not be; in a sentence, what would be right."""

    def __init__(self, title: str, text: str) -> None:
        super().__init__()
        self.title = title
        self.text = text


class RunLogged(Message):
    """The live run is over: ``changes`` of its entry, None where nothing was done and nothing written."""

    def __init__(self, changes: list[str] | None) -> None:
        super().__init__()
        self.changes = changes


class AtBench:
    """One for an app. Its clock may be read from any thread; :meth:`of` is called by whoever has the workshop to himself."""

    def __init__(self, clock: Clock | None = None) -> None:
        self.clock: Clock = clock if clock is not None else SystemClock()
        self.seen = LiveSeen()
        self.looking = False
        self._over: str | None = None
        self._bench: Bench | None = None
        self._rung: tuple[object, float] | None = None

    def of(self, workshop: Workshop) -> Bench:
        """The bench of a workshop."""
        from bathkeeper.bench import Bench

        if self._bench is None or self._bench.workshop is not workshop:
            self._bench = Bench(workshop, self.clock)
        return self._bench

    def take(self, seen: LiveSeen) -> bool:
        """Takes up a look at the run, unless a later one was quicker. Whether it was taken up."""
        run, known = seen.run, self.seen.run
        if run is not None and run.id == self._over:
            return False
        if run is not None and known is not None and run.id == known.id and run.sequence < known.sequence:
            return False
        self.seen = seen
        return True

    def is_over(self) -> None:
        """This window ended the run."""
        if self.seen.run is not None:
            self._over = self.seen.run.id
        self.seen = LiveSeen(prefs=self.seen.prefs)

    def now(self) -> datetime:
        """The moment by the wall clock."""
        return self.clock.wall()

    def tick(self) -> Tick:
        """The moment by both clocks."""
        return Tick(at=self.clock.wall(), mono=self.clock.mono(), session=self.clock.session)

    def rings(self) -> bool:
        """Whether the bell is to sound: once when a step's time is up, then every minute until the parts are out."""
        run = self.seen.run
        if run is None or run.state(self.tick()) != "over time":
            self._rung = None
            return False
        left = run.left_s(self.tick()) or 0.0
        step = run.step
        stay = (run.id, run.number, step.visits if step is not None else 0)
        if self._rung is not None and self._rung[0] == stay and self._rung[1] - left < RING_AGAIN_S:
            return False
        self._rung = (stay, left)
        return True
