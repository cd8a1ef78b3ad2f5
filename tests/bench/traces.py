"""A logged trace of a million rows beside ``pandas.read_csv`` and ``numpy.trapezoid``; memory at one and at ten million rows.

``pip install -e '.[bench]'``, then ``python -m tests.bench.traces`` prints ratios. Each way runs in a process of its own, so
that its peak of memory is its own. Nothing is asserted: a shared machine's seconds prove nothing.
"""

from __future__ import annotations

import json
import resource
import subprocess
import sys
import tempfile
import time
from datetime import datetime, timedelta
from pathlib import Path

START = datetime(2026, 5, 1, 8, 0, 0)
WAYS = ("nothing", "ours", "pandas")


def write(place: Path, rows: int) -> None:
    """A logger's file: a row a second, current about 6.5 A with a slow wave, voltage, temperature."""
    with place.open("w") as file:
        file.write("Time;Current (A);Voltage (V);Temperature (°C)\n")
        for n in range(rows):
            at = START + timedelta(seconds=n)
            amps, volts, warm = 6.4 + 0.001 * (n * 7 % 211), 3.1 + 0.01 * (n % 7), 24 + n % 13 / 10
            file.write(f"{at.isoformat(sep=' ')};{amps:.3f};{volts:.2f};{warm:.1f}\n")


def ours(place: Path) -> float:
    """Charge, Ah, with everything that is looked at on the way."""
    from bathkeeper.logbook.text_files import chunks_of
    from bathkeeper.traces.asking import Answers
    from bathkeeper.traces.reading import read_trace

    read = read_trace(lambda: chunks_of(place), Answers())
    assert read.charge_ah is not None and not [q for q in read.questions if q.about != "stretch"], read.questions
    return read.charge_ah


def pandas(place: Path) -> float:
    """Charge, Ah, and nothing else."""
    import numpy as np
    import pandas as pd

    table = pd.read_csv(place, sep=";", parse_dates=["Time"])
    seconds = (table["Time"] - table["Time"].iloc[0]).dt.total_seconds()
    return float(np.trapezoid(table["Current (A)"], seconds)) / 3600


def nothing(place: Path) -> float:
    """What an interpreter with numpy weighs."""
    import numpy as np

    del place
    return float(np.zeros(1)[0])


def measured(way: str, place: Path) -> dict[str, float]:
    """Seconds, peak megabytes and charge of one way in its own process; the best of three."""
    runs = []
    for _ in range(3):
        command = [sys.executable, "-m", __spec__.name, way, str(place)]
        done = subprocess.run(command, capture_output=True, text=True, check=True)
        runs.append(json.loads(done.stdout))
    return min(runs, key=lambda r: r["seconds"])  # type: ignore[no-any-return]


def main() -> None:
    """Prints the table, or runs one way."""
    if len(sys.argv) > 2:
        way = {"ours": ours, "pandas": pandas, "nothing": nothing}[sys.argv[1]]
        began = time.perf_counter()
        charge = way(Path(sys.argv[2]))
        took = time.perf_counter() - began
        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        print(json.dumps({"seconds": took, "megabytes": peak, "charge": charge}))
        return
    sizes = [int(a) for a in sys.argv[1:]] or [1_000_000, 10_000_000]
    with tempfile.TemporaryDirectory() as folder:
        base = measured("nothing", Path(folder))["megabytes"]
        print(f"an interpreter with numpy: {base:.0f} MB")
        heads = (
            ("rows", 10),
            ("ours s", 7),
            ("pandas s", 9),
            ("ratio", 6),
            ("ours MB", 8),
            ("pandas MB", 10),
            ("charge off by", 14),
        )
        print(" ".join(f"{h:>{w}}" for h, w in heads))
        for rows in sizes:
            place = Path(folder) / f"{rows}.csv"
            write(place, rows)
            mine = measured("ours", place)
            other = measured("pandas", place) if rows <= 1_000_000 else None
            seconds = f"{other['seconds']:>9.2f} {mine['seconds'] / other['seconds']:>6.2f}" if other else f"{'-':>9} {'-':>6}"
            memory = f"{other['megabytes']:>10.0f}" if other else f"{'-':>10}"
            differs = f"{mine['charge'] / other['charge'] - 1:>14.1e}" if other else ""
            print(f"{rows:>10} {mine['seconds']:>7.2f} {seconds} {mine['megabytes']:>8.0f} {memory} {differs}")
            place.unlink()


if __name__ == "__main__":
    main()
