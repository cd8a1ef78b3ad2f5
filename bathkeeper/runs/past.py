"""Runs that were: each with what became of it, how it was plated, and what the bath was believed to hold at that time."""

from __future__ import annotations

import re
from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime

from bathkeeper.catalogue.defects import canonical, load_defects
from bathkeeper.catalogue.loader import Catalogue, CatalogueError
from bathkeeper.entries import Addition, AnyEntry, MakeUp, Reading, Remark, Run, Step, Treatment, Unknown
from bathkeeper.estimate.charges import plating_of
from bathkeeper.estimate.state import Point, TankState
from bathkeeper.estimate.world import World

SAID_GOOD = ("good", "ok", "okay", "fine", "all good")
SAID_BAD = ("bad", "not good", "poor", "reject", "rejected", "rejects", "scrap")
_DAY_S = 86_400.0


@dataclass(frozen=True)
class PastRun:
    """One load that went through the line, as it looks from its ``tank`` (the one that it was plated in).

    ``good`` is None while nobody said. Where the bath could not be looked up (an earlier life of it, no make-up on record)
    ``ratios`` and ``additives`` are empty. Contents are as they were believed when the load came out, not as later readings
    would have them. ``since_additive_ah`` and ``_days`` count from the last dose of any additive, else from the make-up.
    """

    id: str
    at: datetime
    title: str
    tank: str
    tanks: tuple[str, ...]
    area_dm2: float | None = None
    charge_ah: float | None = None
    minutes: float | None = None
    density_a_dm2: float | None = None
    temperature_c: float | None = None
    result: str | None = None
    defect: str | None = None
    rejects: int | None = None
    photos: tuple[str, ...] = ()
    good: bool | None = None
    ratios: Mapping[str, float] = field(default_factory=dict)
    additives: Mapping[str, float] = field(default_factory=dict)
    since_additive_ah: float | None = None
    since_additive_days: float | None = None
    ph: float | None = None
    age_days: float | None = None
    thickness_um: float | None = None
    deposit_g: float | None = None
    words: str = ""
    outcome_by: tuple[str, ...] = ()

    @property
    def ratio(self) -> float | None:
        """The first of the recipe's ratios, as a fraction."""
        return next(iter(self.ratios.values()), None)

    @property
    def additive_since_ah(self) -> float | None:
        """Ah since the last dose of an additive."""
        return self.since_additive_ah

    @property
    def current_a(self) -> float | None:
        """Mean current over its minutes."""
        return self.charge_ah * 60 / self.minutes if self.charge_ah and self.minutes else None


def past_runs(entries: Iterable[AnyEntry | Unknown], world: World, tank: str | None = None) -> list[PastRun]:
    """Every run of these entries (those in force), newest first.

    ``world``: the workshop after them. ``tank``: only runs through that tank, looked at from there, whatever else they saw.
    """
    known = sorted((e for e in entries if not isinstance(e, Unknown)), key=lambda e: e.order)
    outcomes = _outcomes(known)
    measured = _measured(known)
    books: dict[str, _TankBook] = {}
    found: list[PastRun] = []
    for run in (e for e in known if isinstance(e, Run)):
        step = _main_step(run, world, tank)
        if step is None:
            continue
        if step.tank not in books:
            books[step.tank] = _TankBook(known, world, step.tank)
        found.append(_past_run(run, step, world, books[step.tank], outcomes.get(run.id, _Outcome()), measured.get(run.id, {})))
    return list(reversed(found))


@dataclass(frozen=True)
class _Outcome:
    """What became of a run: the latest word on each; ``good`` by the latest entry that said anything of it."""

    result: str | None = None
    defect: str | None = None
    rejects: int | None = None
    photos: tuple[str, ...] = ()
    good: bool | None = None
    by: tuple[str, ...] = ()
    words: str = ""

    def after(self, entry: Run | Remark) -> _Outcome:
        verdict = _verdict(entry)
        says = verdict is not None or entry.photos or entry.result is not None
        return _Outcome(
            entry.result if entry.result is not None else self.result,
            _defect(entry) or self.defect,
            entry.rejects if entry.rejects is not None else self.rejects,
            tuple(dict.fromkeys([*self.photos, *entry.photos])),
            verdict if verdict is not None else self.good,
            (*self.by, entry.id) if says else self.by,
            " ".join(w for w in (self.words, entry.text if isinstance(entry, Remark) else "", entry.note or "") if w),
        )


