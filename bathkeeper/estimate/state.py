"""What is believed of one tank at one moment: solution, contents, anodes, parameters and instrument errors, and how it came
so."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from functools import lru_cache

import numpy as np

from bathkeeper.catalogue.schema import Prior, Recipe, Species
from bathkeeper.entries import Tank
from bathkeeper.estimate.dual import Dual, exp, sigmoid
from bathkeeper.estimate.gauss import Gauss

Z95 = 1.959964  # the 95 % half-width of a Gaussian, in standard deviations
HALF_YEAR_DAYS = 182.0
LARGEST_SPREAD = 3.0  # of an amount, 95 %: what is stated wider means no more than "no idea"
BEGINNING = datetime(1, 1, 1, tzinfo=UTC)  # the moment of a tank to which nothing has happened yet
GAIN_WANDER = 0.01  # an ammeter in a year, standard deviation: what makes a calibration grow stale [practice]
DRAG_IN_WANDER = 0.15  # of itself in half a year, standard deviation [practice]

EVAPORATED = "moved:evaporation"
"""Litres that went into the air in this life, a belief like any other: a reading of the level that teaches how fast water goes
corrects what has gone already, and so tells it from what is missing."""

Flows = Mapping[str, Mapping[str, float]]
"""What moved, by cause and then by name (``volume`` in L, species in g or mL, ``acid`` in mol, ``anode:NAME`` in g)."""


@dataclass(frozen=True)
class AnodeInfo:
    """An anode's particulars; its mass is in the Gaussian as ``anode:NAME``."""

    metal: str
    area_dm2: float | None
    hung: bool
    retired: bool
    start_mass_g: float
    since: datetime
    entry: str


@dataclass(frozen=True)
class Seen:
    """The latest reading of something: as read, and what was expected of it at that moment."""

    entry: str
    position: int
    at: datetime
    of: str
    unit: str
    value: float | None
    word: str | None
    method: str
    doubtful: bool = False
    expected: float | None = None
    expected_spread: float | None = None
    innovation: float = 0.0
    variance: float = 0.0
    noise: float = 0.0
    charge_ah: float = 0.0
    refuted: bool = False


@dataclass(frozen=True)
class Jump:
    """A step in a content that readings agree on and no entry explains: a missed entry, a leak, a wrong dose."""

    at: datetime
    of: str
    unit: str
    amount: float
    entries: tuple[str, ...]


@dataclass(frozen=True)
class Counters:
    """What has passed since the make-up."""

    charge_ah: float = 0.0
    since_addition_ah: float = 0.0
    dummy_ah: float = 0.0
    area_dm2: float = 0.0
    runs: int = 0
    hydrogen_l: float = 0.0


@dataclass(frozen=True)
class Point:
    """One step of the trail that a plot draws: concentrations (same order as ``TankState.species``) and their deviations."""

    at: datetime
    charge_ah: float
    volume_l: float
    values: tuple[float, ...]
    deviations: tuple[float, ...]


@dataclass(frozen=True)
class Missing:
    """Litres that a reading found missing (below zero: more than expected) beyond what evaporation explains."""

    at: datetime
    entry: str
    litres: float


@dataclass(frozen=True)
class MissingGrams:
    """Grams (mL of an additive) of a species that a reading found missing; below zero: more than expected."""

    at: datetime
    entry: str
    species: str
    grams: float


@dataclass(frozen=True)
class Life:
    """A bath's life from make-up to dump, with everything that moved in it. ``evaporated`` and ``unaccounted``: litres, each
    with its variance. ``put_right``: as of a tank, with the variance of what was there at the end."""

    start: datetime
    end: datetime | None
    flows: Flows
    counters: Counters
    evaporated: tuple[float, float] = (0.0, 0.0)
    unaccounted: tuple[float, float] = (0.0, 0.0)
    missing: tuple[Missing, ...] = ()
    put_right: Mapping[str, float] = field(default_factory=dict)
    missing_g: tuple[MissingGrams, ...] = ()


