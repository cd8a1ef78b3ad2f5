"""What is known of treating waste: pH ranges, heats, why it may be unlawful; read once from TOML files."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files
from importlib.resources.abc import Traversable

from bathkeeper.catalogue.schema import Sourced
from bathkeeper.catalogue.tables import named, tables_of
from bathkeeper.catalogue.typed import CatalogueError
from bathkeeper.waste.picking import mark

UNITED_KINGDOM = {"uk", "gb", "england", "scotland", "wales"}


class PhRange(Sourced, frozen=True, kw_only=True):
    """The pH range in which a metal's hydroxide is least soluble."""

    name: str
    low: float
    high: float
    about: str = ""

    def __post_init__(self) -> None:
        Sourced.__post_init__(self)
        if not 0 <= self.low <= self.high <= 14:
            raise ValueError("a pH range must rise and lie within 0 to 14")


class WeakAcidHeat(Sourced, frozen=True, kw_only=True):
    """Heat of neutralising a weak acid, kJ an equivalent."""

    name: str
    heat_kj_per_eq: float


class HeatCapacity(Sourced, frozen=True, kw_only=True):
    """Heat that warms a kilogram by a degree, kJ."""

    name: str
    kj_per_kg_k: float


class Note(Sourced, frozen=True, kw_only=True):
    """Why treating waste may be unlawful, in our words."""

    name: str
    title: str
    text: str


@dataclass(frozen=True)
class TreatmentData:
    """By name: ``ranges`` by dissolved metal, ``weak_heats`` by kind of need, ``notes`` by rule set."""

    ranges: Mapping[str, PhRange]
    weak_heats: Mapping[str, WeakAcidHeat]
    notes: Mapping[str, Note]
    water: HeatCapacity


@lru_cache(maxsize=1)
def load() -> TreatmentData:
    """The shipped data. Raises CatalogueError that names file and field of whatever is wrong."""
    return read(files("bathkeeper.waste"))


def read(folder: Traversable) -> TreatmentData:
    """The same from any folder with the two files."""
    sums = tables_of(folder / "precipitation.toml", ("metal", "weak_acid", "water"), "waste")
    notes = tables_of(folder / "home_treatment.toml", ("note",), "waste")
    water = named(sums, "water", HeatCapacity, "precipitation.toml")
    if "heat" not in water:
        raise CatalogueError("precipitation.toml: there is no table [water.heat]")
    return TreatmentData(
        ranges=named(sums, "metal", PhRange, "precipitation.toml"),
        weak_heats=named(sums, "weak_acid", WeakAcidHeat, "precipitation.toml"),
        notes=named(notes, "note", Note, "home_treatment.toml"),
        water=water["heat"],
    )


def treatment_notes(rule_set: str) -> tuple[Note, ...]:
    """The notes of a rule set by its name (``us-federal``, ``england``, ``eu-germany`` ...), the general ones for any other."""
    notes = load().notes
    words = set(rule_set.casefold().replace("_", "-").replace(" ", "-").split("-"))
    wanted: list[str] = []
    if words & {"us", "usa"} or {"united", "states"} <= words:
        wanted = ["us", "us-small", "us-dilution"]
    elif words & UNITED_KINGDOM or {"northern", "ireland"} <= words or {"united", "kingdom"} <= words:
        wanted = ["uk", "uk-storage", "uk-mixing"]
    elif words & {"eu", "germany", "deutschland"}:
        wanted = ["eu", "eu-mixing", *(["germany"] if words & {"germany", "deutschland"} else [])]
    return tuple(notes[n] for n in (wanted or ["other"]) if n in notes)


def note_lines(notes: Iterable[Note]) -> tuple[str, ...]:
    """Each note in one line: what it says, its mark where it was not read, and where it was read."""
    return tuple(" ".join(w for w in (n.text, mark(n.status), f"[{n.source}]" if n.source else "") if w) for n in notes)
