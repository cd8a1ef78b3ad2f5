"""Which run a logged trace belongs to: by its time, by its charge, or as the keeper says; else a run of its own."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

import msgspec

from bathkeeper.answers.shapes import NotFound
from bathkeeper.entries import Charge, Run, Step, Trace, to_plain
from bathkeeper.estimate.charges import read_charge
from bathkeeper.headlines import SHORT_ID
from bathkeeper.refusals import near
from bathkeeper.showing import shown_moment
from bathkeeper.traces.asking import Choice, Question, TraceError
from bathkeeper.traces.reading import TraceReading
from bathkeeper.units.numerals import figures
from bathkeeper.workshop import Workshop

FROM_FILE = "from the logger's file"
NEAR = timedelta(hours=2)
SHARED = 0.3  # of the shorter of two spans: less in common is a neighbour, not the same run [practice]
FAR_OFF = 2.0  # a charge so many times another is another run's, unless the run was named
OFF = 0.2


@dataclass(frozen=True)
class Spot:
    """A charged step of a run, and which of its branches (None: the step's own charge)."""

    run: Run
    step: int
    branch: int | None = None

    @property
    def charge(self) -> Charge | None:
        step = self.run.steps[self.step]
        return step.charge if self.branch is None else step.branches[self.branch].charge


@dataclass(frozen=True)
class Attached:
    """Where a trace goes: to a ``spot`` of a run, or to a new run in ``tank``."""

    spot: Spot | None
    tank: str | None
    supply: str | None
    questions: tuple[Question, ...] = ()
    doubts: tuple[str, ...] = ()

    def raw(self, trace: dict[str, Any], reading: TraceReading, name: str, at: datetime) -> dict[str, Any]:
        """The entry that books it: a correction of the run's charge, or a run."""
        if self.spot is None:
            ended = _end(reading)
            step = {"tank": self.tank, "minutes": round(reading.on_minutes, 3), "charge": {"trace": trace}}
            if self.supply is not None:
                step["supply"] = self.supply
            return {"kind": "run", "at": ended or at, "steps": [step], "note": f"{FROM_FILE} {name}"}
        body = to_plain(self.spot.run)
        step = body["steps"][self.spot.step]
        if self.spot.branch is None:
            step["charge"] = {"trace": trace}
            if self.supply is not None:
                step["supply"] = self.supply
        else:
            step["branches"][self.spot.branch]["charge"] = {"trace": trace}
        minutes, before = round(reading.on_minutes, 3), self.spot.charge
        step.setdefault("minutes", minutes)
        if before is not None and before.trace is not None:  # this one takes its place, and the time that came with it
            step["minutes"] = minutes
            if str(body.get("note", "")).startswith(FROM_FILE) and (ended := _end(reading)) is not None:
                body |= {"at": ended, "note": f"{FROM_FILE} {name}"}
        replacement = {k: v for k, v in body.items() if k not in ("id", "schema")}
        return {
            "kind": "correction",
            "at": at,
            "corrects": self.spot.run.id,
            "replacement": msgspec.to_builtins(replacement),
            "reason": f"its charge from the logger's file {name}",
        }


def run_with_trace(entry: object) -> Iterator[Trace]:
    """Every trace in a run's charges."""
    if isinstance(entry, Run):
        for step in entry.steps:
            for charge in (step.charge, *(b.charge for b in step.branches)):
                if charge is not None and charge.trace is not None:
                    yield charge.trace


def attach(
    workshop: Workshop, reading: TraceReading, run: str | None, tank: str | None, supply: str | None, new: bool,
    instead: bool = False,
) -> Attached:  # fmt: skip
    """Where the trace goes, and what has to be asked first. ``instead``: it takes the place of the one that the run has.

    Raises:
        NotFound: no such run or tank. TraceError: the run named has no step that it could belong to, or has a trace already.
    """
    tanks = workshop.world.tanks
    if tank is not None and tank not in tanks:
        raise NotFound(f"no tank is called `{tank}`{near(tank, tanks)}")
    if reading.charge_ah is None:
        return _readings_only(workshop, reading, run, tank)
    if run is not None:
        entry = workshop.entry(run)
        if not isinstance(entry, Run):
            raise NotFound(f"{run} is a {entry.kind}, not a run; `bathkeeper run list` shows the runs")
        spot = _spot(entry, tank, supply, fresh=not instead)
        return Attached(
            spot, entry.steps[spot.step].tank, supply, doubts=tuple(_differs(workshop, spot, reading, named=True)[1])
        )
    if reading.start is None:
        question = Question(
            "start",
            "the file does not say on which day, or when, it begins",
            example="--start 2026-05-01T14:30, or --run with the id of the run that it belongs to",
        )
        return Attached(None, tank, supply, (question,))
    if new and tank is not None:
        return Attached(None, tank, supply)
    spots = list(_near_spots(workshop, reading, tank, supply))
    over = [s for s, shared in spots if shared > SHARED]
    if len(over) == 1:
        questions, doubts = _differs(workshop, over[0], reading, named=False)
        return Attached(over[0], over[0].run.steps[over[0].step].tank, supply, tuple(questions), tuple(doubts))
    candidates = over or [s for s, _ in spots]
    if candidates:
        which = "several runs were at that time" if over else "no run was at that time; near it"
        return Attached(None, tank, supply, (_which(workshop, which, candidates, tank),))
    if tank is None:
        plates = [n for n, t in tanks.items() if t.entry.role == "plate"]
        question = Question(
            "run",
            f"no run without a trace is in the book within {NEAR.seconds // 3600} hours of {shown_moment(reading.start)}",
            tuple(Choice(f"a run in {n}", f"--tank {n}") for n in plates),
            "--run with the id of a run that is in the book (`run list` shows them)",
        )
        return Attached(None, None, supply, (question,))
    return Attached(None, tank, supply)


def _readings_only(workshop: Workshop, reading: TraceReading, run: str | None, tank: str | None) -> Attached:
    if not reading.middles:
        return Attached(None, tank, None)
    spot = None
    if run is not None:
        entry = workshop.entry(run)
        if not isinstance(entry, Run):
            raise NotFound(f"{run} is a {entry.kind}, not a run; `bathkeeper run list` shows the runs")
        tank = tank or _spot(entry, None, None, fresh=False).run.steps[_spot(entry, None, None, fresh=False).step].tank
        spot = Spot(entry, 0)
    questions = []
    if tank is None:
        choices = tuple(Choice(n, f"--tank {n}") for n in workshop.world.tanks)
        questions.append(Question("tank", "which tank was it measured in?", choices))
    if reading.start is None and run is None:
        questions.append(
            Question(
                "start",
                "the file does not say on which day, or when, it begins",
                example="--start 2026-05-01T14:30",
            )
        )
    return Attached(spot, tank, None, tuple(questions))


def _end(reading: TraceReading) -> datetime | None:
    """When the current stopped for good."""
    if reading.start is None:
        return None
    return _span(reading)[1]


def _span(reading: TraceReading) -> tuple[datetime, datetime]:
    """From when to when current flowed; the whole log where that is not known."""
    assert reading.start is not None and reading.end is not None
    if not reading.stretches or reading.sums is None:
        return reading.start, reading.end
    begin = max(0.0, reading.stretches[0].start_s - reading.sums.earliest_s)
    end = max(0.0, min(reading.stretches[-1].end_s, reading.sums.latest_s) - reading.sums.earliest_s)
    return reading.start + timedelta(seconds=begin), reading.start + timedelta(seconds=end)


def _spot(run: Run, tank: str | None, supply: str | None, *, fresh: bool = True) -> Spot:
    """The step of a run that a trace belongs to. Raises TraceError where there is none, several, or it has a trace already."""
    found = list(_charged(run, tank, supply))
    if len(found) != 1:
        where = f" in {tank}" if tank is not None else ""
        by = f" by {supply}" if supply is not None else ""
        if not found:
            raise TraceError(f"run {run.id[-SHORT_ID:]} has no step with current{where}{by} that the trace could belong to")
        raise TraceError(f"run {run.id[-SHORT_ID:]} has {len(found)} charges{where}{by}; say which with --tank and --supply")
    charge = found[0].charge
    if fresh and charge is not None and charge.trace is not None:
        raise TraceError(
            f"run {run.id[-SHORT_ID:]} has its charge from {charge.trace.file} already; add --instead if this one takes its "
            "place"
        )
    return found[0]


def _charged(run: Run, tank: str | None, supply: str | None) -> Iterator[Spot]:
    for number, step in enumerate(run.steps):
        if tank is not None and step.tank != tank:
            continue
        if step.charge is not None and (supply is None or step.supply in (None, supply)):
            yield Spot(run, number)
        for place, branch in enumerate(step.branches):
            if supply is None or branch.supply == supply:
                yield Spot(run, number, place)


def _near_spots(
    workshop: Workshop, reading: TraceReading, tank: str | None, supply: str | None
) -> Iterable[tuple[Spot, float]]:
    """(spot, part of the shorter span that both share) of charged steps near the trace in time, without one yet."""
    begin, end = _span(reading)
    for entry in workshop.entries():
        if not isinstance(entry, Run) or not begin - timedelta(days=2) <= entry.at <= end + timedelta(days=2):
            continue
        best: list[tuple[float, Spot]] = []
        for spot in _charged(entry, tank, supply):
            if spot.charge is not None and spot.charge.trace is not None:
                continue
            spans = _spans(entry, spot.step, reading.on_minutes)
            shared = max(_shared(begin, end, a, b) for a, b in spans)
            if shared > 0 or min(max(begin - b, a - end) for a, b in spans) <= NEAR:
                best.append((shared, spot))
        for shared, spot in best:
            yield spot, shared


def _spans(run: Run, step: int, minutes: float) -> list[tuple[datetime, datetime]]:
    """When the step may have been: the run's moment is the end of the run, or was written down at its beginning."""
    after = timedelta(minutes=sum(s.minutes or 0.0 for s in run.steps[step + 1 :]))
    before = timedelta(minutes=sum(s.minutes or 0.0 for s in run.steps[:step]))
    stay = timedelta(minutes=_stay(run.steps[step]) or minutes)
    return [(run.at - after - stay, run.at - after), (run.at + before, run.at + before + stay)]


def _stay(step: Step) -> float | None:
    return step.minutes


def _shared(a: datetime, b: datetime, c: datetime, d: datetime) -> float:
    both = (min(b, d) - max(a, c)).total_seconds()
    shorter = max(1.0, min((b - a).total_seconds(), (d - c).total_seconds()))
    return max(0.0, both / shorter)


def _differs(workshop: Workshop, spot: Spot, reading: TraceReading, *, named: bool) -> tuple[list[Question], list[str]]:
    """Where the run says another charge than the trace."""
    charge = spot.charge
    if charge is None or not reading.charge_ah:
        return [], []
    told = read_charge(charge, spot.run.steps[spot.step].minutes, workshop.catalogue.spreads).charge_ah
    if told <= 0:
        return [], []
    ratio = reading.charge_ah / told
    text = f"run {spot.run.id[-SHORT_ID:]} says {figures(told)} Ah, the trace comes to {figures(reading.charge_ah)} Ah"
    if not named and not 1 / FAR_OFF <= ratio <= FAR_OFF:
        tank = spot.run.steps[spot.step].tank
        choices = (
            Choice("the trace is right", f"--run {spot.run.id[-SHORT_ID:]}"),
            Choice("another run", f"--tank {tank} --new"),
            Choice("the current is in another unit", "--unit current=mA"),
        )
        return [Question("run", text, choices)], []
    return [], [text] if abs(ratio - 1) > OFF else []


def _which(workshop: Workshop, why: str, spots: list[Spot], tank: str | None) -> Question:
    choices = [_told(workshop, s) for s in spots[:8]]
    plates = [tank] if tank is not None else [n for n, t in workshop.world.tanks.items() if t.entry.role == "plate"]
    choices += [Choice(f"a run of its own in {n}", f"--tank {n} --new") for n in plates]
    return Question("run", f"{why}: {'; '.join(c.label for c in choices[: len(spots[:8])])}. Which one is it?", tuple(choices))


def _told(workshop: Workshop, spot: Spot) -> Choice:
    from bathkeeper.headlines import sentence

    step = spot.run.steps[spot.step]
    by = step.branches[spot.branch].supply if spot.branch is not None else None
    said = f"{shown_moment(spot.run.at)} {sentence(spot.run, workshop.preferences)}"
    return Choice(said, f"--run {spot.run.id[-SHORT_ID:]}" + (f" --supply {by}" if by else ""))
