"""Walking a load through the line: the live run over its file, one act at a time, and its one entry in the book.

The pure machine is ``runs/live.py``, the file ``logbook/live.py``. Every act takes the moment at which it was done; without one
it is now. Two windows may watch one run: an act is refused when another window has moved the run on since this one looked.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from bathkeeper.answers.shapes import Logged
from bathkeeper.bench.meant import NOTHING_LIVE, charged_meant, here_meant, stay_meant, supply_meant, when_meant, where
from bathkeeper.entries import Run
from bathkeeper.findings import Problem
from bathkeeper.ids import new_id
from bathkeeper.logbook.clock import Clock, SystemClock
from bathkeeper.logbook.errors import BookError, DuplicateEntry
from bathkeeper.logbook.live import LiveFile, MovedOn
from bathkeeper.runs import live as runs_live
from bathkeeper.runs.feed import LONGEST_GAP_S, FeedReader
from bathkeeper.runs.live import (
    Abandoned,
    AnyEvent,
    Counted,
    CurrentSet,
    Entered,
    Finished,
    Left,
    LinePlan,
    LiveError,
    LiveRun,
    Noted,
    Paused,
    Repeated,
    Resumed,
    Samples,
    Skipped,
    Started,
    Temperature,
    Tick,
    Timed,
    Volts,
    When,
    fold_live,
)
from bathkeeper.runs.live_charge import Row
from bathkeeper.runs.live_events import at_tick
from bathkeeper.workshop import Workshop

FLUSH_S = 2.0  # a logger's lines are on the disk at most this much later than the next one came
FLUSH_ROWS = 500


@dataclass(frozen=True)
class Fed:
    """What a feed came to: samples taken, lines that were bad, the step's charge, where the run stands, and what is doubtful
    about the charges of the step as it stands."""

    samples: int
    bad: tuple[Problem, ...]
    charge_ah: float | None
    tank: str
    run: LiveRun
    doubts: tuple[str, ...] = ()


class Walk:
    """The live run of one workshop. Like the workshop, not safe to share between threads without a lock of one's own.

    Attributes:
        told: what happened to the live run's file that a person should know, such as a finish healed after a crash.
    """

    def __init__(self, workshop: Workshop, clock: Clock | None = None) -> None:
        self.workshop = workshop
        self.clock = clock if clock is not None else SystemClock()
        self.told: list[str] = []
        self._file: LiveFile | None = None
        self._run: LiveRun | None = None
        self._unread: Problem | None = None
        self._seen = 0
        self._generation = -1
        self._taken = 0

    # -- the live run --------------------------------------------------------------------------------------------------

    def tick(self, at: datetime | None = None) -> Tick:
        """A moment by both clocks: now, or ``at`` as far from now as the wall clock says."""
        wall, mono = self.clock.wall(), self.clock.mono()
        if at is None:
            return Tick(at=wall, mono=mono, session=self.clock.session)
        away_s = (at.astimezone(UTC) - wall.astimezone(UTC)).total_seconds()
        return Tick(at=at, mono=mono + away_s, session=self.clock.session)

    def live(self) -> LiveRun | None:
        """The live run as it stands, whoever moved it; None when there is none. One stat when nothing is new.

        A run whose entry is in the book is over: its file is put away here (``told`` says so).

        Raises:
            BookError: its file cannot be read.
        """
        file = self._live_file()
        if file.refresh() or (self._run is None and file.acts):
            self._fold()
            if self._run is not None and self._done(self._run):
                with file.writing():
                    self._fold()
                    if self._run is not None and self._done(self._run):
                        self._settle(self._run)
        self._seen = self._run.moves if self._run is not None else 0
        return self._run

    @property
    def problems(self) -> list[Problem]:
        """What is wrong with the live run's file, and what was odd about its acts."""
        run = list(self._run.problems) if self._run is not None else []
        return [*self._live_file().problems, *([self._unread] if self._unread else []), *run]

    def start(self, plan: LinePlan, at: datetime | None = None) -> LiveRun:
        """Begins a run; parts are not yet in a tank.

        Raises:
            LiveError: there is a live run already. BookError: it cannot be written.
        """
        self.live()
        file = self._live_file()
        with file.writing():
            self._fold()
            if self._run is not None:
                raise LiveError(f"a run is live already: {where(self._run)}. Go on with it, finish it or abandon it")
            if file.acts or file.damage is not None:
                raise BookError(
                    "The live run's file cannot be used", f"{file.path} holds no start of a run. Have it put aside, then start."
                )
            file.append([runs_live.to_plain(Started(run=new_id(), plan=plan, **at_tick(self.tick(at))))])
            return self._again()

    def enter_next(self, at: datetime | None = None, *, seen: int | None = None) -> LiveRun:
        """Parts go into the next tank (out of the one they are in); after the last they only come out.

        ``seen``: the ``moves`` of the run that was on the screen; else those this bench saw last.

        Raises:
            LiveError: there is no live run, or nothing left to do. MovedOn: another window was quicker. BookError.
        """
        with self._acting(seen) as run:
            following = run.next_step
            if following is not None:
                return self._act(Entered(step=following.number, **at_tick(self.tick(at))))
            if run.step is None:
                raise LiveError("the last step is behind; finish the run, or enter a step again")
            return self._act(Left(**at_tick(self.tick(at))))

    def enter(self, step: str | int, at: datetime | None = None, *, seen: int | None = None) -> LiveRun:
        """Parts go into a step's tank, back or ahead; by tank or number (from 0). Raises as :meth:`enter_next`."""
        with self._acting(seen) as run:
            return self._act(Entered(step=stay_meant(run, step).number, **at_tick(self.tick(at))))

    def leave(self, at: datetime | None = None, *, seen: int | None = None) -> LiveRun:
        """Parts come out of the tank; the next one waits. Raises as :meth:`enter_next`."""
        with self._acting(seen) as run:
            if run.step is None:
                raise LiveError("the parts are in no tank")
            return self._act(Left(**at_tick(self.tick(at))))

    def skip(self, at: datetime | None = None, *, seen: int | None = None) -> LiveRun:
        """Leaves the next step out. Raises as :meth:`enter_next`."""
        with self._acting(seen) as run:
            following = run.next_step
            if following is None:
                raise LiveError("there is no further step to skip; finish the run")
            if following.visits:
                raise LiveError(f"parts have been in {following.tank} already; go on by entering the step that comes")
            return self._act(Skipped(step=following.number, **at_tick(self.tick(at))))

    def repeat(self, at: datetime | None = None, *, seen: int | None = None) -> LiveRun:
        """The step that parts are in, or were in last, once more: its timer begins anew, minutes and charge add up.

        Raises as :meth:`enter_next`."""
        with self._acting(seen) as run:
            if run.last_step is None:
                raise LiveError("nothing was done yet that could be repeated; enter the first tank")
            return self._act(Repeated(step=run.number, **at_tick(self.tick(at))))

    def pause(self, at: datetime | None = None, *, seen: int | None = None) -> LiveRun:
        """Clock and charge of the step stop: current off, or parts out. Raises as :meth:`enter_next`."""
        with self._acting(seen) as run:
            if run.phase != "running":
                raise LiveError("only a step that is running can be paused")
            return self._act(Paused(**at_tick(self.tick(at))))

    def resume(self, at: datetime | None = None, *, seen: int | None = None) -> LiveRun:
        """Clock and charge go on. Raises as :meth:`enter_next`."""
        with self._acting(seen) as run:
            if run.phase != "paused":
                raise LiveError("the run is not paused")
            return self._act(Resumed(**at_tick(self.tick(at))))

    def say(
        self,
        at: datetime | None = None,
        *,
        step: str | int | None = None,
        supply: str | None = None,
        current_a: float | None = None,
        drifted: bool = False,
        counter_ah: float | None = None,
        counter_when: When | None = None,
        volts: float | None = None,
        temperature_c: float | None = None,
        minutes: float | None = None,
        note: str | None = None,
    ) -> LiveRun:
        """Something read or set on the way. Windows may say things at the same time.

        ``step`` (tank, or number from 0): else the one that parts are in; for a current or counter the charged one that they
        are in or just came out of, else the next one with current, else the last. ``drifted``: the current went there evenly
        since it was last told. ``counter_when``: start, middle or end; else start for the first reading, end once the parts
        are out, middle between. ``minutes``: how long the step really took.

        Raises:
            LiveError: no live run, no such step or supply, nothing said, or a number that cannot be. BookError.
        """
        with self._acting(None, contend=False) as run:
            moment = at_tick(self.tick(at))
            named = stay_meant(run, step) if step is not None else None
            events: list[AnyEvent] = []
            if current_a is not None or counter_ah is not None or volts is not None:
                stay = named or charged_meant(run)
                name = supply_meant(stay, supply, self._supplies())
                place = {"step": stay.number, "supply": name, **moment}
                if current_a is not None:
                    events.append(CurrentSet(current_a=current_a, drifted=drifted, **place))
                if counter_ah is not None:
                    events.append(Counted(ah=counter_ah, when=counter_when or when_meant(run, stay, name), **place))
                if volts is not None:
                    events.append(Volts(volts=volts, **place))
            if temperature_c is not None or minutes is not None:
                stay = named or here_meant(run)
                if temperature_c is not None:
                    events.append(Temperature(step=stay.number, temperature_c=temperature_c, **moment))
                if minutes is not None:
                    if not stay.visits:
                        raise LiveError(f"parts were not in {stay.tank} yet; enter it, then say its minutes")
                    events.append(Timed(step=stay.number, minutes=minutes, **moment))
            if note is not None and note.strip():
                events.append(Noted(text=note.strip(), **moment))
            if not events:
                raise LiveError("nothing was said; say a current, a counter, volts, a temperature, minutes or a note")
            return self._act(*events)

    def feed(
        self,
        lines: Iterable[str],
        at: datetime | None = None,
        *,
        source: str = "standard input",
        step: str | int | None = None,
        supply: str | None = None,
        longest_gap_s: float = LONGEST_GAP_S,
    ) -> Fed:
        """Takes a logger's lines (see ``runs/feed.py``) as they come, until there are no more, into the charged step.

        Lines are on the disk within seconds; other windows may go on meanwhile. ``at``: for tests, the moment of all lines.

        Raises:
            LiveError: no live run, no charged step, or a gap that cannot be. BookError.
        """
        if not 0 < longest_gap_s <= 86_400:
            raise LiveError(f"a longest gap of {longest_gap_s:g} s cannot be; give seconds above 0, for example 60")
        reader, feed = FeedReader(), f"feed-{new_id()}"
        with self._acting(None, contend=False) as run:
            stay = stay_meant(run, step) if step is not None else charged_meant(run)
            name = supply_meant(stay, supply, self._supplies())
        held: list[Row] = []
        flushed = self.clock.mono()

        def flush() -> None:
            with self._acting(None, contend=False) as run:
                if run.id != stay_of:
                    raise LiveError("the run that was fed is over; start the logger again for the next one")
                rows = tuple((r.time_s, r.current_a, r.volts) for r in held)
                place = {"step": stay.number, "supply": name, "feed": feed, "source": source, **at_tick(self.tick(at))}
                self._act(Samples(longest_gap_s=longest_gap_s, rows=rows, **place))
            held.clear()

        stay_of = run.id
        for line in lines:
            row = reader.take(line)
            if row is not None:
                held.append(row)
            if held and (len(held) >= FLUSH_ROWS or self.clock.mono() - flushed >= FLUSH_S):
                flush()
                flushed = self.clock.mono()
        if held:
            flush()
        after = self.live()
        if after is None or after.id != stay_of:
            raise LiveError("the run that was fed is over; its entry holds what came before")
        charge = after.charge_ah(self.tick(at), stay.number) if after.stays[stay.number].visits else None
        doubts = tuple(d for d in after.doubts() if d.startswith((f"{stay.tank}:", f"{stay.tank}.")))
        return Fed(reader.rows, tuple(reader.bad), charge, stay.tank, after, doubts)

    def finish(
        self,
        at: datetime | None = None,
        *,
        result: str | None = None,
        defect: str | None = None,
        rejects: int | None = None,
        photos: Sequence[str] = (),
        mass_before_g: float | None = None,
        mass_after_g: float | None = None,
        note: str | None = None,
        seen: int | None = None,
    ) -> Logged:
        """Ends the run, out of whichever tank the parts are in, and writes its one entry into the book.

        Raises:
            LiveError: no live run, or nothing was done. EntryError: what is said of the result cannot be.
            MovedOn: another window was quicker. BookError: the book cannot be written; the run is live still.
        """
        with self._acting(seen) as run:
            end = Finished(
                result=result,
                defect=defect,
                rejects=rejects,
                photos=tuple(photos),
                mass_before_g=mass_before_g,
                mass_after_g=mass_after_g,
                note=note,
                **at_tick(self.tick(at)),
            )
            return self._end(run, end)

    def abandon(self, at: datetime | None = None, reason: str = "", *, seen: int | None = None) -> Logged | None:
        """Gives the run up: what was done goes into the book with a note; None where nothing was. Raises as :meth:`finish`."""
        with self._acting(seen) as run:
            end = Abandoned(reason=reason, **at_tick(self.tick(at)))
            if run.entered:
                return self._end(run, end)
            file = self._live_file()
            if file.damage is None:
                file.append([runs_live.to_plain(end)])
            file.put_away()
            self._fold()
            return None

    def put_aside(self) -> Path:
        """Takes a live file without a readable start out of the way; where it is now.

        Raises:
            LiveError: there is a live run in it, or no file. BookError: it cannot be moved.
        """
        file = self._live_file()
        with file.writing():
            self._fold()
            if self._run is not None:
                raise LiveError(f"a run is live: {where(self._run)}. Finish it or abandon it")
            if not file.path.exists():
                raise LiveError("there is no file of a live run")
            return file.put_aside()

    def entry_so_far(self, at: datetime | None = None) -> dict[str, Any]:
        """The run entry as :meth:`finish` would write it now; nothing is written. Raises LiveError."""
        run = self.live()
        if run is None:
            raise LiveError(NOTHING_LIVE)
        return runs_live.advance(run, Finished(**at_tick(self.tick(at)))).as_run()

    # -- inside --------------------------------------------------------------------------------------------------------

    def _live_file(self) -> LiveFile:
        if self._file is None:
            self._file = LiveFile(self.workshop.book.path)
        return self._file

    def _fold(self) -> None:
        """Takes up the acts that are new; all of them where the file began anew."""
        file = self._live_file()
        if file.generation != self._generation:
            self._generation, self._taken, self._run, self._unread = file.generation, 0, None, None
        for number, act in enumerate(file.acts[self._taken :], start=self._taken + 1):
            try:
                event = runs_live.from_plain(act)
            except LiveError as problem:
                what = f"line {number} of the live run cannot be used: {problem}"
                self._unread = Problem(what=what, right="Finish with the bathkeeper that wrote it.", line=number)
                continue
            self._run = runs_live.advance(self._run, event) if self._run is not None else fold_live([event])
        self._taken = len(file.acts)

    def _again(self) -> LiveRun:
        self._fold()
        assert self._run is not None
        self._seen = self._run.moves
        return self._run

    @contextmanager
    def _acting(self, seen: int | None, *, contend: bool = True) -> Iterator[LiveRun]:
        """Holds the live run, up to date, for an act."""
        file = self._live_file()
        expected = seen if seen is not None else self._seen
        if self._run is None:
            self.live()
            expected = seen if seen is not None else self._seen
        was = self._run.id if self._run is not None else None
        with file.writing():
            self._fold()
            run = self._run
            if run is not None and self._done(run):
                self._settle(run)
                run = None
            if run is None:
                self._seen = 0
                if was is not None:
                    raise MovedOn("The run is over", "Another window finished or abandoned it; nothing was written here.")
                raise LiveError(NOTHING_LIVE)
            if (contend and run.moves != expected) or (was is not None and run.id != was):
                self._seen = run.moves
                raise MovedOn(
                    "Another window moved the run on", f"Nothing was written here. Where it stands: {where(run)}. Look again."
                )
            yield run

    def _act(self, *events: AnyEvent) -> LiveRun:
        plain = [runs_live.to_plain(e) for e in events]
        for raw in plain:
            runs_live.from_plain(raw)  # refused now rather than found wanting when it is read
        self._live_file().append(plain)
        return self._again()

    def _end(self, run: LiveRun, end: Finished | Abandoned) -> Logged:
        """The entry into the book, then the end into the live file, then the file out of the way: in this order, so that a
        crash between leaves either a live run or an entry under its id, never two and never none."""
        runs_live.from_plain(runs_live.to_plain(end))
        raw = runs_live.advance(run, end).as_run()
        file = self._live_file()
        try:
            logged = self.workshop.log(raw)
        except DuplicateEntry:
            self.workshop.refresh()
            self._settle(run)
            raise MovedOn("The run is over", f"Its entry {run.id} is in the book already; nothing was written again.") from None
        if file.damage is None:
            file.append([runs_live.to_plain(end)])
        file.put_away()
        self._fold()
        self._seen = 0
        return logged

    def _done(self, run: LiveRun) -> bool:
        """Whether nothing is left of a run but its file: its entry is in the book, or it was abandoned before anything was
        done."""
        if run.id in self.workshop.book:
            return True
        self.workshop.refresh()
        return run.id in self.workshop.book or (run.abandoned is not None and not run.entered)

    def _settle(self, run: LiveRun) -> None:
        self._live_file().put_away()
        self._fold()
        if run.entered:
            self.told.append(f"the live run is over: its entry {run.id} is in the book")

    def _supplies(self) -> set[str]:
        """Every supply that the book knows by name."""
        runs = [e for e in self.workshop.entries() if isinstance(e, Run)]
        used = {n for r in runs for s in r.steps for n in (s.supply, *(b.supply for b in s.branches)) if n}
        return used | set(self.workshop.catalogue.own.get("supply", {}))
