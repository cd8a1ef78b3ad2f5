"""Run history: what was plated and how it came out; searched, repeated, and the good compared with the bad."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from bathkeeper.catalogue.defects import canonical
from bathkeeper.entries import Part
from bathkeeper.runs.again import Again, AgainError, again
from bathkeeper.runs.comparing import Comparison, Measured, Side, compare
from bathkeeper.runs.past import PastRun, past_runs

__all__ = [
    "Again", "AgainError", "Comparison", "Measured", "PastRun", "Side", "again", "compare", "last_good", "past_runs", "search",
]  # fmt: skip


def search(
    runs: Iterable[PastRun],
    words: str = "",
    *,
    tank: str | None = None,
    result: str | None = None,
    defect: str | None = None,
    part: str | None = None,
    since: datetime | None = None,
    until: datetime | None = None,
) -> list[PastRun]:
    """The runs that fit all of what is asked, in the order given.

    ``words``: each has to occur in what is on record of the run: parts, remarks, result, defect, tanks, photos, day
    (``2026-03-14``, ``mar``), id. ``result``: ``good``, ``bad``, ``none`` (nothing said), or words of the result itself.
    ``defect``: a name or everyday word of the catalogue's defects, or as written on the run. ``part``: words of its parts.
    ``since`` and ``until`` are inclusive.
    """
    wanted = words.casefold().split()
    by_part = part.casefold().split() if part is not None else []
    return [
        r
        for r in runs
        if all(w in _record(r) for w in wanted)
        and all(w in r.title.casefold() for w in by_part)
        and (tank is None or tank in r.tanks)
        and (result is None or _came_out(r, result))
        and (defect is None or (r.defect is not None and canonical(r.defect) == canonical(defect)))
        and (since is None or r.at >= since)
        and (until is None or r.at <= until)
    ]


def last_good(runs: Iterable[PastRun], tank: str, parts: Iterable[Part] = (), count: int = 3) -> list[PastRun]:
    """The newest good runs plated in a tank; those with one of the same parts first."""
    good = sorted((r for r in runs if r.good and r.tank == tank), key=lambda r: (r.at, r.id), reverse=True)
    names = {p.description.casefold() for p in parts}
    alike = [r for r in good if any(n in r.title.casefold() for n in names)]
    return [*alike, *(r for r in good if r not in alike)][:count]


def _record(run: PastRun) -> str:
    """Everything that words are looked for in."""
    day = run.at.astimezone()
    outcome = {True: "good", False: "bad", None: ""}[run.good]
    told = [run.title, run.words, run.result, run.defect, canonical(run.defect) if run.defect else "", outcome, *run.tanks]
    return " ".join([*(t for t in told if t), *run.photos, f"{day:%Y-%m-%d} {day:%d %b %Y}", run.id]).casefold()


def _came_out(run: PastRun, result: str) -> bool:
    word = result.strip().casefold()
    if word in ("good", "bad", "none"):
        return run.good is {"good": True, "bad": False, "none": None}[word]
    return word in (run.result or "").casefold()
