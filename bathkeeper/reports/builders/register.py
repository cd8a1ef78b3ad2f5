"""The waste register of a period: what stood there, what came, every move of it, where it went, and what nobody can explain."""

from __future__ import annotations

from datetime import datetime

from bathkeeper.accounts.litres import Arose, Litres, between, litres
from bathkeeper.entries import AnyEntry, Container, Removal, Unknown
from bathkeeper.estimate.containers import ContainerState
from bathkeeper.estimate.state import Z95, TankState
from bathkeeper.estimate.world import World
from bathkeeper.findings import Estimate
from bathkeeper.headlines import item_words, value_words
from bathkeeper.ledger import HandOver, Held, Ledger, WasteStatus
from bathkeeper.ledger.record import looks_said
from bathkeeper.reports.builders.ground import Ground, corrections, report
from bathkeeper.reports.builders.metals_account import metals_tables
from bathkeeper.reports.builders.moves import Move, moves
from bathkeeper.reports.builders.waste_words import candidate_words, grams_words, plain_kinds, producer
from bathkeeper.reports.model import Caution, Cell, Column, Fact, Facts, Heading, Paragraph, Piece, Report, SignatureLine, Table
from bathkeeper.waste.saying import notes_said, way_said

CAME = {
    "into_tanks_l": "put into tanks: make-ups, additions, clean water on parts",
    "into_containers_l": "put into containers from elsewhere, and with treatments",
    "run_through_l": "rinse water run through",
}
WENT = {
    "evaporated_l": "evaporated, by estimate",
    "on_parts_l": "left on dried parts",
    "run_off_l": "run off with rinse water",
    "handed_over_l": "handed over",
    "to_sewer_l": "to the sewer, by the consent named in each entry",
    "samples_l": "taken as samples",
    "lost_l": "spilt",
    "not_said_l": "taken out without saying where to",
    "other_l": "moved by wear terms of the keeper's own",
}
WASTE_KINDS = ("container", "removal", "make_up", "addition", "treatment", "reading", "run")
"""Kinds of entries whose corrections touch the account."""


def register(ground: Ground) -> Report:
    """The waste register of the ground's period."""
    ledger = Ledger(ground.workshop)
    status = ledger.status(ground.at)
    before = ground.workshop.at(ground.since) if ground.since is not None else None
    after = ground.world
    account = litres(after) if before is None else between(litres(before), litres(after))
    made = moves(ground)
    pieces: list[Piece] = [
        Caution(status.ask_first),
        producer(ground, ledger, Fact("Rules picked", status.rule_set_chosen or "not told")),
        Heading("Litres"),
        Paragraph(
            "What stood in the tanks and containers or came in during the period stands on the left, what it became on the "
            "right; both sides add up to the same. Figures are estimates from the logbook unless they were read."
        ),
        _litres(ground, account, before),
        *_unaccounted(ground, account),
        _vessels(ground, before, after),
        Heading("Metals"),
        *metals_tables(ground, before, after),
        Heading("Every move of waste"),
        _moves(ground, made),
        Heading("Containers at the end"),
        _ages(ground, status),
        Heading("Handed over"),
        _hand_overs(ground, status),
        Heading("Looked over"),
        _checks(ground),
    ]
    mended = list(corrections(ground, _touches))
    pieces.append(Heading("Corrections"))
    if mended:
        pieces += [Paragraph("Entries that were mended: as they were logged, struck through, and as they stand now."), *mended]
    else:
        pieces.append(Paragraph("No entry of the period was corrected or withdrawn."))
    pieces.append(SignatureLine("Register looked over by"))
    notes = (
        "Ranges are 95 % intervals. A weighed amount stands as the scale told it.",
        "Codes are candidates to ask about, not a classification; the contractor or the authority decides.",
    )
    return report(
        ground, "Waste register", pieces, rule_set=f"{status.rule_set_title}; {status.rule_set_date}", notes=notes,
        subtitle="Solutions, rinse waters and solids of the line",
    )  # fmt: skip


# -- litres ------------------------------------------------------------------------------------------------------------


