"""Half a year of one zinc-nickel tank with hidden parameters, biased instruments and an ordinary keeper.

Invented: the spreads of the hidden numbers are those that a keeper could believe beforehand, no particular workshop's.
"""

from __future__ import annotations

from dataclasses import asdict, fields, replace
from datetime import UTC, datetime, timedelta
from typing import Any

import numpy as np

from tests.truth.diary import Diary, Simulated
from tests.truth.instruments import Biases, Instruments, draw_biases
from tests.truth.keeper import TANK, WORKING_L, Keeper
from tests.truth.zinc_nickel import REFERENCE_A_DM2, Hidden, ZincNickelBath, draw_hidden

START = datetime(2026, 1, 5, 8, 0, tzinfo=UTC)
SURFACE_DM2 = 12.0
RUN_CHANCE = 0.45
AREA_DM2, CHARGE_AH = 4.3, 5.0


def simulate(
    seed: int,
    *,
    days: int = 182,
    recipe: str = "zinc-nickel-chloride-potassium",
    lifts_zinc: bool | None = None,
    lost: tuple[int, float] | None = None,
    **overrides: Any,
) -> Simulated:
    """One workshop; the same seed gives the same book.

    Args:
        lifts_zinc: whether zinc is lifted after every run; half of the seeds do when not told.
        lost: (day, litres) of solution that run out unseen on the morning of a day; nothing is written down.
        overrides: hidden numbers (:class:`Hidden`) or instrument errors (:class:`Biases`) to fix, by name.

    Raises:
        TypeError: an override that is neither.
    """
    rng = np.random.default_rng([20260105, seed])
    hidden, biases = _overridden(draw_hidden(rng), draw_biases(rng), overrides)
    lifts = bool(rng.random() < 0.5) if lifts_zinc is None else lifts_zinc
    bath = ZincNickelBath(hidden, START, SURFACE_DM2, np.random.default_rng([seed, 1]))
    diary = Diary(seed, bath.snapshot)
    keeper = Keeper(bath, Instruments(biases, np.random.default_rng([seed, 2])), diary, rng, lifts=lifts)

    diary.write(START, "workshop", name=f"Simulated workshop {seed}", scale_resolution_g=1.0)
    diary.write(
        START + timedelta(minutes=1), "tank", tank=TANK, role="plate", order=1, recipe=recipe,
        working_volume_l=WORKING_L, full_volume_l=48.0, surface_dm2=SURFACE_DM2,
    )  # fmt: skip
    keeper.make_up(START + timedelta(minutes=2))
    keeper.hang(START + timedelta(minutes=3), "zinc-1", "zinc", 2000.0, 2.5)
    keeper.hang(START + timedelta(minutes=4), "zinc-2", "zinc", 2000.0, 2.5)
    keeper.hang(START + timedelta(minutes=5), "nickel-1", "nickel", 1500.0, 2.5)
    if lifts:
        keeper.set_zinc(START + timedelta(minutes=6), hung=False, note="zinc is lifted after every run")
    for day in range(1, days + 1):
        if lost is not None and day == lost[0]:
            bath.rest_until(START + timedelta(days=day))
            bath.take(lost[1], "lost")
        _live_a_day(keeper, rng, START + timedelta(days=day), day, days)
    end = START + timedelta(days=days, hours=12)
    bath.rest_until(end)
    diary.mark(end)
    truth = {
        "parameters": asdict(hidden),
        "biases": asdict(biases),
        "lifts_zinc": lifts,
        "ledger": {species: dict(accounts) for species, accounts in bath.ledger.items()},
        "charge_ah": bath.charge_ah,
        "deposit_equivalents_mol": bath.deposit_equivalents_mol,
        "series": diary.series,
    }
    return Simulated(diary.entries, truth, keeper.analyses)


def _live_a_day(keeper: Keeper, rng: np.random.Generator, morning: datetime, day: int, days: int) -> None:
    lots = len(keeper.tools.biases.lots)
    if day % 7 == 0:
        keeper.level_and_water(morning)
    if day % 21 == 0:
        read = keeper.titrate(morning + timedelta(minutes=20), min(lots - 1, (day - 1) * lots // days))
        keeper.correct_metals(morning + timedelta(minutes=40), read)
    if day % 63 == 0:  # what rinses off is made good by habit: nobody titrates these
        keeper.salts(morning + timedelta(minutes=70), [("potassium chloride", 80.0), ("boric acid", 10.0)])
    if day % 10 == 0:
        keeper.strip_and_acid(morning + timedelta(minutes=80))
    if day % 60 == 0:
        keeper.weigh_anodes(morning + timedelta(minutes=110))
    if rng.random() < RUN_CHANCE:
        plate_a_load(keeper, rng, morning + timedelta(hours=3, minutes=int(rng.integers(0, 240))))


def plate_a_load(keeper: Keeper, rng: np.random.Generator, at: datetime) -> None:
    true_dm2 = AREA_DM2 * float(np.exp(rng.normal(0.0, 0.25)))
    written_dm2 = keeper.tools.guessed_area(true_dm2)
    current_a = round(written_dm2 * REFERENCE_A_DM2, 1)
    hours = CHARGE_AH / (AREA_DM2 * REFERENCE_A_DM2) * float(np.exp(rng.normal(0.0, 0.1)))
    minutes = float(max(15, round(hours * 60)))
    step, _ = keeper.plate(at, true_dm2, current_a, minutes)
    keeper.diary.write(at, "run", parts=[{"description": "mixed fittings", "area_dm2": written_dm2}], steps=[step])
    keeper.diary.mark(at + timedelta(minutes=minutes))


def _overridden(hidden: Hidden, biases: Biases, overrides: dict[str, Any]) -> tuple[Hidden, Biases]:
    of_hidden = {f.name for f in fields(Hidden)}
    of_biases = {f.name for f in fields(Biases)}
    unknown = set(overrides) - of_hidden - of_biases
    if unknown:
        known = ", ".join(sorted(of_hidden | of_biases))
        raise TypeError(f"simulate() cannot override {', '.join(sorted(unknown))}; it can override {known}")
    return (
        replace(hidden, **{n: v for n, v in overrides.items() if n in of_hidden}),
        replace(biases, **{n: v for n, v in overrides.items() if n in of_biases}),
    )
