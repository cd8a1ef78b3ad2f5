"""What a run costs, and what has to be bought before it runs out."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

from bathkeeper.accounts.shelf import Shelf, anode_name
from bathkeeper.entries import AnyEntry, Run, Unknown
from bathkeeper.findings import Because, Estimate

LOOK_BACK_DAYS = 91  # a season of use tells the next month's [practice]
BUY_BEFORE_DAYS = 30  # how long before it is predicted to run out it should be bought [practice]


@dataclass(frozen=True)
class Reorder:
    """Something that runs out within a month: what is left, how long it lasts at the recent rate, and why that is believed."""

    name: str
    unit: str
    left: Estimate
    per_day: float
    days_left: float
    by: datetime
    because: Because


@dataclass(frozen=True)
class Cost:
    """What was spent over a period, in the workshop's currency: per run and per dm2 of load, and item by item.

    ``unpriced`` names what was used without a price on record: the cost is at least this.
    """

    since: datetime
    until: datetime
    total: float
    runs: int
    area_dm2: float
    by_item: Mapping[str, float]
    unpriced: tuple[str, ...]

    @property
    def per_run(self) -> float | None:
        return self.total / self.runs if self.runs else None

    @property
    def per_dm2(self) -> float | None:
        return self.total / self.area_dm2 if self.area_dm2 > 0 else None


def reorder(shelves: Mapping[str, Shelf], at: datetime) -> list[Reorder]:
    """What will be used up within a month at the rate of the last season, soonest first; only what was bought or counted."""
    found: list[Reorder] = []
    since = at - timedelta(days=LOOK_BACK_DAYS)
    for shelf in shelves.values():
        recent = [u for u in shelf.uses if since < u[0] <= at]
        if shelf.amount is None or not recent:
            continue
        span = max((at - max(since, shelf.uses[0][0])).total_seconds() / 86400, 7.0)
        per_day = sum(u[2] for u in recent) / span
        days = shelf.amount.value / per_day
        if days > 2 * BUY_BEFORE_DAYS:
            continue
        found.append(
            Reorder(
                name=shelf.name,
                unit=shelf.unit,
                left=shelf.amount,
                per_day=per_day,
                days_left=days,
                by=at + timedelta(days=max(days - BUY_BEFORE_DAYS, 0.0)),
                because=Because(
                    text=f"{len(recent)} uses in {span:.0f} days came to {per_day * span:.4g} {shelf.unit}.",
                    entries=(*(u[1] for u in recent[-5:]), *shelf.because.entries[:1]),
                    formula="days left = amount on the shelf / use per day over the last 13 weeks",
                    sources=(f"buy {BUY_BEFORE_DAYS} days before it runs out: practice",),
                ),
            )
        )
    return sorted(found, key=lambda r: r.days_left)


def cost(
    entries: Iterable[AnyEntry | Unknown],
    shelves: Mapping[str, Shelf],
    anode_loss_g: Mapping[str, float],
    since: datetime,
    until: datetime,
) -> Cost:
    """What the workshop spent on chemicals and anodes between two moments, make-ups included.

    ``anode_loss_g``: metal -> grams that the anodes lost in that time by the estimate (anodes are paid for as they dissolve,
    not as they are hung). Prices are those of the lot that was used next; energy, water and waste are not in it.
    """
    items: dict[str, float] = {}
    unpriced: list[str] = []
    for shelf in shelves.values():
        used = sum(u[2] for u in shelf.uses if since < u[0] <= until)
        if shelf.what == "anode" or used <= 0:
            continue
        if shelf.price_per_unit is None:
            unpriced.append(shelf.name)
        else:
            items[shelf.name] = used * shelf.price_per_unit
    for metal, grams in anode_loss_g.items():
        kept = shelves.get(anode_name(metal))
        price = kept.price_per_unit if kept is not None else None
        if grams > 0 and price is None:
            unpriced.append(anode_name(metal))
        elif grams > 0 and price is not None:
            items[anode_name(metal)] = grams * price
    runs = [e for e in entries if isinstance(e, Run) and since < e.at <= until and not any(s.dummy for s in e.steps)]
    return Cost(since, until, sum(items.values()), len(runs), sum(r.area_dm2 for r in runs), items, tuple(sorted(unpriced)))
