"""What happens at a line: tanks described, baths made up, runs, readings, additions, and what mends them."""

from __future__ import annotations

from itertools import pairwise
from typing import Annotated, Any, Literal

import msgspec
from msgspec import Meta, field

from bathkeeper.entries.base import Entry
from bathkeeper.entries.pieces import Item, LevelMark, Part, Step, Value
from bathkeeper.entries.words import (
    RESERVED_PLACES,
    AnodeAction,
    Celsius,
    Definable,
    Name,
    NotNegative,
    PlanNumber,
    Positive,
    Role,
    Words,
)


class Workshop(Entry, frozen=True, kw_only=True, tag="workshop"):
    """The place and its habits: units, rules, scale. Describes: before the first, the first holds.

    ``address`` to ``industry_code`` are what papers of waste ask of whoever made it: ``site_code`` the number or code that an
    authority gave the premises, ``industry_code`` that of the trade (SIC, NACE, NAICS).
    """

    name: Name
    gallon: Literal["us", "imperial"] | None = None
    ounce: Literal["avoirdupois", "troy", "fluid"] | None = None
    decimal_comma: bool | None = None
    date_order: Literal["ymd", "dmy", "mdy"] | None = None
    units: dict[str, str] = field(default_factory=dict)
    country: str | None = None
    region: str | None = None
    keeper: Literal["household", "business"] | None = None
    scale_resolution_g: Positive | None = None
    embrittlement_rule: Name | None = None
    currency: Annotated[str, Meta(min_length=1, max_length=8)] | None = None
    address: Words | None = None
    phone: Words | None = None
    email: Words | None = None
    site_code: Name | None = None
    industry_code: Name | None = None


class Tank(Entry, frozen=True, kw_only=True, tag="tank"):
    """A vessel with a role, at a place in the line. Describes: before the first, the first holds."""

    tank: Name
    role: Role
    place: int = msgspec.field(name="order", default=0)
    recipe: Name | None = None
    working_volume_l: Positive | None = None
    full_volume_l: Positive | None = None
    level_table: tuple[LevelMark, ...] = ()
    surface_dm2: Positive | None = None
    in_service: bool = True

    def __post_init__(self) -> None:
        Entry.__post_init__(self)
        if self.tank in RESERVED_PLACES:
            raise ValueError(f"`{self.tank}` is a reserved place ({', '.join(RESERVED_PLACES)}); name the tank otherwise")
        if self.working_volume_l and self.full_volume_l and self.full_volume_l < self.working_volume_l:
            raise ValueError("full_volume_l must be at least working_volume_l")
        marks = [(m.mm, m.volume_l) for m in self.level_table]
        if any(b[0] <= a[0] or b[1] <= a[1] for a, b in pairwise(marks)):
            raise ValueError("the level table must rise in both millimetres and litres from row to row")


class Definition(Entry, frozen=True, kw_only=True, tag="definition"):
    """A keeper's own recipe, reagent, method ...; overrides the catalogue's of the same name. Describes."""

    of: Definable
    name: Name
    body: dict[str, Any]


class MakeUp(Entry, frozen=True, kw_only=True, tag="make_up"):
    """A tank filled fresh: a new life of its bath. Species not stated take the recipe's target with a wide spread."""

    tank: Name
    volume_l: Positive
    contents: dict[str, NotNegative] = field(default_factory=dict)
    reagents: tuple[Item, ...] = ()
    temperature_c: Celsius | None = None


class Run(Entry, frozen=True, kw_only=True, tag="run"):
    """A load of parts through the line; each step wears its tank and drags solution into the next.

    ``result`` is ``good`` or what else there is to say; ``defect`` a name of the catalogue's defects; ``rejects`` how many
    pieces were refused; ``photos`` file names only. All four may also be said later, by a remark on the run.
    """

    steps: Annotated[tuple[Step, ...], Meta(min_length=1)]
    parts: tuple[Part, ...] = ()
    mass_before_g: Positive | None = None
    mass_after_g: Positive | None = None
    result: str | None = None
    defect: Name | None = None
    rejects: Annotated[int, Meta(ge=0)] | None = None
    photos: tuple[Name, ...] = ()

    @property
    def area_dm2(self) -> float:
        """Total area of the load, dm2; parts of unknown area count as nothing."""
        return sum(p.area_dm2 or 0.0 for p in self.parts)


class Reading(Entry, frozen=True, kw_only=True, tag="reading"):
    """Anything measured, on a tank or on a run's parts. ``confirms``: ids of doubtful readings, or true for this one.

    ``runs``: loads measured together (a ``deposit_mass`` of ten loads on one scale). ``plan`` and ``step``: the step of an
    accepted plan that this does.
    """

    values: tuple[Value, ...] = ()
    tank: Name | None = None
    run: str | None = None
    runs: tuple[str, ...] = ()
    confirms: tuple[str, ...] | bool = ()
    plan: str | None = None
    step: PlanNumber | None = None

    def __post_init__(self) -> None:
        Entry.__post_init__(self)
        if self.run is not None and self.runs:
            raise ValueError("name one run in `run`, or several that were measured together in `runs`, not both")
        if len(set(self.runs)) != len(self.runs):
            raise ValueError("a run is named twice among those measured together")
        if self.tank is None and self.run is None and not self.runs and not self.confirms:
            raise ValueError("a reading needs the tank or the run that it was taken on")
        if not self.values and not self.confirms:
            raise ValueError("a reading needs at least one value")


