"""What a column is taken as, one column at a time: how a proposal is put together and how a person changes it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import get_args

import msgspec

from bathkeeper.catalogue.loader import plain_name
from bathkeeper.catalogue.own_sheets import SheetColumn, SheetEntry, SheetKind, SheetMapping, SheetRule
from bathkeeper.sheets.heads import Heads

KINDS: tuple[SheetKind, ...] = get_args(SheetKind)
ROW = ("date", "time", "tank", "by")
"""Roles that say something about the whole row."""


@dataclass(frozen=True)
class Role:
    """``kind``: one of :data:`ROW`, a kind of entry, or nothing for a column that is not taken; ``name``: the quick form's word
    for it; ``tank``: that of a run's step; ``fixed`` and ``only`` go to the entry that the column makes."""

    kind: str = ""
    name: str = ""
    unit: str = ""
    tank: str | None = None
    unit_column: str | None = None
    fixed: Mapping[str, str] = field(default_factory=dict)
    only: tuple[SheetRule, ...] = ()

    @property
    def words(self) -> str:
        """For a table: ``reading: zinc, g/L``."""
        if not self.kind:
            return "not taken"
        if self.kind in ROW:
            return {"by": "who wrote it"}.get(self.kind, f"the {self.kind}")
        name = " ".join([*(f"{v}," for k, v in self.fixed.items() if k == "anode"), self.name])
        where = f" ({self.tank})" if self.tank else ""
        unit = f", {self.unit}" if self.unit else f", unit in {self.unit_column}" if self.unit_column else ""
        return f"{self.kind.replace('_', '-')}: {name}{where}{unit}"


def roles_of(mapping: SheetMapping, column: str) -> list[Role]:
    """Everything that a column is taken as; a make-up may share its columns with readings."""
    found: list[Role] = []
    for kind, name in (("date", mapping.date), ("time", mapping.time), ("tank", mapping.tank_column), ("by", mapping.by)):
        if name == column:
            found.append(Role(kind))
    for entry in mapping.entries:
        for c in entry.columns:
            if c.column == column:
                found.append(Role(entry.kind, c.as_, c.unit, c.tank or entry.tank, c.unit_column, entry.fixed, entry.only))
            elif c.unit_column == column:
                found.append(Role("unit", c.column))
    return found


def role_words(mapping: SheetMapping, column: str) -> str:
    """For a table: what the column is taken as."""
    found = roles_of(mapping, column)
    told = [f"unit of {r.name}" if r.kind == "unit" else r.words for r in found]
    if not told and any(r.column == column for e in mapping.entries for r in e.only):
        return "which kind of entry"
    return "; ".join(dict.fromkeys(told)) or Role().words


def with_role(mapping: SheetMapping, column: str, role: Role) -> SheetMapping:
    """The mapping with the column taken as ``role`` and as nothing else."""
    return also(without(mapping, column), column, role)


def also(mapping: SheetMapping, column: str, role: Role) -> SheetMapping:
    """The mapping with the column taken as ``role`` too."""
    if not role.kind:
        return mapping
    if role.kind in ROW:
        return msgspec.structs.replace(mapping, **{"tank_column" if role.kind == "tank" else role.kind: column})
    step, where = (role.tank, None) if role.kind == "run" else (None, role.tank)  # a run goes through several tanks
    made = SheetColumn(column=column, as_=role.name, unit=role.unit, tank=step, unit_column=role.unit_column)
    entries = list(mapping.entries)
    for place, entry in enumerate(entries):
        told = [c for c in entry.columns if c.as_ == role.name and c.tank == step]
        alone = role.fixed != entry.fixed or entry.tank != where or (bool(told) and role.name not in ("text", "note"))
        if entry.kind == role.kind and not alone and (not role.only or entry.only == role.only):
            entries[place] = msgspec.structs.replace(entry, columns=(*entry.columns, made))
            break
    else:
        kind: SheetKind = next(k for k in KINDS if k == role.kind)
        entries.append(SheetEntry(kind=kind, columns=(made,), tank=where, fixed=dict(role.fixed), only=role.only))
    return msgspec.structs.replace(mapping, entries=tuple(entries))


