"""A run repeated: the same tanks and times, the currents scaled with the area so that current density stays."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import msgspec

from bathkeeper.entries import Charge, CurrentStep, Part, Ramp, Run, Step
from bathkeeper.units.numerals import figures


class AgainError(ValueError):
    """A run that cannot be repeated as asked: what was wrong, and what would be right."""


@dataclass(frozen=True)
class Again:
    """``raw``: a plain entry ready to be logged, without an id. ``lines``: what was taken over, scaled and left out."""

    raw: dict[str, Any]
    lines: tuple[str, ...]


def again(run: Run, *, at: datetime, area_dm2: float | None = None, parts: Sequence[Mapping[str, Any]] | None = None) -> Again:
    """The run once more at another moment; with ``area_dm2`` or other ``parts`` (plain fields of a part) for the load.

    What was measured on the old load (masses, result, defect, rejects, photos, note) is left out; a counter's or a trace's
    charge is repeated as the charge that it came to, since the new load has not been counted yet.

    Raises:
        AgainError: both an area and parts, an area that is not above zero, parts that cannot be, or no offset in ``at``.
    """
    if at.tzinfo is None:
        raise AgainError(f"{at.isoformat()} has no offset from UTC; an entry's moment needs one")
    if area_dm2 is not None and parts is not None:
        raise AgainError("give either the area of the new load or its parts, not both")
    if area_dm2 is not None and not 0 < area_dm2 <= 1e6:
        raise AgainError(f"an area of {area_dm2:g} dm2 cannot be; give the area of the whole load, above zero")
    lines: list[str] = []
    old_area = run.area_dm2
    load = _parts(run, area_dm2, parts, lines)
    new_area = sum(p.area_dm2 or 0.0 for p in load)
    factor = 1.0
    if old_area > 0 and new_area > 0:
        factor = new_area / old_area
        if abs(factor - 1) > 1e-9:
            lines.append(
                f"area {figures(old_area)} -> {figures(new_area)} dm2: currents times {factor:.3g}, "
                "so that current density and times stay"
            )
    elif area_dm2 is not None or parts is not None:
        unknown = "the old load's" if old_area <= 0 else "the new load's"
        lines.append(f"{unknown} area is not on record, so the currents stay as they were; check them")
    steps = [_step(s, factor, lines) for s in run.steps]
    raw: dict[str, Any] = {"kind": "run", "at": at.isoformat(), "steps": _plain(steps)}
    if load:
        raw["parts"] = _plain(load)
    return Again(raw, tuple(dict.fromkeys(lines)))


def _parts(run: Run, area_dm2: float | None, parts: Sequence[Mapping[str, Any]] | None, lines: list[str]) -> list[Part]:
    if parts is not None:
        try:
            return msgspec.convert(list(parts), list[Part])
        except (msgspec.ValidationError, ValueError) as problem:
            raise AgainError(f"these parts cannot be: {problem}") from None
    kept = [msgspec.structs.replace(p, coating_stripped_g=None) for p in run.parts]
    if any(p.coating_stripped_g for p in run.parts):
        lines.append("the coating that was stripped from the old load is left out")
    if area_dm2 is None:
        return kept
    if run.area_dm2 <= 0:
        name = kept[0].description if kept else "load"
        first = kept[0] if kept else Part(description=name)
        return [msgspec.structs.replace(first, area_dm2=area_dm2, spread=None), *kept[1:]]
    return [_resized(p, area_dm2 / run.area_dm2, lines) for p in kept]


def _resized(part: Part, factor: float, lines: list[str]) -> Part:
    """The part with another area; its count follows where that comes to whole pieces."""
    count = part.count * factor
    whole = round(count)
    if part.count > 1 and abs(factor - 1) > 1e-9:
        fits = whole >= 1 and abs(count - whole) <= 0.02 * whole
        told = str(whole) if fits else "left open"
        lines.append(f"{part.description}: {part.count} pieces before, {told} now")
        part = msgspec.structs.replace(part, count=whole if fits else 1)
    return msgspec.structs.replace(
        part,
        area_dm2=_tidied(part.area_dm2 * factor) if part.area_dm2 is not None else None,
        spread=_tidied(part.spread * factor) if part.spread is not None else None,
    )


def _step(step: Step, factor: float, lines: list[str]) -> Step:
    charge = _charge(step.charge, factor, step.tank, lines) if step.charge is not None else None
    branches = tuple(
        msgspec.structs.replace(b, charge=_charge(b.charge, factor, step.tank, lines), volts=None) for b in step.branches
    )
    return msgspec.structs.replace(step, charge=charge, branches=branches)


def _charge(charge: Charge, factor: float, tank: str, lines: list[str]) -> Charge:
    spread = _tidied(charge.spread * factor) if charge.spread is not None else None
    if charge.current_a is not None:
        return Charge(current_a=_tidied(charge.current_a * factor), spread=spread)
    if charge.stretches is not None:
        stretches = tuple(CurrentStep(current_a=_tidied(s.current_a * factor), minutes=s.minutes) for s in charge.stretches)
        return Charge(stretches=stretches, spread=spread)
    if charge.ramp is not None:
        r = charge.ramp
        ramp = Ramp(from_a=_tidied(r.from_a * factor), to_a=_tidied(r.to_a * factor), minutes=r.minutes)
        return Charge(ramp=ramp, spread=spread)
    if charge.charge_ah is not None:
        return Charge(charge_ah=_tidied(charge.charge_ah * factor), spread=spread)
    if charge.counter is not None:
        c = charge.counter
        passed = c.end_ah - c.start_ah if c.end_ah >= c.start_ah else c.end_ah
        lines.append(f"{tank}: the counter had gone on by {figures(passed)} Ah; repeated as that charge, to be read anew")
    else:
        assert charge.trace is not None
        passed = charge.trace.charge_ah
        lines.append(f"{tank}: the trace came to {figures(passed)} Ah; repeated as that charge, to be logged anew")
    return Charge(charge_ah=_tidied(passed * factor))


def _plain(pieces: list[Step] | list[Part]) -> Any:
    """As JSON has it: lists, not tuples, and nothing that is at its default."""
    return msgspec.json.decode(msgspec.json.encode(pieces))


def _tidied(value: float) -> float:
    """Without the last digits that only multiplication left."""
    return float(f"{value:.6g}")