class Addition(Entry, frozen=True, kw_only=True, tag="addition"):
    """Anything put in; a top-up with water is an addition of water."""

    tank: Name
    items: Annotated[tuple[Item, ...], Meta(min_length=1)]
    plan: str | None = None
    step: PlanNumber | None = None


class Removal(Entry, frozen=True, kw_only=True, tag="removal"):
    """Anything taken out: bail-out, sample, spill, dump. ``all``, or nothing left within spread, ends the bath's life. ``why``:
    why it was taken out and so became waste, as papers of a hand-over ask."""

    tank: Name
    volume_l: Positive | None = None
    all: bool = False
    to: Name | None = None
    consent: str | None = None
    why: Words | None = None
    plan: str | None = None
    step: PlanNumber | None = None

    def __post_init__(self) -> None:
        Entry.__post_init__(self)
        if (self.volume_l is None) == (not self.all):
            raise ValueError("a removal takes either `volume_l` or `all: true`")
        if self.to == "sewer" and not self.consent:
            raise ValueError("to the sewer only with the reference of the consent that allows it (`consent`)")
        if self.to == self.tank:
            raise ValueError("solution cannot be removed from a tank to itself")


class Anode(Entry, frozen=True, kw_only=True, tag="anode"):
    """An anode hung, weighed, lifted or retired. ``brushed``: loose and cemented metal was taken off before weighing."""

    tank: Name
    anode: Name
    action: AnodeAction
    metal: Name | None = None
    mass_g: NotNegative | None = None
    area_dm2: Positive | None = None
    brushed: bool | None = None
    spread: Positive | None = None

    def __post_init__(self) -> None:
        Entry.__post_init__(self)
        if self.action == "weighed" and self.mass_g is None:
            raise ValueError("an anode weighed needs its mass, for example weighed=1492g")


class Calibration(Entry, frozen=True, kw_only=True, tag="calibration"):
    """An instrument compared with something better: ``result`` = reads / true, ``spread`` its 95 % half-width."""

    what: Literal["supply", "scale", "meter", "titrant lot"]
    name: Name
    against: str
    result: Positive
    spread: Positive | None = None


class Treatment(Entry, frozen=True, kw_only=True, tag="treatment"):
    """Something done to a bath or to a run's parts to mend them: carbon, peroxide, zinc dust, dummy, filter, bake ...

    ``mass_g``: wet mass of the spent filter, carbon or sludge; ``to``: the container of waste that it went into.
    """

    what: Name
    tank: Name | None = None
    run: str | None = None
    charge_ah: NotNegative | None = None
    items: tuple[Item, ...] = ()
    minutes: NotNegative | None = None
    temperature_c: Annotated[float, Meta(ge=-50, le=400)] | None = None
    mass_g: NotNegative | None = None
    to: Name | None = None
    plan: str | None = None
    step: PlanNumber | None = None

    def __post_init__(self) -> None:
        Entry.__post_init__(self)
        if self.to is not None and (self.mass_g is None or self.tank is None):
            raise ValueError("`to` names the container that a bath's spent filter or sludge went into: give its mass too")
        if (self.tank is None) == (self.run is None):
            raise ValueError("a treatment is done either to a tank or to a run's parts; name one of them")
        if self.what == "bake" and (self.minutes is None or self.temperature_c is None):
            raise ValueError("a bake needs its time and temperature, for example minutes=8h temperature=200C")


class Remark(Entry, frozen=True, kw_only=True, tag="remark"):
    """Something noticed. On a run it may say what became of it: ``result``, ``defect``, ``rejects``, ``photos`` as in a run;
    the latest word on each holds."""

    text: Annotated[str, Meta(min_length=1, max_length=20_000)]
    tank: Name | None = None
    run: str | None = None
    defect: str | None = None
    result: str | None = None
    rejects: Annotated[int, Meta(ge=0)] | None = None
    photos: tuple[Name, ...] = ()
    plan: str | None = None
    step: PlanNumber | None = None

    def __post_init__(self) -> None:
        Entry.__post_init__(self)
        if self.run is None and (self.result or self.rejects is not None):
            raise ValueError("a result or rejects belong to a run; name it (run=ID)")


class Correction(Entry, frozen=True, kw_only=True, tag="correction"):
    """Mends an earlier entry: withdraws it, or puts ``replacement`` (its fields, without id) in its place and time."""

    corrects: Annotated[str, Meta(min_length=8, max_length=80)]
    reason: Annotated[str, Meta(min_length=1, max_length=20_000)]
    withdraw: bool = False
    replacement: dict[str, Any] | None = None

    def __post_init__(self) -> None:
        Entry.__post_init__(self)
        if self.withdraw == (self.replacement is not None):
            raise ValueError("a correction either withdraws the entry or gives its replacement")
        if self.corrects == self.id:
            raise ValueError("a correction cannot correct itself")
