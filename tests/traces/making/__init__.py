"""The corpus of small logs, one or more for each trait that logs in the wild have: ``python -m tests.traces.making`` writes it.

Every file is ours: an invented load, told in one dialect or with one trait. The right charge is reckoned here from the invented
samples, by exact sums, never by the reader.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from bathkeeper.traces.asking import Answers
from bathkeeper.traces.zones import zone_named
from tests.traces.making import cells, clocks, currents, heads, lines  # noqa: F401  (their cases add themselves)
from tests.traces.making.cases import CASES, START, Case, Sample, charge, load

FOLDER = Path(__file__).parents[1] / "corpus"


def answers(told: Mapping[str, Any]) -> Answers:
    """Answers as the table of the corpus keeps them; the clock is at UTC where they do not say."""
    zone, only = told.get("zone", "UTC"), told.get("only")
    return Answers(**{**told, "zone": zone_named(zone) if zone else None, "only": tuple(only) if only else None})


def every() -> list[Case]:
    """All cases."""
    return [f() for f in CASES]


__all__ = ["FOLDER", "START", "Case", "Sample", "answers", "charge", "every", "load"]
