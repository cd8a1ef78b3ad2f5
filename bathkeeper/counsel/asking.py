"""What is asked and nothing is written for: due, forecast, signs, anodes, acid, causes, stock, calendar; and putting off."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from bathkeeper.answers.shapes import Logged, NotFound, Status
from bathkeeper.catalogue.loader import CatalogueError
from bathkeeper.counsel.planning import Planning, state_of
from bathkeeper.counsel.shapes import CounselError, Offer, PutOff
from bathkeeper.estimate.usage import Usage, usage_of
from bathkeeper.findings import Because, Finding
from bathkeeper.workshop import Workshop, now

if TYPE_CHECKING:
    from bathkeeper.accounts.costs import Cost, Reorder
    from bathkeeper.advice.acid import AcidBalance
    from bathkeeper.advice.anodes import AnodeAdvice
    from bathkeeper.advice.causes import Diagnosis
    from bathkeeper.advice.laying_up import Checklist
    from bathkeeper.advice.replacing import Replacing
    from bathkeeper.estimate.forecast import Forecast

COST_DAYS = 91  # a season, what a cost is told for unless another span is asked


class Asking(Planning):
    """Questions to one workshop."""

    def __init__(self, workshop: Workshop) -> None:
        super().__init__(workshop)
        self._foreseen: tuple[tuple[int, datetime, str | None], dict[str, Forecast]] | None = None

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

    def acid(self, tank: str, at: datetime | None = None) -> AcidBalance | None:
        """Acid (or caustic) by charge against what was put in; None for a tank that lays nothing down.

        Raises:
            NotFound: no such tank.
        """
        from bathkeeper.advice.acid import acid_balance

        moment = at or now()
        world = self.workshop.at(moment)
        entries = self.workshop.entries(at=moment)[::-1]
        return acid_balance(state_of(world, tank), world.catalogue, entries, moment, self.at_hand(moment))

    def jar(
        self, tank: str, sample_ml: float, titrant_ml: float, normality: float, reagent: str | None = None,
        at: datetime | None = None,
    ) -> Offer:  # fmt: skip
        """The pH dose that a jar test asks for, in quarters, as a plan that can be accepted.

        Raises:
            NotFound: no such tank. CounselError: amounts or a reagent that cannot be; says what would do.
        """
        from bathkeeper.advice.jar import Jar, jar_plan

        moment = at or now()
        world = self.workshop.at(moment)
        state, balance = state_of(world, tank), self.acid(tank, moment)
        bound = balance.missing_mol if balance is not None and balance.kind == "acid" else None
        try:
            test = Jar(sample_ml, titrant_ml, normality)
            advice = jar_plan(state, world.catalogue, test, reagent, shelf=self.at_hand(moment), bound_mol=bound)
        except CatalogueError:
            raise
        except ValueError as problem:
            raise CounselError(str(problem)) from problem
        return Offer("jar", tank, moment, advice)

    def forecast(self, tank: str, at: datetime | None = None) -> Forecast | None:
        """When a tank's next limits are reached, with its fan; None where there is nothing to forecast.

        Raises:
            NotFound: no such tank.
        """
        moment = at or now()
        state_of(self.workshop.at(moment), tank)
        return self.forecasts(moment, tank).get(tank)

    def forecasts(self, at: datetime | None = None, tank: str | None = None) -> dict[str, Forecast]:
        """The forecast of every tank in service that holds something (or of the one named); reckoned once for each moment."""
        from bathkeeper.estimate.forecast import forecasts

        moment = at or now()
        key = (len(self.workshop.book.entries()), moment, tank)
        if self._foreseen is None or self._foreseen[0] != key:
            self._foreseen = (
                key, forecasts(self.workshop.at(moment), self.workshop.entries(at=moment)[::-1], moment, tank)
            )  # fmt: skip
        return self._foreseen[1]

    def causes(
        self, defect: str | None = None, *, run: str | None = None, tank: str | None = None, at: datetime | None = None
    ) -> Diagnosis:
        """What may be behind a defect, by what this bath is believed to hold. ``run``: the load that shows it.

        Raises:
            CounselError: no such run, tank or defect, or none named; says what would do.
        """
        from bathkeeper.advice.causes import causes_of

        moment = at or now()
        entries = self.workshop.entries(at=moment)[::-1]
        try:
            return causes_of(defect, self.workshop.at(moment), entries, moment, run=run, tank=tank)
        except ValueError as problem:
            raise CounselError(str(problem)) from problem

    def lay_up(self, days: float, at: datetime | None = None, coldest_c: float | None = None) -> list[Checklist]:
        """What each tank wants before the line rests for so many days; ``coldest_c``: how cold the room gets.

        Raises:
            CounselError: days or a temperature that cannot be.
        """
        from bathkeeper.advice.laying_up import COLD_C, lay_up

        moment = at or now()
        cold = COLD_C if coldest_c is None else coldest_c
        try:
            return lay_up(self.workshop.at(moment), moment, days, coldest_c=cold, shelf=self.at_hand(moment))
        except ValueError as problem:
            raise CounselError(str(problem)) from problem

    def wake_up(self, at: datetime | None = None, room_c: float | None = None) -> list[Checklist]:
        """What each tank wants before the first load after a rest; ``room_c``: how cold the baths are.

        Raises:
            CounselError: a temperature that cannot be.
        """
        from bathkeeper.advice.laying_up import wake_up

        moment = at or now()
        try:
            if room_c is None:
                return wake_up(self.workshop.at(moment), moment)
            return wake_up(self.workshop.at(moment), moment, room_c=room_c)
        except ValueError as problem:
            raise CounselError(str(problem)) from problem

    # -- due -----------------------------------------------------------------------------------------------------------------

    def status(self, at: datetime | None = None, *, snoozed: bool = False) -> Status:
        """The workshop's status with what the forecast sees coming among what is due; ``snoozed``: also what is put off.

        The workshop's own status leaves the forecast out, because it takes longer than a status may; ids are the same in both.
        """
        from bathkeeper.due.forecasts import forecast_findings

        moment = at or now()
        prefs = self.workshop.preferences
        more = [f for told in self.forecasts(moment).values() for f in forecast_findings(told, prefs)]
        return self.workshop.status(moment, more=more, snoozed=snoozed)

    def due(self, at: datetime | None = None) -> list[Finding]:
        """Everything that is due over the workshop, most urgent first, without what is put off."""
        return self.status(at).due

    def snoozed(self, at: datetime | None = None) -> list[PutOff]:
        """What would be due, had the keeper not put it off."""
        from bathkeeper.due.snoozed import put_off

        moment = at or now()
        off = put_off(self.workshop.entries(at=moment), moment)
        found = self.status(moment, snoozed=True).due if off else []
        return [PutOff(f, off[f.id].until, off[f.id].reason, off[f.id].id) for f in found if f.id in off]

    def calendar_text(self, at: datetime | None = None, before: str = "") -> str:
        """What is due as a calendar (RFC 5545). ``before``: the text that was written last, so that entries update rather than
        multiply and those that are done are cancelled.

        Raises:
            CounselError: ``before`` is no calendar of ours.
        """
        from bathkeeper.due.calendar_file import to_ics

        moment = at or now()
        entries = self.workshop.book.entries()
        book = entries[0].id if entries else "empty"
        try:
            return to_ics(self.due(moment), book, self.workshop.name, moment, before)
        except ValueError as problem:
            raise CounselError(str(problem)) from problem

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
