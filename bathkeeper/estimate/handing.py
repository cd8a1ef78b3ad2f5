"""Hand-overs of waste: what left and what it held, receipts that came later, and refused loads that stay or come back."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime

import numpy as np

from bathkeeper.entries import Container
from bathkeeper.estimate.containers import (
    FILL_SPREAD,
    NAMED,
    SHARE_SPREAD,
    SOLIDS,
    VOLUME,
    ContainerState,
    Fill,
    Handed,
    portion,
    taken_out,
    weighed,
)
from bathkeeper.estimate.gauss import Gauss
from bathkeeper.estimate.missing import ADJUSTED
from bathkeeper.estimate.state import Z95, booked

ROUNDING_L = 0.05
LEAST_ID = 6
"""Signs of an entry's id, from its beginning or its end, that name it."""


def handed_over(state: ContainerState, entry: Container, share: float) -> ContainerState:
    """After a hand-over of a share (0 to 1) of what is in it, with its record and what it held.

    Of a container that is empty by the book the record stands all the same, with the amount that was told: a paper was signed.
    A load that was refused there and then stays in the container, and no weight changes. Of any other a scale's kilograms stand
    for the estimate of what went.
    """
    refused = entry.papers.refused if entry.papers is not None else None
    on_record = bool(state.fills)
    before, believed, by_scale = state, state.mass_kg * share, 1.0
    if refused is None and entry.mass_kg is not None and believed > 0 and (entry.all or entry.volume_l is not None):
        by_scale = entry.mass_kg / believed
        state = replace(state, fills=weighed(state.fills, share, by_scale))
    if refused is not None:
        spread = 0.0 if share >= 1.0 else SHARE_SPREAD / Z95
        gone, after = portion(state.gauss, min(share, 1.0), spread, state.gauss.names), state
    elif on_record:
        after, gone = taken_out(state, share, "handed over")
        after, gone = _more_than_was_there(after, gone, state, entry)
    else:
        after, gone = _never_put_in(state, entry)
    record = Handed(
        entry=entry.id,
        at=entry.at,
        container=state.name,
        to=entry.to or "",
        amounts={n: (gone.value(n), gone.variance(n)) for n in gone.names},
        species=state.species,
        weighed_kg=entry.mass_kg,
        fills=state.fills,
        codes=entry.codes or state.codes,
        hazards=entry.hazards or state.hazards,
        papers=entry.papers,
        reference=entry.reference,
        receipt=entry.receipt,
        receipt_at=entry.receipt_at or (entry.at if entry.receipt else None),
        complete=state.complete and on_record,
        since=state.since,
        refused=refused,
        refused_at=entry.at if refused is not None else None,
        on_record=on_record,
        why=(entry.why,) if entry.why else state.why,
        physical_form=entry.physical_form or state.physical_form,
        colour=entry.colour or state.colour,
        before=replace(before, handed=(), past=(), flows={}) if on_record and refused is None else None,
        density_g_ml=before.density_g_ml if on_record else None,
        share=min(share, 1.0),
        by_scale=by_scale,
    )
    return replace(after, handed=(*state.handed, record))


def _more_than_was_there(
    after: ContainerState, gone: Gauss, before: ContainerState, entry: Container
) -> tuple[ContainerState, Gauss]:
    """Litres that a paper tells beyond what the book had there: they went all the same, and are more than the entries tell."""
    more = (entry.volume_l or 0.0) - before.volume_l
    if entry.all or entry.volume_l is None or more <= ROUNDING_L:
        return after, gone
    return _found(after, more), gone.shifted({VOLUME: (more, _doubt_of(more))})


def _found(state: ContainerState, litres: float) -> ContainerState:
    """With litres booked that no entry put in and that a hand-over took away at once."""
    flows = booked(booked(state.flows, ADJUSTED, {VOLUME: litres}), "handed over", {VOLUME: -litres})
    past = {**state.put_right_past, VOLUME: state.put_right_past.get(VOLUME, 0.0) + _doubt_of(litres)}
    return replace(state, flows=flows, put_right_past=past)


def _doubt_of(litres: float) -> float:
    return (FILL_SPREAD * litres / Z95) ** 2


def _never_put_in(state: ContainerState, entry: Container) -> tuple[ContainerState, Gauss]:
    """Litres of which no entry tells how they came in: they are more than the entries tell, and gone at once, so that the
    account holds."""
    litres = entry.volume_l or 0.0
    gone = Gauss.independent([(n, litres if n == VOLUME else 0.0, 0.0) for n in NAMED])
    return (_found(state, litres) if litres else state), gone.shifted({VOLUME: (0.0, _doubt_of(litres))})


def is_meant(handed: Handed, entry: Container) -> bool:
    """Whether a receipt or a refusal that came later speaks of this hand-over, by its entry or by its reference; one that
    names neither may be about any."""
    if entry.of is not None:
        of = entry.of
        return handed.entry == of or (len(of) >= LEAST_ID and (handed.entry.startswith(of) or handed.entry.endswith(of)))
    return entry.reference is None or handed.reference == entry.reference


def waiting(handed: Iterable[Handed]) -> list[Handed]:
    """The hand-overs of which no receipt has come, those that were refused aside."""
    return [h for h in handed if h.receipt is None and h.refused is None]


