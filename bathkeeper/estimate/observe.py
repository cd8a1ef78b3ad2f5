"""Taking up readings: each is weighed against what was expected; one that cannot be believed is kept in doubt, not used.

A doubtful reading waits until a second one agrees with it or the keeper confirms it. Then both are applied, each at its own
time, which means that the entries since the first are read again: :class:`Reconsider` says from where.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from bathkeeper.catalogue.schema import Metal, Method
from bathkeeper.entries import AnyEntry, Reading, Value
from bathkeeper.estimate.dual import Dual
from bathkeeper.estimate.gauss import Gauss
from bathkeeper.estimate.measure import Expectation, noise_covariance
from bathkeeper.estimate.missing import WORTH_TELLING_L, unaccounted
from bathkeeper.estimate.put_right import grams_missed
from bathkeeper.estimate.state import Z95, Jump, Missing, MissingGrams, Seen, TankState, adjusted

DOUBT = 10.828  # 99.9 % point of chi-square with one degree of freedom (scipy.stats.chi2.ppf)
LEAST_VARIANCE = 1e-12
LARGEST_SHIFT = 5.0  # of a rate's logarithm: a factor of 150, beyond which a rate explains nothing
AGREE = 6.635  # 99 % point

Key = tuple[str, str]
"""(entry id, what it is of): names one value of one reading."""


class Reconsider(Exception):
    """Readings held in doubt turn out to be right: fold again from ``position`` with ``accepted`` believed."""

    def __init__(self, position: int, accepted: Collection[Key]) -> None:
        super().__init__(f"fold again from entry {position}")
        self.position = position
        self.accepted = frozenset(accepted)


@dataclass(frozen=True)
class Context:
    """Where in the book the fold stands, and which doubtful readings are believed by now."""

    position: int
    accepted: Collection[Key]
    positions: Mapping[str, int]


@dataclass(frozen=True)
class Observation:
    """One value of one entry with what it was expected to be (None: kept and shown, not conserved)."""

    value: Value
    method: Method
    expectation: Expectation | None


def observe(
    state: TankState, observations: Sequence[Observation], entry: AnyEntry, context: Context, metals: Mapping[str, Metal]
) -> TankState:
    """The tank after an entry's readings: the believable ones applied together, the others kept in doubt.

    Raises:
        Reconsider: a doubtful value agrees with an earlier doubtful one.
    """
    accepted, before = context.accepted, state.gauss
    if isinstance(entry, Reading) and entry.confirms is True:
        accepted = {*accepted, *((entry.id, o.value.of) for o in observations)}
    weighed = [(o, o.expectation) for o in observations if o.expectation is not None and o.value.value is not None]
    R = np.array(noise_covariance([(o.value, o.method, e.noise) for o, e in weighed], metals))
    used: list[int] = []
    for observation in observations:
        value, expectation = observation.value, observation.expectation
        seen = Seen(
            entry=entry.id,
            position=context.position,
            at=entry.at,
            of=value.of,
            unit=value.unit,
            value=value.value,
            word=value.word,
            method=observation.method.name,
            charge_ah=state.counters.charge_ah,
        )
        if expectation is None or value.value is None:
            state = replace(state, seen={**state.seen, value.of: seen})
            continue
        place = next(i for i, (o, _) in enumerate(weighed) if o is observation)
        innovation = value.value - expectation.h.value
        variance, noise = state.gauss.variance_of(expectation.h), float(R[place, place])
        seen = replace(
            seen,
            expected=expectation.h.value,
            expected_spread=Z95 * math.sqrt(max(variance, 0.0)),
            innovation=innovation,
            variance=variance,
            noise=noise,
        )
        believed = (entry.id, value.of) in accepted
        if innovation**2 > _believable(state, expectation.h, innovation, variance, noise):
            if not believed:
                state = _doubted(state, replace(seen, doubtful=True))
                continue
            if not expectation.blame:  # nothing that could have jumped: believed, but only as far as it is strange
                R[place, place] += innovation**2
            state = _opened(state, expectation, innovation, seen)
        state = replace(state, seen={**state.seen, value.of: seen}, doubts=_settled_doubts(state, seen, believed))
        used.append(place)
    if not used:
        return state
    chosen = [weighed[i] for i in used]
    read = [o.value.value or 0.0 for o, _ in chosen]
    after = state.gauss.updated([e.h for _, e in chosen], read, R[np.ix_(used, used)])
    return _missed(state, adjusted(state, as_rates(state, after), before), entry)


def _missed(before: TankState, after: TankState, entry: AnyEntry) -> TankState:
    """With what the entry's readings found missing, so that it can be told when it went."""
    grams = [MissingGrams(entry.at, entry.id, n, g) for n, g in grams_missed(before, after)]
    if grams:
        after = replace(after, missing_g=(*after.missing_g, *grams))
    litres = unaccounted(after)[0] - unaccounted(before)[0]
    if abs(litres) < WORTH_TELLING_L:
        return after
    return replace(after, missing=(*after.missing, Missing(entry.at, entry.id, litres)))


