"""All that is dangerous in a workshop: findings, what must not meet, substances, hydrogen of the last runs, first help."""

from __future__ import annotations

from datetime import datetime

import msgspec

from bathkeeper.answers.dangers import RunHydrogen, SubstanceHere, hydrogen_of_runs, substances_here
from bathkeeper.estimate.learned import efficiencies_of
from bathkeeper.findings import Finding
from bathkeeper.safety.first_help import FirstHelp, load
from bathkeeper.safety.groups import shop_of
from bathkeeper.safety.schema import Verdict
from bathkeeper.workshop import Workshop, now

AIR_SOURCE = "1 % by volume, a quarter of the lower explosive limit: common in battery rooms (cisco-inc.com on hydrogen)"


class Dangers(msgspec.Struct, frozen=True, kw_only=True):
    """Everything, in the shape of ``safety --json``."""

    as_of: datetime
    findings: list[Finding]
    must_not_meet: dict[str, dict[str, Verdict | None]]
    substances: list[SubstanceHere]
    hydrogen: list[RunHydrogen]
    hydrogen_source: str
    first_response: list[FirstHelp]


def dangers_of(workshop: Workshop, at: datetime | None = None) -> Dangers:
    """What this workshop's own book gives reason to say at a moment."""
    moment = at or now()
    world = workshop.at(moment)
    entries = workshop.entries(at=moment)
    reagents = [v.name for v in shop_of(entries, world.catalogue).reagents]
    return Dangers(
        as_of=moment,
        findings=workshop.safety(moment),
        must_not_meet=workshop.must_not_meet(moment),
        substances=substances_here(world, reagents),
        hydrogen=hydrogen_of_runs(entries, efficiencies_of(world.tanks), world.catalogue.spreads),
        hydrogen_source=AIR_SOURCE,
        first_response=list(load().first.values()),
    )
