"""How one logger writes its files, as the keeper confirmed it once, so that its next file needs no answers."""

from __future__ import annotations

from typing import Annotated, Literal

import msgspec
from msgspec import Meta

Word = Annotated[str, Meta(max_length=200)]


class TraceSource(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, omit_defaults=True):
    """One logger's way of writing.

    ``header``: fingerprint of its column names, by which its files are known again. ``columns``: quantity to the column's
    number, counted from 1, or ``none``; ``units``: quantity to unit. ``date_order`` where its dates could be read in two ways;
    ``zone`` of its clock (``+02:00``) where that is not the machine's own. ``between`` two rows the current went ``straight``
    from one to the next, or is to ``hold`` at the earlier; a ``counter`` is ``running`` on, or tells each row's ``interval``.
    ``file``: the one that it was learned from.
    """

    header: Annotated[str, Meta(min_length=8, max_length=64)]
    columns: dict[Word, Word] = {}
    units: dict[Word, Word] = {}
    date_order: Literal["ymd", "dmy", "mdy"] | None = None
    decimal: Literal[".", ","] | None = None
    zone: Word | None = None
    signs: Literal["net", "size"] | None = None
    between: Literal["straight", "hold"] | None = None
    counter: Literal["running", "interval"] | None = None
    file: Word = ""
