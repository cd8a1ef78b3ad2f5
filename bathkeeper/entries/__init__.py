"""What a book is made of: frozen, typed, self-checking entries.

Every entry is one msgspec struct, told apart by its ``kind``. Values are floats in the fixed unit that their name
carries (``volume_l``, ``charge_ah`` ...); ``typed`` keeps the text a person typed, field by field. ``spread`` is always the
95 % half-width, in the unit of the number that it stands beside.

Entries come in only through :func:`parse`, because constructors do not validate. What is impossible (a negative volume,
NaN) is refused there; what is merely unlikely is asked about in ``plausible.py``, which knows the tank.
"""

from __future__ import annotations

import re
from collections.abc import Collection
from datetime import datetime
from typing import Any, TypeAlias, Union, get_args

import msgspec

from bathkeeper.entries.base import Entry
from bathkeeper.entries.happened import (
    Addition,
    Anode,
    Calibration,
    Correction,
    Definition,
    MakeUp,
    Reading,
    Remark,
    Removal,
    Run,
    Tank,
    Treatment,
    Workshop,
)
from bathkeeper.entries.kept import Plan, PlanStep, Snooze, Stock
from bathkeeper.entries.pieces import Branch, Charge, Counter, CurrentStep, Item, LevelMark, Part, Ramp, Step, Trace, Value
from bathkeeper.entries.waste import Container, Papers
from bathkeeper.entries.words import (
    CONTAINER_ACTIONS,
    DEFINABLE,
    READING_UNITS,
    RESERVED_PLACES,
    ROLES,
    SCHEMA,
    WASTE_KINDS,
    AnodeAction,
    Celsius,
    ContainerAction,
    Definable,
    EntryError,
    ItemUnit,
    Moment,
    Name,
    NotNegative,
    PlanAction,
    PlanNumber,
    Positive,
    ReadingUnit,
    Role,
    Text,
    WasteKind,
)

__all__ = [
    "CONTAINER_ACTIONS", "DEFINABLE", "KINDS", "READING_UNITS", "RESERVED_PLACES", "ROLES", "SCHEMA", "WASTE_KINDS",
    "Addition", "Anode", "AnodeAction", "AnyEntry", "Branch", "Calibration", "Celsius", "Charge", "Container",
    "ContainerAction", "Correction", "Counter", "CurrentStep", "Definable", "Definition", "Entry", "EntryError", "Item",
    "ItemUnit", "LevelMark", "MakeUp", "Moment", "Name", "NotNegative", "Papers", "Part", "Plan", "PlanAction",
    "PlanNumber", "PlanStep", "Positive", "Ramp", "Reading", "ReadingUnit", "Remark", "Removal", "Role", "Run",
    "Snooze", "Step", "Stock", "Tank", "Text", "Trace", "Treatment", "Unknown", "Value", "WasteKind", "Workshop",
    "asked_of", "containers_of", "of_waste", "parse", "plain", "recognise", "tanks_of", "to_plain",
]  # fmt: skip

AnyEntry: TypeAlias = Union[
    Workshop,
    Tank,
    Definition,
    MakeUp,
    Run,
    Reading,
    Addition,
    Removal,
    Anode,
    Treatment,
    Calibration,
    Remark,
    Container,
    Stock,
    Plan,
    Snooze,
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


def containers_of(entry: AnyEntry | Unknown, tanks: Collection[str] = ()) -> set[str]:
    """The containers of waste that an entry is about; ``tanks``: names that are those of tanks, and so of no container."""
    names: set[str] = set()
    if isinstance(entry, Container):
        names = {entry.container, entry.to or ""} if entry.action == "moved" else {entry.container}
    elif isinstance(entry, (Removal, Treatment)) and entry.to is not None:
        names = {entry.to}
    return names - {"", *RESERVED_PLACES, *tanks}


def of_waste(entry: AnyEntry | Unknown) -> bool:
    """Whether an entry is about waste, or about something that was taken out of a tank."""
    return isinstance(entry, (Container, Removal)) or bool(containers_of(entry))


def asked_of(entry: AnyEntry | Unknown) -> bool:
    """Whether the waste rooms have something to ask about an entry: one of waste, of a limit or of the place."""
    return of_waste(entry) or isinstance(entry, (Definition, Workshop))


class _Head(msgspec.Struct):
    id: str
    at: Moment
    kind: str
    schema: int = SCHEMA


_BOUND = re.compile(r"Expected `(?:float|int)` (>=|<=|>|<) (-?[\d.e+-]+) - at `\$\.?([^`]*)`")
_SIDES = {">": "above", "<": "below", ">=": "at least", "<=": "at most"}
_FIXED = {"_l": "L", "_kg": "kg", "_g": "g", "_ah": "Ah", "_dm2": "dm2", "_ml": "mL"}


def _bound(found: re.Match[str]) -> str:
    """``volume (L) has to be above 0`` of what the checker says."""
    path = re.sub(r"\[[^]]*\]", "", found[3]).replace(".", ", ")
    ending = next((e for e in _FIXED if path.endswith(e)), "")
    name = f"{path.removesuffix(ending)} ({_FIXED[ending]})" if ending else path
    return f"{name.replace('_', ' ') or 'the number'} has to be {_SIDES[found[1]]} {float(found[2]):g}"


def _plain(message: str) -> str:
    message = _BOUND.sub(_bound, message)
    return message.replace("Object missing required field", "missing").replace("Object contains unknown field", "no such field")
