"""What hazard statements mean in a few words, and what to do first when something went wrong; data with status and source."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files
from importlib.resources.abc import Traversable

from bathkeeper.catalogue.schema import Sourced
from bathkeeper.catalogue.tables import named, tables_of


class Statement(Sourced, frozen=True, kw_only=True):
    """A hazard statement by its code, in our words."""

    name: str
    text: str


class FirstHelp(Sourced, frozen=True, kw_only=True):
    """What to do first: ``title`` when, ``text`` what."""

    name: str
    title: str
    text: str


@dataclass(frozen=True)
class FirstHelpData:
    """Statements by code and first responses by name, in the order in which they are told."""

    statements: Mapping[str, Statement]
    first: Mapping[str, FirstHelp]


@lru_cache(maxsize=1)
def load() -> FirstHelpData:
    """The data that come with the program. Raises CatalogueError that names file and field."""
    return read(files("bathkeeper.safety"))


def read(folder: Traversable) -> FirstHelpData:
    """The same from any folder with statements.toml."""
    raw = tables_of(folder / "statements.toml", ("statement", "first"), "safety")
    return FirstHelpData(
        named(raw, "statement", Statement, "statements.toml"), named(raw, "first", FirstHelp, "statements.toml")
    )


def words_of(code: str) -> str:
    """``H314 1A`` -> what it means; ``H350i`` and ``H360FD`` go by their number. Empty for a code that is not known."""
    found = re.match(r"(EUH|H)([0-9]{3})", code)
    known = load().statements
    told = known.get(found[0]) if found is not None else None
    return told.text if told is not None else ""
