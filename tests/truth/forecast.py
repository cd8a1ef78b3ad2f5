"""Are the forecasts as sure as they say? ``python -m tests.truth.forecast [CROSSINGS]`` prints the table.

A simulated keeper (hidden parameters, biased instruments) works on one plating bath of the catalogue with limits of their own a
few percent around the target. At a random moment the program forecasts from the book alone; then the hidden bath is run on,
with water and no salts, until it really crosses. Of the crossings that the forecast places wholly ahead and within its horizon,
the truth should lie below the 10 % in one of ten, above the 90 % in one of ten, and between in eight.
"""

from __future__ import annotations

import math
import time
from argparse import ArgumentParser
from collections.abc import Iterable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np

from bathkeeper.catalogue.loader import load
from bathkeeper.catalogue.schema import Recipe, Window
from bathkeeper.entries import parse
from bathkeeper.estimate.fold import Fold, at_moment
from bathkeeper.estimate.forecast import Crossing, forecasts
from tests.truth.by_recipe import plating_recipes
from tests.truth.diary import Plain
from tests.truth.half_year import GENERATOR_RUN_CHANCE, RUN_CHANCE, START, SURFACE_DM2, TANK, _generator_g_day, _Keeper
from tests.truth.instruments import Instruments, draw_biases
from tests.truth.plating import PlatingBath, draw, structure

HORIZON_DAYS = 365
FIRST_DAY, LAST_DAY = 42, 150  # between which the forecast is asked for
NEAR, FAR = 0.04, 0.15  # of the target: how far from it the keeper's limits lie
FEWEST_RUNS = 8
SEEDS_A_ROUND = 2
HALF_YEAR_DAYS = 182
SPENT = 0.02  # of a metal's target: where nobody plates any more


class Shop:
    """A half-year of ``half_year.py`` that can be stopped at any day and then run on in another way."""

    def __init__(self, recipe: Recipe, seed: int) -> None:
        self.rng = np.random.default_rng([20260106, seed])
        built = structure(recipe)
        hidden = draw(recipe, self.rng)
        self.load = float(np.exp(self.rng.normal(0.0, 0.2)))
        self.chance = GENERATOR_RUN_CHANCE if "generator" in hidden else RUN_CHANCE
        if "generator" in hidden:
            usual = _generator_g_day(built, hidden, self.chance * self.load)
            hidden["generator"] = usual * float(np.exp(self.rng.normal(0.0, 0.3)))
        bath = PlatingBath(built, hidden, START, SURFACE_DM2, np.random.default_rng([seed, 1]))
        tools = Instruments(draw_biases(self.rng), np.random.default_rng([seed, 2]))
        self.keeper = _Keeper(bath, tools, self.rng, seed)
        self.keeper.open()

    def live_a_day(self, day: int) -> None:
        self.keeper.live_a_day(START + timedelta(days=day), day, HALF_YEAR_DAYS, self.chance, self.load)

    def perhaps_run(self, morning: datetime) -> None:
        if self.rng.random() < self.chance:
            self.keeper.run(morning + timedelta(hours=4, minutes=int(self.rng.integers(0, 240))), self.load)


@dataclass(frozen=True)
class Outcome:
    """A forecast crossing and the true one: days from the moment asked and Ah as read, infinite when it never came."""

    recipe: str
    species: str
    edge: str
    days: tuple[float, float, float]
    charge_ah: tuple[float, float, float]
    true_days: float
    true_charge_ah: float
    seconds: float


