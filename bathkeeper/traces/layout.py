"""What the head of a file shows: its table, which column is which quantity in which unit, its decimal mark; what is open."""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from bathkeeper.refusals import shorten
from bathkeeper.traces.asking import NAMED, QUANTITIES, Answers, Choice, Question, TraceError
from bathkeeper.traces.cells import TITLES, decimal_of, is_missing, number_of, split
from bathkeeper.traces.encodings import Encoding, find_encoding
from bathkeeper.traces.offsets import NOT_TOLD, ToldOffset, told_offset
from bathkeeper.traces.table import Table, asked_column, column_title, find_table
from bathkeeper.traces.timing import Timing, find_timing
from bathkeeper.traces.words import FACTORS, UNITS_OF, ZEROS, Meaning, is_scaled, meaning_of, scaled_unit, unit_named

HEAD = 256 * 1024
"""Bytes of a file's beginning that are looked at before it is read through."""


@dataclass(frozen=True)
class Source:
    """The column that a quantity is read from. ``suffix``: letters behind every value; ``own_units``: values carry different
    units, each its own. ``value * factor + zero`` is in the quantity's fixed unit."""

    quantity: str
    index: int
    title: str
    unit: str
    factor: float = 1.0
    zero: float = 0.0
    suffix: str = ""
    own_units: bool = False
    decimals: int = 0


@dataclass(frozen=True)
class Layout:
    """How a file is to be read. ``state``: the column of a state beside the current, or of the channel; ``offset``: what the
    file tells of its clock's zone outside its cells."""

    encoding: Encoding
    table: Table
    decimal: Literal[".", ","]
    timing: Timing | None
    sources: dict[str, Source]
    state: int | None
    offset: ToldOffset
    questions: tuple[Question, ...]
    doubts: tuple[str, ...]
    fingerprint: str

    @property
    def titles(self) -> list[str]:
        """The columns as a person may name them."""
        return [column_title(self.table, j) for j in range(self.table.width)]


def look(head: bytes, answers: Answers, file_name: str = "", *, whole: bool = False) -> Layout:
    """The layout that a file's beginning shows, with the keeper's answers over it. ``whole``: it is the whole file.

    Raises:
        TraceError: there is no table in it, or an answer names a column or unit that is not there.
    """
    encoding = find_encoding(head)
    text = head[encoding.skip :].decode(encoding.name, "replace").replace("\0", "")
    if encoding.cr_only:
        text = text.replace("\r", "\n")
    lines = [line.strip("\r\f\v\x1a") for line in text.split("\n")]
    if not whole and len(lines) > 1:
        lines.pop()
    table = find_table(lines)
    questions: list[Question] = []
    doubts: list[str] = []
    decimal = _decimal(table, answers, questions)
    meanings = [meaning_of(table.names[j], table.units[j]) for j in range(table.width)]
    if not table.titled and not answers.columns:
        questions.append(_untitled(table))
        meanings = [Meaning()] * table.width
    chosen = {q: asked_column(table, answers.columns[q], q) for q in answers.columns if q not in ("time", "date")}
    timing = find_timing(table, meanings, decimal, answers, file_name, questions, doubts)
    offset = told_offset(table, timing.columns) if timing is not None else NOT_TOLD
    if offset.question is not None and answers.zone is None:
        questions.append(offset.question)
    taken = set(timing.columns) if timing is not None else set()
    sources: dict[str, Source] = {}
    for quantity in (*QUANTITIES, "counter", "power"):
        alone = quantity == "counter" and "current" not in sources
        index = chosen[quantity] if quantity in chosen else _choose(table, meanings, quantity, taken, questions, alone)
        if index is not None:
            source = _source(table, meanings[index], quantity, index, decimal, answers, questions, doubts)
            if source is not None:
                sources[quantity] = source
    state = next((j for j, m in enumerate(meanings) if m.quantity == "state" and table.kinds[j] == "text"), None)
    if answers.only is not None:
        state = asked_column(table, answers.only[0], "only")
    return Layout(
        encoding, table, decimal, timing, sources, state, offset, tuple(questions), tuple(doubts), _fingerprint(table)
    )  # fmt: skip


