"""A mapping proposed for a sheet by its headings and its cells. It is shown and asked about before anything is taken by it."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from typing import Any

import msgspec

from bathkeeper.catalogue.loader import plain_name
from bathkeeper.catalogue.own_sheets import SheetEntry, SheetMapping, SheetRule
from bathkeeper.logbook.sheets import Cell, Grid
from bathkeeper.phrases import PhraseError, Vocabulary
from bathkeeper.phrases.reading import ALIASES, QUANTITIES
from bathkeeper.phrases.words import match
from bathkeeper.sheets.asking import date_order, decimal_of, tank_needed
from bathkeeper.sheets.cells import CLOCK_UNITS
from bathkeeper.sheets.dates import is_date
from bathkeeper.sheets.guess_units import head_and_unit
from bathkeeper.sheets.heads import Heads
from bathkeeper.sheets.roles import Role, also
from bathkeeper.sheets.spelling import STEP
from bathkeeper.sheets.words import (
    ADDED,
    AMOUNT,
    BY,
    DATE,
    FILLED,
    KIND,
    KIND_WORDS,
    NOTES,
    OUT,
    REAGENT,
    RUN,
    SAY_UNIT,
    TANK,
    TIME,
    UNIT,
    WATER,
)
from bathkeeper.units.meanings import meanings_of
from bathkeeper.units.numerals import Preferences, UnitError

SAMPLE = 400  # rows looked at


def propose(grid: Grid, heads: Heads, vocabulary: Vocabulary) -> SheetMapping:
    """The mapping that the sheet looks like; what it cannot tell is left open for :func:`asking.questions`."""
    columns = {name: _cells(grid, heads, place) for place, name in enumerate(heads.names)}
    mapping = SheetMapping(
        header_rows=heads.rows, first_row=heads.first_row, date=_date_column(heads, columns), entries=(),
        fingerprint=heads.fingerprint, tank=_only_tank(vocabulary), sheet=grid.name if grid.workbook else None,
        day_zero=grid.day_zero,
    )  # fmt: skip
    spoken = {name: head_and_unit(heads.levels[place], heads.units) for place, name in enumerate(heads.names)}
    kinds = _kind_column(spoken, columns, mapping)
    pair = _pair(spoken, columns)
    for name, (word, unit, over) in spoken.items():
        if name in (mapping.date, kinds[0]) or not any(c.filled for c in columns[name]):
            continue
        if name in pair.values():
            role = _of_pair(name, unit, pair)
        else:
            role = _role(word, unit, over, columns[name], vocabulary, mapping)
        mapping = also(mapping, name, _at_home(role) if role.tank == mapping.tank else role)
    mapping = _with_kinds(mapping, kinds)
    mapping = _only_worked(mapping)
    mapping = msgspec.structs.replace(
        mapping, date_order=date_order(grid, heads, mapping)[0], decimal=decimal_of(grid, heads, mapping, vocabulary)[0]
    )
    return mapping if tank_needed(mapping) else msgspec.structs.replace(mapping, tank=None)


def _at_home(role: Role) -> Role:
    return Role(role.kind, role.name, role.unit, None, role.unit_column, role.fixed, role.only)


def _cells(grid: Grid, heads: Heads, place: int) -> list[Cell]:
    return [line.cell(place) for line in grid.lines if line.number >= heads.first_row][:SAMPLE]


def _date_column(heads: Heads, columns: dict[str, list[Cell]]) -> str:
    """The column with the most dates; of equals the one whose heading says so, else the first."""
    said = {n: plain_name(head_and_unit(heads.levels[p], heads.units)[0]) for p, n in enumerate(heads.names)}
    scores = {
        name: (sum(1 for c in cells if c.filled and is_date(c)) * (3 if said[name].startswith(DATE) else 1), -place)
        for place, (name, cells) in enumerate(columns.items())
    }
    return max(scores, key=lambda name: scores[name])


def _only_tank(vocabulary: Vocabulary) -> str | None:
    plating = [t.name for t in vocabulary.tanks.values() if t.role == "plate"]
    return plating[0] if len(plating) == 1 else None


def _kind_column(
    spoken: dict[str, tuple[str, str, str]], columns: dict[str, list[Cell]], mapping: SheetMapping
) -> tuple[str, dict[str, list[str]]]:
    """The column that says what kind of entry each row is, with its words by kind; empty where there is none."""
    for name, (word, _, _) in spoken.items():
        values = Counter(c.text for c in columns[name] if c.filled)
        if name == mapping.date or not values or len(values) > 15:
            continue
        found: dict[str, list[str]] = {}
        for value in values:
            kind = next((k for k, words in KIND_WORDS.items() if plain_name(value) in {plain_name(w) for w in words}), None)
            if kind is not None:
                found.setdefault(kind, []).append(value)
        known = sum(values[v] for vs in found.values() for v in vs)
        if known * 2 >= sum(values.values()) and (plain_name(word) in KIND or len(found) > 1):
            return name, found
    return "", {}


def _pair(spoken: dict[str, tuple[str, str, str]], columns: dict[str, list[Cell]]) -> dict[str, str]:
    """Columns that name a reagent, its amount, and the amount's unit row by row."""
    reagent = next(
        (n for n, (w, u, _) in spoken.items() if plain_name(w) in REAGENT and not u and _mostly_words(columns[n])), None
    )
    if reagent is None:
        return {}
    after = list(spoken)[list(spoken).index(reagent) + 1 :]
    amount = next((n for n in after if plain_name(spoken[n][0]) in AMOUNT), None)
    if amount is None:
        return {}
    unit = next((n for n in after if plain_name(spoken[n][0]) in UNIT), None)
    return {"reagent": reagent, "amount": amount, **({"unit": unit} if unit is not None else {})}


