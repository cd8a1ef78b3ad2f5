"""A live run, a list of runs and a comparison as text."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from bathkeeper.cli.plain import clean
from bathkeeper.cli.tables import Cell, Column, styled, table
from bathkeeper.headlines import SHORT_ID
from bathkeeper.showing import shown, shown_moment
from bathkeeper.units.numerals import Preferences

if TYPE_CHECKING:
    from bathkeeper.runs.history import PastRun
    from bathkeeper.runs.live import LiveRun, Tick
    from bathkeeper.runs.live_run import Stay

STYLES = {"running": "good", "over time": "bad", "paused": "warn", "waiting": "", "finished": "", "abandoned": "warn"}


def clock(seconds: float) -> str:
    """``12:05`` minutes and seconds, ``1:02:05`` from an hour on; a minus before what is over."""
    whole = round(abs(seconds))
    hours, rest = divmod(whole, 3600)
    told = f"{hours}:{rest // 60:02d}:{rest % 60:02d}" if hours else f"{rest // 60}:{rest % 60:02d}"
    return f"-{told}" if seconds < 0 and whole else told


def live_text(run: LiveRun, now: Tick, prefs: Preferences) -> list[str]:
    """Where a live run stands: the step, its clock, what comes next, and every step with its mark."""
    state = run.state(now)
    lines = [styled(clean(f"{run.plan.kind} run, {state}", lines=False), STYLES.get(state, ""))]
    here = run.step
    if here is not None:
        left = run.left_s(now)
        told = f"{here.tank}: {clock(run.elapsed_s(now))}"
        told += (
            f", {clock(left)} left"
            if left is not None and left > 0
            else f", over by {clock(-left)}"
            if left is not None
            else ""
        )
        lines.append(clean(told, lines=False))
        current, charge = run.current_a(), run.charge_ah(now)
        if here.plan.charged:
            said = [shown(current, "A", prefs)] if current is not None else ["no current told yet: `run say 6.5A`"]
            lines.append(", ".join([*said, *([shown(charge, "Ah", prefs) + " so far"] if charge is not None else [])]))
    following = run.next_step
    if following is not None:
        hint = f": {following.plan.hint}" if following.plan.hint else ""
        lines.append(clean(f"next: {following.tank}{hint}", lines=False))
    elif run.phase != "over":
        lines.append("next: out, and `bathkeeper run finish`" if here is not None else "next: `bathkeeper run finish`")
    oven = run.oven(now)
    if oven is not None:
        until = f", by {oven.deadline:%H:%M}" if oven.deadline is not None else ""
        lines.append(clean(f"to the oven: {clock(oven.since_s)} since plating{until} ({oven.bake.what})", lines=False))
    lines += [
        "",
        *table([Column(""), Column("step"), Column("minutes", right=True), Column("", wraps=True)], _steps(run, now, prefs)),
    ]
    lines += [styled(clean(f"odd: {p.what}; {p.right}", lines=False), "warn") for p in run.problems]
    return lines


def _steps(run: LiveRun, now: Tick, prefs: Preferences) -> list[Sequence[Cell | str]]:
    return [_step(s, run, now, prefs) for s in run.stays]


def _step(stay: Stay, run: LiveRun, now: Tick, prefs: Preferences) -> Sequence[Cell | str]:
    here, following = run.step is stay, run.next_step is stay
    mark = "now" if here else "next" if following else "skipped" if stay.skipped else "done" if stay.visits else ""
    wanted = f"{stay.plan.minutes:g}" if stay.plan.minutes is not None else ""
    done = f"{run.minutes(stay, now):.1f}" if stay.visits else ""
    minutes = f"{done} of {wanted}" if done and wanted else done or wanted
    asked = stay.plan.current_a
    said = [shown(asked, "A", prefs)] if asked is not None else []
    said += [f"{b.supply} {shown(b.current_a, 'A', prefs)}" for b in stay.plan.branches if b.current_a is not None]
    said += ["may be left out"] if stay.plan.optional else []
    return [Cell(mark, "good" if here else ""), stay.tank, minutes, ", ".join(said)]


def live_plain(run: LiveRun, now: Tick) -> dict[str, Any]:
    """The same for JSON: seconds, A, Ah."""
    here, following, oven = run.step, run.next_step, run.oven(now)
    return {
        "run": run.id,
        "kind": run.plan.kind,
        "state": run.state(now),
        "step": here.tank if here is not None else None,
        "elapsed_s": run.elapsed_s(now),
        "left_s": run.left_s(now),
        "current_a": run.current_a(),
        "charge_ah": run.charge_ah(now),
        "next": following.tank if following is not None else None,
        "to_oven_s": run.to_oven(now),
        "oven_by": oven.deadline if oven is not None else None,
        "steps": [
            {
                "tank": s.tank,
                "wanted_minutes": s.plan.minutes,
                "minutes": run.minutes(s, now) if s.visits else None,
                "current_a": s.plan.current_a,
                "skipped": s.skipped,
                "visits": s.visits,
            }
            for s in run.stays
        ],
        "problems": run.problems,
    }


def runs_text(runs: Sequence[PastRun], prefs: Preferences) -> list[str]:
    """A row for each run."""
    rows: list[Sequence[Cell | str]] = []
    for run in runs:
        verdict = {True: Cell("good", "good"), False: Cell(run.defect or run.result or "bad", "bad"), None: Cell("")}[run.good]
        rows.append(
            [
                shown_moment(run.at),
                clean(run.title, lines=False),
                shown(run.area_dm2, "dm2", prefs) if run.area_dm2 else "",
                shown(run.charge_ah, "Ah", prefs) if run.charge_ah else "",
                shown(run.density_a_dm2, "A/dm2", prefs) if run.density_a_dm2 else "",
                verdict,
                run.id[-SHORT_ID:],
            ]
        )
    columns = [
        Column("when"), Column("load", wraps=True), Column("area", right=True), Column("charge", right=True),
        Column("density", right=True), Column("result", wraps=True), Column("id"),
    ]  # fmt: skip
    return table(columns, rows) if rows else []
