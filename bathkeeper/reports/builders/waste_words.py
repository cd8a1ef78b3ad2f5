"""Words about waste that several reports share: who made it, what it is, how sure an amount is, what is to be asked first."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from bathkeeper.findings import Estimate
from bathkeeper.ledger import Held, Ledger
from bathkeeper.reports.builders.ground import Ground
from bathkeeper.reports.model import Fact, Facts
from bathkeeper.waste.content import SYMBOLS, is_metal
from bathkeeper.waste.picking import mark
from bathkeeper.waste.saying import way_said
from bathkeeper.waste.schema import Candidate

MAIN_METALS = ("zinc", "nickel", "chromium", "iron")
"""Told in every register; any other metal is told as soon as there is some of it."""
LEAST_G = 0.005  # grams below which a metal is not told of: half of the last figure shown
KIND_WORDS = {
    "bath": "spent process bath (liquid)", "rinse water": "rinse water (liquid)", "sludge": "sludge", "filters": "used filters",
    "carbon": "spent activated carbon", "rags": "used rags and wipes", "empty packaging": "empty packaging of chemicals",
    "chemicals": "left-over chemicals", "oil": "oil taken off a bath", "eluate": "eluate of an ion exchanger or membrane",
    "resin": "spent ion-exchange resin", "other": "other waste",
}
KEEPERS = {"household": "household", "business": "business", "": None}


def producer(ground: Ground, ledger: Ledger, *more: Fact) -> Facts:
    """Who made the waste, as papers ask for it; what is not told stays open to be filled in."""
    entry = ground.world.workshop
    told: dict[str, str | None] = {
        "Workshop": ground.workshop.name,
        "Address": entry.address if entry is not None else None,
        "Telephone": entry.phone if entry is not None else None,
        "E-mail": entry.email if entry is not None else None,
        "Site number or code": entry.site_code if entry is not None else None,
        "Trade code": entry.industry_code if entry is not None else None,
        "Household or business": KEEPERS.get(ledger.keeper),
    }
    facts = [Fact(label, value or "not told") for label, value in told.items()]
    return Facts((*facts, *more), title="Producer")


def producer_line(ground: Ground) -> str:
    """Name, address and telephone in one line, as far as they are told."""
    entry = ground.world.workshop
    told = [ground.workshop.name, *([entry.address, entry.phone, entry.email] if entry is not None else [])]
    return ", ".join(t for t in told if t)


def metals(names: Iterable[str]) -> list[str]:
    """The metals among species, the main ones first."""
    held = list(dict.fromkeys(n for n in names if any(is_metal(n, m) for m in SYMBOLS)))
    first = [m for m in MAIN_METALS if m in held]
    return [*first, *(n for n in held if n not in first)]


def grams_words(ground: Ground, grams: Mapping[str, Estimate]) -> str:
    """``zinc 6.2 g (5.8 to 6.5), ...`` of the metals; nothing where there is none."""
    found = []
    for name in metals(grams):
        e = ground.estimate(grams[name])
        if e is not None and abs(grams[name].value) >= LEAST_G:
            found.append(f"{name} {ranged(ground, grams[name])}")
    return ", ".join(found)


def ranged(ground: Ground, e: Estimate, unit: str = "") -> str:
    """``9.5 g/L (9.2 to 9.8)`` in the keeper's units."""
    fixed = unit or e.unit
    middle = ground.text(e.value, fixed, e.spread)
    if e.spread <= 1e-9 * max(abs(e.value), 1e-9):
        return middle
    low, high = (ground.text(v, fixed, e.spread) for v in (e.low, e.high))
    word = ground.text(0.0, fixed).removeprefix("0").strip()
    return f"{middle} ({low.removesuffix(word).strip()} to {high.removesuffix(word).strip()})"


def plain_kinds(kinds: Iterable[str]) -> str:
    """What it is in plain words."""
    return "; ".join(KIND_WORDS.get(k, k) for k in kinds) or "nothing in it by the entries"


def origins_words(ground: Ground, held: Held, most: int = 6) -> str:
    """``acid dip (acid-dip, nitric-dip): 7 times, 132.5 L, 2026-06-06 to 2026-11-14``; one part for each tank."""
    parts: dict[tuple[str, str, str], list[tuple[float, float, str]]] = {}
    for o in held.origins:
        recipe = f", by the recipe {o.recipe}" if o.recipe else ""
        source = f"{o.role} ({o.tank}{recipe})" if o.tank else "no tank named"
        way = way_said(o)
        source += f" {way}" if way else ""
        day = f"{o.at.astimezone():%Y-%m-%d}"
        what = f"{o.name} ({o.what})" if o.name else o.what
        parts.setdefault((what, source, o.note), []).append((o.litres, o.mass_kg, day))
    told = []
    for (what, source, note), found in parts.items():
        litres, kg = sum(f[0] for f in found), sum(f[1] for f in found)
        amount = ground.text(litres, "L", 0.05 * litres) if litres else ground.text(kg, "kg", 0.05 * kg) if kg else ""
        times = f"{len(found)} times" if len(found) > 1 else ""
        days = found[0][2] if len(found) == 1 else f"{found[0][2]} to {found[-1][2]}"
        noted = f" (noted: {note})" if note else ""
        told.append(f"{what} of {source}: " + ", ".join(w for w in (times, amount, days) if w) + noted)
    more = [f"and {len(told) - most} more"] if len(told) > most else []
    return "; ".join([*told[:most], *more])


def candidate_words(found: Iterable[Candidate]) -> str:
    """``11 01 05* (first to look at), 20 01 14* (a question)``."""
    words = {"first": "first to look at", "also": "also comes into question", "question": "a question to ask"}
    return ", ".join(f"{c.code} ({words[c.strength]})" for c in found if c.code) or "none suggests itself: ask"


def with_mark(text: str, status: str) -> str:
    """A sentence with the mark of what was not read anywhere."""
    return f"{text} {mark(status)}".strip()
