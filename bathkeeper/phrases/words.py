"""The words that a quick form may use: the workshop's own names, and the small grammar that all forms share."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from bathkeeper.catalogue.loader import Catalogue, plain_name
from bathkeeper.catalogue.own import OwnPart, all_of
from bathkeeper.catalogue.schema import Metal, Method, Reagent, Species
from bathkeeper.entries import Run, Tank, Workshop
from bathkeeper.refusals import shorten
from bathkeeper.runs.library import KnownPart, known_parts
from bathkeeper.showing import habits_of
from bathkeeper.units.door import Preferences, Understood, UnitError, understand, understand_spread

WET_NOT = ("dry",)
_YES = {"yes": True, "true": True, "y": True, "on": True, "no": False, "false": False, "n": False, "off": False}
_PLUS_MINUS = re.compile(r"\s*(?:±|\+/-|\+-)\s*")


class PhraseError(ValueError):
    """Words that could not be understood: one sentence that says what was wrong and what would be right."""


@dataclass(frozen=True)
class TankWord:
    """A tank as a form needs it. ``place`` orders the line; ``anodes``: anode -> metal, of those known in the tank."""

    name: str
    role: str
    place: int = 0
    recipe: str | None = None
    in_service: bool = True
    working_volume_l: float | None = None
    anodes: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Vocabulary:
    """Everything that words can refer to: the workshop's habits, its tanks, and the catalogue with its own definitions.

    ``runs``: ids of the runs on record, oldest first, each with whether it was plated (dummies were not);
    ``parts``: this workshop's own, by name."""

    prefs: Preferences
    tanks: Mapping[str, TankWord]
    catalogue: Catalogue
    runs: Mapping[str, bool] = field(default_factory=dict)
    parts: Mapping[str, KnownPart] = field(default_factory=dict)

    @classmethod
    def of(
        cls,
        catalogue: Catalogue,
        workshop: Workshop | None,
        tanks: Iterable[Tank],
        anodes: Mapping[str, Mapping[str, str]] | None = None,
        runs: Iterable[Run] = (),
    ) -> Vocabulary:
        """The vocabulary of a book: its workshop entry, the latest entry of each tank; ``anodes``: tank -> anode -> metal;
        ``runs`` oldest first."""
        words = {
            t.tank: TankWord(
                t.tank, t.role, t.place, t.recipe, t.in_service, t.working_volume_l, (anodes or {}).get(t.tank, {})
            )
            for t in tanks
        }
        runs = list(runs)
        plated = {r.id: any((s.charge is not None or s.branches) and not s.dummy for s in r.steps) for r in runs}
        return cls(habits_of(workshop), words, catalogue, plated, known_parts(runs, all_of(catalogue.own, "part", OwnPart)))

    def species(self, tank: str) -> Mapping[str, Species]:
        """What the recipe of a tank tracks, by name."""
        recipe = self.catalogue.recipes.get(self.tanks[tank].recipe or "") if tank in self.tanks else None
        return recipe.species if recipe else {}

    @property
    def all_species(self) -> dict[str, Species]:
        """The species of every recipe by name; of two recipes with the same name the first's."""
        every: dict[str, Species] = {}
        for recipe in self.catalogue.recipes.values():
            for name, species in recipe.species.items():
                every.setdefault(name, species)
        return every

    def tank(self, word: str) -> TankWord:
        """A tank by name. Raises PhraseError with the near misses."""
        found = match(word, self.tanks)
        if found is None:
            raise PhraseError(f"there is no tank `{word}`{near(word, self.tanks)}")
        return self.tanks[found]

    def reagent(self, word: str) -> Reagent:
        """A reagent by name, alias or formula. Raises PhraseError with the near misses."""
        try:
            return self.catalogue.reagent(word)
        except ValueError as problem:
            raise PhraseError(str(problem)) from None

    def method(self, word: str, of: str | None = None) -> Method:
        """A method by name or everyday word; ``of``: the one of that word which measures this (``strip`` of pH is a pH strip).

        Raises PhraseError with the near misses.
        """
        fitting = [m for m in self.catalogue.methods.values() if of is not None and of in m.of]
        spoken = [m for m in fitting if plain_name(word) in plain_name(m.name).split()]
        try:
            method = self.catalogue.method(word)
        except ValueError:
            if len(spoken) != 1:
                names = [*self.catalogue.methods, *self.catalogue.method_aliases]
                raise PhraseError(f"there is no method `{shorten(word)}`{near(word, names)}") from None
            return spoken[0]
        if of is not None and method not in fitting:
            if len(spoken) == 1:
                return spoken[0]
            if fitting and "any species" not in method.of:
                raise PhraseError(f"{of}: {method.name} does not measure it; what does: {', '.join(m.name for m in fitting)}")
        return method

    def metal(self, word: str) -> Metal | None:
        """A metal by name or symbol; None when it is none that is known."""
        for metal in self.catalogue.metals.values():
            if plain_name(metal.name) == plain_name(word) or metal.symbol == word:
                return metal
        return None


