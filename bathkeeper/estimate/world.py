"""The whole workshop at one moment: its tanks, what is known of its runs and instruments, and what could not be used."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from bathkeeper.catalogue.loader import Catalogue, CatalogueError
from bathkeeper.catalogue.own import recipe_in
from bathkeeper.catalogue.schema import Recipe, Species
from bathkeeper.entries import AnyEntry, Calibration, Definition, Tank, Unknown, Workshop
from bathkeeper.estimate.containers import ContainerState
from bathkeeper.estimate.gauss import Gauss
from bathkeeper.estimate.measure import RunRecord
from bathkeeper.estimate.state import Z95, TankState, booked, new_state, unstated_belief
from bathkeeper.estimate.wear import pass_time
from bathkeeper.findings import Problem


@dataclass(frozen=True)
class World:
    """``places``: what left tanks and containers for good, by where it went and then by name; ``containers``: those of waste.
    ``calibrated``: instrument errors known from calibrations, (mean, variance) by state name; ``calibrations``: the latest of
    each instrument by kind and name."""

    catalogue: Catalogue
    tanks: Mapping[str, TankState]
    workshop: Workshop | None = None
    runs: Mapping[str, RunRecord] = field(default_factory=dict)
    calibrated: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    calibrations: Mapping[str, Calibration] = field(default_factory=dict)
    places: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    containers: Mapping[str, ContainerState] = field(default_factory=dict)
    problems: tuple[Problem, ...] = ()

    def with_tank(self, state: TankState) -> World:
        return replace(self, tanks={**self.tanks, state.name: state})

    def with_container(self, state: ContainerState) -> World:
        return replace(self, containers={**self.containers, state.name: state})

    def with_problem(self, what: str, right: str, entry: str) -> World:
        problem = Problem(what=what, right=right, entry=entry)
        return self if problem in self.problems else replace(self, problems=(*self.problems, problem))

    def with_place(self, place: str, amounts: Mapping[str, float]) -> World:
        if not amounts:
            return self
        there = dict(self.places.get(place, {}))
        for name, amount in amounts.items():
            there[name] = there.get(name, 0.0) + amount
        return replace(self, places={**self.places, place: there})

    def line(self) -> list[TankState]:
        """Wet tanks in service, in process order."""
        wet = [t for t in self.tanks.values() if t.entry.in_service and t.entry.role != "dry"]
        return sorted(wet, key=lambda t: (t.entry.place, t.entry.at, t.name))


def first_descriptions(entries: Iterable[AnyEntry | Unknown]) -> list[AnyEntry]:
    """The first workshop, tank and definition entry of each subject: it describes, so it holds from the beginning."""
    firsts: dict[tuple[str, str, str], AnyEntry] = {}
    for entry in entries:
        if isinstance(entry, Workshop):
            firsts.setdefault(("workshop", "", ""), entry)
        elif isinstance(entry, Tank):
            firsts.setdefault(("tank", entry.tank, ""), entry)
        elif isinstance(entry, Definition):
            firsts.setdefault(("definition", entry.of, entry.name), entry)
    return list(firsts.values())


def opening(catalogue: Catalogue, firsts: Sequence[AnyEntry]) -> World:
    """The workshop as described, before anything happened in it."""
    world = World(catalogue=catalogue, tanks={})
    for entry in firsts:
        if isinstance(entry, Workshop):
            world = replace(world, workshop=entry)
        elif isinstance(entry, Definition):
            world = defined(world, entry)
    tanks = sorted((e for e in firsts if isinstance(e, Tank)), key=lambda t: (t.place, t.at, t.tank))
    for tank in tanks:
        world = described(world, tank, tanks)
    return world


def defined(world: World, entry: Definition) -> World:
    """With a keeper's own definition in the catalogue; one that does not hold is a problem and the rest goes on."""
    try:
        catalogue = world.catalogue.with_definitions([(entry.of, entry.name, entry.body)])
    except CatalogueError as problem:
        return world.with_problem(str(problem), "correct the definition", entry.id)
    world = replace(world, catalogue=catalogue)
    if entry.of in ("recipe", "limit", "replacement rule"):
        for state in list(world.tanks.values()):
            world = redescribed(world, state.entry, anew=True)
    return world


def described(world: World, tank: Tank, line: Sequence[Tank]) -> World:
    """With a tank as its entry describes it. What is believed of its contents stays, species by species."""
    recipe: Recipe | None = None
    if tank.recipe is not None:
        try:
            recipe = recipe_in(tank.tank, world.catalogue.recipe(tank.recipe), world.catalogue.own)
        except CatalogueError as problem:
            world = world.with_problem(f"{tank.tank}: {problem}", "name a recipe of the catalogue or define it", tank.id)
    species, conductivity = _contents(world.catalogue, tank, recipe, line)
    spread = world.catalogue.spreads["area habit"].relative / Z95
    fresh = new_state(tank, recipe, species, conductivity, spread)
    old = world.tanks.get(tank.tank)
    if old is not None:
        fresh = _redrawn(old, fresh, world.catalogue.spreads["make-up unstated"].relative / Z95)
    return world.with_tank(fresh)


