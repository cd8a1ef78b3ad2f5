"""The base of a spent pickle by its acid: what was made up in its life, less what parts carried out and the base put in."""

from __future__ import annotations

from collections.abc import Iterable

import msgspec

from bathkeeper.chemistry.formulas import molar_mass
from bathkeeper.entries import AnyEntry, Removal, Unknown
from bathkeeper.estimate.containers import ContainerState
from bathkeeper.estimate.reagents import brought_to_waste
from bathkeeper.estimate.state import Life, TankState
from bathkeeper.estimate.world import World
from bathkeeper.findings import Estimate

MADE_UP_SPREAD = 0.05  # of the acid that was put in, 95 % [practice]
PUT_IN_SPREAD = 0.05  # of the base that treatments put in, 95 %: scale and purity [practice]
WHOLE = 0.999  # of what came in: less is there once some was moved on or handed over


class Road(msgspec.Struct, frozen=True, kw_only=True):
    """Acid made up and dragged out, base that treatments put in, mol; base per mol of iron. None where it is not known."""

    made_up: Estimate | None = None
    dragged_out: Estimate | None = None
    put_in: Estimate | None = None
    per_iron: Estimate | None = None


NO_ROAD = Road()


def second_road(world: World, state: ContainerState | None, entries: Iterable[AnyEntry | Unknown]) -> Road:
    """The road; nothing where the container does not hold just one dumped life of one pickle.

    Iron takes as many mol of base as dissolving it took of acid, so its learned ratio counts it the same on both roads.
    """
    if state is None or len(state.fills) != 1 or state.fills[0].role != "pickle" or state.fills[0].by:
        return NO_ROAD
    tank = world.tanks.get(state.fills[0].tank)
    dumped = next((e for e in entries if e.id == state.fills[0].entry), None)
    if tank is None or not isinstance(dumped, Removal):
        return NO_ROAD
    life = next((x for x in tank.lives if x.end == dumped.at), None)
    per_iron = _per_iron(tank)
    if life is None or state.fills[0].left_kg < WHOLE * state.fills[0].weighs_kg:
        return Road(per_iron=per_iron)
    per_mol = {
        n: (s.equivalents or 1.0) / molar_mass(s.formula) for n, s in tank.species.items() if s.kind == "acid" and s.formula
    }
    made_up = sum(_moved(life, ("make-up", "addition"), n) * k for n, k in per_mol.items())
    dragged = -sum(_moved(life, ("drag-out",), n) * k for n, k in per_mol.items())
    half = MADE_UP_SPREAD * made_up
    return Road(
        made_up=Estimate(made_up, made_up - half, made_up + half, "mol"),
        dragged_out=Estimate(dragged, 0.5 * dragged, 2.0 * dragged, "mol"),
        put_in=_put_in(world, state),
        per_iron=per_iron,
    )


def _put_in(world: World, state: ContainerState) -> Estimate | None:
    if not state.treatments:
        return None
    mol = sum(brought_to_waste(world, state.species, t.items, t.id)[0].base_mol for t in state.treatments)
    half = PUT_IN_SPREAD * abs(mol)
    return Estimate(mol, mol - half, mol + half, "mol")


def _moved(life: Life, causes: tuple[str, ...], species: str) -> float:
    return sum(life.flows.get(c, {}).get(f"mass:{species}", 0.0) for c in causes)


def _per_iron(tank: TankState) -> Estimate | None:
    if tank.recipe is None or "acid_per_iron" not in tank.recipe.parameters:
        return None
    value = tank.parameter("acid_per_iron")
    half = 1.959964 * max(tank.gauss.variance_of(value), 0.0) ** 0.5
    return Estimate(value.value, max(value.value - half, 0.0), value.value + half, "mol/mol")
