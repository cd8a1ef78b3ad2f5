"""What a book is made of: frozen, typed, self-checking entries.

Every entry is one msgspec struct, told apart by its ``kind``. Values are floats in the fixed unit that their name
carries (``volume_l``, ``charge_ah`` ...); ``typed`` keeps the text a person typed, field by field. ``spread`` is always the
95 % half-width, in the unit of the number that it stands beside.

Entries come in only through :func:`parse`, because constructors do not validate. What is impossible (a negative volume,
NaN) is refused there; what is merely unlikely is asked about in ``plausible.py``, which knows the tank.
"""

from __future__ import annotations

import math
from datetime import datetime
from itertools import pairwise
from typing import Annotated, Any, ClassVar, Literal, TypeAlias, Union, get_args

import msgspec
from msgspec import Meta, field

SCHEMA = 1

Name = Annotated[str, Meta(min_length=1, max_length=120, pattern=r"^\S(.*\S)?$")]
Text = Annotated[str, Meta(max_length=20_000)]
Moment = Annotated[datetime, Meta(tz=True)]
Positive = Annotated[float, Meta(gt=0, le=1e9)]  # nothing in a workshop comes to a milliard of any unit used here
NotNegative = Annotated[float, Meta(ge=0, le=1e9)]
Celsius = Annotated[float, Meta(ge=-50, le=250)]

ROLES = ("degrease", "rust removal", "rinse", "pickle", "plate", "acid dip", "passivate", "seal", "dry")
Role = Literal["degrease", "rust removal", "rinse", "pickle", "plate", "acid dip", "passivate", "seal", "dry"]
DEFINABLE = ("recipe", "reagent", "method", "supply", "limit", "replacement rule", "use plan", "part")
Definable = Literal["recipe", "reagent", "method", "supply", "limit", "replacement rule", "use plan", "part"]
AnodeAction = Literal["hung", "weighed", "lifted", "retired"]
RESERVED_PLACES = ("sample", "spill", "sewer")

READING_UNITS = (
    "g/L", "mL/L", "mg/L", "g", "L", "mm", "pH", "degC", "g/cm3", "degBe", "V", "mS/cm", "%", "um", "A", "verdict",
)
ReadingUnit = Literal[
    "g/L", "mL/L", "mg/L", "g", "L", "mm", "pH", "degC", "g/cm3", "degBe", "V", "mS/cm", "%", "um", "A", "verdict",
]
ItemUnit = Literal["g", "mL", "L"]
PlanNumber = Annotated[int, Meta(ge=1)]
PlanAction = Literal["measure", "add", "remove", "wait", "check", "plate"]


class EntryError(ValueError):
    """An entry that cannot be: the message says what was wrong and what would be right."""


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
    """A logged current trace, already integrated: where it came from, what it came to, what its gaps would add."""

    file: str
    sha256: str
    charge_ah: NotNegative
    gap_minutes: NotNegative = 0.0
    gap_charge_ah: NotNegative = 0.0


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


class Entry(
    msgspec.Struct,
    frozen=True,
    kw_only=True,
    forbid_unknown_fields=True,
    omit_defaults=True,
    tag_field="kind",
):
    """What every entry has. Order in a book is by ``at``, then ``id``."""

    id: Annotated[str, Meta(min_length=8, max_length=80)]
    at: Moment
    schema: Annotated[int, Meta(ge=1)] = SCHEMA
    by: str | None = None
    note: Text | None = None
    typed: dict[str, str] = field(default_factory=dict)

    @property
    def kind(self) -> str:
        return str(self.__struct_config__.tag)

    @property
    def order(self) -> tuple[datetime, str]:
        return (self.at, self.id)

    def __post_init__(self) -> None:
        _refuse_not_finite(self)


