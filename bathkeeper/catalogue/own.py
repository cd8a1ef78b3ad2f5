"""What only a keeper can define: supplies, limits, replacement rules, use plans, parts; checked like the catalogue.

Recipes, reagents and methods of a keeper's own are in the loader, because they stand in for the catalogue's; waste limits
are in ``own_waste.py``, ways of loggers in ``own_traces.py``, of reading a spreadsheet in ``own_sheets.py``.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any, TypeVar

import msgspec
from msgspec import Meta

from bathkeeper.catalogue.own_sheets import SheetMapping
from bathkeeper.catalogue.own_traces import TraceSource
from bathkeeper.catalogue.own_waste import WasteLimit, wanting
from bathkeeper.catalogue.schema import Due, Recipe, Window
from bathkeeper.catalogue.typed import CatalogueError, to_struct

Positive = Annotated[float, Meta(gt=0, le=1e9)]
NotNegative = Annotated[float, Meta(ge=0, le=1e9)]
Bodies = Mapping[str, Mapping[str, Mapping[str, Any]]]
"""A keeper's definitions as they stand in the book: kind -> name -> body."""

EDGES = ("give_up_low", "low", "target", "high", "give_up_high")


class Supply(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, omit_defaults=True):
    """A current source: how far it reaches (A), and its ammeter: ``gain`` = reads / true with its 95 % half-width."""

    reach_a: Positive | None = None
    gain: Annotated[float, Meta(ge=0.5, le=2)] = 1.0
    gain_spread: Annotated[float, Meta(gt=0, le=1)] | None = None


class Limit(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, omit_defaults=True):
    """Edges of the keeper's own for one species or ratio, in one tank or under one recipe; only those given differ from the
    recipe's. A limit may instead be a bake rule (``bands``), which the safety room reads."""

    of: str = ""
    tank: str | None = None
    recipe: str | None = None
    give_up_low: NotNegative | None = None
    low: NotNegative | None = None
    target: NotNegative | None = None
    high: NotNegative | None = None
    give_up_high: NotNegative | None = None
    bands: tuple[dict[str, Any], ...] = ()
    title: str = ""
    edition: str = ""
    date: str = ""
    about: str = ""
    start_within_h: NotNegative | None = None

    def __post_init__(self) -> None:
        if self.bands:
            return
        if not self.of or (self.tank is None) == (self.recipe is None):
            raise ValueError("a limit needs `of` (a species or ratio) and either `tank` or `recipe`")
        steps = [v for e in EDGES if (v := getattr(self, e)) is not None]
        if not steps:
            raise ValueError("a limit needs at least one of low, target, high, give_up_low, give_up_high")
        if steps != sorted(steps):
            raise ValueError("a limit must rise: give_up_low <= low <= target <= high <= give_up_high")


class ReplacementRule(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, omit_defaults=True):
    """When the keeper calls a bath spent: days, charge or area since make-up, whichever comes first; or when the named ``sign``
    (a species, or ``area``, ``age``, ``dwell``) has come to ``limit`` in its own unit, or to ``left`` of what it was fresh."""

    tank: str | None = None
    recipe: str | None = None
    days: Positive | None = None
    charge_ah: Positive | None = None
    area_dm2: Positive | None = None
    sign: str | None = None
    limit: NotNegative | None = None
    left: Annotated[float, Meta(gt=0, lt=1)] | None = None

    def __post_init__(self) -> None:
        if (self.tank is None) == (self.recipe is None):
            raise ValueError("a replacement rule names either a `tank` or a `recipe`")
        if self.days is None and self.charge_ah is None and self.area_dm2 is None and self.sign is None:
            raise ValueError("a replacement rule needs at least one of days, charge_ah, area_dm2, or a sign")
        if self.sign is None and (self.limit is not None or self.left is not None):
            raise ValueError("limit and left belong to a sign; name it, for example sign = \"free acid\" with left = 0.5")
        if self.limit is not None and self.left is not None:
            raise ValueError("give either the limit of a sign or what is left of it, not both")


class UsePlan(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, omit_defaults=True):
    """How much the keeper means to do."""

    runs_per_week: Positive
    charge_ah_per_run: NotNegative = 0.0
    area_dm2_per_run: NotNegative = 0.0


