"""Grams of metals over a period: what came in and what became of it, two tables of one total; what is missing, how surely."""

from __future__ import annotations

from bathkeeper.accounts.grams import MOVED, AroseGrams, Grams, between, beyond, grams
from bathkeeper.estimate.world import World
from bathkeeper.findings import Estimate
from bathkeeper.reports.builders.ground import Ground
from bathkeeper.reports.builders.waste_words import LEAST_G, metals
from bathkeeper.reports.model import Cell, Column, Table

CAME = {
    "put_in_g": "put in with chemicals and solids",
    "from_anodes_g": "dissolved from anodes",
    "worn_g": "dissolved from parts and by use (below zero: used up)",
    "treated_g": "brought in by treating waste",
    "recounted_g": "counted from here on, or no longer (below zero), by a tank's recipe",
}
WENT = {
    "laid_down_g": "laid down on parts",
    "on_parts_g": "left on dried parts",
    "run_off_g": "run off with rinse water",
    "handed_over_g": "handed over",
    "to_sewer_g": "to the sewer, by the consent named in each entry",
    "samples_g": "in samples",
    "lost_g": "spilt",
    "not_said_g": "taken out without saying where to",
    "untracked_g": "carried into tanks whose recipe does not count it",
}


UNACCOUNTED = "unaccounted for (below zero: more than the entries tell)"


def metals_tables(ground: Ground, before: World | None, after: World) -> tuple[Table, Table, Table]:
    """The two sides of the account, every metal that any tank or container holds or held; and where some are missing."""
    then = grams(before) if before is not None else {}
    now = grams(after)
    moved = between(then, now)
    told = [n for n in metals(now) if _most(now[n]) >= LEAST_G]
    tanks = {n: then[n].in_tanks_g if n in then else 0.0 for n in told}
    kept = {n: then[n].in_containers_g if n in then else 0.0 for n in told}
    came: dict[str, dict[str, float]] = {
        "stood in tanks at the beginning": tanks,
        "stood in containers at the beginning": kept,
    }
    came |= {text: {n: getattr(moved[n], name) for n in told} for name, text in CAME.items()}
    went: dict[str, dict[str, float]] = {
        "stands in tanks at the end": {n: now[n].in_tanks_g for n in told},
        "stands in containers at the end": {n: now[n].in_containers_g for n in told},
    }
    went |= {text: {n: getattr(moved[n], name) for n in told} for name, text in WENT.items()}
    went[UNACCOUNTED] = {n: moved[n].unaccounted_g.value for n in told}
    return (
        _table(ground, "metals_came", "Metals that were there and came in", told, came),
        _table(ground, "metals_went", "What became of them", told, went),
        _missing(ground, [moved[n] for n in told]),
    )


def _missing(ground: Ground, accounts: list[Grams]) -> Table:
    """What is missing of each metal: in all, and vessel by vessel where that is more than rounding."""
    rows: list[tuple[Cell, ...]] = []
    for account in accounts:
        arose = [a for a in account.arose if a.worth_telling]
        rows.append((account.species, "in all", ground.estimate(account.unaccounted_g), _meaning(account.unaccounted_g), None))
        rows += [(account.species, a.vessel, ground.estimate(a.grams), _meaning(a.grams), _found(ground, a)) for a in arose]
    return Table(
        name="metals_unaccounted",
        title="Metals unaccounted for, and where it arose",
        columns=(
            Column("metal", "Metal"),
            Column("vessel", "Tank or container"),
            ground.column("grams", "Unaccounted", "g", "estimate"),
            Column("meaning", "That is"),
            Column("found", "Found by readings of (entry)"),
        ),
        rows=tuple(rows),
        caption="The spread is that of make-ups, doses, plating and readings. Beyond it a removal, a spill or a dose was not "
        "written down, or a reading was wrong.",
        empty="No tank or container holds or held a metal that is counted.",
    )


def _meaning(missing: Estimate) -> str:
    return "more than the spread explains" if beyond(missing) else "within the spread"


def _found(ground: Ground, arose: AroseGrams) -> str | None:
    """The readings of the period that found the most of it, where it is beyond the spread."""
    if not arose.beyond_spread:
        return None
    found = sorted((f for f in arose.found if ground.within(f.at)), key=lambda f: -abs(f.grams))
    told = [f"{f.at.astimezone():%Y-%m-%d} {ground.text(f.grams, 'g', 0.5)} ({ground.id(f.entry)})" for f in found[:3]]
    return ", ".join(told) or "no single reading"


def _most(account: Grams) -> float:
    return max(abs(a) for a in (*(float(getattr(account, f)) for f in MOVED), account.unaccounted_g.value))


def _table(ground: Ground, name: str, title: str, told: list[str], lines: dict[str, dict[str, float]]) -> Table:
    keyed = zip(told, _keys(told), strict=True)
    columns = (Column("line", "Line"), *(ground.column(key, n, "g", decimals=1) for n, key in keyed))
    rows: list[tuple[Cell, ...]] = []
    for text, amounts in lines.items():
        always = text.startswith(("stood", "stands")) or text in ("handed over", UNACCOUNTED)
        if always or any(abs(v) >= LEAST_G for v in amounts.values()):
            rows.append((text, *(ground.number(amounts[n], "g") for n in told)))
    total = ("Total", *(ground.number(sum(a[n] for a in lines.values()), "g") for n in told))
    return Table(
        name=name, title=title, columns=columns, rows=tuple(rows) if told else (), total=total if told else None,
        empty="No tank or container holds or held a metal that is counted.",
    )  # fmt: skip


def _keys(names: list[str]) -> list[str]:
    """Short names for machines, each once, whatever the metals are called."""
    found: list[str] = []
    for name in names:
        plain = "".join(c if c.isascii() and c.isalnum() else "_" for c in name.casefold())[:30]
        plain = plain if plain[:1].isalpha() else f"metal_{plain}"
        found.append(plain if plain not in found and plain != "line" else f"{plain}_{len(found)}")
    return found
