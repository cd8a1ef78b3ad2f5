"""Defects by name: what each looks like, what may be behind it, what would make which cause likelier, and the cheapest test.

The numbers are weights of causes against one another before anything is known of the bath; they come from practice or memory
and say so. Nothing here decides: whoever looks for a cause weighs these against what the tanks are believed to hold.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import lru_cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from typing import Any, Literal

import msgspec

from bathkeeper.catalogue.schema import Recipe, Sourced
from bathkeeper.catalogue.shelf import read_toml
from bathkeeper.catalogue.typed import CatalogueError, near, to_struct

Bath = Literal[
    "acid zinc", "alkaline zinc", "acid zinc-nickel", "alkaline zinc-nickel", "nickel", "copper", "passivate", "pickle",
    "degrease", "rust removal", "acid dip", "rinse", "seal", "dry", "other",
]  # fmt: skip
EvidenceKind = Literal["content", "ratio", "indicator", "counter", "run", "seen"]
COUNTERS = ("age_days", "charge_ah", "area_dm2", "runs", "since_addition_ah", "since_addition_days", "idle_days", "dummy_ah")
RUN_FACTS = ("density_a_dm2", "area_dm2", "minutes", "temperature_c", "strength_mpa", "coating_stripped_g", "bake_delay_h")


class Evidence(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, omit_defaults=True):
    """Something whose standing makes a cause likelier: ``of`` on its ``side``.

    ``kind``: ``content`` a species of a tank, ``ratio`` and ``indicator`` by their names in the recipe; ``counter``
    one of :data:`COUNTERS`, ``run`` one of :data:`RUN_FACTS`; ``seen``: only eyes can tell, ``of`` says what to look for.
    ``at``: role of the tank that it is looked up in, where that is not the one that the defect arose in.
    """

    kind: EvidenceKind
    of: str
    side: Literal["low", "high"]
    at: str = ""

    def __post_init__(self) -> None:
        allowed = {"counter": COUNTERS, "run": RUN_FACTS}.get(self.kind)
        if allowed is not None and self.of not in allowed:
            raise ValueError(f"{self.kind} `{self.of}`: it may be one of {', '.join(allowed)}")


class Cause(Sourced, frozen=True, kw_only=True):
    """One thing that may be behind a defect. ``weight``: how likely against the other causes of this defect while nothing is
    known of the bath (they need not add up). ``baths``: only in these; empty: in any that the defect belongs to.
    ``test_minutes``: what the test costs, in minutes of work and waiting [practice]."""

    name: str
    title: str
    weight: float
    baths: tuple[Bath, ...] = ()
    evidence: tuple[Evidence, ...] = ()
    test: str
    test_minutes: float = 30.0
    remedy: str
    caution: str = ""

    def __post_init__(self) -> None:
        Sourced.__post_init__(self)
        if not 0 < self.weight <= 10:
            raise ValueError(f"weight {self.weight:g} cannot be; it is above 0 and up to 10")
        if not self.test_minutes > 0:
            raise ValueError(f"test_minutes {self.test_minutes:g} cannot be; even a look takes a minute")


class Defect(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, omit_defaults=True):
    """A defect. ``baths``: where it arises. ``says``: additive -> the side of its window that the defect speaks for, where it
    speaks of one at all; how loudly is the share of the causes' weight that names that additive."""

    name: str
    title: str
    looks: str
    baths: tuple[Bath, ...]
    aliases: tuple[str, ...] = ()
    caution: str = ""
    says: dict[str, Literal["low", "high"]] = {}
    causes: tuple[Cause, ...]

    def causes_in(self, bath: Bath) -> tuple[Cause, ...]:
        """Its causes in a kind of bath, the likeliest first."""
        fitting = [c for c in self.causes if not c.baths or bath in c.baths]
        return tuple(sorted(fitting, key=lambda c: -c.weight))

    def speaks_of(self, additive: str, bath: Bath) -> float:
        """0 to 1: the share of the weight of its causes in that kind of bath which the additive has."""
        side = self.says.get(additive)
        causes = self.causes_in(bath)
        total = sum(c.weight for c in causes)
        if side is None or total <= 0:
            return 0.0
        return (
            sum(
                c.weight for c in causes if any(e.kind == "content" and e.of == additive and e.side == side for e in c.evidence)
            )
            / total
        )


