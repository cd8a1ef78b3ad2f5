"""The use case: a file is looked at, a mapping found or proposed, rows read, what is new written; for screen and command line.

Looking and reading write nothing. What is written goes into the book with one sync, the mapping with it: all or none.
"""

from __future__ import annotations

import json
import tomllib
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from pathlib import Path
from typing import Any, Literal

import msgspec

from bathkeeper.catalogue.as_toml import toml
from bathkeeper.catalogue.own import all_of
from bathkeeper.catalogue.own_sheets import SheetMapping
from bathkeeper.catalogue.typed import CatalogueError, to_struct
from bathkeeper.entries import AnyEntry, parse
from bathkeeper.ids import new_id
from bathkeeper.logbook.exchange import Imported, add_new
from bathkeeper.logbook.sheets import Grid, read_grid, read_text
from bathkeeper.phrases import Vocabulary
from bathkeeper.plausible import implausible_alone
from bathkeeper.refusals import near, shorten
from bathkeeper.sheets.asking import Question, questions
from bathkeeper.sheets.guess import propose
from bathkeeper.sheets.heads import Heads, find_heads, heads_at
from bathkeeper.sheets.making import Fault, MappingError, RowRead, rows
from bathkeeper.sheets.roles import fitted
from bathkeeper.workshop import Workshop

Origin = Literal["saved", "given", "proposed"]


@dataclass(frozen=True)
class Looked:
    """A file as it is understood so far. ``origin``: the mapping was kept in the book (as ``name``), given by the person, or is
    proposed; ``open``: what is still to be asked."""

    path: Path
    grid: Grid
    heads: Heads
    mapping: SheetMapping
    origin: Origin
    name: str
    open: tuple[Question, ...] = ()
    notes: tuple[str, ...] = ()

    def with_mapping(self, mapping: SheetMapping, vocabulary: Vocabulary) -> Looked:
        """The same sheet by another mapping, with what is then open."""
        return replace(self, mapping=mapping, open=tuple(questions(self.grid, self.heads, mapping, vocabulary)))


@dataclass(frozen=True)
class Plan:
    """What an import would do. ``entries`` are new, by row; ``refused`` and ``unlikely`` rows stay out, ``passed`` ones make
    nothing; ``left`` cells of rows that are taken went into no entry; ``already`` counts entries that the book has; ``dated``
    rows have a date alone."""

    looked: Looked
    rows: int = 0
    entries: tuple[tuple[int, AnyEntry], ...] = ()
    refused: tuple[Fault, ...] = ()
    unlikely: tuple[Fault, ...] = ()
    passed: tuple[Fault, ...] = ()
    left: tuple[Fault, ...] = ()
    already: int = 0
    dated: int = 0
    taken_rows: int = 0
    present: tuple[AnyEntry, ...] = field(default=(), repr=False)

    @property
    def refused_rows(self) -> int:
        return len({f.row for f in self.refused})


def saved_mappings(workshop: Workshop) -> dict[str, SheetMapping]:
    """The mappings that the book keeps, by name."""
    return all_of(workshop.catalogue.own, "sheet mapping", SheetMapping)


def look(
    workshop: Workshop, path: Path, *, given: str | None = None, sheet: str | None = None, encoding: str | None = None,
    delimiter: str | None = None,
) -> Looked:  # fmt: skip
    """Reads a file and finds its mapping: the one ``given`` (a saved name, or a TOML or JSON file), the saved one of this
    layout, or a proposal.

    Raises:
        BookError: the file cannot be read. MappingError: no mapping can be found or used; says what would be right.
    """
    saved = saved_mappings(workshop)
    vocabulary = workshop.vocabulary
    if not vocabulary.tanks:
        raise MappingError("this book has no tanks yet, and entries need one; set up the line first (bathkeeper new)")
    asked: SheetMapping | None = None
    if given is not None:
        asked, name, origin = _asked(given, saved)
    encoding = encoding or (asked.encoding if asked is not None else None)
    delimiter = delimiter or (asked.delimiter if asked is not None else None)
    grids = _grids(path, sheet or (asked.sheet if asked is not None else None), sheet is not None, encoding, delimiter)
    if asked is not None:
        fits = ((g, h) for g in grids if (h := _where(g, asked)).place(asked.date) is not None)
        grid, heads = next(fits, (grids[0], _where(grids[0], asked)))
        mapping = fitted(asked, heads)
        return _looked(path, grid, heads, mapping, origin, name or path.stem, vocabulary)
    known = next((k for grid in grids if (k := _known(grid, saved)) is not None), None)
    if known is not None:
        grid, heads, name, mapping = known
        return _looked(path, grid, heads, mapping, "saved", name, vocabulary)
    for grid in grids:
        found = find_heads(grid)
        if found is not None:
            mapping = propose(grid, found, vocabulary)
            return _looked(path, grid, found, mapping, "proposed", _free_name(path.stem, saved), vocabulary)
    raise MappingError(
        f"{path.name} has no row of headings above a column of dates; say where they are in a mapping file: header_rows = [1], "
        'first_row = 2, date = "…"'
    )


