"""Is the interval true, and is the estimate worth having? ``python -m tests.truth.compare [SEEDS]`` prints the table;
``--recipe NAME`` or ``--recipe all`` does it for any plating recipe of the catalogue (``by_recipe.py``).

Simulated half-years with hidden parameters, a drifting anode split, idle loss and biased instruments. Just before each
analysis the
program's concentration is compared with the truth and with two rivals: the last analysis held, and textbook ampere-hour
book-keeping
from the last analysis. Both rivals are told the salts that were added; the book-keeper uses the catalogue's own priors.
"""

from __future__ import annotations

from argparse import ArgumentParser
from collections.abc import Iterable, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import partial

import numpy as np

from bathkeeper.catalogue.loader import Catalogue, load
from bathkeeper.chemistry.formulas import mass_fraction
from bathkeeper.entries import Addition, MakeUp, Run, parse
from bathkeeper.estimate.fold import Fold, at_moment
from bathkeeper.estimate.learned import learned
from bathkeeper.estimate.state import Z95
from tests.truth.by_recipe import plating_recipes, print_all, print_one
from tests.truth.electrolyte import simulate
from tests.truth.scores import Row, fresh
from tests.truth.scores import ratios as ratios

METALS = ("zinc", "nickel")
VOLUME_L = 40.0
ZINC_G_AH, NICKEL_G_AH = 1.2197, 1.0950  # printed tables of electrochemical equivalents
ALLOY_G_AH = 1 / (0.13 / NICKEL_G_AH + 0.87 / ZINC_G_AH)


@dataclass(frozen=True)
class HalfYear:
    rows: tuple[Row, ...]
    share: float
    share_deviation: float
    true_share: float
    told: dict[str, float]
    doubts: int
    jumps: int


def half_year(seed: int, recipe: str = "zinc-nickel-chloride-potassium") -> HalfYear:
    """Simulates one workshop and asks the program and the rivals before every analysis."""
    simulated = simulate(seed, recipe=recipe)
    entries = sorted((parse(raw) for raw in simulated.entries), key=lambda e: e.order)
    analyses = {a[0]: a for a in simulated.analyses}
    catalogue, fold = load(), Fold(load())
    rows: list[Row] = []
    last = dict.fromkeys(METALS, 0.0)
    charge, salts = 0.0, dict.fromkeys(METALS, 0.0)
    drift = textbook_g_per_ah(catalogue, recipe)
    for number, entry in enumerate(entries):
        if isinstance(entry, MakeUp):
            last = {m: entry.contents[m] for m in METALS}
        elif isinstance(entry, Run):
            charge += sum(
                s.charge.current_a * s.minutes / 60 for s in entry.steps if s.charge and s.charge.current_a and s.minutes
            )
        elif isinstance(entry, Addition):
            for metal, grams in _salts(catalogue, entry).items():
                salts[metal] += grams
        if entry.id not in analyses:
            continue
        _, moment, *numbers = analyses[entry.id]
        true, read = dict(zip(METALS, numbers[:2], strict=True)), dict(zip(METALS, numbers[2:], strict=True))
        state = at_moment(fold.take(entries[:number]), moment).tanks["electrolyte"]
        for metal in METALS:
            value, deviation = state.concentration(metal)
            held = last[metal] + salts[metal] / VOLUME_L
            rows.append(Row(metal, true[metal], value, deviation, held, held + drift[metal] * charge / VOLUME_L, read[metal]))
        last, charge, salts = read, 0.0, dict.fromkeys(METALS, 0.0)
    end = fold.take(entries).tanks["electrolyte"]
    share = learned(end)["anode_share_nickel"]
    return HalfYear(
        tuple(rows),
        share.value,
        (share.high - share.low) / 2 / Z95,
        simulated.true_at(entries[-1].at)["nickel_share"],
        {n: item.told for n, item in learned(end).items()},
        len(end.doubts),
        len(end.jumps),
    )


def half_years(seeds: Sequence[int], recipe: str = "zinc-nickel-chloride-potassium") -> list[HalfYear]:
    """Many of them, on every core."""
    with ProcessPoolExecutor() as pool:
        return list(pool.map(partial(half_year, recipe=recipe), seeds, chunksize=4))


def share_errors(results: Iterable[HalfYear]) -> list[float]:
    """Relative error of the learned nickel share, one a half-year."""
    return [abs(r.share - r.true_share) / max(abs(r.true_share), 0.01) for r in results]


def textbook_g_per_ah(catalogue: Catalogue, recipe: str) -> dict[str, float]:
    priors = catalogue.recipe(recipe).parameters
    efficiency, w = priors["cathode_efficiency"].value, priors["deposit_nickel"].value
    share = priors["anode_share_nickel"].value
    return {
        "zinc": ZINC_G_AH * (1 - share) - efficiency * ALLOY_G_AH * (1 - w),
        "nickel": NICKEL_G_AH * share - efficiency * ALLOY_G_AH * w,
    }


def _salts(catalogue: Catalogue, entry: Addition) -> dict[str, float]:
    brought = dict.fromkeys(METALS, 0.0)
    for item in entry.items:
        reagent = catalogue.reagent(item.reagent)
        for metal in METALS:
            if metal in reagent.brings:
                brought[metal] += item.amount * reagent.purity * mass_fraction(reagent.formula, reagent.brings[metal])
    return brought


def main(seeds: int = 60) -> None:
    results = half_years(range(1000, 1000 + seeds))
    rows = [r for half in results for r in half.rows]
    print(f"{seeds} simulated half-years, {len(rows) // 2} analyses of zinc and nickel, asked just before each")
    print(f"{'':10}{'/ held':>10}{'/ book':>10}{'inside 95 %':>14}{'fresh titration / held':>26}")
    for label, chosen in (*((m, [r for r in rows if r.metal == m]) for m in METALS), ("both", rows)):
        held, book, inside = ratios(chosen)
        print(f"{label:10}{held:>10.2f}{book:>10.2f}{inside:>13.1%}{fresh(chosen)[0]:>26.2f}")
    shares = share_errors(results)
    true_shares = np.mean([abs(r.share - r.true_share) <= Z95 * r.share_deviation for r in results])
    print(f"nickel share: median error {np.median(shares):.1%}, inside its interval {true_shares:.0%}")
    print(f"readings left in doubt {sum(r.doubts for r in results)}, jumps recorded {sum(r.jumps for r in results)}")
    print("what was learned (median of posterior / prior spread; above 0.8 it is shown as assumed):")
    for name in results[0].told:
        told = float(np.median([r.told[name] for r in results]))
        print(f"  {name:28}{told:5.2f}{'  assumed' if told > 0.8 else ''}")


if __name__ == "__main__":
    known = plating_recipes()
    parser = ArgumentParser(prog="python -m tests.truth.compare", description="Errors and coverage on simulated half-years.")
    parser.add_argument("seeds", nargs="?", type=int, default=60, help="how many half-years (a recipe); 60 when not told")
    parser.add_argument("--recipe", choices=[*known, "all"], metavar="NAME|all", help=f"one of {', '.join(known)}; or all")
    told = parser.parse_args()
    if told.seeds < 1:
        parser.error(f"{told.seeds} half-years cannot be compared; give at least 1")
    if told.recipe is None:
        main(told.seeds)
    elif told.recipe == "all":
        print_all(told.seeds)
    else:
        print_one(told.seeds, told.recipe)
