"""Which step and supply are meant by what is said at the bench, and where a run stands in a few words."""

from __future__ import annotations

from bathkeeper.runs.live import LiveError, LiveRun, Stay, When

NOTHING_LIVE = "there is no live run; plan and start one"


def where(run: LiveRun) -> str:
    here = run.step
    if here is not None:
        said = f"{'paused in' if run.phase == 'paused' else 'parts are in'} {here.tank}"
    elif run.last_step is not None:
        said = f"parts are out of {run.last_step.tank}"
    else:
        said = "no tank was entered yet"
    following = run.next_step
    return f"{said}, next is {following.tank}" if following is not None else f"{said}, nothing comes after"


def stay_meant(run: LiveRun, step: str | int) -> Stay:
    """A step by its tank or its number from 0."""
    found = [s for s in run.stays if s.tank == step or s.number == step]
    if not found:
        raise LiveError(f"there is no step `{step}`; the run goes through {', '.join(s.tank for s in run.stays)}")
    return found[0]


def here_meant(run: LiveRun) -> Stay:
    stay = run.last_step or run.next_step
    if stay is None:
        raise LiveError("name the step")
    return stay


def charged_meant(run: LiveRun) -> Stay:
    """The charged step that is meant when none is named."""
    here = run.step
    if here is not None and here.plan.charged:
        return here
    if here is None and run.last_step is not None and run.last_step.plan.charged:
        return run.last_step
    coming = [s for s in run.stays[run.number + 1 :] if s.plan.charged and not s.skipped]
    done = [s for s in run.stays if s.plan.charged and s.visits]
    if not coming and not done:
        raise LiveError("no step of this run has current; name the step, if this one had")
    return coming[0] if coming else done[-1]


def supply_meant(stay: Stay, supply: str | None, known: set[str]) -> str | None:
    """The supply as the step knows it."""
    names = [c.supply for c in stay.channels if c.supply is not None]
    if supply is None:
        if len(names) > 1:
            raise LiveError(f"{stay.tank}: which supply? There are {', '.join(names)}")
        return None
    if names and supply not in names and supply not in known:
        there = ", ".join(dict.fromkeys([*names, *sorted(known)]))
        raise LiveError(f"{stay.tank}: no supply is called `{supply}`; there are {there}")
    return supply


def when_meant(run: LiveRun, stay: Stay, supply: str | None) -> When:
    place = stay.channel(supply)
    reads = stay.channels[place].reads if place is not None else ()
    if not reads or (reads[-1].when == "end" and run.step is not None and run.step.number == stay.number):
        return "start"
    return "middle" if run.step is not None and run.step.number == stay.number else "end"
