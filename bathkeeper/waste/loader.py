"""The waste data as one frozen object, read once from the TOML files beside this one; errors name file and field."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from typing import Any, TypeVar

import msgspec

from bathkeeper.catalogue.typed import CatalogueError, near, to_struct
from bathkeeper.waste.schema import Code, Mapped, PropertyTitle, RuleSet, Substance, Threshold, Trigger

T = TypeVar("T", bound=msgspec.Struct)
LISTS = ("routes", "thresholds", "storage", "papers", "discharge", "ask", "mixing", "notes", "allowances")
"""Fields of a rule set that hold named lines; a rule set that extends another lays its own over them by name."""

US_NUMBERS = (
    "month-small", "month-large", "month-acute", "on-site", "ceiling", "d002-acid", "d002-alkaline", "d006", "d007", "d008",
)  # fmt: skip
FALLBACK = "other"


@dataclass(frozen=True)
class WasteData:
    """Rule sets, codes and substances by name; which code comes into question for what; the arithmetic of properties."""

    rules: Mapping[str, RuleSet]
    codes: Mapping[str, Code]
    mapped: tuple[Mapped, ...]
    substances: Mapping[str, Substance]
    triggers: tuple[Trigger, ...]
    titles: Mapping[str, PropertyTitle]
    reserve: Mapping[str, Threshold]


@lru_cache(maxsize=1)
def load() -> WasteData:
    """The data that come with the program, read once.

    Raises:
        CatalogueError: a file that cannot be used; names file and field, and what would be right.
    """
    return read(files("bathkeeper.waste"))


def read(folder: Traversable) -> WasteData:
    """The data from a folder with codes.toml, mapping.toml, substances.toml, triggers.toml and rules/, cross-checked.

    Raises:
        CatalogueError: as :func:`load`.
    """
    codes = _toml(folder / "codes.toml", ("code",))
    mapping = _toml(folder / "mapping.toml", ("mapped",))
    substances = _toml(folder / "substances.toml", ("substance",))
    triggers = _toml(folder / "triggers.toml", ("trigger", "title", "reserve"))
    data = WasteData(
        rules=_rule_sets(folder / "rules"),
        codes=_keyed(_listed(codes, "code", Code, "codes.toml"), "code", "codes.toml, code"),
        mapped=_listed(mapping, "mapped", Mapped, "mapping.toml"),
        substances=_keyed(
            _listed(substances, "substance", Substance, "substances.toml"), "name", "substances.toml, substance"
        ),
        triggers=_listed(triggers, "trigger", Trigger, "triggers.toml"),
        titles=_keyed(_listed(triggers, "title", PropertyTitle, "triggers.toml"), "hp", "triggers.toml, title"),
        reserve=_keyed(_listed(triggers, "reserve", Threshold, "triggers.toml"), "name", "triggers.toml, reserve"),
    )
    for fault in _faults(data):
        raise CatalogueError(fault)
    return data


def _rule_sets(folder: Traversable) -> dict[str, RuleSet]:
    own: dict[str, RuleSet] = {}
    try:
        found = sorted((f for f in folder.iterdir() if f.name.endswith(".toml")), key=lambda f: f.name)
    except (FileNotFoundError, NotADirectoryError):
        found = []
    for file in found:
        made = to_struct(_toml(file, RuleSet.__struct_fields__), RuleSet, f"rules/{file.name}")
        if file.name != f"{made.name}.toml":
            raise CatalogueError(f"rules/{file.name}, name: `{made.name}` has to be the file's own name without .toml")
        for field in LISTS:
            _keyed(getattr(made, field), "name", f"rules/{file.name}, {field}")
        own[made.name] = made
    for name in own:
        _check_chain(own, name)
    return {name: _extended(own, name) for name in own}


def _check_chain(own: Mapping[str, RuleSet], name: str) -> None:
    seen = [name]
    while base := own[seen[-1]].extends:
        if base not in own:
            raise CatalogueError(f"rules/{seen[-1]}.toml, extends: there is no rule set `{base}`{near(base, own)}")
        if base in seen:
            raise CatalogueError(f"rules/{seen[-1]}.toml, extends: goes round in a circle through `{base}`; take one out")
        seen.append(base)


def _extended(own: Mapping[str, RuleSet], name: str) -> RuleSet:
    mine = own[name]
    if not mine.extends:
        return mine
    base = _extended(own, mine.extends)
    known = {line.name for field in LISTS for line in getattr(base, field)}
    for gone in mine.without:
        if gone not in known:
            close = near(gone, sorted(known))
            raise CatalogueError(f"rules/{name}.toml, without: `{mine.extends}` has no line `{gone}`{close}")
    laid: dict[str, tuple[msgspec.Struct, ...]] = {}
    for field in LISTS:
        lines = {line.name: line for line in getattr(base, field) if line.name not in mine.without}
        lines.update({line.name: line for line in getattr(mine, field)})
        laid[field] = tuple(lines.values())
    return msgspec.structs.replace(mine, **laid)


def _faults(data: WasteData) -> Iterator[str]:
    if FALLBACK not in data.rules:
        yield f"rules/{FALLBACK}.toml: is missing; it holds where no other rule set does"
    for rules in data.rules.values():
        for line in (line for field in LISTS for line in getattr(rules, field)):
            if not line.citation and line.status == "seen":
                yield f"rules/{rules.name}.toml, `{line.name}`: status `seen` needs the `citation` of the paragraph"
        if rules.system == "us":
            for wanted in US_NUMBERS:
                if wanted not in {t.name for t in rules.thresholds}:
                    yield f"rules/{rules.name}.toml, thresholds.{wanted}: is missing; the program asks for it by name"
        if rules.within and not any(rules.within in r.places for r in data.rules.values()):
            yield f"rules/{rules.name}.toml, within: `{rules.within}` is a place of no rule set"
    taken: dict[str, str] = {}
    for rules in data.rules.values():
        for place in rules.places:
            if place in taken:
                yield f"rules/{rules.name}.toml, places: `{place}` is a place of `{taken[place]}` already"
            taken[place] = rules.name
    yield from _code_faults(data)
    for trigger in data.triggers:
        if trigger.hp not in data.titles:
            close = near(trigger.hp, data.titles)
            yield f"triggers.toml, trigger `{trigger.name}`, hp: there is no title of `{trigger.hp}`{close}"


def _code_faults(data: WasteData) -> Iterator[str]:
    for code in data.codes.values():
        if code.pair and code.pair not in data.codes:
            yield f"codes.toml, code `{code.code}`, pair: there is no code `{code.pair}`{near(code.pair, data.codes)}"
        if code.code.endswith("*") != (code.entry in ("AH", "MH")):
            yield f"codes.toml, code `{code.code}`, entry: an asterisk belongs to AH and MH and to nothing else"
    for row in data.mapped:
        if row.code not in data.codes:
            yield f"mapping.toml, mapped, code: there is no code `{row.code}`{near(row.code, data.codes)}"
        elif data.codes[row.code].never:
            yield f"mapping.toml, mapped, code: `{row.code}` is never to be offered: {data.codes[row.code].never}"


def _toml(file: Traversable, tables: tuple[str, ...]) -> dict[str, Any]:
    try:
        raw = tomllib.loads(file.read_text(encoding="utf-8"))
    except FileNotFoundError:
        raise CatalogueError(f"{file.name}: this file of the waste data is missing; install the program again") from None
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as problem:
        raise CatalogueError(f"{file.name}: not readable as TOML: {problem}") from None
    for table in raw:
        if table not in tables:
            raise CatalogueError(f"{file.name}, {table}: no such table; this file holds {', '.join(tables)}")
    return raw


def _listed(raw: Mapping[str, Any], table: str, kind: type[T], file: str) -> tuple[T, ...]:
    rows = raw.get(table, [])
    if not isinstance(rows, list):
        raise CatalogueError(f"{file}, {table}: expected a list of tables ([[{table}]]), got {rows!r}")
    return tuple(to_struct(row, kind, f"{file}, {table} {_called(row, number)}") for number, row in enumerate(rows, 1))


def _called(row: object, number: int) -> str:
    name = next((row[k] for k in ("name", "code", "hp") if isinstance(row.get(k), str)), "") if isinstance(row, dict) else ""
    return f"`{name}`" if name else f"number {number}"


def _keyed(rows: tuple[T, ...], field: str, where: str) -> dict[str, T]:
    made: dict[str, T] = {}
    for row in rows:
        key = getattr(row, field)
        if key in made:
            raise CatalogueError(f"{where} `{key}`: stands there twice; one has to go or take another name")
        made[key] = row
    return made
