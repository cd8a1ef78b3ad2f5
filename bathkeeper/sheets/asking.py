"""What a sheet cannot tell and a person has to: day or month first, the decimal mark, a unit, whose gallon, which tank."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import Any

import msgspec

from bathkeeper.catalogue.loader import plain_name
from bathkeeper.catalogue.own_sheets import SheetColumn, SheetEntry, SheetMapping, SheetRule
from bathkeeper.logbook.sheets import Cell, Grid
from bathkeeper.phrases import PhraseError, Vocabulary
from bathkeeper.refusals import shorten
from bathkeeper.sheets.cells import CLOCK_UNITS, Decimal, decimal_marks
from bathkeeper.sheets.dates import Order, orders
from bathkeeper.sheets.guess_units import kinds_of, readings_of_unit
from bathkeeper.sheets.heads import Heads
from bathkeeper.sheets.roles import with_unit
from bathkeeper.sheets.spelling import BARE, is_text
from bathkeeper.units.words import EXAMPLE, KNOWN

TANKLESS = ("stock", "remark")
LEAVE_OUT = "leave those rows out"
MOST_TANK_WORDS = 12


@dataclass(frozen=True)
class Question:
    """``key`` names it for :func:`answered` and on the command line (``dates``, ``decimal``, ``tank``, ``unit:Zn``);
    ``choices`` are (answer, in words), none where any text may be the answer."""

    key: str
    text: str
    choices: tuple[tuple[str, str], ...] = ()


def questions(grid: Grid, heads: Heads, mapping: SheetMapping, vocabulary: Vocabulary) -> list[Question]:
    """Everything that is open in a mapping for this sheet; none when all of it can be read."""
    found: list[Question] = []
    order, choices, example = date_order(grid, heads, mapping)
    if mapping.date_order is None and order is None and choices:
        said = {"dmy": "day, month, year", "mdy": "month, day, year", "ymd": "year, month, day"}
        found.append(Question(
            "dates", f"In which order are the dates of `{mapping.date}` written, such as {example}?",
            tuple((o, said[o]) for o in choices),
        ))  # fmt: skip
    mark, open_ = decimal_of(grid, heads, mapping, vocabulary)
    if mapping.decimal is None and mark is None and open_:
        found.append(Question(
            "decimal", f"Which sign is the decimal mark of this sheet? `{shorten(open_[0])}` could be read in two ways.",
            (("point", "the point: 1,500 is fifteen hundred"), ("comma", "the comma: 1,500 is one and a half")),
        ))  # fmt: skip
    found += _units(grid, heads, mapping, vocabulary)
    if tank_needed(mapping) and mapping.tank is None and mapping.tank_column is None:
        found.append(Question("tank", "Which tank is this sheet about?", tuple((t, t) for t in vocabulary.tanks)))
    found += _tank_words(grid, heads, mapping, vocabulary)
    return found


def answered(mapping: SheetMapping, key: str, answer: str, vocabulary: Vocabulary) -> SheetMapping:
    """The mapping with an answer in it.

    Raises:
        ValueError: there is no such question, or that is no answer to it.
    """
    what, _, about = key.partition(":")
    text = answer.strip()
    if what == "dates":
        return msgspec.structs.replace(mapping, date_order=_one_of(text, ("dmy", "mdy", "ymd"), "dates"))
    if what == "decimal":
        return msgspec.structs.replace(mapping, decimal=_one_of(text, ("point", "comma"), "decimal"))
    if what == "tank" and not about:
        return msgspec.structs.replace(mapping, tank=_tank(text, vocabulary))
    if what == "tank":
        if text == LEAVE_OUT and mapping.tank_column is not None:
            rule = SheetRule(column=mapping.tank_column, is_=(about,))
            return msgspec.structs.replace(mapping, skip=(*mapping.skip, rule))
        return msgspec.structs.replace(mapping, tanks={**mapping.tanks, about: _tank(text, vocabulary)})
    if what == "unit":
        place = [c for e in mapping.entries for c in e.columns if " ".join(c.column.split()) == " ".join(about.split())]
        if not place:
            raise ValueError(f"no number is taken from a column `{shorten(about)}`")
        _check_unit(mapping, about, text, vocabulary)
        return with_unit(mapping, place[0].column, text)
    raise ValueError(f"nothing is asked as `{shorten(key)}`; it may be dates, decimal, tank or unit:COLUMN")


def _one_of(text: str, words: tuple[str, ...], what: str) -> Any:
    if text.casefold() not in words:
        raise ValueError(f"{what}: `{shorten(text)}` is not one of {', '.join(words)}")
    return text.casefold()


def _tank(text: str, vocabulary: Vocabulary) -> str:
    try:
        return vocabulary.tank(text).name
    except PhraseError as problem:
        raise ValueError(str(problem)) from None


def _check_unit(mapping: SheetMapping, column: str, unit: str, vocabulary: Vocabulary) -> None:
    for entry, one in _numbers(mapping, vocabulary):
        if " ".join(one.column.split()) != " ".join(column.split()):
            continue
        kinds = kinds_of(entry.kind, one.as_, entry.tank or mapping.tank, vocabulary)
        if not kinds or (unit in CLOCK_UNITS and "time" in kinds):
            continue
        readings = readings_of_unit(unit, kinds, vocabulary.prefs)
        if not readings:
            raise ValueError(f"`{shorten(unit)}` is no unit of {one.as_}; known are {'; '.join(KNOWN[k] for k in kinds)}")
        if len(readings) > 1:
            raise ValueError(f"`{shorten(unit)}` could be {' or '.join(readings)}; write the one that is meant")


def tank_needed(mapping: SheetMapping) -> bool:
    """Whether anything in the mapping needs to be told the tank."""
    return any(
        e.kind not in TANKLESS and e.tank is None and not e.of_run
        and (e.kind != "run" or any(c.tank is None for c in e.columns if c.as_ in ("current", "charge", "minutes")))
        for e in mapping.entries
    )  # fmt: skip


def _column_cells(grid: Grid, heads: Heads, mapping: SheetMapping, column: str | None) -> list[Cell]:
    place = heads.place(column) if column is not None else None
    if place is None:
        return []
    return [line.cell(place) for line in grid.lines if line.number >= mapping.first_row]


def date_order(grid: Grid, heads: Heads, mapping: SheetMapping) -> tuple[Order | None, tuple[Order, ...], str]:
    """(order that the rows decide, orders left open, an example that shows it). Neither where every date reads one way."""
    sets = [(s, c.text) for c in _column_cells(grid, heads, mapping, mapping.date) if c.filled and (s := orders(c)) is not None]
    if not sets:
        return None, (), ""
    every: tuple[Order, ...] = ("dmy", "mdy", "ymd")
    left = [o for o in every if all(o in s for s, _ in sets)]
    example = next((t for s, t in sets if len(s) > 1), sets[0][1])
    if len(left) == 1:
        return left[0], (), example
    open_ = left or [o for o in every if any(o in s for s, _ in sets)]
    return None, tuple(open_), example


def _numbers(mapping: SheetMapping, vocabulary: Vocabulary) -> list[tuple[SheetEntry, SheetColumn]]:
    return [(e, c) for e in mapping.entries for c in e.columns if not is_text(e.kind, c.as_, vocabulary)]


def decimal_of(grid: Grid, heads: Heads, mapping: SheetMapping, vocabulary: Vocabulary) -> tuple[Decimal | None, list[str]]:
    """(mark that the number columns decide, cells that could be read in two ways). A mark is taken as decided only where no
    cell is left open by it: with `1,500` in the sheet somebody has to say."""
    texts = [
        cell.text
        for name in dict.fromkeys(c.column for _, c in _numbers(mapping, vocabulary))
        for cell in _column_cells(grid, heads, mapping, name)
        if cell.filled and cell.kind == "text"
    ]
    marks, open_ = decimal_marks(texts)
    if len(marks) > 1:
        return None, open_ or [t for t in texts if "," in t]
    if open_ or not marks:
        return None, open_
    return ("point" if "point" in marks else "comma"), []


def _units(grid: Grid, heads: Heads, mapping: SheetMapping, vocabulary: Vocabulary) -> list[Question]:
    found: dict[str, Question] = {}
    for entry, column in _numbers(mapping, vocabulary):
        kinds = kinds_of(entry.kind, column.as_, entry.tank or mapping.tank, vocabulary)
        if not kinds or column.as_ in BARE or column.column in found or (column.unit in CLOCK_UNITS and "time" in kinds):
            continue
        bare = [
            c.text
            for c in _column_cells(grid, heads, mapping, column.column)
            if c.filled and not c.unit and (c.kind == "number" or not c.text[-1:].isalpha()) and c.kind in ("number", "text")
        ]
        readings = readings_of_unit(column.unit, kinds, vocabulary.prefs) if column.unit else []
        if (column.unit_column is not None and not column.unit) or not bare or len(readings) == 1:
            continue
        key, known = f"unit:{column.column}", "; ".join(KNOWN[k] for k in kinds)
        if len(readings) > 1:
            text = f"`{column.unit}` of `{column.column}` could be {' or '.join(readings)}: which is it?"
            found[column.column] = Question(key, text, tuple((r, r) for r in readings))
        else:
            said = f"`{column.unit}` is no unit of {column.as_}. " if column.unit else ""
            text = f"{said}In which unit is `{column.column}` ({column.as_}), such as {shorten(bare[0])}?"
            found[column.column] = Question(key, f"{text} For example {EXAMPLE[kinds[0]].split(' ')[-1]}; known are {known}")
    return list(found.values())


def _tank_words(grid: Grid, heads: Heads, mapping: SheetMapping, vocabulary: Vocabulary) -> list[Question]:
    """Words of the tank column that are no tanks here."""
    cells = _column_cells(grid, heads, mapping, mapping.tank_column)
    known = {plain_name(w) for w in [*vocabulary.tanks, *mapping.tanks]}
    blanks = {plain_name(w) for w in [*mapping.blanks, *(w for rule in mapping.skip for w in rule.is_)]}
    words = Counter(c.text for c in cells if c.filled and plain_name(c.text) not in known | blanks and len(c.text) <= 60)
    said = tuple((t, t) for t in vocabulary.tanks)
    return [
        Question(f"tank:{word}", f"Which tank is `{shorten(word)}` ({count} rows)?", (*said, (LEAVE_OUT, LEAVE_OUT)))
        for word, count in words.most_common(MOST_TANK_WORDS)
        if count > 1
    ]