def _grids(path: Path, sheet: str | None, insists: bool, encoding: str | None, delimiter: str | None) -> list[Grid]:
    from bathkeeper.logbook.errors import BookError

    try:
        first = read_grid(path, sheet, encoding, delimiter)
    except BookError:
        if insists or sheet is None:
            raise
        first = read_grid(path, None, encoding, delimiter)  # a mapping's sheet may be called otherwise this year
    if sheet is not None or len(first.sheets) < 2:
        return [first]
    return [first, *(read_grid(path, title) for title in first.sheets[:20] if title != first.name)]


def _asked(given: str, saved: Mapping[str, SheetMapping]) -> tuple[SheetMapping, str, Origin]:
    if given in saved:
        return saved[given], given, "saved"
    if given.casefold().endswith((".toml", ".json")):
        return mapping_of_text(read_text(Path(given)), given), Path(given).stem, "given"
    there = near(given, saved) if saved else "; none is kept yet"
    raise MappingError(f"no mapping is called `{shorten(given)}`{there}. A file of your own ends in .toml or .json")


def mapping_of_text(text: str, where: str = "the mapping") -> SheetMapping:
    """A mapping from TOML or JSON. Raises MappingError."""
    try:
        body = json.loads(text) if text.lstrip().startswith("{") else tomllib.loads(text)
    except (json.JSONDecodeError, tomllib.TOMLDecodeError, RecursionError) as problem:
        raise MappingError(f"{where} is neither TOML nor JSON ({problem})") from None
    try:
        return to_struct(body, SheetMapping, where)
    except (CatalogueError, RecursionError) as problem:
        raise MappingError(str(problem)) from None


def mapping_body(mapping: SheetMapping) -> dict[str, Any]:
    """A mapping as plain values, such as a definition keeps."""
    plain: dict[str, Any] = msgspec.to_builtins(mapping)
    return plain


def mapping_toml(mapping: SheetMapping) -> str:
    """A mapping as TOML, to be changed and given back."""
    return toml(mapping_body(mapping)) + "\n"


def _known(grid: Grid, saved: Mapping[str, SheetMapping]) -> tuple[Grid, Heads, str, SheetMapping] | None:
    """A saved mapping whose headings are these, wherever they stand."""
    guessed = find_heads(grid)
    for name, mapping in reversed(list(saved.items())):
        if not mapping.fingerprint:
            continue
        for heads in (heads_at(grid, mapping.header_rows, mapping.first_row), guessed):
            if heads is not None and heads.fingerprint == mapping.fingerprint:
                return grid, heads, name, fitted(mapping, heads)
    return None


def _where(grid: Grid, mapping: SheetMapping) -> Heads:
    """The headings where the mapping says, or where they are found if only there its date column is."""
    heads = heads_at(grid, mapping.header_rows, mapping.first_row)
    if heads.place(mapping.date) is None:
        found = find_heads(grid)
        if found is not None and found.place(mapping.date) is not None:
            return found
    return heads


def _looked(
    path: Path, grid: Grid, heads: Heads, mapping: SheetMapping, origin: Origin, name: str, vocabulary: Vocabulary
) -> Looked:
    notes = list(grid.notes)
    others = [s for s in grid.sheets if s != grid.name]
    if others:
        notes.append(f"this is the sheet {grid.name}; the workbook also has {', '.join(others[:8])}")
    return Looked(path, grid, heads, mapping, origin, name, tuple(questions(grid, heads, mapping, vocabulary)), tuple(notes))


