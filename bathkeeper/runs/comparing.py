"""Good loads beside bad ones: what was different, whether that is more than chance, and no more than that."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from statistics import median
from typing import Any

import msgspec

from bathkeeper.catalogue.defects import canonical
from bathkeeper.runs.chance import SURE, Chance, chance_of, once_in, stricter
from bathkeeper.runs.past import PastRun
from bathkeeper.showing import shown_parts
from bathkeeper.units.numerals import Preferences

NO_HABITS = Preferences()
NO_CAUSE = (
    "What differs need not be the cause: what changes together with time (age of the bath, additive, ratio) cannot be told "
    "apart by looking back. To find out, change one thing and plate two loads that are otherwise alike."
)


@dataclass(frozen=True)
class Side:
    """One group's values of one thing: how many were known, their median and range."""

    runs: int
    median: float
    low: float
    high: float


@dataclass(frozen=True)
class Measured:
    """One thing in the good loads and in the bad ones. ``chance``: how often luck alone deals it at least as unevenly;
    ``together``: the same, allowing for how many things are compared; None where one side has no values."""

    name: str
    title: str
    unit: str
    good: Side | None
    bad: Side | None
    chance: float | None
    together: float | None
    verdict: str
    differs: bool


@dataclass(frozen=True)
class Comparison:
    """Good and bad loads of a tank. ``of``: the defect asked for, None for any; ``left_out``: loads with no verdict, or bad
    in another way."""

    tank: str
    of: str | None
    good: tuple[str, ...]
    bad: tuple[str, ...]
    left_out: int
    measured: tuple[Measured, ...]
    says: tuple[str, ...]

    def plain(self) -> dict[str, Any]:
        """For JSON."""
        made: dict[str, Any] = msgspec.to_builtins(self)
        return made

    def lines(self, prefs: Preferences = NO_HABITS) -> list[str]:
        """A line for each thing compared, then what it comes to."""
        return [*(_line(m, prefs) for m in self.measured), *self.says]


def compare(runs: Iterable[PastRun], tank: str, of: str | None = None) -> Comparison:
    """Good loads against bad ones (or, with ``of``, against those with one defect, by name or everyday word) of one tank.

    ``runs``: as seen from that tank (``past_runs(..., tank=tank)``). Nothing is claimed of loads without a verdict.
    """
    here = [r for r in runs if r.tank == tank]
    wanted = canonical(of) if of is not None else None
    good = [r for r in here if r.good is True]
    bad = [r for r in here if r.good is False and (wanted is None or (r.defect is not None and canonical(r.defect) == wanted))]
    left_out = len(here) - len(good) - len(bad)
    shared = (tuple(r.id for r in good), tuple(r.id for r in bad), left_out)
    if not good or not bad:
        return Comparison(tank, wanted, *shared, (), _nothing_to_compare(here, good, bad, tank, of))
    rows = [
        (t, [v for r in good if (v := t.of(r)) is not None], [v for r in bad if (v := t.of(r)) is not None])
        for t in _things(here)
    ]
    tested = {t.name: chance_of(g, b) for t, g, b in rows if g and b}
    strict = dict(zip(tested, stricter([c.p for c in tested.values()]), strict=True))
    measured = tuple(_measured(t, g, b, tested.get(t.name), strict.get(t.name), len(tested)) for t, g, b in rows if g or b)
    return Comparison(tank, wanted, *shared, measured, _says(measured, good, bad, left_out, wanted))


@dataclass(frozen=True)
class _Thing:
    name: str
    title: str
    unit: str
    of: Callable[[PastRun], float | None]


def _things(runs: Sequence[PastRun]) -> list[_Thing]:
    """What is compared: fixed things, and every ratio and additive that the runs know."""
    ratios = dict.fromkeys(n for r in runs for n in r.ratios)
    additives = dict.fromkeys(n for r in runs for n in r.additives)
    return [
        _Thing("density_a_dm2", "current density", "A/dm2", lambda r: r.density_a_dm2),
        _Thing("temperature_c", "temperature", "degC", lambda r: r.temperature_c),
        *(_Thing(f"ratio {n}", f"ratio {n} then", "fraction", _lookup("ratios", n)) for n in ratios),
        *(_Thing(f"additive {n}", f"{n} as estimated then", "mL/L", _lookup("additives", n)) for n in additives),
        _Thing("since_additive_ah", "charge since an additive was dosed", "Ah", lambda r: r.since_additive_ah),
        _Thing("since_additive_days", "days since an additive was dosed", "d", lambda r: r.since_additive_days),
        _Thing("ph", "pH last read before", "pH", lambda r: r.ph),
        _Thing("age_days", "age of the bath", "d", lambda r: r.age_days),
        _Thing("area_dm2", "area of the load", "dm2", lambda r: r.area_dm2),
        _Thing("minutes", "time", "min", lambda r: r.minutes),
    ]