@lru_cache(maxsize=1)
def load_defects() -> Mapping[str, Defect]:
    """The defects that come with the program by name, read once. Raises CatalogueError."""
    return read_defects(files("bathkeeper.catalogue") / "defects.toml")


def read_defects(file: Traversable) -> Mapping[str, Defect]:
    """The defects of a file.

    Raises:
        CatalogueError: names file, defect and field, and what would be right.
    """
    raw = read_toml(file)
    for other in raw:
        if other != "defect":
            raise CatalogueError(f"{file.name}, {other}: no such table; this file holds [defect.NAME] tables")
    made: dict[str, Defect] = {}
    for name, body in raw.get("defect", {}).items():
        if not isinstance(body, dict):
            raise CatalogueError(f"{file.name}, defect.{name}: expected a table, got {body!r}")
        table: dict[str, Any] = {"title": name, **body, "name": name}
        table["causes"] = table.pop("cause", [])
        made[name] = to_struct(table, Defect, f"{file.name}, defect `{name}`")
    for fault in _faults(made):
        raise CatalogueError(f"{file.name}, {fault}")
    return made


def find_defect(word: str) -> Defect:
    """A defect by name or everyday word; case, hyphens and underscores do not matter.

    Raises:
        CatalogueError: none; says the near ones.
    """
    found = _by_word().get(_plain(word))
    if found is None:
        raise CatalogueError(f"no defect `{word}` in the catalogue{near(word.casefold(), list(_by_word()))}")
    return found


def canonical(word: str) -> str:
    """The catalogue's name of a defect called by any of its words; a word of the keeper's own, in small letters."""
    found = _by_word().get(_plain(word))
    return found.name if found is not None else _plain(word)


def defects_of(bath: Bath) -> list[Defect]:
    """The defects that arise in a kind of bath, in the catalogue's order."""
    return [d for d in load_defects().values() if bath in d.baths]


def bath_of(recipe: Recipe) -> Bath:
    """The kind of bath that a recipe makes: by its role, and for plating by the metals laid down and whether it is caustic."""
    if recipe.role != "plate":
        return recipe.role
    deposit = recipe.electrode.deposit if recipe.electrode is not None else ()
    caustic = any(s.kind == "alkali" for s in recipe.species.values())
    if set(deposit) == {"zinc"}:
        return "alkaline zinc" if caustic else "acid zinc"
    if set(deposit) == {"zinc", "nickel"}:
        return "alkaline zinc-nickel" if caustic else "acid zinc-nickel"
    if deposit == ("nickel",):
        return "nickel"
    return "copper" if deposit == ("copper",) else "other"


def _plain(word: str) -> str:
    return " ".join(word.casefold().replace("_", " ").replace("-", " ").split())


@lru_cache(maxsize=1)
def _by_word() -> dict[str, Defect]:
    return {_plain(w): d for d in load_defects().values() for w in (d.name, d.title, *d.aliases)}


def _faults(defects: Mapping[str, Defect]) -> Iterator[str]:
    words: dict[str, str] = {}
    for name, defect in defects.items():
        where = f"defect `{name}`"
        for word in {_plain(w) for w in (name, defect.title, *defect.aliases)}:
            if words.setdefault(word, name) != name:
                yield f"{where}, aliases: `{word}` is a word of `{words[word]}` already"
        if not defect.causes or not defect.baths:
            yield f"{where}: needs at least one of `baths` and one [[defect.{name}.cause]]"
        seen: set[str] = set()
        for cause in defect.causes:
            if cause.name in seen:
                yield f"{where}, cause `{cause.name}`: is there twice"
            seen.add(cause.name)
            for bath in cause.baths:
                if bath not in defect.baths:
                    yield f"{where}, cause `{cause.name}`, baths: `{bath}` is none of the defect's ({', '.join(defect.baths)})"
        for bath in defect.baths:
            if not defect.causes_in(bath):
                yield f"{where}, baths: no cause of it belongs to `{bath}`"
        for additive in defect.says:
            if not any(defect.speaks_of(additive, bath) for bath in defect.baths):
                yield f"{where}, says: no cause names `{additive}` as content on that side; add it to one's evidence"
