"""A live run in words: its state with sign and colour, its clock, what was told of the current, every step with its mark."""

from __future__ import annotations

from bathkeeper.runs.live import LiveRun, Stay, Tick
from bathkeeper.showing import shown
from bathkeeper.units.numerals import Preferences

SIGNS = {"waiting": "·", "running": "▶", "over time": "!!", "paused": "=", "finished": "✓", "abandoned": "x"}
STYLES = {
    "waiting": "$foreground",
    "running": "$text-success",
    "over time": "$text-error",
    "paused": "$text-warning",
    "finished": "$text-success",
    "abandoned": "$text-warning",
}


def clock(seconds: float) -> str:
    """``12:05`` minutes and seconds, ``1:02:05`` from an hour on; whole seconds that have passed."""
    whole = int(abs(seconds))
    hours, rest = divmod(whole, 3600)
    return f"{hours}:{rest // 60:02d}:{rest % 60:02d}" if hours else f"{rest // 60}:{rest % 60:02d}"


def left_clock(left_s: float) -> str:
    """Time left, rounded up so that 0:00 is the moment itself; ``+`` once it is over."""
    if left_s <= 0:
        return f"+{clock(-left_s)}"
    return clock(-(-left_s // 1))


def face(run: LiveRun, now: Tick) -> str:
    """What the big clock shows: time left or over; without a wanted time, time in the tank; between tanks, time out of them."""
    left = run.left_s(now)
    if left is not None:
        return left_clock(left)
    waiting = run.waiting_s(now)
    return clock(waiting if waiting is not None else run.elapsed_s(now))


def caption(run: LiveRun, now: Tick) -> str:
    """What the big clock counts."""
    here = run.step
    if here is None:
        if run.number < 0:
            return "since the start; no tank yet"
        return "out of the tanks"
    if here.plan.minutes is None:
        return "in the tank; no time is set"
    left = run.left_s(now) or 0.0
    if left <= 0:
        return f"over the {minutes_text(here.plan.minutes)}"
    until = f", until {_later(now, left)}" if run.phase == "running" else ""
    return f"left of {minutes_text(here.plan.minutes)}{until}"


def _later(now: Tick, seconds: float) -> str:
    from datetime import timedelta

    return f"{now.at + timedelta(seconds=seconds):%H:%M}"


def minutes_text(minutes: float) -> str:
    """Minutes; below one in seconds."""
    return f"{round(minutes, 1):g} min" if minutes >= 1 or minutes == 0 else f"{minutes * 60:.0f} s"


def electric(run: LiveRun, charge_ah: float | None, prefs: Preferences) -> str:
    """Current, volts, temperature, ampere-hours of the present step, or of the one with current that is just over."""
    here = run.step
    if here is None or not here.plan.charged:
        return f"{shown(charge_ah, 'Ah', prefs)} passed" if charge_ah is not None else ""
    told = [
        (f"{c.supply} " if len(here.channels) > 1 and c.supply else "") + shown(c.last_a, "A", prefs)
        for c in here.channels
        if c.last_a is not None
    ]
    said = [" + ".join(told) if told else "! no current told yet: c 6.5A"]
    if charge_ah is not None:
        said.append(f"{shown(charge_ah, 'Ah', prefs)} so far")
    volts = [shown(c.volts[-1], "V", prefs) for c in here.channels if c.volts]
    if here.temperatures_c:
        volts.append(shown(here.temperatures_c[-1], "degC", prefs))
    return " · ".join([*said, *volts])


def wanted(stay: Stay, prefs: Preferences) -> str:
    """What a step is planned with: time, current by supply, temperature."""
    plan = stay.plan
    said = [minutes_text(plan.minutes)] if plan.minutes is not None else []
    if plan.current_a is not None:
        said.append(shown(plan.current_a, "A", prefs))
    said += [f"{b.supply} {shown(b.current_a, 'A', prefs)}" for b in plan.branches if b.current_a is not None]
    if plan.charged and plan.temperature_c is not None:
        said.append(shown(plan.temperature_c, "degC", prefs))
    return ", ".join(said)


def mark(run: LiveRun, stay: Stay) -> str:
    """``NOW``, ``next``, ``skip``, ``done``, or nothing for what is still to come."""
    if run.step is stay:
        return "NOW"
    if run.next_step is stay:
        return "next"
    return "skip" if stay.skipped else "done" if stay.visits else ""


def step_row(run: LiveRun, stay: Stay, now: Tick) -> tuple[str, str, str]:
    """(mark, tank, minutes done of those wanted)."""
    plan = f"{round(stay.plan.minutes, 1):g}" if stay.plan.minutes is not None else ""
    done = f"{run.minutes(stay, now):.1f}" if stay.visits else ""
    minutes = f"{done}/{plan}" if done and plan else done or plan
    return mark(run, stay), stay.tank, minutes


def next_words(run: LiveRun) -> tuple[str, str]:
    """(what comes next in a word or two, what to mind on the way)."""
    following = run.next_step
    if following is None:
        if run.step is not None:
            return "out", "the last step: Enter when the parts come out"
        return "finish", "all steps are behind: Enter or f writes the entry"
    left_out = "may be left out (s)" if following.plan.optional else ""
    return following.tank, ". ".join(t for t in (following.plan.hint, left_out) if t)


def oven_words(run: LiveRun, now: Tick) -> tuple[str, str] | None:
    """(text, style) of the clock to the oven, or of what the rule says while the parts are still to be plated."""
    bake = run.plan.bake
    if bake is None:
        return None
    oven = run.oven(now)
    if oven is None:
        return f"Oven: {bake.what}", "$text-warning"
    if oven.deadline is None or oven.left_s is None:
        return f"Oven: {clock(oven.since_s)} out of the electrolyte. {bake.what}", "$text-warning"
    if oven.left_s <= 0:
        return f"!! Oven: {clock(oven.left_s)} too late (by {oven.deadline:%H:%M}). {bake.what}", "$text-error"
    return f"Oven: by {oven.deadline:%d %b %H:%M}, {clock(oven.left_s)} left. {bake.what}", "$text-warning"


def offer(run: LiveRun, now: Tick) -> str:
    """A line for other screens: that a run is under way, and where it stands."""
    state = run.state(now)
    here = run.step
    over = "over time" if state == "over time" else "left" if run.left_s(now) is not None else "in it"
    where = f"{here.tank} {face(run, now)} {over}" if here is not None else state
    paused = ", paused" if state == "paused" else ""
    return f"{SIGNS[state]} A run is under way (p goes on): {where}{paused}; next {next_words(run)[0]}"
