"""A clue: the chance that something is beyond its edge, and how much likelier that makes a cause.

How much follows from how often it would be so anyway (``ANYWAY``) and how often when that cause is at work (``IF_SO``): 0.15
against 0.8 [practice]. What is not known leaves a cause where it is and says what is missing.
"""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from bathkeeper.catalogue.defects import Evidence
from bathkeeper.catalogue.schema import Window
from bathkeeper.entries import AnyEntry, Run
from bathkeeper.estimate.state import Z95, Point, TankState
from bathkeeper.estimate.world import World
from bathkeeper.runs.past import PastRun
from bathkeeper.units.numerals import figures

ANYWAY, IF_SO = 0.15, 0.8


@dataclass(frozen=True)
class Clue:
    """One piece of evidence as it stands. ``chance`` that it is beyond its edge, None while not known; ``factor`` is how much
    likelier it makes the cause, 1 for what is not known or only repeats another clue."""

    evidence: Evidence
    tank: str
    chance: float | None
    factor: float
    text: str
    entries: tuple[str, ...] = ()
    sources: tuple[str, ...] = ()

    @property
    def known(self) -> bool:
        return self.chance is not None

    @property
    def speaks(self) -> bool:
        """For its cause."""
        return self.factor > 1


@dataclass(frozen=True)
class Scene:
    """Where clues are looked for: the workshop now, what is on record up to ``at``, the run (if it is one that failed), other
    runs through the same tank, and the tank that the defect arose in."""

    world: World
    entries: Sequence[AnyEntry]
    at: datetime
    tank: str
    run: Run | None
    past: PastRun | None
    others: Sequence[PastRun]

    @property
    def moment(self) -> datetime:
        return self.run.at if self.run is not None else self.at

    def tanks(self, role: str) -> list[TankState]:
        """The tank of the defect, or those of another role: the run's own before the rest of the line."""
        if not role:
            return [self.world.tanks[self.tank]]
        of_role = [t for t in self.world.tanks.values() if t.entry.role == role and t.entry.in_service]
        passed = {s.tank for s in self.run.steps} if self.run is not None else set()
        return [t for t in of_role if t.name in passed] or of_role


def factor_of(chance: float) -> float:
    """How much likelier a cause becomes, p IF_SO/ANYWAY + (1 - p)(1 - IF_SO)/(1 - ANYWAY): 1 at p = ANYWAY, 5.3 at p = 1."""
    return chance * IF_SO / ANYWAY + (1.0 - chance) * (1.0 - IF_SO) / (1.0 - ANYWAY)


def unknown(evidence: Evidence, state: TankState, why: str, entries: tuple[str, ...] = ()) -> Clue:
    return Clue(evidence, state.name, None, 1.0, why, entries)


def made_clue(
    evidence: Evidence, state: TankState, chance: float, text: str, entries: Iterable[str] = (), sources: Iterable[str] = ()
) -> Clue:
    chance = min(max(chance, 0.0), 1.0)
    return Clue(evidence, state.name, chance, factor_of(chance), text, tuple(dict.fromkeys(entries)), tuple(sources))


def below(z: float) -> float:
    """The standard normal distribution function."""
    return 0.5 * math.erfc(-z / math.sqrt(2.0))


def beyond(value: float, sd: float, edge: float, side: str) -> float:
    """Chance that something believed to be ``value`` with that deviation is on the wrong side of an edge."""
    z = (edge - value) / max(sd, 1e-9 * max(abs(edge), 1.0))
    return below(z) if side == "low" else 1.0 - below(z)


def edge_of(window: Window, side: str) -> float | None:
    return (window.low if window.low is not None else window.give_up_low) if side == "low" else (
        window.high if window.high is not None else window.give_up_high
    )  # fmt: skip


def told(value: float, sd: float, unit: str) -> str:
    half = Z95 * sd
    return f"{figures(value, half)} ± {figures(half, half)} {unit}".strip() if half > 0 else f"{value:.3g} {unit}".strip()


def percent(chance: float) -> str:
    return f"beyond it with {100 * chance:.0f} %" if 0.005 < chance < 0.995 else (
        "beyond it" if chance >= 0.995 else "not beyond it"
    )  # fmt: skip


def source_of(window: Window) -> str:
    return f"window: {window.status}{', ' + window.source if window.source else ''}"


def run_id(scene: Scene) -> tuple[str, ...]:
    return (scene.run.id,) if scene.run is not None else ()


def against_usual(value: float, edge: float, side: str, soft: float) -> float:
    """Chance of being beyond a soft edge, on the scale of ratios."""
    if value <= 0:
        return 1.0 if side == "low" else 0.0
    z = math.log(value / edge) / soft
    return below(z) if side == "high" else 1.0 - below(z)


def point_of(scene: Scene, state: TankState) -> Point | None:
    """The tank as believed when the load came out, before what became of the load said anything; None in another life."""
    if state.made_up is None or scene.moment < state.made_up:
        return None
    moments = [p.at for p in state.trail]
    place = bisect_left(moments, scene.moment)
    if place < len(moments) and moments[place] == scene.moment:
        return state.trail[place]
    place = bisect_right(moments, scene.moment)
    return state.trail[place - 1] if place else None
