"""How long ``bathkeeper status --json`` takes from the shell: ``python -m tests.bench.startup [RUNS]``.

Prints ratios to a bare Python and to a Python that imports the libraries which any answer needs; never asserted, for machines
differ and are shared.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path


def median_s(words: list[str], env: dict[str, str], runs: int) -> float:
    """Median wall time of a Python with these arguments, in seconds; the first run, which fills caches, is not counted."""
    times = []
    for _ in range(runs + 1):
        start = time.perf_counter()
        subprocess.run([sys.executable, *words], env=env, check=True, stdout=subprocess.DEVNULL)
        times.append(time.perf_counter() - start)
    return statistics.median(times[1:])


def small_book(folder: Path) -> Path:
    """A line laid out, its electrolyte made up, and ten loads through it."""
    from bathkeeper.workshop import Workshop

    start = datetime.now(UTC) - timedelta(days=12)
    workshop = Workshop.new(folder / "bench.logbook.jsonl", "Bench", "zinc-nickel-line", start)
    workshop.log({"kind": "make_up", "at": start + timedelta(hours=1), "tank": "electrolyte", "volume_l": 40.0})
    for day in range(1, 11):
        steps = [{"tank": "electrolyte", "minutes": 40.0, "charge": {"current_a": 6.0}}]
        parts = [{"description": "load", "area_dm2": 3.0}]
        workshop.log({"kind": "run", "at": start + timedelta(days=day), "parts": parts, "steps": steps})
    return workshop.book.path


def main() -> None:
    runs = int(sys.argv[1]) if len(sys.argv) > 1 else 10
    with tempfile.TemporaryDirectory() as folder:
        os.environ["BATHKEEPER_CACHE"] = folder
        env = {**os.environ, "BATHKEEPER_BOOK": str(small_book(Path(folder)))}
        bare = median_s(["-c", "pass"], env, runs)
        libraries = median_s(["-c", "import click, msgspec, numpy"], env, runs)
        for words in (["--version"], ["--help"], ["status", "--json"], ["status"]):
            taken = median_s(["-m", "bathkeeper", *words], env, runs)
            name = " ".join(["bathkeeper", *words])
            ratios = f"{taken / bare:5.1f} x bare Python  {taken / libraries:5.2f} x its libraries"
            print(f"{name:26} {taken * 1000:5.0f} ms  {ratios}")
        print(f"{'bare Python':26} {bare * 1000:5.0f} ms\n{'click, msgspec, numpy':26} {libraries * 1000:5.0f} ms")


if __name__ == "__main__":
    main()
