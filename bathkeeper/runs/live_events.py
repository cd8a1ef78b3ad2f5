"""What happens at a live run, act by act: the plan it starts from and the events that its own file is made of."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Any, Literal, TypeAlias, Union, get_args

import msgspec
from msgspec import Meta

from bathkeeper.entries import Celsius, Moment, Name, NotNegative, Part, Positive, Text

Kind = Literal["plate", "rust removal", "dummy"]
KINDS: tuple[Kind, ...] = ("plate", "rust removal", "dummy")
When = Literal["start", "middle", "end"]
StepNumber = Annotated[int, Meta(ge=0, le=1000)]
Finite = Annotated[float, Meta(ge=-1e15, le=1e15)]


class LiveError(ValueError):
    """An act at the bench that cannot be; the message says what would be right."""


class Tick(msgspec.Struct, frozen=True, kw_only=True):
    """A moment read from two clocks: the wall clock, which people set, and a counter in seconds that only runs forward within
    its ``session`` (one start of the machine, or of the program where the machine names none)."""

    at: Moment
    mono: Finite
    session: Annotated[str, Meta(min_length=1, max_length=100)]


class PlannedBranch(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True):
    """A supply with its own anodes, and the current it is to be set to, A."""

    supply: Name
    anodes: tuple[Name, ...] = ()
    current_a: NotNegative | None = None


class PlannedStep(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True):
    """A stay in one tank as planned. ``minutes_from`` and ``current_from`` say where the numbers come from; ``hint`` is what to
    do on the way into it; ``temperature_c`` is what the bath should have, not what was read."""

    tank: Name
    role: str
    title: str = ""
    minutes: NotNegative | None = None
    minutes_from: str = ""
    charged: bool = False
    current_a: NotNegative | None = None
    current_from: str = ""
    supply: Name | None = None
    branches: tuple[PlannedBranch, ...] = ()
    temperature_c: Celsius | None = None
    hint: str = ""
    cautions: tuple[str, ...] = ()
    optional: bool = False
    dummy: bool = False


class PlannedBake(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True):
    """What the named rule says of baking these parts; ``needed`` is ``rule not named`` where the workshop names none."""

    needed: Literal["yes", "verify", "no verdict", "rule not named"]
    what: str
    rule: str = ""
    hours: float | None = None
    temperature_c: tuple[float, float] | None = None
    start_within_h: float | None = None
    why: str = ""
    source: str = ""


class LinePlan(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True):
    """The way of a load through the line. ``parts``: plain fields of an entry's parts; ``like``: the run it was taken from."""

    kind: Kind
    steps: Annotated[tuple[PlannedStep, ...], Meta(min_length=1)]
    parts: tuple[dict[str, Any], ...] = ()
    like: str | None = None
    bake: PlannedBake | None = None
    typed: dict[str, str] = {}

    def __post_init__(self) -> None:
        tanks = [s.tank for s in self.steps]
        if len(set(tanks)) != len(tanks):
            raise ValueError("a tank is planned twice; plan it once, and repeat the step at the line")

    @property
    def area_dm2(self) -> float:
        """Area of the whole load; 0 when nobody said."""
        return float(sum(p.get("area_dm2") or 0.0 for p in self.parts))


class Event(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True, forbid_unknown_fields=True, tag_field="kind"):
    """What every act has: the moment by both clocks."""

    at: Moment
    mono: Finite
    session: Annotated[str, Meta(min_length=1, max_length=100)]

    @property
    def tick(self) -> Tick:
        return Tick(at=self.at, mono=self.mono, session=self.session)


class Started(Event, frozen=True, kw_only=True, tag="started"):
    """The run begins; ``run`` is the id that its entry in the book will have."""

    run: Annotated[str, Meta(min_length=8, max_length=80)]
    plan: LinePlan


class Entered(Event, frozen=True, kw_only=True, tag="entered"):
    """Parts went into the tank of a step; out of whichever they were in."""

    step: StepNumber


class Left(Event, frozen=True, kw_only=True, tag="left"):
    """Parts came out of the tank they were in, and the current is off."""


class Skipped(Event, frozen=True, kw_only=True, tag="skipped"):
    """A step that is left out."""

    step: StepNumber


class Repeated(Event, frozen=True, kw_only=True, tag="repeated"):
    """Parts go into a tank once more: its timer begins anew, minutes and charge add up."""

    step: StepNumber


