"""What is dangerous here by substance, and the hydrogen of the last runs with the fresh air that it needs."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from datetime import datetime

import msgspec

from bathkeeper.catalogue.loader import Catalogue, CatalogueError
from bathkeeper.catalogue.schema import Spread
from bathkeeper.entries import AnyEntry, Run, Unknown
from bathkeeper.estimate.charges import read_charge
from bathkeeper.estimate.world import World
from bathkeeper.findings import Estimate
from bathkeeper.safety.first_help import words_of
from bathkeeper.safety.groups import Vessel
from bathkeeper.safety.hazards import ventilation
from bathkeeper.units.numerals import figures
from bathkeeper.waste.composition import composition
from bathkeeper.waste.loader import load
from bathkeeper.waste.meeting_streams import stream_groups
from bathkeeper.waste.schema import Substance
from bathkeeper.waste.stream import Stream
from bathkeeper.waste.streams import stream_of, stream_of_tank

LAST_RUNS = 5
AS_SUCH = (
    "Statements are those of the substance as such; a dilute bath carries fewer: its safety data sheet says which. What a code "
    "means is told in a few words of ours, from memory."
)
GRAVITY = (("H330", "H300", "H350", "H340", "H360"), ("H314", "H331", "H301", "H334"), ("H318", "H317"))
TRACE_PERCENT = 0.01  # w/w: less of a substance is not listed, except what causes cancer [practice]


class Here(msgspec.Struct, frozen=True, kw_only=True):
    """How much of a substance is in one vessel, % by mass."""

    vessel: str
    percent: Estimate


class SubstanceHere(msgspec.Struct, frozen=True, kw_only=True):
    """A substance of this workshop: its harmonised statements with what they mean, and where it is, the most first; ``shelf``:
    reagents on record that are it. Without statements the supplier's sheet is the only word on it."""

    name: str
    formula: str
    statements: tuple[tuple[str, str], ...]
    where: tuple[Here, ...]
    shelf: tuple[str, ...]
    about: str
    index: str
    status: str
    source: str


class RunHydrogen(msgspec.Struct, frozen=True, kw_only=True):
    """Hydrogen of one step of a run: litres at 25 degC, and the fresh air in m3 that keeps it at 1 %; by the hour in
    ``air_m3_h``."""

    run: str
    at: datetime
    tank: str
    charge_ah: float
    litres: float
    air_m3: float
    air_m3_h: float | None


def container_vessels(world: World) -> tuple[Vessel, ...]:
    """The containers that hold something, with the hazard groups of what they hold."""
    found = []
    for state in world.containers.values():
        if not state.empty:
            stream = stream_of(state)
            groups = stream_groups(stream, world.catalogue)
            found.append(Vessel(name=state.name, kind="container", groups=groups, entries=stream.entries[:3]))
    return tuple(found)


def substances_here(world: World, reagents: Iterable[str]) -> list[SubstanceHere]:
    """Every harmonised substance that tanks, containers and reagents hold by estimate, the gravest first."""
    places: dict[str, list[Here]] = {}
    for stream in _streams(world):
        for part in composition(stream).parts:
            grave = part.substance.carries("H350") or part.substance.carries("H340")
            if part.percent.value >= TRACE_PERCENT or (grave and part.percent.value > TRACE_PERCENT / 100):
                places.setdefault(part.substance.name, []).append(Here(vessel=stream.name, percent=part.percent))
    shelf = _on_shelf(reagents, world.catalogue)
    known = load().substances
    names = [n for n in known if n in places or n in shelf]
    made = [_here(known[n], places.get(n, []), shelf.get(n, [])) for n in names]
    return sorted(made, key=lambda s: (_gravity(known[s.name]), -max((h.percent.value for h in s.where), default=0.0)))