def meant(state: ContainerState, entry: Container) -> Handed | None:
    """The hand-over that a receipt or a refusal is for; None where there is none, or several and the entry does not tell which.

    One that waits for its receipt comes before one that has it.
    """
    found = [h for h in state.handed if is_meant(h, entry) and h.refused is None]
    first = waiting(found)
    if first:
        found = first
    elif entry.of is None and entry.reference is None:
        return None
    if entry.of is None and entry.reference is not None:
        return found[-1] if found else None
    return found[0] if len(found) == 1 else None


def told_later(state: ContainerState, entry: Container) -> ContainerState | None:
    """With a receipt that came later put to its hand-over, or the load back where it was refused; None where it fits none."""
    one = meant(state, entry)
    if one is None:
        return None
    refused = entry.papers.refused if entry.papers is not None else None
    if refused is not None:
        state = _back(state, one, entry.at)
    every = entry.reference is not None and entry.of is None  # a paper may have gone with several parts of one drum
    open_ones = waiting(state.handed)
    fitting = [h for h in state.handed if h is one or (every and refused is None and h in open_ones and is_meant(h, entry))]
    told = tuple(_told(h, entry, refused) if h in fitting else h for h in state.handed)
    return replace(state, handed=told)


def _told(handed: Handed, entry: Container, refused: str | None) -> Handed:
    if entry.receipt is not None:
        handed = replace(handed, receipt=entry.receipt, receipt_at=entry.receipt_at or entry.at)
    return handed if refused is None else replace(handed, refused=refused, refused_at=entry.at, before=None)


def _back(state: ContainerState, handed: Handed, at: datetime) -> ContainerState:
    """With a refused load in it again, as it left and as heavy as a scale found it; ``at``: when it came back."""
    flows = booked(state.flows, "handed over", {n: a for n, (a, _) in handed.amounts.items()})
    before = handed.before
    if before is None:  # nobody knows what it was: litres alone come back
        litres, variance = handed.amounts.get(VOLUME, (0.0, 0.0))
        fill = Fill(handed.entry, handed.at, "other", litres=litres, known=False, weighs_kg=litres, left_kg=litres)
        gauss = state.gauss.shifted({VOLUME: (litres, variance)})
        return replace(
            state, gauss=gauss, flows=flows, fills=(*state.fills, fill), since=state.since or handed.at, complete=False
        )
    fills, past = _fills_back(state, handed, before)
    more = before.mass_kg * handed.share * (handed.by_scale - 1.0)
    if state.empty and all(np.isclose(before.gauss.value(n), a) for n, (a, _) in handed.amounts.items()):
        whole = replace(before, handed=state.handed, past=past, flows=flows, checks={**before.checks, **state.checks})
        return _heavier(replace(whole, fills=fills, gained=state.gained), more)
    wide = state.gauss.extended([(n, 0.0, 0.0) for n in handed.amounts if n not in state.gauss])
    mixed = replace(
        state,
        gauss=wide.shifted(dict(handed.amounts)),
        flows=flows,
        fills=tuple(replace(f, came=at) for f in fills),
        past=past,
        species={**before.species, **state.species},
        since=min(d for d in (state.since, before.since, handed.at) if d is not None),
        codes=state.codes or before.codes,
        hazards=state.hazards or before.hazards,
        physical_form=state.physical_form or before.physical_form,
        colour=state.colour or before.colour,
        treatments=(*(t for t in before.treatments if t not in state.treatments), *state.treatments),
        complete=state.complete and before.complete,
        beyond_kg=state.beyond_kg + before.beyond_kg * handed.share,
    )
    return _heavier(mixed, more)


def _fills_back(state: ContainerState, handed: Handed, before: ContainerState) -> tuple[tuple[Fill, ...], tuple[Fill, ...]]:
    """The fills and the past ones once a load is back: each fill of it has its part of the weight again."""
    now, gone, then = _keyed(state.fills), _keyed(state.past), _keyed(before.fills)
    fills = []
    for key, fill in then.items():
        came = fill.left_kg * handed.share * handed.by_scale
        known = now.get(key) or replace(gone.get(key, fill), left_kg=0.0)
        fills.append(replace(known, left_kg=known.left_kg + came))
    here = (*fills, *(f for key, f in now.items() if key not in then))
    return here, tuple(f for key, f in gone.items() if key not in then)


def _keyed(fills: Iterable[Fill]) -> dict[tuple[object, ...], Fill]:
    """Fills by what stays the same of them whatever becomes of their weight."""
    found: dict[tuple[object, ...], Fill] = {}
    for fill in fills:
        key, number = (fill.entry, fill.name, fill.by), 0
        while (*key, number) in found:
            number += 1
        found[(*key, number)] = fill
    return found


def _heavier(state: ContainerState, kg: float) -> ContainerState:
    """The container so much heavier: its liquid, or solids where there is none."""
    if abs(kg) <= 1e-9:
        return state
    if state.volume_l > 1e-9:
        return replace(state, beyond_kg=state.beyond_kg + kg)
    flows = booked(state.flows, "reading adjustments", {SOLIDS: kg})
    return replace(state, gauss=state.gauss.shifted({SOLIDS: (kg, 0.0)}), flows=flows)