class Workshop(Entry, frozen=True, kw_only=True, tag="workshop"):
    """The place and its habits: units, rules, scale. Describes: before the first, the first holds."""

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

    ``result`` is ``good`` or what else there is to say; ``defect`` a name of the catalogue's defects; ``rejects`` how many pieces
    were refused; ``photos`` file names only. All four may also be said later, by a remark on the run.
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
    """Anything taken out: bail-out, sample, spill, dump. ``all``, or nothing left within spread, ends the bath's life."""

    tank: Name
    volume_l: Positive | None = None
    all: bool = False
    to: Name | None = None
    consent: str | None = None
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
    """Something done to a bath or to a run's parts to mend them: carbon, peroxide, zinc dust, dummy, filter, bake ..."""

    what: Name
    tank: Name | None = None
    run: str | None = None
    charge_ah: NotNegative | None = None
    items: tuple[Item, ...] = ()
    minutes: NotNegative | None = None
    temperature_c: Annotated[float, Meta(ge=-50, le=400)] | None = None
    mass_g: NotNegative | None = None
    plan: str | None = None
    step: PlanNumber | None = None

    def __post_init__(self) -> None:
        Entry.__post_init__(self)
        if (self.tank is None) == (self.run is None):
            raise ValueError("a treatment is done either to a tank or to a run's parts; name one of them")
        if self.what == "bake" and (self.minutes is None or self.temperature_c is None):
            raise ValueError("a bake needs its time and temperature, for example minutes=8h temperature=200C")


class Remark(Entry, frozen=True, kw_only=True, tag="remark"):
    """Something noticed. On a run it may say what became of it: ``result``, ``defect``, ``rejects``, ``photos`` as in a run; the
    latest word on each holds."""

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


class Stock(Entry, frozen=True, kw_only=True, tag="stock"):
    """Something on the shelf bought, counted or thrown out. ``what`` is a reagent, a metal hung as anode, or a titrant;
    ``price`` is for the whole amount, in the workshop's currency; a count says what is there (of a lot, if one is named)."""

    reagent: Name
    action: Literal["bought", "counted", "discarded"]
    amount: NotNegative
    unit: ItemUnit
    what: Literal["reagent", "anode", "titrant"] = "reagent"
    price: NotNegative | None = None
    lot: Name | None = None
    purity: Annotated[float, Meta(gt=0, le=1)] | None = None
    spread: Positive | None = None

    def __post_init__(self) -> None:
        Entry.__post_init__(self)
        if self.action != "counted" and self.amount == 0:
            raise ValueError(f"{self.reagent}: nothing {self.action} is nothing to log; only a count can be 0")
        if self.price is not None and self.action != "bought":
            raise ValueError("a price belongs to what was bought")


class PlanStep(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, omit_defaults=True):
    """One step of an accepted plan, in order from 1. ``add`` needs reagent, amount and unit; ``remove`` an amount in L."""

    step: PlanNumber
    action: PlanAction
    reagent: Name | None = None
    amount: Positive | None = None
    unit: ItemUnit | Literal["Ah", "min", "h", "A"] | None = None
    of: str | None = None
    why: Text = ""
    caution: Text = ""

    def __post_init__(self) -> None:
        if self.action == "add" and (self.reagent is None or self.amount is None or self.unit not in get_args(ItemUnit)):
            raise ValueError("a step that adds needs reagent, amount and a unit of g, mL or L")
        if self.action == "remove" and (self.amount is None or self.unit != "L"):
            raise ValueError("a step that removes needs an amount in L")


class Plan(Entry, frozen=True, kw_only=True, tag="plan"):
    """A plan that the keeper accepted for a tank; entries that name it in ``plan`` and ``step`` do it, step by step. ``dropped``
    names an earlier plan that is given up (then it may have no steps)."""

    tank: Name
    purpose: Literal["dose", "make up", "refresh", "treat", "lay up", "wake up"]
    steps: tuple[PlanStep, ...] = ()
    dropped: str | None = None

    def __post_init__(self) -> None:
        Entry.__post_init__(self)
        if not self.steps and self.dropped is None:
            raise ValueError("a plan needs at least one step")
        if [s.step for s in self.steps] != list(range(1, len(self.steps) + 1)):
            raise ValueError("the steps of a plan are numbered 1, 2, 3 ... in order")


