"""Error ratios and coverage for each plating recipe of the catalogue: ``python -m tests.truth.compare [SEEDS] --recipe all``.
"""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import partial

import numpy as np

from bathkeeper.catalogue.loader import load
from bathkeeper.entries import parse
from bathkeeper.estimate.fold import Fold, at_moment
from bathkeeper.estimate.learned import learned
from tests.truth.half_year import TANK, WORKING_L, simulate, textbook_g_per_ah
from tests.truth.scores import Row, fresh, ratios, rms


@dataclass(frozen=True)
class Result:
    """One simulated half-year of a recipe, asked just before every analysis."""

    rows: tuple[Row, ...]
    told: dict[str, float]
    doubts: int
    jumps: int
    problems: tuple[str, ...]


def plating_recipes() -> list[str]:
    """Every recipe of the catalogue that lays metal down."""
    recipes = load().recipes
    return [n for n in sorted(recipes) if recipes[n].role == "plate"]


def half_year(seed: int, recipe: str) -> Result:
    """Simulates one workshop and asks the program and the rivals before every analysis.

    Both rivals are told what was dosed and taken out. The book-keeper counts ampere-hours, and of a zinc generator the days.
    """
    catalogue = load()
    simulated = simulate(catalogue.recipe(recipe), seed)
    built = simulated.built
    per_ah = textbook_g_per_ah(built)
    generator = built.recipe.parameters.get("generator")
    entries = sorted((parse(raw) for raw in simulated.entries), key=lambda e: e.order)
    fold = Fold(catalogue)
    held = {s: built.targets[s] for s in built.followed}
    book = dict(held)
    since = entries[0].at
    rows: list[Row] = []
    for number, entry in enumerate(entries):
        charge = simulated.charge_ah.get(entry.id, 0.0)
        gone = simulated.bailed.get(entry.id, 0.0) / WORKING_L
        dosed = simulated.dosed.get(entry.id, {})
        for species in held:
            held[species] = held[species] * (1 - gone) + dosed.get(species, 0.0) / WORKING_L
            book[species] = book[species] * (1 - gone) + (dosed.get(species, 0.0) + per_ah[species] * charge) / WORKING_L
        if entry.id not in simulated.read:
            continue
        if generator is not None:
            book["zinc"] += generator.value * (entry.at - since).total_seconds() / 86400 / WORKING_L
        state = at_moment(fold.take(entries[:number]), entry.at).tanks[TANK]
        true, read = simulated.true[entry.id], simulated.read[entry.id]
        for species in held:
            value, deviation = state.concentration(species)
            rows.append(Row(species, true[species], value, deviation, held[species], book[species], read[species]))
        held, book, since = dict(read), dict(read), entry.at
    world = fold.take(entries)
    end = world.tanks[TANK]
    return Result(
        tuple(rows),
        {n: item.told for n, item in learned(end).items()},
        len(end.doubts),
        len(end.jumps),
        tuple(p.what for p in world.problems),
    )


def half_years(seeds: Sequence[int], recipe: str) -> list[Result]:
    """Many of them, on every core."""
    with ProcessPoolExecutor() as pool:
        return list(pool.map(partial(half_year, recipe=recipe), seeds, chunksize=max(1, len(seeds) // 8)))


def print_all(seeds: int) -> None:
    """One line a recipe and one for each of its species."""
    print(f"{seeds} simulated half-years a recipe, each species asked just before each analysis; errors relative, rms")
    print(f"{'':40}{'/ held':>8}{'/ book':>8}{'inside 95 %':>13}{'fresh / held':>14}{'our error':>11}")
    for recipe in plating_recipes():
        results = half_years(range(1000, 1000 + seeds), recipe)
        _print_scores(recipe, results)
    print("fresh / held: error of the titration itself over that of the last one held; near 1 there is little left to gain")


def print_one(seeds: int, recipe: str) -> None:
    """One recipe, and what was learned of its parameters."""
    results = half_years(range(1000, 1000 + seeds), recipe)
    print(f"{seeds} simulated half-years, each species asked just before each analysis; errors relative, rms")
    print(f"{'':40}{'/ held':>8}{'/ book':>8}{'inside 95 %':>13}{'fresh / held':>14}{'our error':>11}")
    _print_scores(recipe, results)
    print("what was learned (median of posterior / prior spread; above 0.8 it is shown as assumed):")
    for name in results[0].told:
        told = float(np.median([r.told[name] for r in results]))
        print(f"  {name:28}{told:5.2f}{'  assumed' if told > 0.8 else ''}")


def _print_scores(recipe: str, results: Sequence[Result]) -> None:
    rows = [r for result in results for r in result.rows]
    species = list(dict.fromkeys(r.metal for r in rows))
    chosen = {recipe: rows} | ({f"  {s}": [r for r in rows if r.metal == s] for s in species} if len(species) > 1 else {})
    for label, some in chosen.items():
        held, book, inside = ratios(some)
        ours = rms((r.ours - r.true) / r.true for r in some)
        print(f"{label:40}{held:>8.2f}{book:>8.2f}{inside:>12.1%} {fresh(some):>14.2f}{ours:>10.1%} ")
    counts = {"in doubt": sum(r.doubts for r in results), "jumps": sum(r.jumps for r in results)}
    odd = [f"{n} {what}" for what, n in counts.items() if n]
    problems = sorted({p for r in results for p in r.problems})
    if odd or problems:
        print("    " + "; ".join([*odd, *problems]))
