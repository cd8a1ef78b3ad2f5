"""Is a loss told from evaporation, in litres that can be believed? ``python -m tests.truth.losses [SEEDS]`` prints the table.

Simulated half-years of one electrolyte (hidden evaporation and drag-out, levels read weekly with error) in which some litres
run out unseen on a day drawn by lot, beside the same half-years with no loss. The litres unaccounted for and evaporated
are set against the truth.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass

import numpy as np

from bathkeeper.accounts.litres import litres
from bathkeeper.catalogue.loader import load
from bathkeeper.due.waste import waste_findings
from bathkeeper.entries import parse
from bathkeeper.estimate.fold import Fold, at_moment
from tests.truth.electrolyte import simulate

DAYS = 182


@dataclass(frozen=True)
class Half:
    """One half-year: litres truly lost and evaporated, litres told of each with the first's interval, whether it was due."""

    lost: float
    evaporated: float
    unaccounted: float
    low: float
    high: float
    told_evaporated: float
    due: bool

    @property
    def holds(self) -> bool:
        return self.low <= self.lost <= self.high


def half_year(seed: int, lost_l: float) -> Half:
    """One simulated half-year with so many litres lost (0: none) on a day between the third and the sixth month."""
    day = 60 + int(np.random.default_rng([7, seed]).integers(0, 100))
    made = simulate(seed, days=DAYS, lost=(day, lost_l) if lost_l else None)
    entries = sorted((parse(e) for e in made.entries), key=lambda e: e.order)
    end = entries[-1].at
    world = at_moment(Fold(load()).take(entries), end)
    account = litres(world)
    due = any(f.id.endswith("unaccounted.volume") for f in waste_findings(world, end))
    told = account.unaccounted_l
    ledger = made.truth["ledger"]["litres"]
    return Half(
        lost=-ledger.get("lost", 0.0), evaporated=-ledger.get("evaporated", 0.0), unaccounted=told.value, low=told.low,
        high=told.high, told_evaporated=account.evaporated_l, due=due,
    )  # fmt: skip


def row(lost_l: float, seeds: int) -> str:
    """One line of the table."""
    halves = [half_year(seed, lost_l) for seed in range(seeds)]
    error = np.array([h.unaccounted - h.lost for h in halves])
    air = np.array([(h.told_evaporated - h.evaporated) / h.evaporated for h in halves])
    spread = np.mean([(h.high - h.low) / 2 for h in halves])
    return (
        f"{lost_l:6.1f} {np.mean([h.lost for h in halves]):8.2f} {np.mean([h.unaccounted for h in halves]):12.2f} "
        f"{np.sqrt(np.mean(error**2)):8.2f} {spread:8.2f} {np.mean([h.holds for h in halves]):8.1%} "
        f"{np.mean(air):+9.1%} {np.mean([h.due for h in halves]):8.1%}"
    )


def main() -> None:
    seeds = int(sys.argv[1]) if len(sys.argv) > 1 else 40
    print(f"{seeds} half-years a row, litres")
    print("  lost   truth  unaccounted    rmse  +-95 %  covered  evapor.   said due")
    for lost_l in (0.0, 1.0, 3.0, 5.0, 8.0):
        print(row(lost_l, seeds))


if __name__ == "__main__":
    main()
