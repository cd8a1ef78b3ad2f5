"""Findings from anode advice: zinc left hanging on a line that rests, a split that costs salts, an anode that ends soon."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import datetime, timedelta

from bathkeeper.advice.anodes import AnodeAdvice
from bathkeeper.due.contents import ANODE_SOON
from bathkeeper.entries import AnyEntry, Run, Unknown
from bathkeeper.estimate.view import TankView
from bathkeeper.findings import Because, Finding

IDLE_DAYS = 3.0  # without a run, from which zinc left hanging is spoken of [practice]
LOSS_G = 2.0  # a week; less is not worth a walk [practice]
SALT_G = 20.0  # per 100 Ah; less is within what drag-out takes anyway [practice]
ENDS_DAYS = 30.0  # before its end, from which an anode is spoken of [practice]


def anode_findings(
    told: AnodeAdvice, view: TankView, entries: Iterable[AnyEntry | Unknown], now: datetime
) -> Iterator[Finding]:
    """What a tank's anodes ask for beside their weight, which is told with the contents."""
    yield from _idle(told, entries, now)
    for split in told.splits:
        if not split.given or split.salt is None or split.salt_g is None or split.salt_g < SALT_G:
            continue
        amps = f": {split.amperes:.2f} A on its own supply would hold it" if split.amperes is not None else ""
        yield Finding(
            id=f"{told.tank}.split.{split.metal}",
            tank=told.tank,
            what=f"{split.metal} carries {split.share.value:.1%} of the current, {split.holding.value:.1%} would hold it{amps}",
            why=f"at this split {split.salt_g:.0f} g of {split.salt} go in per 100 Ah",
            level="later",
            because=told.because,
        )
    for life in told.lives:
        anode = view.anodes.get(life.anode)
        if life.end_by is None or anode is None or anode.left_fraction < ANODE_SOON or not life.hung:
            continue
        if life.end_by <= now + timedelta(days=ENDS_DAYS):
            yield Finding(
                id=f"{told.tank}.anode_end.{life.anode}",
                tank=told.tank,
                what=f"anode {life.anode} lasts for about {life.to_end_ah or 0.0:.0f} Ah more",
                why=f"{life.left.value:.0f} g left, {life.per_100_ah_g:.0f} g go per 100 Ah: have the next one ready",
                level="later",
                by=life.end_by,
                because=told.because,
            )


def _idle(told: AnodeAdvice, entries: Iterable[AnyEntry | Unknown], now: datetime) -> Iterator[Finding]:
    idle = told.idle
    if idle is None or idle.loss_g.value < LOSS_G:
        return
    runs = [e for e in entries if isinstance(e, Run) and e.at <= now and any(s.tank == told.tank for s in e.steps)]
    if not runs:
        return
    days = (now - runs[-1].at).total_seconds() / 86400
    if days < IDLE_DAYS:
        return
    acid = f" and uses at most {idle.acid_most_ml:.0f} mL of {idle.acid}" if idle.acid_most_ml is not None else ""
    yield Finding(
        id=f"{told.tank}.idle.{idle.metal}",
        tank=told.tank,
        what=f"lift the {idle.metal} anodes: no run for {days:.0f} days",
        why=f"hanging without current they lose about {idle.loss_g.value:.0f} g a week "
        f"({idle.loss_g.low:.0f} to {idle.loss_g.high:.0f}){acid}",
        level="soon",
        because=Because(
            text="Zinc dissolves in the bath without current; what is lifted does not.",
            entries=(runs[-1].id, *told.because.entries),
            formula=f"loss = rate x {idle.area_dm2:.3g} dm2 x days",
            sources=told.because.sources,
        ),
    )
