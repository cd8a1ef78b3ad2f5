"""Columns that a file really has, as ways to answer: a choice that can be taken by its number has to be one that fits."""

from __future__ import annotations

import itertools
import shlex
from collections.abc import Collection

from bathkeeper.traces.asking import Choice
from bathkeeper.traces.clocks import number_kind
from bathkeeper.traces.table import Table, column_title

MOST = 5
"""Columns that are offered; a wider table is named by number."""


def other_columns(table: Table, quantity: str, taken: Collection[int]) -> tuple[Choice, ...]:
    """Columns of numbers that are not ``taken``, each as the one that tells ``quantity``."""
    found = [j for j in range(table.width) if table.kinds[j] == "number" and j not in taken]
    named = [(j + 1, column_title(table, j)) for j in found[:MOST]]
    return tuple(Choice(f"column {title} is the {quantity}", f"--columns {quantity}={number}") for number, title in named)


def channels(table: Table, taken: Collection[int]) -> tuple[Choice, ...]:
    """The words of a column that seems to tell one channel from another: few, and each of them often."""
    made = []
    for j in range(table.width):
        cells = [row[j].strip() for row in table.rows if j < len(row)]
        words = sorted(set(cells))
        whole = all(w and (w.isdigit() or not w[0].isdigit()) and len(w) <= 20 for w in words)
        if j in taken or not whole or not 2 <= len(words) <= MOST or min(cells.count(w) for w in words) < len(cells) / 10:
            continue
        title = column_title(table, j)
        made += [Choice(f"only the rows with `{w}` in column {title}", f"--only {shlex.quote(f'{j + 1}={w}')}") for w in words]
    return tuple(made)


def time_columns(table: Table, taken: Collection[int]) -> tuple[Choice, ...]:
    """Columns that could tell the time of a row: clocks, and numbers that only rise, in each unit that they could count in."""
    made = []
    for j in range(table.width):
        title = column_title(table, j)
        if j in taken:
            continue
        if table.kinds[j] == "clock":
            made.append(Choice(f"column {title}, by the clock", f"--columns time={j + 1}"))
        elif table.kinds[j] == "number" and (told := _rising([row[j] for row in table.rows if j < len(row)])):
            if number_kind(told[0], told[-1], None) is not None:  # seconds since 1970, or days of a spreadsheet
                made.append(Choice(f"column {title} tells moments", f"--columns time={j + 1}"))
                continue
            made += [
                Choice(f"column {title} counts {word}", f"--columns time={j + 1} --unit time={unit}")
                for unit, word in (("s", "seconds"), ("min", "minutes"), ("h", "hours"))
                if number_kind(told[0], told[-1], unit) is not None
            ]
    return tuple(made[: 2 * MOST])


def _rising(cells: list[str]) -> list[float]:
    """The numbers of a column that only rises; empty where it does not."""
    try:
        told = [float(c.replace(",", ".")) for c in cells if c.strip()]
    except ValueError:
        return []
    return told if len(told) > 1 and all(a <= b for a, b in itertools.pairwise(told)) and told[0] < told[-1] else []
