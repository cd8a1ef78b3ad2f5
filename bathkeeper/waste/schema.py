"""The shape of the waste data: rule sets, codes, substances, triggers; each line says which law, edition and reading."""

from __future__ import annotations

from typing import Literal

import msgspec

from bathkeeper.catalogue.schema import Sourced
from bathkeeper.entries import Role, WasteKind
from bathkeeper.findings import Estimate

EntryType = Literal["AH", "MH", "MN", "AN", "characteristic", "listed"]
Keeper = Literal["household", "business"]
System = Literal["list of waste", "us", ""]
Strength = Literal["first", "also", "question"]

SHORTEST_MONTH = 28.0
ENTRY_WORDS: dict[str, str] = {
    "AH": "absolute entry with an asterisk",
    "MH": "mirror entry with an asterisk: to be assessed",
    "MN": "mirror entry without an asterisk: to be assessed",
    "AN": "absolute entry without an asterisk",
    "characteristic": "by characteristic: test or knowledge of the process",
    "listed": "listed by source",
}


class Cited(Sourced, frozen=True, kw_only=True):
    """Base of every line of law: ``citation`` names the paragraph, ``edition`` the edition or date of what was read, ``source``
    where it was read."""

    citation: str = ""
    edition: str = ""

    def __post_init__(self) -> None:
        Sourced.__post_init__(self)
        if self.status == "seen" and not self.edition:
            raise ValueError("status `seen` needs the `edition` or date of what was read (`undated` where it bears none)")


class Code(Cited, frozen=True, kw_only=True):
    """One waste code. ``title`` is our paraphrase, the official text stands at ``citation``. ``pair``: the other half of a
    mirror entry. ``never``: why it is not offered for anything that this program keeps."""

    code: str
    title: str
    entry: EntryType
    system: System
    pair: str = ""
    never: str = ""


class Line(Cited, frozen=True, kw_only=True):
    """One sentence of a rule set (a route, a note, whom to ask, mixing). ``keeper``: for whom, both when not told."""

    name: str
    text: str
    keeper: Keeper | None = None


class Threshold(Cited, frozen=True, kw_only=True):
    """A number that something turns on. ``trips``: whether ``at or above`` it, ``above``, ``at or below`` or ``below``."""

    name: str
    text: str
    value: float
    unit: str
    trips: Literal["at or above", "above", "at or below", "below"]

    def tripped(self, value: float) -> bool:
        """Whether a value trips it, its edge as the law has it."""
        return {
            "at or above": value >= self.value,
            "above": value > self.value,
            "at or below": value <= self.value,
            "below": value < self.value,
        }[self.trips]


class StorageLimit(Cited, frozen=True, kw_only=True):
    """How long waste may stand: ``days`` or calendar ``months`` (neither: no limit), from ``starts``; the warning from
    ``warn_days`` is ours and has a status of its own. ``of``: the class of producer or place it is about, empty for all.
    ``clock``: whether it counts from the container's own first day or from the day on which the ``site`` passed a limit."""

    name: str
    text: str
    starts: str
    of: str = ""
    days: float | None = None
    months: int | None = None
    clock: Literal["container", "site"] = "container"
    warn_days: float | None = None
    warn_status: Literal["practice"] | None = None

    def __post_init__(self) -> None:
        Cited.__post_init__(self)
        if (self.warn_days is None) != (self.warn_status is None):
            raise ValueError('warn_days and warn_status belong together; the warning is ours: warn_status = "practice"')
        if self.days is not None and self.months is not None:
            raise ValueError("a limit has either days or months, as its law says it")
        if self.months is not None and not 0 < self.months <= 1200:
            raise ValueError("months lie above 0 and are no more than 1200")
        least = self.days if self.days is not None else None if self.months is None else SHORTEST_MONTH * self.months
        if least is not None and not (self.warn_days is not None and 0 < self.warn_days < least):
            raise ValueError("a limit needs warn_days between 0 and days, or 28 days for each of its months")


class Paper(Cited, frozen=True, kw_only=True):
    """A paper to make out or to keep. ``keep_years`` (none: no number was read) is counted from ``since``; ``unsure_years``
    holds in its stead where nobody knows which law does. ``of``: whether it goes with a ``hand-over``, or belongs to the
    ``site`` or to the ``receiver`` alone."""

    name: str
    text: str
    keep_years: float | None = None
    unsure_years: float | None = None
    since: str = ""
    keeper: Keeper | None = None
    of: Literal["hand-over", "site", "receiver"] = "hand-over"

    def __post_init__(self) -> None:
        Cited.__post_init__(self)
        if self.keep_years is not None and (self.keep_years <= 0 or not self.since):
            raise ValueError("keep_years lies above 0 and needs `since`, the day from which it is counted")
        if self.unsure_years is not None and (self.keep_years is None or self.unsure_years < self.keep_years):
            raise ValueError("unsure_years stands beside keep_years and is no shorter")


class Discharge(Cited, frozen=True, kw_only=True):
    """A discharge limit, to compare with and for nothing else. ``of``: a species or ``ph``; mg/L as ``max_mg_l`` and
    ``average_mg_l`` (over ``average_of``); ``low``/``high`` of a pH. ``applies``: to whom. ``compared``: beside streams."""

    name: str
    of: str
    table: str
    applies: str
    max_mg_l: float | None = None
    average_mg_l: float | None = None
    average_of: str = ""
    low: float | None = None
    high: float | None = None
    compared: bool = True
    about: str = ""

    def __post_init__(self) -> None:
        Cited.__post_init__(self)
        ph = self.low is not None or self.high is not None
        if ph == (self.max_mg_l is not None or self.average_mg_l is not None):
            raise ValueError("a limit has either max_mg_l (and average_mg_l) or, of a pH, low or high")
        if ph != (self.of == "ph"):
            raise ValueError('low and high belong to of = "ph", mg/L to everything else')