def _verdict(entry: Run | Remark) -> bool | None:
    """Good, bad, or nothing said: a defect or rejects are bad whatever the result is called."""
    if _defect(entry) is not None or entry.rejects:
        return False
    word = _head(entry.result)
    if word in SAID_GOOD or (entry.rejects == 0 and not word):
        return True
    return False if word in SAID_BAD else None


def _defect(entry: Run | Remark) -> str | None:
    """The defect that it names, be it in the words of its result."""
    if entry.defect is not None:
        return entry.defect
    word = canonical(_head(entry.result))
    return word if word in load_defects() else None


def _head(result: str | None) -> str:
    """What a result begins with: ``good`` of ``good, a little dark``."""
    return re.split(r"[,;:.(]", result or "")[0].strip().casefold()


def _outcomes(entries: Sequence[AnyEntry]) -> dict[str, _Outcome]:
    found: dict[str, _Outcome] = {}
    for entry in entries:
        if isinstance(entry, Run):
            found[entry.id] = found.get(entry.id, _Outcome()).after(entry)
        elif isinstance(entry, Remark) and entry.run is not None:
            found[entry.run] = found.get(entry.run, _Outcome()).after(entry)
    return found


def _measured(entries: Sequence[AnyEntry]) -> dict[str, dict[str, float]]:
    """What was read on the parts of single runs: mean of each quantity, by run."""
    found: dict[str, dict[str, list[float]]] = {}
    for entry in entries:
        if isinstance(entry, Reading) and entry.run is not None:
            for value in (v for v in entry.values if v.value is not None):
                found.setdefault(entry.run, {}).setdefault(value.of, []).append(value.value or 0.0)
    return {run: {of: sum(v) / len(v) for of, v in values.items()} for run, values in found.items()}


def _main_step(run: Run, world: World, tank: str | None) -> Step | None:
    """The step in the tank asked for; else the one that was plated in, else the first with current, else the first."""
    if tank is not None:
        return next((s for s in run.steps if s.tank == tank), None)
    record = world.runs.get(run.id)
    plated = [s for s in run.steps if record is not None and s.tank == record.tank]
    charged = [s for s in run.steps if s.charge is not None or s.branches]
    return [*plated, *charged, *run.steps][0]


def told_by_itself(run: Run, step: Step, catalogue: Catalogue) -> PastRun:
    """A run as its own entry tells it, looked at from one of its steps; of the bath nothing."""
    area = run.area_dm2 or None
    plating, _, _ = plating_of(step, area or 0.0, catalogue.spreads)
    charge, minutes = plating.read_ah or None, plating.minutes
    outcome = _Outcome().after(run)
    return PastRun(
        id=run.id,
        at=run.at,
        title=", ".join((f"{p.count} " if p.count > 1 else "") + p.description for p in run.parts) or "load",
        tank=step.tank,
        tanks=tuple(s.tank for s in run.steps),
        area_dm2=area,
        charge_ah=charge,
        minutes=minutes,
        density_a_dm2=charge * 60 / minutes / area if charge and minutes and area else None,
        temperature_c=step.temperature_c,
        result=run.result,
        defect=run.defect,
        rejects=run.rejects,
        photos=run.photos,
        good=outcome.good,
    )


def _past_run(run: Run, step: Step, world: World, book: _TankBook, outcome: _Outcome, measured: Mapping[str, float]) -> PastRun:
    contents = book.contents_at(run.at)
    weighed = run.mass_after_g - run.mass_before_g if run.mass_before_g and run.mass_after_g else None
    return replace(
        told_by_itself(run, step, world.catalogue),
        result=outcome.result,
        defect=outcome.defect,
        rejects=outcome.rejects,
        photos=outcome.photos,
        good=outcome.good,
        ratios=book.ratios(contents),
        additives={n: v for n, v in contents.items() if n in book.additives},
        since_additive_ah=book.since_additive_ah(run.at),
        since_additive_days=book.since_additive_days(run.at),
        ph=book.ph_at(run.at),
        age_days=book.age_days(run.at),
        thickness_um=measured.get("thickness"),
        deposit_g=measured.get("deposit_mass", weighed),
        words=outcome.words,
        outcome_by=outcome.by,
    )


