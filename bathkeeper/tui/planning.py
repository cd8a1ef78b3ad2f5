"""A run to come, worked out from what was typed: the parts line by line, what to set, the steps, or why it cannot be."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from bathkeeper.answers.shapes import NotFound
from bathkeeper.runs.library import KnownPart
from bathkeeper.runs.live import LinePlan, LiveError, PlannedStep
from bathkeeper.runs.parts import PartArea, PartError, understand_part
from bathkeeper.runs.setting import Setting, SettingError
from bathkeeper.showing import shown
from bathkeeper.tui.field import with_unit
from bathkeeper.tui.live_words import minutes_text
from bathkeeper.units.door import UnitError, understand
from bathkeeper.units.numerals import Preferences

if TYPE_CHECKING:
    from bathkeeper.bench import Bench

MEASURES = {
    "area": ("area", "dm2"),
    "thickness": ("thickness", "um"),
    "minutes": ("time", "min"),
    "current": ("current", "A"),
}
"""Field -> kind of quantity, and the unit that a number alone is taken in."""


@dataclass(frozen=True)
class Wished:
    """What was typed. ``like``: a run's id, ``last``, or None; ``tank``: where there are several to choose from."""

    kind: str = "plate"
    parts: str = ""
    like: str | None = None
    tank: str | None = None
    measures: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Outlook:
    """What it comes to. ``part_lines``: for each line typed (what was understood, why it was not).

    ``refused``: field -> what would be right;
    ``trouble``: why there is no plan; ``head``: what to set, in one line; ``lines``: the rest."""

    part_lines: tuple[tuple[str, str], ...] = ()
    refused: Mapping[str, str] = field(default_factory=dict)
    trouble: str = ""
    plan: LinePlan | None = None
    setting: Setting | None = None
    head: str = ""
    lines: tuple[str, ...] = ()


def outlook(bench: Bench, wished: Wished, known: Mapping[str, KnownPart]) -> Outlook:
    """Works it out; nothing is written. ``known``: the keeper's own parts."""
    prefs = bench.workshop.preferences
    part_lines = _part_lines(bench, wished.parts, known)
    numbers, refused = _numbers(wished.measures, prefs)
    if wished.parts.strip() and "area" in numbers and wished.kind != "dummy":
        refused["area"] = "give either the parts or the area of the whole load; clear one of them"
    if refused or any(why for _, why in part_lines):
        return Outlook(part_lines, refused)
    try:
        plan, setting = _worked_out(bench, wished, numbers)
    except (LiveError, NotFound, PartError, SettingError) as problem:
        return Outlook(part_lines, {}, str(problem))
    lines = _urgent_first(setting.lines(prefs)) if setting is not None else []
    return Outlook(part_lines, {}, "", plan, setting, _head(plan, setting, prefs), (*lines, *_steps(plan, prefs)))


def _urgent_first(lines: list[str]) -> list[str]:
    """Time and thickness, each supply's current and what to beware of before what explains them."""

    def rank(line: str) -> int:
        if line.startswith(("time for", "after ", "worst spot")):
            return 0
        if line.startswith(("caution: ", "thread ")) or "; reaches " in line or " % of the current" in line:
            return 1
        return 2 if line.startswith(("temperature:", "before (")) else 3

    return sorted(lines, key=rank)


def _part_lines(bench: Bench, text: str, known: Mapping[str, KnownPart]) -> tuple[tuple[str, str], ...]:
    prefs, catalogue = bench.workshop.preferences, bench.workshop.catalogue
    told: list[tuple[str, str]] = []
    for line in text.split("\n"):
        pieces = [p.strip() for p in line.split(";") if p.strip()]
        try:
            found = [understand_part(p, prefs, catalogue, known) for p in pieces]
        except PartError as problem:
            told.append(("", str(problem)))
            continue
        told.append(("; ".join(part_words(p, prefs) for p in found), ""))
    return tuple(told)


def part_words(part: PartArea, prefs: Preferences) -> str:
    """``3.26 dm² ± 0.16: 20 hex bolt M8x30; all over, threads counted``."""
    half = part.half_dm2
    spread = f" ± {shown(half, 'dm2', prefs, half)}" if half else ""
    area = f"{shown(part.area_dm2, 'dm2', prefs, half or None)}{spread}"
    count = f"{part.count} × " if part.count > 1 else ""
    faces = f"; {part.counted}" if part.counted else "; known here" if part.known else ""
    return f"{area}: {count}{part.title}{faces}"