def _decimal(table: Table, answers: Answers, questions: list[Question]) -> Literal[".", ","]:
    if answers.decimal is not None:
        return answers.decimal
    columns = [[r[j] for r in table.rows if j < len(r)] for j in range(table.width) if table.kinds[j] == "number"]
    found = decimal_of(columns)
    if found == "unclear":
        example = next((c for cells in columns for c in cells if "," in c or "." in c), "")
        questions.append(
            Question(
                "decimal",
                f"`{shorten(example)}` could have a decimal mark or part its thousands",
                (Choice("the comma is the decimal mark", "--decimal ,"), Choice("the point is", "--decimal .")),
            )
        )
        return "," if "," in example else "."
    return found or "."


def _untitled(table: Table) -> Question:
    why = "the table has no header" if not any(table.names) else "the header does not name as many columns as the rows have"
    first = ", ".join(f"{j + 1}: `{shorten(c)}`" for j, c in enumerate(table.rows[0][:12])) if table.rows else ""
    if table.delimiter == "," and _commas_twice(table):
        why += "; a comma seems to part the columns and the decimals alike: write the file anew with semicolons, or"
    return Question("columns", f"{why}, so which column is which? First row: {first}", example=NAMED)


def _commas_twice(table: Table) -> bool:
    """Whether rows are longer than their header by one whole number for every column of numbers."""
    names = len(split(table.header[0], table.delimiter)) if table.header else 0
    numbers = [j for j in range(table.width) if table.kinds[j] == "number"]
    whole = all(row[j].strip().lstrip("+-").isdigit() for row in table.rows for j in numbers if j < len(row) and row[j].strip())
    return 1 < names < table.width and whole and table.width - names >= len(numbers) // 2 > 0


def _choose(
    table: Table, meanings: Sequence[Meaning], quantity: str, taken: set[int], questions: list[Question], alone: bool
) -> int | None:
    """The one column that says this quantity; asks where there are several, or only what does not look measured. ``alone``: it
    is all that tells the charge."""
    told = [
        j
        for j, m in enumerate(meanings)
        if m.quantity == quantity and j not in taken and table.kinds[j] in ("number", "missing")
    ]
    there = [j for j in told if table.kinds[j] == "number"]
    plain = [j for j in there if not meanings[j].is_set and not meanings[j].extreme]
    if len(plain) == 1:
        return plain[0]
    if quantity in ("counter", "power") and not (alone and len(plain) > 1):
        return None
    if not plain and not there:
        return None
    if not plain:
        if quantity != "current":
            return None
        named = "; ".join(column_title(table, j) for j in there)
        text = f"the only column of {quantity} looks like a set value or an extreme, not like what was measured: {named}"
        choices = [Choice(f"column {column_title(table, j)} was measured", f"--columns {quantity}={j + 1}") for j in there]
    else:
        named = "; ".join(column_title(table, j) for j in plain)
        text = f"{len(plain)} columns tell a {quantity}: {named}. Which one is it?"
        choices = [Choice(f"column {column_title(table, j)}", f"--columns {quantity}={j + 1}") for j in plain]
    choices.append(Choice("none of them", f"--columns {quantity}=none"))
    questions.append(Question(f"columns.{quantity}", text, tuple(choices)))
    return None