class _TankBook:
    """What a tank's entries and trail say of it, to be looked up at any moment."""

    def __init__(self, entries: Sequence[AnyEntry], world: World, tank: str) -> None:
        state = world.tanks.get(tank)
        self._state = state
        self._trail: Sequence[Point] = state.trail if state is not None else ()
        self._trail_at = [p.at for p in self._trail]
        self.additives = [n for n, s in state.species.items() if s.kind == "additive"] if state is not None else []
        self._made_up: list[datetime] = []
        self._dosed: list[datetime] = []
        self._ph: list[tuple[datetime, float]] = []
        self._charge_at: list[datetime] = []
        self._charge_sum: list[float] = []
        for entry in entries:
            self._note(entry, world, tank)

    def _note(self, entry: AnyEntry, world: World, tank: str) -> None:
        if isinstance(entry, Run):
            for step in (s for s in entry.steps if s.tank == tank):
                self._passed(entry.at, plating_of(step, entry.area_dm2, world.catalogue.spreads)[0].read_ah)
        elif getattr(entry, "tank", None) != tank:
            return
        elif isinstance(entry, MakeUp):
            self._made_up.append(entry.at)
        elif isinstance(entry, (Addition, Treatment)):
            if any(_is_additive(world.catalogue, i.reagent) for i in entry.items):
                self._dosed.append(entry.at)
            if isinstance(entry, Treatment):
                self._passed(entry.at, entry.charge_ah or 0.0)
        elif isinstance(entry, Reading):
            self._ph += [(entry.at, v.value) for v in entry.values if v.of.casefold() == "ph" and v.value is not None]

    def _passed(self, at: datetime, charge_ah: float) -> None:
        if charge_ah:
            self._charge_at.append(at)
            self._charge_sum.append((self._charge_sum[-1] if self._charge_sum else 0.0) + charge_ah)

    def _life_start(self, at: datetime) -> datetime | None:
        place = bisect_right(self._made_up, at)
        return self._made_up[place - 1] if place else None

    def contents_at(self, at: datetime) -> dict[str, float]:
        """Concentrations (g/L, mL/L) when what happened at that moment had happened; empty before the present life."""
        state = self._state
        if state is None or state.made_up is None or at < state.made_up:
            return {}
        place = bisect_right(self._trail_at, at)
        return dict(zip(state.species, self._trail[place - 1].values, strict=True)) if place else {}

    def ratios(self, contents: Mapping[str, float]) -> dict[str, float]:
        """Mass of parts over mass of whole, of the recipe's ratios."""
        return ratios_of(self._state, contents) if self._state is not None else {}

    def age_days(self, at: datetime) -> float | None:
        start = self._life_start(at)
        return (at - start).total_seconds() / _DAY_S if start is not None else None

    def ph_at(self, at: datetime) -> float | None:
        """The last pH read in this life of the bath up to the moment."""
        start = self._life_start(at)
        read = [v for when, v in self._ph if when <= at and (start is None or when >= start)]
        return read[-1] if read else None

    def _dose_before(self, at: datetime) -> datetime | None:
        """The last dose of an additive, or the make-up that brought the first."""
        place = bisect_right(self._dosed, at)
        known = [t for t in (self._dosed[place - 1] if place else None, self._life_start(at)) if t is not None]
        return max(known) if known and self.additives else None

    def since_additive_ah(self, at: datetime) -> float | None:
        """Charge through the tank from that dose to this load, without this load's own."""
        dosed = self._dose_before(at)
        return self._sum_before(at) - self._sum_before(dosed) if dosed is not None else None

    def since_additive_days(self, at: datetime) -> float | None:
        dosed = self._dose_before(at)
        return (at - dosed).total_seconds() / _DAY_S if dosed is not None else None

    def _sum_before(self, at: datetime) -> float:
        place = bisect_left(self._charge_at, at)
        return self._charge_sum[place - 1] if place else 0.0


def ratios_of(state: TankState, contents: Mapping[str, float]) -> dict[str, float]:
    """The recipe's ratios at given concentrations (g/L), by name; those that cannot be formed are left out."""
    if state.recipe is None:
        return {}
    found: dict[str, float] = {}
    for name, ratio in state.recipe.ratios.items():
        if not {*ratio.parts, *ratio.whole} <= contents.keys():
            continue
        whole = sum(contents[s] for s in ratio.whole)
        if whole > 0:
            found[name] = sum(contents[s] for s in ratio.parts) / whole
    return found


def _is_additive(catalogue: Catalogue, reagent: str) -> bool:
    try:
        return catalogue.reagent(reagent).additive is not None
    except CatalogueError:
        return False