class Snooze(Entry, frozen=True, kw_only=True, tag="snooze"):
    """Something due that the keeper puts off: ``finding`` is its id, ``until`` when it may speak again, ``reason`` why."""

    finding: Name
    until: Moment
    reason: Annotated[str, Meta(min_length=1, max_length=20_000)]

    def __post_init__(self) -> None:
        Entry.__post_init__(self)
        if self.until <= self.at:
            raise ValueError("`until` has to be later than the entry itself")


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


AnyEntry: TypeAlias = Union[
    Workshop, Tank, Definition, MakeUp, Run, Reading, Addition, Removal, Anode, Treatment, Calibration, Remark, Stock, Plan, Snooze,
    Correction,
]
KINDS: dict[str, type[Entry]] = {str(t.__struct_config__.tag): t for t in get_args(AnyEntry)}


class Unknown(msgspec.Struct, frozen=True, kw_only=True):
    """An entry of a kind or schema that this version does not know: kept as it is, skipped by the fold."""

    id: str
    at: datetime
    kind: str
    schema: int
    raw: dict[str, Any]


def parse(raw: dict[str, Any]) -> AnyEntry:
    """Builds an entry from plain values (dates as text or datetime).

    Raises:
        EntryError: a field is missing, unknown, of the wrong type or impossible; the message names it.
    """
    kind = raw.get("kind")
    if kind not in KINDS:
        raise EntryError(f"unknown kind of entry {kind!r}; known are {', '.join(KINDS)}")
    try:
        return msgspec.convert(raw, AnyEntry, strict=True)  # type: ignore[no-any-return]
    except (msgspec.ValidationError, ValueError) as problem:
        raise EntryError(f"{kind}: {_plain(str(problem))}") from None


def recognise(raw: dict[str, Any]) -> AnyEntry | Unknown:
    """Like :func:`parse`, but an unknown kind or a newer schema comes back as :class:`Unknown` rather than an error."""
    kind, schema = raw.get("kind"), raw.get("schema", SCHEMA)
    if kind in KINDS and isinstance(schema, int) and schema <= SCHEMA:
        return parse(raw)
    try:
        head = msgspec.convert(raw, _Head)
    except msgspec.ValidationError as problem:
        raise EntryError(f"not an entry: {_plain(str(problem))}") from None
    return Unknown(id=head.id, at=head.at, kind=head.kind, schema=head.schema, raw=raw)


def to_plain(entry: AnyEntry) -> dict[str, Any]:
    """The entry as plain JSON values, keys in the order of the struct; ``schema`` is always there."""
    plain = msgspec.to_builtins(entry, str_keys=True)
    return {"kind": plain.pop("kind"), "schema": entry.schema, **plain}


def plain(entry: AnyEntry | Unknown) -> dict[str, Any]:
    """An entry as plain JSON values; one of an unknown kind as it stands in the book."""
    return entry.raw if isinstance(entry, Unknown) else to_plain(entry)


def tanks_of(entry: AnyEntry | Unknown) -> set[str]:
    """The tanks that an entry is about."""
    if isinstance(entry, Unknown):
        return {str(entry.raw["tank"])} if "tank" in entry.raw else set()
    if isinstance(entry, Run):
        return {s.tank for s in entry.steps}
    tank = getattr(entry, "tank", None)
    return {tank} if tank is not None else set()


class _Head(msgspec.Struct):
    id: str
    at: Moment
    kind: str
    schema: int = SCHEMA


def _plain(message: str) -> str:
    return message.replace("Object missing required field", "missing").replace("Object contains unknown field", "no such field")


def _refuse_not_finite(value: object, where: str = "") -> None:
    if isinstance(value, float):
        if not math.isfinite(value):
            raise ValueError(f"{where or 'value'} is {value}; only finite numbers can be kept")
    elif isinstance(value, msgspec.Struct):
        for name in value.__struct_fields__:
            _refuse_not_finite(getattr(value, name), f"{where}.{name}" if where else name)
    elif isinstance(value, dict):
        for key, item in value.items():
            _refuse_not_finite(item, f"{where}.{key}" if where else str(key))
    elif isinstance(value, (tuple, list)):
        for number, item in enumerate(value):
            _refuse_not_finite(item, f"{where}[{number}]")
