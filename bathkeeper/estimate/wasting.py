"""Entries that fill, move, test, treat and hand over waste: from a tank into a container, and what becomes of it there."""

from __future__ import annotations

from dataclasses import replace

from bathkeeper.entries import RESERVED_PLACES, Container, Removal, Treatment, WasteKind
from bathkeeper.estimate.containers import ContainerState, Fill, is_whole, seen_as, taken_out, tested, treated
from bathkeeper.estimate.filling import named_in, poured_in, put_in, solids_in, travelling
from bathkeeper.estimate.gauss import Gauss
from bathkeeper.estimate.handing import handed_over, told_later
from bathkeeper.estimate.pouring import poured
from bathkeeper.estimate.reagents import brought_to_waste, left_over
from bathkeeper.estimate.state import TankState
from bathkeeper.estimate.world import World

SOLID_OF: dict[str, WasteKind] = {"carbon": "carbon", "filter": "filters"}
"""What the spent mass of a treatment is, by the treatment; of any other it is sludge."""
TOO_MUCH = 1.1  # more than this of what is there was taken: not a rounding of the keeper's


def dumped(world: World, place: str, state: TankState, contents: Gauss, entry: Removal) -> World:
    """Solution from a tank in a container; a rinse's is rinse water, any other's a bath."""
    what: WasteKind = "rinse water" if state.entry.role == "rinse" else "bath"
    recipe = state.recipe.name if state.recipe is not None else None
    fill = Fill(
        entry.id, state.now, what, state.name, state.entry.role, recipe, litres=contents.value("volume"),
        known=recipe is not None, why=entry.why or "",
    )  # fmt: skip
    filled = poured_in(world.containers.get(place, ContainerState(place)), (fill,), contents, state.species, "filled")
    return world.with_container(replace(filled, complete=filled.complete and fill.known))


def solid_of(treatment: str) -> WasteKind:
    """What the spent mass of a treatment is."""
    return next((k for word, k in SOLID_OF.items() if word in treatment.casefold()), "sludge")


def spent_solids(world: World, entry: Treatment) -> World:
    """The mass of a treatment's filter, carbon or sludge in the container that it names."""
    if entry.to is None or entry.mass_g is None or entry.tank is None:
        return world
    if entry.to in world.tanks or entry.to in RESERVED_PLACES:
        return world.with_problem(f"`{entry.to}` is no container of waste", "name a container in `to`", entry.id)
    tank = world.tanks.get(entry.tank)
    role, recipe = (tank.entry.role, tank.entry.recipe) if tank is not None else ("", None)
    what = solid_of(entry.what)
    fill = Fill(entry.id, entry.at, what, entry.tank, role, recipe, mass_kg=entry.mass_g / 1000, known=False)
    return world.with_container(solids_in(world.containers.get(entry.to, ContainerState(entry.to)), fill))


def container(world: World, entry: Container) -> World:
    """The workshop after something was done to a container."""
    if entry.container in world.tanks:
        return world.with_problem(
            f"`{entry.container}` is a tank, not a container of waste", "give the container another name", entry.id
        )
    state = world.containers.get(entry.container)
    if state is None and entry.action not in ("opened", "put in"):
        known = ", ".join(world.containers) or "none yet"
        world = world.with_problem(
            f"no container is called `{entry.container}`", f"containers on record: {known}; log it as opened", entry.id
        )
        if entry.action != "handed over" or not entry.hands_over:
            return world
    state = state or ContainerState(entry.container)
    match entry.action:
        case "opened":
            return world.with_container(_opened(state, entry))
        case "put in":
            tank = world.tanks.get(entry.tank or "")
            if entry.tank is not None and tank is None:
                world = world.with_problem(f"no tank is called `{entry.tank}`", f"tanks: {', '.join(world.tanks)}", entry.id)
            if tank is not None and entry.what in ("bath", "rinse water"):
                what = f"{entry.what} of `{entry.tank}` stands in `{state.name}` and was never taken out of the tank"
                world = world.with_problem(what, "correct it: withdraw it and log a removal to that container", entry.id)
            role, recipe = (tank.entry.role, tank.entry.recipe) if tank is not None else ("", None)
            state = _looked(state, entry)
            if entry.items:
                named, world = left_over(world, entry.items, entry.id)
                return world.with_container(named_in(state, entry, named, role, recipe))
            return world.with_container(put_in(state, entry, role, recipe))
        case "moved":
            return _moved(world, state, entry)
        case "checked":
            told = {n: getattr(entry, n) for n in ("lid", "label", "tray", "sound")}
            answers = {n: (a, entry.at, entry.id) for n, a in told.items() if a is not None}
            return world.with_container(replace(state, checks={**state.checks, **answers}))
        case "labelled":
            label = {**state.checks, "label": (True, entry.at, entry.id)}
            codes, hazards = entry.codes or state.codes, entry.hazards or state.hazards
            return world.with_container(replace(state, codes=codes, hazards=hazards, labelled=entry.at, checks=label))
        case "tested":
            return world.with_container(tested(_looked(state, entry), entry))
        case "treated":
            return _treated(world, state, entry)
        case "handed over":
            return _handed_over(world, state, entry)
    return world