def _litres(ground: Ground, account: Litres, before: World | None) -> Table:
    opening_tanks = sum(t.volume_l for t in before.tanks.values()) if before is not None else 0.0
    opening_containers = sum(c.volume_l for c in before.containers.values()) if before is not None else 0.0
    came: dict[str, float] = {"stood in tanks at the beginning": opening_tanks}
    came["stood in containers at the beginning"] = opening_containers
    came |= {text: getattr(account, name) for name, text in CAME.items()}
    went: dict[str, float] = {"stands in tanks at the end": opening_tanks + account.in_tanks_l}
    went["stands in containers at the end"] = opening_containers + account.in_containers_l
    went |= {text: value for name, text in WENT.items() if abs(value := getattr(account, name)) > 1e-9 or name in KEPT}
    went["unaccounted for (below zero: more than the entries tell)"] = account.unaccounted_l.value
    rows: list[tuple[Cell, ...]] = [(text, ground.number(value, "L"), None) for text, value in came.items()]
    rows += [(text, None, ground.number(value, "L")) for text, value in went.items()]
    total = (ground.number(sum(came.values()), "L"), ground.number(sum(went.values()), "L"))
    return Table(
        name="litres",
        title="Account of the liquid",
        columns=(
            Column("line", "Line"),
            ground.column("came", "There and came in", "L", decimals=1),
            ground.column("went", "What it became", "L", decimals=1),
        ),
        rows=tuple(rows),
        total=("Total", *total),
        caption="Lines are rounded for themselves, so the last figure of a total may differ by one from what they add up to.",
    )


KEPT = ("evaporated_l", "handed_over_l", "lost_l", "to_sewer_l")
"""Lines that are told even when nothing went there."""


def _unaccounted(ground: Ground, account: Litres) -> list[Piece]:
    total = account.unaccounted_l
    clear = total.low > 0 or total.high < 0
    word = "more than the spread of the estimate explains" if clear else "no more than the spread of the estimate"
    rows = tuple(
        (
            a.vessel,
            ground.estimate(a.litres),
            _found(ground, a),
        )
        for a in account.arose
        if abs(a.litres.value) >= 0.05
    )
    return [
        Facts((ground.fact("Unaccounted for", total, "L"), Fact("That is", word))),
        Table(
            name="unaccounted",
            title="Where it arose",
            columns=(
                Column("vessel", "Tank or container"),
                ground.column("litres", "Unaccounted", "L", "estimate"),
                Column("found", "Found by readings of (entry)"),
            ),
            rows=rows,
            caption="A leak, a missed entry or a misread mark look alike here: look at the vessel and its readings. "
            "Below zero there is more than the entries tell.",
            empty="Nothing in any vessel that comes to 0.05 L.",
        ),
    ]


def _found(ground: Ground, arose: Arose) -> str:
    """The readings of the period that found the most of it."""
    found = sorted((f for f in arose.found if ground.within(f.at)), key=lambda f: -abs(f.litres))
    told = [f"{f.at.astimezone():%Y-%m-%d} {ground.text(f.litres, 'L', 0.1)} ({ground.id(f.entry)})" for f in found[:4]]
    return ", ".join(told) or "no single reading"


def _vessels(ground: Ground, before: World | None, after: World) -> Table:
    rows: list[tuple[Cell, ...]] = []
    for name, state in after.tanks.items():
        if state.entry.role == "dry":
            continue
        earlier = before.tanks.get(name) if before is not None else None
        made = sum(1 for moment in _make_ups(state) if ground.within(moment))
        rows.append((name, f"tank: {state.entry.role}", _volume(ground, earlier), _volume(ground, state), made, None))
    for name, held in after.containers.items():
        was = before.containers.get(name) if before is not None else None
        kinds = plain_kinds(dict.fromkeys(f.what for f in held.fills)) if held.fills else "empty"
        solids = Estimate(held.solids_kg, *_ends(held.solids_kg, held.gauss.variance("solids")), "kg")
        rows.append((
            name, f"container: {kinds}",
            ground.estimate(_held(was)), ground.estimate(_held(held)), None,
            ground.estimate(solids) if solids.value else None,
        ))
    return Table(
        name="vessels",
        title="Tanks and containers at the beginning and at the end",
        columns=(
            Column("vessel", "Name"),
            Column("what", "What"),
            ground.column("opening", "At the beginning", "L", "estimate"),
            ground.column("closing", "At the end", "L", "estimate"),
            Column("made_up", "Made up anew", "times", "number", decimals=0),
            ground.column("solids", "Solids at the end", "kg", "estimate"),
        ),
        rows=tuple(rows),
        empty="No tanks and no containers are on record.",
    )


def _make_ups(state: TankState) -> list[datetime]:
    return [*(life.start for life in state.lives), *([state.made_up] if state.made_up is not None else [])]


