"""The shape of the safety data: every table that holds a number says where the number comes from, as in the catalogue."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

import msgspec

from bathkeeper.catalogue.schema import Sourced, Status
from bathkeeper.findings import Level

Needed = Literal["no", "yes", "verify", "no verdict"]
Axis = Literal["strength_mpa", "hardness_hv", "hardness_hrc"]
AXES: tuple[Axis, ...] = ("strength_mpa", "hardness_hv", "hardness_hrc")
AXIS_UNITS: dict[str, str] = {"strength_mpa": "MPa", "hardness_hv": "HV", "hardness_hrc": "HRC", "thickness_mm": "mm"}
Verdict = Literal["never", "with care"]


class SafetyError(ValueError):
    """A question that cannot be answered as asked: says what was wrong and what would be right."""


class Range(
    msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, omit_defaults=True, rename={"from_": "from"}
):
    """A stretch of one quantity, as a table prints it: ``from``/``to`` belong to it, ``above``/``below`` do not."""

    from_: float | None = None
    above: float | None = None
    to: float | None = None
    below: float | None = None

    def __post_init__(self) -> None:
        if self.from_ is not None and self.above is not None:
            raise ValueError("a range begins either `from` a value or `above` it, not both")
        if self.to is not None and self.below is not None:
            raise ValueError("a range ends either at `to` or `below` a value, not both")
        if self.low == float("-inf") and self.high == float("inf"):
            raise ValueError("a range needs at least one of from, above, to, below")
        if self.low > self.high:
            raise ValueError(f"a range must rise; {self.low:g} lies above {self.high:g}")

    @property
    def low(self) -> float:
        """Lower end, minus infinity if open."""
        return next((v for v in (self.from_, self.above) if v is not None), float("-inf"))

    @property
    def high(self) -> float:
        """Upper end, infinity if open."""
        return next((v for v in (self.to, self.below) if v is not None), float("inf"))

    def holds(self, value: float) -> bool:
        """Whether the value lies in it."""
        over = value > self.above if self.above is not None else value >= self.low
        return over and (value < self.below if self.below is not None else value <= self.high)

    def said(self, unit: str) -> str:
        """In words: ``1001-1100 MPa``, ``above 390 HV``."""
        if self.low == float("-inf"):
            return f"{'up to' if self.to is not None else 'below'} {self.high:g} {unit}"
        if self.high == float("inf"):
            return f"{'from' if self.from_ is not None else 'above'} {self.low:g} {unit}"
        return f"{'above ' if self.above is not None else ''}{self.low:g}-{self.high:g} {unit}"


class BakeBand(Sourced, frozen=True, kw_only=True):
    """One row of a baking rule: for steel in these ranges, whether and how many hours at least.

    ``start_within_h`` here overrides the rule's, with a status of its own.
    """

    needed: Needed
    hours: float | None = None
    strength_mpa: Range | None = None
    hardness_hv: Range | None = None
    hardness_hrc: Range | None = None
    thickness_mm: Range | None = None
    start_within_h: float | None = None
    start_status: Status | None = None
    about: str = ""

    def __post_init__(self) -> None:
        Sourced.__post_init__(self)
        if not any(getattr(self, axis) for axis in AXES):
            raise ValueError(f"a row needs at least one of {', '.join(AXES)}")
        if self.hours is not None and (self.needed != "yes" or self.hours <= 0):
            raise ValueError('hours belong only to a row with needed = "yes", and lie above 0')
        if (self.start_within_h is None) != (self.start_status is None):
            raise ValueError("start_within_h and start_status belong together")
        if self.start_within_h is not None and self.start_within_h <= 0:
            raise ValueError("start_within_h must lie above 0")


class BakeRule(Sourced, frozen=True, kw_only=True):
    """A rule set that a keeper can name, with its edition and date; its rows are what was read of it, nothing more."""

    name: str
    title: str
    edition: str
    date: str
    bands: tuple[BakeBand, ...]
    temperature_c: tuple[float, float] | None = None
    start_within_h: float | None = None
    start_status: Status | None = None
    start_source: str = ""
    not_in_tension_exempt: bool = False
    aliases: tuple[str, ...] = ()
    about: str = ""
    newer: str = ""

    def __post_init__(self) -> None:
        Sourced.__post_init__(self)
        if not self.bands:
            raise ValueError("a rule needs at least one row in `bands`")
        if self.temperature_c is not None and not 0 < self.temperature_c[0] <= self.temperature_c[1] <= 300:
            raise ValueError("temperature_c must rise and lie between 0 and 300 degC, for example [190, 220]")
        if (self.start_within_h is None) != (self.start_status is None):
            raise ValueError("start_within_h and start_status belong together")
        if self.start_within_h is not None and self.start_within_h <= 0:
            raise ValueError("start_within_h must lie above 0")
        for fault in _unfair(self.bands):
            raise ValueError(fault)

    @property
    def axes(self) -> tuple[Axis, ...]:
        """The quantities by which the rule goes."""
        return tuple(a for a in AXES if any(getattr(b, a) is not None for b in self.bands))


class FastenerClass(Sourced, frozen=True, kw_only=True):
    """What a property class or grade stands for: least tensile strength, MPa; least and greatest hardness allowed, Vickers
    and Rockwell C.

    ``above_threshold``: we give no verdict on it at all.
    """

    name: str
    strength_mpa: float
    hardness_hv_min: float | None = None
    hardness_hv_max: float | None = None
    hardness_hrc_min: float | None = None
    hardness_hrc_max: float | None = None
    aliases: tuple[str, ...] = ()
    above_threshold: bool = False
    about: str = ""

    def __post_init__(self) -> None:
        Sourced.__post_init__(self)
        for scale in ("hv", "hrc"):
            low, high = (getattr(self, f"hardness_{scale}_{end}") for end in ("min", "max"))
            if low is not None and high is not None and low > high:
                raise ValueError(f"hardness_{scale}_min lies above hardness_{scale}_max")


class Limit(Sourced, frozen=True, kw_only=True):
    """A threshold from which something is said, and what is said."""

    name: str
    value: float
    unit: str
    text: str


class Thread(Sourced, frozen=True, kw_only=True):
    """A coarse thread: pitch in mm; by tolerance position (g, f, e) its fundamental deviation and the greatest local
    thickness as printed, both in um; ``batch_um``: the printed greatest batch means of position g for lengths up to 5, 10 and
    15 diameters."""

    name: str
    pitch_mm: float
    deviation_um: dict[str, float]
    local_um: dict[str, float]
    batch_um: tuple[float, float, float] | None = None
    about: str = ""


class Clearance(Sourced, frozen=True, kw_only=True):
    """How many coating thicknesses a thread's fundamental deviation must hold, for a length up to so many diameters."""

    name: str
    up_to_diameters: float
    times: float