def _of_pair(name: str, unit: str, pair: dict[str, str]) -> Role:
    if name == pair["reagent"]:
        return Role("addition", "reagent")
    if name == pair["amount"]:
        return Role("addition", "amount", unit, unit_column=pair.get("unit"))
    return Role()


def _mostly_words(cells: Sequence[Cell]) -> bool:
    filled = [c for c in cells if c.filled]
    return sum(1 for c in filled if c.kind == "text" and not re.match(r"[-+.,]?\d", c.text)) * 2 > len(filled)


def _role(word: str, unit: str, over: str, cells: Sequence[Cell], vocabulary: Vocabulary, mapping: SheetMapping) -> Role:
    """What one column looks like."""
    plain, filled = plain_name(word.strip(" :.?#")), [c for c in cells if c.filled]
    tank = _tank_in(over, vocabulary) or _tank_in(word, vocabulary)
    clocks = [c for c in filled if c.kind == "clock" or re.match(r"\d{1,2}:\d{2}", c.text)]
    if plain in TIME and len(clocks) * 2 > len(filled) and unit not in SAY_UNIT.values() and unit not in CLOCK_UNITS:
        return Role("time")
    if plain in TANK and _mostly_words(filled):
        return Role("tank")
    if plain in BY:
        return Role("by")
    if plain in NOTES:
        return Role("remark", "text")
    anode = _anode(word, unit, vocabulary)
    if anode is not None:
        return anode
    if ADDED.match(word) and ADDED.sub("", word).strip():
        return _reagent(ADDED.sub("", word).strip(), unit, tank, vocabulary) or Role()
    if plain in WATER:
        return Role("addition", "water", unit)
    if plain in OUT:
        return Role("removal", "volume", unit)
    if plain in FILLED:
        return Role("make_up", "volume", unit)
    for name, words in RUN.items():
        if plain in words and not (name == "description" and not _mostly_words(filled)):
            step = tank if name in STEP else None
            return Role("run", name, unit or SAY_UNIT.get(plain, ""), step)
    if tank is not None and unit and _fits(unit, "time"):
        return Role("run", "minutes", unit, tank)
    if tank is not None and unit and (_fits(unit, "current") or _fits(unit, "charge")):
        return Role("run", "current" if _fits(unit, "current") else "charge", unit, tank)
    return _reading(word, unit, tank or mapping.tank, vocabulary) or _reagent(word, unit, tank, vocabulary) or Role()


def _tank_in(text: str, vocabulary: Vocabulary) -> str | None:
    plain = f" {plain_name(text)} "
    found = [t for t in vocabulary.tanks if f" {plain_name(t)} " in plain]
    return max(found, key=len, default=None)


def _fits(unit: str, *kinds: str) -> bool:
    try:
        return any(meanings_of(unit, (k,), Preferences()) for k in kinds)
    except UnitError:
        return False


