"""What comes into containers of waste: out of tanks and other containers, by hand, by name, as solids of a treatment."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from bathkeeper.catalogue.schema import Species
from bathkeeper.entries import Container, WasteKind
from bathkeeper.estimate.containers import FILL_SPREAD, SOLIDS, VOLUME, ContainerState, Fill, Named, salty_kg
from bathkeeper.estimate.gauss import Gauss
from bathkeeper.estimate.state import Z95, booked


def poured_in(
    state: ContainerState,
    fills: Sequence[Fill],
    contents: Gauss,
    species: Mapping[str, Species],
    cause: str,
    beyond_kg: float = 0.0,
) -> ContainerState:
    """With what a tank or another container gave: ``contents`` holds ``volume`` and ``mass:...`` of it, with their spread;
    ``beyond_kg`` as of the container that it came from. A fill whose weight nobody told weighs its part of the litres."""
    wide = state.gauss.extended([(n, 0.0, 0.0) for n in contents.names if n not in state.gauss])
    order = [contents.index[n] if n in contents else None for n in wide.names]
    mean, cov = wide.mean.copy(), wide.cov.copy()
    here = [i for i, k in enumerate(order) if k is not None]
    there = [k for k in order if k is not None]
    mean[here] += contents.mean[there]
    for a, i in zip(there, here, strict=True):
        cov[i, here] += contents.cov[a, there]
    gauss = Gauss(wide.names, mean, cov, wide.index)
    flows = booked(state.flows, cause, {n: contents.value(n) for n in contents.names})
    filled = replace(state, gauss=gauss, flows=flows, species={**species, **state.species})
    filled = replace(filled, beyond_kg=state.beyond_kg + beyond_kg)
    liquid, litres = salty_kg(contents) + beyond_kg, sum(f.litres for f in fills)
    for fill in fills:
        part = liquid * fill.litres / litres if litres > 0 else 0.0
        filled = _filled(filled, replace(fill, weighs_kg=fill.weighs_kg or part + fill.mass_kg))
    return filled


def travelling(
    state: ContainerState, gone: Gauss, entry: Container, *, share: float, mixed: bool = True
) -> tuple[Fill, ...]:
    """Where what leaves a container came from: its fills, each with its part of what goes and of its weight, and the way that
    it went. Pieces of packaging go with the whole of it alone."""
    parts, whole = [], share >= 1.0
    litres, kg = sum(f.litres for f in state.fills), sum(f.mass_kg for f in state.fills)
    for fill in state.fills:
        part = fill.litres / litres * gone.value(VOLUME) if litres > 0 else 0.0
        solid = fill.mass_kg / kg * gone.value(SOLIDS) if kg > 0 else 0.0
        if part <= 0 and solid <= 0 and not whole:
            continue
        pieces, by, moves = fill.pieces if whole else 0, (*fill.by, state.name), (*fill.moves, entry.id)
        went = replace(fill, litres=part, mass_kg=solid, pieces=pieces, weighs_kg=fill.left_kg * share)
        parts.append(replace(went, container=state.name, by=by, moves=moves, came=entry.at if mixed else fill.came))
    if parts:
        return tuple(parts)
    what = Fill(entry.id, entry.at, "other", container=state.name, by=(state.name,), moves=(entry.id,))
    return (replace(what, litres=gone.value(VOLUME), mass_kg=gone.value(SOLIDS), known=state.complete),)


def named_in(state: ContainerState, entry: Container, named: Iterable[Named], role: str, recipe: str | None) -> ContainerState:
    """With left-over chemicals by their names."""
    what: WasteKind = entry.what or "chemicals"
    for one in named:
        shifts = dict(one.amounts)
        for name, amount in ((VOLUME, one.litres), (SOLIDS, one.mass_kg)):
            if amount:
                shifts[name] = (amount, (FILL_SPREAD * amount / Z95) ** 2)
        gauss = state.gauss.extended([(n, 0.0, 0.0) for n in shifts if n not in state.gauss]).shifted(shifts)
        fill = Fill(
            entry.id, entry.at, what, entry.tank or "", role, recipe, "", one.litres, one.mass_kg, 0, one.known,
            why=entry.why or "", name=one.name, note=entry.note or "", weighs_kg=one.weighs_kg,
        )  # fmt: skip
        liquid = state.liquid_kg + one.weighs_kg - one.mass_kg
        flows = booked(state.flows, "put in", {n: s[0] for n, s in shifts.items()})
        state = replace(state, gauss=gauss, flows=flows, species={**one.species, **state.species})
        beyond = liquid - salty_kg(gauss) if gauss.value(VOLUME) > 1e-9 else state.beyond_kg
        state = replace(state, beyond_kg=beyond if abs(beyond) > 1e-9 else 0.0)
        state = _filled(replace(state, complete=state.complete and one.known), fill)
    return state


def put_in(state: ContainerState, entry: Container, tank_role: str = "", recipe: str | None = None) -> ContainerState:
    """With what the keeper put in or found in it: litres and kilograms as stated, contents unknown."""
    kg, litres = entry.mass_kg or 0.0, entry.volume_l or 0.0
    what: WasteKind = entry.what or "other"
    spread = entry.spread
    shifts = {}
    for name, amount in ((VOLUME, litres), (SOLIDS, kg)):
        if amount:
            half = spread if spread is not None else FILL_SPREAD * amount
            shifts[name] = (amount, (half / Z95) ** 2)
    fill = Fill(
        entry.id, entry.at, what, entry.tank or "", tank_role, recipe, "", litres, kg, entry.pieces or 0, False,
        why=entry.why or "", note=entry.note or "", weighs_kg=kg + litres,  # of unknown contents: as heavy as water
    )  # fmt: skip
    flows = booked(state.flows, "put in", {n: s[0] for n, s in shifts.items()})
    complete = state.complete and what in ("empty packaging",)
    return _filled(replace(state, gauss=state.gauss.shifted(shifts), flows=flows, complete=complete), fill)


def solids_in(state: ContainerState, fill: Fill) -> ContainerState:
    """With the spent filter, carbon or sludge of a treated bath."""
    fill = replace(fill, weighs_kg=fill.mass_kg)
    shifts = {SOLIDS: (fill.mass_kg, (FILL_SPREAD * fill.mass_kg / Z95) ** 2)}
    flows = booked(state.flows, "put in", {SOLIDS: fill.mass_kg})
    return _filled(replace(state, gauss=state.gauss.shifted(shifts), flows=flows, complete=False), fill)


def _filled(state: ContainerState, fill: Fill) -> ContainerState:
    """With a fill more; parts of one fill that came the same way stand together."""
    fill = replace(fill, left_kg=fill.weighs_kg)
    same = next((f for f in state.fills if fill.by and (f.entry, f.name, f.by) == (fill.entry, fill.name, fill.by)), None)
    if same is not None:
        moves = tuple(dict.fromkeys((*same.moves, *fill.moves)))
        both = replace(same, litres=same.litres + fill.litres, mass_kg=same.mass_kg + fill.mass_kg, moves=moves, came=fill.came)
        both = replace(both, weighs_kg=same.weighs_kg + fill.weighs_kg, left_kg=same.left_kg + fill.left_kg)
        return replace(state, fills=tuple(both if f is same else f for f in state.fills))
    since = min(state.since, fill.at) if state.since is not None else fill.at
    return replace(state, fills=(*state.fills, fill), since=since, opened=state.opened or fill.at)
