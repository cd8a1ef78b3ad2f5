"""The way of a load through the line: which tanks, how long in each, at what current, and what to mind on the way."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import Any

import msgspec

from bathkeeper.catalogue.schema import Recipe
from bathkeeper.chemistry.charge import counter, ramp, stretches
from bathkeeper.entries import Charge, Run, Step, Tank
from bathkeeper.runs.live_events import KINDS, Kind, LinePlan, LiveError, PlannedBake, PlannedBranch, PlannedStep

DWELL_MINUTES: dict[str, float] = {
    "degrease": 10.0,
    "rust removal": 30.0,
    "rinse": 1.0,
    "pickle": 5.0,
    "acid dip": 0.2,
    "passivate": 1.0,
    "seal": 0.5,
}
"""Minutes in a tank by its role, until a run of this line says otherwise [practice]."""
PRACTICE = "practice"
OPTIONAL = ("rust removal", "acid dip", "seal")
"""Roles that a load may well do without [practice]."""
NOT_WALKED = ("dry",)
RINSE = "rinse"
LIVELY = ("degrease", "rust removal", "pickle", "plate", "acid dip", "passivate")
"""Roles whose solution must not be carried on."""


def plan_line(
    kind: str,
    tanks: Sequence[Tank],
    recipes: Mapping[str, Recipe | None],
    past: Sequence[Run],
    *,
    parts: Sequence[Mapping[str, Any]] = (),
    like: Run | None = None,
    tank: str | None = None,
    minutes: float | None = None,
    current_a: float | None = None,
    current_from: str = "asked",
    branches: Sequence[PlannedBranch] = (),
    bake: PlannedBake | None = None,
    typed: Mapping[str, str] | None = None,
) -> LinePlan:
    """The steps of a run.

    Minutes come from the run that this one is like, else from the last run through that tank, else from practice. The current
    of a plating step is, if not given, that of the run it is like, at the same current density on this load's area.

    Args:
        kind: ``plate`` (the line), ``rust removal`` (rust removal and the rinse behind it) or ``dummy`` (a tank, no parts).
        tanks: those of the workshop in process order; those out of service are passed over.
        recipes: by tank.
        past: runs, oldest first.
        parts: plain fields of an entry's parts; without any, those of ``like``.
        like: a run to do again.
        tank: the plating or rust removal tank, where there are several.
        minutes, current_a, branches: of the step with current; ``current_from`` says where they come from.
        bake: what the workshop's rule says of these parts.

    Raises:
        LiveError: no such kind, no tank for it, or a number that cannot be.
    """
    if kind not in KINDS:
        raise LiveError(f"there is no kind of run `{kind}`; write {', '.join(KINDS)}")
    for name, value in (("minutes", minutes), ("current", current_a)):
        if value is not None and not 0 <= value < 1e6:
            raise LiveError(f"{name} {value:g} cannot be; it is a number from 0 up")
    line = [t for t in tanks if t.in_service and t.role not in NOT_WALKED]
    told = list(parts) if parts or like is None else parts_of(like)
    if kind == "dummy":
        told = []
    maker = _Maker(recipes, past, like, _area(told))
    chosen = _chosen(_kind(kind), line, like, tank)
    main = _main(_kind(kind), chosen, tank)
    steps = []
    for number, place in enumerate(chosen):
        step = maker.step(place, chosen[number - 1] if number else None, optional=_optional(_kind(kind), place, like, tank))
        if place is main:
            step = maker.asked(step, minutes, current_a, current_from, branches, dummy=kind == "dummy")
        if bake is not None and bake.needed == "yes" and place.role == "passivate":
            step = _set(step, hint=f"bake first, then come back for the passivate. {step.hint}".strip())
        steps.append(step)
    return LinePlan(
        kind=_kind(kind),
        steps=tuple(steps),
        parts=tuple(dict(p) for p in told),
        like=like.id if like is not None else None,
        bake=bake if kind == "plate" else None,
        typed=dict(typed or {}),
    )


def _chosen(kind: Kind, line: Sequence[Tank], like: Run | None, tank: str | None) -> list[Tank]:
    """The tanks that this run goes through, in line order."""
    role = "rust removal" if kind == "rust removal" else "plate"
    mains = [t for t in line if t.role == role]
    if tank is not None and tank not in [t.tank for t in line]:
        raise LiveError(f"no tank in service is called `{tank}`; there are {', '.join(t.tank for t in line) or 'none yet'}")
    main = next((t for t in line if t.tank == tank), mains[0] if mains else None)
    if kind == "plate":
        if not line:
            raise LiveError("there is no tank in service to go through; log the tanks first, or make a line from a template")
        return _like(line, like) if like is not None else _past_other_baths(line, main if tank is not None else None)
    if main is None:
        raise LiveError(f"there is no tank with the role {role} in service; log one, or name the tank")
    if kind == "dummy":
        return [main]
    behind = line[line.index(main) + 1 :]
    rinse = next((t for t in behind if t.role == RINSE), None)
    return [main, rinse] if rinse is not None else [main]


def _past_other_baths(line: Sequence[Tank], named: Tank | None) -> list[Tank]:
    """The whole line; where a plating tank is named, without the others."""
    if named is None or named.role != "plate":
        return list(line)
    return [t for t in line if t.role != "plate" or t is named]


def _like(line: Sequence[Tank], like: Run) -> list[Tank]:
    """The tanks of a run; where it tells of no rinse, also those right behind its tanks, which were surely used."""
    gone = {s.tank for s in like.steps}
    chosen = [t for t in line if t.tank in gone]
    if not chosen:
        raise LiveError(f"the run {like.id} went through no tank that is in service; plan a new one")
    if not any(t.role == RINSE for t in chosen):
        gone |= {b.tank for a, b in pairwise(line) if a.tank in gone and b.role == RINSE}
    return [t for t in line if t.tank in gone]


def _main(kind: Kind, chosen: Sequence[Tank], tank: str | None) -> Tank | None:
    """The tank that given minutes and current are meant for."""
    named = next((t for t in chosen if t.tank == tank), None)
    if named is not None or kind != "plate":
        return named or (chosen[0] if chosen else None)
    plates = [t for t in chosen if t.role == "plate"]
    return plates[-1] if plates else None


def _optional(kind: Kind, place: Tank, like: Run | None, tank: str | None) -> bool:
    if kind != "plate" or place.tank == tank:
        return False
    if like is not None:
        return place.tank not in {s.tank for s in like.steps}
    return place.role in OPTIONAL


class _Maker:
    """Makes planned steps from what was done before."""

    def __init__(self, recipes: Mapping[str, Recipe | None], past: Sequence[Run], like: Run | None, area_dm2: float) -> None:
        self._recipes, self._like, self._area_dm2 = recipes, like, area_dm2
        self._last: dict[str, tuple[Run, Step]] = {}
        for run in past:
            for step in run.steps:
                if step.minutes is not None and not step.dummy:
                    self._last[step.tank] = (run, step)

    def step(self, place: Tank, before: Tank | None, *, optional: bool) -> PlannedStep:
        """A stay in a tank, with minutes, current and what to mind."""
        recipe = self._recipes.get(place.tank)
        minutes, minutes_from = self._minutes(place)
        known = self._known(place.tank)
        electric = recipe is not None and recipe.electrode is not None
        had_charge = known is not None and (known[1].charge is not None or bool(known[1].branches))
        charged = place.role == "plate" or had_charge or (place.role == "rust removal" and electric)
        window = recipe.indicators.get("temperature") if recipe is not None else None
        step = PlannedStep(
            tank=place.tank,
            role=place.role,
            title=recipe.title if recipe is not None else "",
            minutes=minutes,
            minutes_from=minutes_from,
            charged=charged,
            temperature_c=window.target if window is not None else None,
            hint=_hint(place, before, charged),
            cautions=tuple(c.text for c in recipe.cautions if c.when == "run") if recipe is not None else (),
            optional=optional,
        )
        return self._with_current(step, known) if charged and known is not None else step

    def asked(
        self,
        step: PlannedStep,
        minutes: float | None,
        current_a: float | None,
        current_from: str,
        branches: Sequence[PlannedBranch],
        *,
        dummy: bool,
    ) -> PlannedStep:
        """The main step with what was asked for it."""
        if minutes is not None:
            step = _set(step, minutes=minutes, minutes_from="asked")
        if dummy:
            step = _set(step, dummy=True, charged=True, current_a=None, branches=(), current_from="")
            if minutes is None:
                step = _set(step, minutes=None, minutes_from="")
        if branches:
            step = _set(step, charged=True, branches=tuple(branches), current_a=None, supply=None, current_from=current_from)
        elif current_a is not None:
            step = _set(step, charged=True, current_a=current_a, branches=(), current_from=current_from)
        return step

    def _known(self, tank: str) -> tuple[Run, Step] | None:
        """The run that tells of this tank: the one this is like, else the last."""
        if self._like is not None:
            mine = next((s for s in self._like.steps if s.tank == tank), None)
            if mine is not None:
                return self._like, mine
        return self._last.get(tank)

    def _minutes(self, place: Tank) -> tuple[float | None, str]:
        known = self._known(place.tank)
        if known is not None and known[1].minutes is not None:
            return known[1].minutes, f"run of {known[0].at.date().isoformat()}"
        usual = DWELL_MINUTES.get(place.role)
        return usual, PRACTICE if usual is not None else ""

    def _with_current(self, step: PlannedStep, known: tuple[Run, Step]) -> PlannedStep:
        """Current and supplies as before: in plating at the same density on this load, elsewhere the same current."""
        run, was = known
        ratio = self._area_dm2 / run.area_dm2 if step.role == "plate" and self._area_dm2 and run.area_dm2 else 1.0
        said = f"run of {run.at.date().isoformat()}" + (f", at its density on {self._area_dm2:.4g} dm²" if ratio != 1 else "")
        if was.branches:
            branches = [
                PlannedBranch(
                    supply=b.supply or f"supply {n}", anodes=b.anodes, current_a=_scaled(_amperes(b.charge, was), ratio)
                )
                for n, b in enumerate(was.branches, start=1)
            ]
            if len(branches) > 1 or branches[0].anodes:
                return _set(step, branches=tuple(branches), current_from=said)
            return _set(step, current_a=branches[0].current_a, supply=was.branches[0].supply, current_from=said)
        if was.charge is None:
            return step
        amperes = _scaled(_amperes(was.charge, was), ratio)
        return _set(step, current_a=amperes, supply=was.supply, current_from=said if amperes is not None else "")


def _amperes(charge: Charge, step: Step) -> float | None:
    """The mean current of a charge, A; None where it cannot be told."""
    if charge.current_a is not None:
        return charge.current_a
    minutes = step.minutes
    if charge.ramp is not None:
        ah, minutes = ramp(charge.ramp.from_a, charge.ramp.to_a, charge.ramp.minutes), charge.ramp.minutes
    elif charge.stretches is not None:
        ah = stretches([(s.current_a, s.minutes) for s in charge.stretches])
        minutes = sum(s.minutes for s in charge.stretches)
    elif charge.counter is not None:
        ah = counter(charge.counter.start_ah, charge.counter.end_ah).charge_ah
    else:
        ah = charge.trace.charge_ah if charge.trace is not None else charge.charge_ah or 0.0
    return ah * 60 / minutes if minutes else None


def _scaled(amperes: float | None, ratio: float) -> float | None:
    return None if amperes is None else float(f"{amperes * ratio:.3g}") if ratio != 1 else float(f"{amperes:.6g}")


def _hint(place: Tank, before: Tank | None, charged: bool) -> str:
    """What to do on the way from the tank before into this one [practice]."""
    if place.role == RINSE:
        return f"let it drip off over {before.tank}, then rinse all sides" if before is not None else "rinse all sides"
    said = []
    if before is not None and before.role in LIVELY:
        said.append(f"no rinse stands between {before.tank} and {place.tank}: rinse the parts first")
    if place.role == "plate":
        said.append("water runs off in one sheet? Contacts tight, parts in with the current on")
    elif charged:
        said.append("current off before the clips are touched")
    return ". ".join(said)


def _kind(kind: str) -> Kind:
    return next(k for k in KINDS if k == kind)


def _area(parts: Sequence[Mapping[str, Any]]) -> float:
    return float(sum(p.get("area_dm2") or 0.0 for p in parts))


def parts_of(run: Run) -> list[dict[str, Any]]:
    """A run's parts as plain fields for a new load; what was stripped off the old one stays with it."""
    plain = [msgspec.to_builtins(p) for p in run.parts]
    return [{k: v for k, v in p.items() if k != "coating_stripped_g"} for p in plain]


def _set(step: PlannedStep, **fields: Any) -> PlannedStep:
    return msgspec.structs.replace(step, **fields)