def without(mapping: SheetMapping, column: str) -> SheetMapping:
    """The mapping with the column taken as nothing; entries that then have none go. The date column stays until another is
    named, since rows need one."""
    changes: dict[str, object] = {}
    for name in ("time", "tank_column", "by"):
        kept = getattr(mapping, name)
        if kept == column:
            changes[name] = None
    entries = []
    for entry in mapping.entries:
        left = tuple(
            msgspec.structs.replace(c, unit_column=None) if c.unit_column == column else c
            for c in entry.columns
            if c.column != column
        )
        if left or not entry.columns:
            entries.append(msgspec.structs.replace(entry, columns=left))
    return msgspec.structs.replace(mapping, entries=tuple(entries), **changes)


def with_unit(mapping: SheetMapping, column: str, unit: str) -> SheetMapping:
    """The mapping with another unit for a column, wherever it is taken."""
    entries = [
        msgspec.structs.replace(
            e,
            columns=tuple(msgspec.structs.replace(c, unit=unit) if c.column == column else c for c in e.columns),
        )
        for e in mapping.entries
    ]
    return msgspec.structs.replace(mapping, entries=tuple(entries))


def role_of_words(text: str) -> Role:
    """What a person types for a column: ``date``, ``nothing``, ``reading zinc g/L``, ``run minutes min pickle``.

    Raises:
        ValueError: no such role; says how one is written.
    """
    words = text.split()
    example = "write for example date, nothing, reading zinc g/L, addition zinc chloride = g, run current A"
    if not words:
        raise ValueError(f"what is the column? {example[0].upper()}{example[1:]}")
    first = plain_name(words[0]).replace(" ", "_")
    if first in ("nothing", "none", "no", "not"):
        return Role()
    if first in ROW and len(words) == 1:
        return Role(first)
    kind = next((k for k in KINDS if k.replace("_", "") == first.replace("_", "")), None)
    if kind is None or len(words) < 2:
        raise ValueError(f"`{words[0][:40]}` is no kind of entry that a sheet can make; {example} (kinds: {', '.join(KINDS)})")
    rest = " ".join(words[1:])
    name, sign, unit = rest.partition("=")
    if not sign:
        name, unit = _parted(rest)
    fixed: dict[str, str] = {}
    if kind == "anode":
        anode, _, action = name.strip().rpartition(" ")
        if not anode:
            raise ValueError("an anode needs its name and what was done: anode zinc-1 weighed = g")
        fixed, name = {"anode": anode}, action
    return Role(kind, name.strip(), unit.strip(), fixed=fixed)


def _parted(text: str) -> tuple[str, str]:
    """The name and the unit behind it, where the last word is one."""
    from bathkeeper.sheets.guess_units import is_unit

    name, _, last = text.rpartition(" ")
    return (name, last) if name and is_unit(last) else (text, "")


def fitted(mapping: SheetMapping, heads: Heads) -> SheetMapping:
    """The mapping with its columns called as this sheet calls them, where it has them."""

    def called(name: str) -> str:
        place = heads.place(name)
        return name if place is None else heads.names[place]

    def rules(told: tuple[SheetRule, ...]) -> tuple[SheetRule, ...]:
        return tuple(msgspec.structs.replace(r, column=called(r.column)) for r in told)

    def column(c: SheetColumn) -> SheetColumn:
        unit = called(c.unit_column) if c.unit_column is not None else None
        return msgspec.structs.replace(c, column=called(c.column), unit_column=unit)

    one = {n: called(v) for n in ("date", "time", "tank_column", "by") if (v := getattr(mapping, n)) is not None}
    return msgspec.structs.replace(
        mapping,
        **one,
        fill_down=tuple(called(n) for n in mapping.fill_down),
        skip=rules(mapping.skip),
        entries=tuple(
            msgspec.structs.replace(e, columns=tuple(column(c) for c in e.columns), only=rules(e.only)) for e in mapping.entries
        ),
        header_rows=heads.rows,
        first_row=heads.first_row,
        fingerprint=heads.fingerprint,
    )
