"""An invented load of forty minutes, what it comes to, and how a file of the corpus is made of it."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from fractions import Fraction
from typing import Any

START = datetime(2026, 5, 13, 8, 30, 0)
Sample = tuple[float, float]  # seconds from the start, A


def load(n: int = 240, step: float = 10.0, top: float = 6.4) -> list[Sample]:
    """Ramps up, waves a little about its current, ramps down to nothing."""
    made = []
    for k in range(n):
        amps = top + 0.01 * ((k * 37) % 23)
        amps *= min(1.0, k / 6, (n - 1 - k) / 4)
        made.append((round(k * step, 6), round(amps, 2)))
    return made


def charge(samples: Sequence[Sample], longest: float = 60.0) -> float:
    """Exact trapezoids in Ah; steps longer than ``longest`` are left out."""
    total = Fraction(0)
    for (a, i), (b, j) in itertools.pairwise(samples):
        if 0 < b - a <= longest:
            total += (Fraction(str(i)) + Fraction(str(j))) / 2 * (Fraction(str(b)) - Fraction(str(a)))
    return float(total / 3600)


@dataclass(frozen=True)
class Case:
    """One file. ``ask``: what must be asked (names of questions) with no answers; ``answers`` then give ``ah``.

    ``rows``: how many lines of the file from ``body`` on are samples, in order, for the mutations (None: not mutated).
    """

    name: str
    data: bytes
    ah: float | None
    ask: tuple[str, ...] = ()
    answers: dict[str, Any] = field(default_factory=dict)
    start: str | None = None
    doubts: tuple[str, ...] = ()
    temperature: float | None = None
    samples: tuple[Sample, ...] | None = None


CASES: list[Callable[[], Case]] = []


def case(f: Callable[[], Case]) -> Callable[[], Case]:
    """Takes the case up."""
    CASES.append(f)
    return f


def at(seconds: float, form: str = "%Y-%m-%d %H:%M:%S", start: datetime = START) -> str:
    """The moment, written out."""
    return (start + timedelta(seconds=seconds)).strftime(form)


def volts(k: int) -> str:
    """A voltage that goes with it."""
    return f"{3.1 + 0.01 * (k % 5):.2f}"


def text(head: str, rows: Sequence[str], end: str = "\n") -> str:
    """Lines of a file."""
    return end.join([*([head] if head else []), *rows]) + end


def made(
    name: str,
    body: str | bytes,
    samples: Sequence[Sample] | None,
    *,
    encoding: str = "utf-8",
    ah: float | None = None,
    **more: Any,
) -> Case:
    """A case whose charge is that of its samples."""
    data = body.encode(encoding) if isinstance(body, str) else body
    if samples is not None and ah is None:
        ah = charge(samples)
    return Case(name, data, ah, samples=tuple(samples) if samples is not None else None, **more)


def iso(samples: Sequence[Sample], head: str = "Time,Current (A),Voltage (V)", sep: str = ",") -> list[str]:
    """The plainest dialect."""
    return [f"{at(t)}{sep}{i:.2f}{sep}{volts(k)}" for k, (t, i) in enumerate(samples)]


def held(samples: Sequence[Sample]) -> float:
    """Ah with every value standing until the next."""
    steps = (Fraction(str(i)) * (Fraction(str(b)) - Fraction(str(a))) for (a, i), (b, _) in itertools.pairwise(samples))
    return float(sum(steps, Fraction(0)) / 3600)