def _volume(ground: Ground, state: TankState | None) -> Estimate | None:
    if state is None or not state.alive:
        return ground.estimate(_litres_of(0.0, 0.0))
    return ground.estimate(_litres_of(state.volume_l, state.gauss.variance("volume")))


def _held(state: ContainerState | None) -> Estimate:
    return _litres_of(state.volume_l, state.gauss.variance("volume")) if state is not None else _litres_of(0.0, 0.0)


def _litres_of(value: float, variance: float) -> Estimate:
    return Estimate(value, *_ends(value, variance), "L")


def _ends(value: float, variance: float) -> tuple[float, float]:
    half = Z95 * max(variance, 0.0) ** 0.5
    return max(value - half, 0.0), value + half


# -- moves, checks, ages, hand-overs -----------------------------------------------------------------------------------


def _moves(ground: Ground, made: list[Move]) -> Table:
    rows = tuple(
        (
            m.entry.at,
            ground.id(m.entry.id),
            m.what,
            m.source or "–",
            m.to or "–",
            ground.estimate(m.litres),
            ground.estimate(m.kg),
            "; ".join(w for w in (grams_words(ground, m.grams), _said(ground, m)) if w),
        )
        for m in made
    )
    return Table(
        name="moves",
        title="Fills, moves, tests, treatments and hand-overs in their order",
        columns=(
            Column("at", "When", kind="moment"),
            Column("entry", "Entry"),
            Column("what", "What"),
            Column("from", "From"),
            Column("to", "To"),
            ground.column("litres", "Liquid", "L", "estimate"),
            ground.column("kg", "Weight", "kg", "estimate"),
            Column("said", "Metals in it; what the entry says"),
        ),
        rows=rows,
        empty="Nothing was done with waste in this period.",
    )


def _said(ground: Ground, move: Move) -> str:
    """What the entry itself says beside amounts and places."""
    entry = move.entry
    if not isinstance(entry, Container):
        why = entry.why or "" if isinstance(entry, Removal) else ""
        return ", ".join(w for w in (why, entry.note or "") if w)
    told = [
        "weighed" if move.weighed else "",
        ", ".join(w for w in (entry.what, entry.form, entry.place, entry.treatment) if w),
        looks_said(entry.physical_form, entry.colour),
        entry.why or "",
        f"{entry.pieces} pieces" if entry.pieces is not None else "",
        value_words(entry.values, ground.prefs),
        f"by {entry.by_lab}" if entry.by_lab else "",
        item_words(entry.items, ground.prefs),
        f"codes {', '.join(entry.codes)}" if entry.codes else "",
        f"hazards {', '.join(entry.hazards)}" if entry.hazards else "",
        f"consent {entry.consent}" if entry.consent else "",
        f"reference {entry.reference}" if entry.reference else "",
        f"receipt {entry.receipt}" if entry.receipt else "",
        f"refused: {entry.papers.refused}" if entry.papers is not None and entry.papers.refused else "",
        entry.note or "",
    ]
    return ", ".join(w for w in told if w)


def _checks(ground: Ground) -> Table:
    looked: dict[str, list[Container]] = {}
    for entry in ground.entries:
        if isinstance(entry, Container) and entry.action == "checked" and ground.within(entry.at):
            looked.setdefault(entry.container, []).append(entry)
    rows = []
    for name, found in looked.items():
        bad = [
            f"{point} not in order {e.at.astimezone():%Y-%m-%d}"
            for e in found
            for point in ("lid", "label", "tray", "sound")
            if getattr(e, point) is False
        ]
        rows.append((name, len(found), found[0].at, found[-1].at, "; ".join(bad) or "nothing"))
    return Table(
        name="checks",
        title="Containers looked over",
        columns=(
            Column("container", "Container"),
            Column("times", "Times", kind="number", decimals=0),
            Column("first", "First", kind="moment"),
            Column("last", "Last", kind="moment"),
            Column("wanting", "Found wanting"),
        ),
        rows=tuple(rows),
        empty="No container was looked over in this period.",
    )


def _counted(held: Held) -> list[str]:
    """From when the limit counts, where that is not the container's own first day."""
    start = held.storage.counted_from
    return [f"limit counts from {start.astimezone():%Y-%m-%d}"] if start is not None and start != held.since else []


