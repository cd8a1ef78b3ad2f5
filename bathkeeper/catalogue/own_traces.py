"""How one logger writes its files, as the keeper confirmed it once, so that its next file needs no answers."""

from __future__ import annotations

from typing import Annotated, Literal

import msgspec
from msgspec import Meta

Word = Annotated[str, Meta(max_length=200)]


class TraceSource(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, omit_defaults=True):
    """One logger's way of writing.

    ``header``: fingerprint of its column names, by which its files are known again. ``columns``: quantity to the column's
    number, counted from 1; ``units``: quantity to unit. ``date_order`` where its dates could be read in two ways;
    ``utc_offset_minutes`` of its clock where that is not the workshop's own. ``file``: the one that it was learned from.
    """

    header: Annotated[str, Meta(min_length=8, max_length=64)]
    columns: dict[Word, Annotated[int, Meta(ge=1, le=10_000)]] = {}
    units: dict[Word, Word] = {}
    date_order: Literal["ymd", "dmy", "mdy"] | None = None
    decimal: Literal[".", ","] | None = None
    utc_offset_minutes: Annotated[int, Meta(ge=-1440, le=1440)] | None = None
    signs: Literal["net", "size"] | None = None
    file: Word = ""
