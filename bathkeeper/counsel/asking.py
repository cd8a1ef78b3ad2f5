"""What is asked and nothing is written for: due, forecast, signs, anodes, acid, causes, stock, calendar; and putting off."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from bathkeeper.answers.shapes import Logged, NotFound
from bathkeeper.counsel.planning import Planning, state_of
from bathkeeper.counsel.shapes import CounselError, PutOff
from bathkeeper.estimate.usage import Usage, usage_of
from bathkeeper.findings import Because, Finding
from bathkeeper.workshop import now

if TYPE_CHECKING:
    from bathkeeper.accounts.costs import Cost, Reorder
    from bathkeeper.advice.anodes import AnodeAdvice
    from bathkeeper.advice.replacing import Replacing

COST_DAYS = 91  # a season, what a cost is told for unless another span is asked


class Asking(Planning):
    """Questions to one workshop."""

    # -- the shelf ---------------------------------------------------------------------------------------------------------

    def reorder(self, at: datetime | None = None) -> list[Reorder]:
        """What has to be bought before it runs out, soonest first."""
        from bathkeeper.accounts.costs import reorder

        moment = at or now()
        return reorder(self.shelf(moment), moment)

    def cost(self, since: datetime | None = None, until: datetime | None = None) -> Cost:
        """What chemicals and anodes cost over a span, the last season when none is named."""
        from bathkeeper.accounts.costs import cost

        end = until or now()
        begin = since or end - timedelta(days=COST_DAYS)
        if begin >= end:
            raise CounselError("a span begins before it ends")
        return cost(self.workshop.entries(at=end)[::-1], self.shelf(end), self._anode_loss(begin, end), begin, end)

    def _anode_loss(self, since: datetime, until: datetime) -> dict[str, float]:
        """Metal -> grams that the anodes of every tank lost between two moments, by the estimate."""
        lost: dict[str, float] = {}
        before = _anodes_of(self, since)
        for key, (metal, mass) in _anodes_of(self, until).items():
            start = before[key][1] if key in before else self.workshop.at(until).tanks[key[0]].anodes[key[1]].start_mass_g
            lost[metal] = lost.get(metal, 0.0) + max(start - mass, 0.0)
        return lost

    # -- one tank ------------------------------------------------------------------------------------------------------------

    def usage(self, tank: str, at: datetime | None = None) -> Usage:
        """How much a tank is used: the keeper's own plan, or what the last weeks' runs tell."""
        moment = at or now()
        return usage_of(self.workshop.entries(at=moment)[::-1], tank, moment, self.workshop.at(moment).catalogue)

    def signs(self, tank: str, at: datetime | None = None) -> Replacing | None:
        """Keep, refresh or replace: the signs of a side tank; None where it is a plating bath, empty, or has no recipe.

        Raises:
            NotFound: no such tank.
        """
        from bathkeeper.advice.replacing import replacing

        moment = at or now()
        world = self.workshop.at(moment)
        entries = self.workshop.entries(at=moment)[::-1]
        return replacing(state_of(world, tank), world.catalogue, entries, self.usage(tank, moment), moment)

    def anodes(self, tank: str, at: datetime | None = None) -> AnodeAdvice | None:
        """How long anodes last, whether their split holds the bath, what idle zinc costs; None without an electrode.

        Raises:
            NotFound: no such tank.
        """
        from bathkeeper.advice.anodes import anode_advice

        moment = at or now()
        world = self.workshop.at(moment)
        return anode_advice(
            state_of(world, tank), world.catalogue, self.usage(tank, moment), moment, tuple(self.shelf(moment))
        )

    # -- due -----------------------------------------------------------------------------------------------------------------

    def due(self, at: datetime | None = None) -> list[Finding]:
        """Everything that is due over the workshop, most urgent first, without what is put off."""
        return self.workshop.status(at).due

    def snoozed(self, at: datetime | None = None) -> list[PutOff]:
        """What would be due, had the keeper not put it off."""
        return []

    def snooze(self, finding: str, until: datetime, reason: str, at: datetime | None = None) -> Logged:
        """Puts something due off until a moment, with a reason.

        Raises:
            NotFound: nothing of that id is due; says what is. EntryError: the moment is not later than now. BookError.
        """
        moment = at or now()
        known = [f.id for f in self.due(moment)] + [p.finding.id for p in self.snoozed(moment)]
        if finding not in known:
            raise NotFound(f"nothing is due that is called `{finding}`; due: {', '.join(known) or 'nothing'}")
        if not reason.strip():
            raise CounselError("say why it is put off; a reason of a few words is enough")
        return self.workshop.log({"kind": "snooze", "at": moment, "finding": finding, "until": until, "reason": reason})

    def why(self, id: str, at: datetime | None = None) -> tuple[str, Because]:
        """(what, because) of a due item, of a content (``tank.species``), or of a step of a plan (``PLANID.step``).

        Raises:
            NotFound: none of these; says what can be asked.
        """
        plan, _, number = id.rpartition(".")
        if plan and number.isdigit():
            try:
                return self.why_step(plan, int(number))
            except NotFound:
                if "." not in plan and plan not in self.workshop.world.tanks:
                    raise
        for finding in self.due(at):
            if finding.id == id:
                return finding.what, finding.because
        return self.workshop.why(id, at)


def _anodes_of(counsel: Asking, at: datetime) -> Mapping[tuple[str, str], tuple[str, float]]:
    """(tank, anode) -> (metal, grams) at a moment."""
    found = {}
    for name, state in counsel.workshop.at(at).tanks.items():
        for anode, info in state.anodes.items():
            key = f"anode:{anode}"
            if key in state.gauss.names:
                found[(name, anode)] = (info.metal, max(state.gauss.value(key), 0.0))
    return found
