"""Chores by name: what a line wants again and again, how often, and which entry says that it was done."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from typing import Annotated, Literal

import msgspec
from msgspec import Meta

from bathkeeper.catalogue.schema import Sourced
from bathkeeper.catalogue.shelf import read_toml
from bathkeeper.catalogue.typed import CatalogueError, to_struct

Positive = Annotated[float, Meta(gt=0, le=1e6)]
Needs = Literal["ph window", "additive", "anodes"]


class Chore(Sourced, frozen=True, kw_only=True):
    """Something to do every ``days`` or ``charge_ah``, whichever comes first. A ``reading`` of that name does it, a
    ``treatment`` so called (or by one of ``words``), or a ``calibration`` of that kind of instrument where ``method`` is
    used."""

    name: str
    title: str
    what: str
    why: str
    roles: tuple[str, ...] = ()
    needs: Needs | None = None
    days: Positive | None = None
    charge_ah: Positive | None = None
    reading: str | None = None
    treatment: str | None = None
    calibration: str | None = None
    method: str | None = None
    words: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        Sourced.__post_init__(self)
        if self.days is None and self.charge_ah is None:
            raise ValueError("a chore needs days, charge_ah or both")
        if sum(x is not None for x in (self.reading, self.treatment, self.calibration)) != 1:
            raise ValueError("a chore is done by one of: a reading, a treatment, a calibration")
        if self.calibration is not None and (self.method is None or self.days is None):
            raise ValueError("a calibration needs days and the method whose use asks for it")


class Heater(Sourced, frozen=True, kw_only=True):
    """``below`` this part of the working volume a tank kept at ``warm_c`` or warmer has its heater looked at."""

    below: Annotated[float, Meta(gt=0, lt=1)]
    warm_c: float
    what: str
    why: str


class Chores(msgspec.Struct, frozen=True, kw_only=True):
    """Everything of the file."""

    chores: Mapping[str, Chore]
    heater: Heater


@lru_cache(maxsize=1)
def load_chores() -> Chores:
    """The chores that come with the program, read once. Raises CatalogueError."""
    return read_chores(files("bathkeeper.catalogue") / "chores.toml")


def read_chores(file: Traversable) -> Chores:
    """The chores of a file.

    Raises:
        CatalogueError: names file, chore and field, and what would be right.
    """
    raw = read_toml(file)
    other = next((k for k in raw if k not in ("chore", "heater")), None)
    if other is not None:
        raise CatalogueError(f"{file.name}, {other}: no such table; this file holds [chore.NAME] tables and [heater]")
    if "heater" not in raw:
        raise CatalogueError(f"{file.name}: [heater] is missing")
    made = {}
    for name, body in raw.get("chore", {}).items():
        if not isinstance(body, dict):
            raise CatalogueError(f"{file.name}, chore.{name}: expected a table, got {body!r}")
        made[name] = to_struct({**body, "name": name}, Chore, f"{file.name}, chore `{name}`")
    return Chores(chores=made, heater=to_struct(raw["heater"], Heater, f"{file.name}, heater"))
