"""Streams out of the estimate: of a container, of what was handed over, and of a tank as if it were dumped now."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from datetime import datetime

from bathkeeper.catalogue.schema import Species
from bathkeeper.entries import WasteKind
from bathkeeper.estimate.containers import BASE, SOLIDS, VOLUME, ContainerState, Fill, Handed, Test
from bathkeeper.estimate.state import Z95, TankState
from bathkeeper.findings import Estimate
from bathkeeper.waste.stream import Origin, Stream

NOTHING = 1e-9
PH_SPREAD = 0.4  # of a pH told without a spread: a strip's, 95 % [practice]


def stream_of(state: ContainerState) -> Stream:
    """What stands in a container."""
    amounts = {n: (state.gauss.value(n), state.gauss.variance(n)) for n in state.gauss.names}
    ph = state.tests.get("ph")
    changed = max((*(f.came or f.at for f in state.fills), *(t.at for t in state.treatments)), default=None)
    stands = ph is None or changed is None or ph.at >= changed
    return _stream(
        state.name, state.fills, amounts, state.species, state.complete, state.density_g_ml, since=state.since, ph=_ph(ph),
        ph_stands=stands, treated_with=_reagents(state),
        entries=(*(e for f in state.fills for e in (f.entry, *f.moves)), *(t.entry for t in state.tests.values())),
    )  # fmt: skip


def stream_handed(handed: Handed) -> Stream:
    """What was handed over, as it was then believed."""
    return _stream(
        handed.container, handed.fills, handed.amounts, handed.species, handed.complete, handed.density_g_ml,
        since=handed.since, ph=None, entries=(handed.entry, *(f.entry for f in handed.fills)), weighed_kg=handed.weighed_kg,
    )  # fmt: skip


def stream_of_tank(state: TankState) -> Stream:
    """What a dump of the tank would be now. The carrier of an additive counts in mL."""
    what: WasteKind = "rinse water" if state.entry.role == "rinse" else "bath"
    made_up = state.make_up_entry or ""
    recipe = state.recipe.name if state.recipe is not None else None
    since = state.made_up or state.now
    fill = Fill(made_up, since, what, state.name, state.entry.role, recipe, litres=state.volume_l)
    names = [n for n in state.gauss.names if n == VOLUME or n.startswith("mass:")]
    amounts = {n: (state.gauss.value(n), state.gauss.variance(n)) for n in names}
    seen = state.seen.get("ph")
    read = seen.value if seen is not None else None
    ph = None if read is None else Estimate(read, read - PH_SPREAD, read + PH_SPREAD, "pH")
    return _stream(
        state.name, (fill,), amounts, state.species, recipe is not None, None, since=state.made_up, ph=ph,
        entries=(made_up,) if made_up else (),
    )  # fmt: skip


def _stream(
    name: str,
    fills: Iterable[Fill],
    amounts: Mapping[str, tuple[float, float]],
    species: Mapping[str, Species],
    complete: bool,
    density_g_ml: float | None,
    *,
    since: datetime | None,
    ph: Estimate | None,
    entries: tuple[str, ...],
    weighed_kg: float | None = None,
    ph_stands: bool = True,
    treated_with: tuple[str, ...] = (),
) -> Stream:
    litres = _estimate(amounts.get(VOLUME, (0.0, 0.0)), "L")
    solids = _estimate(amounts.get(SOLIDS, (0.0, 0.0)), "kg")
    held: dict[str, Estimate] = {}
    for key, pair in amounts.items():
        if key.startswith("mass:") and pair[0] > NOTHING:
            known = species.get(key[5:])
            held[key[5:]] = _estimate(pair, "mL" if known is not None and known.unit == "mL/L" else "g")
    mass = _mass(litres, solids, density_g_ml, weighed_kg)
    return Stream(
        name=name,
        since=since,
        origins=tuple(_origin(f) for f in fills),
        amounts=held,
        species={n: s for n, s in species.items() if n in held},
        volume_l=litres if litres.value > NOTHING else None,
        mass_kg=mass,
        ph=ph,
        density_g_ml=density_g_ml,
        complete=complete,
        entries=tuple(dict.fromkeys(e for e in entries if e)),
        ph_stands=ph_stands,
        base_mol=_base(amounts.get(BASE, (0.0, 0.0))),
        treated_with=treated_with,
    )


def _mass(litres: Estimate, solids: Estimate, density: float | None, weighed: float | None) -> Estimate | None:
    """Kilograms: as weighed, else solids and, where its density is known, the liquid."""
    if weighed is not None:
        return Estimate(weighed, weighed, weighed, "kg")
    if density is None:
        return solids if solids.value > NOTHING and litres.value <= NOTHING else None
    value = litres.value * density + solids.value
    half = math.hypot(litres.spread * density, solids.spread)
    return Estimate(value, max(value - half, 0.0), value + half, "kg") if value > NOTHING else None


def _origin(fill: Fill) -> Origin:
    return Origin(
        at=fill.at, entry=fill.entry, what=fill.what, tank=fill.tank, role=fill.role, recipe=fill.recipe, litres=fill.litres,
        mass_kg=fill.mass_kg, by=fill.by, name=fill.name, note=fill.note,
    )  # fmt: skip


def _estimate(pair: tuple[float, float], unit: str) -> Estimate:
    value, half = pair[0], Z95 * math.sqrt(max(pair[1], 0.0))
    return Estimate(max(value, 0.0), max(value - half, 0.0), max(value, 0.0) + half, unit)


def _reagents(state: ContainerState) -> tuple[str, ...]:
    return tuple(dict.fromkeys(i.reagent for t in state.treatments for i in t.items))


def _base(pair: tuple[float, float]) -> Estimate | None:
    value, half = pair[0], Z95 * math.sqrt(max(pair[1], 0.0))
    return Estimate(value, value - half, value + half, "mol") if abs(value) > NOTHING else None


def _ph(test: Test | None) -> Estimate | None:
    if test is None or test.value is None:
        return None
    half = test.spread if test.spread is not None else PH_SPREAD
    return Estimate(test.value, test.value - half, test.value + half, "pH")
