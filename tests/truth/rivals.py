"""Is the advice worth following? ``python -m tests.truth.rivals [SEEDS]`` prints the table.

The same simulated half-years (hidden parameters, biased instruments, one zinc-nickel tank) are lived three times, each time
with a keeper who doses in another way; everything else (loads, level, titrations every three weeks, acid by jar test) is
the same:

- ``plan``: once a week the program's own plan, from the estimate as it stands, is carried out as printed; where it offers
  to run without zinc anodes for so many Ah, the next loads are plated so;
- ``amp-hours``: textbook dosing: once a week what the charge since the last time should have used, by the catalogue's own
  figures, put right at every analysis;
- ``analysis``: at every analysis the metals are brought back to target by the reading; what nobody titrates by habit.

Counted by the hidden truth, day by day: days with every species and ratio in the recipe's window, salts put in, litres of
waste.
"""

from __future__ import annotations

from argparse import ArgumentParser
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import partial
from typing import Literal

import numpy as np

from bathkeeper.advice.dosing import ShelfItem, dose
from bathkeeper.catalogue.loader import load
from bathkeeper.entries import parse
from bathkeeper.estimate.fold import Fold, at_moment
from bathkeeper.estimate.state import Z95, TankState
from bathkeeper.estimate.view import tank_view
from tests.truth import constants as k
from tests.truth.compare import textbook_g_per_ah
from tests.truth.diary import Diary
from tests.truth.electrolyte import AREA_DM2, CHARGE_AH, START, SURFACE_DM2, plate_a_load
from tests.truth.instruments import Instruments, draw_biases
from tests.truth.keeper import TANK, WORKING_L, Comfort, Keeper
from tests.truth.zinc_nickel import ZincNickelBath, draw_hidden

Policy = Literal["plan", "amp-hours", "analysis"]
POLICIES: tuple[Policy, ...] = ("plan", "amp-hours", "analysis")
RECIPE = "zinc-nickel-chloride-potassium"
SALTS = ("zinc chloride", "nickel chloride hexahydrate", "potassium chloride", "boric acid")
WATCHED = ("zinc", "nickel", "chloride", "potassium", "boric acid")
WEEK = 7
TO_TARGET = Comfort(zinc_low=32.0, nickel_low=24.0, zinc_bail_above=40.0)
LOADS_A_DAY, LOAD_CHANCE = 3, 0.6  # a busy shop: in a quiet one every policy keeps the windows for half a year
ONE_IN_TEN = 1.28  # deviations from an edge at which the chance of lying beyond it is one in ten


@dataclass(frozen=True)
class Lived:
    """One half-year by one policy: days in window of all days, salts in g, waste in L."""

    policy: Policy
    days: int
    in_window: int
    salts_g: float
    waste_l: float
    out_by: dict[str, int]


