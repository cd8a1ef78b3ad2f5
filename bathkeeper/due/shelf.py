"""Findings from the shelf: what has to be bought before it runs out."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import datetime

from bathkeeper.accounts.costs import BUY_BEFORE_DAYS, Reorder
from bathkeeper.findings import Finding


def shelf_findings(wanted: Iterable[Reorder], now: datetime) -> Iterator[Finding]:
    """One finding each thing whose day for buying has come, or comes within a month."""
    for item in wanted:
        gone = item.days_left <= 0.5
        lasts = "nothing is left" if gone else f"{item.left.value:.3g} {item.unit} left, about {item.days_left:.0f} days"
        yield Finding(
            id=f"workshop.reorder.{item.name}",
            tank="workshop",
            what=f"buy {item.name}: {lasts}",
            why=f"about {item.per_day * 7:.3g} {item.unit} a week go into the tanks",
            level="now" if gone else "soon" if item.days_left <= BUY_BEFORE_DAYS else "later",
            by=item.by,
            because=item.because,
        )
