"""How much waste came about month by month and how much stands there: what the size of a generator hangs on."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import datetime, timedelta

import msgspec

from bathkeeper.estimate.containers import SOLIDS, VOLUME, ContainerState, Handed
from bathkeeper.waste.limits import GeneratorSize, generator_size
from bathkeeper.waste.loader import load

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


def over_since(containers: Iterable[ContainerState], kg: float) -> datetime | None:
    """Since when ``kg`` or more have stood on site without a break; None where less stands there now.

    Reckoned backwards from what stands there by estimate: what came in is taken off again, what was handed over or driven off
    is put back, until less would have stood there. Moves from one container to another change nothing. Where all that is on
    record does not reach below it, the first day on record.
    """
    every = list(containers)
    total = on_site_kg(every)
    if total < kg:
        return None
    changes = sorted(_changes(every), key=lambda change: change[0], reverse=True)
    for at, change in changes:
        if change > 0 and total - change < kg:
            return at
        total -= change
    return changes[-1][0] if changes else None


def _changes(containers: Iterable[ContainerState]) -> Iterator[tuple[datetime, float]]:
    """What the site gained and lost, kg, each at its moment. A load that was refused there and then never left; one that was
    refused later came back at that moment."""
    for state in containers:
        for fill in (*state.past, *state.fills):
            if not fill.container:
                yield fill.at, fill.weighs_kg
        for handed in state.handed:
            if handed.refused_at is None or handed.refused_at > handed.at:
                yield handed.at, -_handed_kg(handed)
            if handed.refused_at is not None and handed.refused_at > handed.at:
                yield handed.refused_at, _handed_kg(handed)
        yield from state.gained


def _handed_kg(handed: Handed) -> float:
    """Kilograms of a hand-over: as weighed, else by estimate with the density of its liquid as it was then believed."""
    if handed.weighed_kg is not None:
        return handed.weighed_kg
    litres, solids = (handed.amounts.get(name, (0.0, 0.0))[0] for name in (VOLUME, SOLIDS))
    return litres * (handed.density_g_ml or 1.0) + solids


def size_of_generator(containers: Iterable[ContainerState], now: datetime) -> GeneratorSize:
    """The federal size by the month of the last year in which most came about, on the safe side; with the day on which a very
    small generator passed what may stand on site.

    No waste counts as acute. Acute are the wastes of the P list and a few listed dioxin wastes (40 CFR 261.31, 261.33(e), from
    memory); of a plating shop's those would be unused cyanides, and no bath or reagent of the catalogue holds cyanide. The rule
    for acute waste stands among the lines of rules/us-federal.toml, for whoever keeps some all the same.
    """
    every = list(containers)
    size = generator_size(max(generated_kg(every, now).values(), default=0.0), 0.0, on_site_kg(every))
    if not size.clock:
        return size
    passed = over_since(every, load().rules["us-federal"].threshold("on-site").value)
    if passed is None:
        return size
    return msgspec.structs.replace(size, clock_since=passed, why=f"{size.why}; that day was {passed:%Y-%m-%d}")
