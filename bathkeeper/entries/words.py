"""The words and bounds that every entry is written in: names, moments, roles, units."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Literal, get_args

from msgspec import Meta

SCHEMA = 1

Name = Annotated[str, Meta(min_length=1, max_length=120, pattern=r"^\S(.*\S)?$")]
Text = Annotated[str, Meta(max_length=20_000)]
Words = Annotated[str, Meta(min_length=1, max_length=500)]
Moment = Annotated[datetime, Meta(tz=True)]
MOST = 1e9  # nothing in a workshop comes to a milliard of any unit used here
Positive = Annotated[float, Meta(gt=0, le=MOST)]
NotNegative = Annotated[float, Meta(ge=0, le=MOST)]
Celsius = Annotated[float, Meta(ge=-50, le=250)]

Role = Literal["degrease", "rust removal", "rinse", "pickle", "plate", "acid dip", "passivate", "seal", "dry"]
ROLES: tuple[Role, ...] = get_args(Role)
Definable = Literal[
    "recipe", "reagent", "method", "supply", "limit", "replacement rule", "use plan", "part", "waste limit", "trace source",
    "sheet mapping",
]  # fmt: skip
DEFINABLE: tuple[Definable, ...] = get_args(Definable)
AnodeAction = Literal["hung", "weighed", "lifted", "retired"]
RESERVED_PLACES = ("sample", "spill", "sewer")
WasteKind = Literal[
    "bath", "rinse water", "sludge", "filters", "carbon", "rags", "empty packaging", "chemicals", "oil", "eluate", "resin",
    "other",
]  # fmt: skip
WASTE_KINDS: tuple[WasteKind, ...] = get_args(WasteKind)
ContainerAction = Literal["opened", "put in", "moved", "checked", "labelled", "tested", "treated", "handed over"]
CONTAINER_ACTIONS: tuple[ContainerAction, ...] = get_args(ContainerAction)

ReadingUnit = Literal[
    "g/L",
    "mL/L",
    "mg/L",
    "g",
    "L",
    "mm",
    "pH",
    "degC",
    "g/cm3",
    "degBe",
    "V",
    "mS/cm",
    "%",
    "um",
    "A",
    "verdict",
]
READING_UNITS: tuple[ReadingUnit, ...] = get_args(ReadingUnit)
ItemUnit = Literal["g", "mL", "L"]
PlanNumber = Annotated[int, Meta(ge=1)]
PlanAction = Literal["measure", "add", "remove", "wait", "check", "plate"]


class EntryError(ValueError):
    """An entry that cannot be: the message says what was wrong and what would be right."""