class Allowance(Cited, frozen=True, kw_only=True):
    """What some place takes from a household, as an example only."""

    name: str
    text: str
    volume_l: float | None = None
    per_days: float | None = None


class Mapped(Cited, frozen=True, kw_only=True):
    """When a code of the List of Waste comes into question. All that is given has to fit: ``kinds`` of waste, ``roles`` of
    tanks (one of them), ``holds`` a formula or species (one of them), ``keeper``."""

    code: str
    kinds: tuple[WasteKind, ...]
    strength: Strength
    why: str
    roles: tuple[Role, ...] = ()
    holds: tuple[str, ...] = ()
    keeper: Keeper | None = None
    note: str = ""


class Substance(Cited, frozen=True, kw_only=True):
    """A harmonised entry. ``hazards``: H and EUH statements, the category after a blank where the arithmetic asks for it
    (``H314 1A``, ``H330 2``). ``index``: its number in Annex VI; empty where there is no entry, and then ``about`` says so."""

    name: str
    formula: str
    hazards: tuple[str, ...] = ()
    index: str = ""
    cas: str = ""
    about: str = ""

    def __post_init__(self) -> None:
        Cited.__post_init__(self)
        for h in self.hazards:
            word, _, category = h.partition(" ")
            if not word.startswith(("H", "EUH")) or (word in ("H300", "H310", "H330", "H314")) != bool(category):
                raise ValueError(f"hazards: `{h}`: write H318 or, for H300, H310, H314 and H330, with the category: H314 1B")

    def carries(self, hazard: str) -> bool:
        """Whether it carries a statement: ``H350`` holds H350i, ``H360`` H360FD, ``H314`` every category of it."""
        word, _, category = hazard.partition(" ")
        for own in self.hazards:
            mine, _, of = own.partition(" ")
            stem = mine if mine.startswith("EUH") else mine[:4]
            if stem == word and (not category or category == of):
                return True
        return False


class Trigger(Cited, frozen=True, kw_only=True):
    """One line of Annex III: ``percent`` (w/w of the substance) of what carries one of ``hazards``, added up (``sum``) or of
    any one (``single``); what lies below ``cut_off`` percent is left out. ``weights`` of the hazards in a weighted sum.
    ``way`` ``present``: that it is there at all asks for a test."""

    name: str
    hp: str
    hazards: tuple[str, ...]
    way: Literal["sum", "single", "present"]
    percent: float | None = None
    cut_off: tuple[float, ...] = ()
    weights: tuple[float, ...] = ()

    def __post_init__(self) -> None:
        Cited.__post_init__(self)
        if (self.percent is None) != (self.way == "present"):
            raise ValueError("percent belongs to sums and single substances, and to nothing else")
        for field, values in (("cut_off", self.cut_off), ("weights", self.weights)):
            if values and len(values) != len(self.hazards):
                raise ValueError(f"{field}: give one number for each of hazards")


class PropertyTitle(Cited, frozen=True, kw_only=True):
    """A hazardous property by its name in the annex, in our words."""

    hp: str
    title: str


class RuleSet(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, omit_defaults=True):
    """What holds somewhere, as far as it was read. ``chosen`` says how it was picked for a workshop; ``places``: words by which
    a country (or a nation, with ``within``) is told. ``ask_first``: the standing sentence, without the name and date."""

    name: str
    title: str
    date: str
    ask_first: str
    system: System = ""
    extends: str = ""
    within: str = ""
    places: tuple[str, ...] = ()
    without: tuple[str, ...] = ()
    routes: tuple[Line, ...] = ()
    thresholds: tuple[Threshold, ...] = ()
    storage: tuple[StorageLimit, ...] = ()
    papers: tuple[Paper, ...] = ()
    discharge: tuple[Discharge, ...] = ()
    ask: tuple[Line, ...] = ()
    mixing: tuple[Line, ...] = ()
    notes: tuple[Line, ...] = ()
    allowances: tuple[Allowance, ...] = ()
    chosen: str = ""

    def threshold(self, name: str) -> Threshold:
        """The threshold of that name; KeyError when this rule set has none."""
        for t in self.thresholds:
            if t.name == name:
                return t
        raise KeyError(name)


class Candidate(msgspec.Struct, frozen=True, kw_only=True):
    """A code that comes into question, never a final one. ``code`` is empty where none suggests itself. ``entry`` is its type
    (:data:`ENTRY_WORDS`); ``strength`` how near it lies; ``note`` what is to be assessed, measured or asked."""

    code: str
    title: str
    why: str
    strength: Strength
    status: str
    source: str
    entry: EntryType | None = None
    note: str = ""


class Property(msgspec.Struct, frozen=True, kw_only=True):
    """A hazardous property that comes into question. ``verdict``: ``likely`` when the middle of the range reaches the trigger,
    ``possible`` when its high end does, ``ask`` where only a test or the supplier's sheet decides, ``measure`` where a number
    is wanting. ``percent`` is what was set against ``trigger`` (% w/w). ``assumed``: what was taken to be so."""

    hp: str
    title: str
    verdict: Literal["likely", "possible", "ask", "measure"]
    why: str
    status: str
    source: str
    percent: Estimate | None = None
    trigger: float | None = None
    substances: tuple[str, ...] = ()
    assumed: tuple[str, ...] = ()
