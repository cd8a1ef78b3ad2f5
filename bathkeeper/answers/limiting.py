"""What is asked before a waste limit of the keeper's own is written: a substance by a name that nothing here would meet."""

from __future__ import annotations

from collections.abc import Iterator
from difflib import get_close_matches

from bathkeeper.catalogue.own_waste import WasteLimit
from bathkeeper.catalogue.typed import CatalogueError, to_struct
from bathkeeper.entries import AnyEntry, Definition
from bathkeeper.estimate.world import World
from bathkeeper.refusals import shorten
from bathkeeper.waste.content import SYMBOLS
from bathkeeper.waste.loader import load


def limit_doubts(entry: AnyEntry, world: World) -> list[str]:
    """Clauses about a definition of a waste limit; ``world`` stands at the moment of the entry."""
    if not isinstance(entry, Definition) or entry.of != "waste limit":
        return []
    try:
        limit = to_struct(dict(entry.body), WasteLimit, entry.name)
    except CatalogueError:
        return []  # refused elsewhere, with what would be right
    return [*_substance(limit, world), *_containers(limit, world)]


def _substance(limit: WasteLimit, world: World) -> Iterator[str]:
    if limit.what != "discharge":
        return
    known = substances(world)
    if limit.of.casefold().strip() not in {k.casefold() for k in known}:
        close = get_close_matches(limit.of.casefold(), known, 1, 0.6)
        end = f"the nearest name known is {close[0]}" if close else "a metal goes by its name, such as nickel"
        yield f"nothing known here is called {shorten(limit.of)}, so that it would never be compared; {end}"


def _containers(limit: WasteLimit, world: World) -> Iterator[str]:
    for name in limit.containers:
        if name not in world.containers:
            there = ", ".join(shorten(n) for n in world.containers) or "none"
            yield f"no container is called {shorten(name)} by now (on record: {there})"


def substances(world: World) -> list[str]:
    """What a limit may be of: metals by name and symbol, pH, what rule sets limit, and whatever a recipe or a vessel counts."""
    names = ["ph", *SYMBOLS, *SYMBOLS.values()]
    names += [d.of for rules in load().rules.values() for d in rules.discharge]
    names += [species for recipe in world.catalogue.recipes.values() for species in recipe.species]
    names += [species for tank in world.tanks.values() for species in tank.species]
    names += [species for held in world.containers.values() for species in held.species]
    names += [n[5:] for held in world.containers.values() for n in held.gauss.names if n.startswith("mass:")]
    return list(dict.fromkeys(names))
