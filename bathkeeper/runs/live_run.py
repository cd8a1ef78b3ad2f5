"""Where a live run stands, and the run entry that it becomes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import Any, Literal

from bathkeeper.findings import Problem
from bathkeeper.runs.live_charge import Channel, tell
from bathkeeper.runs.live_events import Abandoned, Finished, LinePlan, LiveError, PlannedBake, PlannedStep, Tick, moment_text

Phase = Literal["waiting", "running", "paused", "over"]
STATES = ("waiting", "running", "over time", "paused", "finished", "abandoned")
"""Words for :meth:`LiveRun.state`."""

ROUND_MINUTES = 1  # decimals: 0.1 min, six seconds, is what a person writes down at most


@dataclass(frozen=True)
class Stay:
    """One step so far. ``clock_s``: seconds in the tank without pauses, up to ``since_t`` where it runs on.

    ``visits``: how often parts went in; ``visit_clock_s``: the clock when they last did. ``left``: when they last came out.
    """

    number: int
    plan: PlannedStep
    clock_s: float = 0.0
    since_t: float | None = None
    visits: int = 0
    visit_clock_s: float = 0.0
    skipped: bool = False
    told_minutes: float | None = None
    temperatures_c: tuple[float, ...] = ()
    channels: tuple[Channel, ...] = ()
    left: Tick | None = None
    left_t: float | None = None

    @property
    def tank(self) -> str:
        return self.plan.tank

    def clock_at(self, t: float) -> float:
        """Seconds on the step's clock at a point of the axis."""
        return self.clock_s + (max(0.0, t - self.since_t) if self.since_t is not None else 0.0)

    def channel(self, supply: str | None) -> int | None:
        """Which channel a supply's name means; None where it could mean several, or a new one."""
        names = [c.supply for c in self.channels]
        if supply in names:
            return names.index(supply)
        if supply is None:
            return 0 if len(names) == 1 else None
        only = self.channels[0] if names == [None] else None  # one without a name takes the first name that it is given
        return 0 if only is not None and not (only.points or only.reads or only.feeds) else None


@dataclass(frozen=True)
class Oven:
    """The clock from leaving the electrolyte to the oven. ``left_s`` is below zero when the oven comes too late."""

    bake: PlannedBake
    since_s: float
    deadline: datetime | None
    left_s: float | None


