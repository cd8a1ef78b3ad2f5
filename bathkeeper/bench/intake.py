"""A logger's file becomes entries: proposed with everything that is unclear, then booked all at once or not at all."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import Any

from bathkeeper.bench.attaching import Attached, Spot, attach, run_with_trace
from bathkeeper.bench.repeats import refuse_repeated, repeated_readings
from bathkeeper.catalogue.own import Supply, all_of
from bathkeeper.catalogue.own_traces import TraceSource
from bathkeeper.entries import AnyEntry, Reading, Run, Unknown
from bathkeeper.estimate.charges import read_charge
from bathkeeper.logbook.text_files import chunks_of, sha256_of
from bathkeeper.refusals import shorten
from bathkeeper.traces.asking import NO_ANSWERS, UNITS, Answers, Bench, Choice, Question, TraceError
from bathkeeper.traces.reading import Middle, TraceReading, read_trace
from bathkeeper.traces.zones import zone_named
from bathkeeper.workshop import Workshop, now

MOST_NAMED = 5
METHODS = {"temperature": "thermometer", "ph": "pH meter", "conductivity": "conductivity meter", "voltage": "voltmeter"}


@dataclass(frozen=True)
class Wanted:
    """Where a file belongs, as far as the keeper said: a run, or a tank; ``new``: a run of its own even where one is near;
    ``instead``: in the place of the trace that the run has."""

    run: str | None = None
    tank: str | None = None
    supply: str | None = None
    new: bool = False
    instead: bool = False
    zone: str | None = None


NOTHING_WANTED = Wanted()


@dataclass(frozen=True)
class Proposal:
    """What a file would become. ``raws``: plain entries ready to be logged; none while there are ``questions``."""

    file: str
    sha256: str
    reading: TraceReading
    attached: Attached
    questions: tuple[Question, ...]
    doubts: tuple[str, ...]
    raws: tuple[dict[str, Any], ...]
    remembered: bool


class TraceIntake:
    """Takes logged traces into a workshop's book: ``propose``, then ``book``."""

    def __init__(self, workshop: Workshop) -> None:
        self.workshop = workshop

    def propose(
        self,
        path: Path,
        answers: Answers = NO_ANSWERS,
        wanted: Wanted = NOTHING_WANTED,
        *,
        seen: Callable[[int], None] | None = None,
        at: datetime | None = None,
    ) -> Proposal:
        """What the file would become; nothing is written. ``seen`` is told of every piece that was read.

        Raises:
            TraceError: it cannot be read as a log, an answer cannot be, or it is in the book already.
            BookError: the file cannot be opened. NotFound: no such run or tank.
        """
        name = file_name(path)
        digest = sha256_of(path)
        entries = self.workshop.entries()
        self._refuse_known(entries, digest, name)
        if wanted.zone is not None:
            answers = replace(answers, zone=zone_named(wanted.zone))
        used: list[TraceSource] = []

        def remembered(header: str) -> Answers | None:
            source = self.source_of(header)
            if source is not None:
                used.append(source)
            return answers_of(source) if source is not None else None

        bench = Bench(self._reach(wanted), self._seen(entries))
        reading = read_trace(lambda: chunks_of(path, seen), answers, file_name=name, bench=bench, remembered=remembered)
        questions, doubts = list(reading.questions), list(reading.doubts)
        attached = attach(self.workshop, reading, wanted.run, wanted.tank, wanted.supply, wanted.new, wanted.instead)
        questions += attached.questions
        doubts += attached.doubts
        if reading.charge_ah is not None:
            more = refuse_repeated(entries, reading, attached, wanted.new or wanted.instead)
            questions += more
        raws: tuple[dict[str, Any], ...] = ()
        if not questions:
            raws, further = self._raws(name, digest, reading, attached, answers, wanted, used, at or now())
            doubts += further
            if not raws:
                questions.append(Question("rows", "there is nothing in this file to book", ()))
        return Proposal(
            file=name,
            sha256=digest,
            reading=reading,
            attached=attached,
            questions=tuple(questions),
            doubts=tuple(dict.fromkeys(doubts)),
            raws=raws,
            remembered=bool(used),
        )

    def book(self, proposal: Proposal) -> list[AnyEntry]:
        """Writes a proposal, all of it or nothing.

        Raises:
            TraceError: it has questions still, or the book has taken the file up meanwhile.
            EntryError, BookError: it cannot be written; nothing was.
        """
        if proposal.questions:
            raise TraceError(f"{proposal.file}: {proposal.questions[0].text}; this has to be answered first")
        self.workshop.refresh()
        self._refuse_known(self.workshop.entries(), proposal.sha256, proposal.file)
        return self.workshop.log_all(proposal.raws)

    def holds(self, proposal: Proposal) -> bool:
        """Whether the book has the file by now; to be asked after a writing that was stopped."""
        self.workshop.refresh()
        try:
            self._refuse_known(self.workshop.entries(), proposal.sha256, proposal.file)
        except TraceError:
            return True
        return False

    def source_of(self, header: str) -> TraceSource | None:
        """What is remembered of files with this header; the latest definition holds."""
        known = all_of(self.workshop.catalogue.own, "trace source", TraceSource)
        return next((s for s in reversed(list(known.values())) if s.header == header), None)

    # -- inside --------------------------------------------------------------------------------------------------------

    def _refuse_known(self, entries: list[Any], digest: str, name: str) -> None:
        held = [
            entry.id
            for entry in entries
            if (isinstance(entry, Reading) and entry.note is not None and digest in entry.note)
            or any(t.sha256 == digest for t in run_with_trace(entry))
        ]
        if held:
            one = len(held) == 1
            which = ", ".join(held[:MOST_NAMED]) + (" …" if len(held) > MOST_NAMED else "")
            raise TraceError(
                f"{shorten(name)} is in the book already, byte for byte (entr{'y' if one else 'ies'} {which}); to take it in "
                f"anew, withdraw {'that' if one else 'those'} first"
            )

    def _reach(self, wanted: Wanted) -> float | None:
        supplies = all_of(self.workshop.catalogue.own, "supply", Supply)
        if wanted.supply in supplies:
            return supplies[wanted.supply].reach_a
        return next(iter(supplies.values())).reach_a if len(supplies) == 1 else None

    def _seen(self, entries: list[AnyEntry | Unknown]) -> float | None:
        """The highest mean current that a run in the book tells of, A; None where none does."""
        spreads = self.workshop.catalogue.spreads
        told = [
            read_charge(charge, step.minutes, spreads).charge_ah * 60 / step.minutes
            for entry in entries
            if isinstance(entry, Run)
            for step in entry.steps
            if step.minutes
            for charge in (step.charge, *(b.charge for b in step.branches))
            if charge is not None
        ]
        return max(told, default=0.0) or None

    def _raws(
        self,
        name: str,
        digest: str,
        reading: TraceReading,
        attached: Attached,
        answers: Answers,
        wanted: Wanted,
        used: list[TraceSource],
        at: datetime,
    ) -> tuple[tuple[dict[str, Any], ...], list[str]]:
        raws: list[dict[str, Any]] = []
        doubts: list[str] = []
        if reading.charge_ah is not None:
            raws.append(attached.raw(trace_of(reading, name, digest), reading, name, at))
            doubts += self.workshop.doubts_about(raws[-1])
        tank = attached.tank
        if tank is not None:
            for middle in reading.middles:
                raw = self._reading(middle, tank, name, digest, attached.spot, at)
                if repeated_readings(self.workshop.entries(tank=tank), raw):
                    doubts.append(f"{middle.quantity} of the same time and value is in the book already and is left out")
                    continue
                doubts += self.workshop.doubts_about(raw)
                raws.append(raw)
        learned = self._learned(reading, answers, wanted, name, used)
        if learned is not None and raws:
            raws.append(
                {
                    "kind": "definition",
                    "at": at,
                    "of": "trace source",
                    "name": f"logger {learned['header'][:8]}",
                    "body": learned,
                }
            )
        return tuple(raws), doubts

    def _reading(self, middle: Middle, tank: str, name: str, digest: str, spot: Spot | None, at: datetime) -> dict[str, Any]:
        """One quantity's median as a reading; its spread is stated where the scatter is wider than the method's own."""
        method = self.workshop.catalogue.method(METHODS[middle.quantity])
        usual = max(method.absolute, method.relative * abs(middle.median))
        scatter = 1.96 * middle.deviation
        value: dict[str, Any] = {
            "of": middle.quantity,
            "value": float(f"{middle.median:.5g}"),
            "unit": UNITS[middle.quantity],
            "method": METHODS[middle.quantity],
        }
        if scatter > usual:
            value["spread"] = float(f"{scatter:.3g}")
        when = middle.end or (spot.run.at if spot is not None else at)
        count = f"median of {middle.samples} samples" if middle.samples > 1 else "one sample"
        return {
            "kind": "reading",
            "at": when,
            "tank": tank,
            "values": [value],
            "note": f"logger, {count}, from {name} (sha256 {digest})",
        }

    def _learned(
        self, reading: TraceReading, answers: Answers, wanted: Wanted, name: str, used: list[TraceSource]
    ) -> dict[str, Any] | None:
        """What was answered this time about the logger itself, over what was remembered; None where nothing is new."""
        header = reading.layout.fingerprint
        if not header:
            return None
        before = used[0] if used else TraceSource(header=header)
        body = {
            "header": header,
            "columns": {**before.columns, **answers.columns},
            "units": {**before.units, **answers.units},
            "date_order": answers.date_order or before.date_order,
            "decimal": answers.decimal or before.decimal,
            "zone": wanted.zone or before.zone,
            "signs": answers.signs or before.signs,
            "between": answers.between or before.between,
            "counter": answers.counter or before.counter,
            "file": before.file or name[:200],
        }
        told = {k: v for k, v in body.items() if v}
        same = TraceSource(**{**told, "file": before.file}) == before  # type: ignore[arg-type]
        return None if same else told


