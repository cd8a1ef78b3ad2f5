"""The parts of this workshop: what its runs and its keeper's definitions tell of a part's area, offered by name."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from bathkeeper.catalogue.own import OwnPart
from bathkeeper.entries import AnyEntry, Part, Run, Unknown

ONE_RUN_SPREAD = 0.15  # 95 % half-width of an area told once, without a spread of its own [practice]


@dataclass(frozen=True)
class KnownPart:
    """A part that came before: area and 95 % half-width of one piece in dm2, how often it came, and what safety asks of it."""

    name: str
    area_dm2: float
    spread_dm2: float
    times: int
    last_run: str | None
    defined: bool
    property_class: str | None = None
    strength_mpa: float | None = None
    safety_critical: bool = False


def known_parts(entries: Iterable[AnyEntry | Unknown], own: Mapping[str, OwnPart]) -> dict[str, KnownPart]:
    """Parts by name (as last written), those of the latest runs first; a definition of the keeper's wins over what runs tell.

    The area of one piece is the mean over all pieces that were ever run under that name; its spread covers both what each run
    claimed and how much the runs differ. ``entries`` are those in force, in order of time.
    """
    told: dict[str, list[tuple[str, Part]]] = {}
    names: dict[str, str] = {}
    for entry in entries:
        if not isinstance(entry, Run):
            continue
        for part in entry.parts:
            if part.area_dm2:
                key = part.description.casefold()
                told.setdefault(key, []).append((entry.id, part))
                names[key] = part.description
                told[key] = told.pop(key)  # the latest last
    found: dict[str, KnownPart] = {}
    for key in reversed(told):
        found[names[key]] = _learned(names[key], told[key])
    defined = {name: _defined(name, part, told.get(name.casefold(), [])) for name, part in own.items()}
    taken = {name.casefold() for name in defined}
    return {**defined, **{n: p for n, p in found.items() if n.casefold() not in taken}}


def _learned(name: str, runs: list[tuple[str, Part]]) -> KnownPart:
    pieces = sum(p.count for _, p in runs)
    mean = sum(p.area_dm2 or 0.0 for _, p in runs) / pieces
    each = [((p.area_dm2 or 0.0) / p.count, p.count) for _, p in runs]
    scatter = math.sqrt(sum(n * (a - mean) ** 2 for a, n in each) / pieces)
    claimed = sum((p.spread if p.spread is not None else ONE_RUN_SPREAD * (p.area_dm2 or 0.0)) for _, p in runs) / pieces
    last = runs[-1][1]
    return KnownPart(
        name, mean, math.hypot(claimed, 2 * scatter), len(runs), runs[-1][0], False,
        last.property_class, last.strength_mpa, last.safety_critical,
    )  # fmt: skip


def _defined(name: str, part: OwnPart, runs: list[tuple[str, Part]]) -> KnownPart:
    spread = part.spread if part.spread is not None else ONE_RUN_SPREAD * part.area_dm2
    return KnownPart(
        name, part.area_dm2, spread, len(runs), runs[-1][0] if runs else None, True,
        part.property_class, part.strength_mpa, part.safety_critical,
    )  # fmt: skip