def hydrogen_of_runs(
    entries: Iterable[AnyEntry | Unknown],
    efficiencies: Mapping[str, float],
    spreads: Mapping[str, Spread],
    most: int = LAST_RUNS,
) -> list[RunHydrogen]:
    """The last runs' hydrogen, newest first; ``entries`` newest first. Where no efficiency is known all the current counts."""
    found: list[RunHydrogen] = []
    seen = 0
    for entry in entries:
        if not isinstance(entry, Run) or seen >= most:
            continue
        told = list(_steps(entry, efficiencies, spreads))
        seen += bool(told)
        found += told
    return found


def substance_lines(here: SubstanceHere) -> list[str]:
    """Name with where it is; what its statements mean; the source."""
    where = [f"{h.vessel} {h.percent.value:.2g} %" for h in here.where] + [f"{n} on the shelf" for n in here.shelf]
    by_words: dict[str, list[str]] = {}
    for code, words in here.statements:
        by_words.setdefault(words or "see its sheet", []).append(code)
    told = "; ".join(f"{words} ({', '.join(codes)})" for words, codes in by_words.items())
    none = "no harmonised entry: the supplier's safety data sheet is the only word on it"
    more = [told or none, *([here.about] if here.about else []), f"CLP Annex VI, {here.index}" if here.index else here.source]
    return [f"{here.name}{f' ({here.formula})' if here.formula else ''}: {', '.join(where)}", *more]


def hydrogen_line(told: RunHydrogen) -> str:
    """``24 Nov, electrolyte: 4.67 Ah, 0.13 L hydrogen: 0.013 m3 fresh air, 0.019 m3 an hour``."""
    hour = f", {figures(told.air_m3_h)} m3 an hour while it ran" if told.air_m3_h is not None else ""
    made = f"{figures(told.charge_ah)} Ah made {figures(told.litres)} L hydrogen (25 degC)"
    return f"{told.at:%Y-%m-%d %H:%M}, {told.tank}: {made}: {figures(told.air_m3)} m3 fresh air{hour}"


def _steps(run: Run, efficiencies: Mapping[str, float], spreads: Mapping[str, Spread]) -> Iterator[RunHydrogen]:
    for step in run.steps:
        charges = [step.charge] if step.charge is not None else [b.charge for b in step.branches]
        ah = sum(read_charge(c, step.minutes, spreads).charge_ah for c in charges)
        if ah <= 0:
            continue
        air = ventilation(ah, efficiencies.get(step.tank, 0.0))
        hours = step.minutes / 60 if step.minutes else None
        yield RunHydrogen(
            run=run.id, at=run.at, tank=step.tank, charge_ah=ah, litres=air.litres_25c, air_m3=air.air_m3_for_1_percent,
            air_m3_h=air.air_m3_for_1_percent / hours if hours else None,
        )  # fmt: skip


def _streams(world: World) -> Iterator[Stream]:
    yield from (stream_of_tank(t) for t in world.line() if t.alive)
    yield from (stream_of(c) for c in world.containers.values() if not c.empty)


def _on_shelf(reagents: Iterable[str], catalogue: Catalogue) -> dict[str, list[str]]:
    by_formula = {s.formula: n for n, s in load().substances.items() if s.formula}
    found: dict[str, list[str]] = {}
    for name in reagents:
        try:
            formula = catalogue.reagent(name).formula.split(".")[0]
        except CatalogueError:
            continue
        if formula in by_formula:
            found.setdefault(by_formula[formula], []).append(name)
    return found


def _here(substance: Substance, places: list[Here], shelf: list[str]) -> SubstanceHere:
    return SubstanceHere(
        name=substance.name,
        formula=substance.formula,
        statements=tuple((h, words_of(h)) for h in substance.hazards),
        where=tuple(sorted(places, key=lambda h: -h.percent.value)),
        shelf=tuple(shelf),
        about=substance.about,
        status=substance.status,
        index=substance.index,
        source=substance.source,
    )


def _gravity(substance: Substance) -> int:
    """What may kill or cause cancer first, then what burns, then the rest."""
    for rank, codes in enumerate(GRAVITY):
        if any(h.startswith(c) for h in substance.hazards for c in codes):
            return rank
    return len(GRAVITY)
