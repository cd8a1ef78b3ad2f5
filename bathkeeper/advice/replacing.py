"""Whether a pickle, degreaser, acid dip, passivate or rinse is kept, refreshed or replaced: its signs side by side.

No single number tells: each sign stands with its own limit and source, and the keeper chooses the rule. Without a rule of the
keeper's the first sign of the role decides (half the acid of a pickle, and so on), marked as practice.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

from bathkeeper.advice.feeds import species_g_per_g
from bathkeeper.catalogue.loader import Catalogue
from bathkeeper.catalogue.own import ReplacementRule, rule_for
from bathkeeper.catalogue.schema import Reagent, Recipe, Species
from bathkeeper.chemistry.formulas import molar_mass
from bathkeeper.entries import AnyEntry, Run, Unknown
from bathkeeper.estimate.state import Z95, TankState
from bathkeeper.estimate.usage import Usage
from bathkeeper.findings import Because, Estimate

Verdict = Literal["keep", "refresh", "replace"]
ROLES = ("pickle", "degrease", "acid dip", "passivate", "rinse", "rust removal", "seal")
HALF = 0.5  # of its make-up strength a pickle is usually called spent [practice]
FIRST_SIGN = {"pickle": ("acid",), "acid dip": ("acid",), "degrease": ("alkali",), "rust removal": ("alkali",)}
RATE_SPREAD = 0.3  # 95 % half-width of how like the past the next loads are, at best [practice]
DWELL_LONGER = 2.0  # times the fresh bath's dwell from which it counts as tired [practice]
LEAST_RUNS = 6  # with stays on record, before a trend of the dwell is drawn [practice]
CLOSE = 0.2  # of a sign's way left, from which the batches are counted aloud [practice]


@dataclass(frozen=True)
class Sign:
    """One sign of age. ``left`` is how much of the way from fresh (1) to the limit (0, below: past it) is left."""

    name: str
    value: Estimate
    fresh: float
    limit: float
    left: float
    refreshable: bool
    status: str
    source: str
    entries: tuple[str, ...] = ()

    @property
    def past(self) -> bool:
        return self.left <= 0


@dataclass(frozen=True)
class Refresh:
    """Bringing a bath back without dumping it: the reagent and how much, and what stays in it. ``stays`` maps what is not taken
    out to the part of its way that is left."""

    species: str
    reagent: str
    amount: float
    unit: str
    stays: dict[str, float]


@dataclass(frozen=True)
class Replacing:
    """The signs of a bath, what they come to by the rule, and how many batches are left by it."""

    tank: str
    signs: tuple[Sign, ...]
    rule: str
    deciding: Sign | None
    verdict: Verdict
    why: str
    batches_left: Estimate | None
    by: datetime | None
    between: tuple[datetime, datetime] | None
    refresh: Refresh | None
    because: Because


def replacing(
    state: TankState, catalogue: Catalogue, entries: Iterable[AnyEntry | Unknown], usage: Usage, at: datetime
) -> Replacing | None:
    """None for a tank that is empty, has no recipe, or is a plating bath (those are mended, not replaced)."""
    recipe = state.recipe
    if recipe is None or not state.alive or recipe.role not in ROLES:
        return None
    rule = rule_for(state.name, recipe, catalogue.own)
    found = [*_contents(state, recipe, rule), *_counters(state, recipe, rule, at)]
    dwell = dwell_sign(state, entries, rule, at)
    signs = tuple(found if dwell is None else [*found, dwell])
    deciding, told = _deciding(signs, recipe, rule)
    refresh = _refresh(state, recipe, signs, catalogue)
    verdict, why = _verdict(signs, deciding, refresh)
    batches, by, between = _left(state, deciding, usage, at)
    return Replacing(
        tank=state.name,
        signs=signs,
        rule=told,
        deciding=deciding,
        verdict=verdict,
        why=why,
        batches_left=batches,
        by=by,
        between=between,
        refresh=refresh if verdict == "refresh" else None,
        because=Because(
            text=f"{told}; {why}",
            entries=tuple(dict.fromkeys(e for s in signs for e in s.entries)),
            formula="left = (value - limit) / (fresh - limit); batches left = way left / what a load uses of it",
            sources=tuple(f"{s.name}: {s.status}{', ' + s.source if s.source else ''}" for s in signs),
        ),
    )


def _contents(state: TankState, recipe: Recipe, rule: ReplacementRule | None) -> list[Sign]:
    start = state.trail[0] if state.trail else None
    order = list(state.species)
    signs = []
    for name, species in recipe.species.items():
        value, sd = state.concentration(name)
        fresh = start.values[order.index(name)] if start is not None and name in order else (species.target or 0.0)
        told = _limit(name, species, fresh, recipe, rule)
        if told is None or math.isclose(told[0], fresh):
            continue
        limit, status, source = told
        left = (value - limit) / (fresh - limit)
        last = state.seen.get(name)
        signs.append(
            Sign(
                name=name,
                value=Estimate(value, max(value - Z95 * sd, 0.0), value + Z95 * sd, species.unit),
                fresh=fresh,
                limit=limit,
                left=left,
                refreshable=species.kind in ("acid", "alkali", "salt", "additive") and limit < fresh,
                status=status,
                source=source,
                entries=(last.entry,) if last is not None else (),
            )
        )
    return signs


def _limit(
    name: str, species: Species, fresh: float, recipe: Recipe, rule: ReplacementRule | None
) -> tuple[float, str, str] | None:
    """(limit, status, source) of a content: the keeper's, else half the make-up of a pickle's acid, else the recipe's edge."""
    if rule is not None and rule.sign == name:
        if rule.limit is not None:
            return rule.limit, "keeper's own", "replacement rule"
        return (rule.left or HALF) * fresh, "keeper's own", f"{rule.left or HALF:.0%} of the make-up"
    if species.kind in FIRST_SIGN.get(recipe.role, ()) and recipe.role == "pickle":
        return HALF * fresh, "practice", "half of the make-up"
    if species.kind == "contaminant":
        edge = species.high if species.high is not None else species.give_up_high
        return (edge, species.status, species.source) if edge is not None else None
    edge = species.give_up_low if species.give_up_low is not None else species.low
    return (edge, species.status, species.source) if edge is not None and edge < fresh else None