def _lookup(group: str, name: str) -> Callable[[PastRun], float | None]:
    def of(run: PastRun) -> float | None:
        values: Mapping[str, float] = getattr(run, group)
        return values.get(name)

    return of


def _measured(
    thing: _Thing, good: Sequence[float], bad: Sequence[float], chance: Chance | None, together: float | None, compared: int
) -> Measured:
    differs = False
    if chance is None or together is None:
        verdict = f"Not known of any {'bad' if good else 'good'} load."
    elif chance.least >= 1:
        verdict = "The same in all."
    elif chance.least > SURE:
        verdict = (
            f"Too few to tell ({len(good)} good, {len(bad)} bad): even the clearest split comes up by chance "
            f"{once_in(chance.least)}."
        )
    elif together <= SURE:
        differs = True
        verdict = f"{_which(good, bad)}, more than chance: luck alone does that {once_in(chance.p)}."
    elif chance.p <= SURE:
        verdict = f"{_which(good, bad)}, but with {compared} things compared this may be chance ({once_in(chance.p)})."
    else:
        verdict = "No more than chance."
    return Measured(
        thing.name, thing.title, thing.unit, _side(good), _side(bad), chance.p if chance else None, together, verdict, differs
    )


def _which(good: Sequence[float], bad: Sequence[float]) -> str:
    above = sum((b > g) - (b < g) for b in bad for g in good)
    return "Higher in the bad loads" if above > 0 else "Lower in the bad loads" if above < 0 else "Different in the bad loads"


def _side(values: Sequence[float]) -> Side | None:
    return Side(len(values), median(values), min(values), max(values)) if values else None


def _says(
    measured: Sequence[Measured], good: Sequence[PastRun], bad: Sequence[PastRun], left_out: int, of: str | None
) -> tuple[str, ...]:
    said = [
        f"{len(good)} good loads, {len(bad)} {'with ' + of if of else 'bad'}; "
        f"{left_out} left out (no verdict, or bad otherwise)."
    ]
    differing = [m.title for m in measured if m.differs]
    if differing:
        said.append(f"More than chance: {', '.join(differing)}.")
        said.append(NO_CAUSE)
    else:
        said.append("Nothing here differs by more than chance would do; that does not prove that nothing does.")
    return tuple(said)


def _nothing_to_compare(
    here: Sequence[PastRun], good: Sequence[PastRun], bad: Sequence[PastRun], tank: str, of: str | None
) -> tuple[str, ...]:
    if not here:
        return (f"No run through {tank} is on record.",)
    said = [f"{len(here)} runs through {tank} are on record: {len(good)} said to be good, {len(bad)} {of or 'bad'}."]
    if of is not None and not bad:
        known = dict.fromkeys(r.defect for r in here if r.defect)
        said.append(f"Defects on record here: {', '.join(known)}." if known else "No defect is on record here.")
    said.append(
        "To compare, both kinds are needed: say of a run `result=good`, or its `defect=` or `rejects=`, also later "
        "by a remark on it."
    )
    return tuple(said)


def _line(m: Measured, prefs: Preferences) -> str:
    return f"{m.title}: good {_told(m.good, m.unit, prefs)}; bad {_told(m.bad, m.unit, prefs)}. {m.verdict}"


def _told(side: Side | None, unit: str, prefs: Preferences) -> str:
    if side is None:
        return "not known"
    half = (side.high - side.low) / 2 or None
    middle, label = shown_parts(side.median, unit, prefs, half)
    low, high = (shown_parts(v, unit, prefs, half)[0] for v in (side.low, side.high))
    return f"{middle} ({low} to {high}) {label}".replace(") A/dm2", ") A/dm²").rstrip() + f", {side.runs} loads"
