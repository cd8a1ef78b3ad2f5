"""Grams of metals over a period: what was there and came in, and what became of it, as two tables of one total."""

from __future__ import annotations

from bathkeeper.accounts.grams import Grams, grams
from bathkeeper.estimate.world import World
from bathkeeper.reports.builders.ground import Ground
from bathkeeper.reports.builders.waste_words import LEAST_G, metals
from bathkeeper.reports.model import Cell, Column, Table

CAME = {
    "put_in_g": "put in with chemicals and solids",
    "from_anodes_g": "dissolved from anodes",
    "worn_g": "dissolved from parts and by use (below zero: used up)",
    "treated_g": "brought in by treating waste",
    "put_right_g": "estimate put right by readings (below zero: less than thought)",
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


def metals_tables(ground: Ground, before: World | None, after: World) -> tuple[Table, Table]:
    """The two sides of the account; every metal that any tank or container holds or held."""
    then = grams(before) if before is not None else {}
    now = grams(after)
    told = [n for n in metals(now) if _most(now[n]) >= LEAST_G]
    tanks = {n: then[n].in_tanks_g if n in then else 0.0 for n in told}
    kept = {n: then[n].in_containers_g if n in then else 0.0 for n in told}
    came: dict[str, dict[str, float]] = {
        "stood in tanks at the beginning": tanks,
        "stood in containers at the beginning": kept,
    }
    came |= {text: _moved(name, told, then, now) for name, text in CAME.items()}
    went: dict[str, dict[str, float]] = {
        "stands in tanks at the end": {n: now[n].in_tanks_g for n in told},
        "stands in containers at the end": {n: now[n].in_containers_g for n in told},
    }
    went |= {text: _moved(name, told, then, now) for name, text in WENT.items()}
    return (
        _table(ground, "metals_came", "Metals that were there and came in", told, came),
        _table(ground, "metals_went", "What became of them", told, went),
    )


def _most(account: Grams) -> float:
    amounts: list[float] = [abs(getattr(account, f)) for f in Grams.__struct_fields__ if f.endswith("_g")]
    return max(amounts)


def _moved(field: str, names: list[str], then: dict[str, Grams], now: dict[str, Grams]) -> dict[str, float]:
    return {n: getattr(now[n], field) - (getattr(then[n], field) if n in then else 0.0) for n in names}


def _table(ground: Ground, name: str, title: str, told: list[str], lines: dict[str, dict[str, float]]) -> Table:
    keyed = zip(told, _keys(told), strict=True)
    columns = (Column("line", "Line"), *(ground.column(key, n, "g", decimals=1) for n, key in keyed))
    rows: list[tuple[Cell, ...]] = []
    for text, amounts in lines.items():
        always = text.startswith(("stood", "stands")) or text == "handed over"
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
