"""What every entry has: its name, moment, schema, who, note, and the text as typed."""

from __future__ import annotations

import math
from datetime import datetime
from typing import Annotated

import msgspec
from msgspec import Meta, field

from bathkeeper.entries.words import SCHEMA, Moment, Text


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