def _believable(state: TankState, h: Dual, innovation: float, variance: float, noise: float) -> float:
    """Square of how far off a reading may be before it is doubted: the 99.9 % point of what is uncertain.

    What a rate on a log scale did grows as its exponential, so on the way up that rate's own 99.9 % point reaches further than
    the straight line: sum b (e^x - 1) with x the rates' shift towards the reading and b what one of each did.
    """
    straight = DOUBT * (variance + noise)
    if innovation**2 <= straight or state.recipe is None:
        return straight
    g = state.gauss
    places = [g.index[f"theta:{n}"] for n, p in state.recipe.parameters.items() if p.scale == "log"]
    places = [i for i in places if g.cov[i, i] > LEAST_VARIANCE]
    if not places:
        return straight
    with_h = (h.grad @ g.cov)[places]
    did = np.linalg.solve(g.cov[np.ix_(places, places)] + LEAST_VARIANCE * np.eye(len(places)), with_h)
    by_rates = float(did @ with_h)
    if by_rates <= 0:
        return straight
    sign = math.copysign(1.0, innovation)
    shift = sign * with_h / math.sqrt(by_rates) * math.sqrt(DOUBT)
    reach = max(sign * float(did @ np.expm1(np.minimum(shift, LARGEST_SHIFT))), math.sqrt(DOUBT * by_rates))
    return reach**2 + DOUBT * (max(variance - by_rates, 0.0) + noise)


def _doubted(state: TankState, seen: Seen) -> TankState:
    for before in state.doubts.values():
        if before.of != seen.of or before.entry == seen.entry or before.refuted:
            continue
        apart = (seen.innovation - before.innovation) ** 2
        tolerance = seen.noise + before.noise + max(seen.variance - before.variance, 0.0)
        if apart <= AGREE * tolerance:
            raise Reconsider(before.position, {(before.entry, before.of), (seen.entry, seen.of)})
    return replace(state, seen={**state.seen, seen.of: seen}, doubts={**state.doubts, f"{seen.of} {seen.entry}": seen})


def _settled_doubts(state: TankState, seen: Seen, believed: bool) -> dict[str, Seen]:
    """A good reading refutes the doubtful ones before it, which stay on record; a believed one settles its own."""
    kept = {k: d for k, d in state.doubts.items() if not (believed and d.of == seen.of and d.entry == seen.entry)}
    return {k: replace(d, refuted=True) if d.of == seen.of and not believed else d for k, d in kept.items()}


def _opened(state: TankState, expectation: Expectation, innovation: float, seen: Seen) -> TankState:
    """Room for a jump: the content that the reading speaks of may be off by as much as the reading says."""
    cov = state.gauss.cov.copy()
    for name, scale in expectation.blame.items():
        i = state.gauss.index[name]
        cov[i, i] += (innovation * scale) ** 2
        if name == "volume":
            cov += _solution(state, innovation * scale)
    jump = Jump(seen.at, seen.of, seen.unit, innovation, (seen.entry,))
    gauss = Gauss(state.gauss.names, state.gauss.mean, cov, state.gauss.index)
    return replace(state, gauss=gauss, jumps=(*state.jumps, jump))


def _solution(state: TankState, litres: float) -> NDArray[np.float64]:
    """Covariance of litres that were solution and took along what was in them: whether it was that or water, the level alone
    cannot tell."""
    direction = np.zeros(len(state.gauss.names))
    direction[state.gauss.index["volume"]] = litres
    for name in state.species:
        direction[state.gauss.index[f"mass:{name}"]] = litres * state.concentration(name)[0]
    return np.outer(direction, direction)


def as_rates(state: TankState, after: Gauss) -> Gauss:
    """Log-scale parameters moved as the rates that they are.

    What a rate did is linear in the rate and not in its logarithm, so a step of the filter along the logarithm, taken at the
    old rate, is really a relative step of the rate: x + d becomes x + ln(1 + d), and its deviation shrinks or grows likewise.
    Below half the old rate the step goes on as an exponential, so that a rate never reaches zero.
    """
    if state.recipe is None:
        return after
    mean, scale = after.mean.copy(), np.ones(len(after.mean))
    for name, prior in state.recipe.parameters.items():
        if prior.scale != "log":
            continue
        i = after.index[f"theta:{name}"]
        step = float(after.mean[i] - state.gauss.mean[i])
        factor = 1.0 + step if step > -0.5 else 0.5 * math.exp(2.0 * (step + 0.5))
        mean[i] = state.gauss.mean[i] + math.log(factor)
        scale[i] = 1.0 / factor if step > -0.5 else 2.0
    return Gauss(after.names, mean, after.cov * np.outer(scale, scale), after.index)
