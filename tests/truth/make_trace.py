"""Writes the sample workshop's logged trace: ``python -m tests.truth.make_trace [FOLDER]``.

What an invented logger kept of the last load in the book: it says 7 A for 40 min there, and the supply gave a little less, with
a minute when the clip had slipped. The same code gives the same file.
"""

from __future__ import annotations

import random
import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path

TRACE = "coach-bolts.trace.csv"
START, EVERY_S, LOAD_S = datetime(2026, 11, 24, 12, 11, 0, tzinfo=UTC), 5, 2400
BEFORE_S, SLIPPED_S = 60, range(1260, 1320)


def rows() -> list[tuple[datetime, float, float, float]]:
    """Time, A, V, °C; a minute of nothing before and after the load."""
    rng = random.Random(24)
    made = []
    for second in range(0, LOAD_S + 2 * BEFORE_S, EVERY_S):
        into = second - BEFORE_S
        on = 0 <= into < LOAD_S and into not in SLIPPED_S
        amps = (6.78 + rng.gauss(0, 0.02)) * min(1.0, (into + 10) / 30) if on else 0.0
        volts = 0.9 + 0.31 * amps if on else 0.0
        made.append((START + timedelta(seconds=second), amps, volts, 34.6 + 0.4 * second / LOAD_S + rng.gauss(0, 0.05)))
    return made


def text() -> str:
    """The file as the logger writes it: a preamble, semicolons, decimal commas."""
    lines = ["Logger on the bench supply", "Interval;5 s", "", "Time (UTC);Current (A);Voltage (V);Temperature (°C)"]
    for at, *values in rows():
        lines.append(";".join((at.strftime("%d.%m.%Y %H:%M:%S"), *(f"{value:.2f}".replace(".", ",") for value in values))))
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    folder = Path(sys.argv[1] if len(sys.argv) > 1 else "sample_data")
    (folder / TRACE).write_text(text(), encoding="utf-8", newline="")