@dataclass(frozen=True)
class LiveRun:
    """Where a live run stands.

    Attributes:
        id: that its entry in the book will have. plan: as started. stays: one for each step of the plan.
        number: index of the step that parts are in, or were in last; -1 before the first.
        phase: ``waiting`` (between tanks), ``running`` (in one), ``paused``, ``over`` (finished or abandoned).
        moves: how many acts have moved it on; two windows contend for the next. sequence: how many events there are.
        problems: what was odd or unknown, to be shown; they go into the entry's note.
    """

    id: str
    plan: LinePlan
    stays: tuple[Stay, ...]
    started: Tick
    number: int = -1
    phase: Phase = "waiting"
    moves: int = 0
    sequence: int = 0
    problems: tuple[Problem, ...] = ()
    notes: tuple[str, ...] = ()
    finished: Finished | None = None
    abandoned: Abandoned | None = None
    last: Tick | None = None
    _t: float = 0.0
    _sessions: Mapping[str, tuple[float, Tick]] = field(default_factory=dict)

    # -- where it stands -----------------------------------------------------------------------------------------------

    @property
    def step(self) -> Stay | None:
        """The step that parts are in; None while they are in no tank."""
        return self.stays[self.number] if self.phase in ("running", "paused") and self.number >= 0 else None

    @property
    def last_step(self) -> Stay | None:
        """The step that parts are in, or were in last."""
        return self.stays[self.number] if self.number >= 0 else None

    @property
    def next_step(self) -> Stay | None:
        """The step that comes next, those skipped passed over; None after the last."""
        return next((s for s in self.stays[self.number + 1 :] if not s.skipped), None) if self.phase != "over" else None

    @property
    def entered(self) -> tuple[Stay, ...]:
        """The steps that parts have been in."""
        return tuple(s for s in self.stays if s.visits)

    @property
    def settled(self) -> bool:
        """Whether the last step is behind, so that nothing is left but to finish."""
        return self.phase == "waiting" and self.number >= 0 and self.next_step is None

    def t(self, now: Tick) -> float:
        """Seconds since the start on the axis that never runs back."""
        return place(self._sessions, self._t, self.last or self.started, now)[0]

    def elapsed_s(self, now: Tick) -> float:
        """Seconds that parts have been in this tank since they last went in, without pauses; of the last step between tanks;
        0 before the first."""
        stay = self.last_step
        return stay.clock_at(self.t(now)) - stay.visit_clock_s if stay is not None else 0.0

    def left_s(self, now: Tick) -> float | None:
        """Seconds left of the time wanted, below zero when over; None in no tank or without a wanted time."""
        stay = self.step
        return stay.plan.minutes * 60 - self.elapsed_s(now) if stay is not None and stay.plan.minutes is not None else None

    def state(self, now: Tick) -> str:
        """One of :data:`STATES`."""
        if self.phase == "over":
            return "finished" if self.finished is not None else "abandoned"
        left = self.left_s(now)
        return "over time" if self.phase == "running" and left is not None and left <= 0 else self.phase

    def waiting_s(self, now: Tick) -> float | None:
        """Seconds that parts have been out of every tank; None while they are in one."""
        if self.phase != "waiting":
            return None
        out = [s.left_t for s in self.stays if s.left_t is not None]
        return max(0.0, self.t(now) - max(out, default=0.0))

    def minutes(self, stay: Stay, now: Tick | None = None) -> float:
        """Minutes in a step in all, as told or as counted (not rounded)."""
        if stay.told_minutes is not None:
            return stay.told_minutes
        return stay.clock_at(self.t(now) if now is not None else self._t) / 60

    def charge_ah(self, now: Tick, step: int | None = None, supply: str | None = None) -> float | None:
        """Ah that have passed in a step (the present one, else the last with current) through a supply, or all of them; None
        where nothing is known."""
        stay = self.charged_stay() if step is None else self.stays[step]
        if stay is None or not stay.visits:
            return None
        total_s = stay.clock_at(self.t(now))
        minutes = self.minutes(stay, now)
        told = [tell(c, total_s, minutes, "") for c in stay.channels if supply is None or c.supply == supply]
        known = [t.ah for t in told if t.charge is not None]
        return sum(known) if known else None

    def current_a(self, supply: str | None = None) -> float | None:
        """The current through a supply, or through all, as last told or planned, A; None in no charged tank."""
        stay = self.step
        if stay is None:
            return None
        known = [c.last_a for c in stay.channels if (supply is None or c.supply == supply) and c.last_a is not None]
        return sum(known) if known else None

    def charged_stay(self) -> Stay | None:
        """The charged step that parts are in, else the one that they were in last."""
        here = self.step
        if here is not None and here.plan.charged:
            return here
        left = [s for s in self.stays if s.visits and s.plan.charged]
        return max(left, key=lambda s: s.left_t if s.left_t is not None else -1.0, default=None)

    # -- after plating -------------------------------------------------------------------------------------------------

    @property
    def plated(self) -> Stay | None:
        """The plating step that parts left last, unless they are in it again."""
        if self.step is not None and self.step.plan.role == "plate":
            return None
        left = [s for s in self.stays if s.plan.role == "plate" and s.left_t is not None]
        return max(left, key=lambda s: s.left_t or 0.0, default=None)

    def to_oven(self, now: Tick) -> float | None:
        """Seconds since parts left the electrolyte; None before."""
        stay = self.plated
        return max(0.0, self.t(now) - (stay.left_t or 0.0)) if stay is not None else None

    def oven(self, now: Tick) -> Oven | None:
        """The clock to the oven, where the parts need one and have left the electrolyte."""
        since, stay = self.to_oven(now), self.plated
        if self.plan.bake is None or since is None or stay is None or stay.left is None:
            return None
        hours = self.plan.bake.start_within_h
        if hours is None:
            return Oven(self.plan.bake, since, None, None)
        deadline = (stay.left.at.astimezone(UTC) + timedelta(hours=hours)).astimezone(stay.left.at.tzinfo)
        return Oven(self.plan.bake, since, deadline, hours * 3600 - since)

    # -- the entry -----------------------------------------------------------------------------------------------------

    def as_run(self) -> dict[str, Any]:
        """The run entry as plain values, with the id that was fixed at the start; as one would type it.

        One step for each tank that parts were in, in the order of the plan; minutes to 0.1. Its moment is the end of plating,
        from which a bake is counted, else the end of the last stay.

        Raises:
            LiveError: parts were in no tank yet.
        """
        if not self.entered:
            raise LiveError("nothing is done yet: no parts went into a tank. Enter the first tank, or abandon the run")
        steps: dict[str, dict[str, Any]] = {}
        doubts: list[str] = []
        for stay in self.entered:
            made, said = self._step(stay)
            doubts += said
            steps[stay.tank] = made
        raw: dict[str, Any] = {"kind": "run", "id": self.id, "at": moment_text(self._moment()), "steps": list(steps.values())}
        if self.plan.parts:
            raw["parts"] = [dict(p) for p in self.plan.parts]
        if self.plan.typed:
            raw["typed"] = dict(self.plan.typed)
        end = self.finished
        if end is not None:
            for name in ("result", "defect", "rejects", "mass_before_g", "mass_after_g"):
                if getattr(end, name) is not None:
                    raw[name] = getattr(end, name)
            if end.photos:
                raw["photos"] = list(end.photos)
        given_up = [f"abandoned: {self.abandoned.reason}".rstrip(": ")] if self.abandoned is not None else []
        said_at_end = [end.note] if end is not None and end.note else []
        note = "; ".join([*given_up, *self.notes, *said_at_end, *(p.what for p in self.problems), *doubts])
        if note:
            raw["note"] = note[:20_000]
        return raw

    def doubts(self) -> list[str]:
        """What is doubtful about minutes and charges as they stand; with ``problems``, what the entry's note will say."""
        return [said for stay in self.entered for said in self._step(stay)[1]]

    def _moment(self) -> datetime:
        plated = [s for s in self.entered if s.plan.role == "plate"]
        out = [s.left for s in plated or self.entered if s.left is not None]
        last = max(out, key=lambda tick: tick.at, default=None)
        return (last or self.last or self.started).at

    def _step(self, stay: Stay) -> tuple[dict[str, Any], list[str]]:
        total_s = stay.clock_at(self._t)
        minutes = round(self.minutes(stay), ROUND_MINUTES)
        step: dict[str, Any] = {"tank": stay.tank, "minutes": minutes}
        doubts: list[str] = []
        branches: list[dict[str, Any]] = []
        for channel in stay.channels:
            named = f"{stay.tank}.{channel.supply}" if channel.supply is not None and len(stay.channels) > 1 else stay.tank
            told = tell(channel, total_s, minutes, named, sealed=True)
            doubts += told.problems
            if told.charge is None:
                continue
            branch: dict[str, Any] = {"charge": told.charge}
            if channel.supply is not None:
                branch["supply"] = channel.supply
            if channel.anodes:
                branch["anodes"] = list(channel.anodes)
            if channel.mean_volts is not None:
                branch["volts"] = channel.mean_volts
            branches.append(branch)
        if stay.plan.charged and not branches:
            doubts.append(f"{stay.tank}: no current was told")
        if len(branches) == 1 and not {"anodes", "volts"} & branches[0].keys():
            step |= branches[0]
        elif branches:
            step["branches"] = branches
        if stay.temperatures_c:
            step["temperature_c"] = round(sum(stay.temperatures_c) / len(stay.temperatures_c), 1)
        if stay.plan.dummy and branches:
            step["dummy"] = True
        return step, doubts


def place(sessions: Mapping[str, tuple[float, Tick]], t: float, last: Tick, tick: Tick) -> tuple[float, float, float]:
    """(seconds on the axis, seconds that the moment lies before the last one, seconds that the wall clock was moved)."""
    if tick.session in sessions:
        base, first = sessions[tick.session]
        at = base + tick.mono - first.mono
        moved = abs((tick.at.astimezone(UTC) - first.at.astimezone(UTC)).total_seconds() - (tick.mono - first.mono))
    else:
        at = t + (tick.at.astimezone(UTC) - last.at.astimezone(UTC)).total_seconds()
        moved = 0.0
    return max(at, t), max(0.0, t - at), moved