def _opened(state: ContainerState, entry: Container) -> ContainerState:
    state = replace(
        state,
        opened=state.opened or entry.at,
        form=entry.form or state.form,
        size_l=entry.size_l or state.size_l,
        place=entry.place or state.place,
    )
    if entry.volume_l is None and entry.mass_kg is None:
        return state
    return put_in(_looked(state, entry), entry)


def _looked(state: ContainerState, entry: Container) -> ContainerState:
    return seen_as(state, entry.physical_form, entry.colour)


def _share(world: World, state: ContainerState, entry: Container) -> tuple[World, float]:
    """How much of what is there the entry speaks of, 0 to 1; more than there is becomes a problem."""
    if entry.all:
        return world, 1.0
    if entry.volume_l is not None:
        there, told, unit = state.volume_l, entry.volume_l, "L"
    else:
        there, told, unit = state.mass_kg, entry.mass_kg or 0.0, "kg"
    if told > TOO_MUCH * there + 0.05:
        what = f"{told:g} {unit} left `{state.name}`, which held about {there:.1f} {unit}"
        world = world.with_problem(what, "correct the amount, or log what went in before", entry.id)
    return world, min(told / there, 1.0) if there > 0 else 1.0


def _moved(world: World, state: ContainerState, entry: Container) -> World:
    assert entry.to is not None
    world, share = _share(world, state, entry)
    species = state.species
    complete = state.complete
    before, whole = state, is_whole(state, share)
    share = 1.0 if whole else share
    state, gone = taken_out(state, share, "moved out")
    world = world.with_container(state)
    if entry.to in world.tanks:
        return _back_into(world, entry, gone)
    if entry.to in RESERVED_PLACES:
        return world.with_place(entry.to, {n: gone.value(n) for n in gone.names})
    target = world.containers.get(entry.to, ContainerState(entry.to))
    target = replace(target, opened=target.opened or entry.at)
    mixed = not target.empty
    if not mixed:  # it looks and tests as it did; of what is mixed nobody has said
        target = replace(seen_as(target, before.physical_form, before.colour), tests={**target.tests, **before.tests})
    coming = travelling(before, gone, entry, share=share, mixed=mixed)
    target = poured_in(target, coming, gone, species, "moved in", before.beyond_kg * share)
    treatments = (*target.treatments, *(t for t in before.treatments if t not in target.treatments))
    return world.with_container(replace(target, complete=target.complete and complete, treatments=treatments))


def _back_into(world: World, entry: Container, gone: Gauss) -> World:
    """Kept solution back into a tank, as drag-out rinse is."""
    assert entry.to is not None
    liquid = {n: gone.value(n) for n in gone.names if n not in ("solids", "base")}
    rest = {n: gone.value(n) for n in ("solids", "base") if gone.value(n)}
    world = world.with_place(f"not tracked in {entry.to}", rest)
    return poured(world, entry.to, liquid, entry)


def _treated(world: World, state: ContainerState, entry: Container) -> World:
    put, world = brought_to_waste(world, state.species, entry.items, entry.id)
    return world.with_container(treated(state, entry, put.amounts, put.base_mol, put.weight_kg, put.gas_mol))


def _handed_over(world: World, state: ContainerState, entry: Container) -> World:
    if entry.hands_over:
        share = 1.0
        if state.fills:
            world, share = _share(world, state, entry)
        elif entry.container in world.containers:
            what = f"`{state.name}` was handed over, and what went into it before is not on record"
            world = world.with_problem(what, "log what went in, at its time", entry.id)
        return world.with_container(handed_over(state, entry, share))
    known = told_later(state, entry)
    if known is None:
        told = ", ".join(h.reference or h.entry[-8:] for h in state.handed) or "none"
        came = "a receipt came" if entry.receipt is not None else "a refusal came"
        one = entry.reference or entry.of
        of = f"for `{one}`" if one is not None else "without a reference"
        what = f"{came} {of}, but nothing of `{state.name}` was handed over that fits it"
        return world.with_problem(what, f"hand-overs on record: {told}", entry.id)
    return world.with_container(known)
