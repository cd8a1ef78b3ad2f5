"""Errors of an estimate beside those of two rivals: the last analysis held, and textbook ampere-hour book-keeping."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from bathkeeper.estimate.state import Z95


@dataclass(frozen=True)
class Row:
    """One species before one analysis, g/L; ``deviation``: our claimed standard deviation."""

    metal: str
    true: float
    ours: float
    deviation: float
    held: float
    book: float
    read: float


def rms(errors: Iterable[float]) -> float:
    return float(np.sqrt(np.mean(np.square(list(errors)))))


def ratios(rows: Iterable[Row]) -> tuple[float, float, float]:
    """(our error / held, our error / book, share of truths inside the 95 % interval); errors as root mean square of relative
    error."""
    rows = list(rows)
    ours = rms((r.ours - r.true) / r.true for r in rows)
    held = rms((r.held - r.true) / r.true for r in rows)
    book = rms((r.book - r.true) / r.true for r in rows)
    inside = float(np.mean([abs(r.ours - r.true) <= Z95 * r.deviation for r in rows]))
    return ours / held, ours / book, inside


def fresh(rows: Iterable[Row]) -> tuple[float, float]:
    """Error of the titration itself over that of (the last one held, the book-keeping): near 1 there is little left to gain."""
    rows = list(rows)
    titration = rms((r.read - r.true) / r.true for r in rows)
    return (
        titration / rms((r.held - r.true) / r.true for r in rows),
        titration / rms((r.book - r.true) / r.true for r in rows),
    )