def outcomes(recipe: str, seed: int) -> list[Outcome]:
    """One workshop, one moment: every crossing that the forecast places ahead, with what really came."""
    rng = np.random.default_rng([20260108, seed])
    shop = Shop(load().recipe(recipe), seed)
    day = int(rng.integers(FIRST_DAY, LAST_DAY + 1))
    for number in range(1, day + 1):
        shop.live_a_day(number)
    at = START + timedelta(days=day, hours=16)
    limits = _limits(shop, rng)
    entries = sorted((parse(raw) for raw in [*shop.keeper.diary.entries, *limits]), key=lambda e: e.order)
    world = at_moment(Fold(load()).take(entries), at)
    began = time.perf_counter()
    told = forecasts(world, entries, at, TANK, horizon_days=HORIZON_DAYS)[TANK]
    seconds = time.perf_counter() - began
    if told.usage.runs < FEWEST_RUNS:
        return []
    followed = {e["body"]["of"] for e in limits}
    asked = [c for c in told.crossings if c.species in followed and c.edge in ("low", "high") and _wholly_ahead(c)]
    true = _run_on(shop, day, at, asked)
    return [
        Outcome(recipe, c.species, c.edge, _days(c), _charge(c), *true[c.species, c.edge], seconds) for c in asked
    ]  # fmt: skip


def _limits(shop: Shop, rng: np.random.Generator) -> list[Plain]:
    """The keeper's own limits, a few percent off the target of everything that is titrated, and of the ratios of it."""
    recipe = shop.keeper.built.recipe
    windows: dict[str, Window] = {n: recipe.species[n] for n in shop.keeper.built.followed}
    windows.update({n: r for n, r in recipe.ratios.items() if set(r.whole) <= set(windows)})
    written = []
    for number, (name, window) in enumerate(windows.items()):
        target = window.target or math.sqrt((window.low or 1.0) * (window.high or 1.0))
        low, high = (target * (1 + sign * float(rng.uniform(NEAR, FAR))) for sign in (-1, 1))
        body = {"of": name, "tank": TANK, "give_up_low": 0.0, "low": low, "target": target, "high": high, "give_up_high": 1e6}
        moment = (START + timedelta(seconds=number + 1)).isoformat()
        id = f"own-limit-{number}"
        written.append({"id": id, "at": moment, "kind": "definition", "of": "limit", "name": name, "body": body})
    return written


def _wholly_ahead(c: Crossing) -> bool:
    return c.date is not None and c.date[0] > c.at and c.date[2] is not None and c.charge_ah is not None


def _days(c: Crossing) -> tuple[float, float, float]:
    assert c.date is not None
    low, middle, high = ((d - c.at).total_seconds() / 86400 if d is not None else math.inf for d in c.date)
    return low, middle, high


def _charge(c: Crossing) -> tuple[float, float, float]:
    assert c.charge_ah is not None
    low, middle, high = (q if q is not None else math.inf for q in c.charge_ah)
    return low, middle, high


def _run_on(
    shop: Shop, day: int, at: datetime, asked: Sequence[Crossing]
) -> dict[tuple[str, str], tuple[float, float]]:
    """{(species, edge): (days, Ah as read)} at which the hidden bath really crosses, nothing being dosed but water."""
    keeper = shop.keeper
    keeper.bath.rest_until(at)
    open_edges = {(c.species, c.edge): c.limit for c in asked}
    found: dict[tuple[str, str], tuple[float, float]] = {}
    already = sum(keeper.book.charge_ah.values())

    def look() -> None:
        charge = sum(keeper.book.charge_ah.values()) - already
        for (species, edge), limit in list(open_edges.items()):
            value = _true(shop, species)
            if value <= limit if edge == "low" else value >= limit:
                found[species, edge] = ((keeper.bath.at - at).total_seconds() / 86400, charge)
                del open_edges[species, edge]

    look()
    for number in range(day + 1, day + 2 * HORIZON_DAYS):
        if not open_edges or any(_true(shop, m) < SPENT * keeper.built.targets[m] for m in keeper.built.metals):
            break
        morning = START + timedelta(days=number)
        keeper.bath.rest_until(morning)
        look()
        if number % 7 == 0:
            keeper.level_and_water(morning)
            look()
        shop.perhaps_run(morning)
        look()
    return found | dict.fromkeys(open_edges, (math.inf, math.inf))


def _true(shop: Shop, name: str) -> float:
    ratio = shop.keeper.built.recipe.ratios.get(name)
    if ratio is None:
        return shop.keeper.bath.concentration_g_l(name)
    grams = shop.keeper.bath.grams
    return sum(grams[s] for s in ratio.parts) / sum(grams[s] for s in ratio.whole)