def _anode(word: str, unit: str, vocabulary: Vocabulary) -> Role | None:
    """``zinc-1 (g)``, ``anode Ni 2``: an anode weighed."""
    if not _fits(unit, "mass"):
        return None
    plain = plain_name(word).replace("anode", "").replace("weight", "").strip()
    known = [a for t in vocabulary.tanks.values() for a in t.anodes]
    name = match(plain, known)
    if name is None and ("anode" in plain_name(word) or re.fullmatch(r"\S+ \d{1,2}", plain)):
        metal = vocabulary.metal(re.sub(r"\W*\d+$", "", plain)) or vocabulary.metal(re.sub(r"\W*\d+$", "", plain).capitalize())
        number = re.search(r"\d+$", plain)
        name = f"{metal.name}-{number[0]}" if metal is not None and number else None
    return Role("anode", "weighed", unit, fixed={"anode": name}) if name is not None else None


def _reagent(word: str, unit: str, tank: str | None, vocabulary: Vocabulary) -> Role | None:
    try:
        name = vocabulary.reagent(word).name
    except PhraseError:
        return None
    return Role("addition", name, unit) if not unit or _fits(unit, "mass", "volume") else None


def _reading(word: str, unit: str, tank: str | None, vocabulary: Vocabulary) -> Role | None:
    plain = plain_name(word)
    found = match(ALIASES.get(plain, word), QUANTITIES) or match(
        re.sub(r"^(bath|tank|cell) ", "", plain), [*QUANTITIES, *ALIASES]
    )
    if found is not None:
        name = ALIASES.get(found, found)
        if not unit or _fits(unit, *QUANTITIES[name]):
            return Role("reading", name, "" if name == "ph" else unit, tank)
        return None
    species = match(word, (vocabulary.species(tank) if tank else {})) or match(word, vocabulary.all_species)
    metal = vocabulary.metal(word) or vocabulary.metal(word.capitalize())
    name = species or (metal.name if metal is not None else "")
    if not name and re.fullmatch(r"(\S+) (?:metal|content|conc\.?|concentration)", plain):
        return _reading(plain.split()[0], unit, tank, vocabulary)
    if name and (not unit or _fits(unit, "concentration", "additive")):
        return Role("reading", name, unit, tank)
    return None


def _with_kinds(mapping: SheetMapping, kinds: tuple[str, dict[str, list[str]]]) -> SheetMapping:
    """Conditions from the column that says the kind; in rows of a make-up the contents belong to it, not to a reading."""
    column, found = kinds
    if not column:
        return mapping
    entries: list[Any] = []
    fresh = tuple(found.get("make_up", ()))
    read = [c for e in mapping.entries if e.kind == "reading" and e.tank is None for c in e.columns]
    contents = [c for c in read if c.as_ not in QUANTITIES]
    beside = [c for c in read if c.as_ in QUANTITIES]
    for entry in mapping.entries:
        if entry.kind == "reading" and entry.tank is None and fresh and contents:
            entry = msgspec.structs.replace(entry, only=(SheetRule(column=column, is_not=fresh),))
        elif entry.kind in found and entry.kind not in ("make_up", "reading", "remark", "anode"):
            entry = msgspec.structs.replace(entry, only=(SheetRule(column=column, is_=tuple(found[entry.kind])),))
        if not (fresh and entry.kind == "make_up"):
            entries.append(entry)
    if fresh:
        only = (SheetRule(column=column, is_=fresh),)
        volume = [c for e in mapping.entries if e.kind == "make_up" for c in e.columns]
        if volume or contents:
            entries.insert(0, SheetEntry(kind="make_up", columns=(*volume, *contents), only=only))
        if contents and beside:
            entries.append(SheetEntry(kind="reading", columns=tuple(beside), only=only))
    return msgspec.structs.replace(mapping, entries=tuple(entries))


def _only_worked(mapping: SheetMapping) -> SheetMapping:
    """A run is made where a step was worked: a description alone is none."""
    entries = []
    for entry in mapping.entries:
        worked = next((c.column for n in ("current", "charge", "minutes") for c in entry.columns if c.as_ == n), None)
        if entry.kind == "run" and not entry.only and worked is not None:
            entry = msgspec.structs.replace(entry, only=(SheetRule(column=worked, filled=True),))
        elif entry.kind == "run" and worked is None:
            continue  # nothing says how long or with what: these columns are told as not taken
        entries.append(entry)
    return msgspec.structs.replace(mapping, entries=tuple(entries))
