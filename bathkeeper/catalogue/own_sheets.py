"""How an old spreadsheet is read: a keeper's mapping of its columns, kept in the book so that the next one asks nothing.

A mapping says where the header is, which column holds the date, and for each kind of entry which columns it is made of. Columns
are named by their heading (levels of a heading joined by `` / ``). One row may make several entries.
"""

from __future__ import annotations

from typing import Annotated, Literal

import msgspec
from msgspec import Meta, field

RowNumber = Annotated[int, Meta(ge=1, le=1_048_576)]
Heading = Annotated[str, Meta(min_length=1, max_length=200)]
SheetKind = Literal["reading", "addition", "run", "make_up", "removal", "anode", "treatment", "remark", "stock"]
BLANKS = ("-", "–", "—", "n/a", "na", "nan", "none", "nil")
"""Cells that say that nothing was written; a mapping may give a list of its own."""


class SheetRule(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, omit_defaults=True):
    """A condition on a row: the cell of ``column`` is one of ``is`` (or none of ``is_not``), or is ``filled`` or not. Case,
    hyphens and underscores do not matter."""

    column: Heading
    is_: tuple[str, ...] = field(default=(), name="is")
    is_not: tuple[str, ...] = ()
    filled: bool | None = None

    def __post_init__(self) -> None:
        if not self.is_ and not self.is_not and self.filled is None:
            raise ValueError(f'the condition on `{self.column}` needs is = ["…"], is_not = ["…"] or filled = true')

    @property
    def words(self) -> str:
        """``What is plating, job``."""
        told = [
            f"is {' or '.join(self.is_)}" if self.is_ else "",
            f"is not {' or '.join(self.is_not)}" if self.is_not else "",
            f"is {'filled' if self.filled else 'empty'}" if self.filled is not None else "",
        ]
        return f"{self.column} {' and '.join(t for t in told if t)}"


class SheetColumn(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, omit_defaults=True):
    """One column of an entry: ``as`` is the word that the quick form has for it (``zinc``, ``pH``, ``area``, ``zinc chloride``,
    ``current``, ``minutes``, ``description``, ``text`` …).

    ``unit`` is that of numbers without one (a unit inside the cell wins), ``unit_column`` where each row says its own.
    ``tank``: of a run's step, where that is not the entry's tank. Where a column names the reagent, that one is ``reagent``
    and the one with how much is ``amount``.
    """

    column: Heading
    as_: Annotated[str, Meta(min_length=1, max_length=120)] = field(name="as")
    unit: Annotated[str, Meta(max_length=40)] = ""
    unit_column: Heading | None = None
    tank: str | None = None


class SheetEntry(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, omit_defaults=True):
    """One entry that a row makes, where its conditions in ``only`` all hold and at least one of its columns is filled.

    ``tank``: where that is another than the sheet's. ``fixed`` are columns that the sheet does not have, as text
    (``{anode = "zinc-1"}``); ``words`` are further words of the quick form, as they stand (``whole-line``). ``of_run``: it is
    about the run that the same row makes.
    """

    kind: SheetKind
    columns: tuple[SheetColumn, ...] = ()
    tank: str | None = None
    only: tuple[SheetRule, ...] = ()
    fixed: dict[str, str] = field(default_factory=dict)
    words: tuple[str, ...] = ()
    of_run: bool = False

    def __post_init__(self) -> None:
        if not self.columns and not self.fixed:
            raise ValueError(f"the {self.kind} needs at least one column")
        if not self.columns and not self.only:
            raise ValueError(f"the {self.kind} has no column, so it needs a condition in `only`, or every row would make one")
        if self.kind != "run" and any(c.tank is not None for c in self.columns):
            raise ValueError(f"only the steps of a run have tanks by column; give the {self.kind} its own `tank`")


class SheetMapping(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, omit_defaults=True):
    """How a sheet of one layout is read.

    ``header_rows`` and ``first_row`` count from 1 as spreadsheets do. ``date`` and ``time`` are columns; ``date_order`` says
    how numeric dates are written, ``decimal`` which sign is the decimal mark of numbers in text, ``day_zero`` what bare day
    numbers count from, ``offset`` the sheet's offset from UTC (the computer's own local time without). ``tank_column`` says the
    tank row by row, ``tank`` is that of all others; ``tanks`` are the sheet's words for tanks; ``by`` is who wrote it.
    ``fill_down``: columns whose empty cells mean what stands above. ``skip``: rows that are no notes at all (totals).
    ``fingerprint`` is that of the heading, by which the next sheet of this layout is known.
    """

    header_rows: tuple[RowNumber, ...]
    first_row: RowNumber
    date: Heading
    entries: Annotated[tuple[SheetEntry, ...], Meta(min_length=1)]
    time: Heading | None = None
    tank: str | None = None
    tank_column: Heading | None = None
    by: Heading | None = None
    date_order: Literal["ymd", "dmy", "mdy"] | None = None
    decimal: Literal["point", "comma"] | None = None
    day_zero: Literal["1900", "1904"] = "1900"
    offset: Annotated[str, Meta(pattern=r"^([+-]([01][0-9]|2[0-3]):[0-5][0-9]|Z)$")] | None = None
    fill_down: tuple[Heading, ...] = ()
    skip: tuple[SheetRule, ...] = ()
    blanks: tuple[str, ...] = BLANKS
    tanks: dict[str, str] = field(default_factory=dict)
    sheet: str | None = None
    encoding: Annotated[str, Meta(max_length=40)] | None = None
    delimiter: Annotated[str, Meta(min_length=1, max_length=1)] | None = None
    fingerprint: Annotated[str, Meta(max_length=64)] = ""

    def __post_init__(self) -> None:
        if self.header_rows and max(self.header_rows) >= self.first_row:
            raise ValueError(f"first_row is {self.first_row}; it has to be below the header (row {max(self.header_rows)})")
        if not self.header_rows:
            raise ValueError("header_rows is empty; name the row or rows that hold the headings, for example [1]")