class Dosing(Keeper):
    """A keeper who doses by one of the policies and counts what was put in and taken out."""

    def __init__(self, *rest: object, policy: Policy, **named: object) -> None:
        super().__init__(*rest, **named)  # type: ignore[arg-type]
        self.policy = policy
        self.comfort = TO_TARGET
        self.salts_g = self.waste_l = 0.0
        self.without_zinc_ah = 0.0
        self._fold = Fold(load())
        self._dosed_ah = 0.0
        recipe = load().recipe(RECIPE)
        dragged_l = recipe.parameters["drag_out"].value / 1000 * AREA_DM2 / CHARGE_AH
        self._drift = {
            species: textbook_g_per_ah(load(), RECIPE).get(species, 0.0) - dragged_l * (recipe.species[species].target or 0.0)
            for species in WATCHED
        }

    def salts(self, at: datetime, wanted: list[tuple[str, float]]) -> None:
        wanted = [(reagent, grams) for reagent, grams in wanted if round(grams) >= 1]
        if not wanted:
            return
        self.salts_g += sum(round(grams) for _, grams in wanted)
        super().salts(at, wanted)

    def bail(self, at: datetime, litres: float, to: str) -> datetime:
        self.waste_l += litres
        return super().bail(at, litres, to)

    def weekly(self, at: datetime) -> None:
        if self.policy == "plan":
            self._by_plan(at)
        elif self.policy == "amp-hours":
            self._by_amp_hours(at)

    def _by_amp_hours(self, at: datetime) -> None:
        charge = self.bath.charge_ah - self._dosed_ah  # the supply's own reading would be as good: its error is a few percent
        self._dosed_ah = self.bath.charge_ah
        wanted = []
        for reagent, species in zip(SALTS, ("zinc", "nickel", "potassium", "boric acid"), strict=True):
            used = max(-self._drift.get(species, 0.0), 0.0) * charge
            wanted.append((reagent, used / k.BRINGS_G_G[reagent][species]))
        self.salts(at, wanted)

    def _by_plan(self, at: datetime) -> None:
        entries = sorted((parse(raw) for raw in self.diary.entries), key=lambda e: e.order)
        world = at_moment(self._fold.take(entries), at)
        state = world.tanks[TANK]
        near = _may_leave(state)
        if not near:
            return
        shelf = [ShelfItem(world.catalogue.reagent(name)) for name in SALTS]
        plan = dose(state, world.catalogue, shelf, scale_g=1.0, at=at, near=near)
        without = [s.amount or 0.0 for a in plan.alternatives for s in a.plan_steps if s.action == "plate"]
        if without:
            self.without_zinc_ah = max(without)
            return
        if not plan.feasible:
            plan = plan.nearest or plan
        if plan.waste_l > 0:
            self.waste_l += plan.waste_l
            self._before(at)
            self.bath.take(self.tools.water_put_in(plan.waste_l), "bailed out")
            self.diary.write(at, "removal", tank=TANK, volume_l=plan.waste_l, to="drum-1")
            self.diary.mark(at)
            at += timedelta(minutes=5)
        water = plan.amounts.get("water")
        if water is not None and water.amount >= 0.1:
            self._before(at)
            self.bath.litres(self.tools.water_put_in(water.amount), "water")
            self.add(at, [{"reagent": "water", "amount": water.amount, "unit": "L"}])
            at += timedelta(minutes=5)
        self.salts(at, [(name, plan.amounts[name].amount) for name in SALTS if name in plan.amounts])

    def load(self, loads: np.random.Generator, at: datetime) -> None:
        """A load on all anodes, or on nickel alone while the plan says so."""
        if self.without_zinc_ah <= 0:
            plate_a_load(self, loads, at)
            return
        share, charge = self.bath.nickel_share, self.bath.charge_ah
        self.bath.nickel_share = 1.0
        before = len(self.diary.entries)
        plate_a_load(self, loads, at)
        self.bath.nickel_share += share - 1.0
        self.without_zinc_ah -= self.bath.charge_ah - charge
        (step,) = self.diary.entries[before]["steps"]
        branch = {"supply": step.pop("supply"), "anodes": ["nickel-1"], "charge": step.pop("charge")}
        step["branches"] = [branch]


def _may_leave(state: TankState) -> list[str]:
    """The species that are likely enough outside their window, and those that a ratio at its edge is short of."""
    view = tank_view(state, load().metals)
    found = []
    for name, content in {**view.species, **view.ratios}.items():
        if name not in WATCHED and name not in view.ratios:
            continue
        sd = max((content.high - content.low) / 2 / Z95, 1e-9)
        for edge, sign in (("low", 1.0), ("high", -1.0)):
            limit = content.window.get(edge)
            if limit is not None and (content.value - limit) * sign < ONE_IN_TEN * sd:
                found.append(name if name in view.species else "zinc" if view.species["zinc"].value > 34.0 else "nickel")
    return found


def live(seed: int, policy: Policy, days: int = 182) -> Lived:
    """One half-year by one policy; the same seed is the same workshop, loads and instruments."""
    rng = np.random.default_rng([20260105, seed])
    hidden, biases = draw_hidden(rng), draw_biases(rng)
    lifts = bool(rng.random() < 0.5)
    bath = ZincNickelBath(hidden, START, SURFACE_DM2, np.random.default_rng([seed, 1]))
    diary = Diary(seed, bath.snapshot)
    tools = Instruments(biases, np.random.default_rng([seed, 2]))
    keeper = Dosing(bath, tools, diary, np.random.default_rng([seed, 3]), lifts=lifts, policy=policy)
    minute = timedelta(minutes=1)
    diary.write(START, "workshop", name="Simulated workshop", scale_resolution_g=1.0)
    diary.write(
        START + minute, "tank", tank=TANK, role="plate", order=1, recipe=RECIPE, working_volume_l=WORKING_L,
        full_volume_l=48.0, surface_dm2=SURFACE_DM2,
    )  # fmt: skip
    keeper.make_up(START + 2 * minute)
    keeper.hang(START + 3 * minute, "zinc-1", "zinc", 4000.0, 2.5)
    keeper.hang(START + 4 * minute, "nickel-1", "nickel", 2500.0, 4.0)
    if lifts:
        keeper.set_zinc(START + 6 * minute, hung=False)
    loads = np.random.default_rng([seed, 4])
    counted = {"days": 0, "in": 0}
    out_by: dict[str, int] = {}
    for day in range(1, days + 1):
        _day(keeper, loads, START + timedelta(days=day), day, days)
        bath.rest_until(START + timedelta(days=day, hours=20))
        out = _out(bath)
        counted["days"] += 1
        counted["in"] += not out
        for name in out:
            out_by[name] = out_by.get(name, 0) + 1
    return Lived(policy, counted["days"], counted["in"], keeper.salts_g, keeper.waste_l, out_by)


