"""Sums of estimates from one vessel: what they share with its volume goes together, the rest is independent."""

from __future__ import annotations

import math
from collections.abc import Iterable

from bathkeeper.findings import Estimate

MOST = 1e12
"""Grams or litres beyond which a number is a fault somewhere, not a content."""


def sound(amount: Estimate) -> Estimate | None:
    """The estimate with its ends in order and nothing below zero; None where it holds no number that can be."""
    if not all(math.isfinite(v) and abs(v) <= MOST for v in (amount.value, amount.low, amount.high)):
        return None
    low, value, high = max(amount.low, 0.0), max(amount.value, 0.0), max(amount.high, 0.0)
    return Estimate(value, min(low, value), max(high, value), amount.unit)


def times(amount: Estimate, factor: float, unit: str) -> Estimate:
    """The estimate in another unit; a negative factor turns its ends round."""
    ends = (amount.low * factor, amount.high * factor)
    return Estimate(amount.value * factor + 0.0, min(ends) + 0.0, max(ends) + 0.0, unit)


def product(amount: Estimate, factor: Estimate, unit: str) -> Estimate:
    """Of two that are never below zero and know nothing of each other: relative half-widths add in squares, each side apart."""
    value = amount.value * factor.value
    down = math.hypot((amount.value - amount.low) * factor.value, (factor.value - factor.low) * amount.value)
    up = math.hypot((amount.high - amount.value) * factor.value, (factor.high - factor.value) * amount.value)
    if amount.value == 0.0:  # nothing believed, but perhaps something: the high ends tell
        up = amount.high * factor.high
    return Estimate(value, max(value - down, 0.0), value + up, unit)


def volume_share(volume_l: Estimate | None) -> float:
    """How much of every content's spread the volume alone makes: its relative half-width, 0 where there is none."""
    volume = sound(volume_l) if volume_l is not None else None
    return volume.spread / volume.value if volume is not None and volume.value > 1e-9 else 0.0


def added(parts: Iterable[Estimate], shared: float, unit: str) -> Estimate:
    """The sum. Of each part's spread the share ``shared`` of its value moves with all the others (one volume was measured once
    for all of them; parts of opposite sign move against each other); what is left is independent and adds in squares."""
    listed = list(parts)
    value = sum(p.value for p in listed) + 0.0
    down = _width([(p.value, p.value - p.low) for p in listed], shared)
    up = _width([(p.value, p.high - p.value) for p in listed], shared)
    low = value - down
    if all(p.low >= 0 for p in listed):
        low = max(low, 0.0)
    return Estimate(value, low, value + up, unit)


def _width(parts: list[tuple[float, float]], shared: float) -> float:
    together = apart = 0.0
    for value, width in parts:
        common = min(abs(value) * shared, width)
        together += math.copysign(common, value)
        apart += width * width - common * common
    return math.hypot(together, math.sqrt(max(apart, 0.0)))
