"""Could chance alone have sorted good loads from bad ones like this? An exact test on ranks, and words for its answer."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

MOST_WORK = 2e8  # additions of the exact count; beyond, the normal approximation is as good
SURE = 0.05  # what comes up by chance less often than this counts as more than chance [practice]


@dataclass(frozen=True)
class Chance:
    """``p``: how often chance sorts two groups of these sizes at least as far apart, either way. ``least``: the same for the
    clearest split that they could show at all. ``exact``: counted out, not approximated."""

    p: float
    least: float
    exact: bool


def chance_of(first: Sequence[float], second: Sequence[float]) -> Chance:
    """Two-sided rank-sum test (Wilcoxon 1945; Mann and Whitney 1947), equal values sharing their mean rank.

    Every way of dealing the ranks to the two groups is counted, so that small groups and equal values are right too.

    Raises:
        ValueError: a group is empty.
    """
    if len(first) == 0 or len(second) == 0:
        raise ValueError("both groups need at least one value")
    small, large = sorted((list(first), list(second)), key=len)
    doubled = _doubled_ranks([*small, *large])
    n, m = len(doubled), len(small)
    total = sum(doubled)
    seen = abs(sum(doubled[:m]) * n - total * m)  # n times the distance of the rank sum from its mean, in whole numbers
    if n * m * total > MOST_WORK:
        return _by_normal(doubled, m, seen / n)
    ways = _ways(doubled, m)
    apart = np.abs(np.arange(len(ways)) * n - total * m)
    every = float(ways.sum())
    farthest = int(apart[ways > 0].max())
    return Chance(
        p=min(float(ways[apart >= seen].sum()) / every, 1.0),
        least=min(float(ways[apart >= farthest].sum()) / every, 1.0),
        exact=True,
    )


def stricter(chances: Sequence[float]) -> list[float]:
    """Each p as it counts when several things are compared at once (Holm 1979): the more are looked at, the likelier one of
    them differs by chance."""
    order = sorted(range(len(chances)), key=lambda i: chances[i])
    found = [0.0] * len(chances)
    highest = 0.0
    for place, i in enumerate(order):
        highest = max(highest, min(1.0, (len(chances) - place) * chances[i]))
        found[i] = highest
    return found


def once_in(p: float) -> str:
    """``1 time in 12``."""
    return f"1 time in {max(round(1 / p), 1):,}".replace(",", " ") if p > 1e-6 else "less than 1 time in a million"


def _doubled_ranks(values: Sequence[float]) -> list[int]:
    """Twice the rank of each value, so that the mean rank of equal ones is a whole number."""
    order = sorted(range(len(values)), key=lambda i: values[i])
    ranks = [0] * len(values)
    at = 0
    while at < len(order):
        end = at
        while end + 1 < len(order) and values[order[end + 1]] == values[order[at]]:
            end += 1
        for i in order[at : end + 1]:
            ranks[i] = at + 1 + end + 1
        at = end + 1
    return ranks


def _ways(ranks: Sequence[int], m: int) -> NDArray[np.float64]:
    """In how many ways m of the ranks add up to each sum."""
    ways = np.zeros((m + 1, sum(ranks) + 1))
    ways[0, 0] = 1.0
    for rank in ranks:
        ways[1:, rank:] += ways[:-1, : ways.shape[1] - rank].copy()
    row: NDArray[np.float64] = ways[m]
    return row


def _by_normal(doubled: Sequence[int], m: int, apart: float) -> Chance:
    """The normal approximation; the variance is that of sums of m of these very ranks, so equal values are allowed for."""
    n = len(doubled)
    mean = sum(doubled) / n
    variance = m * (n - m) / (n - 1) * sum((r - mean) ** 2 for r in doubled) / n
    if variance <= 0:
        return Chance(1.0, 1.0, False)
    ordered = sorted(doubled)
    farthest = max(abs(sum(ordered[:m]) - m * mean), abs(sum(ordered[-m:]) - m * mean))
    return Chance(
        p=math.erfc(apart / math.sqrt(2 * variance)), least=math.erfc(farthest / math.sqrt(2 * variance)), exact=False
    )
