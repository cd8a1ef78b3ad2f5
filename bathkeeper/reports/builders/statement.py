"""The content statement of one container: a page for the council or a contractor that says what it is."""

from __future__ import annotations

import re
from dataclasses import dataclass

from bathkeeper.entries import AnyEntry, Container, Unknown, containers_of
from bathkeeper.findings import Estimate
from bathkeeper.ledger import Held, Ledger
from bathkeeper.reports.builders.ground import Ground, corrections, report
from bathkeeper.reports.builders.waste_words import (
    candidate_words,
    origins_words,
    plain_kinds,
    producer_line,
    with_mark,
)
from bathkeeper.reports.model import Caution, Cell, Column, Fact, Facts, Paragraph, Piece, Report, SignatureLine, Table
from bathkeeper.reports.pdf import pdf
from bathkeeper.units.numerals import figures
from bathkeeper.waste.composition import composition
from bathkeeper.waste.picking import ask_first
from bathkeeper.waste.stream import Stream

TOO_LONG = "This statement takes more than one page: it holds more than one page can bear. Hand over all of its pages."
TRACE_PERCENT = 0.001
"""% w/w below which a component is told by its name alone."""


@dataclass(frozen=True)
class _Size:
    """How much is told: components in the table, hazard reasons, tanks of origin, how long a reason may be, signatures."""

    components: int
    properties: int
    origins: int
    reason: int
    signatures: int


SIGNED = ("Stated by, to the best of their knowledge", "Looked at by (council or contractor)")
SIZES = (
    _Size(14, 8, 6, 4000, 2), _Size(14, 8, 6, 400, 2), _Size(14, 8, 6, 4000, 1), _Size(10, 5, 4, 400, 1),
    _Size(10, 5, 4, 220, 1), _Size(8, 4, 4, 140, 1), _Size(6, 2, 2, 110, 1),
)  # fmt: skip
"""From all that there is to what fits a page; what was left out is named."""


def statement(ground: Ground, container: str) -> Report:
    """The statement of a container, on one A4 page wherever that is possible. Raises NotFound."""
    ledger = Ledger(ground.workshop)
    held, stream = ledger.container(container, ground.at), ledger.stream(container, ground.at)
    made = _made(ground, ledger, held, stream, SIZES[0], ())
    for size in SIZES:
        made = _made(ground, ledger, held, stream, size, ())
        if pages(pdf(made)) == 1:
            return made
    return _made(ground, ledger, held, stream, SIZES[0], (TOO_LONG,))


def pages(document: bytes) -> int:
    """Pages of a PDF that was made here."""
    return document.count(b"/Type /Page\n")


def _made(
    ground: Ground, ledger: Ledger, held: Held, stream: Stream, size: _Size, notes: tuple[str, ...]
) -> Report:  # fmt: skip
    rules = ledger.rules()
    pieces: list[Piece] = [
        *(Paragraph(note) for note in notes),
        _facts(ground, held, size),
        _components(ground, held, stream, size),
        *_hazards(held, size),
        _apart(ledger, held, ground),
        *corrections(ground, lambda entry: _about(entry, held)),
        Caution(ask_first(rules)),
        Paragraph(
            "To the council or contractor: Do you take it, and under which code? How much at a time? How is it to be packed "
            "and labelled? Do you need an analysis first? What does it cost?"
        ),
        *([] if held.empty else [SignatureLine(role) for role in SIGNED[: size.signatures]]),
    ]
    return report(
        ground, f"Content statement: {held.container}", pieces, of_period=False
    )  # fmt: skip


def _facts(ground: Ground, held: Held, size: _Size) -> Facts:
    storage = held.storage
    stood = f"stands {storage.stood_days:.0f} days" if storage.stood_days is not None else "not known since when"
    limit = f" of {figures(storage.limit_days)}" if storage.limit_days is not None else ""
    if storage.counted_from is not None and storage.counted_from != held.since:
        day = f"{storage.counted_from.astimezone():%Y-%m-%d}"
        limit = f"; limit {figures(storage.limit_days)} days from {day} on" if storage.limit_days is not None else ""
    size_told = ground.text(held.size_l, "L") if held.size_l else ""
    box = ", ".join(w for w in (held.form, size_told, f"at {held.place}" if held.place else "") if w)
    checked = [f"{c.point} {c.answer}" for c in held.checks]
    pairs = [
        Fact("Producer", producer_line(ground)),
        Fact("What it is", plain_kinds(held.kinds)),
        Fact("Where it came from", origins_words(ground, held, size.origins) or "–"),
        Fact("Why it became waste", _cut("; ".join(held.why), size.reason) or "not told"),
        *_amounts(ground, held),
        *([Fact("Treated with", _cut("; ".join(held.treated), size.reason))] if held.treated else []),
        Fact("Physical form, colour", _looks(held)),
        _ph(ground, held),
        Fact("First of it came", f"{held.since.astimezone():%Y-%m-%d}; {stood}{limit}" if held.since is not None else stood),
        Fact("Container", f"{box or 'not told'}; looked over: {', '.join(checked)}"),
        Fact("Codes to ask about", candidate_words(held.candidates)),
        Fact("On the label", ", ".join((*held.codes, *held.hazards)) or "no codes yet"),
    ]
    return Facts(tuple(pairs))


