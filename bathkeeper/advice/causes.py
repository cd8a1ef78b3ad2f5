"""Cause finder: a defect, and what is likely behind it in *this* bath, each cause with its evidence and the cheapest test.

The catalogue's weights are where it starts; every clue multiplies the weight of the causes that name it by how much likelier
it makes them. With nothing known the ranking is the catalogue's. Nothing here decides: the test does.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from bathkeeper.advice.clue import ANYWAY, IF_SO, Clue, Scene
from bathkeeper.advice.clues import clue_of
from bathkeeper.catalogue import defects as shelf
from bathkeeper.catalogue.defects import Bath, Defect, bath_of, find_defect
from bathkeeper.entries import AnyEntry, Remark, Run, Unknown
from bathkeeper.estimate.world import World
from bathkeeper.findings import Because
from bathkeeper.runs.past import past_runs

LEADING, FEWEST, MOST = 0.75, 2, 4  # weight that the leading causes make up together, and how many they are [practice]
FORMULA = f"weight x product of (p x {IF_SO / ANYWAY:.2f} + (1 - p) x {(1 - IF_SO) / (1 - ANYWAY):.2f}), brought to a sum of 1"


@dataclass(frozen=True)
class Cause:
    """One likely cause. ``prior`` and ``weight`` sum to 1 over all of a defect's causes; ``evidence``: the strongest first;
    ``unknown``: what nobody knows that would tell."""

    name: str
    title: str
    prior: float
    weight: float
    evidence: tuple[Clue, ...]
    unknown: tuple[str, ...]
    test: str
    test_minutes: float
    remedy: str
    caution: str
    because: Because


@dataclass(frozen=True)
class Diagnosis:
    """A defect's causes, the likeliest first. ``tests``: those of the leading causes, the cheapest first."""

    defect: Defect
    tank: str
    bath: Bath
    run: str | None
    causes: tuple[Cause, ...]

    @property
    def leading(self) -> tuple[Cause, ...]:
        """The likeliest causes that together make up most of the weight."""
        total, found = 0.0, list[Cause]()
        for cause in self.causes:
            if len(found) >= MOST or (len(found) >= FEWEST and total >= LEADING):
                break
            found.append(cause)
            total += cause.weight
        return tuple(found)

    @property
    def tests(self) -> tuple[Cause, ...]:
        """The leading causes by the effort of their tests; of two that cost the same, the likelier first."""
        return tuple(sorted(self.leading, key=lambda c: (c.test_minutes, -c.weight)))


def causes_of(
    defect: str | Defect | None,
    world: World,
    entries: Iterable[AnyEntry | Unknown],
    at: datetime,
    *,
    run: str | None = None,
    tank: str | None = None,
) -> Diagnosis:
    """What may be behind a defect. ``run``: id of the load that shows it (then ``defect`` may be left to what the run says);
    ``tank``: where it arose, by default where the run went through such a bath, else the first of the line.

    Raises:
        ValueError: no such run or tank, no defect named, or a defect that does not arise there; says what would do.
    """
    known = sorted((e for e in entries if not isinstance(e, Unknown) and e.at <= at), key=lambda e: e.order)
    load = _run(known, run) if run is not None else None
    found = _defect(defect, known, load)
    where = _tank(found, world, load, tank)
    recipe = world.tanks[where].recipe
    assert recipe is not None
    bath = bath_of(recipe)
    passed = past_runs(known, world, where)
    past = next((p for p in passed if load is not None and p.id == load.id), None)
    others = [p for p in passed if load is None or p.id != load.id]
    scene = Scene(world, known, at, where, load, past, others)
    return Diagnosis(found, where, bath, load.id if load is not None else None, tuple(weighed(found, bath, scene)))


def weighed(defect: Defect, bath: Bath, scene: Scene) -> list[Cause]:
    """The causes of a defect in a bath, the likeliest first; of equals the catalogue's order."""
    causes = defect.causes_in(bath)
    clues = [distinct([clue_of(scene, e) for e in c.evidence], scene) for c in causes]
    priors = shares([c.weight for c in causes])
    weights = shares([c.weight * strength(found) for c, found in zip(causes, clues, strict=True)])
    made = [_cause(*parts) for parts in zip(causes, priors, weights, clues, strict=True)]
    return sorted(made, key=lambda c: -c.weight)


def strength(clues: Sequence[Clue]) -> float:
    """How much likelier a cause's clues make it together. What speaks for it counts in full; what speaks against it counts by
    its part of all that the cause might show by, for a cause shows in one way or another."""
    return math.prod(c.factor if c.factor >= 1 else c.factor ** (1 / len(clues)) for c in clues)


def shares(weights: Sequence[float]) -> list[float]:
    """Weights brought to a sum of 1."""
    total = sum(weights)
    return [w / total for w in weights]


