"""A recipe told in full: windows, parameters, wear, make-up, each number with its standing, beside what the keeper changed."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import msgspec

from bathkeeper.catalogue.schema import Prior, Recipe, Sourced, Window

EDGES = ("give_up_low", "low", "target", "high", "give_up_high")


class Row(msgspec.Struct, frozen=True, kw_only=True):
    """One line: what it is, its number in words, where the number stands, and the catalogue's where the keeper differs."""

    name: str
    number: str
    standing: str
    instead_of: str = ""


def window_rows(windows: Mapping[str, Window], shipped: Mapping[str, Window]) -> list[Row]:
    """Species, ratios or indicators against the catalogue's own."""
    rows = []
    for name, window in windows.items():
        before = shipped.get(name)
        differs = before is not None and any(getattr(before, e) != getattr(window, e) for e in EDGES)
        rows.append(
            Row(
                name=name,
                number=window_text(window),
                standing=standing(window),
                instead_of=window_text(before) if before is not None and differs else "",
            )
        )
    return rows


def prior_rows(recipe: Recipe, shipped: Recipe | None) -> list[Row]:
    """What is believed of the bath before it has taught better."""
    before = shipped.parameters if shipped is not None else {}
    return [
        Row(
            name=p.title or n.replace("_", " "),
            number=prior_text(p),
            standing=standing(p),
            instead_of=prior_text(before[n]) if n in before and before[n] != p else "",
        )
        for n, p in recipe.parameters.items()
    ]


def make_up_rows(recipe: Recipe) -> list[Row]:
    """The steps of filling a tank fresh, in order."""
    rows = []
    for step in recipe.make_up:
        if step.to_the_mark:
            amount = "to the mark"
        elif step.amount_g_l is not None:
            amount = f"{step.amount_g_l:g} g for each litre"
        else:
            amount = f"{step.amount_ml_l:g} mL for each litre"
        rows.append(Row(name=step.reagent, number=amount, standing=f"{step.why} ({standing(step)})"))
    return rows


def window_text(window: Window) -> str:
    """``25 to 40, target 32 g/L; given up above 50``."""
    low, high = window.low, window.high
    if low is not None and high is not None:
        text = f"{low:g} to {high:g}"
    elif high is not None:
        text = f"up to {high:g}"
    elif low is not None:
        text = f"from {low:g}"
    else:
        text = ""
    target = f"target {window.target:g}" if window.target is not None else ""
    given_up = [f"below {window.give_up_low:g}"] if window.give_up_low is not None else []
    given_up += [f"above {window.give_up_high:g}"] if window.give_up_high is not None else []
    unit = "" if window.unit == "fraction" else f" {window.unit}"
    said = ", ".join(x for x in (text, target) if x) + unit
    return said + (f"; given up {' or '.join(given_up)}" if given_up else "")


def prior_text(prior: Prior) -> str:
    """``1.5 mL/dm2, times or over 3``."""
    spread = f"times or over {prior.factor:g}" if prior.scale == "log" else f"± {prior.spread:g}"
    return f"{prior.value:g} {prior.unit}".rstrip() + f", {spread}"


def standing(figure: Sourced) -> str:
    """``memory: typical workshop window``."""
    return f"{figure.status}: {figure.source}" if figure.source else figure.status


def recipe_plain(recipe: Recipe) -> dict[str, Any]:
    """The recipe as plain JSON values."""
    plain = msgspec.to_builtins(recipe)
    assert isinstance(plain, dict)
    return plain
