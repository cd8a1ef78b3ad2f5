"""The cells of one entry as words of the quick form, each text where it cannot be taken for anything but itself.

Numbers are spelt anew (``cells.py``); names of tanks and reagents are looked up first; notes and the like go into the entry as
they stand and are never read as words.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from bathkeeper.catalogue.loader import plain_name
from bathkeeper.catalogue.own_sheets import SheetColumn, SheetEntry, SheetMapping
from bathkeeper.logbook.sheets import Cell
from bathkeeper.phrases import PhraseError, Vocabulary
from bathkeeper.refusals import shorten
from bathkeeper.sheets.cells import CellError, value_text
from bathkeeper.units.door import UnitError, figures, understand

TEXTS: dict[str, tuple[str, ...]] = {
    "reading": ("method", "lot"),
    "addition": ("reagent", "lot"),
    "run": ("description", "result", "defect", "supply", "class", "photo"),
    "make_up": ("reagent", "lot"),
    "removal": ("to", "consent"),
    "anode": ("anode", "action", "metal", "brushed"),
    "treatment": ("what", "reagent"),
    "remark": ("text", "defect"),
    "stock": ("reagent", "lot", "what"),
}
"""What of each kind is text; everything else is a number with its unit."""
NONE_AT_ZERO = ("addition", "removal")
BARE = ("count", "rejects", "price")
STEP = ("current", "charge", "minutes", "temperature")
PLAIN = ("note",)
ACTIONS = ("hung", "weighed", "lifted", "retired")
DISAGREE = 0.1  # of the charge, between what a counter says and what current and time come to

Get = Callable[[str], Cell]


@dataclass
class Spelt:
    """``words`` for the quick form (none: nothing to make); ``plain``: fields taken as they stand; ``faults`` by column."""

    words: list[str] = field(default_factory=list)
    plain: dict[str, Any] = field(default_factory=dict)
    faults: list[tuple[str, CellError]] = field(default_factory=list)


def spell(entry: SheetEntry, mapping: SheetMapping, get: Get, vocabulary: Vocabulary) -> Spelt:
    """The words of one entry of a row; none where none of its columns is filled."""
    said = Spelt()
    filled = [c for c in entry.columns if get(c.column).filled]
    if entry.columns and not filled:
        return said
    texts: dict[str, str] = {}
    steps: dict[str, dict[str, str]] = {}
    for column in filled:
        try:
            _column(entry, mapping, column, get, vocabulary, texts, steps)
        except CellError as problem:
            said.faults.append((column.column, problem))
    if said.faults or (entry.columns and not (texts or steps)):
        return said
    if entry.kind in NONE_AT_ZERO:
        amounts = [n for n in texts if not is_text(entry.kind, n, vocabulary)]
        for name in [n for n in amounts if re.match(r"-?[0.]+(?![0-9.e])", texts[n])]:
            del texts[name]  # a 0 in such a column says that nothing was put in or taken out
        if amounts and not any(n in texts for n in amounts):
            return said
    for name, text in entry.fixed.items():
        texts.setdefault(name, text)
    try:
        said.words = _words(entry, mapping, get, vocabulary, texts, steps)
    except CellError as problem:
        said.faults.append((mapping.tank_column or "", problem))
    for name in PLAIN:
        if name in texts:
            said.plain[name] = texts[name]
    return said


def _column(
    entry: SheetEntry, mapping: SheetMapping, column: SheetColumn, get: Get, vocabulary: Vocabulary,
    texts: dict[str, str], steps: dict[str, dict[str, str]],
) -> None:  # fmt: skip
    cell, name = get(column.column), column.as_
    if is_text(entry.kind, name, vocabulary):
        if cell.kind == "trouble":
            raise CellError(f"the cell {cell.text}")
        joined = f"{texts[name]}\n{cell.text}" if name in ("text", "note") and name in texts else cell.text
        texts[name] = joined
        return
    unit = column.unit
    if column.unit_column is not None and get(column.unit_column).filled:
        unit = get(column.unit_column).text
    text = value_text(cell, "" if name in BARE else unit, mapping.decimal, band=plain_name(name) == "ph")
    if entry.kind == "run" and name in STEP:
        steps.setdefault(column.tank or "", {})[name] = text
    elif name in texts:
        raise CellError(f"two columns are taken as {name}", "Take one of them as something else.")
    else:
        texts[name] = text


def is_text(kind: str, name: str, vocabulary: Vocabulary) -> bool:
    """Whether a column holds words rather than numbers: names, notes, verdicts."""
    if name in TEXTS.get(kind, ()) or name in PLAIN:
        return True
    verdicts = {of for m in vocabulary.catalogue.methods.values() if m.unit == "verdict" for of in m.of}
    return kind == "reading" and plain_name(name) in {plain_name(v) for v in verdicts}


def _words(
    entry: SheetEntry, mapping: SheetMapping, get: Get, vocabulary: Vocabulary,
    texts: dict[str, str], steps: dict[str, dict[str, str]],
) -> list[str]:  # fmt: skip
    told = {n: t for n, t in texts.items() if n not in PLAIN}
    match entry.kind:
        case "run":
            words = [f"{n}={t}" for n, t in told.items()]
            tanks = {tank or _tank(entry, mapping, get, vocabulary): step for tank, step in steps.items()}
            return [*words, *(_step(tank, step) for tank, step in tanks.items()), *entry.words]
        case "remark":
            tank = _tank(entry, mapping, get, vocabulary, needed=False) if not entry.of_run else None
            return [*([f"tank={tank}"] if tank else []), *(f"{n}={t}" for n, t in told.items()), *entry.words]
        case "stock":
            reagent = told.pop("reagent", "")
            return [reagent, *(f"{n}={t}" for n, t in told.items()), *entry.words] if reagent else []
    where = [] if entry.of_run else [_tank(entry, mapping, get, vocabulary)]
    if entry.kind in ("addition", "make_up", "treatment") and ("reagent" in told or "amount" in told):
        told = _with_reagent(told, vocabulary)
    if entry.kind == "anode":
        return [*where, *_anode(told), *entry.words]
    if entry.kind == "treatment" and "what" in told:
        what = told.pop("what")
        if "=" in what:
            raise CellError(f"`{shorten(what)}` is no name of a treatment", "Write for example carbon, filter or dummy.")
        where.append(f"what={what}")
    return [*where, *(f"{n}={t}" for n, t in told.items()), *entry.words]


def _with_reagent(told: dict[str, str], vocabulary: Vocabulary) -> dict[str, str]:
    """A reagent named in one column and its amount in another, as ``name=amount``."""
    missing = "amount" if "amount" not in told else "reagent" if "reagent" not in told else ""
    if missing:
        there = told.get("reagent") or told.get("amount", "")
        raise CellError(f"`{shorten(there)}` has no {missing}", f"Write the {missing} beside it.")
    try:
        name = vocabulary.reagent(told["reagent"]).name
    except PhraseError as problem:
        raise CellError(str(problem)[:400], "Write a reagent of the catalogue, or define it in the book first.") from None
    rest = {n: t for n, t in told.items() if n not in ("reagent", "amount", "lot")}
    lot = {"lot": told["lot"]} if "lot" in told else {}
    return {name: told["amount"], **lot, **rest}


def _anode(told: dict[str, str]) -> list[str]:
    """``anode=``, then its action with the mass."""
    action = plain_name(told.pop("action", "weighed" if "mass" in told else ""))
    if action and action not in ACTIONS:
        raise CellError(f"`{shorten(action)}` is nothing that is done to an anode", f"Write one of {', '.join(ACTIONS)}.")
    mass = told.pop("mass", None)
    done = [f"{action}={mass}" if mass is not None else action] if action else []
    return [*(f"{n}={t}" for n, t in told.items()), *done]


def _tank(entry: SheetEntry, mapping: SheetMapping, get: Get, vocabulary: Vocabulary, needed: bool = True) -> str:
    """The tank by its own name: the entry's, the row's, or the sheet's. Raises CellError."""
    cell = get(mapping.tank_column) if mapping.tank_column is not None and entry.tank is None else None
    word = entry.tank or (cell.text if cell is not None and cell.filled else mapping.tank)
    if not word:
        if not needed:
            return ""
        raise CellError("it does not say which tank", 'Write the tank\'s name, or give the mapping one (tank = "…").')
    named = next((t for w, t in mapping.tanks.items() if plain_name(w) == plain_name(word)), word)
    try:
        return vocabulary.tank(named).name
    except PhraseError as problem:
        raise CellError(str(problem)[:400], "Or say in the mapping what it means: [tanks].") from None


def _step(tank: str, step: dict[str, str]) -> str:
    """``electrolyte@35 C=6.5 A*45 min``; a charge that is told twice has to agree with itself."""
    where = f"{tank}@{step['temperature']}" if "temperature" in step else tank
    current, charge, minutes = step.get("current"), step.get("charge"), step.get("minutes")
    if current and charge and minutes:
        _agree(current, charge, minutes)
    first = charge or current
    said = f"{first}*{minutes}" if first and minutes else first or minutes
    if said is None:
        raise CellError(f"{tank} has a temperature and neither current nor time", "Write how long the load was in it.")
    return f"{where}={said}"


def _agree(current: str, charge: str, minutes: str) -> None:
    try:
        amperes, hours = understand(current, "current").value, understand(minutes, "time").value / 60
        counted = understand(charge, "charge").value
    except UnitError:
        return  # a density, or an open unit: the quick form says what is wrong with it
    if abs(amperes * hours - counted) > DISAGREE * max(counted, 1e-9) + 0.05:
        raise CellError(
            f"{current} for {minutes} is {figures(amperes * hours)} Ah, and the row says {figures(counted)} Ah",
            "Mend the one that is wrong, or take only one of them from the sheet.",
        )
