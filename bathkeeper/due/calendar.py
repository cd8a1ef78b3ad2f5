"""Findings from time and use: readings overdue, baths over their age, readings in doubt, tanks without a make-up."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import datetime, timedelta

from bathkeeper.catalogue.schema import Due, Recipe
from bathkeeper.entries import Calibration
from bathkeeper.estimate.view import LastReading, TankView
from bathkeeper.estimate.wear import SECONDS_PER_DAY
from bathkeeper.findings import Because, Finding
from bathkeeper.units.numerals import figures

CALIBRATION_DAYS = 365.0  # [practice]
SOON = 0.8  # of a bath's life, from which its end is announced [practice]


def calendar_findings(view: TankView, recipe: Recipe | None, now: datetime) -> Iterator[Finding]:
    """Everything that the calendar and the counters of one tank ask for."""
    if not view.alive:
        if view.role != "dry" and view.in_service:
            yield _empty(view)
        return
    if recipe is not None:
        if recipe.life is not None:
            yield from _age(view, recipe.life, now)
        for name, due in recipe.readings.items():
            yield from _overdue(view, name, due, now)
    for name, last in view.doubtful.items():
        yield _doubt(view, name, last)


def calibration_findings(calibrations: Iterable[Calibration], now: datetime) -> Iterator[Finding]:
    """Instruments whose last comparison with something better is long ago."""
    for entry in calibrations:
        days = (now - entry.at).total_seconds() / SECONDS_PER_DAY
        if entry.what == "titrant lot" or days <= CALIBRATION_DAYS:
            continue
        yield Finding(
            id=f"workshop.calibration.{entry.name}",
            tank="workshop",
            what=f"{entry.what} {entry.name} was last compared with something better {days:.0f} days ago",
            why=f"on {entry.at:%d %b %Y}, against {entry.against}; its error has had time to wander",
            level="later",
            by=entry.at + timedelta(days=CALIBRATION_DAYS),
            because=Because(
                text="What an instrument shows wrong is wrong the same way every time, and only a comparison tells it.",
                entries=(entry.id,),
                sources=("practice: once a year",),
            ),
        )


def _empty(view: TankView) -> Finding:
    return Finding(
        id=f"{view.tank}.make_up.bath",
        tank=view.tank,
        what=f"{view.tank} has no make-up on record",
        why="nothing can be said of its contents before its filling is logged",
        level="later",
        because=Because(
            text="A bath's life counts from its make-up entry.",
            sources=("asked of every tank in service that holds liquid: practice",),
        ),
    )


def _age(view: TankView, life: Due, now: datetime) -> Iterator[Finding]:
    used = {
        "days": (view.life_days or 0.0, life.days, "days"),
        "area": (view.area_dm2["since_make_up"], life.area_dm2, "dm2"),
        "charge": (view.charge_ah["since_make_up"], life.charge_ah, "Ah"),
    }
    worst = max(((a / limit, a, limit, unit) for a, limit, unit in used.values() if limit), default=None)
    if worst is None or worst[0] < SOON:
        return
    share, amount, limit, unit = worst
    by = (
        view.made_up + timedelta(days=life.days)
        if life.days is not None and view.made_up is not None and unit == "days"
        else None
    )
    yield Finding(
        id=f"{view.tank}.age.bath",
        tank=view.tank,
        what=f"bath has done {amount:.0f} of the usual {limit:.0f} {unit}",
        why="past its usual life: look at its signs, then refresh or replace"
        if share >= 1
        else "its usual life is nearly over",
        level="now" if share >= 1.25 else "soon" if share >= 1 else "later",
        by=by,
        because=Because(
            text="Age is one sign among several; the bath's own readings say more.",
            entries=(),
            formula=f"{amount:.0f} / {limit:.0f} {unit}",
            sources=(f"{life.status}: {life.source or 'an editable default'}",),
        ),
    )


def _overdue(view: TankView, name: str, due: Due, now: datetime) -> Iterator[Finding]:
    last = _last_of(view, name)
    since = last.at if last is not None else view.made_up
    if since is None:
        return
    days = (now - since).total_seconds() / SECONDS_PER_DAY
    charge = view.charge_ah["since_make_up"] - (last.charge_ah if last is not None else 0.0)
    late = max(days / due.days if due.days else 0.0, charge / due.charge_ah if due.charge_ah else 0.0)
    if late <= 1:
        return
    title = "pH" if name == "ph" else name
    ever = f"last read {since:%d %b}" if last is not None else "not read since the make-up"
    spells = [f"{due.days:g} days"] if due.days is not None else []
    spells += [f"{due.charge_ah:g} Ah"] if due.charge_ah is not None else []
    yield Finding(
        id=f"{view.tank}.reading.{name}",
        tank=view.tank,
        what=f"{title} has not been read for {days:.0f} days" + (f" and {charge:.0f} Ah" if due.charge_ah else ""),
        why=f"{ever}; every {' or '.join(spells)} keeps the estimate sharp",
        level="soon" if late > 1.5 else "later",
        by=since + timedelta(days=due.days) if due.days is not None else None,
        because=Because(
            text="Between readings the interval widens with every load.",
            entries=(last.entry,) if last is not None else (),
            sources=(f"{due.status}: {due.source or 'an editable default'}",),
        ),
    )


def _last_of(view: TankView, name: str) -> LastReading | None:
    if name in view.species:
        return view.species[name].last_reading
    indicator = view.indicators.get(name) or (view.indicators.get("volume") if name == "level" else None)
    return indicator.last_reading if indicator is not None else None


def _doubt(view: TankView, name: str, last: LastReading) -> Finding:
    spread = last.expected_spread or 0.0
    expected = f"expected {figures(last.expected, spread)} ± {figures(spread)}" if last.expected is not None else "not expected"
    read = f"{figures(last.value, spread) if last.value is not None else last.word} {last.unit}"
    return Finding(
        id=f"{view.tank}.doubt.{name}",
        tank=view.tank,
        what=f"a reading of {name.replace(':', ' ')} is in doubt: {expected}, read {read}",
        why=f"read it again: if the second agrees both count; or confirm it: log reading confirms={last.entry[-8:]}",
        level="now",
        because=Because(
            text="Further off than one in a thousand; kept and shown, not used.",
            entries=(last.entry,),
            formula="(read - expected)^2 / (variance of both) > 10.83, the 99.9 % point of chi-square",
            sources=("chi-square distribution, one degree of freedom",),
        ),
    )
