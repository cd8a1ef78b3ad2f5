"""What entries are put together from: parts, charges, steps, readings' values, items, level marks."""

from __future__ import annotations

from typing import Annotated, ClassVar

import msgspec
from msgspec import Meta

from bathkeeper.entries.words import Celsius, ItemUnit, Moment, Name, NotNegative, Positive, ReadingUnit


class Part(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, omit_defaults=True):
    """Some like parts in a run; ``area_dm2`` is that of all ``count`` together, ``spread`` its 95 % half-width in dm2."""

    description: Name
    count: Annotated[int, Meta(ge=1)] = 1
    area_dm2: NotNegative | None = None
    spread: NotNegative | None = None
    coating_stripped_g: NotNegative | None = None
    property_class: str | None = None
    strength_mpa: Positive | None = None
    safety_critical: bool = False


class CurrentStep(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A stretch of constant current."""

    current_a: NotNegative
    minutes: NotNegative


class Ramp(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Current that drifted evenly from one value to another."""

    from_a: NotNegative
    to_a: NotNegative
    minutes: NotNegative


class Counter(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A supply's own ampere-hour counter, read before and after; an end below the start means that it was reset."""

    start_ah: NotNegative
    end_ah: NotNegative


class Trace(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, omit_defaults=True):
    """A logged current trace, already integrated: where it came from, what it came to, what its gaps would add.

    ``start``: moment of its first sample; ``minutes`` from there to the last. ``points``: at most 200 pairs of (minutes from
    the start, A) that keep its highs and lows, to draw it by and to know it again in another file; never to integrate.
    """

    file: str
    sha256: str
    charge_ah: NotNegative
    gap_minutes: NotNegative = 0.0
    gap_charge_ah: NotNegative = 0.0
    start: Moment | None = None
    minutes: NotNegative | None = None
    points: Annotated[tuple[tuple[float, float], ...], Meta(max_length=200)] = ()


class Charge(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, omit_defaults=True):
    """How much charge passed, told in exactly one way. ``spread`` is in amperes with ``current_a``, else in Ah."""

    charge_ah: NotNegative | None = None
    current_a: NotNegative | None = None
    stretches: Annotated[tuple[CurrentStep, ...], Meta(min_length=1)] | None = None
    ramp: Ramp | None = None
    counter: Counter | None = None
    trace: Trace | None = None
    spread: NotNegative | None = None

    WAYS: ClassVar[tuple[str, ...]] = ("charge_ah", "current_a", "stretches", "ramp", "counter", "trace")

    def __post_init__(self) -> None:
        given = [w for w in self.WAYS if getattr(self, w) is not None]
        if len(given) != 1:
            raise ValueError(f"give the charge in exactly one way of {', '.join(self.WAYS)}; got {given or 'none'}")


class Branch(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, omit_defaults=True):
    """One supply with its own anodes in a step; with branches the anode split is data, not an estimate."""

    charge: Charge
    supply: Name | None = None
    anodes: tuple[Name, ...] = ()
    volts: NotNegative | None = None


class Step(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, omit_defaults=True):
    """A load's stay in one tank. ``supply`` names the current source when there are no branches."""

    tank: Name
    minutes: NotNegative | None = None
    charge: Charge | None = None
    supply: Name | None = None
    branches: tuple[Branch, ...] = ()
    temperature_c: Celsius | None = None
    dummy: bool = False

    def __post_init__(self) -> None:
        if self.charge is not None and self.branches:
            raise ValueError("a step takes its charge either in `charge` or in `branches`, not in both")
        charges = [self.charge] if self.charge else [b.charge for b in self.branches]
        if self.minutes is None and any(c.current_a is not None for c in charges):
            raise ValueError(f"{self.tank}: a current needs minutes to become a charge, for example 6.5A*45min")


class Value(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, omit_defaults=True):
    """One measured thing. ``of``: a species, or ph, temperature, level, volume, density, conductivity, voltage, panel,
    deposit_nickel, thickness ... A verdict (panel, colour, water-break) has ``unit`` verdict and its word in ``word``."""

    of: Name
    value: float | None = None
    unit: ReadingUnit
    word: str | None = None
    spread: Positive | None = None
    method: Name | None = None
    lot: Name | None = None

    def __post_init__(self) -> None:
        if (self.unit == "verdict") != (self.value is None):
            raise ValueError(f"{self.of}: a reading needs a number with its unit, or a word with unit `verdict`")
        if self.unit == "verdict" and not self.word:
            raise ValueError(f"{self.of}: a verdict needs its word, for example `good`")
        if self.value is not None and self.value < 0 and self.unit != "degC":
            raise ValueError(f"{self.of}: {self.value:g} {self.unit} is below zero; a reading cannot be")
        if self.unit == "pH" and self.value is not None and self.value > 15:
            raise ValueError(f"{self.of}: pH {self.value:g} is off the scale; it runs from 0 to 14")
        if self.unit == "%" and self.value is not None and self.value > 100:
            raise ValueError(f"{self.of}: {self.value:g} % is more than the whole")


class Item(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, omit_defaults=True):
    """An amount of a reagent of the catalogue (or of a definition in this book)."""

    reagent: Name
    amount: Positive
    unit: ItemUnit
    lot: Name | None = None


class LevelMark(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One row of a tank's dip-stick table."""

    mm: NotNegative
    volume_l: NotNegative