def _day(keeper: Dosing, loads: np.random.Generator, morning: datetime, day: int, days: int) -> None:
    lots = len(keeper.tools.biases.lots)
    if day % WEEK == 0:
        keeper.level_and_water(morning)
    if day % 21 == 0:
        read = keeper.titrate(morning + timedelta(minutes=20), min(lots - 1, (day - 1) * lots // days))
        if keeper.policy != "plan":
            keeper.correct_metals(morning + timedelta(minutes=40), read)
    if day % 63 == 0 and keeper.policy == "analysis":
        keeper.salts(morning + timedelta(minutes=70), [("potassium chloride", 80.0), ("boric acid", 10.0)])
    if day % 10 == 0:
        keeper.strip_and_acid(morning + timedelta(minutes=80))
    if day % 60 == 0:
        keeper.weigh_anodes(morning + timedelta(minutes=110))
    if day % WEEK == 0:
        keeper.weekly(morning + timedelta(minutes=130))
    for number in range(LOADS_A_DAY):
        if loads.random() < LOAD_CHANCE:
            keeper.load(loads, morning + timedelta(hours=4 + 3 * number, minutes=int(loads.integers(0, 60))))


def _out(bath: ZincNickelBath) -> list[str]:
    recipe = load().recipe(RECIPE)
    values = {s: bath.concentration_g_l(s) for s in WATCHED}
    ratio = recipe.ratios["nickel_of_metal"]
    windows = {s: recipe.species[s] for s in WATCHED}
    found = [s for s, w in windows.items() if not (w.low or 0.0) <= values[s] <= (w.high or np.inf)]
    value = values["nickel"] / (values["nickel"] + values["zinc"])
    if not (ratio.low or 0.0) <= value <= (ratio.high or 1.0):
        found.append("ratio")
    return found


@dataclass(frozen=True)
class Summed:
    """A policy over many half-years: share of days in window, salts and waste per day in window."""

    policy: Policy
    in_window: float
    salts_g: float
    waste_l: float
    salts_per_day: float
    waste_per_day: float
    out_by: dict[str, int]


def summed(lived: list[Lived]) -> Summed:
    """All half-years of one policy."""
    days = sum(x.in_window for x in lived)
    salts, waste = sum(x.salts_g for x in lived), sum(x.waste_l for x in lived)
    out_by: dict[str, int] = {}
    for one in lived:
        for name, count in one.out_by.items():
            out_by[name] = out_by.get(name, 0) + count
    return Summed(
        lived[0].policy, days / sum(x.days for x in lived), salts / len(lived), waste / len(lived), salts / max(days, 1),
        waste / max(days, 1), out_by,
    )  # fmt: skip


def table(seeds: int, workers: int | None = None) -> list[Summed]:
    """Every policy over the same seeds."""
    with ProcessPoolExecutor(workers) as pool:
        return [summed(list(pool.map(partial(live, policy=p), range(seeds)))) for p in POLICIES]


def main() -> None:
    parser = ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("seeds", type=int, nargs="?", default=20)
    seeds = parser.parse_args().seeds
    print(f"{seeds} half-years of one zinc-nickel tank, about {LOADS_A_DAY * LOAD_CHANCE * 182 * CHARGE_AH:.0f} Ah each")
    heads = ("days in window", "salts g", "waste L", "salts g/day in", "waste L/day in")
    print(f"{'policy':<10} {heads[0]:>14} {heads[1]:>9} {heads[2]:>8} {heads[3]:>15} {heads[4]:>15}  out by")
    for s in table(seeds):
        out = ", ".join(f"{n} {c}" for n, c in sorted(s.out_by.items(), key=lambda x: -x[1]))
        print(
            f"{s.policy:<10} {s.in_window:>14.1%} {s.salts_g:>9.0f} {s.waste_l:>8.1f} {s.salts_per_day:>15.2f} "
            f"{s.waste_per_day:>15.3f}  {out}"
        )


if __name__ == "__main__":
    main()
