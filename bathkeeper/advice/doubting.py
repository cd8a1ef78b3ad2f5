"""What a plan hangs on: estimates that are wide against their window, and what a measurement would change."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from bathkeeper.advice.linear import best
from bathkeeper.advice.steps import Advised, step
from bathkeeper.advice.wanted import Mix, Task, Wish
from bathkeeper.findings import Because, Estimate

WIDE = 0.5  # 95 % half-width over half the window, from which a plan hangs on an estimate [practice]
AT_MOST = 3  # measurements asked for first


@dataclass(frozen=True)
class Doubt:
    """An estimate wide against its window, and the dose that it decides at its low and its high end."""

    wish: Wish
    estimate: Estimate
    share: float
    line: str
    acts: bool


def doubts_of(task: Task, mix: Mix | None, now: Mapping[str, Estimate]) -> list[Doubt]:
    """Wide estimates, widest first; ``acts`` where the plan does something about that species or would at an end of it."""
    found = []
    for wish in task.wishes:
        estimate = now.get(wish.name)
        if wish.is_ratio or estimate is None or wish.kind == "contaminant" or (wish.low is None and wish.high is None):
            continue
        half_window = (wish.side(True) + wish.side(False)) / 2
        share = estimate.spread / half_window
        if share <= WIDE:
            continue
        touched = mix is not None and any(m.kind == "reagent" and m.per_unit.get(wish.name, 0.0) > 0 for m, _ in mix.used(task))
        could_be_out = {wish.standing(estimate.low), wish.standing(estimate.high)} != {"in"}
        found.append(Doubt(wish, estimate, share, "", touched or wish.out or could_be_out))
    found.sort(key=lambda d: (not d.wish.out, d.wish.kind == "additive", -d.share))
    return [_told(task, d) if i < AT_MOST and d.acts else d for i, d in enumerate(found)]


def measured_first(doubts: list[Doubt]) -> list[Advised]:
    """The steps that come before everything else."""
    steps = []
    panel = False
    for doubt in doubts[:AT_MOST]:
        if not doubt.acts:
            continue
        additive = doubt.wish.kind == "additive"
        if additive and panel:
            continue
        panel = panel or additive
        because = Because(
            text=doubt.line,
            formula=f"95 % half-width / half the window = {doubt.share:.0%}, wide from {WIDE:.0%} (practice)",
            sources=(doubt.wish.source,),
        )
        words = f"measure {doubt.wish.title} first: {doubt.line}" if not additive else f"a panel first: {doubt.line}"
        steps.append(step("measure", words, because=because, of="panel" if additive else doubt.wish.name))
    return steps


def _told(task: Task, doubt: Doubt) -> Doubt:
    wish, e = doubt.wish, doubt.estimate
    ends = [_dose_at(task, wish, value) for value in (e.low, e.high)]
    line = f"by the estimate {e.value:.3g} ± {e.spread:.2g} {wish.unit}, wide against its window; "
    line += f"at {e.low:.3g} it would be {ends[0]}, at {e.high:.3g} {ends[1]}"
    return Doubt(wish, e, doubt.share, line, doubt.acts)


def _dose_at(task: Task, wish: Wish, value: float) -> str:
    """What the plan would do for a species if it read so, all else being as believed."""
    there = task.with_masses({**task.masses, wish.name: value * task.volume_l})
    if task.volume_l <= 0:
        return "nothing"
    mix = best(there)
    if mix is None:
        return "no plan"
    told = [
        f"{a:.3g} {m.unit} {m.name}" for m, a in mix.used(there) if m.kind == "reagent" and m.per_unit.get(wish.name, 0.0) > 0
    ]
    if mix.out_l > task.grid_l and wish.standing(value) == "high":
        told.append(f"{mix.out_l:.3g} L out")
    return " and ".join(told) or "nothing"