def _counters(state: TankState, recipe: Recipe, rule: ReplacementRule | None, at: datetime) -> list[Sign]:
    life = recipe.life
    days = (at - state.made_up).total_seconds() / 86400 if state.made_up is not None else 0.0
    area = state.counters.area_dm2
    made_up = (state.make_up_entry,) if state.make_up_entry else ()
    signs = []
    for name, value, usual, unit in (
        ("age", days, life.days if life else None, "days"),
        ("area", area, life.area_dm2 if life else None, "dm2"),
    ):
        own = rule is not None and rule.sign == name and rule.limit is not None
        limit = rule.limit if own and rule is not None else usual
        if limit is None or limit <= 0:
            continue
        half = 0.15 * value if name == "area" else 0.0  # the keeper's habit of guessing area [practice]
        signs.append(
            Sign(
                name=name,
                value=Estimate(value, value - half, value + half, unit),
                fresh=0.0,
                limit=limit,
                left=1 - value / limit,
                refreshable=False,
                status="keeper's own" if own else life.status if life else "",
                source="replacement rule" if own else life.source if life else "",
                entries=made_up,
            )
        )
    return signs


def dwell_sign(
    state: TankState, entries: Iterable[AnyEntry | Unknown], rule: ReplacementRule | None, at: datetime
) -> Sign | None:
    """The stay that loads need now against the fresh bath's: a straight line through minutes over area processed.

    None with too few stays on record, or when they do not grow.
    """
    points: list[tuple[float, float, str]] = []
    area = 0.0
    for entry in entries:
        if not isinstance(entry, Run) or entry.at > at or (state.made_up is not None and entry.at < state.made_up):
            continue
        for step in entry.steps:
            if step.tank == state.name:
                area += entry.area_dm2
                if step.minutes:
                    points.append((area, step.minutes, entry.id))
    if len(points) < LEAST_RUNS:
        return None
    n = len(points)
    mean_x, mean_y = sum(p[0] for p in points) / n, sum(p[1] for p in points) / n
    spread_x = sum((p[0] - mean_x) ** 2 for p in points)
    if spread_x <= 0:
        return None
    slope = sum((p[0] - mean_x) * (p[1] - mean_y) for p in points) / spread_x
    fresh, now = mean_y - slope * mean_x, mean_y + slope * (points[-1][0] - mean_x)
    scatter = math.sqrt(sum((p[1] - mean_y - slope * (p[0] - mean_x)) ** 2 for p in points) / max(n - 2, 1))
    half = Z95 * scatter * math.sqrt(1 / n + (points[-1][0] - mean_x) ** 2 / spread_x)
    if fresh <= 0 or now - half <= fresh:
        return None
    own = rule is not None and rule.sign == "dwell" and rule.limit is not None
    limit = rule.limit if own and rule is not None and rule.limit is not None else DWELL_LONGER * fresh
    return Sign(
        name="dwell",
        value=Estimate(now, now - half, now + half, "min"),
        fresh=fresh,
        limit=limit,
        left=(now - limit) / (fresh - limit),
        refreshable=False,
        status="keeper's own" if own else "practice",
        source="replacement rule" if own else "twice the fresh bath's stay",
        entries=tuple(p[2] for p in points[-3:]),
    )


