"""Rows become entries: each cell by its column, each entry by the words of the quick form. A row is taken whole or not at all.

The id of an entry is made of what its row says (headings and cells in one spelling, the order of columns does not matter), of
the entry's kind, and of how often that row came before in the sheet: the same sheet, or a longer one, makes no entry twice.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime, time, timedelta
from typing import Any

import msgspec

from bathkeeper.catalogue.loader import plain_name
from bathkeeper.catalogue.own_sheets import SheetEntry, SheetMapping, SheetRule
from bathkeeper.entries import AnyEntry, EntryError, parse
from bathkeeper.logbook.sheets import EMPTY, Cell, Grid, Line
from bathkeeper.phrases import PhraseError, Vocabulary, compose
from bathkeeper.refusals import near, shorten
from bathkeeper.sheets.cells import CellError, numeral
from bathkeeper.sheets.dates import When, clock, offset_of, when
from bathkeeper.sheets.heads import Heads
from bathkeeper.sheets.spelling import Spelt, spell
from bathkeeper.sheets.words import KIND_WORDS
from bathkeeper.units.numerals import Preferences

_DAY_S = 86_400


class MappingError(ValueError):
    """A mapping that does not fit the sheet or the book: what is wrong, and what would be right."""


@dataclass(frozen=True)
class Fault:
    """Why a row, or a cell of it, is not taken; ``column`` is empty where the row as a whole is meant."""

    row: int
    what: str
    right: str = ""
    column: str = ""
    cell: str = ""


@dataclass(frozen=True)
class RowRead:
    """A row as it was read: its entries, or the faults that keep it out; ``passed`` says why it makes nothing, ``like``
    which row above says the very same; ``left``: cells that went into no entry."""

    number: int
    entries: tuple[AnyEntry, ...] = ()
    faults: tuple[Fault, ...] = ()
    passed: str = ""
    dated: bool = False
    like: int | None = None
    left: tuple[Fault, ...] = ()


def check_mapping(mapping: SheetMapping, heads: Heads, vocabulary: Vocabulary) -> None:
    """Whether a mapping's columns are in the sheet and its tanks in the book.

    Raises:
        MappingError: names the column or tank, and what there is.
    """
    for name in columns_of(mapping):
        if heads.place(name) is None:
            raise MappingError(f"the sheet has no column `{shorten(name)}`{near(name, heads.names)}")
    named = [mapping.tank, *mapping.tanks.values(), *(e.tank for e in mapping.entries)]
    for tank in [*named, *(c.tank for e in mapping.entries for c in e.columns)]:
        if tank is not None:
            try:
                vocabulary.tank(tank)
            except PhraseError as problem:
                raise MappingError(f"the mapping: {problem}") from None


def columns_of(mapping: SheetMapping) -> list[str]:
    """Every column that a mapping names."""
    own = [mapping.date, mapping.time, mapping.tank_column, mapping.by, *mapping.fill_down]
    for entry in mapping.entries:
        own += [c for column in entry.columns for c in (column.column, column.unit_column)]
    rules = [r.column for e in mapping.entries for r in e.only] + [r.column for r in mapping.skip]
    return list(dict.fromkeys(name for name in [*own, *rules] if name is not None))


def rows(grid: Grid, heads: Heads, mapping: SheetMapping, vocabulary: Vocabulary, source: str) -> Iterator[RowRead]:
    """Every row of notes, in the order of the sheet. ``source`` names the file in the entries.

    Raises:
        MappingError: the mapping does not fit.
    """
    check_mapping(mapping, heads, vocabulary)
    prefs: Preferences = replace(vocabulary.prefs, decimal_comma=False)  # cells are spelt with a point before they are read
    maker = _Maker(grid, heads, mapping, replace(vocabulary, prefs=prefs), source)
    for line in grid.lines:
        if line.number >= mapping.first_row and line.number not in mapping.header_rows:
            read = maker.row(line)
            if read is not None:
                yield read


class _Maker:
    """Reads row after row, and remembers what fills down, how often a row came, and which moments are taken."""

    def __init__(self, grid: Grid, heads: Heads, mapping: SheetMapping, vocabulary: Vocabulary, source: str) -> None:
        self._grid, self._heads, self._mapping, self._vocabulary, self._source = grid, heads, mapping, vocabulary, source
        self._above: dict[str, Cell] = {}
        self._rows_saying: dict[bytes, list[int]] = {}
        self._taken: dict[datetime, int] = {}
        self._blank = {plain_name(b) for b in mapping.blanks}
        self._offset = offset_of(mapping.offset)
        self._headed = max((n for n, texts in enumerate(heads.levels) if any(texts)), default=-1)

    def row(self, line: Line) -> RowRead | None:
        """None for a row that is empty or that the mapping skips."""
        cells = {name: self._cell(line, place) for place, name in enumerate(self._heads.names)}
        if not line.trouble and (not any(c.filled for c in cells.values()) or self._skips(cells)):
            self._fill_down(cells)
            return None
        if line.trouble:
            return RowRead(line.number, faults=(Fault(line.number, line.trouble, "Mend the row and import again."),))
        beyond = next((c for c in line.cells[self._headed + 1 :] if c.filled), None)
        if beyond is not None and not self._grid.workbook:
            return RowRead(line.number, faults=(Fault(
                line.number, f"it has more cells than there are headings (`{shorten(beyond.text)}` is left over)",
                "A delimiter stands in a text or number without quotes; put that cell into quotes.",
            ),))  # fmt: skip
        downward = {self._heads.place(name) for name in self._mapping.fill_down}
        own = any(c.filled for place, c in enumerate(cells.values()) if place not in downward)
        self._fill_down(cells)
        if not own:
            return None  # a row that only says the date of those below
        return self._read(line.number, cells)

    def _skips(self, cells: dict[str, Cell]) -> bool:
        return any(_holds(rule, self._get(cells, rule.column)) for rule in self._mapping.skip)

    def _cell(self, line: Line, place: int) -> Cell:
        cell = line.cell(place)
        return EMPTY if cell.kind == "text" and plain_name(cell.text) in self._blank else cell

    def _fill_down(self, cells: dict[str, Cell]) -> None:
        for wanted in self._mapping.fill_down:
            place = self._heads.place(wanted)
            if place is None:
                continue
            name = self._heads.names[place]
            if cells[name].filled:
                self._above[name] = cells[name]
            else:
                cells[name] = self._above.get(name, EMPTY)

    def _get(self, cells: dict[str, Cell], column: str | None) -> Cell:
        place = self._heads.place(column) if column is not None else None
        return EMPTY if place is None else cells[self._heads.names[place]]

    def _read(self, number: int, cells: dict[str, Cell]) -> RowRead:
        faults: list[Fault] = []
        moment: When | None = None
        column = self._mapping.date
        try:
            moment = self._when(cells)
        except CellError as problem:
            clocked = self._mapping.time is not None and "time of day" in problem.what
            column = str(self._mapping.time) if clocked else column
            faults.append(Fault(number, problem.what, problem.right, column, self._get(cells, column).text))
        spelt: list[tuple[SheetEntry, Spelt]] = []
        for entry in self._mapping.entries:
            if not all(_holds(rule, self._get(cells, rule.column)) for rule in entry.only):
                continue
            found = spell(entry, self._mapping, lambda name: self._get(cells, name), self._vocabulary)
            faults += [Fault(number, p.what, p.right, c, self._get(cells, c).text) for c, p in found.faults]
            if found.words or found.faults:
                spelt.append((entry, found))
        if not spelt and not faults:
            return RowRead(number, passed="none of the columns that make an entry is filled")
        if faults or moment is None:
            return RowRead(number, faults=tuple(faults))
        made = self._made(number, cells, moment, spelt)
        return replace(made, left=tuple(self._left_over(number, cells, [entry for entry, _ in spelt])))

    def _left_over(self, number: int, cells: dict[str, Cell], made: list[SheetEntry]) -> Iterator[Fault]:
        """Filled cells of columns that are taken, but of no entry that this row makes: what they say would be lost."""
        used = {c.column for e in made for c in e.columns}
        taken = [c.column for e in self._mapping.entries for c in e.columns]
        kinds = {r.column for e in self._mapping.entries for r in e.only if r.is_}
        for column in dict.fromkeys([*taken, *kinds]):
            cell = self._get(cells, column)
            if not cell.filled or column in used or _is_nothing(cell) or (column in kinds and _is_kind(cell, self._mapping)):
                continue
            yield Fault(
                number, "it goes into no entry that this row makes",
                "Add it by hand, or take its column as something else (a remark, say).", column, cell.text,
            )  # fmt: skip

    def _when(self, cells: dict[str, Cell]) -> When:
        cell = self._get(cells, self._mapping.date)
        if not cell.filled:
            above = " or add the column to fill_down, if an empty cell means the date above"
            raise CellError("it has no date", f"Write one{above if self._mapping.date not in self._mapping.fill_down else ''}.")
        zero = self._grid.day_zero if cell.kind == "number" and self._grid.workbook else self._mapping.day_zero
        moment = when(cell, self._mapping.date_order, zero)
        hour = self._get(cells, self._mapping.time)
        if hour.filled and moment.clock is None:
            moment = replace(moment, clock=clock(hour))
        return moment

    def _made(self, number: int, cells: dict[str, Cell], moment: When, spelt: list[tuple[SheetEntry, Spelt]]) -> RowRead:
        faults: list[Fault] = []
        made: list[dict[str, Any]] = []
        content = self._content(cells, moment)
        alike = self._rows_saying.setdefault(content, [])
        ids = _ids(content, len(alike), [entry.kind for entry, _ in spelt])
        like = alike[0] if alike else None
        alike.append(number)
        run = next((id for (entry, _), id in zip(spelt, ids, strict=True) if entry.kind == "run"), None)
        for (entry, found), id in zip(spelt, ids, strict=True):
            vocabulary, words = self._vocabulary, found.words
            if entry.of_run:
                if run is None:
                    faults.append(Fault(number, f"the {entry.kind} is about a run, and the row makes none"))
                    continue
                vocabulary, words = replace(vocabulary, runs={run: True}), [*words, f"run={run}"]
            try:
                raw = dict(compose(entry.kind, words, vocabulary, _ANY).raw)
            except PhraseError as problem:
                faults.append(self._fault(number, cells, entry, str(problem)))
                continue
            raw |= found.plain
            by = self._get(cells, self._mapping.by)
            if by.filled:
                raw["by"] = by.text
            raw["typed"] = {**raw.get("typed", {}), "sheet": f"{self._source}, row {number}"}
            made.append({**raw, "id": id})
        if faults:
            return RowRead(number, faults=tuple(faults))
        try:
            entries = tuple(parse({**raw, "at": at}) for raw, at in zip(made, self._moments(moment, len(made)), strict=True))
        except (EntryError, OverflowError, ValueError) as problem:
            return RowRead(number, faults=(Fault(number, str(problem)),))
        return RowRead(number, entries, dated=moment.clock is None, like=like)

    def _fault(self, number: int, cells: dict[str, Cell], entry: SheetEntry, said: str) -> Fault:
        """A refusal of the quick form, at the column that it is about."""
        what, sign, right = said.partition("; write ")
        head = what.partition(":")[0]
        column = next((c for c in entry.columns if c.as_ == head), None)
        column = column or next((c for c in entry.columns if c.as_ in ("current", "charge", "minutes") and ":" in what), None)
        name = column.column if column is not None else ""
        return Fault(number, what, f"Write {right}." if sign else "", name, self._get(cells, name or None).text)

    def _moments(self, moment: When, count: int) -> list[datetime]:
        """Moments of a row's entries: those that were taken before are followed by the next seconds."""
        start = datetime.combine(moment.day, moment.clock or time())
        offset = moment.offset or self._offset
        base = start.replace(tzinfo=offset) if offset is not None else start.astimezone()
        first = self._taken.get(base, 0)
        if first + count > _DAY_S:
            raise ValueError(f"more than {_DAY_S} entries are of {moment.day} with the date alone; give times")
        self._taken[base] = first + count
        return [base + timedelta(seconds=first + n) for n in range(count)]

    def _content(self, cells: dict[str, Cell], moment: When) -> bytes:
        """What the row says, in one spelling."""
        place = self._heads.place(self._mapping.date)
        date = self._heads.names[place] if place is not None else ""
        row = {name: self._canonical(cell) for name, cell in cells.items() if cell.filled and name != date}
        said = {"day": moment.day.isoformat(), "clock": moment.clock.isoformat() if moment.clock else "", "row": row}
        return msgspec.json.encode(said, order="deterministic")

    def _canonical(self, cell: Cell) -> str:
        """A cell in one spelling, so that the same sheet saved as text and as a workbook says the same."""
        if cell.kind == "number":
            return f"{float(cell.text)!r}{cell.unit}"
        try:
            return repr(float(numeral(cell.text, self._mapping.decimal)))
        except (CellError, ValueError):
            return " ".join("".join(c if c.isprintable() else " " for c in cell.text).split())


