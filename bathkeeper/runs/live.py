"""A live run: its events folded into where it stands, and the run entry that it becomes. Pure: no clock, no file.

Time is counted on one axis that never runs back. Within a session (see :class:`Tick`) the machine's own counter counts, so that
a changed wall clock changes nothing; from one session to the next the wall clock does, so that a closed laptop or a crash loses
no time. A wall clock set back between sessions leaves no way to know: the time is told as a problem and counted as nothing.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace

from bathkeeper.entries.words import MOST
from bathkeeper.findings import Problem
from bathkeeper.runs.live_charge import Channel, Point, Read, Row
from bathkeeper.runs.live_events import (
    EVENTS,
    KINDS,
    MOVES,
    Abandoned,
    AnyEvent,
    Counted,
    CurrentSet,
    Entered,
    Finished,
    Kind,
    Left,
    LinePlan,
    LiveError,
    Noted,
    Paused,
    PlannedBake,
    PlannedBranch,
    PlannedStep,
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
    from_plain,
    to_plain,
)
from bathkeeper.runs.live_run import STATES, LiveRun, Oven, Phase, Stay, place

__all__ = [
    "EVENTS",
    "KINDS",
    "MOVES",
    "STATES",
    "Abandoned",
    "AnyEvent",
    "Channel",
    "Counted",
    "CurrentSet",
    "Entered",
    "Finished",
    "Kind",
    "Left",
    "LinePlan",
    "LiveError",
    "LiveRun",
    "Noted",
    "Oven",
    "Paused",
    "Phase",
    "PlannedBake",
    "PlannedBranch",
    "PlannedStep",
    "Repeated",
    "Resumed",
    "Samples",
    "Skipped",
    "Started",
    "Stay",
    "Temperature",
    "Tick",
    "Timed",
    "Volts",
    "When",
    "advance",
    "fold_live",
    "from_plain",
    "to_plain",
]  # fmt: skip

SLACK_S = 2.0  # two windows write within moments of one another; less than this backwards is no fault
CLOCK_MOVED_S = 120.0
LONG_CLOSED_S = 12 * 3600.0  # parts forgotten in a tank, or a clock that was set: worth asking


def fold_live(events: Iterable[AnyEvent]) -> LiveRun | None:
    """Where a run stands after its events; None without a start. Never raises: what cannot be is told among ``problems``."""
    run: LiveRun | None = None
    for event in events:
        if run is not None:
            run = _take(run, event)
        elif isinstance(event, Started):
            run = _start(event)
    return run


def advance(run: LiveRun, event: AnyEvent) -> LiveRun:
    """The run after one more event, as :func:`fold_live` would have it."""
    return _take(run, event)


# -- folding -----------------------------------------------------------------------------------------------------------


def _start(event: Started) -> LiveRun:
    stays = []
    for number, step in enumerate(event.plan.steps):
        channels = [Channel(b.supply, b.anodes, b.current_a) for b in step.branches]
        if step.charged and not channels:
            channels = [Channel(step.supply, (), step.current_a)]
        stays.append(Stay(number, step, channels=tuple(channels)))
    return LiveRun(
        id=event.run,
        plan=event.plan,
        stays=tuple(stays),
        started=event.tick,
        moves=1,
        sequence=1,
        last=event.tick,
        _sessions={event.session: (0.0, event.tick)},
    )


def _take(run: LiveRun, event: AnyEvent) -> LiveRun:
    if not math.isfinite(event.mono) or event.at.utcoffset() is None:
        return _odd(replace(run, sequence=run.sequence + 1), f"an act ({_word(event)}) without a moment", "it is passed over")
    run = _on_the_axis(run, event.tick)
    run = replace(run, sequence=run.sequence + 1, moves=run.moves + isinstance(event, MOVES))
    if run.phase == "over":
        return _odd(run, f"an act ({_word(event)}) after the run was over", "it is passed over; log what it told by hand")
    step = getattr(event, "step", None)
    if step is not None and not 0 <= step < len(run.stays):
        return _odd(run, f"an act ({_word(event)}) on step {step + 1} of {len(run.stays)}", "it is passed over")
    match event:
        case Started():
            return _odd(run, "the run was started twice", "the first start holds")
        case Entered() | Repeated():
            return _enter(_leave(run, event.tick), event.step)
        case Left():
            return _leave(run, event.tick) if run.step is not None else run
        case Skipped():
            if run.stays[event.step].visits:
                return _odd(run, f"{run.stays[event.step].tank} was skipped after parts had been in it", "what was done counts")
            return _with(run, replace(run.stays[event.step], skipped=True))
        case Paused():
            return _pause(run)
        case Resumed():
            if run.phase != "paused":
                return run
            return replace(_with(run, replace(run.stays[run.number], since_t=run._t)), phase="running")
        case CurrentSet() | Counted() | Volts() | Samples():
            return _electric(run, event)
        case Temperature():
            stay = run.stays[event.step]
            return _with(run, replace(stay, temperatures_c=(*stay.temperatures_c, event.temperature_c)))
        case Timed():
            return _with(run, replace(run.stays[event.step], told_minutes=event.minutes))
        case Noted():
            return replace(run, notes=(*run.notes, event.text))
        case Finished():
            return replace(_leave(run, event.tick), phase="over", finished=event)
        case Abandoned():
            return replace(_leave(run, event.tick), phase="over", abandoned=event)


def _on_the_axis(run: LiveRun, tick: Tick) -> LiveRun:
    t, back_s, moved_s = place(run._sessions, run._t, run.last or run.started, tick)
    known = tick.session in run._sessions
    sessions = run._sessions if known else {**run._sessions, tick.session: (t, tick)}
    where = f" in {run.step.tank}" if run.step is not None else ""
    if back_s > SLACK_S and known:
        what = f"an act is dated {_span(back_s)} before the one before it"
        run = _odd(run, what, "it counts as done at the same moment")
    elif back_s > SLACK_S:
        what = f"the clock was set back by {_span(back_s)} or more while the program was closed; that time{where} is not known"
        run = _odd(run, what, "it counts as nothing; say the true minutes of the step")
    if not known and run.step is not None and t - run._t > LONG_CLOSED_S:
        what = f"the program was closed for {_span(t - run._t)} with parts{where}"
        run = _odd(run, what, "it counts by the wall clock; say the true minutes of the step if the clock was set")
    if known and moved_s > CLOCK_MOVED_S and not any("was moved" in p.what for p in run.problems):
        what = f"the wall clock was moved by {_span(moved_s)} while the run was going"
        run = _odd(run, what, "times are counted by the machine's own counter; say the minutes of a step if they are wrong")
    return replace(run, last=tick, _t=t, _sessions=sessions)


def _enter(run: LiveRun, number: int) -> LiveRun:
    stay = run.stays[number]
    stay = replace(stay, since_t=run._t, visits=stay.visits + 1, visit_clock_s=stay.clock_s, skipped=False)
    return replace(_with(run, stay), number=number, phase="running")


def _leave(run: LiveRun, tick: Tick) -> LiveRun:
    stay = run.step
    if stay is None:
        return run
    stay = replace(stay, clock_s=stay.clock_at(run._t), since_t=None, left=tick, left_t=run._t)
    return replace(_with(run, stay), phase="waiting")


def _pause(run: LiveRun) -> LiveRun:
    stay = run.step
    if run.phase != "running" or stay is None:
        return run
    return replace(_with(run, replace(stay, clock_s=stay.clock_at(run._t), since_t=None)), phase="paused")


def _electric(run: LiveRun, event: CurrentSet | Counted | Volts | Samples) -> LiveRun:
    stay = run.stays[event.step]
    numbers = [getattr(event, n) for n in ("current_a", "ah", "volts") if hasattr(event, n)]
    if not all(0 <= n <= MOST for n in numbers):
        return _odd(run, f"{stay.tank}: {numbers[0]} is no number that a supply shows", "it is passed over")
    place = stay.channel(event.supply)
    if place is None and event.supply is None and stay.channels:
        names = ", ".join(c.supply or "unnamed" for c in stay.channels)
        return _odd(run, f"{stay.tank}: which supply? There are {names}", "it is passed over; name one of them")
    channels = list(stay.channels)
    if place is None:
        channels.append(Channel(event.supply))
        place = len(channels) - 1
    channel = channels[place]
    if channel.supply is None and event.supply is not None:
        channel = replace(channel, supply=event.supply)
    clock = stay.clock_at(run._t)
    match event:
        case CurrentSet():
            channel = replace(channel, points=(*channel.points, Point(clock, event.current_a, event.drifted)))
        case Counted():
            channel = replace(channel, reads=(*channel.reads, Read(clock, event.ah, event.when)))
        case Volts():
            channel = replace(channel, volts=(*channel.volts, event.volts))
        case Samples():
            rows = tuple(Row(*r) for r in event.rows)
            channel = channel.fed(event.feed, event.source, event.longest_gap_s, rows)
    channels[place] = channel
    return _with(run, replace(stay, channels=tuple(channels)))


def _with(run: LiveRun, stay: Stay) -> LiveRun:
    return replace(run, stays=(*run.stays[: stay.number], stay, *run.stays[stay.number + 1 :]))


def _odd(run: LiveRun, what: str, right: str) -> LiveRun:
    return replace(run, problems=(*run.problems, Problem(what=what, right=right, entry=run.id)))


def _word(event: AnyEvent) -> str:
    return str(event.__struct_config__.tag)


def _span(seconds: float) -> str:
    minutes = seconds / 60
    return f"{seconds:.0f} s" if minutes < 2 else f"{minutes:.0f} min" if minutes < 120 else f"{minutes / 60:.1f} h"
