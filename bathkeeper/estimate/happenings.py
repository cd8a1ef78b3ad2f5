"""What each kind of entry does to the workshop. Nothing raises on a bad entry: it becomes a problem and the rest goes on."""

from __future__ import annotations

from dataclasses import replace

from bathkeeper.entries import (
    Addition,
    Anode,
    AnyEntry,
    Calibration,
    Container,
    Definition,
    MakeUp,
    Reading,
    Remark,
    Removal,
    Run,
    Tank,
    Treatment,
    Unknown,
    Workshop,
)
from bathkeeper.estimate.anodes import anode
from bathkeeper.estimate.calibrations import calibration
from bathkeeper.estimate.observe import Context
from bathkeeper.estimate.passage import run_through
from bathkeeper.estimate.readings import reading
from bathkeeper.estimate.solutions import addition, make_up, removal
from bathkeeper.estimate.treatments import treatment
from bathkeeper.estimate.verdicts import defect_told
from bathkeeper.estimate.wasting import container, spent_solids
from bathkeeper.estimate.world import World, defined, redescribed


def happen(world: World, entry: AnyEntry | Unknown, context: Context) -> World:
    """The workshop after an entry.

    Raises:
        Reconsider: the entry shows that earlier readings held in doubt were right.
    """
    match entry:
        case Workshop():
            return replace(world, workshop=entry)
        case Tank():
            return redescribed(world, entry)
        case Definition():
            return defined(world, entry)
        case MakeUp():
            return make_up(world, entry)
        case Run():
            world = run_through(world, entry, context)
            return defect_told(world, entry) if entry.defect else world
        case Reading():
            return reading(world, entry, context)
        case Addition():
            return addition(world, entry)
        case Removal():
            return removal(world, entry)
        case Anode():
            return anode(world, entry, context)
        case Treatment():
            return spent_solids(treatment(world, entry), entry)
        case Container():
            return container(world, entry)
        case Calibration():
            return calibration(world, entry)
        case Remark():
            return defect_told(world, entry) if entry.defect else world
        case _:
            return world
