"""A program at the bench, to be killed: ``python -m tests.logbook.live_walker BOOK ROUNDS`` walks runs to their end, over and
over, from wherever the last one stopped, and prints what it did once it is on the disk."""

from __future__ import annotations

import os
import sys
import time
from pathlib import Path

from bathkeeper.bench import Bench
from bathkeeper.entries import Run
from bathkeeper.logbook.live import MovedOn
from bathkeeper.runs.live import LiveError
from bathkeeper.workshop import Workshop


def tell(*words: object) -> None:
    os.write(1, (" ".join(str(w) for w in words) + "\n").encode())


def walk(bench: Bench, rounds: int) -> None:
    """Runs from start to finish; every act is acknowledged with the run's id and how many acts moved it."""
    for _ in range(rounds):
        run = bench.live()
        if run is None:
            run = bench.start(bench.line_plan("rust removal", area_dm2=2.0, current_a=6.0, minutes=30))
            tell("moved", run.id, run.moves)
        while not run.settled:
            run = bench.enter_next()
            tell("moved", run.id, run.moves)
            if run.step is not None and run.step.plan.charged:
                run = bench.say(current_a=6.0, note="x" * (run.moves * 97 % 500 + 1))
        logged = bench.finish()
        tell("finished", logged.entry.id)


def race(bench: Bench, rounds: int) -> None:
    """Finishes every run as soon as parts have been in a tank, against whoever else does, until so many are in the book."""
    while True:
        run = bench.live()
        if run is None or run.number < 0:
            bench.workshop.refresh()
            if sum(isinstance(e, Run) for e in bench.workshop.entries()) >= rounds:
                return
            time.sleep(0.001)
            continue
        try:
            tell("finished", bench.finish().entry.id)
        except (MovedOn, LiveError):
            tell("refused", run.id)


if __name__ == "__main__":
    shop = Bench(Workshop.open(Path(sys.argv[1])))
    tell("ready")
    (race if sys.argv[3:] == ["race"] else walk)(shop, int(sys.argv[2]))