def _file_name(path: Path) -> str:
    """A file's name as text that a book can keep: names on a disk may be any bytes."""
    return " ".join("".join(c if c.isprintable() else " " for c in path.name).split())[:200]


def _free_name(stem: str, saved: Mapping[str, SheetMapping]) -> str:
    name = " ".join("".join(c if c.isprintable() else " " for c in stem).split())[:100] or "sheet"
    if name not in saved:
        return name
    return next(f"{name} {n}" for n in range(2, 10_000) if f"{name} {n}" not in saved)


def read(
    workshop: Workshop, looked: Looked, at: datetime, *, unlikely: bool = False, told: Callable[[int], None] | None = None
) -> Plan:
    """What the sheet would bring into the book; nothing is written. ``unlikely``: take also what can hardly be; ``told`` hears
    of each row that was read.

    Raises:
        MappingError: the mapping does not fit the sheet or the book.
    """
    tanks, book = workshop.world.tanks, workshop.book
    entries: list[tuple[int, AnyEntry]] = []
    refused: list[Fault] = []
    doubted: list[Fault] = []
    passed: list[Fault] = []
    left: list[Fault] = []
    present: list[AnyEntry] = []
    count = dated = taken = 0
    for row in rows(looked.grid, looked.heads, looked.mapping, workshop.vocabulary, _file_name(looked.path)):
        count += 1
        if told is not None:
            told(row.number)
        doubts = [] if unlikely else [*_twice(row), *(d for e in row.entries for d in implausible_alone(e, tanks, at))]
        if row.faults:
            refused += row.faults
        elif row.passed:
            passed.append(Fault(row.number, row.passed))
        elif doubts:
            there = [e for e in row.entries if e.id in book]
            present += there
            if len(there) < len(row.entries):
                doubted += [Fault(row.number, d, "If it is so, import with --unlikely.") for d in dict.fromkeys(doubts)]
        else:
            taken, dated = taken + 1, dated + row.dated
            left += row.left
            present += [e for e in row.entries if e.id in book]
            entries += [(row.number, e) for e in row.entries if e.id not in book]
    return Plan(
        looked, count, tuple(entries), tuple(refused), tuple(doubted), tuple(passed), tuple(left), len(present), dated, taken,
        tuple(present),
    )  # fmt: skip


def _twice(row: RowRead) -> list[str]:
    same = f"it says the very same as row {row.like}, date included: one of them may be a copy"
    return [same] if row.like is not None else []


def take(workshop: Workshop, plan: Plan, at: datetime, *, keep_mapping: bool = True) -> Imported:
    """Writes what a plan brings, and the mapping where the book does not have it yet, in one go.

    Raises:
        BookError: the book cannot be written; nothing was.
    """
    also = [definition] if keep_mapping and (definition := _definition(workshop, plan.looked, at)) is not None else []
    done = add_new(workshop.book, [entry for _, entry in plan.entries], also)
    workshop.take_up()
    return msgspec.structs.replace(done, already=done.already + plan.already, dated=plan.dated)


def _definition(workshop: Workshop, looked: Looked, at: datetime) -> AnyEntry | None:
    body = mapping_body(looked.mapping)
    kept = saved_mappings(workshop).get(looked.name)
    if kept is not None and _unchanged(mapping_body(fitted(kept, looked.heads)), body):
        return None
    return parse({"kind": "definition", "id": new_id(), "at": at, "of": "sheet mapping", "name": looked.name, "body": body})


def _unchanged(kept: Mapping[str, Any], body: Mapping[str, Any]) -> bool:
    aside = ("sheet", "encoding", "delimiter")
    return {k: v for k, v in kept.items() if k not in aside} == {k: v for k, v in body.items() if k not in aside}


def rows_to_come(looked: Looked) -> int:
    """How many rows there are to read, for a measure of progress."""
    return sum(1 for line in looked.grid.lines if line.number >= looked.mapping.first_row)


def described(faults: Iterable[Fault]) -> list[str]:
    """Faults as lines: ``row 12, Zn (g/L): …``."""
    return [f"row {f.row}{', ' + f.column if f.column else ''}: {f.what}{'. ' + f.right if f.right else ''}" for f in faults]