@dataclass
class Form:
    """One entry in the making. ``start``: the entry that is corrected, whose fields stand in for words not given;
    ``at``: its moment."""

    vocabulary: Vocabulary
    fields: dict[str, Any] = field(default_factory=dict)
    typed: dict[str, str] = field(default_factory=dict)
    understood: list[str] = field(default_factory=list)
    start: Mapping[str, Any] | None = None
    at: datetime = datetime.min

    @property
    def prefs(self) -> Preferences:
        return self.vocabulary.prefs

    def quantity(
        self, key: str, text: str, kind: str | Sequence[str], **context: float | None
    ) -> tuple[Understood, float | None]:
        """A value and its spread (None without one) as typed after ``key``; kept in ``typed``. Raises PhraseError."""
        main, spread_text = split_spread(text)
        if (
            spread_text
            and main[-1:].isdigit()
            and (unit := re.search(r"[^0-9.,\s].*$", spread_text))
            and (unit[0] != "%" or kind == ("fraction",))
        ):
            main += unit[0]  # 3.2±0.4dm2: the unit behind the spread is that of both
        try:
            value = understand(main, kind, self.prefs, **context)
            spread = understand_spread(spread_text, main, value.kind, self.prefs, **context) if spread_text else None
        except UnitError as problem:
            raise PhraseError(f"{key}: {problem}") from problem
        self.typed[key] = text
        return value, spread

    def put(self, name: str, key: str, text: str, kind: str, **context: float | None) -> None:
        """A plain quantity straight into a field, with its line of what was understood."""
        value, spread = self.quantity(key, text, kind, **context)
        if spread is not None:
            raise PhraseError(f"{key}: a spread cannot be kept here; write {key}={split_spread(text)[0]}")
        self.fields[name] = value.value
        self.understood.append(f"{key} {value.echo}")

    def say(self, name: str, key: str, text: str) -> None:
        """A word or sentence straight into a field."""
        self.fields[name] = not_empty(key, text)
        self.understood.append(f"{key}: {text.strip()}")

    def common(self, key: str, text: str) -> bool:
        """Takes what any entry may carry: a note, and who wrote it."""
        if key not in ("note", "by"):
            return False
        self.fields[key] = not_empty(key, text)
        return True

    def leading_tank(self, words: list[str], example: str) -> TankWord:
        """Takes the tank off the front of the words; a correction may leave it out."""
        if self.start is not None and self.start.get("tank") and (not words or not self.names_tank(words[0])):
            tank = self.vocabulary.tank(str(self.start["tank"]))
        elif not words or not (words[0] in self.vocabulary.tanks or option(words[0]) is None):
            raise PhraseError(f"which tank? Write it first, for example `{example}`{known(self.vocabulary.tanks)}")
        else:
            tank = self.vocabulary.tank(words.pop(0))
        self.fields["tank"] = tank.name
        return tank

    def names_tank(self, word: str) -> bool:
        return word in self.vocabulary.tanks or (option(word) is None and match(word, self.vocabulary.tanks) is not None)