def distinct(clues: Sequence[Clue], scene: Scene) -> list[Clue]:
    """The clues, with those that tell the same fact a second time kept for the eye but not counted: the temperature told with
    the run and the bath's, an additive's estimate and the charge since it went in."""
    additives = {n for t in scene.world.tanks.values() for n, s in t.species.items() if s.kind == "additive"}
    found: list[Clue] = []
    told: set[tuple[str, str]] = set()
    estimated = any(c.known and c.evidence.kind == "content" and c.evidence.of in additives for c in clues)
    for clue in clues:
        e = clue.evidence
        heat = (e.at, e.side) if e.of in ("temperature", "temperature_c") else None
        again = (heat in told) or (estimated and e.kind == "counter" and e.of.startswith("since_addition"))
        if clue.known and again:
            clue = replace(clue, factor=1.0, text=f"{clue.text} (told already)")
        elif clue.known and heat is not None:
            told.add(heat)
        found.append(clue)
    return found


def _cause(cause: shelf.Cause, prior: float, weight: float, clues: Sequence[Clue]) -> Cause:
    known = sorted((c for c in clues if c.known), key=lambda c: -c.factor)
    missing = tuple(dict.fromkeys(c.text for c in clues if not c.known))
    told = "; ".join(c.text for c in known) or "nothing on record tells for or against it"
    return Cause(
        name=cause.name,
        title=cause.title,
        prior=prior,
        weight=weight,
        evidence=tuple(known),
        unknown=missing,
        test=cause.test,
        test_minutes=cause.test_minutes,
        remedy=cause.remedy,
        caution=cause.caution,
        because=Because(
            text=f"{prior:.0%} before anything was looked up, {weight:.0%} now: {told}",
            entries=tuple(dict.fromkeys(e for c in known for e in c.entries)),
            formula=FORMULA,
            sources=tuple(dict.fromkeys([f"{cause.status} {cause.source}".strip(), *(s for c in known for s in c.sources)])),
        ),
    )


def _run(entries: Sequence[AnyEntry], name: str) -> Run:
    runs = [e for e in entries if isinstance(e, Run)]
    found = [r for r in runs if r.id == name or r.id.endswith(name)]
    if len(found) != 1:
        last = f"; the last one is {runs[-1].id}" if runs else "; none is on record"
        raise ValueError(f"{'several runs end' if found else 'no run ends'} in `{name}`{last}")
    return found[0]


def _defect(defect: str | Defect | None, entries: Sequence[AnyEntry], run: Run | None) -> Defect:
    if isinstance(defect, Defect):
        return defect
    if defect is not None:
        return find_defect(defect)
    words = [run.defect] if run is not None and run.defect else []
    words += [e.defect for e in entries if isinstance(e, Remark) and run is not None and e.run == run.id and e.defect]
    if not words:
        raise ValueError("no defect is on record for that run; name one, such as dull, burnt, pitting, blisters")
    return find_defect(words[-1])


def _tank(defect: Defect, world: World, run: Run | None, name: str | None) -> str:
    """The tank that the defect arose in."""
    here = sorted((t for t in world.tanks.values() if t.entry.in_service), key=lambda t: (t.entry.place, t.entry.at, t.name))
    fitting = [t.name for t in here if t.recipe is not None and bath_of(t.recipe) in defect.baths]
    if name is not None:
        if name not in world.tanks:
            raise ValueError(f"no tank is called `{name}`; there are {', '.join(world.tanks) or 'none yet'}")
        if name not in fitting:
            raise ValueError(f"{defect.title} does not arise in {name}; it arises in baths of {', '.join(defect.baths)}")
        return name
    passed = [s.tank for s in run.steps] if run is not None else []
    candidates = [t for t in passed if t in fitting] if run is not None else fitting
    if not candidates:
        raise ValueError(
            f"{defect.title} arises in baths of {', '.join(defect.baths)}; "
            + ("that run went through none" if run is not None else "the line has none")
        )
    return candidates[-1]


def sentences(found: Diagnosis, most: int = 5) -> list[str]:
    """What a keeper is told, line by line, in fixed units."""
    lines = [f"{found.defect.title} in {found.tank}: {found.defect.looks}"]
    if found.defect.caution:
        lines.append(found.defect.caution)
    for place, cause in enumerate(found.causes[:most], start=1):
        lines.append(f"{place}. {cause.title}: {cause.weight:.0%} (before any evidence {cause.prior:.0%})")
        lines += [f"   {'+' if c.speaks else '-' if c.factor < 1 else ' '} {c.text}" for c in cause.evidence]
        lines += [f"   ? {text}" for text in cause.unknown]
    lines.append("to tell them apart, the cheapest first:")
    lines += [f"   {c.test} ({c.title})" + (f" {c.caution}" if c.caution else "") for c in found.tests]
    return lines
