"""The current density on hung anodes, against what their metal stands."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from bathkeeper.catalogue.loader import Catalogue
from bathkeeper.catalogue.schema import Window
from bathkeeper.estimate.state import TankState
from bathkeeper.findings import Estimate
from bathkeeper.runs.branches import BranchSetting, Place, for_a_run, strangers_hung
from bathkeeper.runs.keeper_limits import window_here
from bathkeeper.units.numerals import figures


@dataclass(frozen=True)
class AnodeSetting:
    """The hung anodes of one metal. ``area_dm2`` is None where one of them has none on record; ``within`` None where that, the
    current or the limit is not known. ``largest_load_dm2``: the load that brings them to their limit."""

    metal: str
    anodes: tuple[str, ...]
    area_dm2: float | None
    current_a: float | None
    density_a_dm2: float | None
    limit: Window | None
    within: bool | None
    largest_load_dm2: float | None
    note: str


def anode_settings(
    state: TankState,
    catalogue: Catalogue,
    where: Sequence[Place],
    branches: Sequence[BranchSetting],
    current: Estimate | None,
    density_a_dm2: float | None,
) -> list[AnodeSetting]:
    """Every metal that will be in for the run and belongs there, in order of the anodes."""
    strangers = strangers_hung(state, catalogue)
    at_hand = {*for_a_run(state), *(a for p in where for a in p.anodes)}
    in_use = [n for n, a in state.anodes.items() if not a.retired and n in at_hand and a.metal not in strangers]
    metals = list(dict.fromkeys(state.anodes[n].metal for n in in_use))
    shares = _shares(state, metals, where, branches)
    made = []
    for metal in metals:
        names = tuple(n for n in in_use if state.anodes[n].metal == metal)
        made.append(_one(state, catalogue, metal, names, shares.get(metal), current, density_a_dm2))
    return made


def _one(
    state: TankState,
    catalogue: Catalogue,
    metal: str,
    names: tuple[str, ...],
    share: float | None,
    current: Estimate | None,
    density_a_dm2: float | None,
) -> AnodeSetting:
    electrode = state.recipe.electrode if state.recipe is not None else None
    stated = electrode.anode_density.get(metal) if electrode is not None else None
    limit = window_here(state, catalogue, f"anode density {metal}", stated, "A/dm2")
    areas = [state.anodes[n].area_dm2 for n in names]
    area = sum(a or 0.0 for a in areas) if all(a is not None for a in areas) else None
    amps = share * current.value if share is not None and current is not None else None
    on_it = amps / area if amps is not None and area else None
    high = limit.high if limit is not None else None
    within = on_it <= high * (1 + 1e-9) if on_it is not None and high is not None else None
    largest = None
    if high is not None and area is not None and density_a_dm2 is not None and share is not None and share > 0:
        largest = high * area / (share * density_a_dm2)
    return AnodeSetting(metal, names, area, amps, on_it, limit, within, largest, _note(metal, area, on_it, limit, largest))


def _note(metal: str, area: float | None, on_it: float | None, limit: Window | None, largest: float | None) -> str:
    if area is None:
        return f"{metal} anodes: their area is not on record, so their current density is not known"
    if on_it is None:
        return f"{metal} anodes: {figures(area)} dm²"
    said = f"{metal} anodes: {on_it:.3g} A/dm² on {figures(area)} dm²"
    if limit is None or limit.high is None:
        return f"{said}; no limit on record"
    if on_it > limit.high * (1 + 1e-9):
        load = f", or a load of at most {figures(largest)} dm²" if largest is not None else ""
        return f"{said}, more than the {limit.high:g} that they stand ({limit.status}): hang more{load}"
    return f"{said}, up to {limit.high:g} ({limit.status})"


def _shares(
    state: TankState, metals: Sequence[str], where: Sequence[Place], branches: Sequence[BranchSetting]
) -> Mapping[str, float]:
    """Share of the whole current by metal: as set on separate supplies; on one, as learned, the base metal taking the rest."""
    if len(metals) == 1:
        return {metals[0]: sum(b.share for b in branches if b.share is not None)}
    if len(branches) > 1:
        found: dict[str, float] = {}
        for branch in branches:
            if branch.metal is not None and branch.share is not None:
                found[branch.metal] = found.get(branch.metal, 0.0) + branch.share
        return found
    known = {}
    for metal in metals:
        name = f"anode_share_{metal}"
        if state.recipe is not None and name in state.recipe.parameters:
            known[metal] = state.parameter_value(name)
    rest = [m for m in metals if m not in known]
    return {**known, rest[0]: 1.0 - sum(known.values())} if len(rest) == 1 else known