def _looks(held: Held) -> str:
    """As told; what holds litres and no solids is a liquid by the entries."""
    liquid = "liquid, by the entries" if held.volume_l is not None and held.solids_kg <= 0 else "form not told"
    return f"{held.physical_form or liquid}; {held.colour or 'colour not told'}"


def _amounts(ground: Ground, held: Held) -> list[Fact]:
    found = []
    if held.volume_l is not None:
        found.append(ground.fact("Liquid, estimated", held.volume_l, "L"))
    if held.mass_kg is not None:
        how = "as stated" if held.volume_l is None else "estimated"
        found.append(ground.fact(f"Weight, {how}", held.mass_kg, "kg"))
    if held.pieces:
        found.append(Fact("Empty packaging", held.pieces, "pieces"))
    return found or [Fact("Amount", "nothing in it by the entries" if held.empty else "not known: weigh it")]


def _ph(ground: Ground, held: Held) -> Fact:
    if held.ph is None:
        return Fact("pH", "not tested" if held.volume_l is not None else "not tested (solid)")
    tests = [
        e for e in ground.entries
        if isinstance(e, Container) and e.container == held.container and any(v.of.casefold() == "ph" for v in e.values)
    ]  # fmt: skip
    when = f", {tests[-1].at.astimezone():%Y-%m-%d}" if tests else ""
    half = held.ph.spread
    low, high = figures(held.ph.low, half), figures(held.ph.high, half)
    return Fact("pH, tested", f"{figures(held.ph.value, half)} ({low} to {high}){when}")


def _components(ground: Ground, held: Held, stream: Stream, size: _Size) -> Table:
    rows: list[tuple[float, tuple[Cell, ...]]] = []
    small: list[str] = []
    for name, content in held.contents.items():
        percent = _percent(stream, name)
        weight = percent.value if percent is not None else content.value / 10
        if content.high <= 0 or (percent is not None and percent.high < TRACE_PERCENT):
            small.append(name)
            continue
        species = stream.species.get(name)
        counted = species.formula if species is not None else ""
        rows.append((weight, (name, counted, ground.estimate(content), content_unit(ground, content), percent)))
    rows.sort(key=lambda r: -r[0])
    small = [str(row[0]) for _, row in rows[size.components:]] + small
    captions = []
    if small:
        captions.append(f"Small amounts or traces, by estimate: {', '.join(small)}.")
    if not held.complete:
        captions.append("Something unknown went in as well, so this list is not the whole of it: have it analysed.")
    if rows:
        captions.append("The rest is water and what the recipes do not count. By estimate from the logbook, no analysis.")
    empty = "Nothing is known of its components in numbers." if not held.empty else "It is empty by the entries."
    return Table(
        name="components",
        title="Components",
        columns=(
            Column("component", "Component"),
            Column("as", "Counted as"),
            Column("content", "Content", kind="estimate"),
            Column("unit", "Unit"),
            Column("percent", "By weight", "%", "estimate"),
        ),
        rows=tuple(row for _, row in rows[: size.components]),
        caption=" ".join(captions),
        empty=empty,
    )


def content_unit(ground: Ground, content: Estimate) -> str:
    """The unit of a content in this report."""
    return ground.unit(content.unit)


def _percent(stream: Stream, name: str) -> Estimate | None:
    """Percent by weight of a component that is counted in grams; the range is the amount's over the middle weight."""
    amount, mass = stream.amounts[name], composition(stream).mass_kg
    if amount.unit != "g" or mass is None or mass.value <= 1e-9:
        return None
    share = 100.0 / (mass.value * 1000.0)
    value, low, high = (min(v * share, 100.0) for v in (amount.value, amount.low, amount.high))
    return Estimate(value, low, high, "%")


def _hazards(held: Held, size: _Size) -> list[Piece]:
    if held.empty:
        return []
    if not held.properties:
        return [Paragraph("Hazards: by the rules of this place a contractor reckons them from components and pH.")]
    lines = [
        f"{' '.join(w for w in (p.hp, p.title) if w)} ({p.verdict}): {with_mark(_cut(p.why, size.reason), p.status)}"
        for p in held.properties[: size.properties]
    ]
    more = len(held.properties) - len(lines)
    if more > 0:
        lines.append(f"And {more} more: see `bathkeeper waste`.")
    return [Paragraph("Hazardous properties that come into question, by arithmetic, for an assessment:\n" + "\n".join(lines))]


def _cut(text: str, most: int) -> str:
    """The text as far as there is room for it, up to the end of a clause: half a reason is none."""
    if len(text) <= most:
        return text
    ends = [m.start() for m in re.finditer(r"[;:.](?= )", text[:most])]
    return f"{text[: ends[-1]]}; more in `bathkeeper waste plan`" if ends else f"{text[: most - 1].rsplit(' ', 1)[0]} …"


def _apart(ledger: Ledger, held: Held, ground: Ground) -> Paragraph:
    found: dict[str, str] = {}
    for k in ledger.keep_apart(ground.at):
        if held.container in (k.a, k.b) and k.verdict == "never":
            found.setdefault(k.b if k.a == held.container else k.a, k.gives)
    told = "; ".join(f"{name} ({gives})" for name, gives in found.items())
    return Paragraph(f"Must not touch: {told}. Keep it apart from everything else too." if told else
                     "Keep it apart from everything else: mixing waste is asked about first.")  # fmt: skip


def _about(entry: AnyEntry | Unknown, held: Held) -> bool:
    return held.container in containers_of(entry) or entry.id in held.entries