def option(word: str, last: bool = False) -> tuple[str, str] | None:
    """``key=value`` as its two sides (at the first ``=``, or the last); None when there is no key or no sign."""
    key, sign, value = word.rpartition("=") if last else word.partition("=")
    return (key.strip(), value.strip()) if sign and key.strip() else None


def keyed(word: str, example: str) -> tuple[str, str]:
    """A word that has to be ``key=value``. Raises PhraseError."""
    sides = option(word)
    if sides is None:
        raise PhraseError(f"`{shorten(word)}` has no `=`; write for example {example}")
    return sides


def split_spread(text: str) -> tuple[str, str]:
    """``32g/L±0.5`` -> ``32g/L`` and ``0.5``; the second is empty without a sign."""
    parts = _PLUS_MINUS.split(text)
    if len(parts) > 2:
        raise PhraseError(f"`{shorten(text)}` has more than one plus-minus sign; write for example 32g/L±0.5")
    if len(parts) == 2 and not all(p.strip() for p in parts):
        raise PhraseError(f"`{shorten(text)}` lacks a number beside its plus-minus sign; write for example 32g/L±0.5")
    return parts[0].strip(), parts[1].strip() if len(parts) == 2 else ""


def match(word: str, known_names: Iterable[str]) -> str | None:
    """The known name that a word means: case, and hyphens, underscores and spaces, do not matter."""
    names = list(known_names)
    if word in names:
        return word
    plain = plain_name(word)
    return next((n for n in names if plain_name(n) == plain), None)


def near(word: str, names: Iterable[str]) -> str:
    """The end of a sentence: the nearest known name, or all of them when none is near and they are few."""
    every = {plain_name(n): n for n in names}
    plain = plain_name(word)
    begun = [n for n in every if len(plain) > 3 and n.startswith(plain)]
    found = difflib.get_close_matches(plain, begun or list(every), 1, 0.0 if begun else 0.6)
    return f"; did you mean `{every[found[0]]}`?" if found else known(every.values())


def known(names: Iterable[str]) -> str:
    """The end of a sentence: what there is."""
    every = list(names)
    shown = ", ".join(every[:20]) + (" …" if len(every) > 20 else "")
    return f"; known are {shown}" if every else "; none is known yet"


def choice(key: str, word: str, words: Sequence[str]) -> str:
    """One of a few words. Raises PhraseError."""
    found = match(word, words)
    if found is None:
        raise PhraseError(f"{key}: `{shorten(word)}` is not one of {', '.join(words)}")
    return found


def yes_no(key: str, word: str) -> bool:
    """Raises PhraseError for anything but yes or no."""
    answer = _YES.get(word.strip().casefold())
    if answer is None:
        raise PhraseError(f"{key}: `{shorten(word)}` is neither yes nor no; write {key}=yes or {key}=no")
    return answer


def not_empty(key: str, text: str) -> str:
    """Raises PhraseError for an empty text."""
    if not text.strip():
        raise PhraseError(f'{key}= has nothing behind it; write for example {key}="…", or leave it out')
    return text.strip()


def a_name(what: str, text: str) -> str:
    """A name as entries keep it: one line, 1 to 120 signs. Raises PhraseError."""
    name = text.strip()
    if not name:
        raise PhraseError(f"the {what} is empty; write at least one sign")
    if len(name) > 120:
        raise PhraseError(f"the {what} has {len(name)} signs; keep it within 120 and put the rest into note=")
    if not re.fullmatch(r"\S(.*\S)?", name):
        raise PhraseError(f"the {what} has more than one line; keep it on one and put the rest into note=")
    return name


def unknown_key(key: str, keys: Iterable[str], form: str) -> PhraseError:
    """The refusal of a key that a form does not have."""
    return PhraseError(f"{form}: there is nothing called `{shorten(key)}` here{near(key, keys)}")
