"""Units in headings: ``Zn (g/L)``, ``Amps``, ``bath temp °C``, a row of units below; and which of them leave something open."""

from __future__ import annotations

import re
from collections.abc import Sequence

from bathkeeper.phrases import PhraseError, Vocabulary
from bathkeeper.phrases.reading import QUANTITIES
from bathkeeper.sheets.cells import CLOCK_UNITS
from bathkeeper.units.meanings import KINDS, meanings_of
from bathkeeper.units.numerals import Preferences, UnitError

SAID = {
    "amps": "A", "ampere": "A", "amperes": "A", "volts": "V", "minutes": "min", "mins": "min", "hours": "h", "hrs": "h",
    "amp hours": "Ah", "ampere hours": "Ah", "amphours": "Ah", "litres": "L", "liters": "L", "grams": "g", "degc": "°C",
}  # fmt: skip
"""Words of a heading that say the unit by themselves."""
AMOUNTS = {"solid": ("mass",), "liquid": ("mass", "volume"), "additive": ("volume",), "water": ("volume", "mass")}
_BRACKETS = re.compile(r"\s*[(\[]([^()\[\]]{1,20})[)\]]\s*")
_NOT_UNITS = {"d", "t", "s", "n", "k", "m", "q", "on", "at", "in", "to", "no", "by", "as", "ft", "mil", "oz", "lt"}
"""Short words that are units somewhere and words of a heading more often."""


def is_unit(text: str) -> bool:
    """Whether a text is a unit of any kind (of whichever gallon and ounce)."""
    word = text.strip()
    if not word or len(word) > 20 or word.casefold() == "ph":
        return False
    try:
        return any(meanings_of(word, (kind,), Preferences()) for kind in KINDS)
    except UnitError:
        return False


def head_and_unit(levels: Sequence[str], units: bool) -> tuple[str, str, str]:
    """(what a column is called, its unit, what stands over it) of the levels of its heading; ``units``: the last says units."""
    unit = levels[-1].strip("()[] ") if units else ""
    texts = [t for t in (levels[:-1] if units else levels) if t]
    if not texts:
        return "", "", ""
    word, over = texts[-1], " ".join(texts[:-1])
    bracket = _BRACKETS.search(word)
    if bracket and (is_unit(bracket[1]) or bracket[1].strip() in CLOCK_UNITS):
        unit = unit or bracket[1].strip()
        word = (word[: bracket.start()] + " " + word[bracket.end() :]).strip()
    if not unit:
        head, _, last = word.replace(",", " ").rpartition(" ")
        bare = last.strip("/. ")
        if head.strip() and bare.casefold() not in _NOT_UNITS and is_unit(bare):
            word, unit = head.strip(" ,-/:"), bare
        elif head.strip() and last.casefold() in SAID:
            unit = SAID[last.casefold()]
    said = SAID.get(" ".join(word.casefold().replace("-", " ").split()))
    return word, unit or said or "", over


def kinds_of(kind: str, name: str, tank: str | None, vocabulary: Vocabulary) -> tuple[str, ...]:
    """The kinds of value that a column may hold, as the units door knows them; none where it holds no number with a unit."""
    plain = name.casefold()
    if kind == "run":
        return {
            "current": ("current", "current_density"), "charge": ("charge",), "minutes": ("time",),
            "temperature": ("temperature",), "area": ("area",), "before": ("mass",), "after": ("mass",),
            "strength": ("strength",), "stripped": ("mass",),
        }.get(plain, ())  # fmt: skip
    if kind == "anode":
        return {"area": ("area",)}.get(plain, ("mass",) if plain in ("mass", "weighed", "hung", "lifted", "retired") else ())
    if kind in ("removal", "make_up", "treatment"):
        own: dict[str, tuple[str, ...]] = {
            "volume": ("volume",), "temperature": ("temperature",), "charge": ("charge",), "time": ("time",),
            "minutes": ("time",),
            "mass": ("mass",), "amount": ("mass", "volume"),
        }  # fmt: skip
        if plain in own:
            return own[plain]
    if kind in ("addition", "treatment", "stock"):
        return _of_reagent(name, vocabulary)
    if kind == "reading" and plain in QUANTITIES:
        return () if plain == "ph" else QUANTITIES[plain]
    if kind in ("reading", "make_up"):
        species = (vocabulary.species(tank) if tank else {}).get(name) or vocabulary.all_species.get(name)
        if kind == "make_up" and species is None:
            return _of_reagent(name, vocabulary)
        if plain in ("method", "lot", "note") or plain.startswith("deposit_"):
            return ("mass",) if plain == "deposit_mass" else ()
        return ("additive",) if species is not None and species.unit == "mL/L" else ("concentration",)
    return ()


def _of_reagent(name: str, vocabulary: Vocabulary) -> tuple[str, ...]:
    if name in ("amount", "bought", "counted", "discarded"):
        return ("mass", "volume")
    try:
        return AMOUNTS[vocabulary.reagent(name).form]
    except PhraseError:
        return ()


def readings_of_unit(unit: str, kinds: Sequence[str], prefs: Preferences) -> list[str]:
    """What a unit can mean in the kinds allowed, as it would have to be written; several leave it open."""
    try:
        return [u.label for u in meanings_of(unit, kinds, prefs)]
    except UnitError:
        return []