def redescribed(world: World, tank: Tank, *, anew: bool = False) -> World:
    """With a tank as a later entry describes it, and the rinses behind it, which hold what it holds.

    The first description of a tank held before it was met, so meeting it changes nothing, unless the catalogue itself changed
    (``anew``).
    """
    line = [t.entry for t in world.tanks.values() if t.name != tank.tank] + [tank]
    before = world.tanks.get(tank.tank)
    if before is not None and before.entry == tank and not anew:
        return world
    world = described(world, tank, line)
    for state in list(world.tanks.values()):
        if state.entry.role == "rinse" and state.name != tank.tank:
            world = described(world, state.entry, line)
    return world


def _redrawn(old: TankState, fresh: TankState, unstated_sd: float) -> TankState:
    """The fresh shape with what was known: parameters whose prior changed begin anew, contents tracked for the first time in a
    bath that already lives are believed as widely as at a make-up, contents no longer tracked are booked as such."""
    before = old.recipe.parameters if old.recipe is not None else {}
    after = fresh.recipe.parameters if fresh.recipe is not None else {}
    gauss = _carried(old.gauss, fresh.gauss, {f"theta:{n}" for n, p in after.items() if before.get(n) != p})
    dropped = {f"mass:{n}": -old.gauss.value(f"mass:{n}") for n in old.species if n not in fresh.species}
    flows = booked(old.flows, "no longer tracked", dropped)
    if old.alive:
        rinse = fresh.entry.role == "rinse"
        added = {n: s for n, s in fresh.species.items() if n not in old.species}
        new = {f"mass:{n}": unstated_belief(s, old.volume_l, rinse, unstated_sd) for n, s in added.items()}
        gauss = gauss.replaced(new)
        flows = booked(flows, "tracked from here on", {n: b[0] for n, b in new.items()})
    return replace(
        old,
        entry=fresh.entry,
        recipe=fresh.recipe,
        species=fresh.species,
        conductivity=fresh.conductivity,
        gauss=gauss,
        flows=flows,
        trail=old.trail if list(old.species) == list(fresh.species) else (),
    )


def _contents(
    catalogue: Catalogue, tank: Tank, recipe: Recipe | None, line: Sequence[Tank]
) -> tuple[dict[str, Species], dict[str, float]]:
    """What the tank can hold: its recipe's species, and for a rinse those of the tanks before it back to the last bath."""
    species = dict(recipe.species) if recipe is not None else {}
    conductivity = {s: k.value for s, k in recipe.conductivity.items()} if recipe is not None else {}
    if tank.role == "rinse":
        before = [t for t in line if t.place < tank.place and t.role != "dry"]
        for other in sorted(before, key=lambda t: t.place, reverse=True):
            upstream = catalogue.recipes.get(other.recipe or "")
            if upstream is not None:
                for name, s in upstream.species.items():
                    species.setdefault(name, _dragged_in(s))
                for name, k in upstream.conductivity.items():
                    conductivity.setdefault(name, k.value)
            if other.role != "rinse":
                break
    return species, conductivity


def _dragged_in(species: Species) -> Species:
    return Species(
        kind=species.kind,
        title=species.title,
        formula=species.formula,
        equivalents=species.equivalents,
        unit=species.unit,
        target=0.0,
        status="derived",
        source="dragged in: fresh rinse water holds none",
    )


def _carried(old: Gauss, fresh: Gauss, anew: Collection[str]) -> Gauss:
    """The fresh shape with everything that the old one knew under the same names, and what only the old one had (anodes,
    lots)."""
    met = ("anode:", "gain:", "bias:", "offset:", "habit:", "drag_in")  # what a tank comes to know that no recipe names
    extra = [n for n in old.names if n not in fresh.index and n.startswith(met)]
    shape = fresh.extended([(n, old.value(n), old.variance(n)) for n in extra])
    common = [n for n in shape.names if n in old.index and n not in anew]
    here, there = [shape.index[n] for n in common], [old.index[n] for n in common]
    mean, cov = shape.mean.copy(), shape.cov.copy()
    mean[here] = old.mean[there]
    cov[np.ix_(here, here)] = old.cov[np.ix_(there, there)]
    return Gauss(shape.names, mean, cov, shape.index)


def tank_at(world: World, tank: str, entry: AnyEntry) -> tuple[World, TankState | None]:
    """The tank brought to the entry's moment; None, with a problem, when there is no such tank."""
    state = world.tanks.get(tank)
    if state is None:
        known = ", ".join(world.tanks) or "none yet"
        return world.with_problem(f"no tank is called `{tank}`", f"tanks on record: {known}", entry.id), None
    return world, pass_time(state, entry.at)