@dataclass(frozen=True)
class TankState:
    """One tank. ``made_up`` is None while it holds nothing known; ``now`` is the moment the Gaussian speaks of.

    ``put_right``: by ``mass:SPECIES`` the variance (g2, mL2) of all that readings put right in this life: how far off the
    amounts that the entries tell could have been anyway.
    """

    entry: Tank
    recipe: Recipe | None
    species: Mapping[str, Species]
    gauss: Gauss
    now: datetime
    made_up: datetime | None = None
    make_up_entry: str | None = None
    anodes: Mapping[str, AnodeInfo] = field(default_factory=dict)
    counters: Counters = Counters()
    flows: Flows = field(default_factory=dict)
    lives: tuple[Life, ...] = ()
    seen: Mapping[str, Seen] = field(default_factory=dict)
    doubts: Mapping[str, Seen] = field(default_factory=dict)
    jumps: tuple[Jump, ...] = ()
    trail: tuple[Point, ...] = ()
    heated_until: datetime | None = None
    missing: tuple[Missing, ...] = ()
    put_right: Mapping[str, float] = field(default_factory=dict)
    missing_g: tuple[MissingGrams, ...] = ()
    conductivity: Mapping[str, float] = field(default_factory=dict)

    @property
    def name(self) -> str:
        return self.entry.tank

    @property
    def alive(self) -> bool:
        return self.made_up is not None

    @property
    def volume_l(self) -> float:
        return self.gauss.value("volume")

    @property
    def working_volume_l(self) -> float:
        return self.entry.working_volume_l or 0.0

    @property
    def surface_dm2(self) -> float:
        """Open surface; without a statement that of a cube of the working volume."""
        return self.entry.surface_dm2 or self.working_volume_l ** (2 / 3)

    @property
    def why_empty(self) -> str:
        """Why nothing is known to be in the tank, for the end of a sentence."""
        return f"was emptied {self.lives[-1].end:%d %b %Y %H:%M}" if self.lives else "has no make-up on record by then"

    def parameter(self, name: str) -> Dual:
        """A parameter of the recipe in its natural unit."""
        assert self.recipe is not None
        return natural(self.recipe.parameters[name], self.gauss.dual(f"theta:{name}"))

    def parameter_value(self, name: str) -> float:
        return self.parameter(name).value

    def with_gauss(self, gauss: Gauss) -> TankState:
        return replace(self, gauss=gauss)

    def concentration(self, species: str) -> tuple[float, float]:
        """(value, standard deviation) in g/L or mL/L; of an empty tank (0, 0)."""
        volume = self.volume_l
        if volume <= 1e-9:
            return 0.0, 0.0
        g = self.gauss
        i, v = g.index[f"mass:{species}"], g.index["volume"]
        c = float(g.mean[i]) / volume
        variance = float(g.cov[i, i] - 2 * c * g.cov[i, v] + c * c * g.cov[v, v]) / volume**2
        return c, math.sqrt(max(variance, 0.0))


def natural(prior: Prior, x: Dual) -> Dual:
    """From the scale that the filter works on to the parameter's own unit."""
    if prior.scale == "log":
        return exp(x)
    if prior.scale == "logit":
        return sigmoid(x)
    return x


def to_natural(prior: Prior, x: float) -> float:
    if prior.scale == "log":
        return math.exp(x)
    if prior.scale == "logit":
        return 1.0 / (1.0 + math.exp(-x))
    return x


def prior_belief(prior: Prior) -> tuple[float, float]:
    """(mean, variance) on the filter's scale."""
    if prior.scale == "log":
        assert prior.factor is not None
        return math.log(prior.value), (math.log(prior.factor) / Z95) ** 2
    assert prior.spread is not None
    if prior.scale == "logit":
        v = prior.value
        return math.log(v / (1 - v)), (prior.spread / (v * (1 - v)) / Z95) ** 2
    return prior.value, (prior.spread / Z95) ** 2


def booked(flows: Flows, cause: str, amounts: Mapping[str, float]) -> Flows:
    """The flows with further amounts under a cause."""
    kept = {k: v for k, v in amounts.items() if v != 0.0}
    if not kept:
        return flows
    account = dict(flows.get(cause, {}))
    for name, amount in kept.items():
        account[name] = account.get(name, 0.0) + amount
    return {**flows, cause: account}


def conserved_names(state: TankState) -> list[str]:
    """Everything whose flows must add up: litres, grams, mol of acid, grams of anode."""
    return [n for n in state.gauss.names if n in ("volume", "acid") or n.startswith(("mass:", "anode:"))]


