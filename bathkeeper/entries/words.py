"""The words and bounds that every entry is written in: names, moments, roles, units."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Literal

from msgspec import Meta

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
)
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
ItemUnit = Literal["g", "mL", "L"]
PlanNumber = Annotated[int, Meta(ge=1)]
PlanAction = Literal["measure", "add", "remove", "wait", "check", "plate"]


class EntryError(ValueError):
    """An entry that cannot be: the message says what was wrong and what would be right."""
