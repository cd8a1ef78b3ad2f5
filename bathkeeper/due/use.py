"""Findings from counters and the calendar: chores that come again by days or charge, instruments, a heater at low level."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime, timedelta

from bathkeeper.catalogue.chores import Chore, Heater, load_chores
from bathkeeper.catalogue.loader import Catalogue, CatalogueError
from bathkeeper.catalogue.schema import Recipe
from bathkeeper.entries import AnyEntry, Calibration, Reading, Run, Step, Treatment, Unknown
from bathkeeper.estimate.charges import plating_of
from bathkeeper.estimate.view import TankView
from bathkeeper.findings import Because, Finding

INSTRUMENT_USED_DAYS = 60.0  # how long an instrument counts as in use after its last reading [practice]


def chore_findings(
    view: TankView, recipe: Recipe | None, entries: Sequence[AnyEntry | Unknown], catalogue: Catalogue, now: datetime
) -> Iterator[Finding]:
    """What one tank wants again by now; silent on an empty tank."""
    if not view.alive or recipe is None or view.made_up is None:
        return
    known = load_chores()
    for chore in known.chores.values():
        if view.role in chore.roles and _wanted(chore, view, recipe):
            yield from _late(chore, view, entries, catalogue, now)
    yield from _heater(known.heater, view, recipe)


def instrument_findings(entries: Sequence[AnyEntry | Unknown], catalogue: Catalogue, now: datetime) -> Iterator[Finding]:
    """Instruments in use that were not compared with anything for longer than their chore says."""
    for chore in load_chores().chores.values():
        if chore.calibration is None or chore.days is None or chore.method is None:
            continue
        used = [e for e in entries if isinstance(e, Reading) and _by_method(e, chore.method, catalogue)]
        if not used or used[-1].at < now - timedelta(days=INSTRUMENT_USED_DAYS):
            continue
        done = [e for e in entries if isinstance(e, Calibration) and e.what == chore.calibration]
        since = done[-1].at if done else used[0].at
        days = (now - since).total_seconds() / 86400
        if days <= chore.days:
            continue
        last = f"last on {since:%d %b %Y}, against {done[-1].against}" if done else "never on record"
        yield Finding(
            id=f"workshop.chore.{chore.name}",
            tank="workshop",
            what=chore.what,
            why=f"{last}; {chore.why}",
            level="later",
            by=since + timedelta(days=chore.days),
            because=Because(
                text=chore.why,
                entries=tuple(dict.fromkeys(([done[-1].id] if done else []) + [used[-1].id])),
                formula=f"{days:.0f} days of {chore.days:g}",
                sources=(_source(chore),),
            ),
        )


def _wanted(chore: Chore, view: TankView, recipe: Recipe) -> bool:
    if chore.reading is not None and chore.reading in recipe.readings:
        return False  # the recipe says itself how often
    if chore.needs == "ph window":
        return "ph" in recipe.indicators
    if chore.needs == "additive":
        return any(s.kind == "additive" for s in recipe.species.values())
    if chore.needs == "anodes":
        return any(not a.retired for a in view.anodes.values())
    return True


def _late(
    chore: Chore, view: TankView, entries: Iterable[AnyEntry | Unknown], catalogue: Catalogue, now: datetime
) -> Iterator[Finding]:
    assert view.made_up is not None
    own = [e for e in entries if not isinstance(e, Unknown) and view.made_up <= e.at <= now]
    done = [e for e in own if _does(chore, e, view.tank)]
    since = done[-1].at if done else view.made_up
    days = (now - since).total_seconds() / 86400
    charge = view.charge_ah["since_make_up"] if not done else _charge_since(own, view.tank, since, catalogue)
    late = max(days / chore.days if chore.days else 0.0, charge / chore.charge_ah if chore.charge_ah else 0.0)
    if late <= 1:
        return
    spells = [f"{chore.days:g} days"] if chore.days else []
    spells += [f"{chore.charge_ah:g} Ah"] if chore.charge_ah else []
    ever = f"last on {since:%d %b %Y}" if done else "not on record since the make-up"
    yield Finding(
        id=f"{view.tank}.chore.{chore.name}",
        tank=view.tank,
        what=f"{chore.what}: {days:.0f} days and {charge:.0f} Ah since",
        why=f"{ever}; {chore.why}",
        level="later",
        by=since + timedelta(days=chore.days) if chore.days else None,
        because=Because(
            text=chore.why,
            entries=(done[-1].id,) if done else (),
            formula=f"every {' or '.join(spells)}, whichever comes first",
            sources=(_source(chore),),
        ),
    )


def _does(chore: Chore, entry: AnyEntry, tank: str) -> bool:
    if isinstance(entry, Reading):
        return entry.tank == tank and chore.reading is not None and any(v.of.casefold() == chore.reading for v in entry.values)
    names = {chore.treatment, *chore.words}
    return isinstance(entry, Treatment) and entry.tank == tank and entry.what.casefold().replace("-", " ") in names


def _charge_since(entries: Iterable[AnyEntry], tank: str, since: datetime, catalogue: Catalogue) -> float:
    """Ah through a tank after a moment, as the entries state it."""
    total = 0.0
    for entry in entries:
        if isinstance(entry, Run) and entry.at > since:
            total += sum(_step_ah(s, catalogue) for s in entry.steps if s.tank == tank)
        elif isinstance(entry, Treatment) and entry.at > since and entry.tank == tank:
            total += entry.charge_ah or 0.0
    return total


def _step_ah(step: Step, catalogue: Catalogue) -> float:
    if step.charge is None and not step.branches:
        return 0.0
    return plating_of(step, 1.0, catalogue.spreads)[0].read_ah


def _heater(heater: Heater, view: TankView, recipe: Recipe) -> Iterator[Finding]:
    window = recipe.indicators.get("temperature")
    full = view.working_volume_l
    if window is None or not full or view.volume_l.value >= heater.below * full:
        return
    warm = window.low if window.low is not None else window.target
    if warm is None or warm < heater.warm_c:
        return
    yield Finding(
        id=f"{view.tank}.heater.level",
        tank=view.tank,
        what=heater.what,
        why=f"the level is at {view.volume_l.value / full:.0%}; {heater.why}",
        level="now",
        because=Because(
            text=f"{view.tank} is kept at {warm:g} degC or warmer.",
            formula=f"level below {heater.below:.0%} of the working volume",
            sources=(f"{heater.status}: {heater.source or 'an editable default'}",),
        ),
    )


def _by_method(entry: Reading, method: str, catalogue: Catalogue) -> bool:
    for value in entry.values:
        if value.method is not None:
            try:
                if catalogue.method(value.method).name == method:
                    return True
            except CatalogueError:
                continue
    return False


def _source(chore: Chore) -> str:
    return f"{chore.status}: {chore.source or 'an editable default'}"
