"""What a plan hangs on: estimates that are wide against their window, and what a measurement would change."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from bathkeeper.advice.linear import best
from bathkeeper.advice.ordering import main_species
from bathkeeper.advice.steps import Advised, step
from bathkeeper.advice.wanted import Mix, Task, Wish, weighed
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
    """Wide estimates, those that the plan acts on first (``acts``), then those out of their window."""
    found = []
    mains = [main_species(task, m) for m, _ in mix.used(task) if m.kind == "reagent"] if mix is not None else []
    dosed = {w.name for w in mains if w is not None}
    for wish in task.wishes:
        estimate = now.get(wish.name)
        if wish.is_ratio or estimate is None or wish.kind == "contaminant" or (wish.low is None and wish.high is None):
            continue
        half_window = (wish.side(True) + wish.side(False)) / 2
        share = estimate.spread / half_window
        if share <= WIDE:
            continue
        found.append(Doubt(wish, estimate, share, "", wish.out or wish.name in dosed))
    found.sort(key=lambda d: (not d.acts, not d.wish.out, d.wish.kind == "additive", -d.share))
    return [_told(task, d) if i < AT_MOST else d for i, d in enumerate(found)]


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
        words = f"measure first: {doubt.line}" if not additive else f"a panel first: {doubt.line}"
        steps.append(step("measure", words, because=because, of="panel" if additive else doubt.wish.name))
    return steps


def _told(task: Task, doubt: Doubt) -> Doubt:
    wish, e = doubt.wish, doubt.estimate
    ends = [_dose_at(task, wish, value) for value in (e.low, e.high)]
    line = f"{wish.title} {e.value:.3g} ± {e.spread:.2g} {wish.unit}, wide against its window; "
    line += f"at {e.low:.3g} it would be {ends[0]}, at {e.high:.3g} {ends[1]}"
    return Doubt(wish, e, doubt.share, line, doubt.acts)


def _dose_at(task: Task, wish: Wish, value: float) -> str:
    """What the plan would do for a species if it read so, all else being as believed."""
    if task.volume_l <= 0:
        return "nothing"
    masses = {**task.masses, wish.name: value * task.volume_l}
    wishes = weighed(task.wishes, max(task.volume_l, task.level_l), masses, to_target=task.to_target)
    there = replace(task, masses=masses, wishes=wishes)
    if not any(w.out for w in wishes) and not task.to_target:
        return "nothing"
    mix = best(there)
    if mix is None:
        return "no plan"
    mine = [(m, a) for m, a in mix.used(there) if m.kind == "reagent" and m.per_unit.get(wish.name, 0.0) > 0]
    told = [f"{a:.0f} {m.unit} {m.name}" if a >= 10 else f"{a:.2g} {m.unit} {m.name}" for m, a in mine]
    if mix.out_l > task.grid_l and wish.standing(value) == "high":
        told.append(f"{mix.out_l:.3g} L out")
    return " and ".join(told) or "nothing"