def _numbers(measures: Mapping[str, str], prefs: Preferences) -> tuple[dict[str, float], dict[str, str]]:
    numbers: dict[str, float] = {}
    refused: dict[str, str] = {}
    for name, text in measures.items():
        if not text.strip():
            continue
        kind, unit = MEASURES[name]
        try:
            numbers[name] = understand(with_unit(text.strip(), unit), kind, prefs).value
        except UnitError as problem:
            refused[name] = str(problem)
            continue
        if numbers[name] <= 0:
            refused[name] = "has to be above zero"
    return numbers, refused


def _worked_out(bench: Bench, wished: Wished, numbers: Mapping[str, float]) -> tuple[LinePlan, Setting | None]:
    plating = wished.kind == "plate"
    load: dict[str, Any] = {}
    if wished.parts.strip() and wished.kind != "dummy":
        load["parts"] = wished.parts
    elif "area" in numbers and wished.kind != "dummy":
        load["area_dm2"] = numbers["area"]
    like = wished.like if plating else None
    current, minutes = numbers.get("current"), numbers.get("minutes")
    asked: dict[str, Any] = {"tank": wished.tank, "current_a": current, **load}
    first = bench.line_plan(wished.kind, like=like, minutes=minutes, **asked)
    step = main_step(first)
    if step is None:
        return first, None
    setting = _setting(bench, first, step, numbers, like is not None)
    if setting is None:
        return first, None
    stay = minutes if minutes is not None else setting.stay_minutes if "thickness" in numbers else None
    stay = float(f"{stay:.3g}") if stay is not None else None  # what a person times by
    if like is not None:  # the currents are those of that run, at its density on this load
        return bench.line_plan(wished.kind, like=like, minutes=stay if stay is not None else step.minutes, **asked), setting
    return bench.line_plan(wished.kind, minutes=stay if stay is not None else step.minutes, setting=setting, **asked), setting


def _setting(bench: Bench, plan: LinePlan, step: PlannedStep, numbers: Mapping[str, float], like: bool) -> Setting | None:
    current = numbers.get("current")
    if current is None and like:
        current = current_of(step)
    minutes = numbers.get("minutes")
    if minutes is None and "thickness" not in numbers:
        minutes = step.minutes
    # the plan's own parts, so that what is known of their strength and thread counts for a run done again as well
    load = plan.parts or ([{"description": "dummy", "area_dm2": numbers["area"]}] if "area" in numbers else [])
    try:
        return bench._setting(step.tank, load, None, current_a=current, minutes=minutes, thickness_um=numbers.get("thickness"))
    except SettingError:
        if "thickness" in numbers:
            raise
        return None  # a tank without a recipe for current: the plan says what there is to say


def main_step(plan: LinePlan) -> PlannedStep | None:
    """The step with current that the run is about."""
    charged = [s for s in plan.steps if s.charged]
    wanted = "rust removal" if plan.kind == "rust removal" else "plate"
    return next((s for s in reversed(charged) if s.role == wanted), charged[-1] if charged else None)


def current_of(step: PlannedStep) -> float | None:
    """Amperes of a step, of all its branches together."""
    known = [b.current_a for b in step.branches if b.current_a is not None]
    return step.current_a if step.current_a is not None else sum(known) if known else None


def _head(plan: LinePlan, setting: Setting | None, prefs: Preferences) -> str:
    step = main_step(plan)
    if step is None:
        return f"No current: {len(plan.steps)} steps by timer"
    current = current_of(step)
    told = f"Set {shown(current, 'A', prefs)}" if current is not None else "Current open: give an area, or a current"
    if len(step.branches) > 1:
        each = [f"{b.supply} {shown(b.current_a, 'A', prefs)}" for b in step.branches if b.current_a is not None]
        told += f" ({' + '.join(each)})" if each else ""
    stay = f" for {minutes_text(float(f'{step.minutes:.3g}'))}" if step.minutes is not None else ", time open"
    edges = ""
    if setting is not None and setting.current_a is not None and setting.current_a.low < setting.current_a.high:
        x, density = setting.current_a, setting.density
        low, high = (shown(float(f"{v:.3g}"), "A", prefs) for v in (x.low, x.high))
        target = density.target * setting.area_dm2 if density is not None and density.target and setting.area_dm2 else None
        middle = f" · target {shown(float(f'{target:.3g}'), 'A', prefs)}" if target is not None else ""
        edges = f"\nlow {low}{middle} · high {high}"
    return f"{told}{stay} in {step.tank}{edges}"


def _steps(plan: LinePlan, prefs: Preferences) -> list[str]:
    told = []
    for step in plan.steps:
        minutes = f" {minutes_text(step.minutes)}" if step.minutes is not None else ""
        told.append(f"{step.tank}{minutes}{' (may be left out)' if step.optional else ''}")
    made = [f"steps: {', '.join(told)}"]
    if plan.bake is not None:
        made.insert(0, f"caution: {plan.bake.what}. {plan.bake.why}")
    return made
