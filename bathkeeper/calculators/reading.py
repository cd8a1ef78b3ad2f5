"""An answer as a reading for the book: what a titration found, with its spread, method and titrant lot."""

from __future__ import annotations

from typing import Any

from bathkeeper.calculators.model import Answer, CalcError
from bathkeeper.catalogue.loader import plain_formula
from bathkeeper.catalogue.schema import Recipe


def as_reading(answer: Answer, tank: str, lot: str | None = None) -> dict[str, Any]:
    """The plain fields of a reading entry (without moment and id), for :func:`bathkeeper.entries.parse`.

    Raises:
        CalcError: the answer is no measurement.
    """
    if not answer.measured:
        raise CalcError("this answer is no reading: only what was measured in a bath can go into the book")
    values: list[dict[str, Any]] = []
    for one in answer.measured:
        value: dict[str, Any] = {"of": one.of, "value": float(f"{one.value:.12g}"), "unit": one.unit}
        if one.spread is not None:
            value["spread"] = float(f"{one.spread:.6g}")
        if one.method is not None:
            value["method"] = one.method
        if lot:
            value["lot"] = lot
        values.append(value)
    return {"kind": "reading", "tank": tank, "values": values}


def fitting(answer: Answer, recipe: Recipe | None, tank: str) -> None:
    """Makes sure that the grams of an answer are grams of what the tank's recipe counts.

    Raises:
        CalcError: an acid counted as another one; says which to ask for.
    """
    for one in answer.measured:
        species = recipe.species.get(one.of) if recipe is not None else None
        if species is None or not species.formula or not one.formula:
            continue
        if plain_formula(species.formula) != plain_formula(one.formula):
            raise CalcError(
                f"{tank} counts its {one.of} in g of {species.formula}, and this is in g of {one.formula}; titrate it as "
                "what is in the tank",
                "of",
            )
