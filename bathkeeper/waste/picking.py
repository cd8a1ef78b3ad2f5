"""Which rule set holds for a workshop, from the country and region that its entry names; what it says first, and of doubt."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from typing import TypeVar

import msgspec

from bathkeeper.refusals import shorten
from bathkeeper.waste.loader import FALLBACK, load
from bathkeeper.waste.schema import Keeper, Line, Paper, RuleSet

L = TypeVar("L", Line, Paper)

_MARKS = {
    "seen": "",
    "derived": "",
    "memory": "(from memory: check)",
    "practice": "(common practice, no source)",
}


def rule_set_for(country: str | None, region: str | None = None) -> RuleSet:
    """The rule set for a country and a region as a person wrote them; ``chosen`` says how it was picked.

    Case, spaces, accents and full stops do not matter. A nation of the United Kingdom is taken from either field. A country
    that is not known, or none, gives the set ``other``, which says so.
    """
    sets = load().rules
    nations = [r for r in sets.values() if r.within]
    where, part = _plain(country), _plain(region)
    known = {_plain(p): r for r in sets.values() for p in r.places}
    inner = {_plain(p): r for r in nations for p in r.places}
    if not where:
        named = inner.get(part) or (known.get(part) if len(part) > 3 else None)  # DE may be Delaware, CA California
        if named is not None:
            return _chosen(named, f"by the region `{shorten(region or '')}`; no country is told")
        return _chosen(sets[FALLBACK], "no country is told: set the workshop's country and region for its rules")
    found = known.get(where)
    if found is None:
        return _chosen(sets[FALLBACK], f"no rule set for `{shorten(country or '')}`: ask the authority of that place")
    if found.within:
        return _chosen(found, f"by the country `{shorten(country or '')}`")
    if part:
        nation = inner.get(part)
        if nation is not None and known.get(_plain(nation.within)) is found:
            return _chosen(nation, f"by the region `{shorten(region or '')}`")
        named_twice = known.get(part)
        if named_twice is not None and _rests_on(named_twice, found.name):
            return _chosen(named_twice, f"by the region `{shorten(region or '')}`")
    split = [r.title for r in nations if known.get(_plain(r.within)) is found]
    if split and where != _plain(found.name) and part != _plain(found.name):
        others = ", ".join(split[:-1]) + f" and {split[-1]}"
        why = f"by the country `{shorten(country or '')}`; the nation is not told, and {others} differ: set the region"
        return _chosen(found, why)
    return _chosen(found, f"by the country `{shorten(country or '')}`")


def ask_first(rules: RuleSet) -> str:
    """The standing sentence under every page on waste: whom to ask first, which rule set that is, and of when."""
    which = f"Rule set: {rules.title}; {rules.date}."
    return f"{rules.ask_first} {which} Candidates and comparisons only: they decide, not this program."


def told_to(lines: Iterable[L], keeper: Keeper | None) -> tuple[L, ...]:
    """The lines of a rule set (routes, papers, whom to ask ...) for this keeper; all of them while that is not told."""
    return tuple(line for line in lines if keeper is None or line.keeper in (None, keeper))


def mark(status: str) -> str:
    """What a line bears on the screen when its status is not that of something read: empty for ``seen`` and ``derived``."""
    return _MARKS.get(status, "(status not known: check)")


def _rests_on(rules: RuleSet, name: str) -> bool:
    sets = load().rules
    while rules.extends:
        rules = sets[rules.extends]
        if rules.name == name:
            return True
    return False


def _chosen(rules: RuleSet, why: str) -> RuleSet:
    return msgspec.structs.replace(rules, chosen=why)


def _plain(text: str | None) -> str:
    """Folded for comparing: no accents, no full stops, one space, at most 80 characters looked at."""
    bare = unicodedata.normalize("NFKD", (text or "")[:80])
    letters = "".join(c for c in bare if not unicodedata.combining(c) and c != ".").replace("-", " ")
    return " ".join(letters.casefold().split()).removeprefix("the ")