def _deciding(signs: tuple[Sign, ...], recipe: Recipe, rule: ReplacementRule | None) -> tuple[Sign | None, str]:
    if rule is not None:
        own = next((s for s in signs if s.name == rule.sign), None)
        return own, f"by the keeper's rule, {rule.sign}"
    for kind in FIRST_SIGN.get(recipe.role, ()):
        of_kind = [s for s in signs if s.name in recipe.species and recipe.species[s.name].kind == kind]
        if of_kind:
            first = min(of_kind, key=lambda s: s.left)
            return first, f"by the usual rule of a {recipe.role}, {first.name} (practice)"
    worst = min((s for s in signs if s.name != "area"), key=lambda s: s.left, default=None)
    return worst, f"by whichever sign is nearest its end, {worst.name if worst else 'none yet'} (practice)"


def _verdict(signs: tuple[Sign, ...], deciding: Sign | None, refresh: Refresh | None) -> tuple[Verdict, str]:
    if deciding is None:
        return "keep", "no sign has a limit yet"
    dirty = [s for s in signs if s.past and not s.refreshable and s.name not in ("age", "area")]
    if not deciding.past and not (dirty and dirty != [deciding]):
        return "keep", f"{deciding.name} has {max(deciding.left, 0):.0%} of its way left"
    if dirty:
        return "replace", f"{', '.join(s.name for s in dirty)} past the limit, and nothing put in takes it out again"
    if refresh is not None and deciding.refreshable:
        return "refresh", f"{deciding.name} is used up while {_cleanest(signs)}: refresh, or replace"
    return "replace", f"{deciding.name} is past its limit"


def _cleanest(signs: tuple[Sign, ...]) -> str:
    others = [s for s in signs if not s.refreshable and s.name not in ("age", "area", "dwell")]
    if not others:
        return "nothing else stands against it"
    worst = min(others, key=lambda s: s.left)
    return f"{worst.name} has {max(worst.left, 0):.0%} of its way left"


def _refresh(state: TankState, recipe: Recipe, signs: tuple[Sign, ...], catalogue: Catalogue) -> Refresh | None:
    """The reagent of its own make-up that brings the weakest refreshable content back to what it was when fresh."""
    weak = [s for s in signs if s.refreshable]
    if not weak:
        return None
    sign = min(weak, key=lambda s: s.left)
    missing_g = max(sign.fresh - sign.value.value, 0.0) * state.volume_l
    species = recipe.species[sign.name]
    for made in recipe.make_up:
        reagent = catalogue.reagents.get(made.reagent)
        per_g = _content_per_g(reagent, sign.name, species) if reagent is not None else None
        if reagent is None or not per_g:
            continue
        liquid = reagent.form != "solid" and bool(reagent.density_g_ml)
        grams = missing_g / per_g
        stays = {s.name: s.left for s in signs if not s.refreshable and s.name not in ("age", "area", "dwell")}
        if reagent.form == "additive":
            return Refresh(sign.name, reagent.name, missing_g, "mL", stays)
        amount = grams / (reagent.density_g_ml or 1.0) if liquid else grams
        return Refresh(sign.name, reagent.name, amount, "mL" if liquid else "g", stays)
    return None


def _content_per_g(reagent: Reagent, name: str, species: Species) -> float | None:
    """Grams of a species by a gram of a reagent; acid and alkali by their equivalents. mL by mL for additives."""
    if reagent.additive == name:
        return 1.0
    if name in reagent.brings and reagent.formula:
        return species_g_per_g(reagent, name)
    sign = {"acid": 1.0, "alkali": -1.0}.get(species.kind, 0.0)
    if sign * reagent.acid_equivalents > 0 and species.formula and (species.counts_weak or not reagent.weak_base):
        mol = reagent.purity * abs(reagent.acid_equivalents) / molar_mass(reagent.formula)
        return mol * molar_mass(species.formula) / (species.equivalents or 1.0)
    return None


def _left(
    state: TankState, sign: Sign | None, usage: Usage, at: datetime
) -> tuple[Estimate | None, datetime | None, tuple[datetime, datetime] | None]:
    """Loads left by the deciding sign, when that is, and between when: the rate of this life so far, give or take."""
    runs = state.counters.runs
    if sign is None or runs <= 0 or sign.left >= 1 - 1e-9:
        return None, None, None
    per_run = (1 - sign.left) / runs
    if sign.name == "age":
        days = (sign.limit - sign.value.value) if sign.left > 0 else 0.0
        when = at + timedelta(days=days)
        return None, when, (when, when)
    count = max(sign.left, 0.0) / per_run
    own = sign.value.spread / abs(sign.fresh - sign.limit) / per_run  # in loads
    gone = abs(sign.value.value - sign.fresh)
    rate = math.hypot(RATE_SPREAD, sign.value.spread / gone if gone > 0 else 1.0)
    low, high = max(count - math.hypot(own, rate * count), 0.0), count + math.hypot(own, rate * count)
    batches = Estimate(count, low, high, "loads")
    if usage.runs_per_week <= 0:
        return batches, None, None
    days_of = [at + timedelta(days=min(7 * n / usage.runs_per_week, 36_500)) for n in (count, low, high)]
    return batches, days_of[0], (days_of[1], days_of[2])
