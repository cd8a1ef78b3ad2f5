"""The base of a spent pickle by its acid: what was made up in its life, less what parts carried out."""

from __future__ import annotations

from collections.abc import Iterable

from bathkeeper.chemistry.formulas import molar_mass
from bathkeeper.entries import AnyEntry, Removal, Unknown
from bathkeeper.estimate.containers import ContainerState
from bathkeeper.estimate.state import Life, TankState
from bathkeeper.estimate.world import World
from bathkeeper.findings import Estimate

Three = tuple[Estimate | None, Estimate | None, Estimate | None]
MADE_UP_SPREAD = 0.05  # of the acid that was put in, 95 % [practice]


def second_road(world: World, state: ContainerState | None, entries: Iterable[AnyEntry | Unknown]) -> Three:
    """(acid made up, acid dragged out, base per mol of iron), mol; all None where the container does not hold just one dumped
    life of one pickle.

    Iron takes as many mol of base as dissolving it took of acid, so its learned ratio counts it the same on both roads.
    """
    if state is None or len(state.fills) != 1 or state.fills[0].role != "pickle" or state.fills[0].by:
        return None, None, None
    tank = world.tanks.get(state.fills[0].tank)
    dumped = next((e for e in entries if e.id == state.fills[0].entry), None)
    if tank is None or not isinstance(dumped, Removal):
        return None, None, None
    life = next((x for x in tank.lives if x.end == dumped.at), None)
    per_iron = _per_iron(tank)
    if life is None:
        return None, None, per_iron
    per_mol = {
        n: (s.equivalents or 1.0) / molar_mass(s.formula) for n, s in tank.species.items() if s.kind == "acid" and s.formula
    }
    made_up = sum(_moved(life, ("make-up", "addition"), n) * k for n, k in per_mol.items())
    dragged = -sum(_moved(life, ("drag-out",), n) * k for n, k in per_mol.items())
    half = MADE_UP_SPREAD * made_up
    return (
        Estimate(made_up, made_up - half, made_up + half, "mol"),
        Estimate(dragged, 0.5 * dragged, 2.0 * dragged, "mol"),
        per_iron,
    )


def _moved(life: Life, causes: tuple[str, ...], species: str) -> float:
    return sum(life.flows.get(c, {}).get(f"mass:{species}", 0.0) for c in causes)


def _per_iron(tank: TankState) -> Estimate | None:
    if tank.recipe is None or "acid_per_iron" not in tank.recipe.parameters:
        return None
    value = tank.parameter("acid_per_iron")
    half = 1.959964 * max(tank.gauss.variance_of(value), 0.0) ** 0.5
    return Estimate(value.value, max(value.value - half, 0.0), value.value + half, "mol/mol")
