"""What an entry says that can be but hardly is: slips of the pen, asked about before they are written.

What is impossible never gets here (``entries.parse`` refuses it). The limits are practice: wide enough that honest work does
not meet them, narrow enough that a slipped decimal point does.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from datetime import datetime, timedelta

from bathkeeper.catalogue.loader import load
from bathkeeper.entries import Addition, Anode, AnyEntry, Calibration, Charge, Item, MakeUp, Reading, Removal, Run, Step, Value
from bathkeeper.estimate.state import TankState
from bathkeeper.units.numerals import figures

TIMES_VOLUME = 3.0  # litres in one entry, in tanks full
TIMES_WORKING = 1.5  # make-up, in working volumes, where the full volume is not stated
HIGHEST_A_DM2 = 20.0  # cathode current density; rack plating of zinc and nickel runs at 0.5 to 5
OVER_WORKING = 1.25  # of the working volume, where the full volume is not stated
LEFT_OVER = 0.1  # of a tank's size: more than this left makes a fresh filling a riddle
LONGEST_MIN = 24 * 60.0  # in one tank
MOST_AH_DM2 = 15.0  # about a quarter of a millimetre of zinc
LEAST_A_DM2 = 0.05  # below this nothing is plated
MOST_DM2_L = 2.0  # parts that go into a tank, by its litres
TIMES_WINDOW = 3.0  # reading beyond the outermost edge of its window
CLOCKS_DIFFER = timedelta(minutes=10)
MOST_OFF = 1.25  # an instrument further off than that is broken, or the two numbers were taken the wrong way round
YEARS_BACK = 5
LITRES_PER = {"mL": 0.001, "L": 1.0}


def implausible(entry: AnyEntry, before: Mapping[str, TankState], after: Mapping[str, TankState], now: datetime) -> list[str]:
    """Every doubt about an entry, as a clause such as ``400 L of water is 10 times what electrolyte holds (40 L)``.

    ``before`` and ``after``: the tanks by name as estimated without and with the entry, at its moment.
    """
    return [
        *_moment(entry, now),
        *_amounts(entry, before),
        *_doubled(entry, before, after),
        *_overfull(entry, before, after),
        *_calibrated(entry),
    ]


def implausible_alone(entry: AnyEntry, tanks: Mapping[str, TankState], now: datetime) -> list[str]:
    """The doubts that an entry raises by its own numbers and its tank's size, whatever else the book says: for many entries at
    once, whose order is still to be found."""
    return [*_moment(entry, now), *_amounts(entry, tanks), *_calibrated(entry)]


def _overfull(entry: AnyEntry, before: Mapping[str, TankState], after: Mapping[str, TankState]) -> Iterator[str]:
    """More in a tank than it can hold, and a filling on top of what was never taken out."""
    if isinstance(entry, MakeUp) and entry.tank in before and before[entry.tank].alive:
        held = before[entry.tank].volume_l
        if held > LEFT_OVER * _size(before[entry.tank]):
            yield f"{entry.tank} still holds about {figures(held)} L by the book; log first what became of it (removal)"
    if isinstance(entry, Addition) and entry.tank in after and entry.tank in before:
        most = _most(after[entry.tank])
        if after[entry.tank].volume_l > most > 0 and after[entry.tank].volume_l > before[entry.tank].volume_l:
            yield f"it would make {figures(after[entry.tank].volume_l)} L in {entry.tank}, which holds {figures(most)} L"
    if isinstance(entry, Reading) and entry.tank is not None and entry.tank in before:
        most = _most(before[entry.tank])
        litres = [v for v in entry.values if v.of in ("level", "volume") and v.unit == "L"]
        for value in litres:
            if value.value is not None and value.value > most > 0:
                yield f"{value.of} {figures(value.value)} L is more than {entry.tank} holds ({figures(most)} L)"


def _most(tank: TankState) -> float:
    """What can be in a tank, litres: its full volume, else well over its working volume; 0 when neither is known."""
    return tank.entry.full_volume_l or OVER_WORKING * (tank.entry.working_volume_l or 0.0)


def _calibrated(entry: AnyEntry) -> Iterator[str]:
    if isinstance(entry, Calibration) and not 1 / MOST_OFF <= entry.result <= MOST_OFF:
        yield f"{entry.what} {entry.name} reads {figures(entry.result)} times what is true (result: reads over true)"


def _moment(entry: AnyEntry, now: datetime) -> Iterator[str]:
    if entry.at > now + CLOCKS_DIFFER:
        yield f"{entry.at:%Y-%m-%d %H:%M} is in the future"
    elif (now - entry.at) > timedelta(days=365.25 * YEARS_BACK):
        yield f"{entry.at:%Y-%m-%d} is more than {YEARS_BACK} years back"


def _amounts(entry: AnyEntry, tanks: Mapping[str, TankState]) -> Iterator[str]:
    match entry:
        case Addition():
            litres = sum(i.amount * LITRES_PER.get(i.unit, 0.0) for i in entry.items)
            yield from _litres(litres, "in one addition", tanks.get(entry.tank))
            yield from _other_acid(entry.items, tanks.get(entry.tank))
        case Removal() if entry.volume_l is not None:
            yield from _litres(entry.volume_l, "taken out", tanks.get(entry.tank))
        case MakeUp():
            yield from _make_up(entry.volume_l, tanks.get(entry.tank))
            yield from _other_acid(entry.reagents, tanks.get(entry.tank))
        case Reading():
            for value in entry.values:
                yield from _reading(value, tanks.get(entry.tank or ""))
        case Run():
            if any(p.area_dm2 == 0 for p in entry.parts):
                yield "the area is 0; leave it out where it is not known"
            for step in entry.steps:
                yield from _density(step, entry.area_dm2)
                yield from _step(step, entry.area_dm2, tanks.get(step.tank))
        case Anode() if entry.action == "hung":
            yield from _anode(entry, tanks.get(entry.tank))


def _litres(litres: float, how: str, tank: TankState | None) -> Iterator[str]:
    holds = _size(tank)
    if tank is not None and holds and litres > TIMES_VOLUME * holds:
        yield f"{figures(litres)} L {how} is {figures(litres / holds)} times what {tank.name} holds ({figures(holds)} L)"


def _make_up(litres: float, tank: TankState | None) -> Iterator[str]:
    if tank is None:
        return
    full, working = tank.entry.full_volume_l, tank.entry.working_volume_l
    if full is not None and litres > full:
        yield f"{figures(litres)} L is more than {tank.name} holds when full ({figures(full)} L)"
    elif full is None and working is not None and litres > TIMES_WORKING * working:
        times = figures(litres / working)
        yield f"{figures(litres)} L is {times} times the working volume of {tank.name} ({figures(working)} L)"


def _other_acid(items: Iterable[Item], tank: TankState | None) -> Iterator[str]:
    """An acid in a pickle or dip whose recipe counts another one: its strength would be right, its grams and codes not."""
    recipe = tank.recipe if tank is not None else None
    counted = next((s for s in recipe.species.values() if s.kind == "acid" and s.formula), None) if recipe is not None else None
    if tank is None or recipe is None or counted is None:
        return
    known, usual = load().reagents, {step.reagent for step in recipe.make_up}
    for item in items:
        reagent = known.get(item.reagent)
        if reagent is None or reagent.acid_equivalents <= 0 or reagent.formula == counted.formula or item.reagent in usual:
            continue
        yield f"{item.reagent} is another acid than {recipe.name} counts in {tank.name} ({counted.formula}): is it the recipe?"


def _reading(value: Value, tank: TankState | None) -> Iterator[str]:
    if tank is None or value.value is None:
        return
    of = value.of.replace("_", " ")
    if of in ("volume", "level"):
        return  # asked about with the tank's size
    indicators = tank.recipe.indicators if tank.recipe is not None else {}
    window = tank.species.get(of) or indicators.get(value.of) or indicators.get(of)
    if window is None or window.unit != value.unit:
        return
    highest = window.give_up_high if window.give_up_high is not None else window.high
    lowest = window.give_up_low if window.give_up_low is not None else window.low
    read = f"{of} {figures(value.value)} {value.unit}" if value.unit != "pH" else f"pH {figures(value.value)}"
    if highest and value.value > TIMES_WINDOW * highest:
        yield f"{read} is more than {TIMES_WINDOW:g} times the upper edge of its window ({figures(highest)})"
    elif lowest and value.unit != "degC" and value.value < lowest / TIMES_WINDOW:  # a cold tank is only a cold tank
        yield f"{read} is less than a third of the lower edge of its window ({figures(lowest)})"


def _density(step: Step, area_dm2: float) -> Iterator[str]:
    if area_dm2 <= 0:
        return
    charges = [step.charge] if step.charge is not None else [b.charge for b in step.branches]
    current = sum(_highest_a(c, step.minutes) for c in charges)
    if current > HIGHEST_A_DM2 * area_dm2:
        yield (
            f"{figures(current)} A on {figures(area_dm2)} dm2 in {step.tank} is {figures(current / area_dm2)} A/dm2; "
            f"above {HIGHEST_A_DM2:g} nothing is plated here"
        )


def _step(step: Step, area_dm2: float, tank: TankState | None) -> Iterator[str]:
    if step.minutes is not None and step.minutes > LONGEST_MIN:
        yield f"{figures(step.minutes / 60)} h in {step.tank} is more than a day"
    charges = [step.charge] if step.charge is not None else [b.charge for b in step.branches]
    if charges and tank is not None and (tank.recipe is None or tank.recipe.electrode is None):
        yield f"current in {step.tank}, which has no electrodes by its recipe"
    charge = sum(_highest_a(c, step.minutes) * (step.minutes or 0.0) / 60 for c in charges)
    electrode = tank.recipe.electrode if tank is not None and tank.recipe is not None else None
    deposits = electrode is not None and electrode.deposit
    if deposits and area_dm2 > 0 and charge > 0:
        if charge / area_dm2 > MOST_AH_DM2:
            yield f"{figures(charge)} Ah on {figures(area_dm2)} dm2 in {step.tank} would lay down more than 0.2 mm"
        elif step.minutes and charge * 60 / step.minutes / area_dm2 < LEAST_A_DM2:
            yield f"{figures(charge * 60 / step.minutes / area_dm2)} A/dm2 in {step.tank} plates nothing; is the area right?"
    size = _size(tank)
    if size and area_dm2 > MOST_DM2_L * size:
        yield f"{figures(area_dm2)} dm2 do not go into {step.tank} ({figures(size)} L)"


def _anode(entry: Anode, tank: TankState | None) -> Iterator[str]:
    if tank is None or tank.recipe is None or entry.metal is None:
        return
    recipe = tank.recipe
    worn = {e.to[6:] for term in recipe.wear for e in term.effects if e.to.startswith("anode:")}
    named = (*recipe.electrode.anodes, *recipe.electrode.inert) if recipe.electrode is not None else ()
    fitting = {*named, *worn}
    if entry.metal not in fitting:
        known = ", ".join(sorted(fitting)) or "none"
        yield f"{entry.metal} is no anode for {entry.tank} (its recipe has: {known})"


def _highest_a(charge: Charge, minutes: float | None) -> float:
    """The highest current that a charge tells of, in A; 0 where it tells of none."""
    if charge.current_a is not None:
        return charge.current_a
    if charge.stretches is not None:
        return max(s.current_a for s in charge.stretches)
    if charge.ramp is not None:
        return max(charge.ramp.from_a, charge.ramp.to_a)
    amount = charge.charge_ah
    if charge.counter is not None:
        amount = max(charge.counter.end_ah - charge.counter.start_ah, 0.0)
    if charge.trace is not None:
        amount = charge.trace.charge_ah
    return amount * 60.0 / minutes if amount is not None and minutes else 0.0


def _doubled(entry: AnyEntry, before: Mapping[str, TankState], after: Mapping[str, TankState]) -> Iterator[str]:
    """A dose that more than doubles a content and leaves it above its window; one that lifts a low content is a cure."""
    if not isinstance(entry, Addition) or entry.tank not in before or entry.tank not in after:
        return
    old, new = before[entry.tank], after[entry.tank]
    if not old.alive:
        return
    for name, species in new.species.items():
        edge = species.high if species.high is not None else species.target
        if name not in old.species or species.kind == "contaminant" or not edge:
            continue
        had, has = old.gauss.value(f"mass:{name}"), new.gauss.value(f"mass:{name}")
        was, there = old.concentration(name)[0], new.concentration(name)[0]
        if has > 2.0 * had and there > edge:
            yield (
                f"it brings {name} in {entry.tank} from {figures(was)} to {figures(there)} {species.unit}, "
                f"more than double and above its window ({figures(edge)})"
            )


def _size(tank: TankState | None) -> float:
    """What a tank holds, litres: as it is described, else what is in it; 0 when neither is known."""
    if tank is None:
        return 0.0
    return tank.entry.working_volume_l or tank.entry.full_volume_l or (tank.volume_l if tank.alive else 0.0)