def answers_of(source: TraceSource) -> Answers:
    """What is remembered, as if it had been said again."""
    return Answers(
        columns=dict(source.columns),
        units=dict(source.units),
        date_order=source.date_order,
        decimal=source.decimal,
        zone=zone_named(source.zone) if source.zone is not None else None,
        signs=source.signs,
        between=source.between,
        counter=source.counter,
    )


def trace_of(reading: TraceReading, name: str, digest: str) -> dict[str, Any]:
    """A reading's charge as an entry keeps it."""
    assert reading.charge_ah is not None
    told: Mapping[str, Any] = {
        "file": name,
        "sha256": digest,
        "charge_ah": float(f"{reading.charge_ah:.7g}"),
        "gap_minutes": float(f"{reading.gap_minutes:.5g}"),
        "gap_charge_ah": float(f"{reading.gap_charge_ah:.5g}"),
        "start": reading.start.isoformat() if reading.start is not None else None,
        "minutes": float(f"{reading.minutes:.7g}"),
        "points": [list(p) for p in reading.points],
    }
    return {k: v for k, v in told.items() if v not in (None, [])}


def file_name(path: Path) -> str:
    """The file's own name, fit to stand in an entry."""
    return "".join(c if c.isprintable() else "_" for c in Path(path).name)[:200] or "trace"


__all__ = ["Choice", "Proposal", "TraceIntake", "Wanted", "answers_of"]
