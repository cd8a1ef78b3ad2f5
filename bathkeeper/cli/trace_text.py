"""A logger's file as it was understood: first rows, columns, units, order of its dates, charge, gaps, doubts, questions."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from bathkeeper.cli.advice_text import headed, paragraphs
from bathkeeper.cli.plain import clean
from bathkeeper.cli.tables import Cell, Column, styled, table
from bathkeeper.headlines import SHORT_ID
from bathkeeper.showing import shown, shown_moment
from bathkeeper.traces.asking import UNITS
from bathkeeper.traces.cells import TITLES
from bathkeeper.traces.reading import ORDER_WORDS
from bathkeeper.units.numerals import figures

if TYPE_CHECKING:
    from bathkeeper.bench.intake import Proposal
    from bathkeeper.entries import AnyEntry
    from bathkeeper.traces.reading import TraceReading
    from bathkeeper.units.numerals import Preferences

FIRST_ROWS = 3
MOST_COLUMNS = 8


def proposal_text(proposal: Proposal, prefs: Preferences) -> list[str]:
    """The guess as lines for a terminal."""
    reading = proposal.reading
    layout = reading.layout
    lines = [styled(clean(proposal.file, lines=False), "head")]
    kind = f"{layout.encoding.title}, {TITLES[layout.table.delimiter]}, decimal {'comma' if layout.decimal == ',' else 'point'}"
    if reading.order is not None:
        kind += f", dates {ORDER_WORDS[reading.order]}"
    if proposal.remembered:
        kind += "; this logger is known"
    lines += paragraphs([kind])
    lines += _rows(reading)
    lines += paragraphs(_columns(reading), 2)
    lines += paragraphs(_sums(reading, prefs))
    lines += paragraphs(_target(proposal))
    lines += paragraphs(f"Doubt: {d}" for d in proposal.doubts)
    for question in proposal.questions:
        lines += paragraphs([f"Question: {question.text}"])
        lines += paragraphs((f"{n}. {c.label}: {c.option}" for n, c in enumerate(question.choices, 1)), 2)
        if question.example:
            lines += paragraphs([f"{'or ' if question.choices else ''}write, for example: {question.example}"], 2)
    return lines


def _rows(reading: TraceReading) -> list[str]:
    """The first rows as they were split."""
    found = reading.layout.table
    width = min(found.width, MOST_COLUMNS)
    used = {s.index: s.quantity for s in reading.layout.sources.values()}
    timing = reading.layout.timing
    used |= dict.fromkeys(timing.columns if timing is not None else (), "time")
    columns = [Column(f"{j + 1} {used.get(j, '')}".rstrip(), wraps=True) for j in range(width)]
    rows: list[Sequence[Cell | str]] = [
        [clean(c[:40], lines=False) for c in (*row, *("",) * width)][:width] for row in found.rows[:FIRST_ROWS]
    ]
    return table(columns, rows) if rows else []


def _columns(reading: TraceReading) -> list[str]:
    layout = reading.layout
    said = [f"time: column {layout.timing.title}, counts {_counts(reading)}"] if layout.timing is not None else []
    said += [f"{s.quantity}: column {s.title}, in {s.unit}" for s in layout.sources.values()]
    return said


def _counts(reading: TraceReading) -> str:
    timing = reading.layout.timing
    assert timing is not None
    said = {"moment": "moments", "time of day": "the time of day", "elapsed": "from its own start"}[timing.counts]
    return f"{said}; the day is from {timing.start_from}" if timing.start_from and reading.start is not None else said


def _sums(reading: TraceReading, prefs: Preferences) -> list[str]:
    said = []
    if reading.start is not None and reading.end is not None:
        offset = reading.start.strftime("%z")
        told = reading.layout.offset
        by = f", told by {told.where}" if told.where and reading.zone == told.zone else ""
        span = f"{reading.start:%Y-%m-%d %H:%M} to {reading.end:%Y-%m-%d %H:%M}"  # as the file's clock has it
        said.append(f"{span} (UTC{offset[:3]}:{offset[3:5]}{by})")
    if reading.rows:
        said.append(f"{reading.rows} rows over {figures(reading.minutes)} min")
    if reading.charge_ah is not None:
        said.append(f"{shown(reading.charge_ah, 'Ah', prefs)} in {figures(reading.on_minutes)} min, short pauses included")
        if reading.gap_count:
            said[-1] += (
                f"; gaps of {figures(reading.gap_minutes)} min are left out, bridged they would add "
                f"{shown(reading.gap_charge_ah, 'Ah', prefs)}"
            )
    for middle in reading.middles[:20]:
        value = shown(middle.median, UNITS[middle.quantity], prefs)
        said.append(
            f"{middle.quantity} {value}, the median of {middle.samples} samples, scatter {figures(1.96 * middle.deviation)}"
        )
    return said


def _target(proposal: Proposal) -> list[str]:
    attached = proposal.attached
    if proposal.questions or not proposal.raws:
        return []
    said = []
    for raw in proposal.raws:
        if raw["kind"] == "correction":
            run = attached.spot.run if attached.spot is not None else None
            when = f" of {shown_moment(run.at)}" if run is not None else ""
            said.append(f"Becomes the charge of run {raw['corrects'][-SHORT_ID:]}{when} in {attached.tank}")
        elif raw["kind"] == "run":
            said.append(f"Becomes a new run in {attached.tank}")
        elif raw["kind"] == "reading":
            value = raw["values"][0]
            said.append(f"Becomes a reading of {attached.tank}: {value['of']} {value['value']:g} {value['unit']}")
        else:
            said.append("What was answered is kept for the next file of this logger")
    return said


def proposal_plain(proposal: Proposal, *, booked: bool, dry_run: bool, entries: Sequence[AnyEntry]) -> dict[str, Any]:
    """The same as JSON."""
    r = proposal.reading
    layout = r.layout
    return {
        "file": proposal.file, "sha256": proposal.sha256, "encoding": layout.encoding.name,
        "delimiter": TITLES[layout.table.delimiter], "decimal": layout.decimal, "date_order": r.order,
        "remembered": proposal.remembered,
        "columns": {s.quantity: {"column": s.index + 1, "unit": s.unit} for s in layout.sources.values()},
        "time": {"columns": [c + 1 for c in layout.timing.columns], "counts": layout.timing.counts} if layout.timing else None,
        "first_rows": [list(row) for row in layout.table.rows[:FIRST_ROWS]],
        "rows": r.rows, "start": r.start, "end": r.end, "minutes": r.minutes, "on_minutes": r.on_minutes,
        "charge_ah": r.charge_ah, "gap_minutes": r.gap_minutes, "gap_charge_ah": r.gap_charge_ah, "gap_bound_s": r.gap_bound_s,
        "stretches": [{"minutes": (s.end_s - s.start_s) / 60, "charge_ah": s.charge_ah} for s in r.stretches],
        "middles": [{"of": m.quantity, "value": m.median, "unit": UNITS[m.quantity], "deviation": m.deviation,
                     "samples": m.samples, "start": m.start, "end": m.end} for m in r.middles],
        "questions": [{"about": q.about, "text": q.text, "choices": [{"label": c.label, "option": c.option} for c in q.choices],
                       "example": q.example} for q in proposal.questions],
        "doubts": list(proposal.doubts), "entries": list(entries) if booked else list(proposal.raws), "booked": booked,
        "dry_run": dry_run,
    }  # fmt: skip


__all__ = ["headed", "proposal_plain", "proposal_text"]