class ThreadSteps(Sourced, frozen=True, kw_only=True):
    """The nominal thicknesses, um, in which the thread table goes."""

    name: str
    um: tuple[float, ...]


class Group(Sourced, frozen=True, kw_only=True):
    """Things that are dangerous in the same company. ``concentrate_from``: mass fraction from which it counts as the
    concentrate; ``lasting``: a small addition of it stays in the bath and makes it one of the group."""

    name: str
    title: str
    concentrate_from: float | None = None
    lasting: bool = False


class Member(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, omit_defaults=True):
    """How something is known to belong to groups: by whole formula (water of crystallisation aside), by an element or a piece
    of the formula (``without`` another), by a word of its name, or by the name of a recipe's species."""

    groups: tuple[str, ...]
    formulas: tuple[str, ...] = ()
    elements: tuple[str, ...] = ()
    contains: tuple[str, ...] = ()
    without: tuple[str, ...] = ()
    words: tuple[str, ...] = ()
    species: tuple[str, ...] = ()


class Pair(Sourced, frozen=True, kw_only=True):
    """Two groups that must not meet, or only with care. ``dose``: what is different about a diluted treatment dose;
    ``weak``: the verdict where the first group is known to be below its concentrate; ``unless``: groups whose own pair says
    it better. ``trace_below``: mass fraction below which either of the two is so little that the pair is only ``with care``,
    as ``trace_text`` says; that grading is practice."""

    groups: tuple[str, str]
    verdict: Verdict
    gives: str
    text: str
    dose: str = ""
    weak: Verdict | None = None
    unless: tuple[str, ...] = ()
    trace_below: float | None = None
    trace_text: str = ""

    def __post_init__(self) -> None:
        Sourced.__post_init__(self)
        if (self.trace_below is None) != (not self.trace_text):
            raise ValueError("trace_below and trace_text belong together: what is different below that mass fraction")
        if self.trace_below is not None and not 0 < self.trace_below < 0.05:
            raise ValueError("trace_below is a small mass fraction, such as 0.001")


class Hazard(Sourced, frozen=True, kw_only=True):
    """A caution: what is said, why, how urgent; ``present`` is said instead where the cause itself is on record."""

    name: str
    what: str
    why: str
    level: Level
    present: str = ""
    present_level: Level = "now"


def _unfair(bands: tuple[BakeBand, ...]) -> Iterator[str]:
    """Pairs of rows in which a stronger (or thicker) part would bake for less, or which overlap by more than an edge."""
    for axis in AXES:
        rows = sorted((b for b in bands if getattr(b, axis) is not None), key=lambda b: getattr(b, axis).low)
        for number, weak in enumerate(rows):
            for strong in rows[number + 1 :]:
                if not _share_thickness(weak.thickness_mm, strong.thickness_mm):
                    continue
                low, high = getattr(weak, axis), getattr(strong, axis)
                if high.low < low.high:
                    yield f"{axis}: the rows {low.said(AXIS_UNITS[axis])} and {high.said(AXIS_UNITS[axis])} overlap"
                less = strong.needed == "no" and weak.needed != "no"
                if less or (strong.hours or float("inf")) < (weak.hours or 0.0):
                    yield f"{axis}: {high.said(AXIS_UNITS[axis])} would bake less than {low.said(AXIS_UNITS[axis])}"


def _share_thickness(a: Range | None, b: Range | None) -> bool:
    return a is None or b is None or (a.low < b.high and b.low < a.high)
