"""From the way an entry tells a charge to ampere-hours and how sure they are."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from bathkeeper.catalogue.schema import Spread
from bathkeeper.chemistry import charge as integrate
from bathkeeper.entries import Charge, Step
from bathkeeper.estimate.electrode import BranchCharge, Plating
from bathkeeper.estimate.state import LARGEST_SPREAD, Z95

UNNAMED_SUPPLY = "unnamed supply"


@dataclass(frozen=True)
class ReadCharge:
    """Ampere-hours as the instrument told them; ``relative`` is the 95 % half-width of the scatter as a fraction."""

    charge_ah: float
    relative: float
    remark: str = ""


def read_charge(charge: Charge, minutes: float | None, spreads: Mapping[str, Spread]) -> ReadCharge:
    """Integrates a charge, told in any of its ways. ``minutes`` is the step's; only a plain current needs it."""
    remark = ""
    if charge.charge_ah is not None:
        amount, usual, base = charge.charge_ah, spreads["charge stated"].relative, charge.charge_ah
    elif charge.current_a is not None:
        amount = integrate.constant(charge.current_a, minutes or 0.0)
        usual, base = spreads["charge constant"].relative, charge.current_a
    elif charge.stretches is not None:
        amount = integrate.stretches([(s.current_a, s.minutes) for s in charge.stretches])
        usual, base = spreads["charge stretches"].relative, amount
    elif charge.ramp is not None:
        amount = integrate.ramp(charge.ramp.from_a, charge.ramp.to_a, charge.ramp.minutes)
        usual, base = spreads["charge ramp"].relative, amount
    elif charge.counter is not None:
        counted = integrate.counter(charge.counter.start_ah, charge.counter.end_ah)
        amount = counted.charge_ah
        usual, base = spreads["charge counter"].relative, amount
        if counted.was_reset:
            remark = (
                f"the counter ran from {charge.counter.start_ah:g} back to {charge.counter.end_ah:g} Ah: "
                f"taken as reset to zero at the start, {amount:g} Ah"
            )
            usual = max(usual, 0.25)
    else:
        assert charge.trace is not None
        amount = charge.trace.charge_ah
        if charge.trace.gap_minutes > 0:
            remark = (
                f"the trace has gaps of {charge.trace.gap_minutes:g} min in all, which are not counted; bridged they would add "
                f"{charge.trace.gap_charge_ah:g} Ah"
            )
        usual, base = spreads["charge trace"].relative, amount
    relative = min(charge.spread / base, LARGEST_SPREAD) if charge.spread is not None and base > 0 else usual
    return ReadCharge(amount, relative, remark)


def plating_of(step: Step, area_dm2: float, spreads: Mapping[str, Spread]) -> tuple[Plating, float, list[str]]:
    """(the step's plating, variance of the log of its charge, remarks)."""
    parts = [(b.charge, b.supply, b.anodes) for b in step.branches]
    if step.charge is not None:
        parts = [(step.charge, step.supply, ())]
    branches: list[BranchCharge] = []
    remarks: list[str] = []
    read_all: list[ReadCharge] = []
    for charge, supply, anodes in parts:
        read = read_charge(charge, step.minutes, spreads)
        if read.remark:
            remarks.append(read.remark)
        branches.append(BranchCharge(supply or step.supply or UNNAMED_SUPPLY, read.charge_ah, anodes))
        read_all.append(read)
    minutes = step.minutes or _told_minutes(step)
    plating = Plating(tuple(branches), area_dm2 or None, minutes, step.temperature_c)
    total = sum(r.charge_ah for r in read_all)
    variance = sum((r.relative / Z95 * (r.charge_ah / total)) ** 2 for r in read_all) if total > 0 else 0.0
    return plating, variance, remarks


def _told_minutes(step: Step) -> float | None:
    charge = step.charge
    if charge is None:
        return None
    if charge.stretches is not None:
        return sum(s.minutes for s in charge.stretches) or None
    return charge.ramp.minutes if charge.ramp is not None else None