def new_state(
    tank: Tank, recipe: Recipe | None, species: Mapping[str, Species], conductivity: Mapping[str, float], area_bias_sd: float
) -> TankState:
    """An empty tank with its recipe's priors; nothing is believed of its contents before a make-up."""
    beliefs: list[tuple[str, float, float]] = [("volume", 0.0, 0.0), ("acid", 0.0, 0.0), ("ph0", 0.0, 0.0)]
    beliefs.append((EVAPORATED, 0.0, 0.0))
    beliefs += [(f"mass:{s}", 0.0, 0.0) for s in species]
    if recipe is not None:
        beliefs += [(f"theta:{n}", *prior_belief(p)) for n, p in recipe.parameters.items()]
    beliefs.append(("habit:area", 0.0, area_bias_sd**2))
    return TankState(
        entry=tank, recipe=recipe, species=species, conductivity=conductivity, gauss=Gauss.independent(beliefs), now=BEGINNING
    )


def unstated_belief(species: Species, volume_l: float, none_put_in: bool, relative_sd: float) -> tuple[float, float]:
    """(mass, variance) of what nobody stated: the recipe's target, widely; of what is not put in, next to nothing."""
    if none_put_in or not species.target:
        return 0.0, (0.02 * (species.high or 0.0) * volume_l) ** 2
    mass = species.target * volume_l
    return mass, (relative_sd * mass) ** 2


def walk_rates(state: TankState) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """Variance per day by which each parameter may wander."""
    rates = np.zeros(len(state.gauss.names))
    if state.recipe is not None:
        for name, prior in state.recipe.parameters.items():
            rates[state.gauss.index[f"theta:{name}"]] = prior.walk**2 * prior_belief(prior)[1] / HALF_YEAR_DAYS
    for name, i in state.gauss.index.items():
        if name.startswith("gain:"):
            rates[i] = GAIN_WANDER**2 / (2 * HALF_YEAR_DAYS)
    if "drag_in" in state.gauss:
        rates[state.gauss.index["drag_in"]] = DRAG_IN_WANDER**2 / HALF_YEAR_DAYS
    return rates


def settled(state: TankState) -> TankState:
    """Nothing goes below zero: what a drain took beyond what was there is given back, and booked as such."""
    g = state.gauss
    floored = _floored(g.names)
    if not (g.mean[floored] < 0).any():
        return state
    below = {g.names[i]: -float(g.mean[i]) for i in floored if g.mean[i] < 0}
    mean = g.mean.copy()
    for name in below:
        mean[g.index[name]] = 0.0
    return replace(state, gauss=g.with_mean(mean), flows=booked(state.flows, "stopped at zero", below))


@lru_cache(maxsize=256)
def _floored(names: tuple[str, ...]) -> list[int]:
    """Places of what cannot be less than nothing."""
    return [i for i, n in enumerate(names) if n == "volume" or n.startswith(("mass:", "anode:"))]


def adjusted(state: TankState, after: Gauss, before: Gauss | None = None) -> TankState:
    """The state with a Gaussian that an observation moved; what it moved is booked as such.

    ``before``: what was believed before room was made for a jump, where that was done.
    """
    moved = {n: after.value(n) - state.gauss.value(n) for n in conserved_names(state)}
    put_right = dict(state.put_right)
    for name in (f"mass:{s}" for s in state.species):
        put_right[name] = put_right.get(name, 0.0) + put_right_by(before or state.gauss, state.gauss, after, name)
    flows = booked(state.flows, "reading adjustments", moved)
    return settled(replace(state, gauss=after, flows=flows, put_right=put_right))


def put_right_by(before: Gauss, opened: Gauss, after: Gauss, name: str) -> float:
    """Variance by which one observation may have moved a name without anything having gone.

    Steps of the filter are independent of each other and each has the variance that the observation took away, so they add up
    over a life. After a jump nothing of what the entries tell is left in the belief: then it is all of the variance before.
    """
    was = before.variance(name) if name in before else 0.0
    if name in opened and opened.variance(name) > was * (1.0 + 1e-9):
        return was
    return max(was - after.variance(name), 0.0)


def trailed(state: TankState) -> TankState:
    """With the present contents added to the trail."""
    if not state.alive:
        return state
    pairs = [state.concentration(s) for s in state.species]
    point = Point(
        state.now, state.counters.charge_ah, state.volume_l, tuple(p[0] for p in pairs), tuple(p[1] for p in pairs)
    )
    return replace(state, trail=(*state.trail, point))
