"""What must not meet, as a grid of signs: rows and columns are the vessels that something is known of, numbered alike."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from bathkeeper.safety.schema import Verdict

SIGNS: dict[Verdict | None, str] = {"never": "X", "with care": "o", None: "·"}
LEGEND = "X must never meet   o meet only with care   · nothing is known here of the pair, which is not the same as harmless"


@dataclass(frozen=True)
class Grid:
    """``heads``: two lines, tens above ones, so that a column is two cells wide; ``rows``: the cells of each name, up to the
    one before it; ``apart``: vessels of which no pair is known."""

    names: tuple[str, ...]
    heads: tuple[str, str]
    rows: tuple[str, ...]
    apart: tuple[str, ...]


def grid(matrix: Mapping[str, Mapping[str, Verdict | None]]) -> Grid:
    """The grid of :func:`bathkeeper.safety.meeting.matrix`."""
    names = [n for n, row in matrix.items() if any(row.values())]
    numbers = range(1, len(names))  # the last one has a row and needs no column
    tens = "".join(f"{n // 10 if n % 10 == 0 else ' '} " for n in numbers).rstrip()
    ones = "".join(f"{n % 10} " for n in numbers).rstrip()
    rows = tuple("".join(f"{SIGNS[matrix[name][other]]} " for other in names[:place]) for place, name in enumerate(names))
    return Grid(tuple(names), (tens, ones), tuple(r.rstrip() for r in rows), tuple(n for n in matrix if n not in names))
