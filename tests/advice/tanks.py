"""Tanks for the tests of dosing: a state by its bare numbers, without a book behind it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

from bathkeeper.catalogue.schema import Ratio, Recipe, Species
from bathkeeper.entries import parse
from bathkeeper.estimate.state import TankState, new_state

AT = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)


def recipe(species: Mapping[str, Species], ratios: Mapping[str, Ratio] | None = None, **more: Any) -> Recipe:
    """A plating recipe of nothing but windows."""
    return Recipe(
        name="made-up",
        title="Made up",
        role="plate",
        summary="for a test",
        species=dict(species),
        ratios=dict(ratios or {}),
        **more,
    )


def window(low: float | None, target: float | None, high: float | None, kind: str = "salt", **more: Any) -> Species:
    return Species(kind=kind, unit="g/L", low=low, target=target, high=high, status="practice", **more)


def tank(
    of: Recipe, contents: Mapping[str, float], volume_l: float, working_l: float, full_l: float | None = None,
    relative_sd: float = 0.01,
) -> TankState:  # fmt: skip
    """A living tank of these contents (g/L, mL/L), known to ``relative_sd``."""
    entry = parse(
        {"kind": "tank", "id": "test-00000", "at": AT, "tank": "bath", "role": of.role, "working_volume_l": working_l}
        | ({"full_volume_l": full_l} if full_l is not None else {})
    )
    empty = new_state(entry, of, of.species, {}, 0.05)  # type: ignore[arg-type]
    beliefs = {"volume": (volume_l, 0.0)}
    for name in of.species:
        mass = contents.get(name, 0.0) * volume_l
        beliefs[f"mass:{name}"] = (mass, (relative_sd * mass) ** 2)
    return replace(empty, gauss=empty.gauss.replaced(beliefs), now=AT, made_up=AT, make_up_entry="test-00001")
