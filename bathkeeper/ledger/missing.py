"""Grams of metals that nobody can account for: which are worth telling, and how one of them is said in a line."""

from __future__ import annotations

from collections.abc import Mapping

from bathkeeper.accounts.grams import Grams, beyond
from bathkeeper.findings import Estimate
from bathkeeper.ledger.shapes import MissingGrams
from bathkeeper.showing import shown, shown_parts
from bathkeeper.units.numerals import Preferences
from bathkeeper.waste.content import SYMBOLS, is_metal

LEAST_TOLD = 0.05  # g (mL): less is rounding
SHARE_TOLD = 0.1
FIGURES = 0.05  # of what is missing: it is told to two figures even where its spread is larger


def missing_grams(accounts: Mapping[str, Grams], *, every: bool = False) -> tuple[MissingGrams, ...]:
    """What is missing of each metal (``every``: of each species), what its spread does not explain first, then the most first.

    What comes to less than 0.05 g and stands out in no vessel is left out.
    """
    found = []
    for name, account in accounts.items():
        if not every and not any(is_metal(name, m) for m in SYMBOLS):
            continue
        arose = tuple(a for a in account.arose if a.worth_telling)
        if abs(account.unaccounted_g.value) >= LEAST_TOLD or arose:
            found.append(MissingGrams(species=name, grams=account.unaccounted_g, arose=arose))
    return tuple(sorted(found, key=lambda m: (not stands_out(m), -abs(m.grams.value))))


def stands_out(missing: MissingGrams) -> bool:
    """Whether more is missing, or there, than the spread explains: in all or in one of the vessels."""
    return beyond(missing.grams) or any(a.beyond_spread for a in missing.arose)


def missing_said(missing: MissingGrams, prefs: Preferences, most: int = 2) -> str:
    """``-3.2 g nickel (-6 to -0.4), electrolyte``; of several vessels each with its own, the most first. Vessels that come to
    less than a tenth of the first are not told of, unless their spread does not explain it."""
    told = _ranged(missing.grams, prefs, missing.species)
    least = SHARE_TOLD * abs(missing.arose[0].grams.value) if missing.arose else 0.0
    arose = [a for a in missing.arose if a.beyond_spread or abs(a.grams.value) >= least]
    if len(arose) == 1:
        return f"{told}, {arose[0].vessel}"
    where = [f"{a.vessel} {_amount(a.grams, prefs)}{' !' if a.beyond_spread else ''}" for a in arose[:most]]
    more = [f"{len(arose) - most} more"] if len(arose) > most else []
    return "; ".join([told, ", ".join([*where, *more])]) if where else told


def vessel_said(grams: Estimate, species: str, prefs: Preferences) -> str:
    """The same of one vessel, without its name."""
    return _ranged(grams, prefs, species)


def _ranged(e: Estimate, prefs: Preferences, species: str) -> str:
    low, high = (shown_parts(v, e.unit, prefs, e.spread)[0] for v in (e.low, e.high))
    return f"{_amount(e, prefs)} {species} ({low} to {high})"


def _amount(e: Estimate, prefs: Preferences) -> str:
    return shown(e.value, e.unit, prefs, min(e.spread, max(FIGURES * abs(e.value), LEAST_TOLD)) or None)