def _ages(ground: Ground, status: WasteStatus) -> Table:
    rows = []
    for held in status.containers:
        if held.empty:
            continue
        rows.append((
            held.container,
            plain_kinds(held.kinds) + _ways(held),
            ", ".join(w for w in (held.form, held.place) if w) or "not told",
            held.since,
            held.storage.stood_days,
            held.storage.limit_days,
            held.storage_days_left,
            candidate_words(held.candidates),
            ", ".join(held.codes) or "none",
            "; ".join((*_counted(held), *(["something unknown went in"] if not held.complete else []))),
        ))
    texts = dict.fromkeys(h.storage.told for h in status.containers if not h.empty)
    text = ". ".join(t for t in texts if t)
    return Table(
        name="ages",
        title="How long each has stood, and which codes come into question",
        columns=(
            Column("container", "Container"),
            Column("what", "What"),
            Column("form", "Form and place"),
            Column("since", "First of it came", kind="moment"),
            Column("days", "Stood", "d", "number", decimals=0),
            Column("limit", "Limit", "d", "number", decimals=0),
            Column("left", "Left", "d", "number", decimals=0),
            Column("candidates", "Codes that come into question"),
            Column("codes", "Codes on the label"),
            Column("doubt", "Doubt"),
        ),
        rows=tuple(rows),
        caption=f"Limit of time: {text}." if text else "",
        empty="All containers are empty, or there are none.",
    )


def _ways(held: Held) -> str:
    """The containers that some of it went through, and what is noted of it."""
    ways = list(dict.fromkeys(w for o in held.origins if (w := way_said(o))))
    noted = notes_said(held.origins)
    return "".join(f"; {w}" for w in (*ways, f"noted: {noted}" if noted else "") if w)


def _hand_overs(ground: Ground, status: WasteStatus) -> Table:
    rows = tuple(
        (
            h.at,
            ground.id(h.entry),
            h.container,
            h.to,
            ground.estimate(h.litres),
            ground.number(h.mass_kg, "kg"),
            "weighed" if h.weighed else "estimated",
            grams_words(ground, h.amounts) or "–",
            ", ".join(h.codes) or "none",
            h.reference or "none",
            _receipt(h),
            h.receipt_at,
            _particulars(h),
        )
        for h in status.handed_over
        if ground.within(h.at)
    )
    papers = [k for h in status.handed_over for k in h.retention]
    kept = dict.fromkeys(k.text + (f": {k.paper.name}" if k.paper.name else "") for k in papers)
    return Table(
        name="handed_over",
        title="Each hand-over with its papers",
        columns=(
            Column("at", "When", kind="moment"),
            Column("entry", "Entry"),
            Column("container", "Container"),
            Column("to", "To whom"),
            ground.column("litres", "Liquid", "L", "estimate"),
            ground.column("kg", "Weight", "kg", decimals=1),
            Column("how", "Weight is"),
            Column("metals", "Metals in it"),
            Column("codes", "Codes"),
            Column("reference", "Reference"),
            Column("receipt", "Receipt"),
            Column("receipt_at", "Receipt came", kind="moment"),
            Column("papers", "Particulars"),
        ),
        rows=rows,
        caption="Papers: " + "; ".join(list(kept)[:4]) + "." if kept and rows else "",
        empty="Nothing was handed over in this period.",
    )


def _particulars(h: HandOver) -> str:
    """Why it became waste, how it looked, and what its papers say; a dash where nothing was told."""
    why, looks = "; ".join(h.why), looks_said(h.physical_form, h.colour)
    told = [f"why it became waste: {why}" if why else "", f"form and colour: {looks}" if looks else ""]
    told += _doubt(h)
    told += [f"{name.replace('_', ' ')}: {_yes(value)}" for name, value in h.papers.items()]
    return "; ".join(t for t in told if t) or "–"


def _receipt(handed: HandOver) -> str:
    """Its receipt, or why there is none to wait for."""
    if handed.refused is not None:
        when = f" {handed.refused_at.astimezone():%Y-%m-%d}" if handed.refused_at is not None else ""
        return f"refused{when}: {handed.refused}; not handed over"
    return handed.receipt or "not come"


def _doubt(handed: HandOver) -> list[str]:
    return [] if handed.on_record else ["what went in is not on record"]


def _yes(value: str | bool) -> str:
    return value if isinstance(value, str) else "yes" if value else "no"


def _touches(entry: AnyEntry | Unknown) -> bool:
    return entry.kind in WASTE_KINDS
