"""The safety data as one frozen object, read once from the TOML files beside this one; errors name file and field."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from typing import Any

from bathkeeper.catalogue.tables import listed, named, tables_of
from bathkeeper.catalogue.typed import CatalogueError, near, to_struct, with_status
from bathkeeper.safety.schema import (
    BakeRule,
    Clearance,
    FastenerClass,
    Group,
    Hazard,
    Limit,
    Member,
    Pair,
    Thread,
    ThreadSteps,
)

LIMITS = ("sensitive_from", "qualified_plater", "no_verdict_class", "stress_relief")
HAZARDS = (
    "chlorine",
    "chromium-vi-anode",
    "chromium-vi-film",
    "stripped-coating",
    "hydrogen",
    "hydrogen-acid",
    "nickel",
    "nitric",
    "nitrate",
    "acid-into-water",
    "high-strength",
    "cyanide",
)


@dataclass(frozen=True)
class SafetyData:
    """Baking rules, fastener classes, threads, hazard groups with what must not meet, and cautions, each by name."""

    rules: Mapping[str, BakeRule]
    classes: Mapping[str, FastenerClass]
    limits: Mapping[str, Limit]
    threads: Mapping[str, Thread]
    clearances: tuple[Clearance, ...]
    steps_um: ThreadSteps
    groups: Mapping[str, Group]
    members: tuple[Member, ...]
    roles: Mapping[str, tuple[str, ...]]
    pairs: tuple[Pair, ...]
    hazards: Mapping[str, Hazard]


@lru_cache(maxsize=1)
def load() -> SafetyData:
    """The data that come with the program, read once.

    Raises:
        CatalogueError: a file that cannot be used; names file and field, and what would be right.
    """
    return read(files("bathkeeper.safety"))


def read(folder: Traversable) -> SafetyData:
    """The data from a folder with rules.toml, threads.toml, groups.toml, meetings.toml and hazards.toml, cross-checked.

    Raises:
        CatalogueError: as :func:`load`.
    """
    rules = tables_of(folder / "rules.toml", ("rule", "class", "limit"), "safety")
    threads = tables_of(folder / "threads.toml", ("thread", "clearance", "steps"), "safety")
    groups = tables_of(folder / "groups.toml", ("group", "member", "role"), "safety")
    meetings = tables_of(folder / "meetings.toml", ("pair",), "safety")
    hazards = tables_of(folder / "hazards.toml", ("hazard",), "safety")
    clearances = named(threads, "clearance", Clearance, "threads.toml")
    data = SafetyData(
        rules=named(rules, "rule", BakeRule, "rules.toml"),
        classes=named(rules, "class", FastenerClass, "rules.toml"),
        limits=named(rules, "limit", Limit, "rules.toml"),
        threads=named(threads, "thread", Thread, "threads.toml"),
        clearances=tuple(sorted(clearances.values(), key=lambda c: c.up_to_diameters)),
        steps_um=to_struct({"name": "steps", **threads.get("steps", {})}, ThreadSteps, "threads.toml, steps"),
        groups=named(groups, "group", Group, "groups.toml"),
        members=listed(groups, "member", Member, "groups.toml"),
        roles={role: tuple(table.get("groups", ())) for role, table in groups.get("role", {}).items()},
        pairs=listed(meetings, "pair", Pair, "meetings.toml"),
        hazards=named(hazards, "hazard", Hazard, "hazards.toml"),
    )
    for fault in _faults(data):
        raise CatalogueError(fault)
    return data


def own_rule(name: str, body: Mapping[str, Any]) -> BakeRule:
    """A keeper's own baking rule from a definition's body (``bands`` with ranges and hours, ``temperature_c`` ...).

    Numbers without a status are the keeper's own practice. ``edition`` and ``date`` say which paper the rule comes from.

    Raises:
        CatalogueError: the body cannot be used; names the definition and the field.
    """
    table = {"title": name, **body, "name": name}
    if table.get("start_within_h") is not None:
        table.setdefault("start_status", "practice")
    rows = table.get("bands")
    if isinstance(rows, (list, tuple)):
        table["bands"] = [_own_band(row) for row in rows]
    return to_struct(with_status(table, BakeRule), BakeRule, f"definition of limit `{name}`")


def _own_band(row: object) -> object:
    if not isinstance(row, Mapping):
        return row
    made = {"needed": "yes", **row}
    if made.get("start_within_h") is not None:
        made.setdefault("start_status", "practice")
    return made


def _faults(data: SafetyData) -> Iterator[str]:
    for member in data.members:
        yield from _unknown_groups(data, member.groups, "groups.toml, member")
        if not any((member.formulas, member.elements, member.contains, member.words, member.species)):
            ways = "formulas, elements, contains, words, species"
            yield f"groups.toml, member of {', '.join(member.groups)}: give at least one of {ways}"
    for role, names in data.roles.items():
        yield from _unknown_groups(data, names, f"groups.toml, role.{role}.groups")
    for pair in data.pairs:
        yield from _unknown_groups(data, pair.groups, "meetings.toml, pair")
    for name in LIMITS:
        if name not in data.limits:
            yield f"rules.toml, limit.{name}: is missing; the program asks for it by name"
    for name in HAZARDS:
        if name not in data.hazards:
            yield f"hazards.toml, hazard.{name}: is missing; the program asks for it by name"
    for name in data.hazards:
        if name not in HAZARDS:
            yield f"hazards.toml, hazard.{name}: nothing asks for it{near(name, list(HAZARDS))}"
    for name, thread in data.threads.items():
        for position in thread.local_um:
            if position not in thread.deviation_um:
                yield f"threads.toml, thread.{name}.local_um.{position}: has no deviation_um.{position} beside it"
    if not data.clearances:
        yield "threads.toml, clearance: is missing; give at least one [clearance.NAME] table"


def _unknown_groups(data: SafetyData, names: tuple[str, ...], where: str) -> Iterator[str]:
    for name in names:
        if name not in data.groups:
            yield f"{where}: there is no group `{name}`{near(name, data.groups)}"
