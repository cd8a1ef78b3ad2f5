"""Errors and coverage for each plating recipe of the catalogue: ``python -m tests.truth.compare [SEEDS] --recipe all``."""

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
    _print_head(seeds)
    for recipe in plating_recipes():
        _print_scores(recipe, half_years(range(1000, 1000 + seeds), recipe))


def print_one(seeds: int, recipe: str) -> None:
    """One recipe, and what was learned of its parameters."""
    results = half_years(range(1000, 1000 + seeds), recipe)
    _print_head(seeds)
    _print_scores(recipe, results)
    print("what was learned (median of posterior / prior spread; above 0.8 it is shown as assumed):")
    for name in results[0].told:
        told = float(np.median([r.told[name] for r in results]))
        print(f"  {name:28}{told:5.2f}{'  assumed' if told > 0.8 else ''}")


def _print_head(seeds: int) -> None:
    print(f"{seeds} simulated half-years a recipe, each species asked just before each analysis; relative errors, rms.")
    print("fresh: error of the titration itself over the rival's; near 1 there is little left to gain on that rival.")
    print("2nd on: without the first analysis, before which nothing can have been learned.")
    print(f"{'':36}{'---- / held ----':>22}{'-- / book --':>16}{'-- inside 95 % --':>20}{'error':>8}")
    print(f"{'':36}{'all':>8}{'2nd on':>8}{'fresh':>7}{'all':>8}{'fresh':>7}{'all':>9}{'2nd on':>10}{'ours':>9}")


def _print_scores(recipe: str, results: Sequence[Result]) -> None:
    species = list(dict.fromkeys(r.metal for r in results[0].rows))
    rows = [r for result in results for r in result.rows]
    later = [r for result in results for r in result.rows[len(species) :]]
    _print_line(recipe, rows, later)
    for name in species if len(species) > 1 else ():
        _print_line(f"  {name}", [r for r in rows if r.metal == name], [r for r in later if r.metal == name])
    counts = {"readings left in doubt": sum(r.doubts for r in results), "jumps": sum(r.jumps for r in results)}
    problems = sorted({p for r in results for p in r.problems})
    odd = [f"{n} {what}" for what, n in counts.items() if n] + problems
    if odd:
        print("    " + "; ".join(odd))


def _print_line(label: str, rows: Sequence[Row], later: Sequence[Row]) -> None:
    (held, book, inside), (held_later, _, inside_later) = ratios(rows), ratios(later)
    to_held, to_book = fresh(rows)
    ours = rms((r.ours - r.true) / r.true for r in rows)
    print(
        f"{label:36}{held:>8.2f}{held_later:>8.2f}{to_held:>7.2f}{book:>8.2f}{to_book:>7.2f}"
        f"{inside:>9.1%}{inside_later:>10.1%}{ours:>9.1%}",
        flush=True,
    )
