"""How much waste came about month by month and how much stands there: what the size of a generator hangs on."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta

from bathkeeper.estimate.containers import ContainerState
from bathkeeper.waste.limits import GeneratorSize, generator_size

LOOK_BACK = timedelta(days=365)


def generated_kg(containers: Iterable[ContainerState], now: datetime) -> dict[str, float]:
    """Kilograms by calendar month (``2026-11``) of the last year that came into containers from tanks or by hand, what was
    handed over since included; what only moved from one container to another counts once. Each filling weighs what it was
    believed to weigh when it came, or what a density or a scale told of it later; handing it over changes nothing of it."""
    months: dict[str, float] = {}
    for state in containers:
        for fill in (*state.past, *state.fills):
            if fill.container or not now - LOOK_BACK < fill.at <= now:
                continue
            month = f"{fill.at:%Y-%m}"
            months[month] = months.get(month, 0.0) + fill.weighs_kg
    return months


def on_site_kg(containers: Iterable[ContainerState]) -> float:
    """Kilograms that stand in containers now, by estimate."""
    return sum(state.mass_kg for state in containers)


def size_of_generator(containers: Iterable[ContainerState], now: datetime) -> GeneratorSize:
    """The federal size by the month of the last year in which most came about, on the safe side; nothing is taken for acute."""
    every = list(containers)
    return generator_size(max(generated_kg(every, now).values(), default=0.0), 0.0, on_site_kg(every))