def gathered(crossings: int, recipes: Sequence[str]) -> list[Outcome]:
    """At least so many crossings, the recipes taking turns; the same number asked gives the same ones."""
    found: list[Outcome] = []
    with ProcessPoolExecutor() as pool:
        first = 3000
        while len(found) < crossings:
            seeds = [(r, s) for s in range(first, first + SEEDS_A_ROUND) for r in recipes]
            for some in pool.map(outcomes, *zip(*seeds, strict=True)):
                found += some
            first += SEEDS_A_ROUND
            if first > 3000 + 40 * crossings:
                raise ValueError(f"only {len(found)} crossings in {first - 3000} half-years a recipe: they hardly ever cross")
    return found


def shares(rows: Iterable[Outcome]) -> dict[str, tuple[float, float, float]]:
    """{date, Ah: (part below the 10 %, within the band, above the 90 %)}."""
    rows = list(rows)

    def of(pairs: Iterator[tuple[tuple[float, float, float], float]]) -> tuple[float, float, float]:
        placed = [-1 if true < band[0] else 1 if true > band[2] else 0 for band, true in pairs]
        early, inside, late = (placed.count(k) / len(placed) for k in (-1, 0, 1))
        return early, inside, late

    return {
        "date": of((r.days, r.true_days) for r in rows),
        "Ah": of((r.charge_ah, r.true_charge_ah) for r in rows),
    }


def _print(label: str, rows: Sequence[Outcome]) -> None:
    if not rows:
        return
    told = shares(rows)
    cells = "".join(f"{e:>8.1%}{i:>8.1%}{late:>8.1%}  " for e, i, late in told.values())
    middle = float(np.median([r.days[1] for r in rows]))
    width = float(np.median([(r.charge_ah[2] - r.charge_ah[0]) / max(r.charge_ah[1], 1e-9) for r in rows]))
    print(f"{label:42}{len(rows):>5}{cells}{middle:>6.0f} d{width:>7.2f}", flush=True)


def main(crossings: int, recipes: Sequence[str]) -> None:
    rows = gathered(crossings, recipes)
    print(f"{len(rows)} crossings of {len(recipes)} recipes, forecast at a random moment; where the truth came to lie:")
    print(f"{'':47}{'------ date ------':>24}  {'------- Ah -------':>24}{'middle':>10}{'band/':>7}")
    print(f"{'':42}{'':5}{'< 10 %':>8}{'within':>8}{'> 90 %':>8}  {'< 10 %':>8}{'within':>8}{'> 90 %':>8}{'':10}{'middle':>7}")
    for recipe in recipes:
        _print(recipe, [r for r in rows if r.recipe == recipe])
    for edge in ("low", "high"):
        _print(f"all, {edge}", [r for r in rows if r.edge == edge])
    for low, high in ((0, 30), (30, 90), (90, math.inf)):
        _print(f"all, middle date {low} to {high:g} days off", [r for r in rows if low <= r.days[1] < high])
    _print("all", rows)
    ms = [r.seconds * 1000 for r in rows]
    pace = f"median {np.median(ms):.0f} ms, 90 % {np.quantile(ms, 0.9):.0f} ms, two at a time on this machine"
    print(f"a forecast of a tank, 2000 paths over {HORIZON_DAYS} days: {pace}")


if __name__ == "__main__":
    known = plating_recipes()
    parser = ArgumentParser(prog="python -m tests.truth.forecast", description="Calibration of the forecasts.")
    parser.add_argument("crossings", nargs="?", type=int, default=300, help="at least how many; 300 when not told")
    of = f"one of {', '.join(known)}; all when not told"
    parser.add_argument("--recipe", choices=[*known, "all"], metavar="NAME|all", default="all", help=of)
    asked = parser.parse_args()
    if asked.crossings < 1:
        parser.error(f"{asked.crossings} crossings tell nothing; give at least 1")
    main(asked.crossings, known if asked.recipe == "all" else [asked.recipe])
