"""Columns that a file really has, as ways to answer: a choice that can be taken by its number has to be one that fits."""

from __future__ import annotations

import itertools
from collections.abc import Collection

from bathkeeper.traces.asking import Choice
from bathkeeper.traces.table import Table, column_title

MOST = 5
"""Columns that are offered; a wider table is named by number."""


def other_columns(table: Table, quantity: str, taken: Collection[int]) -> tuple[Choice, ...]:
    """Columns of numbers that are not ``taken``, each as the one that tells ``quantity``."""
    found = [j for j in range(table.width) if table.kinds[j] == "number" and j not in taken]
    named = [(j + 1, column_title(table, j)) for j in found[:MOST]]
    return tuple(Choice(f"column {title} is the {quantity}", f"--columns {quantity}={number}") for number, title in named)


def time_columns(table: Table, taken: Collection[int]) -> tuple[Choice, ...]:
    """Columns that could tell the time of a row: clocks, and numbers that only rise, in each unit that they could count in."""
    made = []
    for j in range(table.width):
        title = column_title(table, j)
        if j in taken:
            continue
        if table.kinds[j] == "clock":
            made.append(Choice(f"column {title}, by the clock", f"--columns time={j + 1}"))
        elif table.kinds[j] == "number" and _rises([row[j] for row in table.rows if j < len(row)]):
            made += [
                Choice(f"column {title} counts {word}", f"--columns time={j + 1} --unit time={unit}")
                for unit, word in (("s", "seconds"), ("min", "minutes"), ("h", "hours"))
            ]
    return tuple(made[: 2 * MOST])


def _rises(cells: list[str]) -> bool:
    try:
        told = [float(c.replace(",", ".")) for c in cells if c.strip()]
    except ValueError:
        return False
    return len(told) > 1 and all(a <= b for a, b in itertools.pairwise(told)) and told[0] < told[-1]