def _source(
    table: Table, meaning: Meaning, quantity: str, index: int, decimal: str, answers: Answers, questions: list[Question],
    doubts: list[str],
) -> Source | None:  # fmt: skip
    """The column with its unit: as answered, else as its values carry it, else as its header says."""
    cells = [r[index] for r in table.rows if index < len(r)]
    numbers = [n for c in cells if not is_missing(c) and (n := number_of(c, decimal)) is not None]
    behind = Counter(n.unit for n in numbers if n.unit)
    carried = {text: found for text in behind if (found := unit_named(text, quantity)) is not None}
    strange = [text for text in behind if text not in carried]
    decimals = max((len(c.strip().rpartition(decimal)[2].rstrip(" AVmu")) if decimal in c else 0 for c in cells), default=0)
    title = column_title(table, index)
    asked, times = answers.units.get(quantity), 1.0
    unit = meaning.unit if meaning.quantity == quantity else ""
    if asked is not None:
        scaled = scaled_unit(asked, quantity)
        if scaled is None:
            kinds = ", ".join(UNITS_OF[quantity])
            raise TraceError(f"--unit {quantity}={shorten(asked)}: a {quantity} is in {kinds}, or in so many of it (10mA)")
        (unit, times), carried = scaled, {}
    elif quantity != "ph" and meaning.quantity == quantity and is_scaled(table.names[index], table.units[index]):
        questions.append(_scaled_question(quantity, title, unit))
        return None
    elif strange and sum(behind[s] for s in strange) > 0.05 * max(len(numbers), 1):
        questions.append(
            _unit_question(
                quantity, f"column {title}: its values carry `{shorten(strange[0])}`, which is no unit of {quantity}"
            )
        )
        return None
    elif carried:
        units = {u for _, u in carried.values()}
        if unit and units != {unit} and len(units) == 1:
            questions.append(_unit_question(quantity, f"column {title}: the header says {unit}, its values {', '.join(units)}"))
        unit = units.pop() if len(units) == 1 else unit or UNITS_OF[quantity][0]
    elif meaning.clash and meaning.quantity == quantity:
        questions.append(_unit_question(quantity, f"column {title}: its unit is none of {quantity} but of {meaning.clash}"))
    declared = _declared(table, quantity) if asked is None else None
    if declared is not None:
        if unit and declared != unit:
            questions.append(
                _unit_question(quantity, f"{quantity}: the file says {declared} before its table and {unit} at the column")
            )
        unit = unit or declared
    if not unit:
        if quantity in ("counter", "power"):
            return None
        if quantity == "voltage":
            doubts.append(f"column {title} has no unit, so the voltage is left out; `--unit voltage=V` takes it in")
            return None
        unit = UNITS_OF[quantity][0]
        if quantity != "ph":
            questions.append(_unit_question(quantity, f"column {title} does not say its unit"))
    mixed = len({u for _, u in carried.values()}) > 1
    suffix = next(iter(carried)) if len(carried) == 1 and not mixed and len(numbers) == behind.total() else ""
    return Source(
        quantity,
        index,
        title,
        unit if times == 1.0 else f"{times:g} {unit}",
        FACTORS[unit] * times,
        ZEROS.get(unit, 0.0),
        suffix,
        mixed or bool(carried and not suffix),
        decimals,
    )


def _declared(table: Table, quantity: str) -> str | None:
    """A unit that the lines before the table name for a quantity: ``Current unit: mA``."""
    for label, value in table.preamble:
        if "unit" in label.casefold() or "einheit" in label.casefold():
            words = label.replace("Unit", "").replace("unit", "").replace("Einheit", "").replace("einheit", "")
            if meaning_of(words).quantity == quantity and (found := unit_named(value, quantity)) is not None:
                return found[1]
    return None


def _unit_question(quantity: str, text: str) -> Question:
    return Question(
        f"unit.{quantity}", text, tuple(Choice(u, f"--unit {quantity}={u}") for u in UNITS_OF[quantity][:3])
    )  # fmt: skip


def _scaled_question(quantity: str, title: str, unit: str) -> Question:
    shown = unit or UNITS_OF[quantity][0]
    return Question(
        f"unit.{quantity}",
        f"column {title} tells of a factor or a share beside its unit: what is a value of 1 in it?",
        (
            Choice(f"1 {shown}, as it stands", f"--unit {quantity}={shown}"),
            Choice("leave it out", f"--columns {quantity}=none"),
        ),
        f"--unit {quantity}=10{shown}, where a 1 means 10 {shown}",
    )


def _fingerprint(table: Table) -> str:
    """By which the files of one logger are known again: delimiter, column names and units; empty where there is no header."""
    if not table.header and table.delimiter != "label":
        return ""
    text = "\x1f".join((TITLES[table.delimiter], str(table.width), *table.names, *table.units)).casefold()
    return hashlib.sha256(text.encode()).hexdigest()[:24]
