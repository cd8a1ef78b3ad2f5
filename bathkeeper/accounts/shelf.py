"""What stands on the shelf: bought, used, thrown out and counted, lot by lot, with how sure that is.

What was used is never logged twice: it is derived from additions, make-ups and treatments. A count is an assertion like any
other reading: from then on the shelf holds what was counted, and the difference to what the book expected is kept and shown.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from datetime import datetime

from bathkeeper.catalogue.loader import Catalogue, CatalogueError
from bathkeeper.catalogue.schema import Reagent
from bathkeeper.entries import Addition, Anode, AnyEntry, Item, MakeUp, Stock, Treatment, Unknown
from bathkeeper.findings import Because, Estimate

Z95 = 1.959964
COUNT_SPREAD = 0.05  # of what was counted, 95 %: a drum judged by eye and scale [practice]


@dataclass(frozen=True)
class Count:
    """A count against what the book expected at that moment; ``drift`` is counted - expected, in the shelf's unit."""

    entry: str
    at: datetime
    counted: float
    expected: float | None
    expected_spread: float | None

    @property
    def drift(self) -> float | None:
        return None if self.expected is None else self.counted - self.expected


@dataclass(frozen=True)
class Lot:
    """What is left of one purchase; the oldest lot is taken to be used first unless an addition names its lot."""

    name: str
    left: float
    bought: float
    at: datetime
    entry: str
    price_per_unit: float | None
    purity: float | None


@dataclass(frozen=True)
class Shelf:
    """One thing on the shelf. ``unit`` is g or mL. ``amount`` is None while it was neither bought nor counted: nobody knows.

    ``bought``, ``used``, ``discarded`` are totals of the whole book; ``uses`` and ``short`` are (moment, entry, amount): what
    was used, and what was used though by the book it was not there.
    """

    name: str
    title: str
    what: str
    unit: str
    amount: Estimate | None
    bought: float = 0.0
    used: float = 0.0
    discarded: float = 0.0
    lots: tuple[Lot, ...] = ()
    counts: tuple[Count, ...] = ()
    uses: tuple[tuple[datetime, str, float], ...] = ()
    short: tuple[tuple[datetime, str, float], ...] = ()
    cautions: tuple[str, ...] = ()

    @property
    def price_per_unit(self) -> float | None:
        """Of what is used next: the oldest lot with something left and a price, else the last price paid."""
        priced = [lot for lot in self.lots if lot.price_per_unit is not None]
        return next((lot.price_per_unit for lot in priced if lot.left > 0), priced[-1].price_per_unit if priced else None)

    @property
    def because(self) -> Because:
        """Why the amount is believed."""
        newest = [lot.entry for lot in self.lots[-3:]]
        counted = [self.counts[-1].entry] if self.counts else []
        return Because(
            text="Bought and counted as logged; used as additions, make-ups and treatments say.",
            entries=(*counted, *newest, *(e for _, e, _ in self.uses[-5:])),
            formula="left = last count (or nothing) + bought - used - discarded since",
            sources=(f"a count is taken as true within {COUNT_SPREAD:.0%} unless it says otherwise: practice",),
        )


@dataclass
class _Account:
    """A shelf while the entries are read."""

    name: str
    title: str
    what: str
    unit: str
    cautions: tuple[str, ...] = ()
    amount: float | None = None
    variance: float = 0.0
    bought: float = 0.0
    used: float = 0.0
    discarded: float = 0.0
    lots: list[Lot] = field(default_factory=list)
    counts: list[Count] = field(default_factory=list)
    uses: list[tuple[datetime, str, float]] = field(default_factory=list)
    short: list[tuple[datetime, str, float]] = field(default_factory=list)

    def put_in(self, entry: Stock, amount: float) -> None:
        self.amount = (self.amount or 0.0) + amount
        self.bought += amount
        price = entry.price / amount if entry.price is not None and amount > 0 else None
        name = entry.lot or f"{entry.at:%Y-%m-%d}"
        self.lots.append(Lot(name, amount, amount, entry.at, entry.id, price, entry.purity))

    def take(self, amount: float, at: datetime, entry: str, variance: float, lot: str | None) -> None:
        if self.amount is not None:
            if amount > self.amount + 2 * math.sqrt(self.variance + variance) + 1e-9:
                self.short.append((at, entry, amount - self.amount))
            self.amount = max(self.amount - amount, 0.0)
            self.variance += variance
        self._from_lots(amount, lot)

    def _from_lots(self, amount: float, named: str | None) -> None:
        order = sorted(range(len(self.lots)), key=lambda i: (self.lots[i].name != named, i))
        for i in order:
            lot = self.lots[i]
            gone = min(lot.left, amount)
            if gone > 0:
                self.lots[i] = replace(lot, left=lot.left - gone)
                amount -= gone

    def count(self, entry: Stock, amount: float, spread: float) -> None:
        known = self.amount is not None
        half = Z95 * math.sqrt(self.variance) if known else None
        if entry.lot is not None and known and any(lot.name == entry.lot for lot in self.lots):
            self._count_lot(entry, amount, spread)
            return
        self.counts.append(Count(entry.id, entry.at, amount, self.amount, half))
        missing = sum(lot.left for lot in self.lots) - amount
        self.amount, self.variance = amount, (spread / Z95) ** 2
        if missing > 0:
            self._from_lots(missing, None)
        elif self.lots and missing < 0:
            self.lots[-1] = replace(self.lots[-1], left=self.lots[-1].left - missing)

    def _count_lot(self, entry: Stock, amount: float, spread: float) -> None:
        """One lot counted: only that lot is put right, and the whole by as much."""
        i = max(k for k, lot in enumerate(self.lots) if lot.name == entry.lot)
        lot = self.lots[i]
        self.counts.append(Count(entry.id, entry.at, amount, lot.left, Z95 * math.sqrt(self.variance)))
        self.amount = max((self.amount or 0.0) + amount - lot.left, 0.0)
        self.variance += (spread / Z95) ** 2
        self.lots[i] = replace(lot, left=amount)

    def closed(self) -> Shelf:
        amount = None
        if self.amount is not None:
            half = Z95 * math.sqrt(self.variance)
            amount = Estimate(self.amount, max(self.amount - half, 0.0), self.amount + half, self.unit)
        return Shelf(
            self.name, self.title, self.what, self.unit, amount, self.bought, self.used, self.discarded, tuple(self.lots),
            tuple(self.counts), tuple(self.uses), tuple(self.short), self.cautions,
        )  # fmt: skip


