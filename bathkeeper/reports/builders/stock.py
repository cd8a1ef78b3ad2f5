"""Stock and cost over a period: what is on the shelf, in which lots, what runs out when, what was spent, what waste left."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import timedelta

from bathkeeper.accounts.shelf import Shelf
from bathkeeper.counsel import Counsel
from bathkeeper.entries import AnyEntry, Unknown
from bathkeeper.ledger import Ledger
from bathkeeper.reports.builders.ground import Ground, corrections, report
from bathkeeper.reports.model import Cell, Column, Fact, Facts, Heading, Paragraph, Piece, Report, Table

A_MONTH = 30.0  # days
KINDS = ("stock", "addition", "make_up", "treatment")


def stock(ground: Ground) -> Report:
    """Shelf, lots, reorder, cost and hand-overs; use and cost are those of the ground's period."""
    counsel = Counsel(ground.workshop)
    shelves = counsel.shelf(ground.at)
    pieces: list[Piece] = [
        Heading("On the shelf"),
        _shelf(ground, shelves),
        _lots(ground, shelves),
        Heading("To buy"),
        _reorder(ground, counsel),
        Heading("Cost of the period"),
        *_cost(ground, counsel),
        Heading("Waste handed over"),
        _waste(ground),
        Heading("Corrections"),
    ]
    mended = list(corrections(ground, _touches))
    pieces += mended or [Paragraph("No entry of stock or use was corrected or withdrawn in the period.")]
    return report(ground, "Stock and cost", pieces, subtitle="Chemicals, anodes and titrants")


def _days(ground: Ground) -> float:
    begin, end = ground.period
    return max((end - begin) / timedelta(days=1), 1.0)


def _shelf(ground: Ground, shelves: Mapping[str, Shelf]) -> Table:
    rows: list[tuple[Cell, ...]] = []
    for shelf in shelves.values():
        used = sum(u[2] for u in shelf.uses if ground.within(u[0]))
        count = shelf.counts[-1] if shelf.counts else None
        rows.append((
            shelf.title, shelf.what, ground.estimate(shelf.amount, shelf.unit) if shelf.amount is not None else None,
            ground.unit(shelf.unit), ground.number(used, shelf.unit), ground.number(used / _days(ground) * A_MONTH, shelf.unit),
            count.at if count is not None else None,
            ground.number(count.drift, shelf.unit) if count is not None and count.drift is not None else None,
        ))  # fmt: skip
    return Table(
        name="shelf",
        title="What is left, and what was used",
        columns=(
            Column("name", "What"), Column("kind", "Kind"), Column("left", "Left", kind="estimate"), Column("unit", "Unit"),
            Column("used", "Used in the period", kind="number"), Column("month", "Used a month", kind="number"),
            Column("counted", "Last counted", kind="moment"), Column("drift", "Count less book", kind="number"),
        ),
        rows=tuple(rows),
        caption="Use is derived from additions, make-ups and treatments. Where nothing is left by name, nobody counted it.",
        empty="Nothing was bought, counted or used yet.",
    )  # fmt: skip


def _lots(ground: Ground, shelves: Mapping[str, Shelf]) -> Table:
    rows = tuple(
        (
            shelf.title, lot.name, lot.at, ground.number(lot.bought, shelf.unit), ground.number(lot.left, shelf.unit),
            ground.unit(shelf.unit), ground.id(lot.entry),
        )
        for shelf in shelves.values()
        for lot in shelf.lots
    )  # fmt: skip
    return Table(
        name="lots",
        title="Lots",
        columns=(
            Column("name", "What"), Column("lot", "Lot"), Column("bought_at", "Bought", kind="moment"),
            Column("bought", "Amount", kind="number"), Column("left", "Left", kind="number"), Column("unit", "Unit"),
            Column("entry", "Entry"),
        ),
        rows=rows,
        empty="No purchase is on record.",
    )  # fmt: skip


def _reorder(ground: Ground, counsel: Counsel) -> Table:
    rows = tuple(
        (
            r.name, ground.estimate(r.left, r.unit), ground.unit(r.unit), ground.number(r.per_day * A_MONTH, r.unit),
            r.days_left, r.by,
        )
        for r in counsel.reorder(ground.at)
    )  # fmt: skip
    return Table(
        name="reorder",
        title="What runs out within two months, soonest first",
        columns=(
            Column("name", "What"), Column("left", "Left", kind="estimate"), Column("unit", "Unit"),
            Column("month", "Used a month", kind="number"), Column("days", "Lasts", "d", "number", decimals=0),
            Column("by", "Buy by", kind="moment"),
        ),
        rows=rows,
        caption="By the use of the last 13 weeks; buying a month before it runs out is common practice.",
        empty="Nothing that is bought or counted on record runs out within two months.",
    )  # fmt: skip


def _cost(ground: Ground, counsel: Counsel) -> list[Piece]:
    begin, end = ground.period
    if begin >= end:
        return [Paragraph("There is no time between the beginning and the end of the period.")]
    told = counsel.cost(begin, end)
    currency = str(ground.workshop.settings().get("currency") or "")
    if told.unpriced and not told.by_item:
        cost = [Fact("Spent", "not known: no price is on record")]
    else:
        cost = [
            Fact("Spent, at least" if told.unpriced else "Spent", told.total, currency, 2),
            Fact("For each run", told.per_run, currency, 2),
            Fact("For each dm²", told.per_dm2, currency, 3),
        ]
    facts = [
        *cost, Fact("Runs", told.runs), ground.fact("Area plated", told.area_dm2, "dm2"),
        Fact("Without a price", ", ".join(told.unpriced) or "nothing"),
    ]  # fmt: skip
    items = tuple((name, amount) for name, amount in sorted(told.by_item.items(), key=lambda i: -i[1]))
    return [
        Facts(tuple(facts)),
        Table(
            name="cost",
            title="By item",
            columns=(Column("name", "What"), Column("cost", "Cost", currency, "number", decimals=2)),
            rows=items,
            total=("Total", told.total) if items else None,
            caption="Chemicals as used, anodes as they dissolved by estimate; energy, water and waste are not in it.",
            empty="Nothing with a price on record was used.",
        ),
    ]


def _waste(ground: Ground) -> Table:
    found = [h for h in Ledger(ground.workshop).hand_overs(ground.at) if h.refused is None and ground.within(h.at)]
    rows = tuple(
        (h.at, h.container, h.to, ground.estimate(h.litres), ground.number(h.mass_kg, "kg"), h.reference or "none",
         h.receipt or "not come")
        for h in found
    )  # fmt: skip
    return Table(
        name="waste",
        title="What left as waste",
        columns=(
            Column("at", "When", kind="moment"), Column("container", "Container"), Column("to", "To whom"),
            ground.column("litres", "Liquid", "L", "estimate"), ground.column("kg", "Weight", "kg", decimals=1),
            Column("reference", "Reference"), Column("receipt", "Receipt"),
        ),
        rows=rows,
        empty="Nothing was handed over in this period.",
    )  # fmt: skip


def _touches(entry: AnyEntry | Unknown) -> bool:
    return entry.kind in KINDS
