"""Defaults for setting a run that belong to no single recipe: how thin the worst spot is, which parts hydrogen can crack."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files

from bathkeeper.catalogue.schema import Sourced
from bathkeeper.catalogue.shelf import read_toml
from bathkeeper.catalogue.typed import CatalogueError, to_struct

FILE = "setting.toml"


class Default(Sourced, frozen=True, kw_only=True):
    """One number with where it comes from."""

    value: float

    def __post_init__(self) -> None:
        Sourced.__post_init__(self)
        if not self.value > 0:
            raise ValueError(f"a default lies above 0, not at {self.value:g}")


@dataclass(frozen=True)
class SettingDefaults:
    """``worst_spot``: thinnest spot over average, by kind of bath (``usual``, ``alkaline``). ``sensitive``: from which
    ``strength_mpa`` and ``property_class`` on hydrogen is a danger to a part."""

    worst_spot: Mapping[str, Default]
    sensitive: Mapping[str, Default]


@lru_cache(maxsize=1)
def setting_defaults() -> SettingDefaults:
    """The defaults that come with the program, read once.

    Raises:
        CatalogueError: the file cannot be used; names file and field.
    """
    raw = read_toml(files("bathkeeper.catalogue") / FILE)
    made: dict[str, dict[str, Default]] = {}
    for table, needed in (("worst_spot", ("usual", "alkaline")), ("sensitive", ("strength_mpa", "property_class"))):
        body = raw.get(table, {})
        for name in needed:
            if name not in body:
                raise CatalogueError(f"{FILE}, {table}.{name}: is missing; give its value and status")
        made[table] = {n: to_struct(b, Default, f"{FILE}, {table}.{n}") for n, b in body.items()}
    for name, default in made["worst_spot"].items():
        if default.value > 1:
            raise CatalogueError(f"{FILE}, worst_spot.{name}: the thinnest spot has at most the average: value up to 1")
    return SettingDefaults(**made)