def shelf(entries: Iterable[AnyEntry | Unknown], catalogue: Catalogue, at: datetime | None = None) -> dict[str, Shelf]:
    """Everything that was ever bought, counted or used, by name, from the entries in force (up to ``at``), in order of time.

    Reagents go by their catalogue name in g (solids) or mL (liquids, additives); anodes by ``METAL anode`` in g. Water has no
    shelf. A reagent that the catalogue does not know is kept under its own name.
    """
    accounts: dict[str, _Account] = {}
    for entry in entries:
        if at is not None and entry.at > at:
            continue
        if isinstance(entry, Stock):
            _stocked(accounts, entry, catalogue)
        elif isinstance(entry, Anode) and entry.action == "hung" and entry.metal and entry.mass_g:
            account = accounts.get(anode_name(entry.metal))
            if account is not None:  # anodes are kept on a shelf only by those who buy them in stock
                account.used += entry.mass_g
                account.uses.append((entry.at, entry.id, entry.mass_g))
                account.take(entry.mass_g, entry.at, entry.id, 0.0, None)
        for item in _items(entry):
            _used(accounts, item, entry.at, entry.id, catalogue)
    return {name: account.closed() for name, account in sorted(accounts.items())}


def anode_name(metal: str) -> str:
    """What an anode is called on the shelf."""
    return f"{metal} anode"


def in_shelf_unit(reagent: Reagent | None, amount: float, unit: str) -> tuple[float, str]:
    """(amount, unit) as the shelf counts it: solids g; liquids and additives mL, by density where they were weighed."""
    litres = 1000.0 if unit == "L" else 1.0
    if reagent is None or reagent.form == "solid":
        return (amount, "g") if unit == "g" else (amount * litres, "mL")
    if unit == "g":
        return (amount / reagent.density_g_ml, "mL") if reagent.density_g_ml else (amount, "g")
    return amount * litres, "mL"


def _items(entry: AnyEntry | Unknown) -> Iterator[Item]:
    if isinstance(entry, (Addition, Treatment)):
        yield from entry.items
    elif isinstance(entry, MakeUp):
        yield from entry.reagents


def _stocked(accounts: dict[str, _Account], entry: Stock, catalogue: Catalogue) -> None:
    reagent = _reagent(catalogue, entry.reagent) if entry.what == "reagent" else None
    amount, unit = in_shelf_unit(reagent, entry.amount, entry.unit)
    name = reagent.name if reagent is not None else entry.reagent
    if entry.what == "anode":
        name = anode_name(entry.reagent.removesuffix(" anode"))
    account = accounts.setdefault(name, _opened(name, reagent, entry.what, unit))
    if account.unit != unit:
        return  # weighed once and measured once, without a density to tell one from the other: the first unit holds
    if entry.action == "bought":
        account.put_in(entry, amount)
    elif entry.action == "discarded":
        account.discarded += amount
        account.take(amount, entry.at, entry.id, 0.0, entry.lot)
    else:
        told = in_shelf_unit(reagent, entry.spread, entry.unit)[0] if entry.spread is not None else COUNT_SPREAD * amount
        account.count(entry, amount, told)


def _used(accounts: dict[str, _Account], item: Item, at: datetime, entry: str, catalogue: Catalogue) -> None:
    reagent = _reagent(catalogue, item.reagent)
    if reagent is not None and reagent.form == "water":
        return
    amount, unit = in_shelf_unit(reagent, item.amount, item.unit)
    name = reagent.name if reagent is not None else item.reagent
    account = accounts.setdefault(name, _opened(name, reagent, "reagent", unit))
    if account.unit != unit:
        return
    how = catalogue.spreads["amount weighed" if item.unit == "g" else "amount measured"]
    account.used += amount
    account.uses.append((at, entry, amount))
    account.take(amount, at, entry, ((how.relative * amount + how.absolute) / Z95) ** 2, item.lot)


def _opened(name: str, reagent: Reagent | None, what: str, unit: str) -> _Account:
    return _Account(name, reagent.title if reagent else name, what, unit, tuple(reagent.cautions) if reagent else ())


def _reagent(catalogue: Catalogue, name: str) -> Reagent | None:
    try:
        return catalogue.reagent(name)
    except CatalogueError:
        return None