class Paused(Event, frozen=True, kw_only=True, tag="paused"):
    """Clock of the step and current stop: parts out or current off."""


class Resumed(Event, frozen=True, kw_only=True, tag="resumed"):
    """Clock of the step and current go on."""


class CurrentSet(Event, frozen=True, kw_only=True, tag="current"):
    """What a supply was set to, or shows. ``drifted``: the current went there evenly since it was last told (a ramp)."""

    step: StepNumber
    supply: Name | None = None
    current_a: NotNegative
    drifted: bool = False


class Counted(Event, frozen=True, kw_only=True, tag="counter"):
    """A supply's own ampere-hour counter."""

    step: StepNumber
    supply: Name | None = None
    ah: NotNegative
    when: When


class Volts(Event, frozen=True, kw_only=True, tag="volts"):
    """Voltage of a cell."""

    step: StepNumber
    supply: Name | None = None
    volts: NotNegative


class Temperature(Event, frozen=True, kw_only=True, tag="temperature"):
    """Temperature of a bath as read."""

    step: StepNumber
    temperature_c: Celsius


class Timed(Event, frozen=True, kw_only=True, tag="timed"):
    """How long a step really took, where the clocks do not know it."""

    step: StepNumber
    minutes: NotNegative


class Samples(Event, frozen=True, kw_only=True, tag="samples"):
    """Lines of a logger: (time in s on the logger's own clock, A, V or None). Rows of one ``feed`` follow one another."""

    step: StepNumber
    supply: Name | None = None
    feed: Name
    source: Name
    longest_gap_s: Positive
    rows: tuple[tuple[Finite, Finite, Finite | None], ...]


class Noted(Event, frozen=True, kw_only=True, tag="noted"):
    """A remark on the run."""

    text: Annotated[str, Meta(min_length=1, max_length=20_000)]


class Finished(Event, frozen=True, kw_only=True, tag="finished"):
    """The run is over, and what can be said of it at once."""

    result: str | None = None
    defect: Name | None = None
    rejects: Annotated[int, Meta(ge=0)] | None = None
    photos: tuple[Name, ...] = ()
    mass_before_g: Positive | None = None
    mass_after_g: Positive | None = None
    note: Text | None = None


class Abandoned(Event, frozen=True, kw_only=True, tag="abandoned"):
    """The run was given up; what was done counts."""

    reason: str = ""


AnyEvent: TypeAlias = Union[
    Started,
    Entered,
    Left,
    Skipped,
    Repeated,
    Paused,
    Resumed,
    CurrentSet,
    Counted,
    Volts,
    Temperature,
    Timed,
    Samples,
    Noted,
    Finished,
    Abandoned,
]
MOVES = (Started, Entered, Left, Skipped, Repeated, Paused, Resumed, Finished, Abandoned)
"""Acts that move the run on: only these contend between two windows."""

EVENTS: dict[str, type[Event]] = {str(t.__struct_config__.tag): t for t in get_args(AnyEvent)}


def to_plain(event: AnyEvent) -> dict[str, Any]:
    """An event as plain JSON values."""
    return msgspec.to_builtins(event, str_keys=True)  # type: ignore[no-any-return]


def from_plain(raw: dict[str, Any]) -> AnyEvent:
    """Plain values (an ``id`` among them is passed over) as an event.

    Raises:
        LiveError: they are none; names the field.
    """
    kind = raw.get("kind")
    if kind not in EVENTS:
        raise LiveError(f"unknown act {kind!r}; known are {', '.join(EVENTS)}. A newer bathkeeper may have written it")
    try:
        event: AnyEvent = msgspec.convert({k: v for k, v in raw.items() if k != "id"}, AnyEvent)
    except (msgspec.ValidationError, ValueError) as problem:
        raise LiveError(f"{kind}: {problem}") from None
    if isinstance(event, Started):
        for part in event.plan.parts:
            try:
                msgspec.convert(part, Part)
            except (msgspec.ValidationError, ValueError) as problem:
                raise LiveError(f"parts: {problem}") from None
    return event


def at_tick(tick: Tick) -> dict[str, Any]:
    """The fields of a moment, for making an event."""
    return {"at": tick.at, "mono": tick.mono, "session": tick.session}


def moment_text(at: datetime) -> str:
    """RFC 3339 with offset, whole seconds."""
    return at.replace(microsecond=0).isoformat()