class OwnPart(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, omit_defaults=True):
    """A part that comes again: area of one (dm2), its 95 % half-width, and what the safety room asks of it."""

    area_dm2: Positive
    spread: NotNegative | None = None
    property_class: str | None = None
    strength_mpa: Positive | None = None
    safety_critical: bool = False


SHAPES: dict[str, type[msgspec.Struct]] = {
    "supply": Supply,
    "limit": Limit,
    "replacement rule": ReplacementRule,
    "use plan": UsePlan,
    "part": OwnPart,
    "waste limit": WasteLimit,
    "trace source": TraceSource,
    "sheet mapping": SheetMapping,
}
T = TypeVar("T", bound=msgspec.Struct)


def checked(kind: str, name: str, body: Mapping[str, Any]) -> msgspec.Struct | None:
    """The body as its struct; None for the kinds that stand in for the catalogue's.

    Raises:
        CatalogueError: names the definition, the field and what would be right.
    """
    shape = SHAPES.get(kind)
    if shape is WasteLimit and (missing := wanting(body)):
        raise CatalogueError(f"definition of {kind} `{name}`: {missing}")
    return to_struct(dict(body), shape, f"definition of {kind} `{name}`") if shape is not None else None


def all_of(own: Bodies, kind: str, shape: type[T]) -> dict[str, T]:
    """Every definition of a kind, by name."""
    return {n: to_struct(dict(b), shape, f"definition of {kind} `{n}`") for n, b in own.get(kind, {}).items()}


def recipe_in(tank: str, recipe: Recipe, own: Bodies) -> Recipe:
    """The recipe as it holds in a tank: with the keeper's limits and replacement rule over it; the tank's own go last.

    Raises:
        CatalogueError: the limits together make a window that does not rise.
    """
    limits = [(n, x) for n, x in all_of(own, "limit", Limit).items() if not x.bands and _fits(x.tank, x.recipe, tank, recipe)]
    species, ratios = dict(recipe.species), dict(recipe.ratios)
    for name, limit in sorted(limits, key=lambda pair: pair[1].tank is not None):
        edges = {e: v for e in EDGES if (v := getattr(limit, e)) is not None}
        for group in (species, ratios):
            if limit.of in group:
                group[limit.of] = _moved(group[limit.of], edges, name)  # type: ignore[assignment]
    life = recipe.life
    rules = [x for x in all_of(own, "replacement rule", ReplacementRule).values() if _fits(x.tank, x.recipe, tank, recipe)]
    for rule in sorted(rules, key=lambda r: r.tank is not None):
        if rule.days is None and rule.charge_ah is None and rule.area_dm2 is None:
            continue
        life = Due(
            days=rule.days, charge_ah=rule.charge_ah, area_dm2=rule.area_dm2, status="practice", source="keeper's own rule"
        )
    if not limits and not rules:
        return recipe
    return msgspec.structs.replace(recipe, species=species, ratios=ratios, life=life)


W = TypeVar("W", bound=Window)


def rule_for(tank: str, recipe: Recipe, own: Bodies) -> ReplacementRule | None:
    """The keeper's rule for a tank by a sign: the tank's own before the recipe's; None where none names a sign."""
    rules = [x for x in all_of(own, "replacement rule", ReplacementRule).values() if _fits(x.tank, x.recipe, tank, recipe)]
    named = sorted((r for r in rules if r.sign is not None), key=lambda r: r.tank is not None)
    return named[-1] if named else None


def _moved(window: W, edges: Mapping[str, float], name: str) -> W:
    made = msgspec.structs.replace(window, **edges, status="practice", source=f"keeper's own limit `{name}`")
    steps = [v for e in EDGES if (v := getattr(made, e)) is not None]
    if steps != sorted(steps):
        raise CatalogueError(f"definition of limit `{name}`: with the recipe's other edges the window no longer rises: {steps}")
    return made


def _fits(of_tank: str | None, of_recipe: str | None, tank: str, recipe: Recipe) -> bool:
    return of_tank == tank or (of_tank is None and of_recipe == recipe.name)