_ANY = datetime.fromisoformat("2000-01-01T00:00:00+00:00")  # the real moment is put in when the whole row has been understood


def _ids(content: bytes, ordinal: int, kinds: list[str]) -> list[str]:
    """One id for each entry of a row that says this for the ``ordinal``-th time, counted from 0."""
    ids, seen = [], dict[str, int]()
    for kind in kinds:
        nth = seen.get(kind, 0)
        seen[kind] = nth + 1
        told = b"%s\n%s %d\n%d" % (content, kind.encode(), nth, ordinal)
        ids.append("row-" + hashlib.blake2b(told, digest_size=16).hexdigest())
    return ids


def _is_kind(cell: Cell, mapping: SheetMapping) -> bool:
    """Whether a cell of the column that says what a row is about says no more than that."""
    word = plain_name(cell.text)
    ruled = {plain_name(w) for e in mapping.entries for r in e.only for w in (*r.is_, *r.is_not)}
    return word in ruled or any(word in {plain_name(w) for w in words} for words in KIND_WORDS.values())


def _is_nothing(cell: Cell) -> bool:
    """Whether a cell says that there was none."""
    try:
        return float(cell.text.replace(",", ".")) == 0.0
    except ValueError:
        return False


def _holds(rule: SheetRule, cell: Cell) -> bool:
    word = plain_name(cell.text)
    if rule.filled is not None and cell.filled != rule.filled:
        return False
    if rule.is_ and word not in {plain_name(w) for w in rule.is_}:
        return False
    return not rule.is_not or word not in {plain_name(w) for w in rule.is_not}
